/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Laps from the best source there is: the sources in order, then the list.
 *
 * A lap column, then position, then the pattern of speed, then that of RPM:
 * from what knows the line to what only knows that it went round. Whatever saw
 * the passings, pace then makes them exact, since it is logged many times a
 * second. */
#include "analysis/laps.h"

#include "analysis/lap_drive.h"
#include "analysis/lap_lost.h"
#include "analysis/lap_passings.h"
#include "analysis/lap_place.h"
#include "analysis/lap_refine.h"
#include "analysis/lap_statistics.h"
#include "core/array.h"

#include <math.h>
#include <stdlib.h>

/* A piece shorter than this before the first passing is no out lap. */
static const double SHORTEST_PIECE_S = 0.05;

/* Speed that is missing for longer while the kart drives is no axis. */
static const double LONGEST_MISSING_S = 10.0;

/* The ways that the session gives, and what was found along them. */
struct finder {
    const struct kw_session *session;
    const struct kw_profile *profile;
    struct kw_lap_axis axes[2];
    struct kw_passings passings;
    struct kw_lap_course course;
    const struct kw_lap_axis *axis; /* the one in use, or NULL */
};

/* Makes the axis of a source the one in use, where the session has it and the
 * kart drives by it; else leaves the one before. Built when first asked for. */
static enum kw_status use_axis(struct finder *finder,
                               enum kw_pace_source source,
                               struct kw_error *error)
{
    struct kw_lap_axis *axis = &finder->axes[source];
    if (!kw_lap_axis_possible(finder->session, source))
        return KW_OK;
    enum kw_status status = KW_OK;
    if (axis->pace == NULL)
        status = kw_lap_axis_new(finder->session, source, axis, error);
    if (status == KW_OK && axis->spans.n > 0)
        finder->axis = axis;
    return status;
}

/* For how long the kart drives by an axis that is known while the other is not.
 */
static double missing_s(const struct kw_lap_axis *axis,
                        const struct kw_lap_axis *known)
{
    double sum_s = 0.0;
    for (size_t i = 1; i < axis->n; i++) {
        if (isnan(axis->pace[i]) &&
            (known == NULL || known->pace[i] >= known->drives))
            sum_s += axis->time_s[i] - axis->time_s[i - 1];
    }
    return sum_s;
}

/* Speed first; engine turns where there is none, or it is missing while the
 * kart drives (a receiver that hangs). */
static enum kw_status use_best_axis(struct finder *finder,
                                    struct kw_error *error)
{
    enum kw_status status = use_axis(finder, KW_PACE_SPEED, error);
    const struct kw_lap_axis *speed = finder->axis;
    if (status != KW_OK ||
        (speed != NULL && missing_s(speed, NULL) < LONGEST_MISSING_S))
        return status;
    status = use_axis(finder, KW_PACE_RPM, error);
    if (status == KW_OK && speed != NULL && finder->axis != speed &&
        missing_s(speed, finder->axis) < LONGEST_MISSING_S)
        finder->axis = speed;
    return status;
}

/* The pace between the passings makes them exact, and lays laps over each
 * other. */
static enum kw_status refine(struct finder *finder,
                             double most_s,
                             struct kw_error *error)
{
    if (finder->axis == NULL)
        return KW_OK;
    return kw_refine_passings(finder->axis, most_s, &finder->passings,
                              &finder->course, error);
}

/* Nothing marks the line: the boundary is some fixed place of the track, the
 * same on every lap (contract). */
static enum kw_status find_by_pattern(struct finder *finder,
                                      enum kw_lap_method *method,
                                      struct kw_error *error)
{
    if (finder->axis == NULL)
        return KW_OK;
    *method = finder->axis->source == KW_PACE_SPEED ? KW_LAPS_BY_SPEED
                                                    : KW_LAPS_BY_RPM;
    return kw_passings_by_pattern(finder->axis, &finder->passings,
                                  &finder->course, error);
}

/* A line of our own is put where the kart comes by as often as it drove laps.
 * How often that was, the pace of the out lap and the in lap tells; and pace
 * can only be compared when a first line has cut the drive into laps. */
static enum kw_status find_by_position(struct finder *finder,
                                       struct kw_error *error)
{
    struct kw_line_search with = {finder->session, finder->profile,
                                  finder->axis, 1.0};
    for (size_t round = 0; round < 2; round++) {
        enum kw_status status =
            kw_passings_by_position(&with, &finder->passings, error);
        if (status != KW_OK || finder->passings.n == 0)
            return status;
        if (finder->axis != NULL)
            status = kw_add_lost_passings(finder->session, finder->axis,
                                          &finder->passings, error);
        if (status == KW_OK)
            status = refine(finder, INFINITY, error);
        if (status != KW_OK || finder->course.n == 0 || round > 0)
            return status;
        struct kw_lap_drive drive;
        status =
            kw_find_lap_drive(finder->axis, &finder->course, &drive, error);
        if (status != KW_OK || !(drive.out_and_in > with.out_and_in) ||
            kw_likely_passings(drive.to_turn - drive.from_turn,
                               drive.out_and_in) == finder->passings.n)
            return status;
        with.out_and_in = drive.out_and_in;
        finder->passings.n = 0;
        kw_lap_course_free(&finder->course);
    }
    return KW_OK;
}

