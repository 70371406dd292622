/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Starved stretches: what becomes a drop-out of the fuel. */
#ifndef KARTWRIGHT_ANALYSIS_FUEL_SAG_H
#define KARTWRIGHT_ANALYSIS_FUEL_SAG_H

#include "analysis/rate_limit.h"

/* A stretch in which the engine starves.
 *
 * span        samples.
 * lost_rpm    what a fed engine would have gained in it and this one did not.
 * confidence  how sure, 0 to 1. */
struct kw_fuel_sag {
    struct kw_span span;
    double lost_rpm;
    double confidence;
};

struct kw_fuel_sags {
    struct kw_fuel_sag *items;
    size_t n;
    size_t capacity;
};

/* Adds one; growth is the only thing that can fail. */
enum kw_status kw_fuel_sags_add(struct kw_fuel_sags *sags,
                                const struct kw_fuel_sag *sag,
                                struct kw_error *error);

/* Finds stretches that fall behind the session's own good pulls and good laps
 * with an exhaust hotter than an ordinary pull's. A session in which every pull
 * starves has no good one: see fuel_hold.h, fuel_kink.h and fuel_sink.h.
 *
 * scene    with exhaust temperature and what is expected of it.
 * best_rpm  best_rpm[n_samples]: the best laps at the same place, see
 *          kw_find_usual_pace(); NAN where none tell. Where even they slow down
 *          nobody starves.
 * out      what was found by other means; sags are added. Many, of whatever
 *          kind, speak for each other.
 * returns  KW_OK; KW_NO_MEMORY. */
enum kw_status kw_find_fuel_sags(const struct kw_scene *scene,
                                 const struct kw_rate_limits *limits,
                                 const double *best_rpm,
                                 struct kw_fuel_sags *out,
                                 struct kw_error *error);

#endif
