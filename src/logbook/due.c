/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What to do before the next race, most pressing first: lives of parts are
 * judged here, findings and watch items in files of their own. Cost: one pass
 * over each table, and a sort of what is due. */
#include "logbook/due.h"

#include "core/array.h"
#include "core/clock.h"
#include "core/local_time.h"

#include <math.h>
#include <stdlib.h>

/* Shares of its life at which a part is worth a thought, is to be seen to
 * before the race, and is over (common practice, no source). */
static const double WORTH_A_THOUGHT = 0.75;
static const double NEAR_ITS_END = 0.9;
static const double OVER = 1.0;

/* Sums of seconds as hours are off by rounding: 8.0 of 8.0 h is over. */
static const double ROUNDING = 1e-9;

/* A ten-thousandth of an hour is a blink. */
enum { MOST_DECIMALS = 4 };

const char *kw_due_source_name(enum kw_due_source source)
{
    static const char *const names[] = {[KW_DUE_LIFE] = "life",
                                        [KW_DUE_FINDING] = "finding",
                                        [KW_DUE_WATCH] = "watch"};
    return (size_t)source < sizeof names / sizeof names[0] ? names[source] : "";
}

/* ---- items --------------------------------------------------------------- */

/* All texts or none: an item without its reason must not stand on the list. */
enum kw_status kw_dues_add(struct kw_dues *dues,
                           const struct kw_due *due,
                           struct kw_due_texts *texts,
                           struct kw_error *error)
{
    struct kw_due made = *due;
    made.kart = due->kart == NULL ? NULL : kw_text_duplicate(due->kart, error);
    made.what = kw_text_take(&texts->what, error);
    made.why = kw_text_take(&texts->why, error);
    made.clears = kw_text_take(&texts->clears, error);
    if (made.what != NULL && texts->looks_at > 0)
        made.looks_at = made.what + texts->looks_at;
    const bool whole = made.what != NULL && made.why != NULL &&
                       made.clears != NULL &&
                       (due->kart == NULL || made.kart != NULL);
    if (whole && kw_array_reserve(&dues->items, &dues->capacity, dues->n + 1,
                                  sizeof *dues->items, error) == KW_OK) {
        dues->items[dues->n++] = made;
        return KW_OK;
    }
    free(made.kart);
    free(made.what);
    free(made.why);
    free(made.clears);
    return KW_NO_MEMORY;
}

void kw_due_add_date(struct kw_text *text, double unix_s)
{
    char date[KW_LOCAL_TIME_SIZE];
    kw_text_add(text, kw_local_time_print(date, unix_s, false));
}

void kw_due_add_sessions(struct kw_text *text, size_t n)
{
    kw_text_addf(text, n == 1 ? "%zu session" : "%zu sessions", n);
}

void kw_due_add_the_sessions(struct kw_text *text, size_t n)
{
    kw_text_add(text, "the ");
    if (n == 1)
        kw_text_add(text, "session");
    else
        kw_due_add_sessions(text, n);
}

void kw_dues_free(struct kw_dues *dues)
{
    for (size_t i = 0; i < dues->n; i++) {
        free(dues->items[i].kart);
        free(dues->items[i].what);
        free(dues->items[i].why);
        free(dues->items[i].clears);
    }
    free(dues->items);
    *dues = (struct kw_dues){0};
}

/* ---- lives of parts ------------------------------------------------------ */

/* "7.6 of 8.0 h", "350 of 365 days"; a life of minutes needs more digits. Cut
 * and not rounded: "8.0 of 8.0 h" is for what has run all of them. */
static void add_share(struct kw_text *why,
                      double used,
                      double life,
                      const char *unit)
{
    const int decimals = unit[0] != 'h' ? 0 : life < 1.0 ? 2 : 1;
    if (isnan(life))
        return;
    if (why->length > 0)
        kw_text_add(why, ", ");
    const double a_unit = pow(10.0, decimals);
    kw_text_add_number(why, floor((used + life * ROUNDING) * a_unit) / a_unit,
                       decimals);
    kw_text_add(why, " of ");
    kw_text_add_number(why, life, decimals);
    kw_text_addf(why, " %s", unit);
}

/* The fewest decimals that give a number as it was typed. */
static int decimals_of(double value)
{
    int decimals = 0;
    double scaled = value;
    while (decimals < MOST_DECIMALS &&
           fabs(scaled - round(scaled)) > ROUNDING) {
        decimals++;
        scaled *= 10.0;
    }
    return decimals;
}

