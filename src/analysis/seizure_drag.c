/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A driver who lifts lets the gas cool at once. Where RPM falls for seconds and
 * the gas stays hot, something holds the engine: a piston that picks up, or a
 * want of fuel, which comes back pull after pull and is over with a lift. */
#include "analysis/seizure_drag.h"

#include "analysis/gas_depth.h"
#include "core/array.h"
#include "signal/slope.h"

#include <math.h>
#include <stdlib.h>

/* Long beside what bumps do to RPM, short beside a fall. Common practice, no
 * source. */
static const double RPM_S = 0.5;

/* RPM falls until they rise by this share of the top end (common practice, no
 * source). */
static const double RISES = 0.02;

/* By so much of the top end while the gas is hot, and for so long: a headwind
 * or a long bend at full throttle takes less. Common practice, no source. */
static const double FALL = 0.2;
static const double LASTS_S = 2.0;
/* And by no more each second: what falls faster was braked. Common practice, no
 * source. */
static const double MOST_EACH_S = 0.14;

/* What falls in the last moments of it may be the lift already, for the lag is
 * not known to the tenth. Common practice, no source. */
static const double LATE_S = 0.6;

/* RPM that are missing for longer may have fallen at once (common practice, no
 * source). */
static const double HOLE_S = 0.6;

/* Hot: the depth of the gas, so near to that under load (see
 * kw_find_gas_depth()). Common practice, no source. */
static const double HOT = -0.6;

/* Above this share of where it fell from it works again, and until then the log
 * has to go on for so long. Common practice, no source. */
static const double WORKS_AGAIN = 0.7;
static const double GOES_ON_S = 5.0;

/* The fall that begins at a sample. */
static struct kw_drag measure(const struct kw_scene *scene,
                              const double *rpm,
                              const double *depth,
                              double top_rpm,
                              size_t from)
{
    const struct kw_session *session = scene->session;
    struct kw_drag drag = {{from, from}, rpm[from], rpm[from], -INFINITY};
    double lowest_rpm = rpm[from];
    for (size_t i = from; i < session->n_samples; i++) {
        if (isnan(rpm[i]))
            continue;
        if (!(depth[i] < HOT) || rpm[i] > lowest_rpm + RISES * top_rpm ||
            session->time_s[i] - session->time_s[drag.span.to] > HOLE_S)
            break;
        lowest_rpm = fmin(lowest_rpm, rpm[i]);
        drag.gas_c = fmax(drag.gas_c, session->gas_c[i]);
        drag.span.to = i;
    }
    drag.span.to = kw_sample_before(session, drag.span.to, LATE_S);
    drag.to_rpm = rpm[drag.span.to];
    return drag;
}

static bool is_drag(const struct kw_session *session,
                    const struct kw_drag *drag,
                    double top_rpm)
{
    const double for_s =
        session->time_s[drag->span.to] - session->time_s[drag->span.from];
    const double fall_rpm = drag->from_rpm - drag->to_rpm;
    return for_s >= LASTS_S && fall_rpm >= FALL * top_rpm &&
           fall_rpm <= MOST_EACH_S * top_rpm * for_s;
}

/* It turns as fast again, or the log ends too soon to tell. */
static bool works_again(const struct kw_session *session,
                        const double *rpm,
                        const struct kw_drag *drag)
{
    const double end_s = session->time_s[session->n_samples - 1];
    for (size_t i = drag->span.to; i < session->n_samples; i++) {
        if (rpm[i] > WORKS_AGAIN * drag->from_rpm && rpm[i] > drag->to_rpm)
            return true;
    }
    return end_s - session->time_s[drag->span.to] < GOES_ON_S;
}

/* What falls twice came back once: no piston. */
static void find_only_one(const struct kw_scene *scene,
                          const double *rpm,
                          const double *depth,
                          double top_rpm,
                          struct kw_drag *out)
{
    const struct kw_session *session = scene->session;
    size_t n = 0;
    for (size_t i = 0; i + 1 < session->n_samples; i++) {
        if (!(rpm[i + 1] < rpm[i]))
            continue;
        const struct kw_drag drag = measure(scene, rpm, depth, top_rpm, i);
        if (!is_drag(session, &drag, top_rpm))
            continue;
        *out = drag;
        n++;
        i = drag.span.to;
    }
    if (n != 1 || works_again(session, rpm, out))
        *out = (struct kw_drag){.span = {0, 0}};
}

enum kw_status kw_find_drag(const struct kw_scene *scene,
                            double top_rpm,
                            struct kw_drag *out,
                            struct kw_error *error)
{
    const size_t n = scene->session->n_samples;
    *out = (struct kw_drag){.span = {0, 0}};
    /* On a stand an engine turns free, and where the lag is not known the gas
     * is as late as its probe. */
    if (scene->laps == NULL || scene->laps->n == 0 ||
        isnan(scene->session->probe_lag_s))
        return KW_OK;
    double *rpm = kw_array_new(n, 2 * sizeof *rpm, error);
    if (rpm == NULL)
        return KW_NO_MEMORY;
    double *depth = rpm + n;
    kw_smooth(scene->session, scene->session->rpm, RPM_S, rpm);
    const enum kw_status status =
        kw_find_gas_depth(scene, rpm, top_rpm, depth, error);
    if (status == KW_OK)
        find_only_one(scene, rpm, depth, top_rpm, out);
    free(rpm);
    return status;
}
