/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Idle as the session shows it.
 *
 * An engine that idles stays at one RPM, and on the track it stays nowhere so
 * low: the stays are counted in bins of RPM, in logarithms, for a fast idle
 * wanders by as large a share as a slow one. */
#include "analysis/idle.h"

#include <math.h>

/* The lowest RPM, between these shares of the highest, at which the engine is
 * for so long in all (an eighth to a third on karts: common practice, no
 * source). No engine of a kart idles below the RPM named here, at which a
 * starter turns it (common practice, no source). */
static const double LOWEST_IDLE = 0.07;
static const double LOWEST_IDLE_RPM = 600.0;
static const double HIGHEST_IDLE = 0.5;
static const double IDLE_S = 1.0;
/* Up to the first of these shares where the engine stays for so long in one and
 * for that share of the whole, and hardly a reading is lower: a kart that is
 * driven about the yard never comes near its top end (common practice, no
 * source). */
static const double HIGHEST_YARD_IDLE = 0.7;
static const double YARD_IDLE_S = 5.0;
static const double YARD_IDLE_SHARE = 0.2;
static const double HARDLY_BELOW = 0.1;
/* Width of a bin, as a share: a two-stroke that idles hunts by as much (common
 * practice, no source). So many bins reach beyond HIGHEST_YARD_IDLE.
 */
static const double IDLE_BIN = 0.04;
enum { IDLE_BINS = 60 };
/* From this share on a slow corner turns the engine as fast, on a kart without
 * a clutch; but not for so long in one (common practice, no source). */
static const double CORNER_SHARE = 0.36;
static const double CORNER_S = 2.5;

/* Where the lowest stay was no idle: a starter turns the engine, at a third of
 * its idle at most and for so long in all; or it was cold, and came up by so
 * much as it warmed. Then it stays for so many times longer at its idle, and
 * for so long in one (common practice, no source). */
static const double STARTER_TIMES = 3.0;
static const double STARTER_S = 4.0;
static const double COLD_TIMES = 1.6;
static const double LONGER_TIMES = 4.0;
static const double LONGER_S = 5.0;

/* More samples than these teach nothing new. */
enum { MOST_SAMPLES = 40000 };

/* Seconds at each RPM, in all and in the longest stay; and at any RPM. */
struct stays {
    double lowest_rpm;
    double all_s[IDLE_BINS];
    double longest_s[IDLE_BINS];
    double running_s;
};

/* IDLE_BINS where RPM is outside. */
static size_t idle_bin(const struct stays *stays, double rpm)
{
    const double bin = log(rpm / stays->lowest_rpm) / IDLE_BIN;
    return bin >= 0.0 && bin < IDLE_BINS ? (size_t)bin : IDLE_BINS;
}

/* A stay lasts while RPM is in its bin or a neighbour. */
static void count_stays(const struct kw_session *session,
                        const struct kw_span *run,
                        struct stays *stays)
{
    const size_t stride = session->n_samples / MOST_SAMPLES + 1;
    const double step_s = (double)stride / session->rate_hz;
    size_t at = IDLE_BINS;
    double stay_s = 0.0;
    for (size_t i = run->from; i < run->to; i += stride) {
        const size_t bin = idle_bin(stays, session->rpm[i]);
        stays->running_s += step_s;
        if (bin == IDLE_BINS || at == IDLE_BINS || bin + 1 < at ||
            bin > at + 1) {
            at = bin;
            stay_s = 0.0;
        }
        if (bin == IDLE_BINS)
            continue;
        stay_s += step_s;
        stays->all_s[bin] += step_s;
        stays->longest_s[at] = fmax(stays->longest_s[at], stay_s);
    }
}

/* What a bin and its neighbours hold. */
static double seconds_about(const struct stays *stays, size_t bin)
{
    const double *all_s = stays->all_s + bin;
    return all_s[-1] + all_s[0] + all_s[1];
}

static double longest_about(const struct stays *stays, size_t bin)
{
    const double *longest_s = stays->longest_s + bin;
    return fmax(longest_s[0], fmax(longest_s[-1], longest_s[1]));
}

/* With both neighbours: an idle that hunts about the border of two bins would
 * be half in each. */
static bool is_idle(const struct stays *stays, size_t bin, bool corners_too)
{
    const double *all_s = stays->all_s + bin;
    const bool is_peak = all_s[0] >= all_s[-1] && all_s[0] >= all_s[1];
    return is_peak && seconds_about(stays, bin) >= IDLE_S &&
           (!corners_too || longest_about(stays, bin) >= CORNER_S);
}

/* Nothing but the starter turned the engine slower, and it stayed there for
 * much of the session. */
static bool is_floor(const struct stays *stays, size_t bin)
{
    double below_s = 0.0;
    for (size_t i = 0; i + 1 < bin; i++)
        below_s += stays->all_s[i];
    const double about_s = seconds_about(stays, bin);
    return is_idle(stays, bin, true) &&
           longest_about(stays, bin) >= YARD_IDLE_S &&
           about_s > YARD_IDLE_SHARE * stays->running_s &&
           below_s < HARDLY_BELOW * about_s;
}

/* Whether a starter or the cold made the lower stay, and this is the idle. */
static bool is_truer(const struct stays *stays, size_t bin, size_t lower)
{
    const double times = exp(IDLE_BIN * (double)(bin - lower));
    const double lower_s = seconds_about(stays, lower);
    return (times < COLD_TIMES ||
            (times > STARTER_TIMES && lower_s < STARTER_S)) &&
           seconds_about(stays, bin) > LONGER_TIMES * lower_s &&
           longest_about(stays, bin) >= LONGER_S;
}

/* From below, for what the engine does on the track lies above its idle. */
struct kw_idle kw_find_idle(const struct kw_session *session,
                            const struct kw_spans *runs,
                            double top_rpm)
{
    struct stays stays = {.lowest_rpm =
                              fmax(LOWEST_IDLE * top_rpm, LOWEST_IDLE_RPM)};
    for (size_t r = 0; r < runs->n; r++)
        count_stays(session, &runs->items[r], &stays);
    struct kw_idle idle = {NAN, NAN};
    size_t lowest = 0;
    for (size_t i = 1; i + 1 < IDLE_BINS; i++) {
        const double rpm = stays.lowest_rpm * exp(IDLE_BIN * ((double)i + 0.5));
        const bool plain = rpm < HIGHEST_IDLE * top_rpm &&
                           is_idle(&stays, i, !(rpm < CORNER_SHARE * top_rpm));
        if (!plain && (lowest > 0 || !(rpm < HIGHEST_YARD_IDLE * top_rpm) ||
                       !is_floor(&stays, i)))
            continue;
        if (lowest == 0) {
            lowest = i;
            idle.rpm = rpm;
        } else if (is_truer(&stays, i, lowest)) {
            idle.later_rpm = rpm;
            break;
        }
    }
    return idle;
}
