/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Parts and engines with what they have run, summed up anew at each question.
 * Cost: sessions are read once and added up by date; each part then takes two
 * looks into that sum, O((sessions + parts) log sessions). */
#include "kartwright/upkeep.h"
#include "logbook/outings.h"

#include "core/array.h"

#include <math.h>
#include <stdlib.h>

static const double S_PER_H = 3600.0;

/* Those on the kart first, oldest first: what has run longest is looked at
 * first. Hours are added below, from the sessions. */
static const char parts_sql[] =
    "SELECT id, kart, part, name, from_s, to_s, life_h, life_days,"
    " hours_so_far, 0, 0, 0, registered, life_from_list"
    " FROM stint ORDER BY to_s IS NOT NULL, from_s, id";

/* An engine is what its kart's sessions ran: nobody has to fit it first. */
static const char engines_sql[] =
    "SELECT 0, o.kart, 'engine', NULL, min(o.at_s), NULL, NULL, NULL, 0,"
    " sum(o.running_s), COALESCE(sum(o.revolutions), 0), count(*), 0, 0"
    " FROM outing o GROUP BY o.kart ORDER BY min(o.id)";

/* The row that the query stands on; columns as in both statements above. */
static void take_part(struct kw_query *query, struct kw_parts *out)
{
    if (kw_array_reserve(&out->items, &out->capacity, out->n + 1,
                         sizeof *out->items, query->error) != KW_OK) {
        query->status = KW_NO_MEMORY;
        return;
    }
    struct kw_part *part = &out->items[out->n++];
    *part = (struct kw_part){
        .id = kw_query_int_at(query, 0),
        .kart = kw_query_text_at(query, 1),
        .part = kw_query_string_at(query, 2),
        .name = kw_query_text_at(query, 3),
        .from_s = kw_query_real_at(query, 4),
        .to_s = kw_query_real_at(query, 5),
        .life_h = kw_query_real_at(query, 6),
        .life_days = kw_query_real_at(query, 7),
        .hours_so_far = kw_query_real_at(query, 8),
        .running_s = kw_query_real_at(query, 9),
        .revolutions = kw_query_real_at(query, 10),
        .n_sessions = kw_query_int_at(query, 11),
        .registered = kw_query_int_at(query, 12) != 0,
    };
    const bool none = isnan(part->life_h) && isnan(part->life_days);
    part->life_from = none                              ? KW_LIFE_NONE
                      : kw_query_int_at(query, 13) != 0 ? KW_LIFE_LIST
                                                        : KW_LIFE_STATED;
}

static enum kw_status read_parts(struct kw_logbook *book,
                                 const char *sql,
                                 struct kw_parts *out,
                                 struct kw_error *error)
{
    *out = (struct kw_parts){0};
    struct kw_query query = kw_query_begin(book, sql, error);
    while (kw_query_row(&query))
        take_part(&query, out);
    const enum kw_status status = kw_query_end(&query);
    if (status != KW_OK)
        kw_parts_free(out);
    return status;
}

/* ---- what ran when ------------------------------------------------------- */

/* Each session then has the sums over those of its kart up to and with it, and
 * a stretch of time is the difference of two of them. */
static void sum_up(struct kw_outings *outings)
{
    for (size_t i = 1; i < outings->n; i++) {
        const struct kw_outing *before = &outings->items[i - 1];
        struct kw_outing *outing = &outings->items[i];
        if (!kw_same_kart(before->kart, outing->kart))
            continue;
        outing->running_s += before->running_s;
        outing->revolutions += before->revolutions;
    }
}

/* The first session of items[from .. to - 1] that is not before a moment. */
static size_t first_at(const struct kw_outings *outings,
                       size_t from,
                       size_t to,
                       double at_s)
{
    while (from < to) {
        const size_t middle = from + (to - from) / 2;
        if (outings->items[middle].at_s < at_s)
            from = middle + 1;
        else
            to = middle;
    }
    return from;
}

/* The sum up to the end of the stretch less the sum up to its start. */
static void add_up(const struct kw_outings *outings, struct kw_part *part)
{
    size_t from = 0;
    while (from < outings->n &&
           !kw_same_kart(outings->items[from].kart, part->kart))
        from++;
    const size_t to = kw_outings_end(outings, from);
    const size_t first = first_at(outings, from, to, part->from_s);
    if (first > from)
        part->engine_hours = outings->items[first - 1].running_s / S_PER_H;
    const size_t end =
        isnan(part->to_s) ? to : first_at(outings, from, to, part->to_s);
    /* Fitted and never driven. */
    if (end <= first)
        return;
    part->n_sessions = (int64_t)(end - first);
    part->running_s = outings->items[end - 1].running_s;
    part->revolutions = outings->items[end - 1].revolutions;
    if (first > from) {
        part->running_s -= outings->items[first - 1].running_s;
        part->revolutions -= outings->items[first - 1].revolutions;
    }
}

/* The lists as they are today go before what was on the list when the part was
 * fitted; a life that was stated for it stays. */
static void take_life(const struct kw_lives *lives, struct kw_part *part)
{
    const struct kw_life *life = kw_lives_find(lives, part->part);
    if (part->life_from == KW_LIFE_STATED || life == NULL)
        return;
    part->life_from = life->id != 0 ? KW_LIFE_OWN : KW_LIFE_LIST;
    part->life_h = life->life_h;
    part->life_days = life->life_days;
}

/* Every question works it out anew: nothing that could drift is stored. */
enum kw_status kw_logbook_parts(struct kw_logbook *book,
                                struct kw_parts *out,
                                struct kw_error *error)
{
    struct kw_outings outings = {0};
    struct kw_lives lives = {0};
    enum kw_status status = read_parts(book, parts_sql, out, error);
    if (status == KW_OK)
        status = kw_outings_read(book, &outings, error);
    if (status == KW_OK)
        status = kw_logbook_lives(book, &lives, error);
    sum_up(&outings);
    for (size_t i = 0; status == KW_OK && i < out->n; i++) {
        add_up(&outings, &out->items[i]);
        take_life(&lives, &out->items[i]);
    }
    kw_lives_free(&lives);
    kw_outings_free(&outings);
    if (status != KW_OK)
        kw_parts_free(out);
    return status;
}

/* Summed by SQLite: there is one for each kart and no date to cut at. */
enum kw_status kw_logbook_engines(struct kw_logbook *book,
                                  struct kw_parts *out,
                                  struct kw_error *error)
{
    return read_parts(book, engines_sql, out, error);
}

/* What it had run before it came into this book, and what the logs say
 * since. */
double kw_part_hours(const struct kw_part *part)
{
    return part->hours_so_far + part->running_s / S_PER_H;
}

void kw_parts_free(struct kw_parts *parts)
{
    for (size_t i = 0; i < parts->n; i++) {
        free(parts->items[i].kart);
        free(parts->items[i].part);
        free(parts->items[i].name);
    }
    free(parts->items);
    *parts = (struct kw_parts){0};
}
