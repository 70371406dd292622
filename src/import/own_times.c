/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Channels with times of their own are put on one time.
 *
 * First the names pair them, before a column is chosen for each role: "EGT
 * Time" is neither a second probe nor a second clock. Then, when all rows are
 * read, every reading goes to the row at whose time it was taken. Nothing is
 * drawn between readings here: that is left to those who clean the channels. */
#include "import/own_times.h"

#include "core/array.h"
#include "core/clock.h"
#include "core/fail.h"
#include "core/notices.h"
#include "core/robust.h"
#include "core/text.h"
#include "import/cell.h"
#include "import/fold.h"
#include "import/heading_units.h"
#include "import/headings.h"
#include "import/time_form.h"

#include <gsl/gsl_interp.h>
#include <limits.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

/* A reading belongs to a row less than this many of the log's steps away: half
 * a step, and a little for times that were rounded. */
static const double NEAREST_STEPS = 0.51;

/* ---- pairing ------------------------------------------------------------- */

/* Laps and their marks are no readings: "Lap Time" is how long a lap took. */
static bool may_own_a_time(enum kw_role role)
{
    return role != KW_N_ROLES && role != KW_ROLE_TIME && role != KW_ROLE_LAP &&
           role != KW_ROLE_LAP_MARKER;
}

/* A time never falls: "Throttle time" in percent does, and so does one that
 * begins again with each lap. After a stamp that is damaged, far ahead, it goes
 * on from the one before. */
static bool may_be_time(const struct kw_head *head,
                        const struct kw_columns *columns,
                        size_t column)
{
    const struct kw_column *it = &columns->items[column];
    double before_last = NAN;
    double last = NAN;
    if (!it->readable || it->score == INT_MAX)
        return false;
    for (size_t r = head->first_data; !it->clock && r < head->n_rows; r++) {
        double value = NAN;
        const char *cell = kw_head_cell(head, r, column);
        if (!kw_cell_number(cell, strlen(cell), head->point, &value))
            continue;
        if (!(value < last))
            before_last = last;
        else if (!(value > before_last))
            return false;
        last = value;
    }
    return it->clock || it->highest > 0.0;
}

/* "EGT", "Exhaust" and "RPM" by what they mean; a mere "Temp" is any
 * temperature. */
static bool is_of(const struct kw_column *column, const char *words)
{
    return kw_is_bare_temperature(words)
               ? kw_role_quantity(column->role) == KW_QUANTITY_TEMPERATURE
               : column->role == kw_heading_read(words, "").role;
}

/* The channel of which "EGT Time" is the time: the one called "EGT", or the
 * only one of exhaust temperature; of "Temp Time" the only temperature.
 *
 * rest     the words of the heading without the time.
 * returns  the number of columns for none. */
static size_t owner_of(const struct kw_columns *columns, const char *rest)
{
    size_t by_role = columns->n;
    size_t found = 0;
    for (size_t i = 0; i < columns->n; i++) {
        char words[KW_FOLDED_SIZE];
        const struct kw_column *column = &columns->items[i];
        if (!may_own_a_time(column->role) ||
            kw_heading_without_time(column->heading, words))
            continue;
        if (strcmp(words, rest) == 0)
            return i;
        if (is_of(column, rest)) {
            by_role = i;
            found++;
        }
    }
    return found == 1 ? by_role : columns->n;
}

/* That column is a time, and no reading. */
static enum kw_status make_time(const struct kw_head *head,
                                struct kw_columns *columns,
                                size_t i,
                                struct kw_error *error)
{
    struct kw_column *column = &columns->items[i];
    struct kw_text why = {0};
    kw_text_add(&why, "the time of '");
    kw_text_add_visible(&why, columns->items[column->owner].heading);
    kw_text_add(&why, "'");
    char *text = kw_text_take(&why, error);
    if (text == NULL)
        return KW_NO_MEMORY;
    free(column->why);
    column->why = text;
    column->role = column->claims = KW_ROLE_TIME;
    column->own_time = true;
    column->unit = kw_heading_unit(KW_ROLE_TIME, column->heading,
                                   kw_head_unit_cell(head, i));
    return KW_OK;
}

