/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The log as a whole: head, columns, table and clock put together. */
#include "kartwright/log.h"

#include "core/array.h"
#include "core/fail.h"
#include "core/notices.h"
#include "core/robust.h"
#include "core/text.h"
#include "import/bytes.h"
#include "import/channels.h"
#include "import/columns.h"
#include "import/copied_rows.h"
#include "import/head.h"
#include "import/left_out.h"
#include "import/lost_markers.h"
#include "import/own_times.h"
#include "import/speed_unit.h"
#include "import/table.h"
#include "import/time_axis.h"
#include "import/time_form.h"
#include "import/time_sense.h"
#include "import/unit_rows.h"

#include <math.h>
#include <stdlib.h>

enum {
    HEAD_SIZE = 1 << 16, /* bytes in which the table must begin */
    /* A log with a damaged clock may have thousands; the first few show what is
     * wrong, and the count shows how much. */
    ROWS_NAMED = 3 /* rejected rows that are named, of a kind */
};

/* No logger of a kart writes more rows each second: then the numbers of the
 * time column are no seconds. Common practice, no source. */
static const double FASTEST_LOGGER_HZ = 20000.0;

/* ---- roles --------------------------------------------------------------- */

static const char *const role_names[KW_N_ROLES] = {
    "time",      "rpm",      "egt",        "speed",      "latitude",
    "longitude", "lap",      "lap_marker", "water_temp", "head_temp",
    "throttle",  "axle_rpm", "accel_long", "accel_lat",  "battery_v",
};

/* Promised by the contract: never renamed. The order is that of enum
 * kw_role. */
const char *kw_role_name(enum kw_role role)
{
    return role < KW_N_ROLES ? role_names[role] : "";
}

/* As on the command line, in any case. */
enum kw_role kw_role_from_name(const char *name)
{
    for (size_t i = 0; i < KW_N_ROLES; i++) {
        if (kw_text_same(role_names[i], name))
            return (enum kw_role)i;
    }
    return KW_N_ROLES;
}

/* A log has a dozen channels at most: no index is worth it. */
const struct kw_channel *kw_log_channel(const struct kw_log *log,
                                        enum kw_role role,
                                        size_t probe)
{
    for (size_t i = 0; i < log->n_channels; i++) {
        if (log->channels[i].role == role && log->channels[i].probe == probe)
            return &log->channels[i];
    }
    return NULL;
}

void kw_log_free(struct kw_log *log)
{
    for (size_t i = 0; i < log->n_channels; i++)
        kw_channel_free(&log->channels[i]);
    free(log->channels);
    free(log->path);
    free(log->time_s);
    kw_notices_free(&log->notices);
    *log = (struct kw_log){0};
}

/* Everything that is open while a log is read.
 *
 * form  in which the time column was taken, once the clock is made. */
struct reading {
    const struct kw_import_options *options;
    struct kw_bytes bytes;
    char *first;
    size_t n_first;
    struct kw_head head;
    struct kw_columns columns;
    struct kw_table table;
    struct kw_time_form form;
};

/* ---- the clock ----------------------------------------------------------- */

/* NULL for a log whose rate is stated. */
static const struct kw_column *time_column(const struct kw_table *table,
                                           const struct kw_columns *columns)
{
    return table->time < table->n_slots
               ? &columns->items[table->slots[table->time].column]
               : NULL;
}

/* Seconds of a stated rate. Divided each time rather than added up: a sum of
 * 1/60 s drifts over an hour. */
static void number_rows(struct kw_log *log, size_t n, double rate_hz)
{
    for (size_t i = 0; i < n; i++)
        log->time_s[i] = (double)i / rate_hz;
}

/* The time column in seconds. A clock's fields became seconds when they were
 * read; only plain numbers have a form. */
static struct kw_time_form make_stamps(const struct kw_table *table,
                                       const struct kw_column *column,
                                       struct kw_log *log)
{
    const double *values = table->slots[table->time].values;
    struct kw_time_form form = {.factor = 1.0,
                                .of_day = column->clock && !column->dated,
                                .on_wall = column->clock && !column->zoned};
    /* The stamps are not there yet: their place serves as scratch. */
    if (!column->clock)
        form =
            kw_time_form_of(column->unit, values, table->n_rows, log->time_s);
    for (size_t i = 0; i < table->n_rows; i++)
        log->time_s[i] = kw_time_seconds(&form, values[i]);
    return form;
}

