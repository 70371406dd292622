/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The few numbers of a session that are worth comparing over a season. */
#ifndef KARTWRIGHT_LOGBOOK_MEASURES_H
#define KARTWRIGHT_LOGBOOK_MEASURES_H

#include "kartwright/review.h"

enum kw_measure {
    KW_MEASURE_CLUTCH_S,       /* middle clutch engagement time, s */
    KW_MEASURE_EGT_TOP_C,      /* middle of the laps' highest EGT, C */
    KW_MEASURE_DROPOUTS_PER_H, /* drop-outs in an hour of running */
    KW_MEASURE_LAP_SPREAD,     /* spread of lap times, percent */
    KW_MEASURE_LEAN_S_PER_H,   /* seconds of lean running in an hour */
    KW_MEASURE_RPM_TOP,        /* middle of the laps' highest RPM */
    KW_MEASURE_EGT_AIR_C,      /* top EGT in standard air, C: worked out when it
                                  is asked for, never stored */
    KW_N_MEASURES
};

/* name  as `trend` takes it: "clutch_engagement_s".
 * what  for a person, with the unit in it. */
struct kw_measure_row {
    const char *name;
    const char *what;
    int decimals;
};
const struct kw_measure_row *kw_measure_row(enum kw_measure measure);

/* values  NAN where the session does not tell.
 * revolutions  of the engine while it ran under its own power; NAN.
 * best_lap_s   of flying laps that were not spoilt; NAN. */
struct kw_session_numbers {
    double values[KW_N_MEASURES];
    double revolutions;
    double best_lap_s;
    double rpm_max;
    double egt_max_c;
};

/* returns  KW_OK; KW_NO_MEMORY. */
enum kw_status kw_measure_session(const struct kw_review *review,
                                  struct kw_session_numbers *out,
                                  struct kw_error *error);

#endif
