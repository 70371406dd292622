/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Laps against the truth, see score_place.h. */
#include "score_place.h"

#include <math.h>
#include <stdlib.h>

/* Index of the first element not below `value`. */
static size_t lower_bound(const double *values, size_t n, double value)
{
    size_t low = 0, high = n;
    while (low < high) {
        const size_t middle = low + (high - low) / 2;
        if (values[middle] < value)
            low = middle + 1;
        else
            high = middle;
    }
    return low;
}

static double between(const double *x, const double *y, size_t n, double at)
{
    const size_t i = lower_bound(x, n, at);
    if (i == 0)
        return y[0];
    if (i == n)
        return y[n - 1];
    const double span = x[i] - x[i - 1];
    return span > 0.0 ? y[i - 1] + (at - x[i - 1]) / span * (y[i] - y[i - 1])
                      : y[i];
}

double score_metres_at(const struct score_progress *progress, double time_s)
{
    return progress->n == 0 ? NAN
                            : between(progress->time_s, progress->metres,
                                      progress->n, time_s);
}

double score_time_at(const struct score_progress *progress, double metres)
{
    if (progress->n == 0 || metres < progress->metres[0] ||
        metres > progress->metres[progress->n - 1])
        return NAN;
    return between(progress->metres, progress->time_s, progress->n, metres);
}

static double round_the_loop(double a_m, double b_m, double length_m)
{
    return fabs(remainder(a_m - b_m, length_m));
}

double score_loop_median(const double *place_m, size_t n, double length_m)
{
    double best_m = place_m[0], least = INFINITY;
    for (size_t i = 0; i < n; i++) {
        double sum = 0.0;
        for (size_t j = 0; j < n; j++)
            sum += round_the_loop(place_m[i], place_m[j], length_m);
        if (sum < least) {
            least = sum;
            best_m = place_m[i];
        }
    }
    return best_m;
}

/* Flying laps between the passings of one place. */
static size_t laps_at(const struct score_labels *labels, double place_m)
{
    const struct score_progress *progress = &labels->progress;
    const double from = progress->metres[0];
    const double to = progress->metres[progress->n - 1];
    const double first = ceil((from - place_m) / labels->track_m);
    const double last = floor((to - place_m) / labels->track_m);
    return last > first ? (size_t)(last - first) : 0;
}

static void measure(const struct score_labels *labels,
                    const struct score_laps *found,
                    struct score_lap_result *result)
{
    const double lap_m = labels->track_m;
    for (size_t i = 0; i < found->n_boundaries; i++) {
        const double at_s = found->boundary_s[i];
        const double m = score_metres_at(&labels->progress, at_s);
        const double turns = round((m - result->place_m) / lap_m);
        const double true_s =
            score_time_at(&labels->progress, result->place_m + turns * lap_m);
        /* Off the log: the boundary stands where the kart never passed. */
        result->error_s[result->n_errors++] =
            isfinite(true_s) ? fabs(at_s - true_s) : 60.0;
    }
}

struct score_lap_result score_laps_judge(const struct score_labels *labels,
                                         const struct score_laps *found)
{
    struct score_lap_result result = {
        .place_m = NAN,
        .error_s = score_allocate(found->n_boundaries, sizeof(double))};
    result.strictly_exact = found->n_flying == labels->laps.n_flying;
    result.exact = result.strictly_exact;
    if (!isfinite(labels->track_m) || found->n_boundaries == 0 ||
        labels->progress.n == 0)
        return result;
    double *place_m = score_allocate(found->n_boundaries, sizeof(double));
    for (size_t i = 0; i < found->n_boundaries; i++) {
        const double m =
            score_metres_at(&labels->progress, found->boundary_s[i]);
        place_m[i] = m - floor(m / labels->track_m) * labels->track_m;
    }
    result.place_m =
        labels->line_known
            ? 0.0
            : score_loop_median(place_m, found->n_boundaries, labels->track_m);
    free(place_m);
    if (!labels->line_known)
        result.exact =
            result.exact || found->n_flying == laps_at(labels, result.place_m);
    measure(labels, found, &result);
    return result;
}
