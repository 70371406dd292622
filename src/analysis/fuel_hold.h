/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Pulls that are held for want of fuel. */
#ifndef KARTWRIGHT_ANALYSIS_FUEL_HOLD_H
#define KARTWRIGHT_ANALYSIS_FUEL_HOLD_H

#include "analysis/fuel_sag.h"

/* Adds the held pulls (held_pull.h) that the exhaust, or their own number, show
 * to be starved. It needs no good pull to compare with: an engine that starves
 * in all of them is held again and again, below what it reached before or at
 * its hottest.
 *
 * scene    with exhaust temperature and what is expected of it.
 * told     drop-outs of signal and spark: what they touch is no hold.
 * returns  KW_OK; KW_NO_MEMORY. */
enum kw_status kw_find_fuel_holds(const struct kw_scene *scene,
                                  const struct kw_events *told,
                                  struct kw_fuel_sags *out,
                                  struct kw_error *error);

#endif
