/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Losses whose edges the logger drew out over some readings: it writes between
 * two that it read, means over a window, or smooths. What is nothing, half or
 * twice of what is right shows between such edges only. */
#ifndef KARTWRIGHT_ANALYSIS_ABSENCE_DRAWN_H
#define KARTWRIGHT_ANALYSIS_ABSENCE_DRAWN_H

#include "analysis/absence.h"

/* The reading at which RPM has come to rest behind the end of a jump: from
 * there on it moves no faster than so many times the kart. The last that is
 * looked at where it never rests. */
size_t kw_rest_behind(const struct kw_rpm_search *search,
                      size_t end,
                      bool up,
                      double times);

/* Is the absence one of these?
 *
 * cost     O(n) of the absence. */
bool kw_is_drawn_loss(const struct kw_rpm_search *search,
                      const struct kw_absence *absence);

/* Whether RPM read nothing all the time, but for the edge, and the exhaust got
 * hotter meanwhile, later than a probe's lag can tell of what was before: an
 * engine that ran on. false without exhaust temperature.
 *
 * from, to  samples of the first such reading and behind the last. */
bool kw_heats_meanwhile(const struct kw_rpm_search *search,
                        size_t from,
                        size_t to);

#endif
