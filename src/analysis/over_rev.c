/* SPDX-License-Identifier: GPL-3.0-or-later */
/* RPM above the owner's own limit, told as that and judged no further: what it
 * did to the engine no log shows, and the limit may be meant for peace or for
 * an hour. A pickup that counts a spark twice must not look like it. */
#include "analysis/over_rev.h"

#include "analysis/scene.h"
#include "core/notices.h"
#include "core/text.h"

#include <math.h>

/* All common practice, no source. One reading may be odd; so may some of a
 * logger of 100 Hz. */
enum { FEWEST_READINGS = 2 };
static const double SHORTEST_S = 0.1;
/* A rev limiter plays about its RPM, and pickups count in steps. */
static const double MARGIN = 0.01;
/* A sensor that is slower than the logger repeats its reading; an engine that
 * holds its RPM to the bit for so long is held by something. */
static const double LONG_HELD_S = 0.5;
/* Readings this close together are of one movement, and the engine neither
 * gains nor loses a third in it: a doubled reading comes from half of it. */
static const double CLOSE_S = 0.25;
static const double LEAST_BESIDE = 0.7;
/* A drop-out is known to about this. */
static const double BESIDE_DROPOUT_S = 0.3;

/* Whether the reading beside a run is as far away as that of a doubled one.
 *
 * inside, outside  neighbours; outside may be beyond the log. */
static bool leaps(const struct kw_session *s, size_t inside, size_t outside)
{
    return outside < s->n_samples &&
           fabs(s->time_s[outside] - s->time_s[inside]) < CLOSE_S &&
           s->rpm[outside] < LEAST_BESIDE * s->rpm[inside];
}

/* The reading before `from`, beyond the log where there is none: missing ones
 * are no neighbours. */
static size_t known_before(const struct kw_session *s, size_t from)
{
    for (size_t i = from; i > 0; i--) {
        if (!isnan(s->rpm[i - 1]))
            return i - 1;
    }
    return s->n_samples;
}

static size_t known_from(const struct kw_session *s, size_t to)
{
    while (to < s->n_samples && isnan(s->rpm[to]))
        to++;
    return to;
}

static bool is_held(const struct kw_session *s, struct kw_span run)
{
    for (size_t i = run.from + 1; i < run.to; i++) {
        if (fabs(s->rpm[i] - s->rpm[run.from]) > 0.0)
            return false;
    }
    return true;
}

/* A signal that comes and goes doubles as well. */
static bool is_of_dropout(const struct kw_review *review, struct kw_span run)
{
    const double *time_s = review->session.time_s;
    for (size_t i = 0; i < review->events.n; i++) {
        const struct kw_event *event = &review->events.items[i];
        if (event->kind == KW_DROPOUT &&
            event->start_s - BESIDE_DROPOUT_S < time_s[run.to - 1] &&
            event->end_s + BESIDE_DROPOUT_S > time_s[run.from])
            return true;
    }
    return false;
}

static double highest_rpm(const struct kw_session *s, struct kw_span run)
{
    double highest = s->rpm[run.from];
    for (size_t i = run.from; i < run.to; i++)
        highest = fmax(highest, s->rpm[i]);
    return highest;
}

/* Is it the engine that went there, and not the signal? */
static bool is_of_engine(const struct kw_review *review, struct kw_span run)
{
    const struct kw_session *s = &review->session;
    const double lasted_s = (double)(run.to - run.from) / s->rate_hz;
    if (run.to - run.from < FEWEST_READINGS || lasted_s < SHORTEST_S)
        return false;
    if (is_held(s, run) && lasted_s < LONG_HELD_S)
        return false;
    return !leaps(s, run.from, known_before(s, run.from)) &&
           !leaps(s, run.to - 1, known_from(s, run.to)) &&
           !is_of_dropout(review, run);
}

static void add_run(struct kw_review *review, struct kw_span run)
{
    const struct kw_session *s = &review->session;
    struct kw_over_rev *out = &review->over_rev;
    out->times++;
    out->seconds += (double)(run.to - run.from) / s->rate_hz;
    for (size_t i = run.from; i < run.to; i++) {
        if (!(s->rpm[i] > out->highest_rpm))
            continue;
        out->highest_rpm = s->rpm[i];
        out->highest_s = s->time_s[i];
    }
}

static enum kw_status tell(struct kw_review *review,
                           double max_rpm,
                           struct kw_error *error)
{
    const struct kw_over_rev *over = &review->over_rev;
    const size_t lap = kw_lap_at(&review->laps, over->highest_s);
    struct kw_text text = {0};
    kw_text_add(&text, "RPM above the ");
    kw_text_add_whole(&text, max_rpm);
    kw_text_add(&text, " of the profile (max_rpm) ");
    if (over->times == 1)
        kw_text_add(&text, "once");
    else
        kw_text_addf(&text, "%zu times", over->times);
    kw_text_add(&text, ", for ");
    kw_text_add_number(&text, over->seconds, 1);
    kw_text_add(&text, over->times == 1 ? " s: up to " : " s in all: up to ");
    kw_text_add_whole(&text, over->highest_rpm);
    kw_text_add(&text, ", at ");
    kw_text_add_number(&text, over->highest_s, 1);
    kw_text_add(&text, " s");
    if (lap > 0)
        kw_text_addf(&text, ", lap %zu", lap);
    kw_text_add(&text, ". Fewer axle teeth rev lower; the maker's sheet says "
                       "what the engine stands");
    return kw_notices_tell(&review->session.notices, 0, &text, error);
}

enum kw_status kw_find_over_rev(struct kw_review *review,
                                const struct kw_profile *profile,
                                struct kw_error *error)
{
    const struct kw_session *s = &review->session;
    const double max_rpm = profile->max_rpm;
    review->over_rev = (struct kw_over_rev){.limit_rpm = max_rpm};
    /* NAN, where none is stated, is above nothing. */
    for (size_t from = 0; from < s->n_samples; from++) {
        size_t to = from;
        while (to < s->n_samples && s->rpm[to] > max_rpm)
            to++;
        const struct kw_span run = {from, to};
        if (to == from)
            continue;
        if (highest_rpm(s, run) > (1.0 + MARGIN) * max_rpm &&
            is_of_engine(review, run))
            add_run(review, run);
        from = to;
    }
    return review->over_rev.times > 0 ? tell(review, max_rpm, error) : KW_OK;
}