/* The time that the person stated; else that of RPM, by which all else is
 * judged; else one of no channel, or the first. */
static void choose_base(struct kw_columns *columns)
{
    struct kw_column *base = NULL;
    for (size_t i = 0; i < columns->n; i++) {
        struct kw_column *column = &columns->items[i];
        const bool of_rpm = column->own_time &&
                            columns->items[column->owner].role == KW_ROLE_RPM;
        if (column->role != KW_ROLE_TIME)
            continue;
        if (column->score == INT_MAX)
            return;
        if (base == NULL || of_rpm ||
            (base->own_time && !column->own_time &&
             columns->items[base->owner].role != KW_ROLE_RPM))
            base = column;
    }
    if (base == NULL || !base->own_time)
        return;
    base->own_time = false;
    /* As if it were stated: a "GPS Time" beside it is a second clock. */
    base->score = INT_MAX;
}

enum kw_status kw_own_times_find(const struct kw_head *head,
                                 struct kw_columns *columns,
                                 struct kw_error *error)
{
    enum kw_status status = KW_OK;
    for (size_t i = 0; status == KW_OK && i < columns->n; i++) {
        char rest[KW_FOLDED_SIZE];
        struct kw_column *column = &columns->items[i];
        if (!may_be_time(head, columns, i) ||
            !kw_heading_without_time(column->heading, rest) || rest[0] == '\0')
            continue;
        column->owner = owner_of(columns, rest);
        if (column->owner < columns->n)
            status = make_time(head, columns, i, error);
    }
    choose_base(columns);
    return status;
}

/* ---- joining ------------------------------------------------------------- */

/* What is needed to move one channel after the other.
 *
 * base_s     base_s[n], the log's time; NAN where a row has none.
 * step_s     its usual step.
 * own_s      own_s[n], the times of a channel, and then of its readings.
 * reading    reading[n], these readings.
 * scratch    scratch[n]. */
struct joiner {
    struct kw_table *table;
    const struct kw_columns *columns;
    double *base_s;
    double step_s;
    double *own_s;
    double *reading;
    double *scratch;
};

static const struct kw_column *column_of(const struct joiner *j, size_t slot)
{
    return &j->columns->items[j->table->slots[slot].column];
}

/* The first time from row i on, or NAN. */
static double first_time(const double *times_s, size_t n, size_t i)
{
    while (i < n && isnan(times_s[i]))
        i++;
    return i < n ? times_s[i] : NAN;
}

/* A clock without a date falls by most of a day at midnight, and stays there;
 * before and behind a damaged stamp it is where it was. */
static void follow_midnight(double *times_s, size_t n)
{
    const double fall_s = KW_SECONDS_A_DAY / 2.0;
    double lift_s = 0.0;
    double before_last_s = NAN;
    double last_s = NAN;
    for (size_t i = 0; i < n; i++) {
        const double at_s = times_s[i];
        if (isnan(at_s))
            continue;
        const double next_s = first_time(times_s, n, i + 1);
        /* A stamp that is not there contradicts nothing. */
        if (last_s - at_s > fall_s && !(before_last_s - at_s <= fall_s) &&
            !(last_s - next_s <= fall_s))
            lift_s += KW_SECONDS_A_DAY;
        before_last_s = last_s;
        last_s = at_s;
        times_s[i] += lift_s;
    }
}

/* Of two clocks one may have begun after midnight: both count from the day of
 * the log's. */
static void go_to_day_of(double *times_s, const double *base_s, size_t n)
{
    const double days =
        round((first_time(times_s, n, 0) - first_time(base_s, n, 0)) /
              KW_SECONDS_A_DAY);
    for (size_t i = 0; i < n && !isnan(days); i++)
        times_s[i] -= days * KW_SECONDS_A_DAY;
}

