/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What the laps of one side look like, place by place.
 *
 * A hundred pieces round the lap, some four tenths of a second each: short
 * enough for a hairpin, long enough for a reading at 5 Hz. Two sides of one
 * track have the same shape, however much quicker one of them is; that is how
 * two tracks are told apart, and how laps from a pattern are brought to one
 * line. */
#include "compare/course.h"

#include "core/array.h"
#include "core/robust.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

enum { PIECES = KW_COURSE_PIECES };

/* Pieces that two courses must have in common. */
enum { FEWEST_PIECES = 50 };

/* Means of the pieces of one lap; NAN for a piece without readings. */
static void cut_lap(const struct kw_review *review,
                    const struct kw_lap *lap,
                    const double *values,
                    double out[PIECES])
{
    double sums[PIECES] = {0};
    double counts[PIECES] = {0};
    const double *place = review->laps.place;
    const double *time_s = review->session.time_s;
    for (size_t i = 0; i < review->session.n_samples; i++) {
        if (time_s[i] < lap->start_s || time_s[i] >= lap->end_s)
            continue;
        if (!(place[i] >= 0.0 && place[i] < 1.0) || isnan(values[i]))
            continue;
        const size_t piece = (size_t)(place[i] * PIECES);
        sums[piece] += values[i];
        counts[piece] += 1.0;
    }
    for (size_t i = 0; i < PIECES; i++)
        out[i] = counts[i] > 0.0 ? sums[i] / counts[i] : NAN;
}

/* By its number: the laps of a comparison left some out, those of a review did
 * not. */
static const struct kw_lap *lap_numbered(const struct kw_laps *laps,
                                         size_t number)
{
    for (size_t i = 0; i < laps->n; i++) {
        if (laps->items[i].number == number)
            return &laps->items[i];
    }
    return NULL;
}

/* One quantity over all used laps.
 *
 * cut  room for n_used * PIECES values and as many again. */
static void middle_course(const struct kw_compare_sessions *sessions,
                          const struct kw_compare_side *side,
                          bool of_egt,
                          double *cut,
                          double out[PIECES])
{
    size_t n = 0;
    for (size_t i = 0; i < side->n_laps; i++) {
        const struct kw_compared_lap *used = &side->laps[i];
        const struct kw_review *review = &sessions->reviews[used->log];
        const double *values =
            of_egt ? review->session.egt_c : review->session.rpm;
        const struct kw_lap *lap = lap_numbered(&review->laps, used->number);
        if (used->use != KW_LAP_USED || lap == NULL || values == NULL ||
            review->laps.place == NULL)
            continue;
        cut_lap(review, lap, values, cut + PIECES * n++);
    }
    /* The middle of the laps, piece by piece: one lap with a slide does not
     * bend it. */
    double *column = cut + PIECES * side->n_used;
    for (size_t piece = 0; piece < PIECES; piece++) {
        for (size_t lap = 0; lap < n; lap++)
            column[lap] = cut[lap * PIECES + piece];
        out[piece] = kw_median(column, n, column);
    }
}

/* RPM for the fit, EGT for the plot. */
enum kw_status kw_draw_course(const struct kw_compare_sessions *sessions,
                              struct kw_compare_side *side,
                              struct kw_error *error)
{
    double *cut = kw_array_new(side->n_used, (PIECES + 1) * sizeof *cut, error);
    if (cut == NULL)
        return KW_NO_MEMORY;
    middle_course(sessions, side, false, cut, side->course_rpm);
    middle_course(sessions, side, true, cut, side->course_egt_c);
    free(cut);
    return KW_OK;
}

/* ---- fitting ------------------------------------------------------------- */

/* Correlation of a[i] with b[i + shift], round the lap. */
static double fit(const double *a, const double *b, size_t shift)
{
    double n = 0.0;
    double sum_a = 0.0;
    double sum_b = 0.0;
    double sum_aa = 0.0;
    double sum_bb = 0.0;
    double sum_ab = 0.0;
    for (size_t i = 0; i < PIECES; i++) {
        const double x = a[i];
        const double y = b[(i + shift) % PIECES];
        if (isnan(x) || isnan(y))
            continue;
        n += 1.0;
        sum_a += x;
        sum_b += y;
        sum_aa += x * x;
        sum_bb += y * y;
        sum_ab += x * y;
    }
    const double spread = sqrt(fmax(sum_aa - sum_a * sum_a / n, 0.0) *
                               fmax(sum_bb - sum_b * sum_b / n, 0.0));
    return n >= FEWEST_PIECES && spread > 0.0
               ? (sum_ab - sum_a * sum_b / n) / spread
               : NAN;
}

/* Round the lap: the place of the line is not known where laps come from a
 * pattern, and differs from log to log. */
static void turn(double course[PIECES], size_t shift)
{
    double turned[PIECES];
    for (size_t i = 0; i < PIECES; i++)
        turned[i] = course[(i + shift) % PIECES];
    memcpy(course, turned, sizeof turned);
}

/* Every turn is tried; 100 pieces make 100 sums of 100 (cross-correlation,
 * circular). The first of two equal ones is taken, so that the answer is
 * one. */
double kw_turn_course(const struct kw_compare_side *before,
                      struct kw_compare_side *after)
{
    size_t best = 0;
    double best_fit = NAN;
    for (size_t shift = 0; shift < PIECES; shift++) {
        const double r = fit(before->course_rpm, after->course_rpm, shift);
        if (!isnan(r) && !(r <= best_fit)) {
            best_fit = r;
            best = shift;
        }
    }
    turn(after->course_rpm, best);
    turn(after->course_egt_c, best);
    return best_fit;
}
