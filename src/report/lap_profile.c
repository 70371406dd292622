/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Laps held against each other: each is cut into pieces of the track, the
 * middle lap is the median of each piece, and the odd lap is furthest from it.
 *
 * Pieces of the track and not of time: a lap that is slower in one corner is
 * odd in that corner and nowhere else. */
#include "report/lap_profile.h"

#include "core/array.h"
#include "core/robust.h"
#include "report/thin.h"

#include <math.h>
#include <stdlib.h>

/* A lap is odd when it is so many times as far from the middle lap as the
 * median lap is; with fewer laps than that nothing can be odd. Drawn in colour
 * for the eye, and no finding: common practice, no source. */
static const double ODD_FACTOR = 2.0;
enum { FEWEST_LAPS_FOR_ODD = 4 };

/* All comparable laps, cut up.
 *
 * laps      indices of them.
 * rpm, egt  [n * KW_LAP_PIECES] means. */
struct pieces {
    size_t n;
    size_t *laps;
    double *rpm;
    double *egt_c;
};

/* Mean of each piece of one lap; NAN for a piece without readings, which
 * happens at low sample rates. */
static void cut_lap(const struct kw_review *review,
                    const struct kw_lap *lap,
                    const double *values,
                    double *out)
{
    double sums[KW_LAP_PIECES] = {0};
    double counts[KW_LAP_PIECES] = {0};
    const double *place = review->laps.place;
    const struct kw_span span =
        kw_span_between(&review->session, lap->start_s, lap->end_s);
    for (size_t i = span.from; values != NULL && i < span.to; i++) {
        if (!(place[i] >= 0.0 && place[i] < 1.0) || !isfinite(values[i]))
            continue;
        const size_t piece = (size_t)(place[i] * KW_LAP_PIECES);
        sums[piece] += values[i];
        counts[piece] += 1.0;
    }
    for (size_t i = 0; i < KW_LAP_PIECES; i++)
        out[i] = counts[i] > 0.0 ? sums[i] / counts[i] : NAN;
}

/* Place by place: a lap that is odd in one corner still counts in the others.
 *
 * scratch  room for n values. */
static void find_middle(const double *cut,
                        size_t n,
                        double *scratch,
                        double middle[KW_LAP_PIECES])
{
    for (size_t piece = 0; piece < KW_LAP_PIECES; piece++) {
        for (size_t lap = 0; lap < n; lap++)
            scratch[lap] = cut[lap * KW_LAP_PIECES + piece];
        middle[piece] = kw_median(scratch, n, scratch);
    }
}

/* Root mean square way of one lap from the middle, as a share of the middle
 * lap's own range; 0 where nothing can be compared.
 *
 * only_above  what lies below the middle counts as on it: the first laps are
 *             cold, and that is no oddity. */
static double way_from_middle(const double *cut,
                              const double *middle,
                              bool only_above)
{
    double sum = 0.0;
    double lowest = NAN;
    double highest = NAN;
    size_t n = 0;
    kw_range_of(middle, (struct kw_span){0, KW_LAP_PIECES}, &lowest, &highest);
    for (size_t i = 0; i < KW_LAP_PIECES; i++) {
        const double off = cut[i] - middle[i];
        if (!isfinite(off))
            continue;
        if (off > 0.0 || !only_above)
            sum += off * off;
        n++;
    }
    return n > 0 && highest > lowest
               ? sqrt(sum / (double)n) / (highest - lowest)
               : 0.0;
}

/* ways     room for 2 n values.
 * returns  the odd lap among all, or n. */
static size_t find_odd(const struct pieces *pieces,
                       const struct kw_lap_profile *profile,
                       double *ways)
{
    const size_t n = pieces->n;
    size_t furthest = 0;
    for (size_t i = 0; i < n; i++) {
        const size_t at = i * KW_LAP_PIECES;
        ways[i] = fmax(
            way_from_middle(pieces->rpm + at, profile->middle_rpm, false),
            way_from_middle(pieces->egt_c + at, profile->middle_egt_c, true));
        if (ways[i] > ways[furthest])
            furthest = i;
    }
    const bool odd = n >= FEWEST_LAPS_FOR_ODD &&
                     ways[furthest] > ODD_FACTOR * kw_median(ways, n, ways + n);
    return odd ? furthest : n;
}

/* Spread evenly, with the odd lap in the place of the one beside it. */
static void choose_laps(const struct pieces *pieces,
                        size_t odd,
                        struct kw_lap_profile *out)
{
    out->n = pieces->n < KW_MOST_LAPS_SHOWN ? pieces->n : KW_MOST_LAPS_SHOWN;
    out->odd = out->n;
    for (size_t i = 0; i < out->n; i++) {
        const size_t lap = i * pieces->n / out->n;
        const size_t next = (i + 1) * pieces->n / out->n;
        const bool holds_odd = odd >= lap && odd < next;
        out->laps[i] = pieces->laps[holds_odd ? odd : lap];
        if (holds_odd)
            out->odd = i;
    }
}

/* Cuts all comparable laps: flying, not spoilt. */
static enum kw_status cut_laps(const struct kw_review *review,
                               struct pieces *pieces,
                               struct kw_error *error)
{
    const struct kw_laps *laps = &review->laps;
    pieces->laps = kw_array_new(laps->n, sizeof *pieces->laps, error);
    pieces->rpm =
        kw_array_new(laps->n, KW_LAP_PIECES * sizeof *pieces->rpm, error);
    pieces->egt_c =
        kw_array_new(laps->n, KW_LAP_PIECES * sizeof *pieces->egt_c, error);
    if (pieces->laps == NULL || pieces->rpm == NULL || pieces->egt_c == NULL)
        return KW_NO_MEMORY;
    for (size_t i = 0; i < laps->n; i++) {
        const struct kw_lap *lap = &laps->items[i];
        const size_t at = pieces->n * KW_LAP_PIECES;
        if (lap->kind != KW_LAP_FLYING || lap->spoilt)
            continue;
        cut_lap(review, lap, review->session.rpm, pieces->rpm + at);
        cut_lap(review, lap, review->session.egt_c, pieces->egt_c + at);
        pieces->laps[pieces->n++] = i;
    }
    return KW_OK;
}

/* One allocation for each kind of number; all are freed on every way out. */
enum kw_status kw_profile_laps(const struct kw_review *review,
                               struct kw_lap_profile *out,
                               struct kw_error *error)
{
    struct pieces pieces = {0};
    double *scratch = NULL;
    *out = (struct kw_lap_profile){0};
    enum kw_status status = KW_OK;
    if (review->laps.place != NULL && review->session.rpm != NULL)
        status = cut_laps(review, &pieces, error);
    if (status == KW_OK && pieces.n >= 2) {
        scratch = kw_array_new(pieces.n, 2 * sizeof *scratch, error);
        status = scratch == NULL ? KW_NO_MEMORY : KW_OK;
    }
    if (scratch != NULL) {
        find_middle(pieces.rpm, pieces.n, scratch, out->middle_rpm);
        find_middle(pieces.egt_c, pieces.n, scratch, out->middle_egt_c);
        choose_laps(&pieces, find_odd(&pieces, out, scratch), out);
    }
    free(scratch);
    free(pieces.laps);
    free(pieces.rpm);
    free(pieces.egt_c);
    return status;
}
