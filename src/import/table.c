/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Reading rows with libcsv. Each field is turned into a number as it comes by;
 * nothing of the text is kept, so memory grows with the numbers only. */
#include "import/table.h"

#include "core/array.h"
#include "core/text.h"
#include "import/table_reader.h"

#include <csv.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

enum {
    BLOCK_SIZE = 1 << 16,
    LONGEST_ROW = 1 << 23, /* bytes that are waited for its end */
    LINES_IN_A_ROW = 20    /* that a quoted field may span in earnest */
};

void kw_table_free(struct kw_table *table)
{
    for (size_t i = 0; i < table->n_slots; i++)
        free(table->slots[i].values);
    free(table->slots);
    free(table->line);
    *table = (struct kw_table){0};
}

/* ---- notices ------------------------------------------------------------- */

static void notice(struct kw_table_reader *reader,
                   enum kw_complaint kind,
                   struct kw_text *text)
{
    if (reader->status == KW_OK)
        reader->status = kw_complain(&reader->complaints, kind, reader->line,
                                     text, reader->error);
    else
        kw_text_free(text);
}

/* The number of lines is what gives a stray quote away: one row on two lines is
 * seldom meant. */
static void complain_about_count(struct kw_table_reader *reader,
                                 enum kw_complaint kind)
{
    struct kw_text text = {0};
    kw_text_addf(&text, "row has %zu field%s", reader->field,
                 reader->field == 1 ? "" : "s");
    if (reader->newlines > 0)
        kw_text_addf(&text, " on %zu lines", reader->newlines + 1);
    kw_text_addf(&text, ", expected %zu: left out", reader->n_columns);
    notice(reader, kind, &text);
}

/* A row without a time has no place among the others, whatever else it
 * holds. */
static void complain_about_time(struct kw_table_reader *reader)
{
    struct kw_text text = {0};
    kw_text_add(&text, "row has no readable time: left out");
    notice(reader, KW_NO_TIME, &text);
}

/* One notice for a row, with its first bad field: a shifted row has many. Left
 * out is the field alone: RPM of that row may still be what a drop-out is told
 * by. */
static void complain_about_field(struct kw_table_reader *reader)
{
    struct kw_text text = {0};
    kw_text_add(&text, "'");
    kw_text_add_visible(&text, reader->bad_value);
    kw_text_add(&text, "' in column '");
    kw_text_add_visible(
        &text, reader->source->columns->items[reader->bad_column].heading);
    kw_text_add(&text, "' is no number: taken as missing");
    notice(reader, KW_UNREADABLE, &text);
}

/* ---- rows ---------------------------------------------------------------- */

/* Room for so many rows in every slot: they grow together. */
static enum kw_status make_room(struct kw_table_reader *reader, size_t n_rows)
{
    struct kw_table *table = reader->table;
    if (n_rows <= table->line_capacity)
        return KW_OK;
    enum kw_status status =
        kw_array_reserve(&table->line, &table->line_capacity, n_rows,
                         sizeof *table->line, reader->error);
    for (size_t i = 0; status == KW_OK && i < table->n_slots; i++) {
        struct kw_slot *slot = &table->slots[i];
        status = kw_array_reserve(&slot->values, &slot->capacity,
                                  table->line_capacity, sizeof *slot->values,
                                  reader->error);
        struct kw_lane *lane = &reader->lanes[slot->column];
        /* The arrays may have moved. */
        lane->values = slot->values;
        lane->numbers = lane->clock ? NULL : slot->values;
    }
    return status;
}

/* The fields stand in their slots already: the row is kept by counting it. */
static void keep_row(struct kw_table_reader *reader)
{
    struct kw_table *table = reader->table;
    /* Without memory nothing more is read: what follows overwrites this row. No
     * row was counted that has no room behind it: the next one's fields are
     * written before it is judged. */
    if (reader->status != KW_OK)
        return;
    /* 32 bits for each row are plenty; beyond four thousand million lines all
     * are called the last. */
    table->line[table->n_rows++] =
        reader->line < UINT32_MAX ? (uint32_t)reader->line : UINT32_MAX;
    reader->counts.n = table->data_rows;
    reader->counts.wrong_count = reader->complaints.count[KW_WRONG_COUNT];
    reader->counts.no_time = reader->complaints.count[KW_NO_TIME];
    reader->status = make_room(reader, table->n_rows + 1);
    if (reader->status != KW_OK)
        table->n_rows--;
}

/* One field more than the heading is a comma at the end of the line (RFC 4180
 * counts an empty field there); fewer, where the heading ends in such commas.
 */
