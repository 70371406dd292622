/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The round of checks as it stands: what was ticked since the last session.
 *
 * Nothing is stored but the ticks. A session makes every check open again by
 * being later than its tick, also when its log is added weeks later or its date
 * is put right. Cost: sessions, own checks and ticks are read once each; ticks
 * times checks are compared. */
#include "kartwright/upkeep.h"
#include "logbook/check_list.h"
#include "logbook/outings.h"

#include "core/array.h"
#include "core/local_time.h"
#include "core/text.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

static const char *const state_names[] = {[KW_CHECK_OPEN] = "open",
                                          [KW_CHECK_DONE] = "done",
                                          [KW_CHECK_SKIPPED] = "skipped",
                                          [KW_CHECK_NEVER] = "never"};

enum { N_STATES = sizeof state_names / sizeof state_names[0] };

const char *kw_check_state_name(enum kw_check_state state)
{
    return (size_t)state < N_STATES ? state_names[state] : "";
}

/* A state that a later program invented counts as open: better to look once
 * more than not at all. */
static enum kw_check_state state_from_name(const char *name)
{
    for (size_t i = 0; i < N_STATES; i++) {
        if (strcmp(state_names[i], name) == 0)
            return (enum kw_check_state)i;
    }
    return KW_CHECK_OPEN;
}

bool kw_check_is_named(const struct kw_check *check, const char *word)
{
    const struct kw_check_row *row = kw_check_list_find(word);
    return strcmp(check->item, row == NULL ? word : row->name) == 0;
}

/* ---- a round before its ticks -------------------------------------------- */

/* Takes item and what over. */
static enum kw_status add_check(struct kw_round *round,
                                struct kw_check check,
                                struct kw_error *error)
{
    enum kw_status status =
        check.item == NULL || check.what == NULL ? KW_NO_MEMORY : KW_OK;
    if (status == KW_OK)
        status = kw_array_reserve(&round->items, &round->capacity, round->n + 1,
                                  sizeof *round->items, error);
    if (status != KW_OK) {
        free(check.item);
        free(check.what);
        return status;
    }
    check.last_done_s = NAN;
    round->items[round->n++] = check;
    return KW_OK;
}

/* Texts are copied, for own checks have theirs from the book: one owner for
 * both. */
static enum kw_status add_list(struct kw_round *round, struct kw_error *error)
{
    size_t n = 0;
    const struct kw_check_row *rows = kw_check_list(&n);
    enum kw_status status = KW_OK;
    for (size_t i = 0; i < n && status == KW_OK; i++)
        status = add_check(
            round,
            (struct kw_check){.item = kw_text_duplicate(rows[i].name, error),
                              .what = kw_text_duplicate(rows[i].what, error),
                              .why = rows[i].why,
                              .how = rows[i].how,
                              .caution = rows[i].caution},
            error);
    return status;
}

/* Own checks belong to every kart of the book: what only one of them has is
 * skipped for good on the others. */
static enum kw_status add_own(struct kw_logbook *book,
                              struct kw_round *round,
                              struct kw_error *error)
{
    struct kw_query query = kw_query_begin(
        book,
        "SELECT l.id, l.text FROM own_check o JOIN live l ON l.id = o.entry_id"
        " ORDER BY l.id",
        error);
    while (kw_query_row(&query)) {
        const int64_t id = kw_query_int_at(&query, 0);
        struct kw_text number = {0};
        kw_text_addf(&number, "%lld", (long long)id);
        const enum kw_status status =
            add_check(round,
                      (struct kw_check){.item = kw_text_take(&number, error),
                                        .own_id = id,
                                        .what = kw_query_string_at(&query, 1),
                                        .why = "you added it to the round",
                                        .how = "",
                                        .caution = ""},
                      error);
        if (status != KW_OK)
            query.status = status;
    }
    return kw_query_end(&query);
}

/* A kart's sessions are items[from .. to - 1], by date; none in an empty
 * book. */
static enum kw_status add_round(struct kw_logbook *book,
                                const struct kw_outings *outings,
                                size_t from,
                                struct kw_rounds *rounds,
                                struct kw_error *error)
{
    if (kw_array_reserve(&rounds->items, &rounds->capacity, rounds->n + 1,
                         sizeof *rounds->items, error) != KW_OK)
        return KW_NO_MEMORY;
    struct kw_round *round = &rounds->items[rounds->n++];
    *round = (struct kw_round){.last_s = NAN};
    const size_t to = kw_outings_end(outings, from);
    if (to > from) {
        const struct kw_outing *last = &outings->items[to - 1];
        const double day_s = kw_local_day_start(last->at_s);
        round->last_s = last->at_s;
        for (size_t i = to; i > from && outings->items[i - 1].at_s >= day_s;
             i--)
            round->n_sessions++;
        if (last->kart != NULL) {
            round->kart = kw_text_duplicate(last->kart, error);
            if (round->kart == NULL)
                return KW_NO_MEMORY;
        }
    }
    const enum kw_status status = add_list(round, error);
    return status == KW_OK ? add_own(book, round, error) : status;
}

