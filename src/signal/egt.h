/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Exhaust temperature: which readings, and which probe, can be trusted. */
#ifndef KARTWRIGHT_SIGNAL_EGT_H
#define KARTWRIGHT_SIGNAL_EGT_H

#include "kartwright/session.h"

/* Why a reading was set aside, in the order in which it is looked for. */
enum kw_egt_fault {
    KW_EGT_BEYOND, /* below -40 or above 1,100 C */
    KW_EGT_SPIKE,  /* a moment's departure */
    KW_EGT_OPEN,   /* one value, reached or left faster than a probe can go */
    KW_EGT_ASTRAY, /* went and came back faster than a probe can go */
    KW_EGT_STUCK,  /* one value, while the engine worked and it should move */
    KW_EGT_COLD,   /* stays cold though the engine works: not in the exhaust */
    KW_N_EGT_FAULTS
};

/* What was set aside of one probe.
 *
 * readings  number of readings, by fault.
 * first_s   when each fault first shows; NAN where it does not.
 * left      readings that can be trusted. */
struct kw_egt_verdict {
    size_t readings[KW_N_EGT_FAULTS];
    double first_s[KW_N_EGT_FAULTS];
    size_t left;
};

/* Sets aside, as NAN, the readings of one probe that cannot be trusted.
 *
 * session  clock, gaps and rpm are ready.
 * egt_c    egt_c[n_samples], changed in place.
 * returns  KW_OK; KW_NO_MEMORY. */
enum kw_status kw_clean_egt(const struct kw_session *session,
                            double *egt_c,
                            struct kw_egt_verdict *verdict,
                            struct kw_error *error);

/* Cleans every EGT channel of the log and keeps the one with most to trust, the
 * first of those that are about equal; tells in notices what was set aside.
 *
 * session  gets egt_raw_c, egt_c, egt_probe. egt_c stays NULL when there is no
 *          probe or nothing to trust; egt_raw_c is there whenever there was a
 *          reading.
 * returns  KW_OK; KW_NO_MEMORY. */
enum kw_status kw_choose_egt(struct kw_session *session,
                             const struct kw_log *log,
                             struct kw_error *error);

#endif
