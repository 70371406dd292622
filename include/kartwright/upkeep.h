/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Upkeep: what is due before the next race, the round of checks after each race
 * day, and how long parts last by the owner's own figures. All live in the
 * logbook, see logbook.h.
 *
 *     struct kw_rounds rounds;
 *     if (kw_logbook_rounds(book, &rounds, &error) == KW_OK) {
 *         ... rounds.items[0].n_open of rounds.items[0].n checks are open ...
 *         kw_rounds_free(&rounds);
 *     }
 *
 * A tick, an own check and an own life are notes in the book: they have a date
 * and a number, and can be corrected and withdrawn like any entry.
 */
#ifndef KARTWRIGHT_UPKEEP_H
#define KARTWRIGHT_UPKEEP_H

#include "kartwright/logbook.h"

#ifdef __cplusplus
extern "C" {
#endif
#if defined(__GNUC__)
#pragma GCC visibility push(default)
#endif

/* ---- due ----------------------------------------------------------------- */

/* Why something is due: it has run out its life, a review found something, or
 * the person wanted it watched. */
enum kw_due_source { KW_DUE_LIFE, KW_DUE_FINDING, KW_DUE_WATCH };

/* As kw_entry_kind_name(): "life". */
const char *kw_due_source_name(enum kw_due_source source);

/* One thing to do before the next race.
 *
 * id      of the part, finding or watch item; what `close` takes.
 * what    "clutch lining".
 * looks_at  of a second look: the end of `what` that names the thing itself;
 *         NULL for all else.
 * why     "7.6 of 8.0 h".
 * clears  what takes it off the list.
 * to_buy  it asks for a new part.
 * life_from  whose figure the life is; KW_LIFE_NONE for another source.
 * order   among those of one source and urgency: largest first. */
struct kw_due {
    enum kw_due_source source;
    enum kw_urgency urgency;
    int64_t id;
    char *kart;
    char *what;
    const char *looks_at;
    char *why;
    char *clears;
    bool to_buy;
    enum kw_life_source life_from;
    double order;
};

struct kw_dues {
    struct kw_due *items;
    size_t n;
    size_t capacity;
};

/* Everything that is due, most pressing first.
 *
 * now_s    for lives in days.
 * out      the caller frees it with kw_dues_free(). Empty on error. */
enum kw_status kw_logbook_due(struct kw_logbook *book,
                              double now_s,
                              struct kw_dues *out,
                              struct kw_error *error);

/* Takes a zeroed list, and may be called twice. */
void kw_dues_free(struct kw_dues *dues);

/* ---- the round of checks ------------------------------------------------- */

/* What became of a check since the last session. */
enum kw_check_state {
    KW_CHECK_OPEN,
    KW_CHECK_DONE,
    KW_CHECK_SKIPPED, /* this time */
    KW_CHECK_NEVER    /* this kart does not have it; a tick brings it back */
};

/* As other programs read it: "open", "done", "skipped", "never".
 *
 * returns  constant text; "" outside the enum. */
const char *kw_check_state_name(enum kw_check_state state);

/* One check of the round.
 *
 * item         what kw_logbook_tick() takes: "chain", or the number of a check
 *              that the owner added.
 * own_id       that number; 0 for a check of the list.
 * what         one line.
 * why, how, caution  constant; "" where an own check has none.
 * last_done_s  when it was last ticked, whatever the round; NAN for never.
 * n_days       race days since then; all of them when never ticked. */
struct kw_check {
    char *item;
    int64_t own_id;
    char *what;
    const char *why;
    const char *how;
    const char *caution;
    enum kw_check_state state;
    double last_done_s;
    size_t n_days;
};

/* Whether a word means this check: its item, or another word for it ("tires"),
 * in any case. */
bool kw_check_is_named(const struct kw_check *check, const char *word);

/* The round of one kart, in the order of a walk round it, own checks last.
 *
 * kart        NULL where none was ever named.
 * last_s      its last session, which made the round due; NAN before the first,
 *             when all checks are open and none is due.
 * n_sessions  on the local day of that session.
 * n_open, n_done, n_skipped  of the n checks; the rest are never done. */
struct kw_round {
    char *kart;
    double last_s;
    size_t n_sessions;
    struct kw_check *items;
    size_t n;
    size_t capacity;
    size_t n_open;
    size_t n_done;
    size_t n_skipped;
};

/* One for each kart that has run; one for no kart in an empty book. */
struct kw_rounds {
    struct kw_round *items;
    size_t n;
    size_t capacity;
};

/* A tick counts for the round when it is dated after the kart's last session.
 *
 * out      the caller frees it with kw_rounds_free(). Empty on error.
 * returns  KW_OK; KW_BAD_INPUT (the book is damaged); KW_BUSY; KW_NO_MEMORY. */
enum kw_status kw_logbook_rounds(struct kw_logbook *book,
                                 struct kw_rounds *out,
                                 struct kw_error *error);

/* Takes a zeroed list, and may be called twice. */
void kw_rounds_free(struct kw_rounds *rounds);

/* items    items[n_items], n_items > 0: names of the list in any case, other
 *          words for them ("tires"), or numbers of own checks.
 * outcome  not KW_CHECK_OPEN. */
struct kw_new_tick {
    const char *const *items;
    size_t n_items;
    enum kw_check_state outcome;
};

/* Says what became of some checks, as one entry; all of them or none.
 *
 * id       of the new entry.
 * returns  as the functions that write entries; KW_BAD_USAGE for an item that
 *          no round has, and for a kart that no entry of another kind named. */
enum kw_status kw_logbook_tick(struct kw_logbook *book,
                               const struct kw_new_entry *entry,
                               const struct kw_new_tick *tick,
                               int64_t *id,
                               struct kw_error *error);

/* Adds a check to every round from now on, until the entry is withdrawn; its
 * words are entry->text. */
enum kw_status kw_logbook_new_check(struct kw_logbook *book,
                                    const struct kw_new_entry *entry,
                                    int64_t *id,
                                    struct kw_error *error);

/* ---- lives of parts ------------------------------------------------------ */

/* part  "clutch lining", or another word that the starter list knows.
 * life_h, life_days  above 0; NAN for none, not both. */
struct kw_new_life {
    const char *part;
    double life_h;
    double life_days;
};

/* Sets how long parts of a kind last on the owner's karts, in place of the
 * starter list's figures; also for those that are fitted already, unless a life
 * was stated for the one part. The last that was set counts.
 *
 * returns  as the functions that write entries; KW_BAD_USAGE for a life that is
 *          none. */
enum kw_status kw_logbook_set_life(struct kw_logbook *book,
                                   const struct kw_new_entry *entry,
                                   const struct kw_new_life *life,
                                   int64_t *id,
                                   struct kw_error *error);

/* One kind of part.
 *
 * id          of the entry that set it; 0 for the starter list's figures.
 * life_h, life_days    that count; NAN for none.
 * usual_h, usual_days  the starter list's; NAN where it has none. */
struct kw_life {
    char *part;
    int64_t id;
    double life_h;
    double life_days;
    double usual_h;
    double usual_days;
};

struct kw_lives {
    struct kw_life *items;
    size_t n;
    size_t capacity;
};

/* The starter list with the owner's figures in it, then the owner's other
 * parts.
 *
 * out  the caller frees it with kw_lives_free(). Empty on error. */
enum kw_status kw_logbook_lives(struct kw_logbook *book,
                                struct kw_lives *out,
                                struct kw_error *error);

/* Takes a zeroed list, and may be called twice. */
void kw_lives_free(struct kw_lives *lives);

/* The row of a part by any of its names.
 *
 * returns  NULL when the list does not have it. */
const struct kw_life *kw_lives_find(const struct kw_lives *lives,
                                    const char *part);

#if defined(__GNUC__)
#pragma GCC visibility pop
#endif
#ifdef __cplusplus
}
#endif
#endif
