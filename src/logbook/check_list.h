/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The round of checks after each race day: what to look at, and how. */
#ifndef KARTWRIGHT_LOGBOOK_CHECK_LIST_H
#define KARTWRIGHT_LOGBOOK_CHECK_LIST_H

#include <stddef.h>

/* name     one word, as `tick` takes it.
 * aliases  other words for it, separated by '|'.
 * what     one line, what is to be found.
 * why      what comes of it when nobody looks.
 * how      how to tell good from bad, with what.
 * caution  where it can hurt, beside the caution that goes for all. */
struct kw_check_row {
    const char *name;
    const char *aliases;
    const char *what;
    const char *why;
    const char *how;
    const char *caution;
};

/* The list, in the order of a walk round the kart; n rows. */
const struct kw_check_row *kw_check_list(size_t *n);

/* The row of that name or alias, without regard to case.
 *
 * returns  constant; NULL when the list does not have it. */
const struct kw_check_row *kw_check_list_find(const char *name);

#endif
