/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Spikes by GSL's moving median, which is only asked where a jump makes it
 * worth while; and what a channel's readings say about the sensor. */
#include "signal/spike.h"

#include "core/array.h"
#include "core/robust.h"

#include <gsl/gsl_errno.h>
#include <gsl/gsl_movstat.h>
#include <math.h>
#include <stdlib.h>

/* Standard deviation of a second difference of independent readings, in theirs:
 * the root of 1 + 4 + 1. */
static const double SECOND_DIFFERENCE_SD = 2.449489742783178;
/* The smallest tenth of the changes: one step of the logger, unless it is so
 * fine that it does not matter. */
static const double SMALL_CHANGES = 0.1;

/* Steps of a value that is held under noise: beyond so many standard deviations
 * of it, so many at least and two samples apart; the beat is what this share of
 * them are no longer than, and so many have to keep to it, off by one sample or
 * that share of the beat (common practice, no source). */
static const double STEP_NOISES = 8.0;
enum { FEWEST_STEPS = 30 };
static const double LEAST_BEAT = 2.0;
static const double BEAT_SHARE = 0.25;
static const double ON_BEAT_SHARE = 0.8;
static const double MOST_OFF_BEAT = 0.2;

/* A stretch around jumps: flags are taken from first .. last, whose windows
 * reach `half` farther. */
struct block {
    size_t first;
    size_t last;
};

/* The next stretch with jumps at or after `from`.
 *
 * returns  false when there is none. */
static bool next_block(const double *values,
                       size_t n,
                       const struct kw_spike_rule *rule,
                       struct block *block)
{
    const double limit = fmin(rule->above, rule->below);
    /* From the second reading on: a jump has two ends. */
    size_t i = block->last + 1;
    while (i < n && !(fabs(values[i] - values[i - 1]) > limit))
        i++;
    if (i >= n)
        return false;
    block->first = i > rule->half ? i - rule->half : 0;
    block->last = i;
    /* Jumps closer than their windows share a block, or readings between them
     * would be asked twice. */
    for (; i < n && i <= block->last + 3 * rule->half; i++) {
        if (fabs(values[i] - values[i - 1]) > limit)
            block->last = i;
    }
    block->last =
        block->last + rule->half < n ? block->last + rule->half : n - 1;
    return true;
}

/* Part of a channel: what first .. last are among its readings is marked. */
struct stretch {
    const double *values;
    size_t n;
    size_t first;
    size_t last;
};

/* Room that a search for spikes works in. */
struct search {
    gsl_movstat_workspace *work;
    double *median;
};

/* Most channels have no jump at all: nothing is allocated before the first. */
static enum kw_status search_start(struct search *search,
                                   size_t n,
                                   size_t half,
                                   struct kw_error *error)
{
    if (search->work != NULL)
        return KW_OK;
    /* With GSL's error handler off NULL means no memory. */
    search->work = gsl_movstat_alloc2(half, half);
    search->median = kw_array_new(n, sizeof *search->median, error);
    if (search->work == NULL || search->median == NULL)
        return kw_fail_memory(error);
    return KW_OK;
}

static void search_free(struct search *search)
{
    if (search->work != NULL)
        gsl_movstat_free(search->work);
    free(search->median);
}

/* The medians of one stretch: windows are cut short at its ends only where the
 * channel ends, for it reaches half a window beyond what is marked. */
static enum kw_status mark_block(const struct search *search,
                                 const struct stretch *span,
                                 const struct kw_spike_rule *rule,
                                 bool *odd,
                                 struct kw_error *error)
{
    gsl_vector_const_view in =
        gsl_vector_const_view_array(span->values, span->n);
    gsl_vector_view out = gsl_vector_view_array(search->median, span->n);
    if (gsl_movstat_median(GSL_MOVSTAT_END_TRUNCATE, &in.vector, &out.vector,
                           search->work) != GSL_SUCCESS)
        return kw_fail_memory(error);
    for (size_t i = span->first; i <= span->last; i++) {
        const double off = span->values[i] - search->median[i];
        odd[i] = off > rule->above || off < -rule->below;
    }
    return KW_OK;
}

/* A running median (Tukey 1977; from memory) against a limit that the caller
 * knows from the quantity itself. Only stretches with a jump are asked: the
 * median costs most, and most of a channel has none. */
