/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What a single field can hold. */
#ifndef KARTWRIGHT_IMPORT_CELL_H
#define KARTWRIGHT_IMPORT_CELL_H

#include "kartwright/log.h"

/* Is this a field that says "no reading": blank, NaN, -, n/a, OPEN? */
bool kw_is_missing(const char *cell, size_t length);

/* Reads a number with the log's decimal mark, also with thousands marks
 * ("1.234,5", "12 500") and outer spaces.
 *
 * returns  false when it is none. */
bool kw_cell_number(const char *cell, size_t length, char point, double *out);

/* Reads a field as its role has it: a number, also with its unit behind
 * ("628 C"); a lap also as "Lap 3"; a marker also as a word ("X", "on", "no");
 * a position also with its hemisphere or in degrees, minutes and seconds.
 *
 * returns  false when it is none of these. */
bool kw_cell_read(enum kw_role role,
                  const char *cell,
                  size_t length,
                  char point,
                  double *out);

/* The unit that stands behind the number of a closed field; "" for none. */
const char *kw_cell_unit(const char *cell);

/* true for a number with either decimal mark, also one with a unit behind it:
 * to be asked where it is not yet known which mark is right. */
bool kw_cell_is_number(const char *cell);

#endif