static bool count_is_right(const struct kw_table_reader *reader)
{
    /* Only an empty one: a field with something in it means that the columns
     * have shifted, and values would go to the wrong roles. */
    if (reader->field == reader->n_columns + 1)
        return reader->last_length == 0;
    return reader->field >= reader->n_named &&
           reader->field <= reader->n_columns;
}

/* Does the row lack the time of the log and all others? */
static bool has_no_time(const struct kw_table_reader *reader)
{
    const struct kw_table *table = reader->table;
    bool seen = table->time == table->n_slots;
    for (size_t k = 0; !seen && k < table->n_slots; k++) {
        const struct kw_slot *slot = &table->slots[k];
        seen = (k == table->time ||
                reader->source->columns->items[slot->column].own_time) &&
               !isnan(slot->values[table->n_rows]);
    }
    return !seen;
}

/* A row that ends early says what there is of it, where time and RPM are there.
 * Not the last line without its end: there the log was cut, perhaps within a
 * number. */
static bool may_end_early(const struct kw_table_reader *reader, bool is_cut)
{
    const struct kw_table *table = reader->table;
    bool has_rpm = false;
    for (size_t i = reader->field; i < reader->n_columns; i++) {
        if (reader->lanes[i].values != NULL)
            reader->lanes[i].values[table->n_rows] = NAN;
    }
    for (size_t i = 0; i < reader->field && i < reader->n_columns; i++)
        has_rpm = has_rpm || reader->lanes[i].role == KW_ROLE_RPM;
    return reader->field < reader->n_columns && reader->newlines == 0 &&
           reader->n_bad == 0 && !is_cut && has_rpm && !has_no_time(reader);
}

/* Complained about as any other, and kept until all rows are known. */
static void keep_short_row(struct kw_table_reader *reader)
{
    const size_t told = reader->complaints.told[KW_SHORT_ROW];
    complain_about_count(reader, KW_SHORT_ROW);
    const struct kw_short_row row = {
        .row = reader->table->n_rows,
        .fields = reader->field,
        .notice = reader->complaints.notices->n - 1,
        .named = reader->complaints.told[KW_SHORT_ROW] > told,
    };
    if (reader->status == KW_OK)
        reader->status =
            kw_short_rows_add(&reader->short_rows, &row, reader->error);
    keep_row(reader);
}

/* A heading once more is no data, nor is one that is another: below that the
 * columns are not known. */
static bool is_heading(struct kw_table_reader *reader)
{
    struct kw_joined_files *joined = &reader->joined;
    const size_t n_read =
        reader->field < reader->n_columns ? reader->field : reader->n_columns;
    const size_t words = reader->as_heading + joined->names;
    /* A heading row has fields that are words of one and some that are neither;
     * with more strangers it is a bad row, and without the time and RPM a
     * remark. */
    if (joined->names > 0 && words > 1 &&
        (joined->names_time || joined->names_rpm) &&
        2 * words >= reader->as_heading + reader->n_bad &&
        !kw_has_reading(reader, n_read)) {
        kw_joined_heading(joined, reader->field, reader->line);
        return true;
    }
    if (reader->as_heading == 0 || reader->as_heading < reader->n_bad)
        return false;
    const size_t fields = reader->field - (reader->last_length == 0);
    if (fields > reader->n_columns)
        kw_joined_heading(joined, fields, reader->line);
    else if (reader->n_bad == 0)
        joined->below = false;
    return true;
}

/* Names what is wrong with the row, or keeps it. */
static void judge_data(struct kw_table_reader *reader, bool is_cut)
{
    const bool right_count = count_is_right(reader);
    /* Without its time a row has no place: a guess between its neighbours could
     * hide the drop-out that the row records. */
    const bool no_time = right_count && has_no_time(reader);
    if (!right_count || no_time || reader->n_bad > 0)
        kw_joined_bad_row(&reader->joined, reader->n_columns, reader->line);
    if (no_time) {
        complain_about_time(reader);
    } else if (right_count) {
        if (reader->n_bad > 0)
            complain_about_field(reader);
        keep_row(reader);
    } else if (may_end_early(reader, is_cut)) {
        keep_short_row(reader);
    } else {
        complain_about_count(reader, KW_WRONG_COUNT);
    }
}

/* The power went within a field between quotes: only this row is lost. */
static void give_up_cut_row(struct kw_table_reader *reader)
{
    struct kw_text text = {0};
    kw_text_add(&text, "the file ends within quotes: row left out");
    notice(reader, KW_WRONG_COUNT, &text);
}

