/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Too lean: stretches of load in which the exhaust is hotter than this engine
 * gives when its mixture is right. Known from the rest of the session, from a
 * reference session, or from the owner's own limit, in that order; a stretch is
 * told once. */
#include "analysis/detectors.h"

#include "analysis/hot_stretch.h"
#include "analysis/limit_stretch.h"
#include "analysis/mixture.h"
#include "analysis/pull_heat.h"
#include "analysis/reference_heat.h"

#include <math.h>
#include <stdlib.h>

/* A probe shows the peak this many of its time constants after the gas. */
static const double PEAK_LAGS = 2.0;
static const double PEAK_LAG_UNKNOWN_S = 2.0;
/* A lift this long parts two hot stretches. */
static const double SPLIT_LIFT_S = 2.2;
/* Where the mixture is known to have changed, hot stretches are likely before
 * they are looked at: part of the price of each (common practice, no source).
 */
static const double CHANGED_SHARE = 0.8;
/* A kart that stood: idling or slipping its clutch, below this share of the top
 * RPM, for so long, within so long before the pull. Alone: nothing else is hot
 * for so long before and after. Common practice, no source. */
static const double IDLES_OR_SLIPS_SHARE = 0.4;
static const double STOOD_S = 3.0;
static const double STOOD_WITHIN_S = 12.0;
static const double ALONE_S = 60.0;
/* What is hotter by so much is told all the same. */
static const double PROVES_ITSELF_C = 45.0;
/* 8 % lean at 10 C for each percent (common practice, no source): see to it
 * before the engine runs again. */
static const double DANGEROUS_C = 80.0;
/* Past the hottest mixture it cools again; 20 % at 10 C for each percent
 * (common practice, no source) is more than any engine survives. */
static const double BEYOND_MIXTURE_C = 200.0;
/* The reading itself has to be over the limit: for a moment, then it was passed
 * (two readings at 10 Hz; one may be noise), and for this long, then the metal
 * felt it (common practice, no source). */
static const double LEAST_OVER_S = 0.2;
static const double LONG_OVER_S = 0.8;
/* A limit that is passed for a moment is passed by a little. This far above
 * what was expected there, and this briefly, it was one odd reading and the
 * lines that join it to its neighbours, up to a second away on slow loggers
 * (common practice, no source). */
static const double ODD_C = 60.0;
static const double ODD_S = 2.0;
/* This hot and this short is worth no evening yet. */
static const double SLIGHT_C = 25.0;
static const double SLIGHT_S = 4.0;
/* Degrees times seconds that make a stretch dangerous by itself: 40 C for half
 * a minute. */
static const double DANGEROUS_C_S = 1200.0;

/* What the stretches of one kind are made into events with. */
struct teller {
    const struct kw_scene *scene;
    const struct kw_mixture *mixture;
    enum kw_basis basis;
    struct kw_events *found;
};

/* What the probe showed of a stretch, and for how long it was over the limit.
 */
struct reading {
    double peak_c;
    double over_s;
};

/* The peak comes after the gas by the lag of the probe: the search goes on
 * for two time constants after the stretch. */
static struct reading read_probe(const struct kw_session *session,
                                 size_t from,
                                 double end_s,
                                 double limit_c)
{
    const double lag_s = isnan(session->probe_lag_s)
                             ? PEAK_LAG_UNKNOWN_S
                             : PEAK_LAGS * session->probe_lag_s;
    struct reading reading = {NAN, 0.0};
    for (size_t i = from;
         i < session->n_samples && session->time_s[i] <= end_s + lag_s; i++) {
        reading.peak_c = fmax(reading.peak_c, session->egt_c[i]);
        if (session->egt_c[i] > limit_c)
            reading.over_s += 1.0 / session->rate_hz;
    }
    return reading;
}

/* Pistons are lost to heat times time. The advice counts repeats; here one
 * stretch is judged by itself. */
static enum kw_urgency urgency_of(const struct kw_hot_stretch *stretch,
                                  const struct reading *reading)
{
    if (reading->over_s >= LONG_OVER_S || stretch->excess_c >= DANGEROUS_C ||
        stretch->excess_c * stretch->loaded_s >= DANGEROUS_C_S)
        return KW_BEFORE_NEXT_RUN;
    if (stretch->excess_c < SLIGHT_C && stretch->loaded_s < SLIGHT_S)
        return KW_WATCH;
    return KW_BEFORE_NEXT_RACE;
}

