/* SPDX-License-Identifier: GPL-3.0-or-later */
/* From the pits and back to them: how often the start/finish line was passed.
 */
#ifndef KARTWRIGHT_ANALYSIS_LAP_DRIVE_H
#define KARTWRIGHT_ANALYSIS_LAP_DRIVE_H

#include "analysis/lap_course.h"

/* The drive that the laps belong to.
 *
 * from_turn, to_turn  where on the course it begins and ends.
 * out_and_in          turns of the out lap and the in lap together, as far as
 *                     their pace tells; 1 at least. */
struct kw_lap_drive {
    double from_turn;
    double to_turn;
    double out_and_in;
};

/* From where the kart drove off before the first two blocks that fit the
 * pattern to where it came to rest after the last two. Revving in the pits is
 * no driving.
 *
 * course   whole (lap_align.h), n > 0.
 * returns  KW_OK; KW_NO_MEMORY. */
enum kw_status kw_find_lap_drive(const struct kw_lap_axis *axis,
                                 const struct kw_lap_course *course,
                                 struct kw_lap_drive *out,
                                 struct kw_error *error);

/* How often the line was passed in a drive of so many turns, as far as that can
 * be told without knowing the line. */
size_t kw_likely_passings(double turns, double out_and_in);

#endif
