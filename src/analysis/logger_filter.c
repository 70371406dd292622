/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A filter of the first order hides how sharp an edge was, but not itself: once
 * what it follows has leapt, each step towards it is the same share of the one
 * before, exp(-step / lag). No edge of the session can be sharper. So the
 * sharpest ones tell the lag: those of a logger without a filter stop at once
 * or go on as the engine does, and no two do it alike. */
#include "analysis/logger_filter.h"

#include "analysis/rpm_readings.h"
#include "core/array.h"
#include "core/robust.h"

#include <math.h>
#include <stdlib.h>

/* Changes are taken over this time, or the one from reading to reading: over
 * less the resolution of the readings is all there is to see, and over more a
 * filter has come to its end. Common practice, no source. */
static const double BASE_S = 0.045;
static const double LONGEST_BASE_S = 0.21;
/* And over times that are as even as this (common practice, no source). */
static const double UNEVEN = 0.35;

/* The sharpest edges of a session: so many, of more than brakes and engine
 * change RPM by, in top ends a second; and fewer tell nothing. Common practice,
 * no source. */
enum { MOST_EDGES = 16, FEWEST_EDGES = 4 };
static const double LEAST_EDGE_SHARE_S = 0.6;

/* What goes back by more than this share of itself was away for so short that
 * the filter had no time: it tells nothing. Common practice, no source. */
static const double TURNED_BACK = -0.05;

/* One filter makes one share of all edges: half of them are this near to the
 * one in the middle. An engine that lifts, slips or changes gear has as many as
 * it has edges. Common practice, no source. */
static const double ONE_SHARE = 0.12;
/* And it makes the same one down and up, as near as a few can tell. An engine
 * that dies falls like a filter, but is not revved up like one. Common
 * practice, no source. */
static const double BOTH_WAYS = 0.1;

/* Time constants that loggers have, and that are worth undoing; beyond the
 * longest that is believed it is a slow engine. Of a longer one no more than
 * this is undone, for the noise grows with it. Common practice, no source. */
static const double SHORTEST_LAG_S = 0.06;
static const double LONGEST_UNDONE_S = 0.3;
static const double LONGEST_BELIEVED_S = 0.4;

/* Across a hole of so long nothing is undone: no filter remembers (common
 * practice, no source). */
static const double HOLE_S = 0.6;

/* RPM without what is missing.
 *
 * change  scratch.
 * stride  readings that are base_s apart. */
struct readings {
    double *time_s;
    double *rpm;
    double *change;
    size_t n;
    size_t stride;
    double base_s;
};

static void take_readings(const struct kw_session *session,
                          struct readings *out)
{
    const double step_s = kw_take_rpm_readings(session, out->time_s, out->rpm,
                                               out->change, &out->n);
    const double strides = ceil(BASE_S / step_s - 0.01);
    out->stride = strides > 1.0 ? (size_t)strides : 1;
    out->base_s = (double)out->stride * step_s;
}

static bool is_even(const struct readings *all, size_t from, size_t to)
{
    return fabs(all->time_s[to] - all->time_s[from] - all->base_s) <
           UNEVEN * all->base_s;
}

/* How far RPM moved until each reading; 0 where the times beside it are not
 * even. */
static void take_changes(const struct readings *all)
{
    const size_t stride = all->stride;
    for (size_t i = 0; i < all->n; i++) {
        const bool inside = i >= stride && i + stride < all->n;
        all->change[i] =
            inside && is_even(all, i - stride, i) && is_even(all, i, i + stride)
                ? all->rpm[i] - all->rpm[i - stride]
                : 0.0;
    }
}

static size_t sharpest_of(const struct readings *all)
{
    size_t sharpest = 0;
    for (size_t i = 1; i < all->n; i++) {
        if (fabs(all->change[i]) > fabs(all->change[sharpest]))
            sharpest = i;
    }
    return sharpest;
}

/* By which share of itself each of the sharpest edges goes on, and which way.
 */
struct shares {
    double down[MOST_EDGES];
    double up[MOST_EDGES];
    size_t n_down;
    size_t n_up;
};

/* What came just before an edge may be where it began, some way between two
 * readings: no step of its own. */
