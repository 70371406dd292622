/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The exhaust temperature that a right mixture would give. */
#ifndef KARTWRIGHT_ANALYSIS_HEAT_H
#define KARTWRIGHT_ANALYSIS_HEAT_H

#include "analysis/scene.h"

/* Expects the gas temperature from RPM, load, place on the lap and the heat
 * already in the pipe, robustly, so that lean stretches do not teach it.
 *
 * scene      expected_* in it are not read.
 * expected   *expected_c[n_samples], comparable with session->gas_c; NAN where
 *            nothing can be expected. NULL where the log has no usable EGT.
 * spread     *spread_c[n_samples]: two standard deviations, healthy scatter.
 * changed    whether a part of the session is known to be off and taught
 *            nothing.
 * returns    KW_OK; KW_NO_MEMORY, and both outputs are NULL. */
enum kw_status kw_expect_heat(const struct kw_scene *scene,
                              double **expected_c,
                              double **spread_c,
                              bool *changed,
                              struct kw_error *error);

#endif