/* A row left out is named, never mended in silence: the person may know what
 * the logger did there. */
static const char *const fates[] = {
    [KW_STAMP_KEPT] = "",
    [KW_STAMP_REPEATED] = "time stamp repeats the one before: row left out",
    [KW_STAMP_BACKWARD] = "time stamp goes back: row left out",
    [KW_STAMP_FAR_AHEAD] =
        "time stamp is far ahead of its neighbours: row left out",
    [KW_STAMP_DAYS_OFF] =
        "time stamp is more than a day off its neighbours: row left out",
    [KW_STAMP_TOO_LATE] =
        "time stamp is more than a day after the first: row left out",
};

static const char *const fate_counts[] = {
    [KW_STAMP_KEPT] = "",
    [KW_STAMP_REPEATED] = "rows with a repeated time stamp were left out",
    [KW_STAMP_BACKWARD] = "rows with a time stamp that goes back were left out",
    [KW_STAMP_FAR_AHEAD] = "rows with a time stamp far ahead were left out",
    [KW_STAMP_DAYS_OFF] = "rows with a time stamp more than a day off were "
                          "left out",
    [KW_STAMP_TOO_LATE] = "rows more than a day after the first were left out: "
                          "is the time column read right?",
};

/* The first rows of a kind with their lines, then how many there were. */
static enum kw_status name_rejected(const enum kw_stamp *fate,
                                    const struct kw_table *table,
                                    struct kw_notices *notices,
                                    struct kw_error *error)
{
    size_t count[KW_N_STAMPS] = {0};
    /* Columns that are left out are told before the rows: so the notices stand
     * in the order of the file. */
    enum kw_status status = KW_OK;
    for (size_t i = 0; status == KW_OK && i < table->n_rows; i++) {
        if (fate[i] != KW_STAMP_KEPT && ++count[fate[i]] <= ROWS_NAMED)
            status =
                kw_notices_add(notices, table->line[i], fates[fate[i]], error);
    }
    for (size_t k = KW_STAMP_REPEATED; status == KW_OK && k < KW_N_STAMPS;
         k++) {
        struct kw_text text = {0};
        if (count[k] <= ROWS_NAMED)
            continue;
        kw_text_add(&text, "in all ");
        kw_text_add_whole(&text, (double)count[k]);
        kw_text_addf(&text, " %s", fate_counts[k]);
        status = kw_notices_tell(notices, 0, &text, error);
    }
    return status;
}

/* Of a table that was sorted by another column, or newest first, a few rows
 * would be left by chance, and a review of them would be one of nothing; and so
 * where a spreadsheet has rounded the stamps until they are all one. */
static enum kw_status refuse_clock(const enum kw_stamp *fate,
                                   const struct kw_table *table,
                                   const char *path,
                                   struct kw_error *error)
{
    size_t count[KW_N_STAMPS] = {0};
    struct kw_text what = {0};
    const char *todo = NULL;
    for (size_t i = 0; i < table->n_rows; i++)
        count[fate[i]]++;
    if (count[KW_STAMP_BACKWARD] > table->n_rows / 2) {
        kw_text_add(&what, "time goes back in ");
        kw_text_add_whole(&what, (double)count[KW_STAMP_BACKWARD]);
        kw_text_add(&what, " of ");
        kw_text_add_whole(&what, (double)table->n_rows);
        kw_text_add(&what, " rows");
        todo = "sort the table by time, oldest row first";
    } else if (count[KW_STAMP_TOO_LATE] > table->n_rows / 2) {
        kw_text_add_whole(&what, (double)count[KW_STAMP_TOO_LATE]);
        kw_text_add(&what, " of ");
        kw_text_add_whole(&what, (double)table->n_rows);
        kw_text_add(&what, " rows are more than a day after the first");
        todo = "correct the unit in the heading of the time, such as [s] or "
               "[ms]";
    } else if (count[KW_STAMP_KEPT] == 1 && count[KW_STAMP_REPEATED] > 0) {
        kw_text_add(&what, "all rows have the same time");
        todo = "export it with all its digits, or as hh:mm:ss.sss";
    }
    if (todo == NULL)
        return KW_OK;
    const struct kw_refusal refusal = {KW_BAD_INPUT, path, table->line[0],
                                       todo};
    return kw_fail_text(error, &refusal, &what);
}

