/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Showing the round of checks within 80 columns. */
#include "cli/round_out.h"
#include "cli/book_words.h"

#include "core/local_time.h"

#include <math.h>

/* The name of a check and its line fit beside each other in 80 columns. */
enum { NAME_COLUMNS = 11, LINE_COLUMNS = 60 };

static void add_day(struct kw_text *text, double unix_s)
{
    char date[KW_LOCAL_TIME_SIZE];
    kw_text_add(text, kw_local_time_print(date, unix_s, false));
}

/* "Round of checks after 2026-06-14 [Number 7]" */
static void add_heading(struct kw_text *text, const struct kw_round *round)
{
    kw_text_add(text, "Round of checks after ");
    if (isnan(round->last_s))
        kw_text_add(text, "each race day");
    else
        add_day(text, round->last_s);
    if (round->kart != NULL) {
        kw_text_add(text, " [");
        add_short(text, round->kart, 24);
        kw_text_add(text, "]");
    }
}

/* "chain       chain: wear and tension" */
static void add_line(struct kw_text *text, const struct kw_check *check)
{
    kw_text_addf(text, "%-*s ", NAME_COLUMNS, check->item);
    add_short(text, check->what, LINE_COLUMNS);
    kw_text_add(text, "\n");
}

/* Boxes as on paper, so that they read without colours too. */
static const char *box_of(enum kw_check_state state)
{
    return state == KW_CHECK_DONE      ? "[x]"
           : state == KW_CHECK_SKIPPED ? "[-]"
           : state == KW_CHECK_NEVER   ? " - "
                                       : "[ ]";
}

/* All of it, also what is done: on paper one sees where one is. */
void add_round(struct kw_text *text, const struct kw_round *round)
{
    add_heading(text, round);
    kw_text_add(text, ":\n");
    for (size_t i = 0; i < round->n; i++) {
        kw_text_addf(text, "  %s ", box_of(round->items[i].state));
        add_line(text, &round->items[i]);
    }
    if (isnan(round->last_s))
        kw_text_add(text, "No session is in the logbook yet: the round is due "
                          "after the first.\n");
    else
        kw_text_addf(text, "%zu done, %zu skipped, %zu still open.\n",
                     round->n_done, round->n_skipped, round->n_open);
}

/* In one breath, after a tick: what is left to do. */
void add_open_names(struct kw_text *text, const struct kw_round *round)
{
    struct kw_text names = {0};
    for (size_t i = 0; i < round->n; i++) {
        if (round->items[i].state != KW_CHECK_OPEN)
            continue;
        kw_text_add(&names, names.length == 0 ? "" : ", ");
        kw_text_add(&names, round->items[i].item);
    }
    if (kw_text_failed(&names))
        text->failed = true;
    else if (names.length > 0)
        add_wrapped(text, names.bytes, 0);
    kw_text_free(&names);
}

/* Since when nobody has looked. A tick of the morning does not speak for the
 * afternoon. */
static void add_since(struct kw_text *text, const struct kw_check *check)
{
    if (isnan(check->last_done_s)) {
        kw_text_add(text, "not ticked yet");
        return;
    }
    const bool done = check->state == KW_CHECK_DONE;
    kw_text_add(text, done ? "ticked on " : "last ticked on ");
    add_day(text, check->last_done_s);
    if (done)
        return;
    if (check->n_days == 0)
        kw_text_add(text, ", before that day's last session");
    else
        kw_text_addf(text,
                     check->n_days == 1 ? ", %zu race day ago"
                                        : ", %zu race days ago",
                     check->n_days);
}

/* Before the first session there is nothing to look after. */
static bool is_due(const struct kw_round *round)
{
    return !isnan(round->last_s) && round->n_open > 0;
}

/* The first open check stands in the commands: what is shown can be typed. */
static const char *first_open(const struct kw_round *round)
{
    size_t i = 0;
    while (round->items[i].state != KW_CHECK_OPEN)
        i++;
    return round->items[i].item;
}

/* Why the round is there and what clears it, once for all of its checks. */
static void add_reason(struct kw_text *text, const struct kw_round *round)
{
    const char *open = first_open(round);
    struct kw_text why = {0};
    struct kw_text clears = {0};
    kw_text_addf(&why,
                 "before the next race: it ran %zu %s that day, and what is "
                 "loose or worn shows now",
                 round->n_sessions,
                 round->n_sessions == 1 ? "session" : "sessions");
    kw_text_addf(&clears,
                 "how: 'kartwright logbook round %s'; good: 'kartwright "
                 "logbook tick %s'; it can wait: 'skip %s'",
                 open, open, open);
    if (kw_text_failed(&why) || kw_text_failed(&clears)) {
        text->failed = true;
    } else {
        kw_text_add(text, "      ");
        add_wrapped(text, why.bytes, 6);
        kw_text_add(text, "\n      -> ");
        add_wrapped(text, clears.bytes, 9);
        kw_text_add(text, "\n");
    }
    kw_text_free(&why);
    kw_text_free(&clears);
}

