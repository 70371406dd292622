/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What is wrong with rows and fields, as notices: the first of each kind with
 * its line, the others as a count. */
#ifndef KARTWRIGHT_IMPORT_ROW_COMPLAINTS_H
#define KARTWRIGHT_IMPORT_ROW_COMPLAINTS_H

#include "core/text.h"
#include "kartwright/log.h"

enum kw_complaint {
    KW_WRONG_COUNT,
    KW_SHORT_ROW,
    KW_NO_TIME,
    KW_UNREADABLE,
    KW_N_COMPLAINTS
};

/* count  of each kind, `told` those that are notices. */
struct kw_complaints {
    struct kw_notices *notices;
    size_t count[KW_N_COMPLAINTS];
    size_t told[KW_N_COMPLAINTS];
};

/* Counts one, and tells it while there are few. Frees the text.
 *
 * returns  KW_OK; KW_NO_MEMORY. */
enum kw_status kw_complain(struct kw_complaints *complaints,
                           enum kw_complaint kind,
                           size_t line,
                           struct kw_text *text,
                           struct kw_error *error);

/* Tells how many there were, where not all were told.
 *
 * returns  KW_OK; KW_NO_MEMORY. */
enum kw_status kw_complaints_sum_up(const struct kw_complaints *complaints,
                                    struct kw_error *error);

#endif
