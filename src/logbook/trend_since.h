/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Since when a measure that rises or falls has left its first level. */
#ifndef KARTWRIGHT_LOGBOOK_TREND_SINCE_H
#define KARTWRIGHT_LOGBOOK_TREND_SINCE_H

#include "kartwright/season.h"

/* trend    judged; its points by date.
 * returns  index of the session, 1 or more: since then the measure has been
 *          beyond its first level. 0 where that is not plain, and where the
 *          trend is neither rising nor falling.
 * source   Page's sum, see analysis/change.h.
 * cost     O(n). */
size_t kw_trend_find_since(const struct kw_trend *trend);

#endif
