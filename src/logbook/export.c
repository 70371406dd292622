/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Everything in the book as tables: CSV for a spreadsheet, JSON for programs.
 *
 * A table is a row here: its name and what SQLite is asked. A column whose name
 * begins with "@" holds seconds since 1970 and is written as a date, and one
 * that begins with "*" as a date in UTC. Sums of hours are worked out by
 * SQLite, in other words than those of parts.c: the tests hold the two against
 * each other. Cost: one pass over each table; parts times sessions. */
#include "logbook/query.h"

#include "core/array.h"
#include "core/csv_write.h"
#include "core/json.h"
#include "core/local_time.h"
#include "kartwright/season.h"

#include <stdlib.h>

/* Version of the JSON's form, not of the book. */
enum { FORMAT_VERSION = 1 };

/* A millionth of any unit is below what our sensors tell. */
enum { JSON_DECIMALS = 6 };

/* One file each; the heading row comes from the names in the query. */
struct table {
    const char *name;
    const char *sql;
};

static const struct table tables[] = {
    {"entries",
     "SELECT l.id AS id, l.at_s AS '@date', l.at_s AS '*date_utc',"
     " l.source AS date_from, l.kind AS kind, l.kart AS kart,"
     " l.title AS title, l.text AS text,"
     " COALESCE(r.fit_id, w.fit_id, c.target_id, f.session_id) AS about,"
     " s.running_s AS running_s"
     " FROM live l LEFT JOIN removal r ON r.entry_id = l.id"
     " LEFT JOIN watch w ON w.entry_id = l.id"
     " LEFT JOIN closing c ON c.entry_id = l.id"
     " LEFT JOIN finding f ON f.entry_id = l.id"
     " LEFT JOIN session s ON s.entry_id = l.id ORDER BY l.at_s, l.id"},
    {"sessions",
     "SELECT l.id AS id, l.at_s AS '@date', l.kart AS kart,"
     " s.log_name AS log_name, s.log_sha256 AS log_sha256,"
     " s.log_bytes AS log_bytes, s.running_s AS running_s,"
     " s.starts AS starts, s.revolutions AS revolutions,"
     " s.n_laps AS laps, s.best_lap_s AS best_lap_s, s.rpm_max AS rpm_max,"
     " s.egt_max_c AS egt_max_c, s.verdict_text AS verdict,"
     " s.setup AS setup, s.air_temp_c AS air_temp_c,"
     " s.air_pressure_pa AS air_pressure_pa, s.air_humidity AS air_humidity"
     " FROM session s JOIN live l ON l.id = s.entry_id ORDER BY l.at_s, l.id"},
    {"measures",
     "SELECT m.session_id AS session, l.at_s AS '@date', m.name AS measure,"
     " m.value AS value FROM measure m JOIN live l ON l.id = m.session_id"
     " ORDER BY l.at_s, l.id, m.name"},
    {"findings",
     "SELECT l.id AS id, f.session_id AS session, s.at_s AS '@date',"
     " f.rank AS rank, CASE f.urgency WHEN 2 THEN 'before_next_run'"
     "  WHEN 1 THEN 'before_next_race' ELSE 'watch' END AS urgency,"
     " l.title AS part, l.text AS why, f.check_steps AS \"check\","
     " f.caution AS caution FROM finding f"
     " JOIN live l ON l.id = f.entry_id JOIN live s ON s.id = f.session_id"
     " ORDER BY s.at_s, f.session_id, f.rank"},
    {"parts",
     "WITH o AS MATERIALIZED (SELECT * FROM outing)"
     " SELECT p.id AS id, p.part AS part, p.name AS name, p.kart AS kart,"
     " p.from_s AS '@fitted', p.to_s AS '@removed',"
     " p.hours_so_far + COALESCE((SELECT sum(o.running_s) FROM o"
     "  WHERE o.kart IS p.kart AND o.at_s >= p.from_s"
     "  AND (p.to_s IS NULL OR o.at_s < p.to_s)), 0) / 3600.0 AS hours,"
     " p.hours_so_far AS hours_so_far,"
     " iif(p.life_from_list, NULL, p.life_h) AS stated_life_hours,"
     " iif(p.life_from_list, NULL, p.life_days) AS stated_life_days"
     " FROM stint p ORDER BY p.from_s, p.id"},
    {"attachments",
     "SELECT a.id AS id, a.entry_id AS entry, a.name AS name,"
     " c.n_bytes AS bytes, c.sha256 AS sha256 FROM attachment a"
     " JOIN content c ON c.id = a.content_id JOIN live l ON l.id = a.entry_id"
     " ORDER BY a.id"},
    {"ticks",
     "SELECT l.id AS entry, l.at_s AS '@date', l.kart AS kart,"
     " t.item AS \"check\", t.outcome AS outcome FROM tick t"
     " JOIN live l ON l.id = t.entry_id ORDER BY l.at_s, l.id, t.item"},
    {"checks",
     "SELECT l.id AS id, l.at_s AS '@date', l.text AS \"check\""
     " FROM own_check c JOIN live l ON l.id = c.entry_id ORDER BY l.id"},
    {"lives",
     "SELECT l.id AS id, l.at_s AS '@date', o.part AS part,"
     " o.life_h AS life_hours, o.life_days AS life_days FROM own_life o"
     " JOIN live l ON l.id = o.entry_id ORDER BY l.at_s, l.id"},
    {"corrections",
     "SELECT c.entry_id AS entry, c.at_s AS '@date', c.written_s AS '@written',"
     " c.reason AS reason FROM correction c ORDER BY c.id"},
    {"withdrawn",
     "SELECT e.id AS id, e.at_s AS '@date', e.kind AS kind, e.kart AS kart,"
     " e.title AS title, e.text AS text, w.written_s AS '@written',"
     " w.reason AS reason FROM withdrawal w JOIN main.entry e"
     " ON e.id = w.entry_id ORDER BY e.id"},
};

