/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Reading rows with libcsv. Each field is turned into a number as it comes by;
 * nothing of the text is kept, so memory grows with the numbers only. */
#include "import/table.h"

#include "core/array.h"
#include "core/clock.h"
#include "core/notices.h"
#include "core/number.h"
#include "core/text.h"
#include "import/cell.h"
#include "import/short_rows.h"
#include "import/table_refused.h"

#include <csv.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

enum {
    BLOCK_SIZE = 1 << 16,
    LONGEST_ROW = 1 << 23, /* bytes that are waited for its end */
    LINES_IN_A_ROW = 20,   /* that a quoted field may span in earnest */
    NAMED_OF_A_KIND = 3, /* notices with a line before they are only counted */
    SHOWN_VALUE = 24     /* bytes of a field that a notice quotes */
};

/* What can be wrong with a row or a field. */
enum complaint { WRONG_COUNT, SHORT_ROW, NO_TIME, UNREADABLE, N_COMPLAINTS };

/* What is done with the fields of one column.
 *
 * values   of its slot; NULL for a column that is not kept.
 * numbers  the same where plain numbers are expected; NULL for clock times.
 * clock    its fields are clock times.
 *
 * Looked up for each field, so it is small and flat. */
struct lane {
    double *values;
    double *numbers;
    enum kw_role role;
    bool clock;
};

/* The state between two callbacks of libcsv.
 *
 * lanes        lanes[n_columns].
 * n_named      those up to the last one that has a heading.
 * n_read       fields of this row that are read: n_columns, 0 above the data.
 * field        fields seen in the row.
 * filled       bytes in them.
 * last_length  of the last field.
 * line         1-based physical line on which the row starts.
 * newlines     line ends inside its quoted fields.
 * as_heading   fields that repeat the heading or the units row.
 * bad_*        the first field of the row that could not be read.
 * count        complaints of each kind, `told` those that are notices.
 * short_rows   rows kept for now: what they are is told by their number.
 * counts       of the rows up to the last one that is kept: another table may
 *              stand below. */
struct reader {
    const struct kw_table_source *source;
    struct kw_table *table;
    struct kw_notices *notices;
    struct kw_error *error;
    enum kw_status status;
    struct lane *lanes;
    size_t n_columns;
    size_t n_named;
    size_t n_read;
    size_t field;
    size_t filled;
    size_t last_length;
    size_t line;
    size_t newlines;
    size_t skip_to_line;
    size_t as_heading;
    size_t n_bad;
    size_t bad_column;
    char bad_value[SHOWN_VALUE];
    char point;
    bool comment;
    int last_end;
    size_t count[N_COMPLAINTS];
    size_t told[N_COMPLAINTS];
    struct kw_short_rows short_rows;
    struct kw_row_counts counts;
};

void kw_table_free(struct kw_table *table)
{
    for (size_t i = 0; i < table->n_slots; i++)
        free(table->slots[i].values);
    free(table->slots);
    free(table->line);
    *table = (struct kw_table){0};
}

/* ---- notices --------------------------------------------------------------
 */

/* Named while there are few, and counted always. */
static void notice(struct reader *reader,
                   enum complaint kind,
                   struct kw_text *text)
{
    reader->count[kind]++;
    if (reader->told[kind] < NAMED_OF_A_KIND && reader->status == KW_OK) {
        reader->told[kind]++;
        reader->status =
            kw_notices_tell(reader->notices, reader->line, text, reader->error);
    } else {
        kw_text_free(text);
    }
}

/* The number of lines is what gives a stray quote away: one row on two lines is
 * seldom meant. */
static void complain_about_count(struct reader *reader, enum complaint kind)
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
static void complain_about_time(struct reader *reader)
{
    struct kw_text text = {0};
    kw_text_add(&text, "row has no readable time: left out");
    notice(reader, NO_TIME, &text);
}

/* One notice for a row, with its first bad field: a shifted row has many. Left
 * out is the field alone: RPM of that row may still be what a drop-out is told
 * by. */
static void complain_about_field(struct reader *reader)
{
    struct kw_text text = {0};
    kw_text_add(&text, "'");
    kw_text_add_visible(&text, reader->bad_value);
    kw_text_add(&text, "' in column '");
    kw_text_add_visible(
        &text, reader->source->columns->items[reader->bad_column].heading);
    kw_text_add(&text, "' is no number: taken as missing");
    notice(reader, UNREADABLE, &text);
}

/* What was counted beyond those that were named. */
static enum kw_status sum_up(struct reader *reader)
{
    static const char *const kinds[N_COMPLAINTS] = {
        [WRONG_COUNT] = "rows with a wrong number of fields were left out",
        [NO_TIME] = "rows without a readable time were left out",
        /* Counted by rows, as they are named. */
        [UNREADABLE] = "rows with fields that are no number",
    };
    for (size_t i = 0; i < N_COMPLAINTS; i++) {
        if (reader->count[i] <= reader->told[i])
            continue;
        struct kw_text text = {0};
        kw_text_add(&text, "in all ");
        kw_text_add_whole(&text, (double)reader->count[i]);
        kw_text_addf(&text, " %s", kinds[i]);
        const enum kw_status status =
            kw_notices_tell(reader->notices, 0, &text, reader->error);
        if (status != KW_OK)
            return status;
    }
    return KW_OK;
}

