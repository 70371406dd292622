/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The length of a lap.
 *
 * 1. Likeness of the pace with itself, shifted by every way that a lap may
 *    have. Its peaks are the candidates.
 * 2. The shortest candidate that is about as good as the best: two laps repeat
 *    as well as one.
 * 3. A track of two like halves repeats after half a lap, nearly: whether the
 *    odd and the even pieces really are the same, see lap_classes.h.
 * 4. What repeats after a few seconds is an engine being blipped, no lap. */
#include "analysis/lap_period.h"

#include "analysis/lap_classes.h"
#include "core/array.h"
#include "core/robust.h"

#include <gsl/gsl_errno.h>
#include <gsl/gsl_fft_halfcomplex.h>
#include <gsl/gsl_fft_real.h>
#include <math.h>
#include <stdlib.h>

/* Kart laps take 35 to 75 s (common practice, no source): room on both sides.
 */
static const double SHORTEST_LAP_S = 15.0;
static const double LONGEST_LAP_S = 240.0;
/* Blips and bends repeat faster than laps. */
static const double SHORTEST_LAG_S = 2.0;
/* Slower changes of pace than this are warm-up and traffic, no track; where
 * that finds nothing, a yellow flag is taken away with a shorter one. And where
 * a track of fast bends changes the pace by little, a stop or a spin outweighs
 * all laps: then no more than so many robust standard deviations count. */
struct filter {
    double slow_s;
    double most_sd;
};
static const struct filter FILTERS[] = {{40.0, INFINITY},
                                        {15.0, INFINITY},
                                        {40.0, 1.5},
                                        {15.0, 1.5}};
/* Least likeness from one lap to the next; a learner's laps have 0.6. Pace is
 * another after each INDEPENDENT of way, so chance alone gives one over the
 * root of how many of those are compared: CHANCE times that is asked of a short
 * drive, and no more than ENOUGH. */
static const double LEAST_LIKENESS = 0.45;
static const double INDEPENDENT = 2.5;
static const double CHANCE = 3.5;
static const double ENOUGH = 0.85;
/* A candidate may be this many times as unlike as the best, and this much. */
static const double AS_GOOD_RATIO = 3.0;
static const double AS_GOOD_EXTRA = 0.05;
/* The same where there are too few laps for an analysis of variance; and for
 * what is too short to be a lap: blips come back as like as their multiples do,
 * the bends of a lap are only much alike. */
static const double FEW_RATIO = 2.0;
static const double BLIP_RATIO = 1.5;
/* A third of the best and less that has the first share of its likeness will
 * do: the slow lap or the stop that comes every third time is the exception,
 * and not the lap. Where there are enough laps for an analysis of variance it
 * needs the second, whatever that says: a spin beside a stop sets two laps of
 * three apart as well. */
static const double NEARLY_AS_GOOD = 0.85;
static const double ALL_BUT_AS_GOOD = 0.92;
/* A shift by much of the session leaves little to compare: so much likeness is
 * taken off one by all of it. */
static const double SHORT_PRICE = 0.15;
/* Least part of the session over which the shifted pattern overlaps. */
static const double LEAST_OVERLAP = 0.3;
/* Least likeness of a part of the best that may be a lap: a spin puts laps out
 * of step with the next, and several together may be more alike by chance. */
static const double LEAST_PART = 0.25;
/* Laps come back after two of them, and after three: likeness at the multiples
 * between a part and the whole, in the mean, as a share of the whole's. Laps of
 * 2,350 simulated sessions had 0.41 and more; what was none, 0.17 and 0.31. */
static const double LEAST_BETWEEN = 0.35;
/* Half of a lap need not lie at half its length exactly: its peak is looked for
 * within this share (common practice, no source). */
static const double NEAR_SHARE = 0.04;
/* Classes of the same pieces differ so much by chance once in a thousand. */
static const double BY_CHANCE = 0.001;
/* Laps of a track change pace: least standard deviation, of full pace. */
static const double LEAST_CHANGE = 0.03;

