/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Asking a program that is not ours, to hold our answer against its own. */
#ifndef KARTWRIGHT_TESTS_OTHER_PROGRAM_H
#define KARTWRIGHT_TESTS_OTHER_PROGRAM_H

#include <stdbool.h>
#include <stddef.h>

/* What a program prints on standard output, closed with a zero; what goes
 * beyond the buffer is dropped.
 *
 * words    its name, looked for in PATH, and its words; NULL at the end.
 * returns  false where the machine has none, or where it fails: skip the
 *          test. */
bool ask_program(char *const words[], char *answer, size_t size);

#endif