/* Checks that this kart never has count in no total. */
void add_open_round(struct kw_text *text, const struct kw_round *round)
{
    if (!is_due(round))
        return;
    add_heading(text, round);
    kw_text_addf(text, ", %zu of %zu open:\n", round->n_open,
                 round->n_open + round->n_done + round->n_skipped);
    for (size_t i = 0; i < round->n; i++) {
        if (round->items[i].state != KW_CHECK_OPEN)
            continue;
        kw_text_add(text, "      ");
        add_line(text, &round->items[i]);
    }
    add_reason(text, round);
}

/* ---- one check ----------------------------------------------------------- */

/* An own check has one line and none of why, how and caution. */
static void add_pair(struct kw_text *text, const char *name, const char *words)
{
    if (words[0] == '\0')
        return;
    kw_text_addf(text, "%-9s ", name);
    add_wrapped(text, words, 10);
    kw_text_add(text, "\n");
}

void add_check_details(struct kw_text *text,
                       const struct kw_round *round,
                       const struct kw_check *check)
{
    struct kw_text state = {0};
    kw_text_addf(&state, "%s, ", kw_check_state_name(check->state));
    add_since(&state, check);
    if (round->kart != NULL) {
        kw_text_add(&state, ", ");
        kw_text_add(&state, round->kart);
    }
    add_pair(text, "Check", check->what);
    add_pair(text, "Why", check->why);
    add_pair(text, "How", check->how);
    add_pair(text, "Caution", check->caution);
    if (kw_text_failed(&state))
        text->failed = true;
    else if (!isnan(round->last_s))
        add_pair(text, "Now", state.bytes);
    kw_text_free(&state);
}

/* ---- JSON ---------------------------------------------------------------- */

static void add_date_json(struct kw_json *json, const char *key, double unix_s)
{
    char date[KW_LOCAL_TIME_SIZE];
    if (isnan(unix_s))
        kw_json_null(json, key);
    else
        kw_json_string(json, key, kw_local_time_print(date, unix_s, true));
}

/* The sentences that `due` gives for its items too. */
static void add_sentences_json(struct kw_json *json,
                               const struct kw_check *check)
{
    struct kw_text why = {0};
    struct kw_text clears = {0};
    add_since(&why, check);
    kw_text_addf(&why, ": %s", check->why);
    kw_text_addf(&clears,
                 "look, then 'kartwright logbook tick %s' or 'skip %s'",
                 check->item, check->item);
    if (kw_text_failed(&why) || kw_text_failed(&clears)) {
        json->out->failed = true;
    } else {
        kw_json_string(json, "why", why.bytes);
        kw_json_string(json, "clears", clears.bytes);
    }
    kw_text_free(&why);
    kw_text_free(&clears);
}

/* The same keys as an item of the list of what is due, and those of the check
 * behind them: a program may show both in one table. */
static void add_check_json(struct kw_json *json,
                           const struct kw_round *round,
                           const struct kw_check *check)
{
    kw_json_open(json, NULL, KW_JSON_OBJECT);
    kw_json_string(json, "check", check->item);
    kw_json_string(json, "what", check->what);
    add_sentences_json(json, check);
    kw_json_string(json, "state", kw_check_state_name(check->state));
    kw_json_string(json, "urgency", "before_next_race");
    if (check->own_id != 0)
        kw_json_count(json, "id", (size_t)check->own_id);
    else
        kw_json_null(json, "id");
    kw_json_string(json, "how", check->how);
    kw_json_string(json, "caution", check->caution);
    add_date_json(json, "last_session", round->last_s);
    add_date_json(json, "last_ticked", check->last_done_s);
    kw_json_count(json, "race_days_since", check->n_days);
    kw_json_string(json, "kart", round->kart);
    kw_json_close(json);
}

/* `due` wants what is open, `round` all. */
void add_round_json(struct kw_json *json,
                    const struct kw_round *round,
                    bool open_only)
{
    if (open_only && !is_due(round))
        return;
    for (size_t i = 0; i < round->n; i++) {
        if (!open_only || round->items[i].state == KW_CHECK_OPEN)
            add_check_json(json, round, &round->items[i]);
    }
}