/* About 0: the slow part was taken away. */
static double deviation(const double *values, size_t n)
{
    double sum = 0.0;
    for (size_t i = 0; i < n; i++)
        sum += values[i] * values[i];
    return n > 0 ? sqrt(sum / (double)n) : 0.0;
}

/* Takes the mean over `half` neighbours on each side away. */
static void take_slow_part_away(const double *from,
                                size_t n,
                                size_t half,
                                double *to)
{
    double sum = 0.0;
    size_t low = 0;
    size_t high = 0;
    for (size_t i = 0; i < n; i++) {
        while (high < n && high <= i + half)
            sum += from[high++];
        while (low + half < i)
            sum -= from[low++];
        to[i] = from[i] - sum / (double)(high - low);
    }
}

/* Cuts what stands out, up and down.
 *
 * scratch  scratch[n], overwritten. */
static void cut_outliers(double *values,
                         size_t n,
                         double most_sd,
                         double *scratch)
{
    const double most = most_sd * kw_mad_sd(values, n, 0.0, scratch);
    for (size_t i = 0; i < n; i++)
        values[i] = fmin(fmax(values[i], -most), most);
}

/* What the radix-2 transform takes; twice the values at least, so that the end
 * does not meet the beginning. */
static size_t power_of_two_for(size_t n)
{
    size_t size = 1;
    while (size < n)
        size *= 2;
    return size;
}

/* Sums of products at all lags, by way of the power spectrum; work[size] holds
 * the values, then zeros. */
static void correlate(double *work, size_t size)
{
    gsl_fft_real_radix2_transform(work, 1, size);
    work[0] *= work[0];
    work[size / 2] *= work[size / 2];
    for (size_t i = 1; i < size / 2; i++) {
        work[i] = work[i] * work[i] + work[size - i] * work[size - i];
        work[size - i] = 0.0;
    }
    gsl_fft_halfcomplex_radix2_inverse(work, 1, size);
}

/* The likeness at a lag is 2 sum(x y) / (sum(x^2) + sum(y^2)) over the values
 * that overlap: 1 for the same, 0 for strangers. By the theorem of Wiener and
 * Khinchin, in n log n steps; the squares are taken off from lag to lag. */
enum kw_status kw_likeness(const double *values,
                           size_t n,
                           double *out,
                           size_t n_lags,
                           struct kw_error *error)
{
    const size_t size = power_of_two_for(2 * n + 2);
    double *work = kw_array_new(size, sizeof *work, error);
    if (work == NULL)
        return KW_NO_MEMORY;
    double squares = 0.0;
    for (size_t i = 0; i < n; i++) {
        work[i] = values[i];
        squares += 2.0 * values[i] * values[i];
    }
    /* Where the overlap has nearly no squares left, rounding alone would
     * speak. */
    const double nothing = 1e-9 * squares;
    correlate(work, size);
    for (size_t lag = 0; lag < n_lags; lag++) {
        if (lag > 0 && lag <= n)
            squares -= values[lag - 1] * values[lag - 1] +
                       values[n - lag] * values[n - lag];
        out[lag] =
            lag < n && squares > nothing ? 2.0 * work[lag] / squares : 0.0;
    }
    free(work);
    return KW_OK;
}

/* No piece is shorter than this many steps. */
enum { LEAST_LAG = 4 };

/* Lags in steps of the grid. */
struct range {
    size_t shortest_lag;
    size_t shortest_lap;
    size_t end;
    size_t seen; /* longest that leaves enough to compare */
};

/* From seconds to steps of way by the usual pace: a lap at walking pace is not
 * asked for. */
