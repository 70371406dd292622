/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The unit of a column that does not state it, told from its values. */
#ifndef KARTWRIGHT_IMPORT_UNIT_GUESS_H
#define KARTWRIGHT_IMPORT_UNIT_GUESS_H

#include "core/units.h"
#include "kartwright/log.h"

#include <stdbool.h>

/* unit   NULL where the role has none.
 * why    for the person, or NULL.
 * asks   another unit than the usual one: the person has to know, for a wrong
 *        guess would change every number that follows. */
struct kw_unit_choice {
    const struct kw_unit *unit;
    const char *why;
    bool asks;
};

/* Tells the unit from the size of values[n]. That of the time is a form, see
 * time_form.h.
 *
 * scratch  scratch[n]. */
struct kw_unit_choice kw_guess_unit(enum kw_role role,
                                    const double *values,
                                    size_t n,
                                    double *scratch);

/* Confirms a stated unit that has a factor, of engine speed ("rpm x 10") or of
 * exhaust ("0.1 C"), or tells from values[n] how else its factor is meant; and
 * K of an exhaust, which also names a kind of probe. Any other is confirmed.
 *
 * scratch  scratch[n]. */
struct kw_unit_choice kw_judge_unit(enum kw_role role,
                                    const struct kw_unit *unit,
                                    const double *values,
                                    size_t n,
                                    double *scratch);

#endif
