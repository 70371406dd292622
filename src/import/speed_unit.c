/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The speed of the position, or of the engine through its gearing, against the
 * speed that was logged. All limits here are common practice, no source. */
#include "import/speed_unit.h"

#include "core/array.h"
#include "core/notices.h"
#include "core/plane.h"
#include "core/robust.h"
#include "core/text.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* Long enough for a receiver's metre not to matter, short enough for the way to
 * be nearly straight. */
static const double WAY_S = 1.0;
static const double LONGEST_WAY_S = 1.5;
/* Slower, in whatever unit, the position wanders more than the kart moves. */
static const double LEAST_SHARE_OF_TOP = 0.5;
static const double TOP = 0.95;
static const size_t FEWEST_WAYS = 200;
/* mph and knots are 15 % apart, and ways across a bend are shorter than the
 * bend. Where half of all ways disagree by more, the two know nothing of each
 * other. */
static const double FITS = 0.05;
static const double AGREE = 0.1;
/* The shortest gearing (9 to 1 on tyres of 0.8 m) gives 187; in mph the usual
 * ones give 165 to 300. */
static const double MOST_RPM_PER_KMH = 200.0;
static const double KMH_A_M_S = 3.6;

/* What is compared: latitude and longitude, or RPM.
 *
 * rpm_per_m_s  by the owner's teeth and tyre, 1 where it is not known. */
struct track {
    const struct kw_log *log;
    const double *latitude;
    const double *longitude;
    const double *rpm;
    double rpm_per_m_s;
    const double *speed_m_s;
};

/* How many times as fast the engine drives the kart, for each reading that is
 * fast: the clutch is locked there. Arrays as below. */
static size_t ratios_of_rpm(const struct track *track,
                            double *ratios,
                            double *scratch)
{
    const size_t n = track->log->rows_used;
    const double least =
        LEAST_SHARE_OF_TOP * kw_quantile(track->speed_m_s, n, TOP, scratch);
    size_t found = 0;
    for (size_t i = 0; i < n; i++) {
        const double ratio =
            track->rpm[i] / track->rpm_per_m_s / track->speed_m_s[i];
        if (track->speed_m_s[i] > least && isfinite(ratio))
            ratios[found++] = ratio;
    }
    return found;
}

/* How many times as fast the position moves, for each way that is fast.
 *
 * ratios, scratch  ratios[n] and scratch[n] for n rows.
 * returns          the number of ways. */
static size_t ratios_of(const struct track *track,
                        double *ratios,
                        double *scratch)
{
    if (track->latitude == NULL)
        return ratios_of_rpm(track, ratios, scratch);
    const size_t n = track->log->rows_used;
    const double *time_s = track->log->time_s;
    const double least =
        LEAST_SHARE_OF_TOP * kw_quantile(track->speed_m_s, n, TOP, scratch);
    size_t found = 0;
    for (size_t a = 0, b = 0; a < n; a++) {
        while (b < n && time_s[b] < time_s[a] + WAY_S)
            b++;
        if (b == n)
            break;
        const double mean = (track->speed_m_s[a] + track->speed_m_s[b]) / 2.0;
        const double took_s = time_s[b] - time_s[a];
        const double way_m =
            kw_plane_distance_m(track->latitude[a], track->longitude[a],
                                track->latitude[b], track->longitude[b]);
        const double ratio = way_m / took_s / mean;
        if (took_s < LONGEST_WAY_S && mean > least && isfinite(ratio))
            ratios[found++] = ratio;
    }
    return found;
}

/* The unit in which the speed would be that of the position; NULL for none, or
 * for the one it has. */
static const struct kw_unit *fitting_unit(double ratio,
                                          const struct kw_unit *taken)
{
    static const char *const names[] = {"km/h", "mph", "m/s", "knots"};
    for (size_t i = 0; i < sizeof names / sizeof names[0]; i++) {
        const struct kw_unit *unit = kw_unit_named(names[i]);
        if (fabs(ratio * taken->factor / unit->factor - 1.0) < FITS)
            return unit == taken ? NULL : unit;
    }
    return NULL;
}

/* The reason for the role stays, that for the unit is another one. */
static char *why_by(const char *why,
                    const char *by,
                    const struct kw_unit *unit,
                    struct kw_error *error)
{
    struct kw_text text = {0};
    const char *unit_part = strstr(why, "; no unit");
    kw_text_add_bytes(&text, why,
                      unit_part != NULL ? (size_t)(unit_part - why)
                                        : strlen(why));
    kw_text_addf(&text, "; no unit: %s by the %s", unit->name, by);
    return kw_text_take(&text, error);
}

/* The column that a notice is about, as it begins. */
static void add_column(struct kw_text *text, const struct kw_channel *speed)
{
    kw_text_add(text, "column '");
    kw_text_add_visible(text, speed->column);
    kw_text_add(text, "': no unit, ");
}

