/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Numbers as text, whatever the host program's locale: the only place where
 * numbers are parsed or printed. */
#ifndef KARTWRIGHT_CORE_NUMBER_H
#define KARTWRIGHT_CORE_NUMBER_H

#include <stdbool.h>
#include <stddef.h>

/* Longest result of kw_number_print(), with the closing zero. */
enum { KW_NUMBER_SIZE = 32 };

/* Reads one decimal number that fills the whole field: sign, digits, `point`,
 * digits, exponent. No spaces, no thousands marks, no hex, no words.
 *
 * text, length  the field; need not be closed with a zero.
 * point         '.' or ','.
 * out           the nearest double; untouched when the result is false.
 * returns       false when the field is no such number or does not fit a
 *               finite double.
 * source        up to 15 digits and a power of ten up to 22 are exact in one
 *               operation (Clinger, PLDI 1990); the rest goes to strtod. */
bool kw_number_parse(const char *text, size_t length, char point, double *out);

/* Writes a number with that many decimals (0 to 15) and a decimal point.
 *
 * buffer   at least KW_NUMBER_SIZE bytes.
 * returns  buffer; "-" in it for NAN and infinities, and an exponent form for
 *          what would not fit. -0 is written as 0. */
const char *kw_number_print(char *buffer, double value, int decimals);

/* Writes a whole number for a person, its thousands set apart: "12,820".
 *
 * returns  buffer, as kw_number_print(). */
const char *kw_number_print_whole(char *buffer, double value);

#endif
