/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Naming each channel, finding its unit and turning its values into ours.
 *
 * A stated unit is believed. Without one, the size of the numbers decides, for
 * no exhaust has 1,100 C all day and no kart drives 130 m/s; why it was taken
 * so stands with the channel, for the person to check. */
#include "import/channels.h"

#include "core/array.h"
#include "core/fail.h"
#include "core/notices.h"
#include "core/robust.h"
#include "core/text.h"
#include "import/left_out.h"
#include "import/no_reading.h"
#include "import/sense.h"
#include "import/unit_guess.h"

#include <math.h>
#include <stdlib.h>

/* From this share of blanks on, a marker column is blank where no line is. */
static const double MOSTLY_BLANK = 0.5;

/* Ten millionths in a degree, and the least number that is surely so written:
 * degrees and minutes in one reach 18,000 at most. */
static const double SCALED_DEGREE = 1e7;
static const double SMALLEST_SCALED_DEGREES = 2e4;

/* Water and heads stay below it whatever their unit; an exhaust under way is
 * above it one reading in twenty at least. Common practice, no source. */
static const double EXHAUST_C = 480.0;
static const double HOTTEST_READINGS = 0.95;

/* The unit as the person reads it, and the reasons for it and for the role. */
static enum kw_status name_channel(const struct kw_column *column,
                                   const struct kw_unit_choice *unit,
                                   struct kw_channel *channel,
                                   struct kw_error *error)
{
    struct kw_text why = {0};
    kw_text_add(&why, column->why);
    if (unit->why != NULL)
        kw_text_addf(&why, "%s%s", why.length > 0 ? "; " : "", unit->why);
    /* A clock has no unit but a form. The person is shown that, so that a
     * misread date can be seen in the list of columns. */
    const char *name = unit->unit != NULL ? unit->unit->name : "";
    if (column->clock)
        name = column->dated ? "ISO 8601" : "hh:mm:ss";
    channel->role = column->role;
    channel->column = kw_text_duplicate(column->heading, error);
    channel->unit = kw_text_duplicate(name, error);
    channel->why = kw_text_take(&why, error);
    const bool done = channel->column != NULL && channel->unit != NULL &&
                      channel->why != NULL;
    return done ? KW_OK : KW_NO_MEMORY;
}

/* A unit that changes no value. */
static bool is_ours(const struct kw_unit *unit)
{
    /* Not a comparison of results: factors are constants of the table, and ours
     * is written there as 1 and 0. */
    return !(fabs(unit->factor - 1.0) > 0.0) && !(fabs(unit->offset) > 0.0);
}

/* From here on there is one unit for each quantity in the whole program. */
static void convert(struct kw_channel *channel,
                    const struct kw_unit *unit,
                    size_t n)
{
    /* Counted before anything is filled or converted: these are the fields that
     * the logger left blank. */
    for (size_t i = 0; i < n; i++)
        channel->missing += isnan(channel->values[i]) ? 1 : 0;
    if (unit == NULL || is_ours(unit))
        return;
    for (size_t i = 0; i < n; i++)
        channel->values[i] = channel->values[i] * unit->factor + unit->offset;
}

/* A marker column that is filled at the line only: blank means no line. */
static void fill_blanks(struct kw_channel *channel, size_t n)
{
    /* With few blanks the column says something in every row, and a blank one
     * is a reading that was lost. */
    if ((double)channel->missing < MOSTLY_BLANK * (double)n)
        return;
    for (size_t i = 0; i < n; i++) {
        if (isnan(channel->values[i]))
            channel->values[i] = 0.0;
    }
    channel->missing = 0;
}

/* 5100.0125 stands for 51 degrees and 0.0125 minutes: what is beyond any
 * latitude or longitude cannot be degrees alone. One value beyond the degrees
 * is enough to tell, but then every value must have fewer than 60 minutes. A
 * missing one compares as false and so speaks neither way. */