/* Strength in units of what was asked for; the curve was set on simulated
 * sessions so that nine in ten of those given 0.9 are right. One that just
 * passes is given 0.65; no log is surer than 0.99. */
static double confidence_of(const struct kw_hot_stretch *stretch)
{
    const double strength =
        fmin(stretch->surprise - 3.0, (stretch->evidence - 12.0) / 4.0);
    return fmin(0.99, 1.0 - 0.35 * exp(-fmax(strength, 0.0) / 1.5));
}

/* A number means nothing without what it was compared with. */
static const char *comparison_of(const struct teller *teller)
{
    if (teller->basis == KW_BASIS_REFERENCE)
        return " C hotter than in the reference session at this RPM and load";
    if (teller->basis == KW_BASIS_LIMIT)
        return " C above the limit in the profile";
    return teller->scene->laps != NULL && teller->scene->laps->n > 0
               ? " C hotter than on the other laps at the same place"
               : " C hotter than in the rest of the session at this RPM";
}

/* One sentence that a tired beginner can check against the plot. */
static void add_evidence(struct kw_text *text,
                         const struct teller *teller,
                         const struct kw_hot_stretch *stretch,
                         double rpm)
{
    kw_text_add(text, "Exhaust ");
    kw_text_add_number(text, stretch->excess_c, 0);
    kw_text_add(text, comparison_of(teller));
    kw_text_add(text, ", for ");
    kw_text_add_number(text, stretch->loaded_s, 1);
    kw_text_add(text, " s of pulling around ");
    kw_add_rpm(text, rpm);
    kw_text_add(text, ".");
    /* What was done on purpose is looked at before what may be broken. */
    if (teller->basis == KW_BASIS_REFERENCE &&
        teller->scene->since_reference != NULL) {
        kw_text_add(text, " Since that session ");
        kw_text_add_visible(text, teller->scene->since_reference);
        kw_text_add(text, ", which alone may be the difference.");
    }
}

/* Mean of the gas above what was expected; NAN where nothing was. */
static double mean_excess_c(const struct kw_scene *scene,
                            const struct kw_mixture *mixture,
                            const struct kw_hot_stretch *stretch)
{
    double sum_c = 0.0;
    double n = 0.0;
    for (size_t i = stretch->from; i < stretch->to; i++) {
        const double excess_c =
            mixture->grid.gas_c[i] - scene->expected_c[mixture->grid.first[i]];
        if (!isnan(excess_c)) {
            sum_c += excess_c;
            n += 1.0;
        }
    }
    return n > 0.0 ? sum_c / n : NAN;
}

/* The owner's limit is for what the probe reads. */
static bool is_passed(const struct teller *teller,
                      const struct kw_hot_stretch *stretch,
                      const struct reading *reading)
{
    if (reading->over_s < LEAST_OVER_S)
        return false;
    return reading->over_s >= ODD_S ||
           !(mean_excess_c(teller->scene, teller->mixture, stretch) > ODD_C);
}

/* Heat that belongs to a fuel restriction is told as one (contract), though RPM
 * did not show it. By judgement less sure than a sag that was seen. */
static const double HUNGRY_CONFIDENCE = 0.75;

static enum kw_status tell_hunger(const struct teller *teller,
                                  size_t from,
                                  size_t to,
                                  struct kw_error *error)
{
    const struct kw_scene *scene = teller->scene;
    const double *time_s = scene->session->time_s;
    const size_t pull = kw_pull_begin(scene, from);
    struct kw_text text = {0};
    kw_text_add(&text, "The exhaust turned ");
    kw_text_add_whole(&text, kw_mean_excess_c(scene, from, to));
    kw_text_add(&text, " C hotter than expected ");
    kw_text_add_number(&text, time_s[from] - time_s[pull], 1);
    kw_text_add(&text, " s into a pull that began as usual, in a session in "
                       "which other pulls were short of fuel.");
    struct kw_event event = {
        .kind = KW_DROPOUT,
        .start_s = time_s[from],
        .end_s = time_s[to],
        .lap = kw_lap_at(scene->laps, time_s[from]),
        .severity = KW_BEFORE_NEXT_RACE,
        .confidence = HUNGRY_CONFIDENCE,
        .detail.dropout = {.depth_rpm = NAN,
                           .cause = KW_CAUSE_FUEL_RESTRICTION},
    };
    return kw_events_tell(teller->found, &event, &text, error);
}