/* ---- fields ---------------------------------------------------------------
 */

/* Logs that were appended to each other have the heading in the middle. */
static bool repeats(const struct kw_head *head,
                    size_t row,
                    size_t column,
                    const char *text,
                    size_t length)
{
    if (row >= head->n_rows || column >= head->rows[row].n)
        return false;
    const char *cell = head->rows[row].cells[column];
    return strlen(cell) == length && length > 0 &&
           memcmp(cell, text, length) == 0;
}

/* Line ends inside a quoted field: LF, CR LF or CR alone. */
static void count_newlines(struct reader *reader,
                           const char *text,
                           size_t length)
{
    /* Editors count so, and a message must name the line that they show. */
    for (size_t i = 0; i < length; i++)
        reader->newlines +=
            text[i] == '\n' ||
            (text[i] == '\r' && (i + 1 == length || text[i + 1] != '\n'));
}

/* A field that is no plain number: a clock, a blank, thousands marks, the
 * heading once more, or something that nobody can read. */
static void read_odd_field(struct reader *reader,
                           size_t column,
                           const char *text,
                           size_t length)
{
    const struct kw_head *head = reader->source->head;
    const struct lane *lane = &reader->lanes[column];
    struct kw_clock clock;
    double value = NAN;
    if (lane->clock && kw_clock_parse(text, length, &clock))
        value = clock.seconds;
    else if (!kw_cell_read(lane->role, text, length, reader->point, &value))
        value = NAN;
    /* Written in any case: the place may hold a value of a row that was left
     * out. */
    lane->values[reader->table->n_rows] = value;
    if (!isnan(value) || kw_is_missing(text, length))
        return;
    /* Two exports put behind each other are one log with the heading twice. */
    if (repeats(head, head->heading, column, text, length) ||
        repeats(head, head->units, column, text, length)) {
        reader->as_heading++;
        return;
    }
    reader->counts.no_rpm += lane->role == KW_ROLE_RPM;
    /* The first says where the trouble begins; a shifted row has one in each
     * field behind it. */
    if (reader->n_bad++ > 0)
        return;
    reader->bad_column = column;
    /* A cut through a character is made visible with the rest. */
    const size_t n = length < SHOWN_VALUE - 1 ? length : SHOWN_VALUE - 1;
    memcpy(reader->bad_value, text, n);
    reader->bad_value[n] = '\0';
}

/* All that is no plain number: blanks, texts, comments. */
static void on_other_field(struct reader *reader,
                           size_t column,
                           const char *text,
                           size_t length)
{
    if (length > 0) {
        count_newlines(reader, text, length);
        /* A comment is told by its first field only; '#' later is text. */
        if (column == 0)
            reader->comment = *text == '#';
    }
    if (column < reader->n_read && reader->lanes[column].values != NULL)
        read_odd_field(reader, column, text, length);
}

/* Called for each field: what is usual comes first and costs little. */
static void on_field(void *field, size_t length, void *data)
{
    struct reader *reader = data;
    const size_t column = reader->field++;
    reader->filled += length;
    reader->last_length = length;
    if (column < reader->n_read) {
        /* One call and one comparison for nearly all fields of a log: an hour
         * at 1 kHz has tens of millions of them. */
        double *numbers = reader->lanes[column].numbers;
        if (numbers != NULL && kw_number_parse(field, length, reader->point,
                                               &numbers[reader->table->n_rows]))
            return;
    }
    on_other_field(reader, column, field, length);
}

/* ---- rows -----------------------------------------------------------------
 */

/* Room for so many rows in every slot: they grow together. */
static enum kw_status make_room(struct reader *reader, size_t n_rows)
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
        struct lane *lane = &reader->lanes[slot->column];
        /* The arrays may have moved. */
        lane->values = slot->values;
        lane->numbers = lane->clock ? NULL : slot->values;
    }
    return status;
}

/* The fields stand in their slots already: the row is kept by counting it. */
static void keep_row(struct reader *reader)
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
    reader->counts.wrong_count = reader->count[WRONG_COUNT];
    reader->counts.no_time = reader->count[NO_TIME];
    reader->status = make_room(reader, table->n_rows + 1);
    if (reader->status != KW_OK)
        table->n_rows--;
}

/* One field more than the heading is a comma at the end of the line (RFC 4180
 * counts an empty field there); fewer, where the heading ends in such commas.
 */
static bool count_is_right(const struct reader *reader)
{
    /* Only an empty one: a field with something in it means that the columns
     * have shifted, and values would go to the wrong roles. */
    if (reader->field == reader->n_columns + 1)
        return reader->last_length == 0;
    return reader->field >= reader->n_named &&
           reader->field <= reader->n_columns;
}