static struct range range_of(const struct kw_lap_grid *grid)
{
    const double each_s = grid->pace_usual / grid->step;
    const size_t longest = (size_t)(LONGEST_LAP_S * each_s);
    const size_t seen = (size_t)((1.0 - LEAST_OVERLAP) * (double)grid->n);
    return (struct range){
        .shortest_lag = (size_t)(SHORTEST_LAG_S * each_s) + LEAST_LAG,
        .shortest_lap = (size_t)(SHORTEST_LAP_S * each_s),
        .end = longest < seen ? longest : seen,
        .seen = seen,
    };
}

/* Of a flat top the last step counts. */
static bool is_peak(const double *likeness, size_t lag)
{
    return likeness[lag] > likeness[lag - 1] &&
           likeness[lag] >= likeness[lag + 1];
}

/* The best peak that may be a lap or some; 0 when there is none. */
static size_t best_peak(const double *likeness,
                        const struct range *range,
                        size_t end)
{
    const double price =
        SHORT_PRICE * (1.0 - LEAST_OVERLAP) / (double)range->seen;
    size_t best = 0;
    for (size_t lag = range->shortest_lap; lag + 1 < end; lag++) {
        if (lag > 0 && is_peak(likeness, lag) &&
            (best == 0 || likeness[lag] - price * (double)lag >
                              likeness[best] - price * (double)best))
            best = lag;
    }
    return best;
}

/* Top of the parabola through a peak and its neighbours. */
static double peak_at(const double *likeness, size_t lag)
{
    const double left = likeness[lag - 1];
    const double right = likeness[lag + 1];
    const double bend = left - 2.0 * likeness[lag] + right;
    return (double)lag + (bend < 0.0 ? 0.5 * (left - right) / bend : 0.0);
}

/* The series, its likeness with itself, and the lags that matter. */
struct search {
    const double *values;
    size_t n;
    const double *likeness;
    struct range range;
    double step;
};

/* The least likeness at a lag that is more than chance. */
static double least_likeness(const struct search *search, size_t lag)
{
    const double way = (double)(search->n - lag) * search->step;
    const double by_chance = CHANCE / sqrt(way / INDEPENDENT);
    return fmin(fmax(by_chance, LEAST_LIKENESS), ENOUGH);
}

/* The best peak near a lag; 0 when there is none. */
static size_t peak_near(const double *likeness, double lag, size_t end)
{
    size_t best = 0;
    const size_t from = (size_t)((1.0 - NEAR_SHARE) * lag);
    for (size_t i = from > 1 ? from : 1;
         i + 1 < end && (double)i < (1.0 + NEAR_SHARE) * lag; i++) {
        if (is_peak(likeness, i) && (best == 0 || likeness[i] > likeness[best]))
            best = i;
    }
    return best;
}

/* A lag, and the peak at its m-th part. */
struct division {
    size_t whole;
    size_t part;
    size_t m;
};

/* true when the part comes back at its multiples too. A seventh of four laps
 * may be a little like itself by chance; two sevenths then are not. */
static bool comes_back(const struct search *search,
                       const struct division *division)
{
    const double part = peak_at(search->likeness, division->part);
    double sum = 0.0;
    for (size_t k = 2; k < division->m; k++) {
        const size_t near =
            peak_near(search->likeness, (double)k * part, search->range.end);
        sum += near > 0 ? search->likeness[near] : 0.0;
    }
    const double between = (double)(division->m - 2);
    return sum >= between * LEAST_BETWEEN * search->likeness[division->whole];
}