/* Moves the rows that are kept to the front of every array. In place, for a log
 * at 1 kHz is large and there is no room to be had twice. */
static void drop_rejected(const enum kw_stamp *fate,
                          struct kw_table *table,
                          struct kw_log *log)
{
    size_t kept = 0;
    while (kept < table->n_rows && fate[kept] == KW_STAMP_KEPT)
        kept++;
    for (size_t i = kept; i < table->n_rows; i++) {
        if (fate[i] != KW_STAMP_KEPT)
            continue;
        log->time_s[kept] = log->time_s[i];
        for (size_t k = 0; k < table->n_slots; k++)
            table->slots[k].values[kept] = table->slots[k].values[i];
        table->line[kept++] = table->line[i];
    }
    table->n_rows = kept;
}

/* Takes the copies out before the clock is followed. */
static enum kw_status drop_copies(enum kw_stamp *fate,
                                  struct kw_table *table,
                                  struct kw_log *log,
                                  struct kw_error *error)
{
    const size_t copies = kw_mark_copies(table, fate);
    struct kw_text text = {0};
    if (copies == 0)
        return KW_OK;
    kw_text_add_whole(&text, (double)copies);
    kw_text_add(&text, " rows are copies of the row before them: left out");
    drop_rejected(fate, table, log);
    return kw_notices_tell(&log->notices, 0, &text, error);
}

/* A stated rate needs no judging: its stamps are ours and rise. */
static enum kw_status make_clock(struct reading *reading,
                                 double rate_hz,
                                 struct kw_log *log,
                                 struct kw_error *error)
{
    struct kw_table *table = &reading->table;
    const struct kw_columns *columns = &reading->columns;
    const struct kw_column *column = time_column(table, columns);
    log->time_s = kw_array_new(table->n_rows, sizeof *log->time_s, error);
    if (log->time_s == NULL)
        return KW_NO_MEMORY;
    if (column == NULL) {
        number_rows(log, table->n_rows, rate_hz);
        return KW_OK;
    }
    enum kw_stamp *fate = kw_array_new(table->n_rows, sizeof *fate, error);
    if (fate == NULL)
        return KW_NO_MEMORY;
    enum kw_status status = drop_copies(fate, table, log, error);
    reading->form = make_stamps(table, column, log);
    struct kw_time_axis axis = {.stamp_s = log->time_s,
                                .fate = fate,
                                .line = table->line,
                                .n = table->n_rows,
                                .midnight = reading->form.of_day};
    if (status == KW_OK)
        status = kw_time_axis_follow(&axis, &log->notices, error);
    if (status == KW_OK)
        status = refuse_clock(fate, table, log->path, error);
    if (status == KW_OK)
        status = name_rejected(fate, table, &log->notices, error);
    if (status == KW_OK) {
        kw_keep_lost_markers(table, columns, log->time_s, fate);
        drop_rejected(fate, table, log);
    }
    /* A date of its own column belongs to the first row; a clock past midnight
     * has been lifted by a day already. */
    log->start_unix_s = isnan(columns->date_s)
                            ? kw_start_of_epoch(axis.first_s, column->dated)
                            : columns->date_s + axis.first_s;
    /* A plain count that is a date counts from 1970 in UTC (POSIX, "Seconds
     * Since the Epoch"), wherever the logger stood. */
    log->start_has_zone = column->zoned || (!reading->form.on_wall &&
                                            isfinite(log->start_unix_s));
    free(fate);
    return status;
}

/* One over the median step. The median, for a logger that pauses or drops rows
 * would lower a mean, and every filter downstream takes its width from this. */
