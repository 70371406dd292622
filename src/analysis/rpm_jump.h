/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Jumps of RPM: changes faster than brakes, engine and clutch make them. A
 * logger may spread one over several readings. All functions take samples whose
 * reading is there. */
#ifndef KARTWRIGHT_ANALYSIS_RPM_JUMP_H
#define KARTWRIGHT_ANALYSIS_RPM_JUMP_H

#include "analysis/rate_limit.h"

/* What a search for jumps works on.
 *
 * axle_rpm      see struct kw_drive; NULL where the log has no speed.
 * axle_scatter  of engine over axle while locked.
 * idle_rpm      NAN where the engine never idled.
 * is_driven     the kart was driven in laps; else a foot may have played with
 *               the throttle on a stand or in a yard. */
struct kw_rpm_search {
    const struct kw_session *session;
    const struct kw_rate_limits *limits;
    const double *axle_rpm;
    double axle_scatter;
    double idle_rpm;
    bool is_driven;
};

double kw_rpm_seconds(const struct kw_rpm_search *search,
                      size_t from,
                      size_t to);

/* true where the log repeats its readings over rows. */
bool kw_repeats(const struct kw_rpm_search *search);

/* See kw_next_rpm(). */
size_t kw_rpm_next(const struct kw_rpm_search *search, size_t i);

/* Could the kart be at b what it was at a? */
bool kw_is_plausible(const struct kw_rpm_search *search, size_t a, size_t b);

/* The first reading that RPM cannot have come to since i, within the time that
 * a lost signal takes to go; n_samples when there is none. */
size_t kw_jump_from(const struct kw_rpm_search *search, size_t i, bool up);

/* true where no reading of that time is far enough from i for a jump: it spares
 * asking twice, up and down, for nearly all samples. */
bool kw_stays_near(const struct kw_rpm_search *search, size_t i);

/* Where the jump that is seen from i begins (the last reading that was where it
 * should be) and ends. */
size_t kw_begin_of_jump(const struct kw_rpm_search *search, size_t i, bool up);
size_t kw_end_of_jump(const struct kw_rpm_search *search, size_t i, bool up);

/* Of the jump between two readings: at once, within two rows or less than an
 * engine takes; quick, that or within two readings that are repeated over rows;
 * brief, that or as long as a smoothing logger takes; steep, faster somewhere
 * than an engine without its kart falls; impossible, faster than it is revved
 * up or stopped by wheels that lock; sharp, quick, or brief and steep. */
bool kw_is_at_once(const struct kw_rpm_search *search,
                   size_t from,
                   size_t last);
bool kw_is_quick(const struct kw_rpm_search *search, size_t from, size_t last);
bool kw_is_brief(const struct kw_rpm_search *search, size_t from, size_t last);
bool kw_is_steep(const struct kw_rpm_search *search, size_t from, size_t last);
bool kw_is_impossible(const struct kw_rpm_search *search,
                      size_t from,
                      size_t last);
bool kw_is_sharp(const struct kw_rpm_search *search, size_t from, size_t last);

/* Whether the reading at i is so many times what the axle makes of the engine
 * while the clutch is locked, as near as this log's scatter lets it be told;
 * false where the axle is not known. */
bool kw_meets_axle(const struct kw_rpm_search *search, size_t i, double times);

/* Slower than any engine turns, and so fast that it turns by itself. */
bool kw_is_nothing(const struct kw_rpm_search *search, double rpm);
bool kw_is_turning(const struct kw_rpm_search *search, double rpm);

#endif