enum kw_status kw_mark_spikes(const double *values,
                              size_t n,
                              const struct kw_spike_rule *rule,
                              bool *odd,
                              struct kw_error *error)
{
    struct kw_spike_rule fit = *rule;
    if (n < 3 || fit.half == 0)
        return KW_OK;
    /* No window is wider than the channel. */
    if (fit.half > (n - 1) / 2)
        fit.half = (n - 1) / 2;
    enum kw_status status = KW_OK;
    struct search search = {0};
    struct block block = {0, 0};
    while (status == KW_OK && next_block(values, n, &fit, &block)) {
        const size_t from = block.first > fit.half ? block.first - fit.half : 0;
        const size_t to =
            block.last + fit.half < n ? block.last + fit.half : n - 1;
        const struct stretch span = {values + from, to - from + 1,
                                     block.first - from, block.last - from};
        status = search_start(&search, n, fit.half, error);
        if (status == KW_OK)
            status = mark_block(&search, &span, &fit, odd + from, error);
    }
    search_free(&search);
    return status;
}

/* The readings that are looked at: all of a short channel, stretches of a long
 * one. */
enum { ENOUGH = 50000, AT_A_TIME = 1000 };

/* Whole stretches, not every tenth reading: differences need neighbours. */
static size_t next_reading(size_t i, size_t n)
{
    /* One thousand in every so many thousand: cost is bounded at any length of
     * log. */
    const size_t stride = n / ENOUGH + 1;
    return (i + 1) % AT_A_TIME == 0 ? i + 1 + (stride - 1) * AT_A_TIME : i + 1;
}

/* A median, so that the few readings at the ends of a stretch and all real
 * jumps pass it by. */
double kw_noise_sd(const double *values, size_t n, double *scratch)
{
    size_t kept = 0;
    for (size_t i = 2; i < n; i = next_reading(i, n))
        scratch[kept++] = fabs(values[i] - 2.0 * values[i - 1] + values[i - 2]);
    return kw_median(scratch, kept, scratch) * KW_MAD_TO_SD /
           SECOND_DIFFERENCE_SD;
}

/* Changes smaller than this are rounding in the conversion of units. */
static bool is_change(double from, double to)
{
    return fabs(to - from) > 1e-9 * (fabs(from) + fabs(to));
}

/* The step of the logger is the smallest change that is usual; the very
 * smallest may be a rounding of another kind. */
double kw_resolution(const double *values, size_t n, double *scratch)
{
    size_t kept = 0;
    for (size_t i = 1; i < n; i = next_reading(i, n)) {
        if (is_change(values[i - 1], values[i]))
            scratch[kept++] = fabs(values[i] - values[i - 1]);
    }
    return kw_quantile(scratch, kept, SMALL_CHANGES, scratch);
}

/* Samples from each change larger than `noise` to the next.
 *
 * returns  how many there are. */
static size_t between_changes(const double *values,
                              size_t n,
                              double noise,
                              double *between)
{
    size_t kept = 0;
    size_t last = 0; /* 0: no change seen yet in this stretch */
    for (size_t i = 1; i < n;) {
        if (is_change(values[i - 1], values[i]) &&
            fabs(values[i] - values[i - 1]) > noise) {
            if (last > 0)
                between[kept++] = (double)(i - last);
            last = i;
        }
        const size_t next = next_reading(i, n);
        if (next != i + 1)
            last = 0;
        i = next;
    }
    return kept;
}

/* The beat that steps keep to: whole numbers of it lie between them.
 *
 * between  between[n]: samples from step to step; sorted here.
 * returns  NAN where they keep to none. */
static double beat_of(double *between, size_t n)
{
    const double beat = kw_quantile(between, n, BEAT_SHARE, between);
    const double off = fmin(1.0, MOST_OFF_BEAT * beat);
    size_t on_beat = 0;
    for (size_t i = 0; i < n; i++) {
        const double beats = round(between[i] / beat);
        if (beats >= 1.0 && fabs(between[i] - beats * beat) <= off)
            on_beat++;
    }
    return n >= FEWEST_STEPS && (double)on_beat >= ON_BEAT_SHARE * (double)n
               ? beat
               : NAN;
}

/* What matters is the time between two changes, not how many samples changed: a
 * standing value is no slow sensor. A logger that adds its own noise to a value
 * that it holds writes no two alike; there the steps that stand out of the
 * noise tell, if they come at one beat. Of a sensor read in every row they
 * follow row upon row. */
double kw_update_samples(const double *values, size_t n, double *scratch)
{
    const double plain =
        kw_median(scratch, between_changes(values, n, 0.0, scratch), scratch);
    const double noise = STEP_NOISES * kw_noise_sd(values, n, scratch);
    if (!(plain < LEAST_BEAT) || !(noise > 0.0))
        return plain;
    const double beat =
        beat_of(scratch, between_changes(values, n, noise, scratch));
    return beat >= LEAST_BEAT ? beat : plain;
}