/* A slot's times in seconds. Blank ones are left out where their form is
 * told. */
static void read_times(const struct joiner *j, size_t slot, double *out_s)
{
    const struct kw_column *column = column_of(j, slot);
    const double *values = j->table->slots[slot].values;
    struct kw_time_form form = {.factor = 1.0};
    size_t n = 0;
    for (size_t i = 0; i < j->table->n_rows; i++) {
        if (!isnan(values[i]))
            out_s[n++] = values[i];
    }
    if (!column->clock)
        form = kw_time_form_of(column->unit, out_s, n, j->scratch);
    for (size_t i = 0; i < j->table->n_rows; i++)
        out_s[i] = kw_time_seconds(&form, values[i]);
    if ((column->clock && !column->dated) || form.of_day) {
        follow_midnight(out_s, j->table->n_rows);
        go_to_day_of(out_s, j->base_s, j->table->n_rows);
    }
}

static double usual_step(const struct joiner *j)
{
    size_t n = 0;
    double last = NAN;
    for (size_t i = 0; i < j->table->n_rows; i++) {
        if (isnan(j->base_s[i]))
            continue;
        if (j->base_s[i] > last)
            j->scratch[n++] = j->base_s[i] - last;
        last = j->base_s[i];
    }
    return kw_median(j->scratch, n, j->scratch);
}

/* The readings that have a time which rises, moved to the front. A time far
 * ahead of the next ones is damaged: it goes, or all that follow would.
 *
 * returns  their number. */
static size_t gather(const struct joiner *j, const double *values)
{
    size_t n = 0;
    for (size_t i = 0; i < j->table->n_rows; i++) {
        const double at_s = j->own_s[i];
        if (isnan(at_s) || isnan(values[i]))
            continue;
        if (n > 0 && at_s < j->own_s[n - 1] &&
            (n == 1 || at_s > j->own_s[n - 2]))
            n--;
        else if (n > 0 && !(at_s > j->own_s[n - 1]))
            continue;
        j->own_s[n] = at_s;
        j->reading[n++] = values[i];
    }
    return n;
}

/* The reading nearest to a moment, where it is near enough. */
static double reading_at(const struct joiner *j, size_t n, double at_s)
{
    if (n == 0 || isnan(at_s))
        return NAN;
    size_t i = n > 1 ? gsl_interp_bsearch(j->own_s, at_s, 0, n - 1) : 0;
    if (i + 1 < n && j->own_s[i + 1] - at_s < at_s - j->own_s[i])
        i++;
    return fabs(j->own_s[i] - at_s) <= NEAREST_STEPS * j->step_s ? j->reading[i]
                                                                 : NAN;
}

/* Moves the readings of one channel.
 *
 * returns  false where none of them has a time of the log's. */
static bool move(const struct joiner *j, size_t time, size_t channel)
{
    double *values = j->table->slots[channel].values;
    read_times(j, time, j->own_s);
    const size_t n = gather(j, values);
    size_t moved = 0;
    for (size_t i = 0; i < j->table->n_rows; i++) {
        values[i] = reading_at(j, n, j->base_s[i]);
        moved += isnan(values[i]) ? 0 : 1;
    }
    return n == 0 || moved > 0;
}

static enum kw_status tell(const struct joiner *j,
                           size_t time,
                           size_t channel,
                           struct kw_notices *notices,
                           struct kw_error *error)
{
    struct kw_text text = {0};
    kw_text_add(&text, "column '");
    kw_text_add_visible(&text, column_of(j, channel)->heading);
    kw_text_add(&text, "' has a time of its own, '");
    kw_text_add_visible(&text, column_of(j, time)->heading);
    kw_text_add(&text, "': put on the time of '");
    kw_text_add_visible(&text, column_of(j, j->table->time)->heading);
    kw_text_add(&text, "'");
    return kw_notices_tell(notices, 0, &text, error);
}

