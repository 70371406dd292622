/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What the logbook adds to a comparison: the air of both days, and what was
 * changed on the kart. */
#ifndef KARTWRIGHT_CLI_COMPARE_BOOK_H
#define KARTWRIGHT_CLI_COMPARE_BOOK_H

#include "cli/command.h"
#include "kartwright/compare.h"

/* One side.
 *
 * logs  as they were named.
 * air   as it was given; else the mean of the logs that the book has air for.
 *       has_air is false where there is none, before and after. */
struct book_side {
    const struct words *logs;
    struct kw_air air;
    bool has_air;
};

/* Looks both sides up in the book.
 *
 * book     path of the book; "" or "-" for the usual place. NULL: nobody asked,
 *          so a usual book that cannot be read is only noted.
 * notices  get what the book says of air and setup, for the person to check.
 * returns  KW_OK; what from_book_day_of() gives. */
enum kw_status ask_book(const char *book,
                        struct book_side sides[KW_N_SIDES],
                        struct kw_notices *notices,
                        struct kw_error *error);

#endif
