/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Numbers that a logger writes where it has no reading. */
#ifndef KARTWRIGHT_IMPORT_NO_READING_H
#define KARTWRIGHT_IMPORT_NO_READING_H

#include "kartwright/log.h"

enum { KW_MOST_STAND_INS = 4 };

/* What stands for "no reading" in one column.
 *
 * value  value[n], as the file has them; n is 0 where every number is one. */
struct kw_stand_ins {
    double value[KW_MOST_STAND_INS];
    size_t n;
};

/* Finds the numbers that stand for no reading: 65535, 9999, -999, 1372 and the
 * like. They are told by what they do and not from a list: the same number to
 * the last digit, time and again, far from all that the column else holds.
 *
 * role     of the column; one whose numbers have no usual range has none.
 * values   values[n] in the file's own unit, NAN where missing.
 * scratch  scratch[n], overwritten. */
struct kw_stand_ins kw_find_stand_ins(enum kw_role role,
                                      const double *values,
                                      size_t n,
                                      double *scratch);

/* Is this one of them? */
bool kw_is_stand_in(const struct kw_stand_ins *stand_ins, double value);

#endif
