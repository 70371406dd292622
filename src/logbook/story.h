/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Findings from session to session, put together to stories: the same fault of
 * the same kart, found, closed, back, gone.
 *
 *     struct kw_finds finds;
 *     struct kw_story story;
 *     if (kw_finds_read(book, &finds, error) == KW_OK)
 *         for (size_t from = 0; kw_story_next(&finds, &from, &story);)
 *             ... story.items[0 .. story.n - 1], by date ...
 *     kw_finds_free(&finds);
 */
#ifndef KARTWRIGHT_LOGBOOK_STORY_H
#define KARTWRIGHT_LOGBOOK_STORY_H

#include "logbook/outings.h"

/* session_id  in which it was found; at_s its date.
 * close_id    closing that names this finding, 0 for none.
 * close_text  what was noted then, or NULL. */
struct kw_found {
    int64_t id;
    char *kart;
    char *title;
    char *why;
    enum kw_urgency urgency;
    double at_s;
    int64_t close_id;
    char *close_text;
    int64_t session_id;
};

/* By kart, title and date. */
struct kw_finds {
    struct kw_found *items;
    size_t n;
    size_t capacity;
};

/* out  the caller frees it with kw_finds_free(), also after an error. */
enum kw_status kw_finds_read(struct kw_logbook *book,
                             struct kw_finds *out,
                             struct kw_error *error);
void kw_finds_free(struct kw_finds *finds);

/* One story: items[n] of the same kart and title, by date.
 *
 * closed_s  up to here all is closed; -INFINITY when nothing ever was.
 * closing   the finding whose closing reaches furthest, or NULL.
 * first     the open ones are items[first .. n - 1]. */
struct kw_story {
    const struct kw_found *items;
    size_t n;
    double closed_s;
    const struct kw_found *closing;
    size_t first;
};

/* The story that begins at *from, which moves behind it.
 *
 * returns  false at the end. */
bool kw_story_next(const struct kw_finds *finds,
                   size_t *from,
                   struct kw_story *story);

/* The last part about this finding that was fitted after one moment and not
 * after another; NULL for none. */
const struct kw_part *kw_story_last_fitted(const struct kw_parts *parts,
                                           const struct kw_found *found,
                                           double after_s,
                                           double until_s);

#endif