static void add_option(struct kw_text *command, const char *option, double life)
{
    if (isnan(life))
        return;
    kw_text_addf(command, " %s ", option);
    kw_text_add_number(command, life, decimals_of(life));
}

/* A life that was stated for this one part goes with the next one too: typed as
 * it stands, the command must not put a usual life in its place. */
static void add_fit_command(struct kw_text *clears, const struct kw_part *part)
{
    kw_text_addf(clears,
                 "fit a new one and write it down: 'kartwright logbook fit "
                 "\"%s\"%s%s%s",
                 part->part, part->name == NULL ? "" : " --as \"",
                 part->name == NULL ? "" : part->name,
                 part->name == NULL ? "" : "\"");
    if (part->life_from == KW_LIFE_STATED) {
        add_option(clears, "--life-hours", part->life_h);
        add_option(clears, "--life-days", part->life_days);
    }
    kw_text_add(clears, "'");
    if (part->life_from == KW_LIFE_LIST)
        kw_text_add(clears, "; the maker's sheet comes before this life");
}

/* Hours or days, whichever has gone further: fluid ages in the garage, a chain
 * on the track. */
static enum kw_status add_life(struct kw_dues *dues,
                               const struct kw_part *part,
                               double now_s,
                               struct kw_error *error)
{
    const double hours = kw_part_hours(part);
    const double days = fmax(0.0, (now_s - part->from_s) / KW_SECONDS_A_DAY);
    /* fmax() passes over the life that is not known. */
    const double share =
        fmax(hours / part->life_h, days / part->life_days) + ROUNDING;
    if (!isnan(part->to_s) || !(share >= WORTH_A_THOUGHT))
        return KW_OK;
    struct kw_due_texts texts = {0};
    struct kw_due due = {.source = KW_DUE_LIFE,
                         .id = part->id,
                         .kart = part->kart,
                         .to_buy = share >= NEAR_ITS_END,
                         .life_from = part->life_from,
                         .order = share};
    due.urgency = share >= OVER           ? KW_BEFORE_NEXT_RUN
                  : share >= NEAR_ITS_END ? KW_BEFORE_NEXT_RACE
                                          : KW_WATCH;
    kw_text_add(&texts.what, part->part);
    if (part->name != NULL)
        kw_text_addf(&texts.what, " (%s)", part->name);
    add_share(&texts.why, hours, part->life_h, "h");
    add_share(&texts.why, days, part->life_days, "days");
    add_fit_command(&texts.clears, part);
    return kw_dues_add(dues, &due, &texts, error);
}

/* ---- ranking ------------------------------------------------------------- */

/* Findings before watch items before lives; then each by its own order. */
static int rank_of(enum kw_due_source source)
{
    return source == KW_DUE_FINDING ? 0 : source == KW_DUE_WATCH ? 1 : 2;
}

/* A total order, down to the number, so that the same book always gives the
 * same list. */
static int more_pressing(const void *a, const void *b)
{
    const struct kw_due *x = a;
    const struct kw_due *y = b;
    if (x->urgency != y->urgency)
        return x->urgency > y->urgency ? -1 : 1;
    if (x->source != y->source)
        return rank_of(x->source) - rank_of(y->source);
    if (x->order > y->order || x->order < y->order)
        return x->order > y->order ? -1 : 1;
    return (x->id > y->id) - (x->id < y->id);
}

/* Four sources, one list: the person asks what to do and not why. */
enum kw_status kw_logbook_due(struct kw_logbook *book,
                              double now_s,
                              struct kw_dues *out,
                              struct kw_error *error)
{
    struct kw_parts parts;
    *out = (struct kw_dues){0};
    enum kw_status status = kw_logbook_parts(book, &parts, error);
    for (size_t i = 0; status == KW_OK && i < parts.n; i++)
        status = add_life(out, &parts.items[i], now_s, error);
    if (status == KW_OK)
        status = kw_due_findings(book, &parts, out, error);
    if (status == KW_OK)
        status = kw_due_watch_items(book, &parts, out, error);
    if (status == KW_OK)
        status = kw_due_second_looks(book, &parts, out, error);
    kw_parts_free(&parts);
    if (status != KW_OK)
        kw_dues_free(out);
    else if (out->n > 1)
        qsort(out->items, out->n, sizeof *out->items, more_pressing);
    return status;
}
