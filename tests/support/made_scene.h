/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A made-up session as a detector sees it, with the laps that made it. */
#ifndef KARTWRIGHT_TESTS_MADE_SCENE_H
#define KARTWRIGHT_TESTS_MADE_SCENE_H

#include "analysis/fuel_sag.h"
#include "analysis/scene.h"
#include "support/synthetic.h"

/* scene points into the rest: do not copy. */
struct made_scene {
    struct kw_session session;
    struct kw_profile profile;
    struct kw_running running;
    struct kw_pulls pulls;
    struct kw_laps laps;
    struct kw_events before;
    double *load;
    double *expected_c;
    double *spread_c;
    struct kw_scene scene;
};

/* Cleans the log, finds running and load, takes the laps from the truth and
 * expects the heat. limit_c is the profile's, NAN for none. */
void made_scene(const struct synthetic *made,
                double limit_c,
                struct made_scene *out);
void made_scene_free(struct made_scene *made);

/* What one detector finds in a made session, with nothing found before it.
 *
 * limit_c  the profile's, NAN for none.
 * found    the caller frees it with kw_events_free(). */
void detect(kw_detector *detector,
            const struct synthetic *made,
            double limit_c,
            struct kw_events *found);

/* How many starved pulls such a search tells, with the limits of the session
 * and the pace of its best laps. */
typedef enum kw_status fuel_search(const struct kw_scene *scene,
                                   const struct kw_rate_limits *limits,
                                   const double *best_rpm,
                                   struct kw_fuel_sags *out,
                                   struct kw_error *error);
size_t count_starved(fuel_search *search, const struct made_scene *made);

/* Four healthy sessions, with a fine and with a coarse probe, set nothing
 * off. */
void check_quiet_when_healthy(kw_detector *detector);

/* Without a probe there is no finding, and no crash. */
void check_quiet_without_probe(kw_detector *detector);

#endif