static bool is_degrees_minutes(const struct kw_channel *channel, size_t n)
{
    const double most = channel->role == KW_ROLE_LATITUDE ? 90.0 : 180.0;
    size_t first = 0;
    while (first < n && !(fabs(channel->values[first]) > most))
        first++;
    for (size_t i = first; i < n; i++) {
        const double size = fabs(channel->values[i]);
        /* So written by receivers whose sentences follow NMEA 0183 (ddmm.mmmm;
         * from memory). */
        if (size > 100.0 * most || fmod(size, 100.0) >= 60.0)
            return false;
    }
    return first < n;
}

/* Towards zero, so that 5130 south and north of the equator split alike. A kart
 * track at 51 degrees 7.5 minutes would else stand at 5107.5 degrees, and its
 * laps would be read from a place that is none. */
static void split_degrees_minutes(struct kw_channel *channel, size_t n)
{
    for (size_t i = 0; i < n; i++) {
        const double degrees = trunc(channel->values[i] / 100.0);
        const double minutes = channel->values[i] - 100.0 * degrees;
        channel->values[i] = degrees + minutes / 60.0;
    }
}

/* Receivers that send whole numbers write ten millionths of a degree (common
 * practice, no source): 51.0001 is 510001000. Only a track within some 200 m
 * of the equator or of Greenwich would be missed. */
static bool is_ten_millionths(const struct kw_channel *channel, size_t n)
{
    bool seen = false;
    for (size_t i = 0; i < n; i++) {
        const double size = fabs(channel->values[i]);
        if (isnan(size) || !(size > 0.0))
            continue;
        if (size < SMALLEST_SCALED_DEGREES || size > 180.0 * SCALED_DEGREE)
            return false;
        seen = true;
    }
    return seen;
}

/* "rpm x 1000" is a statement; "rpm" may be no more than the name. */
static bool states_factor(const struct kw_column *column)
{
    return column->unit != NULL && !is_ours(column->unit);
}

/* The unit that is stated; else the one that the values show. "RPM" names the
 * column rather than its unit: there the values decide too. */
static struct kw_unit_choice choose_unit(const struct kw_column *column,
                                         const double *values,
                                         size_t n,
                                         double *scratch)
{
    /* "RPM" over a column of 9.8 or of 163 is common: thousands, or turns per
     * second. */
    const bool stated = column->unit != NULL &&
                        (column->role != KW_ROLE_RPM || states_factor(column));
    /* A letter that may be a unit decides only where the numbers alone would be
     * asked about. */
    if (stated && column->unsure) {
        const struct kw_unit_choice guess =
            kw_guess_unit(column->role, values, n, scratch);
        return guess.asks ? (struct kw_unit_choice){column->unit, NULL, false}
                          : guess;
    }
    if (stated && !column->clock)
        return kw_judge_unit(column->role, column->unit, values, n, scratch);
    if (column->clock)
        return (struct kw_unit_choice){column->unit, NULL, false};
    return kw_guess_unit(column->role, values, n, scratch);
}

/* What each channel is made with.
 *
 * path     of the log, for errors.
 * form     in which the time was taken.
 * scratch  scratch[n]. */
struct maker {
    const char *path;
    const struct kw_time_form *form;
    size_t n;
    double *scratch;
    struct kw_notices *notices;
    struct kw_error *error;
};

/* Numbers that stand for no reading become missing ones. Not those of EGT:
 * there they show an open probe, which is told where probes are judged. */
static enum kw_status drop_stand_ins(const struct maker *maker,
                                     const struct kw_column *column,
                                     double *values)
{
    if (column->role == KW_ROLE_EGT)
        return KW_OK;
    const struct kw_stand_ins found =
        kw_find_stand_ins(column->role, values, maker->n, maker->scratch);
    enum kw_status status = KW_OK;
    for (size_t k = 0; status == KW_OK && k < found.n; k++) {
        const struct kw_stand_ins one = {{found.value[k]}, 1};
        size_t dropped = 0;
        for (size_t i = 0; i < maker->n; i++) {
            if (!kw_is_stand_in(&one, values[i]))
                continue;
            values[i] = NAN;
            dropped++;
        }
        struct kw_text text = {0};
        kw_text_add_whole(&text, (double)dropped);
        kw_text_add(&text, " fields of column '");
        kw_text_add_visible(&text, column->heading);
        kw_text_add(&text, "' are ");
        kw_text_add_number(&text, found.value[k],
                           floor(found.value[k]) < found.value[k] ? 1 : 0);
        kw_text_add(&text, ", unlike all others: taken as no reading");
        status = kw_notices_tell(maker->notices, 0, &text, maker->error);
    }
    return status;
}