/* Takes the speed in another unit, and says why. */
static enum kw_status change_unit(struct kw_channel *speed,
                                  const struct track *track,
                                  const struct kw_unit *unit,
                                  struct kw_notices *notices,
                                  struct kw_error *error)
{
    const bool by_position = track->latitude != NULL;
    const double factor = unit->factor / kw_unit_named(speed->unit)->factor;
    struct kw_text text = {0};
    char *name = kw_text_duplicate(unit->name, error);
    char *why =
        why_by(speed->why, by_position ? "position" : "gearing", unit, error);
    if (name == NULL || why == NULL) {
        free(name);
        free(why);
        return KW_NO_MEMORY;
    }
    for (size_t i = 0; i < track->log->rows_used; i++)
        speed->values[i] *= factor;
    free(speed->unit);
    free(speed->why);
    speed->unit = name;
    speed->why = why;
    add_column(&text, speed);
    kw_text_addf(&text,
                 by_position ? "and the position moves as fast as in %s"
                             : "and by the profile's teeth and tyre it is in "
                               "%s",
                 unit->name);
    kw_text_addf(&text,
                 ": taken as %s. If that is wrong, write the unit in its "
                 "heading",
                 unit->name);
    return kw_notices_tell(notices, 0, &text, error);
}

/* Nothing says what it is in, and the usual unit goes with no kart. */
static enum kw_status ask_unit(const struct kw_channel *speed,
                               double rpm_per_kmh,
                               struct kw_notices *notices,
                               struct kw_error *error)
{
    struct kw_text text = {0};
    add_column(&text, speed);
    kw_text_add(&text, "taken as km/h; ");
    kw_text_add_whole(&text, rpm_per_kmh);
    kw_text_add(&text, " RPM for each km/h are many for a kart, so it may be "
                       "in mph. Write the unit in its heading");
    return kw_notices_tell(notices, 0, &text, error);
}

/* A unit that the file states is believed. */
static struct kw_channel *speed_without_unit(struct kw_log *log,
                                             const struct kw_columns *columns)
{
    bool bare = false;
    for (size_t i = 0; i < columns->n; i++)
        bare = bare || (columns->items[i].role == KW_ROLE_SPEED &&
                        columns->items[i].unit == NULL);
    for (size_t i = 0; bare && i < log->n_channels; i++) {
        if (log->channels[i].role == KW_ROLE_SPEED)
            return &log->channels[i];
    }
    return NULL;
}

/* The middle of the ratios; NAN for too few, and where they do not agree. */
static enum kw_status middle_ratio(const struct track *track,
                                   double *ratio,
                                   struct kw_error *error)
{
    const size_t rows = track->log->rows_used;
    double *ratios = kw_array_new(rows, sizeof *ratios, error);
    double *scratch = kw_array_new(rows, sizeof *scratch, error);
    enum kw_status status = KW_NO_MEMORY;
    *ratio = NAN;
    if (ratios != NULL && scratch != NULL) {
        const size_t n = ratios_of(track, ratios, scratch);
        const double middle = kw_quantile(ratios, n, 0.5, scratch);
        const double spread = kw_quantile(ratios, n, 0.75, scratch) -
                              kw_quantile(ratios, n, 0.25, scratch);
        status = KW_OK;
        if (n >= FEWEST_WAYS && spread < AGREE * middle)
            *ratio = middle;
    }
    free(ratios);
    free(scratch);
    return status;
}

/* The position does not depend on what a person wrote into a profile. */
enum kw_status kw_speed_unit_settle(struct kw_log *log,
                                    const struct kw_columns *columns,
                                    double rpm_per_m_s,
                                    struct kw_error *error)
{
    const struct kw_channel *north = kw_log_channel(log, KW_ROLE_LATITUDE, 0);
    const struct kw_channel *east = kw_log_channel(log, KW_ROLE_LONGITUDE, 0);
    const struct kw_channel *rpm = kw_log_channel(log, KW_ROLE_RPM, 0);
    const bool has_position = north != NULL && east != NULL;
    const bool stated = rpm_per_m_s > 0.0;
    struct kw_channel *speed = speed_without_unit(log, columns);
    if (speed == NULL || rpm == NULL)
        return KW_OK;
    const struct track track = {log,
                                has_position ? north->values : NULL,
                                has_position ? east->values : NULL,
                                rpm->values,
                                stated ? rpm_per_m_s : 1.0,
                                speed->values};
    const struct kw_unit *taken = kw_unit_named(speed->unit);
    double ratio;
    if (middle_ratio(&track, &ratio, error) != KW_OK)
        return KW_NO_MEMORY;
    const struct kw_unit *unit =
        has_position || stated ? fitting_unit(ratio, taken) : NULL;
    if (unit != NULL)
        return change_unit(speed, &track, unit, &log->notices, error);
    if (!has_position && !stated && taken == kw_unit_named("km/h") &&
        ratio / KMH_A_M_S > MOST_RPM_PER_KMH)
        return ask_unit(speed, ratio / KMH_A_M_S, &log->notices, error);
    return KW_OK;
}
