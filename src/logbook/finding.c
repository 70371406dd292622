/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Findings that are due: what is open, what came back after it was closed, what
 * is gone since a part was replaced. */
#include "logbook/due.h"
#include "logbook/story.h"

#include <math.h>

/* "Back, 2 sessions after it was closed (filter replaced)." */
static void say_back(struct kw_text *why,
                     const struct kw_story *story,
                     const struct kw_outings *outings)
{
    const struct kw_found *first = &story->items[story->first];
    kw_text_add(why, "Back, ");
    kw_due_add_sessions(why, kw_outings_count(outings, first->kart,
                                              story->closed_s, first->at_s));
    kw_text_add(why, " after it was closed");
    if (story->closing->close_text != NULL &&
        story->closing->close_text[0] != '\0')
        kw_text_addf(why, " (%s)", story->closing->close_text);
    kw_text_add(why, ". ");
}

/* By name and day, as the person remembers it. */
static void say_part(struct kw_text *why, const struct kw_part *part)
{
    kw_text_addf(why, " the %s was fitted (", part->part);
    kw_due_add_date(why, part->from_s);
    kw_text_add(why, "). ");
}

/* What the sessions after a part was fitted say about it.
 *
 * returns  true when the finding is gone since then. */
static bool say_after_fitting(struct kw_text *why,
                              const struct kw_story *story,
                              const struct kw_outings *outings,
                              const struct kw_parts *parts)
{
    const struct kw_found *first = &story->items[story->first];
    const struct kw_found *last = &story->items[story->n - 1];
    /* A part that may be the cure and went on after the fault was last seen. */
    const struct kw_part *since =
        kw_story_last_fitted(parts, last, last->at_s, INFINITY);
    const size_t n_since =
        since == NULL
            ? 0
            : kw_outings_count(outings, last->kart, since->from_s, INFINITY);
    if (n_since > 0) {
        kw_text_add(why, "Gone: not found in ");
        kw_due_add_the_sessions(why, n_since);
        kw_text_add(why, " since");
        say_part(why, since);
        return true;
    }
    /* Else one that went on while the fault was about, and did not cure it. */
    const double before_s =
        isfinite(story->closed_s) ? story->closed_s : first->at_s;
    const struct kw_part *between =
        kw_story_last_fitted(parts, last, before_s, last->at_s);
    if (between != NULL) {
        kw_text_add(why, "Again, ");
        kw_due_add_sessions(why, kw_outings_count(outings, last->kart,
                                                  between->from_s, last->at_s));
        kw_text_add(why, " after");
        say_part(why, between);
    }
    return false;
}

/* Once is what the review says already. */
static void say_how_often(struct kw_text *why, const struct kw_story *story)
{
    const size_t n = story->n - story->first;
    if (n > 1) {
        kw_text_add(why, "Found in ");
        kw_due_add_sessions(why, n);
        kw_text_add(why, " since ");
        kw_due_add_date(why, story->items[story->first].at_s);
        kw_text_add(why, ". ");
    }
}

/* The worst day counts: a mild session after it may just have been short. */
static enum kw_urgency highest_urgency(const struct kw_story *story)
{
    enum kw_urgency most = KW_WATCH;
    for (size_t i = story->first; i < story->n; i++) {
        if (story->items[i].urgency > most)
            most = story->items[i].urgency;
    }
    return most;
}

/* "Before the next run" cannot be said of a kart that has run since. */
static enum kw_urgency urgency_now(const struct kw_story *story,
                                   size_t n_since,
                                   bool gone)
{
    const enum kw_urgency most = highest_urgency(story);
    if (gone)
        return KW_WATCH;
    return n_since > 0 && most == KW_BEFORE_NEXT_RUN ? KW_BEFORE_NEXT_RACE
                                                     : most;
}

/* One item for each fault, not for each day on which it was seen: what has to
 * be done is one thing. */
static enum kw_status add_story(const struct kw_story *story,
                                const struct kw_outings *outings,
                                const struct kw_parts *parts,
                                struct kw_dues *dues,
                                struct kw_error *error)
{
    const struct kw_found *last = &story->items[story->n - 1];
    const size_t n_since =
        kw_outings_count(outings, last->kart, last->at_s, INFINITY);
    struct kw_due_texts texts = {0};
    struct kw_due due = {.source = KW_DUE_FINDING,
                         .id = last->id,
                         .kart = last->kart,
                         .order = last->at_s};
    kw_text_add(&texts.what, last->title);
    if (story->closing != NULL)
        say_back(&texts.why, story, outings);
    const bool gone = say_after_fitting(&texts.why, story, outings, parts);
    if (!gone)
        say_how_often(&texts.why, story);
    if (!gone && n_since > 0) {
        kw_text_add(&texts.why, "Not found in ");
        kw_due_add_the_sessions(&texts.why, n_since);
        kw_text_add(&texts.why, " since. ");
    }
    due.urgency = urgency_now(story, n_since, gone);
    kw_text_add(&texts.why, last->why);
    kw_text_addf(&texts.clears,
                 "%s'kartwright logbook close %lld' (what to check: "
                 "'kartwright logbook show %lld')",
                 gone ? "if you agree that it is gone: " : "see to it, then ",
                 (long long)last->id, (long long)last->id);
    return kw_dues_add(dues, &due, &texts, error);
}

/* A story that was closed and did not come back has no open end, and is no
 * item. */
enum kw_status kw_due_findings(struct kw_logbook *book,
                               const struct kw_parts *parts,
                               struct kw_dues *dues,
                               struct kw_error *error)
{
    struct kw_finds finds;
    struct kw_outings outings = {0};
    struct kw_story story;
    enum kw_status status = kw_finds_read(book, &finds, error);
    if (status == KW_OK)
        status = kw_outings_read(book, &outings, error);
    for (size_t from = 0;
         status == KW_OK && kw_story_next(&finds, &from, &story);) {
        if (story.first < story.n)
            status = add_story(&story, &outings, parts, dues, error);
    }
    kw_outings_free(&outings);
    kw_finds_free(&finds);
    return status;
}