/* Times are those of the gas, the peak is that of the reading: the contract
 * wants both as they are. */
static enum kw_status tell(const struct teller *teller,
                           const struct kw_hot_stretch *stretch,
                           struct kw_error *error)
{
    const struct kw_scene *scene = teller->scene;
    const struct kw_session *session = scene->session;
    const size_t *first = teller->mixture->grid.first;
    const size_t last = session->n_samples - 1;
    const size_t end = first[stretch->to] > last ? last : first[stretch->to];
    const double start_s = session->time_s[first[stretch->from]];
    const double end_s = session->time_s[end];
    const double rpm =
        kw_mixture_rpm(teller->mixture, stretch->from, stretch->to);
    const struct reading reading = read_probe(
        session, first[stretch->from], end_s, scene->profile->egt_limit_c);
    const double peak_c = reading.peak_c;
    if (teller->basis == KW_BASIS_LIMIT &&
        (!is_passed(teller, stretch, &reading) ||
         kw_heat_is_explained(scene->events, start_s, end_s)))
        return KW_OK;
    if (teller->basis != KW_BASIS_REFERENCE &&
        kw_is_heat_of_hunger(scene, first[stretch->from], end))
        return tell_hunger(teller, first[stretch->from], end, error);
    struct kw_text text = {0};
    add_evidence(&text, teller, stretch, rpm);
    const struct kw_event event = {
        .kind = KW_LEAN,
        .start_s = start_s,
        .end_s = end_s,
        .lap = kw_lap_at(scene->laps, start_s),
        .severity = urgency_of(stretch, &reading),
        .confidence = confidence_of(stretch),
        .detail.lean = {.peak_egt_c = peak_c,
                        .excess_c = stretch->excess_c,
                        .region = kw_mixture_region(teller->mixture, rpm),
                        .basis = teller->basis},
    };
    return kw_events_tell(teller->found, &event, &text, error);
}

/* Seen against the session, a reference and a limit, one stretch is still
 * one. */
static bool is_told(const struct teller *teller,
                    const struct kw_hot_stretch *stretch)
{
    const struct kw_heat_grid *g = &teller->mixture->grid;
    for (size_t e = 0; e < teller->found->n; e++) {
        const struct kw_event *event = &teller->found->items[e];
        if (event->start_s < g->time_s[stretch->to - 1] &&
            event->end_s > g->time_s[stretch->from])
            return true;
    }
    return false;
}

/* In the order of the cells, so the events come out by start. */
static enum kw_status tell_all(const struct teller *teller,
                               const struct kw_hot_stretches *stretches,
                               struct kw_error *error)
{
    enum kw_status status = KW_OK;
    for (size_t k = 0; status == KW_OK && k < stretches->n; k++) {
        if (!is_told(teller, &stretches->items[k]) &&
            !(mean_excess_c(teller->scene, teller->mixture,
                            &stretches->items[k]) > BEYOND_MIXTURE_C))
            status = tell(teller, &stretches->items[k], error);
    }
    return status;
}

/* The pull that a stretch lies in began at a stand. */
static bool is_launch(const struct kw_mixture *m,
                      const struct kw_hot_stretch *stretch)
{
    const struct kw_heat_grid *g = &m->grid;
    size_t i = stretch->from;
    while (i > 0 && kw_under_load(g->load[i - 1]))
        i--;
    const double began_s = g->time_s[i];
    double slow_s = 0.0;
    for (; i > 0 && began_s - g->time_s[i] < STOOD_WITHIN_S; i--)
        slow_s +=
            g->rpm[i] < IDLES_OR_SLIPS_SHARE * m->high_rpm ? g->step_s[i] : 0.0;
    return slow_s >= STOOD_S;
}

