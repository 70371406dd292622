/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Small made-up sessions for the tests of signal and analysis, built in memory
 * from a seed. Shapes, not physics: the labelled simulator is in tests/sim.
 *
 *     struct synthetic_options options = synthetic_defaults();
 *     options.laps = 8;
 *     struct synthetic s = synthetic_new(&options);
 *     synthetic_lose_signal(&s, 210.0, 210.4, 0.0);
 *     struct kw_session session;
 *     synthetic_session(&s, NULL, &session);
 *     ...
 *     kw_session_free(&session);
 *     synthetic_free(&s);
 *
 * The order of a session: standing with the engine idling, one start through
 * the clutch, an out lap, `laps` flying laps, an in lap, braking, standing. One
 * lap has four straights: on each the engine pulls, then the driver lifts and
 * brakes, then holds the bend. All functions fail the test when memory is
 * short. */
#ifndef KARTWRIGHT_TESTS_SYNTHETIC_H
#define KARTWRIGHT_TESTS_SYNTHETIC_H

#include "kartwright/log.h"
#include "kartwright/session.h"

#include <stdbool.h>
#include <stdint.h>

/* rate_hz        samples each second.
 * laps, lap_s    flying laps, and the time of one.
 * lap_scatter    standard deviation of lap time, as a fraction.
 * rpm_top, rpm_slow  at the end of the longest straight, in the slowest bend.
 * idle_rpm, clutch_rpm  standing; held while the clutch slips.
 * standing_s     idling before the start and after the stop.
 * speed_top_m_s  at rpm_top with the clutch locked.
 * egt_top_c      gas at rpm_top under load; egt_idle_c at idle.
 * probe_lag_s    time constant of the probe.
 * rpm_noise, egt_noise_c  standard deviations.
 * rpm_step, egt_step_c  the logger's resolution, 0 for none.
 * has_*          which channels the log has beside time, RPM and EGT. */
struct synthetic_options {
    double rate_hz;
    size_t laps;
    double lap_s;
    double lap_scatter;
    double rpm_top;
    double rpm_slow;
    double idle_rpm;
    double clutch_rpm;
    double standing_s;
    double speed_top_m_s;
    double egt_top_c;
    double egt_idle_c;
    double probe_lag_s;
    double rpm_noise;
    double egt_noise_c;
    double rpm_step;
    double egt_step_c;
    bool has_egt;
    bool has_speed;
    bool has_position;
    bool has_throttle;
    uint64_t seed;
};

/* A two-stroke at 20 Hz: 8 laps of 48 s, 6,500 to 14,800 rpm, time, RPM and EGT
 * only, a probe of 1.2 s. */
struct synthetic_options synthetic_defaults(void);

/* The truth, and what the sensors show of it; arrays of n. Change rpm, egt_c or
 * gas_c freely; synthetic_log() reads rpm, egt_c, speed_m_s, lat, lon and load.
 *
 * gas_c        what the mixture gives; egt_c is the probe that follows it.
 * load         1 while the engine pulls, else 0.
 * lap_start_s  lap_start_s[n_laps]: the out lap's start, each flying lap's
 *              start, the in lap's start, and the in lap's end.
 * start_s, locked_s  the start through the clutch. */
struct synthetic {
    struct synthetic_options options;
    size_t n;
    double *time_s;
    double *rpm;
    double *gas_c;
    double *egt_c;
    double *speed_m_s;
    double *load;
    double *lat_deg;
    double *lon_deg;
    double *lap_start_s;
    size_t n_laps;
    double start_s;
    double locked_s;
    uint64_t random;
};

struct synthetic synthetic_new(const struct synthetic_options *options);
void synthetic_free(struct synthetic *s);

/* The sample at or after a time; n when there is none. */
size_t synthetic_at(const struct synthetic *s, double time_s);

/* From a sample (in) to another (out); 0 where there is none between. */
double synthetic_highest_rpm(const struct synthetic *s, size_t from, size_t to);

/* A number of the standard normal distribution, from the session's seed. */
double synthetic_normal(struct synthetic *s);

/* RPM reads `factor` times the truth (0 vanishes, 0.5 halves, 2 doubles). */
void synthetic_lose_signal(struct synthetic *s,
                           double start_s,
                           double end_s,
                           double factor);

/* RPM stays at its reading of start_s. */
void synthetic_freeze_signal(struct synthetic *s, double start_s, double end_s);

/* RPM sags under load: it sinks by depth_rpm towards the end, and the gas rises
 * by extra_c as it does. */
void synthetic_starve(struct synthetic *s,
                      double start_s,
                      double end_s,
                      double depth_rpm,
                      double extra_c);

/* The next pull on the longest straight of a lap from a sample on: to is the
 * first sample behind it. returns  false where there is none. */
bool synthetic_next_longest(const struct synthetic *s,
                            size_t *from,
                            size_t *to);

/* RPM sinks by so much each second from a sample on, at which it is from_rpm,
 * until the pull ends at another; then the driver brakes from where it has sunk
 * to. */
void synthetic_sink(struct synthetic *s,
                    size_t from,
                    size_t to,
                    double from_rpm,
                    double sinks_rpm_s);

/* The gas is extra_c hotter while the engine pulls (all of the stretch when the
 * log shows no load); the probe follows with its lag. */
void synthetic_lean(struct synthetic *s,
                    double start_s,
                    double end_s,
                    double extra_c);

/* The engine stands: RPM 0, the gas cools. */
void synthetic_stop_engine(struct synthetic *s, double start_s, double end_s);

/* The probe reads this value and nothing else. */
void synthetic_fix_probe(struct synthetic *s,
                         double start_s,
                         double end_s,
                         double reading_c);

/* The probe follows gas_c anew, with noise and resolution; those above that
 * change the gas call it. */
void synthetic_follow_gas(struct synthetic *s);

/* The log that a logger would have written; the caller frees it with
 * kw_log_free(). Readings are rounded to the logger's resolution. */
void synthetic_log(const struct synthetic *s, struct kw_log *log);

/* The log, cleaned: kw_session_from_log() must succeed. */
void synthetic_session(const struct synthetic *s,
                       const struct kw_profile *profile,
                       struct kw_session *session);

#endif