enum { N_TABLES = sizeof tables / sizeof tables[0] };

/* ---- one value ----------------------------------------------------------- */

/* Room for a date, or for the 64 hex digits of a SHA-256. */
enum { BUFFER_SIZE = 80 };

/* A text of our own making: a date, hex digits, or a number as SQLite writes
 * it, whatever the locale; NULL for what is not known and for plain text.
 *
 * buffer  where it is made; the text may also be SQLite's own. */
static const char *own_text(const struct kw_query *query,
                            int column,
                            char buffer[BUFFER_SIZE])
{
    sqlite3_stmt *statement = query->statement;
    const char mark = sqlite3_column_name(statement, column)[0];
    const int type = sqlite3_column_type(statement, column);
    if (type == SQLITE_NULL || type == SQLITE_TEXT)
        return NULL;
    if (mark == '@')
        return kw_local_time_print(
            buffer, sqlite3_column_double(statement, column), true);
    if (mark == '*')
        return kw_utc_time_print(buffer,
                                 sqlite3_column_double(statement, column));
    if (type != SQLITE_BLOB)
        return (const char *)sqlite3_column_text(statement, column);
    const unsigned char *bytes = sqlite3_column_blob(statement, column);
    const int n = sqlite3_column_bytes(statement, column);
    buffer[0] = '\0';
    for (int i = 0; i < n && 2 * i + 2 < BUFFER_SIZE; i++)
        sqlite3_snprintf(3, buffer + 2 * i, "%02x", bytes[i]);
    return buffer;
}

/* Without the mark that tells how to write it. */
static const char *heading_of(const struct kw_query *query, int column)
{
    const char *name = sqlite3_column_name(query->statement, column);
    return name[0] == '@' || name[0] == '*' ? name + 1 : name;
}

/* SQLite's own bytes, good until the next step: they are written at once. */
static const char *text_at(const struct kw_query *query, int column)
{
    return (const char *)sqlite3_column_text(query->statement, column);
}

/* ---- one table ----------------------------------------------------------- */

/* What is ours goes as it is, what a person wrote through the escape: a
 * spreadsheet would run it. */
static void put_csv_row(const struct kw_query *query, struct kw_csv *csv)
{
    char buffer[BUFFER_SIZE];
    const int n = sqlite3_column_count(query->statement);
    for (int i = 0; i < n; i++) {
        const char *own = own_text(query, i, buffer);
        if (own != NULL)
            kw_csv_plain(csv, own);
        else
            kw_csv_text(csv, text_at(query, i));
    }
    kw_csv_end_row(csv);
}

/* Numbers stay numbers, and what is not known is null: JSON can say both. */
static void put_json_row(const struct kw_query *query, struct kw_json *json)
{
    char buffer[BUFFER_SIZE];
    const int n = sqlite3_column_count(query->statement);
    kw_json_open(json, NULL, KW_JSON_ROW);
    for (int i = 0; i < n; i++) {
        const char mark = sqlite3_column_name(query->statement, i)[0];
        const int type = sqlite3_column_type(query->statement, i);
        const char *heading = heading_of(query, i);
        if (type == SQLITE_NULL)
            kw_json_null(json, heading);
        else if (type == SQLITE_TEXT)
            kw_json_string(json, heading, text_at(query, i));
        else if (type == SQLITE_INTEGER)
            kw_json_count(json, heading,
                          (size_t)sqlite3_column_int64(query->statement, i));
        else if (type == SQLITE_FLOAT && mark != '@' && mark != '*')
            kw_json_number(json, heading,
                           sqlite3_column_double(query->statement, i),
                           JSON_DECIMALS);
        else
            kw_json_string(json, heading, own_text(query, i, buffer));
    }
    kw_json_close(json);
}