/* What to do about a guess that is wrong; where the heading has a unit already,
 * and the numbers speak against it, writing one helps nobody. */
static const char *way_out(const struct kw_column *column,
                           const struct kw_unit_choice *unit)
{
    if (column->unit == NULL || column->unsure || column->unit == unit->unit)
        return "write the unit in its heading";
    return column->role == KW_ROLE_EGT ? "have it logged in plain C or F"
                                       : "have it logged in plain rpm";
}

/* A guess that could be wrong by a factor is asked of the person. */
static enum kw_status tell_guess(const struct maker *maker,
                                 const struct kw_column *column,
                                 const struct kw_unit_choice *unit)
{
    struct kw_text text = {0};
    if (!unit->asks)
        return KW_OK;
    kw_text_add(&text, "column '");
    kw_text_add_visible(&text, column->heading);
    kw_text_addf(&text, "': %s. If that is wrong, %s", unit->why,
                 way_out(column, unit));
    return kw_notices_tell(maker->notices, 0, &text, maker->error);
}

/* Numbers that no kart gives are left out, and those of the engine speed are
 * refused: without it there is nothing to review.
 *
 * kept  false where they were left out. */
static enum kw_status judge_sense(const struct maker *maker,
                                  const struct kw_column *column,
                                  const struct kw_channel *channel,
                                  const struct kw_unit *unit,
                                  bool *kept)
{
    const struct kw_readings readings = {channel->role,  unit,
                                         column->lesser, channel->values,
                                         maker->n,       maker->scratch};
    struct kw_text what = {0};
    struct kw_text text = {0};
    kw_find_nonsense(&readings, &what);
    *kept = what.length == 0 && !what.failed;
    if (*kept)
        return KW_OK;
    kw_text_add(&text, "column '");
    kw_text_add_visible(&text, column->heading);
    kw_text_addf(&text, "'%s: %s",
                 channel->role == KW_ROLE_RPM ? "" : " is left out",
                 what.failed ? "" : what.bytes);
    text.failed = text.failed || what.failed;
    kw_text_free(&what);
    if (channel->role == KW_ROLE_RPM) {
        const struct kw_refusal refusal = {
            KW_BAD_INPUT, maker->path, 0,
            "write its unit in its heading, such as [rpm], [1/s] or "
            "[rpm x 100], or name another one with --column rpm=HEADING"};
        return kw_fail_text(maker->error, &refusal, &text);
    }
    if (channel->role != KW_ROLE_LAP)
        kw_text_add(&text,
                    ". If it is in another unit, write that in its heading");
    return kw_notices_tell(maker->notices, 0, &text, maker->error);
}

/* The values first, then the words about them: the words tell what was done.
 *
 * kept  false where they were left out. */
