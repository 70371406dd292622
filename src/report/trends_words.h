/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Trends of the logbook in words: the same on the screen and on the page. */
#ifndef KARTWRIGHT_REPORT_TRENDS_WORDS_H
#define KARTWRIGHT_REPORT_TRENDS_WORDS_H

#include "core/text.h"
#include "kartwright/season.h"

/* "rising by 0.052 in a running hour (p below 0.001)", and where it is known
 * ", plainly higher since the session of 2026-05-03 (entry 14)" */
void kw_add_trend_verdict(struct kw_text *text, const struct kw_trend *trend);

/* How far the named session can be believed, and what to do with it, in whole
 * sentences; nothing where no trend has one. */
void kw_add_since_remark(struct kw_text *text, const struct kw_trends *trends);

/* A value as the trend rounds it, its thousands set apart. */
void kw_add_trend_value(struct kw_text *text,
                        const struct kw_trend *trend,
                        double value);

/* What has to be known to read this measure, in whole sentences: for EGT, which
 * air it is told for; nothing for the others.
 *
 * trends  it is one of. */
void kw_add_trend_remark(struct kw_text *text,
                         const struct kw_trend *trend,
                         const struct kw_trends *trends);

/* "piston and ring (spare)" */
void kw_add_part_name(struct kw_text *text, const struct kw_part *part);

/* A part that went on between two sessions of its kart and can have changed
 * something: not those that were there before the first. */
bool kw_is_marked_fitting(const struct kw_part *part);

#endif