/* From the clutch to the top end in one a pull is like no other of the session,
 * and what is right in it is not known: one that is a little hot alone is not
 * told. */
static void drop_lone_launches(const struct kw_mixture *m,
                               struct kw_hot_stretches *stretches)
{
    const double *time_s = m->grid.time_s;
    size_t kept = 0;
    double last_s = -INFINITY;
    for (size_t k = 0; k < stretches->n; k++) {
        const struct kw_hot_stretch stretch = stretches->items[k];
        const double next_s = k + 1 < stretches->n
                                  ? time_s[stretches->items[k + 1].from]
                                  : INFINITY;
        const bool alone = time_s[stretch.from] - last_s > ALONE_S &&
                           next_s - time_s[stretch.to - 1] > ALONE_S;
        last_s = time_s[stretch.to - 1];
        if (!alone || stretch.excess_c >= PROVES_ITSELF_C ||
            !is_launch(m, &stretch))
            stretches->items[kept++] = stretch;
    }
    stretches->n = kept;
}

/* The best witness: same day, same air, same fuel, same probe. */
static enum kw_status by_session(struct teller *teller, struct kw_error *error)
{
    const struct kw_mixture *m = teller->mixture;
    const struct kw_hot_options options = {
        &m->grid, m->excess_c, m->scatter_c, SPLIT_LIFT_S,
        teller->scene->changed ? CHANGED_SHARE : 1.0};
    struct kw_hot_stretches stretches;
    teller->basis = KW_BASIS_SESSION;
    enum kw_status status = kw_find_hot_stretches(&options, &stretches, error);
    if (status == KW_OK) {
        drop_lone_launches(m, &stretches);
        status = tell_all(teller, &stretches, error);
    }
    free(stretches.items);
    return status;
}

/* Shows what no session can show of itself: that all of it is lean. */
static enum kw_status by_reference(struct teller *teller,
                                   struct kw_error *error)
{
    const struct kw_heat_grid *g = &teller->mixture->grid;
    if (teller->scene->reference == NULL)
        return KW_OK;
    double *excess_c = NULL;
    double scatter_c = NAN;
    enum kw_status status = kw_compare_with_reference(
        teller->scene, g, &excess_c, &scatter_c, error);
    if (status != KW_OK || excess_c == NULL)
        return status;
    const struct kw_hot_options options = {g, excess_c, scatter_c, SPLIT_LIFT_S,
                                           1.0};
    struct kw_hot_stretches stretches;
    teller->basis = KW_BASIS_REFERENCE;
    status = kw_find_hot_stretches(&options, &stretches, error);
    if (status == KW_OK)
        status = tell_all(teller, &stretches, error);
    free(stretches.items);
    free(excess_c);
    return status;
}

/* The owner knows the probe and the engine; what passes the limit is told
 * whatever the statistics say. */
static enum kw_status by_limit(struct teller *teller, struct kw_error *error)
{
    struct kw_hot_stretches stretches;
    teller->basis = KW_BASIS_LIMIT;
    enum kw_status status = kw_find_limit_stretches(
        &teller->mixture->grid, teller->scene->profile->egt_limit_c, &stretches,
        error);
    if (status == KW_OK)
        status = tell_all(teller, &stretches, error);
    free(stretches.items);
    return status;
}

/* Last in the table of detectors but for those that need it: what a fuel
 * restriction or a dead probe explains is masked before anything is
 * compared. */
enum kw_status kw_find_lean(const struct kw_scene *scene,
                            struct kw_events *found,
                            struct kw_error *error)
{
    struct kw_mixture mixture;
    if (kw_mixture_new(scene, &mixture, error) != KW_OK)
        return KW_NO_MEMORY;
    struct teller teller = {
        .scene = scene, .mixture = &mixture, .found = found};
    enum kw_status status = KW_OK;
    if (mixture.grid.n > 0 && !isnan(mixture.scatter_c))
        status = by_session(&teller, error);
    if (mixture.grid.n > 0 && status == KW_OK)
        status = by_reference(&teller, error);
    if (mixture.grid.n > 0 && status == KW_OK)
        status = by_limit(&teller, error);
    kw_mixture_free(&mixture);
    return status;
}
