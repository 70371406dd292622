/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Too rich: stretches of load in which the exhaust stays colder than this
 * engine gives there, though it revs as usual.
 *
 * A rich mixture burns cooler, for the fuel that does not burn takes heat
 * along. So does half throttle: where RPM stays behind as well, the driver
 * lifted and nothing is said. */
#include "analysis/detectors.h"

#include "analysis/cold_stretch.h"

#include <math.h>
#include <stdlib.h>

/* Colder by this much is a wet plug soon. */
static const double STRONG_COLD_C = 60.0;
/* Where confidence begins, in standard deviations of healthy pulls; it
 * begins at little more than a half and ends short of that of heat, for cold
 * has more harmless reasons (common practice, no source). */
static const double SURE_SURPRISE = 3.5;

/* Held for more than this share of the session's pulling, it may be the rest
 * that was wrong. */
static const double MUCH_SHARE = 0.3;

/* What the engine went out with is not colder than it should be: it may be
 * right, and all that follows too lean. So much pulling before it, with the
 * pipe warm, has to show another level (common practice, no source). */
static const double LEAST_BEFORE_S = 15.0;

/* Seconds of pulling before cell `to` that could be compared, once the engine
 * had worked for so long. */
static double compared_s(const struct kw_mixture *m, double worked_s, size_t to)
{
    double seconds = 0.0;
    for (size_t i = 0; i < to; i++) {
        if (kw_heat_cell_is_settled(&m->grid, i, true) &&
            !isnan(m->excess_c[i]) && m->grid.worked_s[i] > worked_s)
            seconds += m->grid.step_s[i];
    }
    return seconds;
}

/* Whether the warm engine showed another level before the stretch. */
static bool has_a_before(const struct kw_mixture *m,
                         const struct kw_hot_stretch *stretch)
{
    return compared_s(m, KW_COLD_PIPE_S, stretch->from) >= LEAST_BEFORE_S;
}

/* One sentence to check against the plot, and what it cannot know: a log shows
 * that two levels differ, and who goes leaner on the wrong one loses a
 * piston. */
static void add_evidence(struct kw_text *text,
                         const struct kw_mixture *m,
                         const struct kw_hot_stretch *stretch)
{
    kw_text_add(text, "Exhaust ");
    kw_text_add_number(text, stretch->excess_c, 0);
    kw_text_add(text, " C colder than in the rest of the session at the same "
                      "RPM and load, for ");
    kw_text_add_number(text, stretch->loaded_s, 1);
    kw_text_add(text, " s of pulling around ");
    kw_add_rpm(text, kw_mixture_rpm(m, stretch->from, stretch->to));
    kw_text_add(text, ".");
    if (stretch->loaded_s > MUCH_SHARE * compared_s(m, 0.0, m->grid.n))
        kw_text_add(text, " With a pale plug it is the other way round: this "
                          "part was right and the hotter one too lean.");
}

/* Rich is slow and dirty, not dangerous: it never asks for more than a look
 * before the next race. */
static enum kw_status tell(const struct kw_scene *scene,
                           const struct kw_mixture *m,
                           const struct kw_hot_stretch *stretch,
                           struct kw_events *found,
                           struct kw_error *error)
{
    const struct kw_session *session = scene->session;
    const size_t end = m->grid.first[stretch->to];
    struct kw_text text = {0};
    add_evidence(&text, m, stretch);
    const double start_s = session->time_s[m->grid.first[stretch->from]];
    const double strength = stretch->surprise - SURE_SURPRISE;
    const struct kw_event event = {
        .kind = KW_RICH,
        .start_s = start_s,
        .end_s = session->time_s[end < session->n_samples ? end : end - 1],
        .lap = kw_lap_at(scene->laps, start_s),
        .severity =
            stretch->excess_c >= STRONG_COLD_C ? KW_BEFORE_NEXT_RACE : KW_WATCH,
        .confidence = fmin(0.95, 1.0 - 0.45 * exp(-strength / 2.0)),
    };
    return kw_events_tell(found, &event, &text, error);
}

/* What a leak explains better is left to exhaust_leak.c, which asks the same
 * question and takes the other answer. */
enum kw_status kw_find_rich(const struct kw_scene *scene,
                            struct kw_events *found,
                            struct kw_error *error)
{
    struct kw_mixture m;
    struct kw_hot_stretches cold = {0};
    if (kw_mixture_new(scene, &m, error) != KW_OK)
        return KW_NO_MEMORY;
    enum kw_status status = kw_find_cold_stretches(&m, &cold, error);
    for (size_t k = 0; status == KW_OK && k < cold.n; k++) {
        if (!kw_is_thinned(&m, &cold.items[k]) &&
            has_a_before(&m, &cold.items[k]))
            status = tell(scene, &m, &cold.items[k], found, error);
    }
    free(cold.items);
    kw_mixture_free(&m);
    return status;
}
