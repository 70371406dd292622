/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Random walk plus noise, from both ends, for some rates of walk.
 *
 * The filter runs forward and backward; what the two make of one place,
 * together, is the smooth value (Fraser and Potter 1969). Where they disagree
 * by more than both admit the quantity jumped in between (wheelspin, a spin): a
 * jump is put there, the largest first, and the filters run again. */
#include "analysis/lap_smooth.h"

#include "core/array.h"
#include "core/robust.h"

#include <math.h>
#include <stdbool.h>
#include <stdlib.h>

/* Rates that are tried: variance of one step over the usual variance of a
 * reading, each a factor above the last. */
static const double SLOWEST_WALK = 1e-5;
static const double WALK_FACTOR = 3.2;
enum { WALKS = 12 };
/* The first readings, whose middle one is where the walk starts from, and how
 * well, in usual variances. */
enum { START = 12 };
static const double START_VARIANCE = 1e4;
/* A reading is good for the start up to so many usual variances; and one before
 * which the walk is known no better than that tells nothing of the rate. */
static const double GOOD = 25.0;
static const double KNOWS_NOTHING = 100.0;
/* However well the readings agree with each other, no less than this share of
 * the variance that they claimed is believed: a few of them agree by luck. */
static const double LEAST_SQUARES = 0.1;
/* A reading so many standard deviations off counts as one that far off. */
static const double FAR_OFF = 3.0;
/* The two filters differ by more standard deviations than this: a jump. */
static const double JUMP_SD = 7.0;
/* Rounds of looking for jumps; each finds one in every stretch of so many. */
enum { JUMP_ROUNDS = 6, JUMP_STRETCH = 6 };

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

/* One pass; gives the logarithm of the likelihood, but for a constant. */
static double filter(const struct kw_reading *readings,
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
        if (isnan(weighted) ||
            now->variance_before > KNOWS_NOTHING * model->usual)
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

/* The middle of the first good readings. */
static double start_of(const struct kw_reading *readings,
                       size_t n,
                       double usual)
{
    double first[START];
    size_t kept = 0;
    for (size_t i = 0; i < n && kept < START; i++) {
        if (readings[i].variance < GOOD * usual && !isnan(readings[i].value))
            first[kept++] = readings[i].value;
    }
    return kw_median(first, kept, first);
}

static double usual_variance(const struct kw_reading *readings,
                             size_t n,
                             double *scratch)
{
    size_t kept = 0;
    for (size_t i = 0; i < n; i++) {
        if (!isnan(readings[i].value))
            scratch[kept++] = readings[i].variance;
    }
    return kw_median(scratch, kept, scratch);
}

/* What the passes share: the readings in both orders, a state for each. */
struct passes {
    struct kw_reading *readings;
    struct kw_reading *reversed;
    struct state *forward;
    struct state *backward; /* in the order of `reversed` */
    size_t n;
    struct model model;
    double squares;
};

static void reverse(struct passes *p)
{
    for (size_t i = 0; i < p->n; i++) {
        const size_t from = p->n - 1 - i;
        p->reversed[i] = p->readings[from];
        p->reversed[i].extra = i > 0 ? p->readings[from + 1].extra : 0.0;
    }
}

/* Chooses the walk and runs both filters with it. */
static void run(struct passes *p)
{
    struct model model = p->model;
    double best = -INFINITY;
    model.start = start_of(p->readings, p->n, model.usual);
    model.walk = SLOWEST_WALK * model.usual;
    p->model.walk = model.walk;
    for (size_t k = 0; k < WALKS; k++, model.walk *= WALK_FACTOR) {
        const double now =
            filter(p->readings, p->n, &model, p->forward, &p->squares);
        if (now > best) {
            best = now;
            p->model.walk = model.walk;
        }
    }
    p->model.start = model.start;
    filter(p->readings, p->n, &p->model, p->forward, &p->squares);
    reverse(p);
    model = p->model;
    model.start = start_of(p->reversed, p->n, model.usual);
    double unused;
    filter(p->reversed, p->n, &model, p->backward, &unused);
}

/* Squared difference of the two filters, forward up to node i and backward from
 * node k, over what they admit; *jump is the difference. */
static double difference(const struct passes *p,
                         size_t i,
                         size_t k,
                         double *jump)
{
    const struct state *before = &p->forward[i];
    const struct state *after = &p->backward[p->n - 1 - k];
    const double steps = (double)(k - i);
    const double admitted = before->variance + after->variance +
                            steps * p->model.walk + p->readings[i + 1].extra;
    *jump = after->mean - before->mean;
    return *jump * *jump / (admitted * fmax(p->squares, 1.0));
}

/* The same across the step to node i, and no more than is left without the last
 * reading before or the first after it: one wrong reading is no jump. */
static double disagreement(const struct passes *p, size_t i, double *jump)
{
    double unused;
    const double least = fmin(difference(p, i - 2, i, &unused),
                              difference(p, i - 1, i + 1, &unused));
    return fmin(least, difference(p, i - 1, i, jump));
}

/* Puts a jump where the filters disagree most, in each stretch.
 *
 * returns  whether there was one. */
static bool find_jumps(struct passes *p)
{
    bool found = false;
    for (size_t from = 2; from + 1 < p->n; from += JUMP_STRETCH) {
        size_t worst = 0;
        double most = JUMP_SD * JUMP_SD;
        double size = 0.0;
        for (size_t i = from; i + 1 < p->n && i < from + JUMP_STRETCH; i++) {
            double jump;
            const double now = disagreement(p, i, &jump);
            if (now > most) {
                most = now;
                worst = i;
                size = jump;
            }
        }
        if (worst > 0) {
            p->readings[worst].extra += size * size;
            found = true;
        }
    }
    return found;
}

/* Both filters together: one after the reading, the other before it. */
static void join(const struct passes *p)
{
    const double factor = fmax(p->squares, LEAST_SQUARES);
    for (size_t i = 0; i < p->n; i++) {
        const struct state *a = &p->forward[i];
        const struct state *b = &p->backward[p->n - 1 - i];
        const double weight_a = 1.0 / a->variance;
        const double weight_b = 1.0 / b->variance_before;
        p->readings[i].smooth =
            (weight_a * a->mean + weight_b * b->mean_before) /
            (weight_a + weight_b);
        p->readings[i].smooth_variance = factor / (weight_a + weight_b);
    }
}

/* The rate of the walk is learned once without jumps and again with those that
 * were found: a jump unseen would make all of it look restless. */
enum kw_status kw_smooth_readings(struct kw_reading *readings,
                                  size_t n,
                                  struct kw_error *error)
{
    struct passes p = {.readings = readings, .n = n};
    p.reversed = kw_array_new(n, sizeof *p.reversed, error);
    p.forward = kw_array_new(n, sizeof *p.forward, error);
    p.backward = kw_array_new(n, sizeof *p.backward, error);
    double *scratch = kw_array_new(n, sizeof *scratch, error);
    const bool ok = p.reversed != NULL && p.forward != NULL &&
                    p.backward != NULL && scratch != NULL;
    if (ok && n > 0) {
        p.model.usual = usual_variance(readings, n, scratch);
        run(&p);
        for (size_t round = 0; round < JUMP_ROUNDS && find_jumps(&p); round++)
            run(&p);
        join(&p);
    }
    free(p.reversed);
    free(p.forward);
    free(p.backward);
    free(scratch);
    return ok ? KW_OK : KW_NO_MEMORY;
}
