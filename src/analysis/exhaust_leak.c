/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A leak at the header: fresh air reaches the probe, in puffs, so that EGT is
 * erratic under load on all laps, or steadily, so that it reads low.
 *
 * Air that comes in before the probe cools what it reads; it changes neither
 * RPM nor mixture. A rich mixture cools under load only, a leak at all times:
 * that is how they are told apart. */
#include "analysis/detectors.h"

#include "analysis/cold_stretch.h"
#include "core/array.h"
#include "core/robust.h"

#include <math.h>
#include <stdlib.h>

/* Gas that jumps about this much within a second of steady load is no flame:
 * healthy ones scatter by some 5 to 10 C (common practice, no source). */
static const double ERRATIC_C = 22.0;
/* Between the readings that are compared: a puff lasts about that long. */
static const double APART_S = 0.5;
/* On so many of the pulls. */
static const double LEAST_SHARE = 0.7;
enum { FEWEST_PULLS = 8, FEWEST_CELLS = 12 };
/* How sure: erratic, which a loose probe is too, and more with each pull; low
 * off the throttle as well as on it (common practice, no source). */
static const double SURE_BY_ERRATIC = 0.5;
static const double SURER_BY_SHARE = 0.4;
static const double SURE_BY_THINNED = 0.7;

/* Scatter of cells a moment apart about each other within one pull: a third
 * difference takes out level, slope and curve. NAN for a short pull. */
static double roughness_c(const struct kw_heat_grid *g,
                          size_t from,
                          size_t to,
                          double *scratch)
{
    /* Third differences of white noise scatter by sqrt(20): the root of the
     * squares of 1, 3, 3 and 1. */
    const double size = 4.472136;
    size_t n = 0;
    const double apart = fmax(1.0, floor(APART_S / g->step_s[from] + 0.5));
    const size_t k = (size_t)fmin(apart, 100.0);
    for (size_t i = from; i + 3 * k < to; i++) {
        const double third = g->gas_c[i + 3 * k] - 3.0 * g->gas_c[i + 2 * k] +
                             3.0 * g->gas_c[i + k] - g->gas_c[i];
        if (kw_heat_cell_is_settled(g, i, true) && !isnan(third))
            scratch[n++] = third;
    }
    return n >= FEWEST_CELLS ? kw_mad_sd(scratch, n, 0.0, scratch) / size : NAN;
}

/* What is said of a leak, and when it was. */
struct leak {
    double start_s;
    double end_s;
    double confidence;
    struct kw_text text;
};

/* A leak that stays is worth a spring and a gasket before the next race. */
static enum kw_status tell(struct leak *leak,
                           struct kw_events *found,
                           struct kw_error *error)
{
    const struct kw_event event = {
        .kind = KW_EXHAUST_LEAK,
        .start_s = leak->start_s,
        .end_s = leak->end_s,
        .severity = KW_BEFORE_NEXT_RACE,
        .confidence = leak->confidence,
    };
    return kw_events_tell(found, &event, &leak->text, error);
}

/* Erratic on most pulls. */
static enum kw_status find_erratic(const struct kw_scene *scene,
                                   const struct kw_heat_grid *g,
                                   double *scratch,
                                   struct kw_events *found,
                                   struct kw_error *error)
{
    size_t n = 0;
    size_t erratic = 0;
    for (size_t from = 0; from < g->n;) {
        size_t to = from + 1;
        while (to < g->n &&
               kw_under_load(g->load[to]) == kw_under_load(g->load[from]))
            to++;
        const double rough_c = roughness_c(g, from, to, scratch + g->n);
        if (kw_under_load(g->load[from]) && !isnan(rough_c)) {
            scratch[n++] = rough_c;
            erratic += rough_c > ERRATIC_C ? 1 : 0;
        }
        from = to;
    }
    const double share = n > 0 ? (double)erratic / (double)n : 0.0;
    if (n < FEWEST_PULLS || share < LEAST_SHARE)
        return KW_OK;
    const struct kw_session *session = scene->session;
    struct leak leak = {session->time_s[0],
                        session->time_s[session->n_samples - 1],
                        SURE_BY_ERRATIC +
                            SURER_BY_SHARE * (share - LEAST_SHARE),
                        {0}};
    kw_text_add(&leak.text, "Exhaust temperature jumps about by ");
    kw_text_add_number(&leak.text, kw_median(scratch, n, scratch), 0);
    kw_text_add(&leak.text, " C within a pull, on ");
    kw_text_add_number(&leak.text, 100.0 * share, 0);
    kw_text_add(&leak.text, " % of the pulls.");
    return tell(&leak, found, error);
}

/* Low from some moment on, off the throttle as well as on it. */
static enum kw_status find_thinned(const struct kw_scene *scene,
                                   const struct kw_mixture *m,
                                   struct kw_events *found,
                                   struct kw_error *error)
{
    const double *time_s = scene->session->time_s;
    struct kw_hot_stretches cold;
    enum kw_status status = kw_find_cold_stretches(m, &cold, error);
    for (size_t k = 0; status == KW_OK && k < cold.n; k++) {
        const struct kw_hot_stretch *stretch = &cold.items[k];
        if (!kw_is_thinned(m, stretch))
            continue;
        struct leak leak = {time_s[m->grid.first[stretch->from]],
                            time_s[m->grid.first[stretch->to] - 1],
                            SURE_BY_THINNED,
                            {0}};
        kw_text_add(&leak.text, "Exhaust temperature reads ");
        kw_text_add_number(&leak.text, stretch->excess_c, 0);
        kw_text_add(&leak.text,
                    " C low, off the throttle as well as on it, for ");
        kw_text_add_number(&leak.text, leak.end_s - leak.start_s, 0);
        kw_text_add(&leak.text, " s.");
        status = tell(&leak, found, error);
    }
    free(cold.items);
    return status;
}

/* Two faces of one fault, looked for apart: a small hole puffs, a large one
 * thins. */
enum kw_status kw_find_exhaust_leak(const struct kw_scene *scene,
                                    struct kw_events *found,
                                    struct kw_error *error)
{
    struct kw_mixture m;
    if (kw_mixture_new(scene, &m, error) != KW_OK)
        return KW_NO_MEMORY;
    double *scratch = kw_array_new(m.grid.n, 2 * sizeof *scratch, error);
    enum kw_status status = scratch != NULL ? KW_OK : KW_NO_MEMORY;
    if (status == KW_OK)
        status = find_erratic(scene, &m.grid, scratch, found, error);
    if (status == KW_OK)
        status = find_thinned(scene, &m, found, error);
    free(scratch);
    kw_mixture_free(&m);
    return status;
}