static enum kw_status find_rate(struct kw_log *log, struct kw_error *error)
{
    log->sample_rate_hz = NAN;
    if (log->rows_used < 2)
        return KW_OK;
    const size_t n = log->rows_used - 1;
    double *steps = kw_array_new(n, sizeof *steps, error);
    if (steps == NULL)
        return KW_NO_MEMORY;
    for (size_t i = 0; i < n; i++)
        steps[i] = log->time_s[i + 1] - log->time_s[i];
    log->sample_rate_hz = 1.0 / kw_median(steps, n, steps);
    free(steps);
    return log->sample_rate_hz > FASTEST_LOGGER_HZ
               ? kw_fail(error, KW_BAD_INPUT, log->path, 0,
                         "the time column gives far more rows each second than "
                         "any logger writes",
                         "write its unit in its heading, such as [s], [min], "
                         "[h] or [days]")
               : KW_OK;
}

/* ---- reading ------------------------------------------------------------- */

/* Reads the first stretch and cuts it behind its last whole line for the head;
 * all of it goes to the table. */
static enum kw_status read_head(struct reading *reading, struct kw_error *error)
{
    reading->first = kw_array_new(HEAD_SIZE, 1, error);
    if (reading->first == NULL)
        return KW_NO_MEMORY;
    size_t length = 0;
    do {
        const enum kw_status status =
            kw_bytes_read(&reading->bytes, reading->first + reading->n_first,
                          HEAD_SIZE - reading->n_first, &length, error);
        if (status != KW_OK)
            return status;
        reading->n_first += length;
        /* 64 is the least that kw_bytes_read() takes: room for one character at
         * least of any form. */
    } while (length > 0 && HEAD_SIZE - reading->n_first >= 64);
    size_t whole = reading->n_first;
    /* More is to come, so the last line may be cut: half a row would have too
     * few fields and could speak against the right delimiter. */
    if (length > 0) {
        while (whole > 0 && reading->first[whole - 1] != '\n' &&
               reading->first[whole - 1] != '\r')
            whole--;
    }
    return kw_head_read(reading->first, whole > 0 ? whole : reading->n_first,
                        reading->bytes.path, &reading->head, error);
}

/* The log's own clock knows of rows that were lost, and wins over a rate that
 * the person states: who states one must not think that it was taken. */
static enum kw_status tell_unused_rate(const struct reading *reading,
                                       struct kw_notices *notices,
                                       struct kw_error *error)
{
    const struct kw_columns *columns = &reading->columns;
    size_t time = 0;
    while (time < columns->n && (columns->items[time].role != KW_ROLE_TIME ||
                                 columns->items[time].own_time))
        time++;
    if (!(reading->options->rate_hz > 0.0) || time == columns->n)
        return KW_OK;
    struct kw_text text = {0};
    kw_text_add(&text, "--rate is not used: the time stands in column '");
    kw_text_add_visible(&text, columns->items[time].heading);
    kw_text_add(&text, "'");
    return kw_notices_tell(notices, 0, &text, error);
}

/* Everything that follows is measured by it, so it is shown what was read. */
static enum kw_status tell_noted_rate(const struct reading *reading,
                                      struct kw_notices *notices,
                                      struct kw_error *error)
{
    const struct kw_head *head = &reading->head;
    for (size_t i = 0; i < reading->columns.n; i++) {
        if (reading->columns.items[i].role == KW_ROLE_TIME)
            return KW_OK;
    }
    if (reading->options->rate_hz > 0.0)
        return KW_OK;
    struct kw_text text = {0};
    kw_text_add(&text, "no time column: time is counted by this note, at ");
    kw_text_add_number(&text, head->rate_hz, 2);
    kw_text_add(&text, " rows each second");
    return kw_notices_tell(notices, head->rate_line, &text, error);
}

static enum kw_status tell_open_quote(const struct kw_head *head,
                                      struct kw_notices *notices,
                                      struct kw_error *error)
{
    return head->quote_line == 0
               ? KW_OK
               : kw_notices_add(notices, head->quote_line,
                                "a quote opens here and is never closed: taken "
                                "as text",
                                error);
}

/* Some programs put a number in front of each row, and no name above it. */
static enum kw_status refuse_all_rows(const struct kw_head *head,
                                      const char *path,
                                      struct kw_error *error)
{
    const struct kw_head_row *first = &head->rows[head->first_data];
    const size_t names = head->rows[head->heading].n;
    struct kw_refusal refusal = {KW_BAD_INPUT, path, first->line,
                                 "compare the rows with the heading: the same "
                                 "number of fields, a time in each"};
    struct kw_text what = {0};
    kw_text_add(&what, "no row below the heading can be read");
    if (first->n == names + 1) {
        kw_text_addf(&what, ": it names %zu columns, the rows have %zu fields",
                     names, first->n);
        refusal.todo = "if each row has its number in front, write a name for "
                       "it in front of the heading, such as No.";
    }
    return kw_fail_text(error, &refusal, &what);
}