static enum kw_status refuse_apart(const struct joiner *j,
                                   size_t time,
                                   const char *path,
                                   struct kw_error *error)
{
    struct kw_text what = {0};
    kw_text_add(&what, "columns '");
    kw_text_add_visible(&what, column_of(j, j->table->time)->heading);
    kw_text_add(&what, "' and '");
    kw_text_add_visible(&what, column_of(j, time)->heading);
    kw_text_add(&what, "' have no time in common");
    const struct kw_refusal refusal = {
        KW_BAD_INPUT, path, 0, "export all channels with one common time"};
    return kw_fail_text(error, &refusal, &what);
}

/* Moves every channel that has a time of its own. A channel that lost its role
 * to a better one has no slot. */
static enum kw_status move_all(const struct joiner *j,
                               const char *path,
                               struct kw_notices *notices,
                               struct kw_error *error)
{
    const struct kw_table *table = j->table;
    enum kw_status status = KW_OK;
    for (size_t k = 0; status == KW_OK && k < table->n_slots; k++) {
        size_t channel = 0;
        if (!column_of(j, k)->own_time)
            continue;
        while (channel < table->n_slots &&
               table->slots[channel].column != column_of(j, k)->owner)
            channel++;
        if (channel == table->n_slots)
            continue;
        status = move(j, k, channel) ? tell(j, k, channel, notices, error)
                                     : refuse_apart(j, k, path, error);
    }
    return status;
}

/* Their work is done: what is left is a table like all others. */
static void drop_own_times(struct kw_table *table,
                           const struct kw_columns *columns)
{
    size_t kept = 0;
    for (size_t k = 0; k < table->n_slots; k++) {
        if (columns->items[table->slots[k].column].own_time) {
            free(table->slots[k].values);
            continue;
        }
        if (k == table->time)
            table->time = kept;
        table->slots[kept++] = table->slots[k];
    }
    table->n_slots = kept;
}

/* Rows in which only channels stood whose readings have gone elsewhere. */
static void drop_timeless_rows(struct kw_table *table)
{
    size_t kept = 0;
    const double *time = table->slots[table->time].values;
    for (size_t i = 0; i < table->n_rows; i++) {
        if (isnan(time[i]))
            continue;
        for (size_t k = 0; k < table->n_slots; k++)
            table->slots[k].values[kept] = table->slots[k].values[i];
        table->line[kept++] = table->line[i];
    }
    table->data_rows -= table->n_rows - kept;
    table->n_rows = kept;
}

enum kw_status kw_own_times_join(struct kw_table *table,
                                 const struct kw_columns *columns,
                                 const char *path,
                                 struct kw_notices *notices,
                                 struct kw_error *error)
{
    const size_t n = table->n_rows;
    bool any = false;
    for (size_t i = 0; i < columns->n; i++)
        any = any || columns->items[i].own_time;
    if (!any)
        return KW_OK;
    struct joiner j = {table, columns, NULL, NAN, NULL, NULL, NULL};
    enum kw_status status = KW_NO_MEMORY;
    j.base_s = kw_array_new(n, sizeof *j.base_s, error);
    j.own_s = kw_array_new(n, sizeof *j.own_s, error);
    j.reading = kw_array_new(n, sizeof *j.reading, error);
    j.scratch = kw_array_new(n, sizeof *j.scratch, error);
    if (j.base_s != NULL && j.own_s != NULL && j.reading != NULL &&
        j.scratch != NULL) {
        read_times(&j, table->time, j.base_s);
        j.step_s = usual_step(&j);
        status = move_all(&j, path, notices, error);
        drop_own_times(table, columns);
        drop_timeless_rows(table);
    }
    free(j.base_s);
    free(j.own_s);
    free(j.reading);
    free(j.scratch);
    return status;
}