/* true in *is when the part is as good a period as the whole. */
static enum kw_status is_period(const struct search *search,
                                const struct division *division,
                                bool *is,
                                struct kw_error *error)
{
    const double whole = search->likeness[division->whole];
    const double part = search->likeness[division->part];
    const bool no_lap = division->part < search->range.shortest_lap;
    const double most_unlike =
        (no_lap ? BLIP_RATIO : AS_GOOD_RATIO) * (1.0 - whole) + AS_GOOD_EXTRA;
    const bool nearly =
        !no_lap && division->m > 2 && part > NEARLY_AS_GOOD * whole;
    double chance = NAN;
    *is = false;
    if (division->part < LEAST_LAG ||
        part < (no_lap ? LEAST_LIKENESS : LEAST_PART) ||
        (1.0 - part > most_unlike && !nearly) || !comes_back(search, division))
        return KW_OK;
    const struct kw_pieced_series series = {
        search->values, search->n, peak_at(search->likeness, division->part)};
    const enum kw_status status =
        kw_chance_of_classes(&series, division->m, &chance, error);
    if (isnan(chance))
        *is = nearly || 1.0 - part < FEW_RATIO * (1.0 - whole);
    else
        *is = chance > BY_CHANCE || (nearly && part > ALL_BUT_AS_GOOD * whole);
    return status;
}

/* From the best peak down to its smallest part that is a period too. */
static enum kw_status choose_period(const struct search *search,
                                    double *period,
                                    struct kw_error *error)
{
    const double *likeness = search->likeness;
    const struct range *range = &search->range;
    const size_t half = search->n / 2 < range->end ? search->n / 2 : range->end;
    /* A shift by less than half of the session compares more of it. */
    size_t lag = best_peak(likeness, range, half);
    if (lag == 0 || likeness[lag] < least_likeness(search, lag))
        lag = best_peak(likeness, range, range->end);
    enum kw_status status = KW_OK;
    if (lag == 0 || likeness[lag] < least_likeness(search, lag))
        return KW_OK;
    for (size_t m = KW_MOST_CLASSES; status == KW_OK && m >= 2; m--) {
        const double about = peak_at(likeness, lag) / (double)m;
        const struct division division = {
            .whole = lag,
            .part = peak_near(likeness, about, search->range.end),
            .m = m,
        };
        bool is;
        status = is_period(search, &division, &is, error);
        if (is) {
            lag = division.part;
            m = KW_MOST_CLASSES + 1;
        }
    }
    if (lag >= search->range.shortest_lap)
        *period = peak_at(likeness, lag);
    return status;
}

/* With the slow part of pace taken away, and what stands out cut. */
static enum kw_status try_period(const struct kw_lap_grid *grid,
                                 const struct filter *filter,
                                 double *period,
                                 struct kw_error *error)
{
    const struct range range = range_of(grid);
    double *values = kw_array_new(grid->n, 2 * sizeof *values, error);
    double *likeness = kw_array_new(range.end + 1, sizeof *likeness, error);
    const struct search search = {values, grid->n, likeness, range, grid->step};
    enum kw_status status = KW_NO_MEMORY;
    if (values == NULL || likeness == NULL)
        goto done;
    const double half = 0.5 * filter->slow_s * grid->pace_usual / grid->step;
    take_slow_part_away(grid->pace, grid->n, (size_t)half, values);
    status = KW_OK;
    if (deviation(values, grid->n) > LEAST_CHANGE) {
        if (isfinite(filter->most_sd))
            cut_outliers(values, grid->n, filter->most_sd, values + grid->n);
        status = kw_likeness(values, grid->n, likeness, range.end + 1, error);
    }
    if (status == KW_OK)
        status = choose_period(&search, period, error);
done:
    free(values);
    free(likeness);
    return status;
}

/* Most is taken away only where less did not do: a short mean takes some of the
 * pattern with it, and so does a cut. */
enum kw_status kw_find_lap_period(const struct kw_lap_grid *grid,
                                  double *period,
                                  struct kw_error *error)
{
    *period = NAN;
    const struct range range = range_of(grid);
    if (grid->n < 8 || range.end < range.shortest_lap + 3)
        return KW_OK;
    enum kw_status status = KW_OK;
    for (size_t i = 0; status == KW_OK && isnan(*period) &&
                       i < sizeof FILTERS / sizeof FILTERS[0];
         i++)
        status = try_period(grid, &FILTERS[i], period, error);
    return status;
}
