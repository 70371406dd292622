/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The starter list: what parts there are and how long they usually last. */
#ifndef KARTWRIGHT_LOGBOOK_PART_LIVES_H
#define KARTWRIGHT_LOGBOOK_PART_LIVES_H

#include "kartwright/error.h"

#include <stddef.h>

/* part     as it is called.
 * aliases  other names for it, separated by '|', or NULL.
 * life_h, life_days  NAN where it has no such life. */
struct kw_part_life {
    const char *part;
    const char *aliases;
    double life_h;
    double life_days;
};

/* The list; n rows. */
const struct kw_part_life *kw_part_lives(size_t *n);

/* The row of a part by its name or another name for it, without regard to case.
 *
 * returns  constant; NULL when the list does not have it. */
const struct kw_part_life *kw_part_life_find(const char *part);

/* Refuses a life of 0 or less, by which a part would be over before it ran; NAN
 * is none. */
enum kw_status kw_part_life_check(double life_h,
                                  double life_days,
                                  struct kw_error *error);

#endif
