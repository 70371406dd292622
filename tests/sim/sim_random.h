/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Random draws of the simulator: one generator for each purpose.
 *
 * Each purpose (track, kart, plan, noise ...) has a stream of its own, so that
 * a new draw in one does not change the others. `widen` stretches the ranges of
 * sim_span() and sim_log_span() on both sides; the set that is only ever scored
 * uses it, so that the proof is not on the distribution that was developed on.
 */
#ifndef SIM_RANDOM_H
#define SIM_RANDOM_H

#include <stdbool.h>
#include <stddef.h>

#include <gsl/gsl_rng.h>

struct sim_random {
    gsl_rng *generator;
    double widen; /* 0 = ranges as stated, 0.3 = 30 % wider */
};

/* Opens stream number `stream` of `seed`; ends the program without memory. */
struct sim_random sim_random_open(unsigned long seed,
                                  unsigned stream,
                                  double widen);
void sim_random_close(struct sim_random *random);

/* Uniform in [low, high), never widened. */
double sim_between(struct sim_random *random, double low, double high);

/* Uniform in a range that `widen` stretches; never crosses zero. */
double sim_span(struct sim_random *random, double low, double high);

/* Uniform in the logarithm; `widen` stretches the range. low > 0. */
double sim_log_span(struct sim_random *random, double low, double high);

double sim_normal(struct sim_random *random, double sd);
bool sim_chance(struct sim_random *random, double probability);

/* One of 0 .. n - 1, n > 0. */
size_t sim_pick(struct sim_random *random, size_t n);

/* Memory for a test program: ends it with a message when there is none. */
void *sim_allocate(size_t n, size_t size);

#endif
