/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What ran when: the sessions that count, for hours, findings and checks. */
#ifndef KARTWRIGHT_LOGBOOK_OUTINGS_H
#define KARTWRIGHT_LOGBOOK_OUTINGS_H

#include "logbook/query.h"

/* kart  NULL for the one kart of a book that names none.
 * revolutions  0 where the log did not tell.
 * judged  it could have shown a fault: the kart was driven, and not only
 * blipped on its stand. */
struct kw_outing {
    char *kart;
    double at_s;
    double running_s;
    double revolutions;
    bool judged;
};

/* By kart, then by date. */
struct kw_outings {
    struct kw_outing *items;
    size_t n;
    size_t capacity;
};

/* out      the caller frees it with kw_outings_free(), also after an error.
 * returns  KW_OK; KW_BAD_INPUT; KW_BUSY; KW_NO_MEMORY. */
enum kw_status kw_outings_read(struct kw_logbook *book,
                               struct kw_outings *out,
                               struct kw_error *error);
void kw_outings_free(struct kw_outings *outings);

/* Where the sessions after items[from], of the same kart, end. */
size_t kw_outings_end(const struct kw_outings *outings, size_t from);

/* Sessions of a kart after one moment, up to and with another, that could have
 * shown a fault: the others are no sign that one is gone. */
size_t kw_outings_count(const struct kw_outings *outings,
                        const char *kart,
                        double after_s,
                        double until_s);

#endif
