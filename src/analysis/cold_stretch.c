/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Cold stretches: the mirror of hot ones, with more patience, because much else
 * cools an exhaust: half throttle in traffic, a cold pipe, a yellow flag. */
#include "analysis/cold_stretch.h"

#include "core/array.h"

#include <math.h>
#include <stdlib.h>

/* Colder by this much, for so long: degrees times seconds under load. */
static const double LEAST_COLD_C = 33.0;
static const double LEAST_COLD_C_S = 650.0;
static const double LEAST_SURPRISE = 3.5;
/* Colder than any mixture or leak makes it (from memory): a probe that slipped
 * out or broke. */
static const double BEYOND_MIXTURE_C = 200.0;
/* A rich engine still revs; a driver who holds back does not let it. */
static const double REVS_SHARE = 0.93;
/* A leak takes much, off the throttle at least two fifths of what it takes
 * under load, and does not mend itself before the end: the in lap and the stand
 * after it. */
static const double LEAK_C = 80.0;
static const double THINNED_SHARE = 0.4;
static const double LEAK_S = 120.0;
static const double STAYS_S = 60.0;

/* Colder than expected counts as positive; the cold pipe is left out. */
static void turn_round(const struct kw_mixture *m, double *cold_c)
{
    for (size_t i = 0; i < m->grid.n; i++)
        cold_c[i] =
            m->grid.worked_s[i] > KW_COLD_PIPE_S ? -m->excess_c[i] : NAN;
}

/* NAN never wins a fmax. */
static double top_rpm(const struct kw_heat_grid *g,
                      const struct kw_hot_stretch *stretch)
{
    double top = 0.0;
    for (size_t i = stretch->from; i < stretch->to; i++)
        top = fmax(top, g->rpm[i]);
    return top;
}

/* Cold, long, far outside healthy scatter, and with an engine that revs: all
 * four, or it is a driver who held back. */
static bool is_believed(const struct kw_mixture *m,
                        const struct kw_hot_stretch *stretch)
{
    return stretch->excess_c >= LEAST_COLD_C &&
           stretch->excess_c <= BEYOND_MIXTURE_C &&
           stretch->excess_c * stretch->loaded_s >= LEAST_COLD_C_S &&
           stretch->surprise >= LEAST_SURPRISE &&
           top_rpm(&m->grid, stretch) >= REVS_SHARE * m->high_rpm;
}

/* Keeps what is believed, in place. */
static void keep_believed(const struct kw_mixture *m,
                          struct kw_hot_stretches *stretches)
{
    size_t kept = 0;
    for (size_t k = 0; k < stretches->n; k++) {
        if (is_believed(m, &stretches->items[k]))
            stretches->items[kept++] = stretches->items[k];
    }
    stretches->n = kept;
}

/* The same search as for heat, with the sign turned round. */
enum kw_status kw_find_cold_stretches(const struct kw_mixture *mixture,
                                      struct kw_hot_stretches *out,
                                      struct kw_error *error)
{
    *out = (struct kw_hot_stretches){0};
    if (mixture->grid.n == 0 || isnan(mixture->scatter_c))
        return KW_OK;
    double *cold_c = kw_array_new_nan(mixture->grid.n, error);
    if (cold_c == NULL)
        return KW_NO_MEMORY;
    turn_round(mixture, cold_c);
    /* Told as wholes: nobody wants a line for each pull of a rich session. */
    const struct kw_hot_options options = {&mixture->grid, cold_c,
                                           mixture->scatter_c, INFINITY, 1.0};
    const enum kw_status status = kw_find_hot_stretches(&options, out, error);
    if (status == KW_OK)
        keep_believed(mixture, out);
    free(cold_c);
    return status;
}

/* Where the session has no settled lift inside the stretch it cannot be
 * told, and counts as rich. */
bool kw_is_thinned(const struct kw_mixture *mixture,
                   const struct kw_hot_stretch *stretch)
{
    const struct kw_heat_grid *g = &mixture->grid;
    double sum_c = 0.0;
    double seconds = 0.0;
    for (size_t i = stretch->from; i < stretch->to; i++) {
        if (!kw_heat_cell_is_settled(g, i, false) ||
            isnan(mixture->excess_c[i]))
            continue;
        sum_c -= mixture->excess_c[i] * g->step_s[i];
        seconds += g->step_s[i];
    }
    const double last_s = g->time_s[g->n - 1];
    const bool stays =
        last_s - g->time_s[stretch->to - 1] < STAYS_S &&
        g->time_s[stretch->to - 1] - g->time_s[stretch->from] >= LEAK_S;
    return stays && stretch->excess_c >= LEAK_C && seconds > 0.0 &&
           sum_c / seconds >= THINNED_SHARE * stretch->excess_c;
}
