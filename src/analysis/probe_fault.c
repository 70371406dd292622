/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The EGT probe itself: readings that were there and had to be set aside while
 * the engine ran. Blank fields are no fault: many loggers write EGT less often
 * than RPM. */
#include "analysis/detectors.h"

#include "core/text.h"

#include <math.h>

/* Set aside for this long: open or stuck. Shorter is a spike, or two of them in
 * a row of the slowest converter, which reads once a second (common practice,
 * no source). */
static const double STRETCH_S = 2.2;
/* Stretches with less than this between them are one. */
static const double BRIDGE_S = 10.0;
/* So many spikes, and so many each minute, make a chafed wire: an ignition
 * gives every logger a few. */
enum { FEWEST_SPIKES = 20 };
static const double SPIKES_EACH_MINUTE = 4.0;
/* How sure: a reading that no exhaust gives is hardly anything else; spikes may
 * come from the ignition (common practice, no source). */
static const double SURE_BY_STRETCH = 0.9;
static const double SURE_BY_SPIKES = 0.8;

/* A sound exhaust in F, 1,000 to 1,250, taken as C: what is set aside lies
 * between the hottest C that is believed and the hottest sound F (800 C), and
 * sound readings lead up to it, which full scale of an open probe has not.
 * Common practice, no source. */
static const double HOTTEST_BELIEVED_C = 1100.0;
static const double HOTTEST_SOUND_F = 1472.0;
static const double LEADS_UP_C = 1050.0;

/* The cleaning says what cannot be trusted; here it is only told. */
static bool is_set_aside(const struct kw_session *s, size_t i)
{
    return !isnan(s->egt_raw_c[i]) && (s->egt_c == NULL || isnan(s->egt_c[i]));
}

/* A field that was never filled. */
static bool is_blank(const struct kw_session *s, size_t i)
{
    return isnan(s->egt_raw_c[i]);
}

/* Does all that was set aside in the session look like F under a heading that
 * says C? */
static bool may_be_fahrenheit(const struct kw_session *s)
{
    double highest_kept_c = NAN;
    for (size_t i = 0; i < s->n_samples; i++) {
        if (!is_set_aside(s, i)) {
            highest_kept_c = fmax(highest_kept_c, s->egt_raw_c[i]);
            continue;
        }
        if (s->egt_raw_c[i] <= HOTTEST_BELIEVED_C ||
            s->egt_raw_c[i] > HOTTEST_SOUND_F)
            return false;
    }
    return highest_kept_c > LEADS_UP_C;
}

struct spikes {
    size_t n;
    double first_s;
    double last_s;
};

/* All faults of the probe are told alike, with what was seen and when. */
static enum kw_status tell(const struct kw_scene *scene,
                           const struct kw_event *what,
                           struct kw_text *text,
                           struct kw_events *found,
                           struct kw_error *error)
{
    struct kw_event event = *what;
    event.kind = KW_PROBE_FAULT;
    event.lap = kw_lap_at(scene->laps, event.start_s);
    return kw_events_tell(found, &event, text, error);
}

/* An open circuit reads full scale, a broken lead holds its last value: no
 * mixture can be judged meanwhile. */
static enum kw_status tell_stretch(const struct kw_scene *scene,
                                   double start_s,
                                   double end_s,
                                   struct kw_events *found,
                                   struct kw_error *error)
{
    struct kw_text text = {0};
    const bool in_f = may_be_fahrenheit(scene->session);
    kw_text_add(&text, "EGT reads what no exhaust gives ");
    kw_text_add(&text, in_f ? "in C for " : "(open or stuck probe) for ");
    kw_text_add_number(&text, end_s - start_s, 1);
    kw_text_add(&text, " s.");
    if (in_f)
        kw_text_add(&text, " In F it would be a sound exhaust. First see which "
                           "unit the logger is set to: if it is F, write F in "
                           "the heading and review again; then the probe may "
                           "be well.");
    const struct kw_event event = {.start_s = start_s,
                                   .end_s = end_s,
                                   .severity = KW_BEFORE_NEXT_RACE,
                                   .confidence = SURE_BY_STRETCH};
    return tell(scene, &event, &text, found, error);
}

/* Spikes are told once for the session: where each was helps nobody. */
static enum kw_status tell_spikes(const struct kw_scene *scene,
                                  const struct spikes *spikes,
                                  struct kw_events *found,
                                  struct kw_error *error)
{
    const double minutes = scene->running->seconds / 60.0;
    if (spikes->n < FEWEST_SPIKES ||
        !((double)spikes->n >= SPIKES_EACH_MINUTE * minutes))
        return KW_OK;
    struct kw_text text = {0};
    kw_text_addf(&text,
                 "EGT jumped away and back %zu times faster than a "
                 "probe can follow.",
                 spikes->n);
    const struct kw_event event = {.start_s = spikes->first_s,
                                   .end_s = spikes->last_s,
                                   .severity = KW_WATCH,
                                   .confidence = SURE_BY_SPIKES};
    return tell(scene, &event, &text, found, error);
}

/* The end of the stretch that begins at `from`; short good pieces in it are
 * bridged. */
static size_t stretch_end(const struct kw_session *s, size_t from, size_t stop)
{
    size_t to = from + 1;
    for (size_t i = from + 1; i < stop; i++) {
        if (is_set_aside(s, i))
            to = i + 1;
        else if (!is_blank(s, i) && s->time_s[i] - s->time_s[to] > BRIDGE_S)
            break;
    }
    return to;
}

/* The end of the readings set aside with no good one between them. */
static size_t run_end(const struct kw_session *s, size_t from, size_t stop)
{
    size_t to = from + 1;
    for (size_t i = from + 1; i < stop; i++) {
        if (is_set_aside(s, i))
            to = i + 1;
        else if (!is_blank(s, i))
            break;
    }
    return to;
}

/* Only while the engine runs: what a probe reads in the paddock is no fault. */
static enum kw_status look_at_run(const struct kw_scene *scene,
                                  const struct kw_span *run,
                                  struct spikes *spikes,
                                  struct kw_events *found,
                                  struct kw_error *error)
{
    const struct kw_session *s = scene->session;
    enum kw_status status = KW_OK;
    for (size_t i = run->from; status == KW_OK && i < run->to;) {
        if (!is_set_aside(s, i)) {
            i++;
            continue;
        }
        size_t to = run_end(s, i, run->to);
        const double start_s = s->time_s[i];
        if (s->time_s[to - 1] - start_s >= STRETCH_S) {
            to = stretch_end(s, i, run->to);
            status =
                tell_stretch(scene, start_s, s->time_s[to - 1], found, error);
        } else {
            spikes->first_s = spikes->n == 0 ? start_s : spikes->first_s;
            spikes->last_s = s->time_s[to - 1];
            spikes->n++;
        }
        i = to;
    }
    return status;
}

/* Works on a log whose EGT is all dead too: then egt_c is NULL and every
 * reading was set aside. */
enum kw_status kw_find_probe_faults(const struct kw_scene *scene,
                                    struct kw_events *found,
                                    struct kw_error *error)
{
    struct spikes spikes = {0};
    if (scene->session->egt_raw_c == NULL)
        return KW_OK;
    enum kw_status status = KW_OK;
    for (size_t r = 0; status == KW_OK && r < scene->running->spans.n; r++)
        status = look_at_run(scene, &scene->running->spans.items[r], &spikes,
                             found, error);
    if (status == KW_OK)
        status = tell_spikes(scene, &spikes, found, error);
    return status;
}
