/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Parts and engines with what they have run, summed up anew at each question.
 * Cost: sessions times parts, within SQLite. */
#include "logbook/query.h"

#include "core/array.h"
#include "core/text.h"

#include <math.h>
#include <stdlib.h>

static const double S_PER_H = 3600.0;

static const char parts_sql[] =
    "SELECT p.id, p.kart, p.part, p.name, p.from_s, p.to_s, p.life_h,"
    " p.life_days, p.hours_so_far, COALESCE(sum(r.running_s), 0),"
    " COALESCE(sum(r.revolutions), 0), count(r.session_id), p.registered"
    " FROM stint p LEFT JOIN run r ON r.fit_id = p.id"
    " GROUP BY p.id ORDER BY p.to_s IS NOT NULL, p.from_s, p.id";

static const char engines_sql[] =
    "SELECT 0, o.kart, 'engine', NULL, min(o.at_s), NULL, NULL, NULL, 0,"
    " sum(o.running_s), COALESCE(sum(o.revolutions), 0), count(*), 0"
    " FROM outing o GROUP BY o.kart ORDER BY min(o.id)";

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

enum kw_status kw_logbook_parts(struct kw_logbook *book,
                                struct kw_parts *out,
                                struct kw_error *error)
{
    return read_parts(book, parts_sql, out, error);
}

enum kw_status kw_logbook_engines(struct kw_logbook *book,
                                  struct kw_parts *out,
                                  struct kw_error *error)
{
    return read_parts(book, engines_sql, out, error);
}

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
