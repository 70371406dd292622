/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What a reference session can tell about this one as a whole: whether the two
 * are of one kind at all, and how far apart their exhausts stand. */
#ifndef KARTWRIGHT_ANALYSIS_REFERENCE_LEVEL_H
#define KARTWRIGHT_ANALYSIS_REFERENCE_LEVEL_H

#include "analysis/scene.h"

/* Whether a reference works at hardly any RPM at which this session works, as
 * that of another kart does.
 *
 * session    with its load[n_samples], which may be NULL: then it is taken for
 *            one of the same kart.
 * another    false on error.
 * returns    KW_OK; KW_NO_MEMORY. */
enum kw_status kw_reference_is_of_another(const struct kw_session *reference,
                                          const struct kw_session *session,
                                          const double *load,
                                          bool *another,
                                          struct kw_error *error);

/* What the reference says of this session.
 *
 * above_c   how far the exhaust under load stands above that of the reference
 *           at the same RPM, in the middle of the session: below 0 it is
 *           colder. NAN where too little could be compared.
 * gas_c     gas_c[n_samples]: what the reference gives at this RPM and load;
 *           NAN where it tells nothing; NULL without one. The caller frees it.
 * spread_c  two standard deviations of the reference about that; NAN likewise.
 */
struct kw_reference_level {
    double above_c;
    double *gas_c;
    double spread_c;
};

/* scene    its reference may be NULL.
 * out      gas_c is NULL on error.
 * returns  KW_OK; KW_NO_MEMORY. */
enum kw_status kw_level_above_reference(const struct kw_scene *scene,
                                        struct kw_reference_level *out,
                                        struct kw_error *error);

#endif