static enum kw_status fill_channel(const struct maker *maker,
                                   const struct kw_column *column,
                                   struct kw_channel *channel,
                                   bool *kept)
{
    const size_t n = maker->n;
    channel->role = column->role;
    enum kw_status status = drop_stand_ins(maker, column, channel->values);
    /* The time was read before the channels, of rows that may be gone by now:
     * the person is told what was done and not what would be done now. */
    struct kw_unit_choice unit =
        column->role == KW_ROLE_TIME
            ? (struct kw_unit_choice){maker->form->unit, maker->form->why,
                                      maker->form->asks}
            : choose_unit(column, channel->values, n, maker->scratch);
    /* Degrees and minutes are split before the unit is applied: the unit says
     * degrees in both cases. One that says another is believed. */
    const bool is_position = (column->role == KW_ROLE_LATITUDE ||
                              column->role == KW_ROLE_LONGITUDE) &&
                             is_ours(unit.unit);
    if (is_position && is_ten_millionths(channel, n)) {
        for (size_t i = 0; i < n; i++)
            channel->values[i] /= SCALED_DEGREE;
        unit.why = "beyond any degree: taken as ten millionths";
    } else if (is_position && is_degrees_minutes(channel, n)) {
        split_degrees_minutes(channel, n);
        unit.why = "beyond any degree: taken as degrees and minutes";
    }
    if (status == KW_OK)
        status = judge_sense(maker, column, channel, unit.unit, kept);
    if (status != KW_OK || !*kept)
        return status;
    convert(channel, unit.unit, n);
    /* Only here does a blank mean something: in every other column it is a
     * reading that is not there. */
    if (column->role == KW_ROLE_LAP_MARKER)
        fill_blanks(channel, n);
    if (status == KW_OK)
        status = tell_guess(maker, column, &unit);
    return status == KW_OK ? name_channel(column, &unit, channel, maker->error)
                           : status;
}

void kw_channel_free(struct kw_channel *channel)
{
    free(channel->column);
    free(channel->unit);
    free(channel->why);
    free(channel->values);
    *channel = (struct kw_channel){0};
}

/* A temperature without a name is kept where it is as hot as an exhaust. */
static enum kw_status judge_doubtful(const struct maker *maker,
                                     const struct kw_column *column,
                                     const struct kw_channel *channel,
                                     bool *kept)
{
    const double hot_c = kw_quantile(channel->values, maker->n,
                                     HOTTEST_READINGS, maker->scratch);
    *kept = hot_c > EXHAUST_C;
    if (!*kept)
        return kw_column_left_out(column, kw_is_warm(hot_c), 0, maker->notices,
                                  maker->error);
    struct kw_text text = {0};
    kw_text_add(&text, "column '");
    kw_text_add_visible(&text, column->heading);
    kw_text_add(&text, "' is as hot as an exhaust: taken as EGT. If it is "
                       "something else, say so in its heading");
    return kw_notices_tell(maker->notices, 0, &text, maker->error);
}

/* Probes are numbered in the order of the file, as the person counts them. */
enum kw_status kw_channels_make(struct kw_table *table,
                                const struct kw_columns *columns,
                                const struct kw_time_form *form,
                                struct kw_log *log,
                                struct kw_error *error)
{
    size_t probes = 0;
    enum kw_status status = KW_OK;
    double *scratch = kw_array_new(table->n_rows, sizeof *scratch, error);
    const struct maker maker = {log->path, form,          table->n_rows,
                                scratch,   &log->notices, error};
    log->channels = kw_array_new(table->n_slots, sizeof *log->channels, error);
    if (scratch == NULL || log->channels == NULL)
        status = KW_NO_MEMORY;
    for (size_t i = 0; status == KW_OK && i < table->n_slots; i++) {
        /* The values move from the table to the channel. Each array has one
         * owner at any time, so that a failure half way frees it once. */
        struct kw_slot *slot = &table->slots[i];
        struct kw_channel *channel = &log->channels[log->n_channels++];
        channel->values = slot->values;
        slot->values = NULL;
        const struct kw_column *column = &columns->items[slot->column];
        bool kept = true;
        status = fill_channel(&maker, column, channel, &kept);
        if (status == KW_OK && kept && column->doubtful)
            status = judge_doubtful(&maker, column, channel, &kept);
        if (!kept) {
            kw_channel_free(channel);
            log->n_channels--;
            continue;
        }
        if (channel->role == KW_ROLE_EGT)
            channel->probe = probes++;
        /* The time is handed on as log->time_s. */
        if (channel->role == KW_ROLE_TIME) {
            free(channel->values);
            channel->values = NULL;
            channel->missing = 0;
        }
    }
    free(scratch);
    return status;
}