/* A stray quote swallows rows up to the next one, or to the end of the file:
 * the review would be of half a session. */
static bool swallows_rows(const struct kw_table_reader *reader)
{
    return reader->open_quote ? reader->newlines > (reader->ends_line ? 1U : 0U)
                              : reader->newlines > LINES_IN_A_ROW;
}

static void refuse_swallowed_rows(struct kw_table_reader *reader)
{
    if (reader->status == KW_OK)
        reader->status = kw_refuse_open_quote(reader->source->bytes->path,
                                              reader->line, reader->error);
}

/* What is no data at all is passed over without a count; what is data and bad
 * is counted and named. */
static void judge_row(struct kw_table_reader *reader, bool is_cut)
{
    /* Also in a comment: it has swallowed what stands behind it. */
    if (reader->open_quote && swallows_rows(reader)) {
        refuse_swallowed_rows(reader);
        return;
    }
    /* Above the data nothing is read: notes may have as many fields as the
     * table. */
    if (reader->filled == 0 || reader->comment || reader->n_read == 0 ||
        is_heading(reader))
        return;
    reader->table->data_rows++;
    if (swallows_rows(reader))
        refuse_swallowed_rows(reader);
    else if (reader->open_quote)
        give_up_cut_row(reader);
    else if (reader->joined.below)
        reader->joined.n_below++;
    else
        judge_data(reader, is_cut);
}

/* libcsv reports blank lines too (CSV_REPALL_NL), so that lines can be
 * counted. */
static void on_row_end(int end, void *data)
{
    struct kw_table_reader *reader = data;
    const bool second_half =
        end == '\n' && reader->last_end == '\r' && reader->field == 0;
    if (reader->field > 0)
        judge_row(reader, end < 0);
    reader->line += reader->newlines + !second_half;
    reader->last_end = second_half ? 0 : end;
    reader->field = reader->filled = reader->newlines = 0;
    reader->as_heading = reader->n_bad = 0;
    kw_joined_next_row(&reader->joined);
    reader->comment = false;
    reader->n_read =
        reader->line < reader->skip_to_line ? 0 : reader->n_columns;
}

/* ---- the whole table ----------------------------------------------------- */

/* How many rows the file is likely to have, by the length of its first ones: an
 * array that is made once need not be moved while it grows.
 *
 * returns  at least 1; too few for a packed file, whose arrays grow. */
static size_t rows_to_come(const struct kw_table_source *source)
{
    size_t lines = 1;
    for (size_t i = 0; i < source->n_first; i++)
        lines += source->first[i] == '\n';
    /* A row has a byte and a mark for each column at least: blank lines at the
     * top of a large file must not ask for all memory. */
    const size_t least_bytes = 2 * source->columns->n;
    const size_t usual_bytes = source->n_first / lines;
    return source->bytes->size /
               (usual_bytes > least_bytes ? usual_bytes : least_bytes) +
           1;
}

/* Only columns with a role get memory. */
static enum kw_status make_slots(struct kw_table_reader *reader)
{
    const struct kw_columns *columns = reader->source->columns;
    struct kw_table *table = reader->table;
    table->slots =
        kw_array_new(columns->n, sizeof *table->slots, reader->error);
    reader->lanes =
        kw_array_new(columns->n, sizeof *reader->lanes, reader->error);
    if (table->slots == NULL || reader->lanes == NULL)
        return KW_NO_MEMORY;
    table->time = columns->n;
    for (size_t i = 0; i < columns->n; i++) {
        reader->lanes[i].role = columns->items[i].role;
        reader->lanes[i].clock = columns->items[i].clock;
        if (columns->items[i].role == KW_N_ROLES)
            continue;
        if (columns->items[i].role == KW_ROLE_TIME &&
            !columns->items[i].own_time)
            table->time = table->n_slots;
        table->slots[table->n_slots++].column = i;
    }
    /* No column holds the time: the index beyond the last slot says so. */
    if (table->time == columns->n)
        table->time = table->n_slots;
    return make_room(reader, rows_to_come(reader->source));
}

/* What is left is a row without its line end, or one in an open quote. Only
 * here the parser is made strict, to say which: in a row `1"2` is some text
 * like other. */
static void end_parsing(struct kw_table_reader *reader,
                        struct csv_parser *parser)
{
    csv_set_opts(parser, CSV_REPALL_NL | CSV_STRICT | CSV_STRICT_FINI);
    int failed = csv_fini(parser, kw_on_field, on_row_end, reader);
    if (failed != 0 && csv_error(parser) == CSV_EPARSE) {
        reader->open_quote = true;
        csv_set_opts(parser, CSV_REPALL_NL);
        failed = csv_fini(parser, kw_on_field, on_row_end, reader);
    }
    if (failed != 0 && reader->status == KW_OK)
        reader->status = kw_fail_memory(reader->error);
}

