/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Drop-outs of the signal or the spark: RPM that changes faster than turning
 * mass can, and comes back as fast. */
#ifndef KARTWRIGHT_ANALYSIS_DROPOUT_SIGNAL_H
#define KARTWRIGHT_ANALYSIS_DROPOUT_SIGNAL_H

#include "analysis/rpm_jump.h"
#include "core/text.h"

/* Finds RPM that leaves what is possible and jumps back: it vanished, halved or
 * doubled.
 *
 * search   of the scene's session.
 * found    drop-outs with cause loose_connection, by start.
 * returns  KW_OK; KW_NO_MEMORY. */
enum kw_status kw_find_signal_dropouts(const struct kw_scene *scene,
                                       const struct kw_rpm_search *search,
                                       struct kw_events *found,
                                       struct kw_error *error);

/* The same for RPM that stands still and then jumps to where the kart is, or
 * stands beside an axle that does not: it froze. In dropout_freeze.c. */
enum kw_status kw_find_frozen_signal(const struct kw_scene *scene,
                                     const struct kw_rpm_search *search,
                                     struct kw_events *found,
                                     struct kw_error *error);

/* The same for RPM that leaps up and down from reading to reading. In
 * dropout_scatter.c. */
enum kw_status kw_find_scattered_signal(const struct kw_scene *scene,
                                        const struct kw_rpm_search *search,
                                        struct kw_events *found,
                                        struct kw_error *error);

/* RPM that has no reading while other sensors do. In dropout_blank.c. */
enum kw_status kw_find_blank_signal(const struct kw_scene *scene,
                                    const struct kw_rpm_search *search,
                                    struct kw_events *found,
                                    struct kw_error *error);

/* Both of RPM that has its logger's filter or lines taken out, where it has
 * some. Behind the others: what they found is not told again. In
 * dropout_filtered.c. */
enum kw_status kw_find_filtered_dropouts(const struct kw_scene *scene,
                                         const struct kw_rpm_search *search,
                                         struct kw_events *found,
                                         struct kw_error *error);

/* A spark that cuts out and comes back: RPM falls as after a lift, but the
 * exhaust cools as no lift lets it. In dropout_spark.c. */
enum kw_status kw_find_spark_cuts(const struct kw_scene *scene,
                                  const struct kw_rpm_search *search,
                                  struct kw_events *found,
                                  struct kw_error *error);

/* Adds an event that has its times, confidence and depth as a drop-out by a
 * loose connection, with the sentence that tells it; frees the sentence. */
enum kw_status kw_add_loose_connection(struct kw_event *event,
                                       struct kw_text *text,
                                       struct kw_events *found,
                                       struct kw_error *error);

#endif
