/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Fields on their way into the arrays: nearly all are plain numbers, and those
 * must cost little. */
#include "core/clock.h"
#include "core/number.h"
#include "import/cell.h"
#include "import/table_reader.h"

#include <math.h>
#include <string.h>

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
static void count_newlines(struct kw_table_reader *reader,
                           const char *text,
                           size_t length)
{
    /* Editors count so, and a message must name the line that they show. */
    for (size_t i = 0; i < length; i++)
        reader->newlines +=
            text[i] == '\n' ||
            (text[i] == '\r' && (i + 1 == length || text[i + 1] != '\n'));
}

/* Any word is a lap's name or a marker: they count for nothing here. */
bool kw_has_reading(const struct kw_table_reader *reader, size_t n_columns)
{
    for (size_t i = 0; i < n_columns; i++) {
        const struct kw_lane *lane = &reader->lanes[i];
        if (lane->values != NULL && lane->role != KW_ROLE_LAP &&
            lane->role != KW_ROLE_LAP_MARKER &&
            !isnan(lane->values[reader->table->n_rows]))
            return true;
    }
    return false;
}

/* A field that is no plain number: a clock, a blank, thousands marks, the
 * heading once more, or something that nobody can read. */
static void read_odd_field(struct kw_table_reader *reader,
                           size_t column,
                           const char *text,
                           size_t length)
{
    const struct kw_head *head = reader->source->head;
    const struct kw_lane *lane = &reader->lanes[column];
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
    kw_joined_field(&reader->joined, text, length);
    /* Two exports put behind each other are one log with the heading twice. */
    if (repeats(head, head->heading, column, text, length) ||
        repeats(head, head->units, column, text, length)) {
        reader->as_heading++;
        return;
    }
    if (!kw_has_reading(reader, column) &&
        kw_joined_word(&reader->joined, reader->source->columns, column, text,
                       length)) {
        reader->as_heading++;
        return;
    }
    kw_joined_bad_field(&reader->joined, text, length);
    reader->counts.no_rpm += lane->role == KW_ROLE_RPM;
    /* The first says where the trouble begins; a shifted row has one in each
     * field behind it. */
    if (reader->n_bad++ > 0)
        return;
    reader->bad_column = column;
    /* A cut through a character is made visible with the rest. */
    const size_t n = length < KW_SHOWN_VALUE - 1 ? length : KW_SHOWN_VALUE - 1;
    memcpy(reader->bad_value, text, n);
    reader->bad_value[n] = '\0';
}

/* All that is no plain number: blanks, texts, comments. */
static void on_other_field(struct kw_table_reader *reader,
                           size_t column,
                           const char *text,
                           size_t length)
{
    if (length > 0) {
        count_newlines(reader, text, length);
        reader->ends_line =
            text[length - 1] == '\n' || text[length - 1] == '\r';
        /* A comment is told by its first field only; '#' later is text. */
        if (column == 0)
            reader->comment = *text == '#';
    }
    if (column < reader->n_read && reader->lanes[column].values != NULL)
        read_odd_field(reader, column, text, length);
    else
        kw_joined_field(&reader->joined, text, length);
    const size_t n_read =
        column < reader->n_columns ? column : reader->n_columns;
    if (reader->joined.names + reader->as_heading > 0 &&
        !kw_has_reading(reader, n_read))
        kw_joined_heading_field(&reader->joined, text, length);
}

/* What is usual comes first and costs little. */
void kw_on_field(void *field, size_t length, void *data)
{
    struct kw_table_reader *reader = data;
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
