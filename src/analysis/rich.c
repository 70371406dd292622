/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Too rich: stretches of load in which the exhaust stays colder than this
 * engine gives there. The mirror of too lean, with more patience, because much
 * else cools an exhaust: half throttle in traffic, a cold pipe, a yellow flag.
 */
#include "analysis/detectors.h"

#include "analysis/hot_stretch.h"
#include "analysis/mixture.h"
#include "analysis/reference_heat.h"
#include "core/array.h"

#include <math.h>
#include <stdlib.h>

/* The pipe is cold for this long after the engine first works. */
static const double WARM_UP_S = 100.0;
/* Colder by this much, for so long: degrees times seconds under load. */
static const double LEAST_COLD_C = 33.0;
static const double LEAST_COLD_C_S = 650.0;
static const double LEAST_SURPRISE = 3.5;
/* A rich engine still revs; a driver who holds back does not let it. */
static const double REVS_SHARE = 0.93;
/* Colder by this much is a wet plug soon. */
static const double STRONG_COLD_C = 60.0;

/* Colder than expected counts as positive; the cold pipe is left out. */
static void turn_round(const struct kw_mixture *m, double *cold_c)
{
    for (size_t i = 0; i < m->grid.n; i++)
        cold_c[i] = m->grid.worked_s[i] > WARM_UP_S ? -m->excess_c[i] : NAN;
}

static enum kw_status tell(const struct kw_scene *scene,
                           const struct kw_mixture *m,
                           const struct kw_hot_stretch *stretch,
                           struct kw_events *found,
                           struct kw_error *error)
{
    const struct kw_session *session = scene->session;
    const size_t end = m->grid.first[stretch->to];
    const double rpm = kw_mixture_rpm(m, stretch->from, stretch->to);
    struct kw_text text = {0};
    kw_text_add(&text, "Exhaust ");
    kw_text_add_number(&text, stretch->excess_c, 0);
    kw_text_add(&text, " C colder than in the rest of the session at the same "
                       "RPM and load, for ");
    kw_text_add_number(&text, stretch->loaded_s, 1);
    kw_text_add(&text, " s of pulling around ");
    kw_add_rpm(&text, rpm);
    kw_text_add(&text, ".");
    char *evidence = kw_text_take(&text, error);
    if (evidence == NULL)
        return KW_NO_MEMORY;
    const double start_s = session->time_s[m->grid.first[stretch->from]];
    const double strength = stretch->surprise - LEAST_SURPRISE;
    const struct kw_event event = {
        .kind = KW_RICH,
        .start_s = start_s,
        .end_s = session->time_s[end < session->n_samples ? end : end - 1],
        .lap = scene->laps != NULL ? kw_lap_at(scene->laps, start_s) : 0,
        .severity =
            stretch->excess_c >= STRONG_COLD_C ? KW_BEFORE_NEXT_RACE : KW_WATCH,
        .confidence = fmin(0.95, 1.0 - 0.45 * exp(-strength / 2.0)),
        .evidence = evidence,
    };
    const enum kw_status status = kw_events_add(found, &event, error);
    free(evidence);
    return status;
}

static double top_rpm(const struct kw_heat_grid *g,
                      const struct kw_hot_stretch *stretch)
{
    double top = 0.0;
    for (size_t i = stretch->from; i < stretch->to; i++)
        top = fmax(top, g->rpm[i]);
    return top;
}

static bool is_believed(const struct kw_mixture *m,
                        const struct kw_hot_stretch *stretch)
{
    return stretch->excess_c >= LEAST_COLD_C &&
           stretch->excess_c * stretch->loaded_s >= LEAST_COLD_C_S &&
           stretch->surprise >= LEAST_SURPRISE &&
           top_rpm(&m->grid, stretch) >= REVS_SHARE * m->high_rpm;
}

static enum kw_status tell_all(const struct kw_scene *scene,
                               const struct kw_mixture *m,
                               const struct kw_hot_stretches *stretches,
                               struct kw_events *found,
                               struct kw_error *error)
{
    enum kw_status status = KW_OK;
    for (size_t k = 0; status == KW_OK && k < stretches->n; k++) {
        if (is_believed(m, &stretches->items[k]))
            status = tell(scene, m, &stretches->items[k], found, error);
    }
    return status;
}

enum kw_status kw_find_rich(const struct kw_scene *scene,
                            struct kw_events *found,
                            struct kw_error *error)
{
    struct kw_mixture m;
    if (kw_mixture_new(scene, &m, error) != KW_OK)
        return KW_NO_MEMORY;
    double *cold_c = kw_array_new_nan(m.grid.n, error);
    struct kw_hot_stretches stretches = {0};
    enum kw_status status = cold_c != NULL ? KW_OK : KW_NO_MEMORY;
    if (status == KW_OK && m.grid.n > 0 && !isnan(m.scatter_c)) {
        turn_round(&m, cold_c);
        const struct kw_hot_options options = {&m.grid, cold_c, m.scatter_c,
                                               INFINITY};
        status = kw_find_hot_stretches(&options, &stretches, error);
    }
    if (status == KW_OK)
        status = tell_all(scene, &m, &stretches, found, error);
    free(stretches.items);
    free(cold_c);
    kw_mixture_free(&m);
    return status;
}
