/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Where the kart was, on a plane; fixes that cannot be are set aside. */
#ifndef KARTWRIGHT_SIGNAL_POSITION_H
#define KARTWRIGHT_SIGNAL_POSITION_H

#include "kartwright/session.h"

/* Fills x_m, y_m and the origin, and speed_m_s where there is none.
 *
 * Fixes at 0, 0, outside the globe, or reached faster than any kart drives are
 * set aside, and so is one that stands for long while the engine drives, with
 * the speed that stands beside it. A receiver slower than the logger repeats
 * its last fix: the fixes themselves are kept and the samples between two of
 * them lie on the line that joins them, in time.
 *
 * session   its clock and gaps are ready.
 * lat_deg, lon_deg  [n_samples], NAN where missing.
 * returns   KW_OK (x_m stays NULL when there is no usable fix); KW_NO_MEMORY.
 */
enum kw_status kw_place_session(struct kw_session *session,
                                const double *lat_deg,
                                const double *lon_deg,
                                struct kw_error *error);

/* true where the place is known at this sample; x_m and y_m are not NULL. */
bool kw_has_place(const struct kw_session *session, size_t i);

#endif