static void take_shares(const struct readings *all,
                        double least_rpm,
                        struct shares *out)
{
    const size_t stride = all->stride;
    for (size_t k = 0; k < MOST_EDGES; k++) {
        const size_t i = all->n > 0 ? sharpest_of(all) : 0;
        if (i == 0 || !(fabs(all->change[i]) > least_rpm))
            break;
        const double change = all->change[i];
        const double share = (all->rpm[i + stride] - all->rpm[i]) / change;
        if (share > TURNED_BACK && change > 0.0)
            out->up[out->n_up++] = share;
        else if (share > TURNED_BACK)
            out->down[out->n_down++] = share;
        const size_t began = i + 1 > 2 * stride ? i + 1 - 2 * stride : 0;
        for (size_t j = began; j < i + 2 * stride && j < all->n; j++)
            all->change[j] = 0.0;
    }
}

/* The share of a filter that both ways have; NAN where they have none. */
static double one_share(const struct shares *all)
{
    const size_t n = all->n_down + all->n_up;
    double shares[MOST_EDGES];
    double scratch[MOST_EDGES];
    if (n < FEWEST_EDGES || all->n_down == 0 || all->n_up == 0)
        return NAN;
    for (size_t k = 0; k < n; k++)
        shares[k] = k < all->n_down ? all->down[k] : all->up[k - all->n_down];
    const double share = kw_median(shares, n, scratch);
    for (size_t k = 0; k < n; k++)
        shares[k] = fabs(shares[k] - share);
    const double down = kw_median(all->down, all->n_down, scratch);
    const double up = kw_median(all->up, all->n_up, scratch);
    return kw_median(shares, n, scratch) < ONE_SHARE &&
                   fabs(down - share) < BOTH_WAYS &&
                   fabs(up - share) < BOTH_WAYS
               ? share
               : NAN;
}

static double lag_of(const struct readings *all, double top_rpm)
{
    struct shares shares = {.n_down = 0};
    if (!(all->base_s <= LONGEST_BASE_S))
        return NAN;
    take_changes(all);
    take_shares(all, LEAST_EDGE_SHARE_S * top_rpm * all->base_s, &shares);
    const double lag_s = -all->base_s / log(one_share(&shares));
    return lag_s >= SHORTEST_LAG_S && lag_s <= LONGEST_BELIEVED_S
               ? fmin(lag_s, LONGEST_UNDONE_S)
               : NAN;
}

/* What a filter followed from one reading to another, on the mean; no engine
 * turns backwards. */
static double undone(const struct readings *all,
                     size_t from,
                     size_t to,
                     double lag_s)
{
    const double kept = exp((all->time_s[from] - all->time_s[to]) / lag_s);
    return fmax(0.0, (all->rpm[to] - kept * all->rpm[from]) / (1.0 - kept));
}

static void undo(const struct kw_session *session,
                 const struct readings *all,
                 double lag_s,
                 double *rpm)
{
    size_t from = 0;
    size_t k = 0;
    for (size_t i = 0; i < session->n_samples; i++) {
        rpm[i] = session->rpm[i];
        if (isnan(rpm[i]))
            continue;
        while (from + 1 < k && all->time_s[k] - all->time_s[from + 1] >= BASE_S)
            from++;
        if (from < k && all->time_s[k] - all->time_s[from] <= HOLE_S)
            rpm[i] = undone(all, from, k, lag_s);
        k++;
    }
}

enum kw_status kw_undo_logger_filter(const struct kw_session *session,
                                     double top_rpm,
                                     double *rpm,
                                     double *lag_s,
                                     struct kw_error *error)
{
    const size_t n = session->n_samples;
    *lag_s = NAN;
    double *store = kw_array_new(n, 3 * sizeof *store, error);
    if (store == NULL)
        return KW_NO_MEMORY;
    struct readings all = {store, store + n, store + 2 * n, 0, 1, NAN};
    take_readings(session, &all);
    *lag_s = lag_of(&all, top_rpm);
    if (!isnan(*lag_s))
        undo(session, &all, *lag_s, rpm);
    free(store);
    return KW_OK;
}
