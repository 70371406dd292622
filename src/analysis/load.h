/* SPDX-License-Identifier: GPL-3.0-or-later */
/* When the engine works: the stretches under load, called pulls. */
#ifndef KARTWRIGHT_ANALYSIS_LOAD_H
#define KARTWRIGHT_ANALYSIS_LOAD_H

#include "analysis/scene.h"

/* Tells load from no load, from the throttle where the log has it, else from
 * how RPM and speed change.
 *
 * session, running  as found before.
 * load     *load[n_samples]: 1 under load, 0 not (lifted, braking, idling,
 *          off), NAN where it cannot be told. The caller frees it with free().
 * pulls    the stretches of load, rising; a gap ends one. The caller frees it
 *          with kw_pulls_free().
 * returns  KW_OK; KW_NO_MEMORY, and both outputs are empty. */
enum kw_status kw_find_load(const struct kw_session *session,
                            const struct kw_running *running,
                            double **load,
                            struct kw_pulls *pulls,
                            struct kw_error *error);
void kw_pulls_free(struct kw_pulls *pulls);

/* The value below which a fraction (0 to 1) of values[n_samples] lies within
 * the pulls; NAN where nothing was read in them.
 *
 * scratch  scratch[n_samples], overwritten. */
double kw_pulls_quantile(const struct kw_pulls *pulls,
                         const double *values,
                         double fraction,
                         double *scratch);

#endif