/* ---- ticks --------------------------------------------------------------- */

/* An earlier tick is worth knowing ("2 race days ago"), but the sessions since
 * have made the check open again. */
static void take_tick(struct kw_round *round,
                      const char *item,
                      enum kw_check_state outcome,
                      double at_s)
{
    for (size_t i = 0; i < round->n; i++) {
        struct kw_check *check = &round->items[i];
        if (strcmp(check->item, item) != 0)
            continue;
        if (outcome == KW_CHECK_SKIPPED && check->state == KW_CHECK_NEVER)
            continue;
        if (outcome == KW_CHECK_DONE)
            check->last_done_s = at_s;
        if (outcome == KW_CHECK_NEVER || !(at_s < round->last_s))
            check->state = outcome;
        else
            check->state = KW_CHECK_OPEN;
    }
}

/* By date, so that the last word counts. Before the first session there is one
 * round for all karts, in which every tick counts until the kart is driven. */
static enum kw_status read_ticks(struct kw_logbook *book,
                                 struct kw_rounds *rounds,
                                 struct kw_error *error)
{
    struct kw_query query = kw_query_begin(
        book,
        "SELECT l.kart, t.item, t.outcome, l.at_s FROM tick t"
        " JOIN live l ON l.id = t.entry_id ORDER BY l.at_s, l.id",
        error);
    while (kw_query_row(&query)) {
        char *kart = kw_query_text_at(&query, 0);
        char *item = kw_query_string_at(&query, 1);
        char *outcome = kw_query_string_at(&query, 2);
        for (size_t i = 0; i < rounds->n && item != NULL && outcome != NULL;
             i++) {
            struct kw_round *round = &rounds->items[i];
            if (isnan(round->last_s) || kw_same_kart(round->kart, kart))
                take_tick(round, item, state_from_name(outcome),
                          kw_query_real_at(&query, 3));
        }
        free(kart);
        free(item);
        free(outcome);
    }
    return kw_query_end(&query);
}

/* ---- counting ------------------------------------------------------------ */

/* Race days after a moment among the starts of days, each once, by date. */
static size_t count_days(const double *day_s, size_t n, double after_s)
{
    size_t days = 0;
    for (size_t i = 0; i < n; i++)
        days += (i == 0 || day_s[i] > day_s[i - 1]) &&
                (isnan(after_s) || day_s[i] > after_s);
    return days;
}

/* Counted once, so that whoever shows the round need not know the states. */
static void count_round(struct kw_round *round, const double *day_s, size_t n)
{
    for (size_t i = 0; i < round->n; i++) {
        struct kw_check *check = &round->items[i];
        check->n_days = count_days(day_s, n, check->last_done_s);
        round->n_open += check->state == KW_CHECK_OPEN;
        round->n_done += check->state == KW_CHECK_DONE;
        round->n_skipped += check->state == KW_CHECK_SKIPPED;
    }
}

/* The outings come kart by kart, and each kart has a round of its own. */
static enum kw_status read_rounds(struct kw_logbook *book,
                                  const struct kw_outings *outings,
                                  struct kw_rounds *out,
                                  struct kw_error *error)
{
    /* The zone is asked once for each session, not once for each check. */
    double *day_s = kw_array_new(outings->n, sizeof *day_s, error);
    enum kw_status status = day_s == NULL ? KW_NO_MEMORY : KW_OK;
    size_t from = 0;
    do {
        if (status == KW_OK)
            status = add_round(book, outings, from, out, error);
        from = kw_outings_end(outings, from);
    } while (status == KW_OK && from < outings->n);
    if (status == KW_OK)
        status = read_ticks(book, out, error);
    for (size_t i = 0; status == KW_OK && i < outings->n; i++)
        day_s[i] = kw_local_day_start(outings->items[i].at_s);
    from = 0;
    for (size_t i = 0; status == KW_OK && i < out->n; i++) {
        const size_t to = kw_outings_end(outings, from);
        count_round(&out->items[i], &day_s[from], to - from);
        from = to;
    }
    free(day_s);
    return status;
}

enum kw_status kw_logbook_rounds(struct kw_logbook *book,
                                 struct kw_rounds *out,
                                 struct kw_error *error)
{
    struct kw_outings outings;
    *out = (struct kw_rounds){0};
    enum kw_status status = kw_outings_read(book, &outings, error);
    if (status == KW_OK)
        status = read_rounds(book, &outings, out, error);
    kw_outings_free(&outings);
    if (status != KW_OK)
        kw_rounds_free(out);
    return status;
}

static void round_free(struct kw_round *round)
{
    for (size_t i = 0; i < round->n; i++) {
        free(round->items[i].item);
        free(round->items[i].what);
    }
    free(round->items);
    free(round->kart);
}

void kw_rounds_free(struct kw_rounds *rounds)
{
    for (size_t i = 0; i < rounds->n; i++)
        round_free(&rounds->items[i]);
    free(rounds->items);
    *rounds = (struct kw_rounds){0};
}
