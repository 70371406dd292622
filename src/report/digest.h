/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The review in a few numbers: laps summed up, and like findings told as one.
 */
#ifndef KARTWRIGHT_REPORT_DIGEST_H
#define KARTWRIGHT_REPORT_DIGEST_H

#include "core/text.h"
#include "kartwright/review.h"

/* n_flying  flying laps, spoilt ones not counted.
 * n_spoilt  flying laps that a spin, stop or gap spoilt.
 * best      index in laps->items of the fastest one; laps->n for none.
 * middle_s  median time of the flying laps; NAN for none. */
struct kw_lap_digest {
    size_t n_flying;
    size_t n_spoilt;
    size_t n_out;
    size_t n_in;
    size_t best;
    double middle_s;
};

/* returns  KW_OK; KW_NO_MEMORY. */
enum kw_status kw_digest_laps(const struct kw_laps *laps,
                              struct kw_lap_digest *out,
                              struct kw_error *error);

/* Findings of one kind (and one RPM region, or one cause) told together.
 *
 * first  index of the first event of the group.
 * worst  index of the one that presses most.
 * n      how many. */
struct kw_event_group {
    size_t first;
    size_t worst;
    size_t n;
};

/* Every kind, three regions or causes each, fits. */
enum { KW_MOST_GROUPS = KW_N_EVENT_KINDS * 3 };

/* Groups all events but clutch engagements, most pressing first.
 *
 * returns  number of groups. */
size_t kw_group_events(const struct kw_events *events,
                       struct kw_event_group groups[KW_MOST_GROUPS]);

/* What was seen of a group, behind its title: ": 4 times, laps 3, 5 and 7 to
 * 9; worst at 5:01.2, 38 C over what was expected, 671 C at most, for
 * 8.7 s". */
void kw_add_group(struct kw_text *text,
                  const struct kw_review *review,
                  const struct kw_event_group *group);

#endif