/* Does the row lack the time of the log and all others? */
static bool has_no_time(const struct reader *reader)
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
static bool may_end_early(const struct reader *reader, bool is_cut)
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
static void keep_short_row(struct reader *reader)
{
    const size_t told = reader->told[SHORT_ROW];
    complain_about_count(reader, SHORT_ROW);
    const struct kw_short_row row = {
        .row = reader->table->n_rows,
        .fields = reader->field,
        .notice = reader->notices->n - 1,
        .named = reader->told[SHORT_ROW] > told,
    };
    if (reader->status == KW_OK)
        reader->status =
            kw_short_rows_add(&reader->short_rows, &row, reader->error);
    keep_row(reader);
}

/* What is no data at all is passed over without a count; what is data and bad
 * is counted and named. */
static void judge_row(struct reader *reader, bool is_cut)
{
    struct kw_table *table = reader->table;
    /* Above the data nothing is read: notes may have as many fields as the
     * table. */
    if (reader->filled == 0 || reader->comment || reader->n_read == 0 ||
        /* A heading row has fields that are its words and some that are
         * neither; with more strangers than its own words it is a bad row. */
        (reader->as_heading > 0 && reader->as_heading >= reader->n_bad))
        return;
    table->data_rows++;
    /* One stray quote would else swallow the rest of the session up to the next
     * one, and the review would be of half of it. */
    if (reader->newlines > LINES_IN_A_ROW) {
        if (reader->status == KW_OK)
            reader->status = kw_refuse_open_quote(reader->source->bytes->path,
                                                  reader->line, reader->error);
    } else if (!count_is_right(reader)) {
        if (may_end_early(reader, is_cut))
            keep_short_row(reader);
        else
            complain_about_count(reader, WRONG_COUNT);
        /* Without its time a row has no place: a guess between its neighbours
         * could hide the drop-out that the row records. */
    } else if (has_no_time(reader)) {
        complain_about_time(reader);
    } else {
        if (reader->n_bad > 0)
            complain_about_field(reader);
        keep_row(reader);
    }
}

/* libcsv reports blank lines too (CSV_REPALL_NL), so that lines can be
 * counted. */
static void on_row_end(int end, void *data)
{
    struct reader *reader = data;
    const bool second_half =
        end == '\n' && reader->last_end == '\r' && reader->field == 0;
    if (reader->field > 0)
        judge_row(reader, end < 0);
    reader->line += reader->newlines + !second_half;
    reader->last_end = second_half ? 0 : end;
    reader->field = reader->filled = reader->newlines = 0;
    reader->as_heading = reader->n_bad = 0;
    reader->comment = false;
    reader->n_read =
        reader->line < reader->skip_to_line ? 0 : reader->n_columns;
}

/* ---- the whole table ------------------------------------------------------
 */

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
static enum kw_status make_slots(struct reader *reader)
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

/* The head's bytes first, then block by block. A row that does not end for
 * megabytes is in an open quote: libcsv would collect all of it. */
static enum kw_status parse(struct reader *reader, struct csv_parser *parser)
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
            csv_parse(parser, at, length, on_field, on_row_end, reader);
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
    /* What is left is a row without its line end, or one in an open quote. Only
     * here the parser is made strict: in a row `1"2` is some text like other.
     */
    csv_set_opts(parser, CSV_REPALL_NL | CSV_STRICT | CSV_STRICT_FINI);
    if (csv_fini(parser, on_field, on_row_end, reader) != 0 &&
        reader->status == KW_OK)
        reader->status = csv_error(parser) == CSV_EPARSE
                             ? kw_refuse_open_quote(source->bytes->path,
                                                    reader->line, reader->error)
                             : kw_fail_memory(reader->error);
    return reader->status;
}

/* Rows that end early are kept where the file has the habit. */
static enum kw_status settle_short_rows(struct reader *reader)
{
    const struct kw_short_rows *rows = &reader->short_rows;
    enum kw_status status = KW_OK;
    if (kw_short_rows_usual(rows, reader->table->data_rows)) {
        status = kw_short_rows_tell(rows, reader->notices, reader->error);
    } else {
        kw_short_rows_drop(rows, reader->table);
        reader->count[WRONG_COUNT] += reader->count[SHORT_ROW];
        reader->told[WRONG_COUNT] += reader->told[SHORT_ROW];
    }
    reader->count[SHORT_ROW] = reader->told[SHORT_ROW] = 0;
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
    struct reader reader = {
        .source = source,
        .table = out,
        .notices = notices,
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
    if (status == KW_OK)
        status =
            kw_refuse_most_rows(&reader.counts, source->bytes->path, error);
    if (status == KW_OK)
        status = sum_up(&reader);
    csv_free(&parser);
    kw_short_rows_free(&reader.short_rows);
    free(reader.lanes);
    if (status != KW_OK)
        kw_table_free(out);
    return status;
}
