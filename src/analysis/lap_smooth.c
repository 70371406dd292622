/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Random walk plus noise, forward and backward, for some rates of walk. */
#include "analysis/lap_smooth.h"

#include "core/array.h"
#include "core/robust.h"

#include <math.h>
#include <stdlib.h>

/* Rates that are tried: variance of one step over the usual variance of a
 * reading, each a factor above the last. */
static const double SLOWEST_WALK = 1e-4;
static const double WALK_FACTOR = 2.5;
enum { WALKS = 12 };
/* The first readings, whose middle one is where the walk starts from, and how
 * well, in usual variances. */
enum { START = 12 };
static const double START_VARIANCE = 1e4;
/* A reading so many standard deviations off counts as one that far off. */
static const double FAR_OFF = 2.5;

/* State after each reading (filtered) and before it (predicted). */
struct state {
    double mean;
    double variance;
    double mean_before;
    double variance_before;
};

/* walk   variance of one step.  usual  variance of a reading.
 * start  mean before the first reading. */
struct model {
    double walk;
    double usual;
    double start;
};

/* Takes in one reading; widens its variance when it is far off (Huber 1964). */
static void take_in(struct state *now,
                    const struct kw_reading *reading,
                    double *weighted)
{
    now->mean = now->mean_before;
    now->variance = now->variance_before;
    *weighted = NAN;
    if (isnan(reading->value))
        return;
    const double off = reading->value - now->mean_before;
    double noise = reading->variance;
    double all = now->variance_before + noise;
    const double far = fabs(off) / sqrt(all);
    *weighted = fmin(far, FAR_OFF);
    if (far > FAR_OFF) {
        all *= far / FAR_OFF;
        noise = all - now->variance_before;
    }
    const double gain = now->variance_before / all;
    now->mean += gain * off;
    now->variance = gain * noise;
}

/* One forward pass. */
static double forward(const struct kw_reading *readings,
                      size_t n,
                      const struct model *model,
                      struct state *states,
                      double *squares)
{
    double logs = 0.0;
    size_t counted = 0;
    *squares = 0.0;
    for (size_t i = 0; i < n; i++) {
        struct state *now = &states[i];
        now->mean_before = i > 0 ? states[i - 1].mean : model->start;
        now->variance_before =
            i > 0 ? states[i - 1].variance + model->walk + readings[i].extra
                  : START_VARIANCE * model->usual;
        double weighted;
        take_in(now, &readings[i], &weighted);
        if (isnan(weighted) || now->variance_before > 100.0 * model->usual)
            continue;
        logs += log(now->variance_before + readings[i].variance);
        *squares += weighted * weighted;
        counted++;
    }
    if (counted < 3)
        return -INFINITY;
    const double count = (double)counted;
    *squares /= count;
    return -0.5 * (logs + count * log(*squares));
}

static void backward(struct kw_reading *readings,
                     size_t n,
                     const struct state *states,
                     double factor)
{
    double mean = 0.0;
    double variance = 0.0;
    for (size_t i = n; i-- > 0;) {
        double m = states[i].mean;
        double v = states[i].variance;
        if (i + 1 < n) {
            const struct state *next = &states[i + 1];
            const double gain = v / next->variance_before;
            m += gain * (mean - next->mean_before);
            v += gain * gain * (variance - next->variance_before);
        }
        mean = m;
        variance = v;
        readings[i].smooth = m;
        readings[i].smooth_variance = v * factor;
    }
}

/* What the readings themselves say of their noise and their start. */
static struct model first_model(const struct kw_reading *readings,
                                size_t n,
                                double *scratch)
{
    struct model model = {0};
    size_t kept = 0;
    for (size_t i = 0; i < n; i++) {
        if (!isnan(readings[i].value))
            scratch[kept++] = readings[i].variance;
    }
    model.usual = kw_median(scratch, kept, scratch);
    kept = 0;
    for (size_t i = 0; i < n && kept < START; i++) {
        if (readings[i].variance < 25.0 * model.usual &&
            !isnan(readings[i].value))
            scratch[kept++] = readings[i].value;
    }
    model.start = kw_median(scratch, kept, scratch);
    return model;
}

enum kw_status kw_smooth_readings(struct kw_reading *readings,
                                  size_t n,
                                  struct kw_error *error)
{
    struct state *states = kw_array_new(n, sizeof *states, error);
    double *scratch = kw_array_new(n, sizeof *scratch, error);
    enum kw_status status = KW_NO_MEMORY;
    if (states == NULL || scratch == NULL)
        goto done;
    status = KW_OK;
    struct model model = first_model(readings, n, scratch);
    struct model best = model;
    double most_likely = -INFINITY;
    double squares = 1.0;
    model.walk = SLOWEST_WALK * model.usual;
    best.walk = model.walk;
    for (size_t k = 0; k < WALKS; k++, model.walk *= WALK_FACTOR) {
        const double now = forward(readings, n, &model, states, &squares);
        if (now > most_likely) {
            most_likely = now;
            best = model;
        }
    }
    forward(readings, n, &best, states, &squares);
    backward(readings, n, states, squares);
done:
    free(states);
    free(scratch);
    return status;
}