/* A column was written by the logger's own beacon and beats all else; a
 * position is good to a few metres; a pattern shows that a lap was driven, not
 * where it began. Speed that gave no pattern (a receiver that freezes) leaves
 * RPM to try. */
static enum kw_status find_passings(struct finder *finder,
                                    enum kw_lap_method *method,
                                    struct kw_error *error)
{
    *method = KW_LAPS_BY_COLUMN;
    enum kw_status status =
        kw_passings_by_column(finder->session, &finder->passings, error);
    if (status == KW_OK && finder->passings.n > 0)
        /* A column names the row, and the line was crossed between two of them:
         * the pace may move it by half a row and no more. */
        return refine(finder, 0.5 / finder->session->rate_hz, error);
    *method = KW_LAPS_BY_POSITION;
    if (status == KW_OK)
        status = find_by_position(finder, error);
    if (status == KW_OK && finder->passings.n > 0)
        return KW_OK;
    if (status == KW_OK)
        status = find_by_pattern(finder, method, error);
    if (status == KW_OK && finder->passings.n == 0 &&
        *method == KW_LAPS_BY_SPEED) {
        status = use_axis(finder, KW_PACE_RPM, error);
        if (status == KW_OK)
            status = find_by_pattern(finder, method, error);
    }
    return status;
}

/* Numbered as the driver counts, the out lap first. */
static enum kw_status add_lap(struct kw_laps *laps,
                              enum kw_lap_kind kind,
                              double start_s,
                              double end_s,
                              struct kw_error *error)
{
    if (end_s - start_s < SHORTEST_PIECE_S)
        return KW_OK;
    if (kw_array_reserve(&laps->items, &laps->capacity, laps->n + 1,
                         sizeof *laps->items, error) != KW_OK)
        return KW_NO_MEMORY;
    laps->items[laps->n] = (struct kw_lap){
        .number = laps->n + 1,
        .kind = kind,
        .start_s = start_s,
        .end_s = end_s,
    };
    laps->n++;
    return KW_OK;
}

/* The out lap begins where the kart drives off and the in lap ends where it
 * comes to rest: idling in the pits is no lap. */
static enum kw_status list_laps(const struct finder *finder,
                                struct kw_laps *out,
                                struct kw_error *error)
{
    const struct kw_passings *passings = &finder->passings;
    const double last_s = passings->time_s[passings->n - 1];
    double from_s = finder->session->time_s[0];
    double to_s = finder->session->time_s[finder->session->n_samples - 1];
    if (finder->axis != NULL) {
        from_s = kw_lap_axis_drive_off_s(finder->axis, passings->time_s[0]);
        to_s = kw_lap_axis_rest_s(finder->axis, last_s);
    }
    enum kw_status status =
        add_lap(out, KW_LAP_OUT, from_s, passings->time_s[0], error);
    for (size_t i = 1; status == KW_OK && i < passings->n; i++)
        status = add_lap(out, KW_LAP_FLYING, passings->time_s[i - 1],
                         passings->time_s[i], error);
    if (status == KW_OK)
        status = add_lap(out, KW_LAP_IN, last_s, to_s, error);
    return status;
}

/* What is known of each lap once it stands: its figures, whether it counts, and
 * where on the lap each sample lies. */
static enum kw_status describe(const struct finder *finder,
                               struct kw_laps *out,
                               struct kw_error *error)
{
    enum kw_status status = list_laps(finder, out, error);
    for (size_t i = 0; i < 2; i++) {
        out->line_x_m[i] = finder->passings.line_x_m[i];
        out->line_y_m[i] = finder->passings.line_y_m[i];
    }
    if (status != KW_OK)
        return status;
    kw_measure_laps(finder->session, out);
    status = kw_mark_spoilt_laps(finder->session, finder->axis, out, error);
    if (status == KW_OK)
        status = kw_place_samples(finder->session, finder->axis,
                                  finder->course.n > 0 ? &finder->course : NULL,
                                  out, error);
    return status;
}

/* No laps is a result too, and no error: a test on a stand, a practice
 * start. */
enum kw_status kw_find_laps(const struct kw_session *session,
                            const struct kw_profile *profile,
                            const struct kw_running *running,
                            struct kw_laps *out,
                            struct kw_error *error)
{
    (void)running;
    *out = (struct kw_laps){
        .line_x_m = {NAN, NAN},
        .line_y_m = {NAN, NAN},
    };
    struct finder finder = {
        .session = session,
        .profile = profile,
        .passings = {.wander_s = NAN,
                     .line_x_m = {NAN, NAN},
                     .line_y_m = {NAN, NAN}},
    };
    enum kw_lap_method method = KW_LAPS_NONE;
    enum kw_status status = use_best_axis(&finder, error);
    if (status == KW_OK)
        status = find_passings(&finder, &method, error);
    if (status == KW_OK && finder.passings.n > 0) {
        out->method = method;
        status = describe(&finder, out, error);
    }
    if (status != KW_OK)
        kw_laps_free(out);
    kw_lap_axis_free(&finder.axes[0]);
    kw_lap_axis_free(&finder.axes[1]);
    kw_passings_free(&finder.passings);
    kw_lap_course_free(&finder.course);
    return status;
}

void kw_laps_free(struct kw_laps *laps)
{
    free(laps->items);
    free(laps->place);
    *laps = (struct kw_laps){
        .line_x_m = {NAN, NAN},
        .line_y_m = {NAN, NAN},
    };
}
