/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Collecting what is due: each source adds its items, due.c ranks them. */
#ifndef KARTWRIGHT_LOGBOOK_DUE_H
#define KARTWRIGHT_LOGBOOK_DUE_H

#include "kartwright/upkeep.h"
#include "logbook/query.h"

#include "core/text.h"

/* The texts of an item while they grow; zeroed.
 *
 * looks_at  byte of `what` at which the thing begins that wants a second look;
 *           0 for no second look. */
struct kw_due_texts {
    struct kw_text what;
    struct kw_text why;
    struct kw_text clears;
    size_t looks_at;
};

/* Adds an item and takes its texts over.
 *
 * due   all but the texts; kart is copied.
 * returns  KW_OK; KW_NO_MEMORY. Texts are freed in any case. */
enum kw_status kw_dues_add(struct kw_dues *dues,
                           const struct kw_due *due,
                           struct kw_due_texts *texts,
                           struct kw_error *error);

/* Adds " since 2026-06-14" and the like: a date in the user's own zone. */
void kw_due_add_date(struct kw_text *text, double unix_s);

/* Adds "3 sessions", "1 session". */
void kw_due_add_sessions(struct kw_text *text, size_t n);

/* "the session", "the 3 sessions" */
void kw_due_add_the_sessions(struct kw_text *text, size_t n);

/* What findings from reviews are still open, see finding.c. */
enum kw_status kw_due_findings(struct kw_logbook *book,
                               const struct kw_parts *parts,
                               struct kw_dues *dues,
                               struct kw_error *error);

/* Watch items and second looks, see watching.c. */
enum kw_status kw_due_watch_items(struct kw_logbook *book,
                                  const struct kw_parts *parts,
                                  struct kw_dues *dues,
                                  struct kw_error *error);
enum kw_status kw_due_second_looks(struct kw_logbook *book,
                                   const struct kw_parts *parts,
                                   struct kw_dues *dues,
                                   struct kw_error *error);

#endif