static void put_headings(const struct kw_query *query, struct kw_csv *csv)
{
    for (int i = 0; i < sqlite3_column_count(query->statement); i++)
        kw_csv_plain(csv, heading_of(query, i));
    kw_csv_end_row(csv);
}

/* Takes the text over, under "NAME.ENDING". */
static enum kw_status add_file(struct kw_export *out,
                               const char *name,
                               struct kw_text *text,
                               size_t n_rows,
                               struct kw_error *error)
{
    if (kw_array_reserve(&out->items, &out->capacity, out->n + 1,
                         sizeof *out->items, error) != KW_OK)
        return KW_NO_MEMORY;
    const size_t n_bytes = text->length;
    char *bytes = kw_text_take(text, error);
    if (bytes == NULL)
        return KW_NO_MEMORY;
    struct kw_export_file *file = &out->items[out->n++];
    *file = (struct kw_export_file){
        .bytes = bytes, .n_bytes = n_bytes, .n_rows = n_rows};
    kw_text_copy(file->name, sizeof file->name, name);
    return KW_OK;
}

/* Both forms in one pass, so that they never tell of two states of the book. */
static enum kw_status export_table(struct kw_logbook *book,
                                   const struct table *table,
                                   struct kw_json *json,
                                   struct kw_export *out,
                                   struct kw_error *error)
{
    struct kw_query query = kw_query_begin(book, table->sql, error);
    struct kw_text text = {0};
    struct kw_csv csv = {.out = &text};
    size_t n_rows = 0;
    kw_json_open(json, table->name, KW_JSON_LIST);
    if (query.status == KW_OK)
        put_headings(&query, &csv);
    for (; kw_query_row(&query); n_rows++) {
        /* JSON first: it asks for the types, and a number that SQLite has
         * written out as text no longer has a type that can be relied on. */
        put_json_row(&query, json);
        put_csv_row(&query, &csv);
    }
    kw_json_close(json);
    enum kw_status status = kw_query_end(&query);
    char name[KW_EXPORT_NAME_SIZE];
    sqlite3_snprintf((int)sizeof name, name, "%s.csv", table->name);
    if (status == KW_OK)
        status = add_file(out, name, &text, n_rows, error);
    kw_text_free(&text);
    return status;
}

/* ---- the whole book ------------------------------------------------------ */

/* JSON grows beside the tables: each row is asked for once. */
static enum kw_status export_all(struct kw_logbook *book,
                                 struct kw_export *out,
                                 struct kw_error *error)
{
    struct kw_text text = {0};
    struct kw_json json = {.out = &text};
    enum kw_status status = KW_OK;
    kw_json_open(&json, NULL, KW_JSON_OBJECT);
    kw_json_string(&json, "format", "kartwright-logbook-export");
    kw_json_count(&json, "version", FORMAT_VERSION);
    kw_json_open(&json, "tables", KW_JSON_OBJECT);
    for (size_t i = 0; i < N_TABLES && status == KW_OK; i++)
        status = export_table(book, &tables[i], &json, out, error);
    kw_json_close(&json);
    kw_json_close(&json);
    if (status == KW_OK)
        status = add_file(out, "logbook.json", &text, 0, error);
    kw_text_free(&text);
    return status;
}

/* One transaction, so that no table is older than another while somebody else
 * writes. It changes nothing: how it ends does not matter. */
enum kw_status kw_logbook_export(struct kw_logbook *book,
                                 struct kw_export *out,
                                 struct kw_error *error)
{
    *out = (struct kw_export){0};
    enum kw_status status = kw_book_run(book, "BEGIN", error);
    if (status == KW_OK) {
        status = export_all(book, out, error);
        (void)sqlite3_exec(book->db, "ROLLBACK", NULL, NULL, NULL);
    }
    if (status != KW_OK)
        kw_export_free(out);
    return status;
}

void kw_export_free(struct kw_export *exported)
{
    for (size_t i = 0; i < exported->n; i++)
        free(exported->items[i].bytes);
    free(exported->items);
    *exported = (struct kw_export){0};
}