/* The head's bytes first, then block by block. A row that does not end for
 * megabytes is in an open quote: libcsv would collect all of it. */
static enum kw_status parse(struct kw_table_reader *reader,
                            struct csv_parser *parser)
{
    const struct kw_table_source *source = reader->source;
    char *block = kw_array_new(BLOCK_SIZE, 1, reader->error);
    if (block == NULL)
        return KW_NO_MEMORY;
    const char *at = source->first;
    size_t length = source->n_first;
    size_t row_bytes = 0;
    do {
        const size_t line = reader->line;
        /* libcsv takes all it is given, or stops for want of memory. */
        const size_t done =
            csv_parse(parser, at, length, kw_on_field, on_row_end, reader);
        /* Bytes since a row last ended, to the precision of a block. */
        row_bytes = reader->line == line ? row_bytes + length : 0;
        if (done != length && reader->status == KW_OK)
            reader->status = kw_fail_memory(reader->error);
        if (row_bytes > LONGEST_ROW && reader->status == KW_OK)
            reader->status = kw_refuse_endless_row(source->bytes->path,
                                                   reader->line, reader->error);
        at = block;
        if (reader->status == KW_OK)
            reader->status = kw_bytes_read(source->bytes, block, BLOCK_SIZE,
                                           &length, reader->error);
        else
            length = 0;
    } while (length > 0);
    free(block);
    end_parsing(reader, parser);
    return reader->status;
}

/* Rows that end early are kept where the file has the habit. */
static enum kw_status settle_short_rows(struct kw_table_reader *reader)
{
    const struct kw_short_rows *rows = &reader->short_rows;
    enum kw_status status = KW_OK;
    if (kw_short_rows_usual(rows, reader->table->data_rows)) {
        status =
            kw_short_rows_tell(rows, reader->complaints.notices, reader->error);
    } else {
        kw_short_rows_drop(rows, reader->table);
        reader->complaints.count[KW_WRONG_COUNT] +=
            reader->complaints.count[KW_SHORT_ROW];
        reader->complaints.told[KW_WRONG_COUNT] +=
            reader->complaints.told[KW_SHORT_ROW];
    }
    reader->complaints.count[KW_SHORT_ROW] =
        reader->complaints.told[KW_SHORT_ROW] = 0;
    return status;
}

/* Read by libcsv in the order of the file; what was wrong is summed up at the
 * end. */
enum kw_status kw_table_read(const struct kw_table_source *source,
                             struct kw_notices *notices,
                             struct kw_table *out,
                             struct kw_error *error)
{
    const struct kw_head *head = source->head;
    struct csv_parser parser;
    struct kw_table_reader reader = {
        .source = source,
        .table = out,
        .complaints.notices = notices,
        .error = error,
        .n_columns = source->columns->n,
        .point = head->point,
        .line = 1,
        .skip_to_line = head->rows[head->first_data].line,
        .counts.first_line = head->rows[head->first_data].line,
    };
    *out = (struct kw_table){0};
    reader.n_named = reader.n_columns;
    while (reader.n_named > 0 &&
           source->columns->items[reader.n_named - 1].heading[0] == '\0')
        reader.n_named--;
    if (csv_init(&parser, CSV_REPALL_NL) != 0)
        return kw_fail_memory(error);
    csv_set_delim(&parser, (unsigned char)head->delimiter);
    /* By how much a field's room grows: in libcsv's own small steps a field of
     * megabytes would be moved many thousand times. */
    csv_set_blk_size(&parser, BLOCK_SIZE);
    enum kw_status status = make_slots(&reader);
    if (status == KW_OK)
        status = parse(&reader, &parser);
    if (status == KW_OK)
        status = settle_short_rows(&reader);
    const struct kw_joined_report report = {
        source->columns, source->bytes->path, reader.table->data_rows, notices};
    if (status == KW_OK)
        status = kw_joined_settle(&reader.joined, &report, error);
    if (status == KW_OK)
        status =
            kw_refuse_most_rows(&reader.counts, source->bytes->path, error);
    if (status == KW_OK)
        status = kw_complaints_sum_up(&reader.complaints, error);
    csv_free(&parser);
    kw_short_rows_free(&reader.short_rows);
    free(reader.lanes);
    if (status != KW_OK)
        kw_table_free(out);
    return status;
}
