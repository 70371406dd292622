/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Random draws and checked memory of the simulator, see sim_random.h. */
#include "sim_random.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>

#include <gsl/gsl_randist.h>

void *sim_allocate(size_t n, size_t size)
{
    void *memory = calloc(n > 0 ? n : 1, size);
    if (memory == NULL) {
        fprintf(stderr, "kartwright-sim: out of memory\n");
        exit(EXIT_FAILURE);
    }
    return memory;
}

/* Neighbouring seeds must give unrelated sessions: mix the bits first
 * (multiply and fold, constants of the 32-bit finaliser in common use). */
static unsigned long mixed(unsigned long seed, unsigned stream)
{
    unsigned long h = seed * 2654435761UL + stream * 40503UL + 1UL;
    h = (h ^ (h >> 16)) & 0xffffffffUL;
    h = (h * 0x45d9f3bUL) & 0xffffffffUL;
    h = (h ^ (h >> 16)) & 0xffffffffUL;
    return h > 0 ? h : 1;
}

struct sim_random sim_random_open(unsigned long seed,
                                  unsigned stream,
                                  double widen)
{
    struct sim_random random = {.generator = gsl_rng_alloc(gsl_rng_mt19937),
                                .widen = widen};
    if (random.generator == NULL) {
        fprintf(stderr, "kartwright-sim: out of memory\n");
        exit(EXIT_FAILURE);
    }
    gsl_rng_set(random.generator, mixed(seed, stream));
    return random;
}

void sim_random_close(struct sim_random *random)
{
    gsl_rng_free(random->generator);
    random->generator = NULL;
}

double sim_between(struct sim_random *random, double low, double high)
{
    return low + (high - low) * gsl_rng_uniform(random->generator);
}

double sim_span(struct sim_random *random, double low, double high)
{
    const double extra = random->widen * (high - low) / 2.0;
    const double wide_low = low - extra;
    return sim_between(random, low > 0.0 ? fmax(wide_low, low / 2.0) : low,
                       high + extra);
}

double sim_log_span(struct sim_random *random, double low, double high)
{
    const double extra = random->widen * log(high / low) / 2.0;
    return exp(sim_between(random, log(low) - extra, log(high) + extra));
}

double sim_normal(struct sim_random *random, double sd)
{
    return gsl_ran_gaussian_ziggurat(random->generator, sd);
}

bool sim_chance(struct sim_random *random, double probability)
{
    return gsl_rng_uniform(random->generator) < probability;
}

size_t sim_pick(struct sim_random *random, size_t n)
{
    return (size_t)gsl_rng_uniform_int(random->generator, (unsigned long)n);
}
