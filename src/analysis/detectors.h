/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The detectors, each in the file of its name. What each finds is defined in
 * the contract and, for the trade's own words, in struct kw_event. */
#ifndef KARTWRIGHT_ANALYSIS_DETECTORS_H
#define KARTWRIGHT_ANALYSIS_DETECTORS_H

#include "analysis/scene.h"

kw_detector kw_find_dropouts;           /* dropout.c */
kw_detector kw_find_clutch_engagements; /* clutch.c */
kw_detector kw_find_clutch_slip;        /* clutch_slip.c */
kw_detector kw_find_chain_jumps;        /* chain.c */
kw_detector kw_find_air_leak;           /* air_leak.c */
kw_detector kw_find_seizure_onset;      /* seizure.c */
kw_detector kw_find_lean;               /* lean.c */
kw_detector kw_find_rich;               /* rich.c */
kw_detector kw_find_exhaust_leak;       /* exhaust_leak.c */
kw_detector kw_find_probe_faults;       /* probe_fault.c */

#endif