/* A log of which no row is left was cut or is in a form that was misread;
 * either way a review of nothing would mislead. */
static enum kw_status read_rows(struct reading *reading,
                                struct kw_log *log,
                                struct kw_error *error)
{
    const struct kw_head *head = &reading->head;
    const struct kw_table_source source = {
        .bytes = &reading->bytes,
        .first = reading->first,
        .n_first = reading->n_first,
        .head = head,
        .columns = &reading->columns,
    };
    enum kw_status status =
        kw_columns_notices(&reading->columns, head->rows[head->heading].line,
                           &log->notices, error);
    if (status == KW_OK)
        status =
            kw_units_notices(head, &reading->columns, &log->notices, error);
    if (status == KW_OK)
        status = tell_open_quote(head, &log->notices, error);
    if (status == KW_OK)
        status = tell_unused_rate(reading, &log->notices, error);
    if (status == KW_OK)
        status = tell_noted_rate(reading, &log->notices, error);
    if (status == KW_OK)
        status = kw_table_read(&source, &log->notices, &reading->table, error);
    if (status == KW_OK)
        status = kw_own_times_join(&reading->table, &reading->columns,
                                   reading->bytes.path, &log->notices, error);
    if (status == KW_OK && reading->table.n_rows == 0)
        status = refuse_all_rows(head, reading->bytes.path, error);
    return status;
}

/* The clock decides which rows stay, so it comes before the channels. */
static enum kw_status finish(struct reading *reading,
                             struct kw_log *log,
                             struct kw_error *error)
{
    struct kw_table *table = &reading->table;
    /* A rate that the person states beats a note in the file: exports are
     * resampled and keep the old note. */
    const double rate_hz = reading->options->rate_hz > 0.0
                               ? reading->options->rate_hz
                               : reading->head.rate_hz;
    log->data_rows = table->data_rows;
    log->start_unix_s = NAN;
    log->path = kw_text_duplicate(reading->bytes.path, error);
    if (log->path == NULL)
        return KW_NO_MEMORY;
    enum kw_status status = make_clock(reading, rate_hz, log, error);
    if (status != KW_OK)
        return status;
    log->rows_used = table->n_rows;
    /* Rows that are no data (notes, a heading once more) are in neither
     * number. */
    log->rows_rejected = log->data_rows - log->rows_used;
    /* At least one row is kept: the first that is not far ahead. */
    log->duration_s = log->time_s[log->rows_used - 1] - log->time_s[0];
    status = find_rate(log, error);
    if (status != KW_OK)
        return status;
    status =
        kw_channels_make(table, &reading->columns, &reading->form, log, error);
    if (status == KW_OK)
        status = kw_speed_unit_settle(log, &reading->columns,
                                      reading->options->rpm_per_m_s, error);
    return status == KW_OK ? kw_time_sense_check(log, &reading->form, error)
                           : status;
}

/* Each step leaves what it opened in `reading`, so that one clean-up serves
 * success and every failure. */
enum kw_status kw_log_read(const char *path,
                           const struct kw_import_options *options,
                           struct kw_log *out,
                           struct kw_error *error)
{
    static const struct kw_import_options defaults = {0};
    struct reading reading = {.options = options != NULL ? options : &defaults};
    *out = (struct kw_log){0};
    enum kw_status status = kw_bytes_open(&reading.bytes, path, error);
    if (status == KW_OK)
        status = read_head(&reading, error);
    if (status == KW_OK)
        status = kw_columns_find(&reading.head, path, reading.options,
                                 &reading.columns, error);
    if (status == KW_OK)
        status = read_rows(&reading, out, error);
    if (status == KW_OK)
        status = finish(&reading, out, error);
    kw_bytes_close(&reading.bytes);
    free(reading.first);
    kw_head_free(&reading.head);
    kw_columns_free(&reading.columns);
    kw_table_free(&reading.table);
    if (status != KW_OK)
        kw_log_free(out);
    return status;
}
