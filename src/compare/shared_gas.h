/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The gas on both sides, with one lag taken out of both. */
#ifndef KARTWRIGHT_COMPARE_SHARED_GAS_H
#define KARTWRIGHT_COMPARE_SHARED_GAS_H

#include "kartwright/compare.h"

/* gas       gas[side][log], n[side] of them; NULL where the session's own gas_c
 *           is the one to use; owned.
 * lag_s     taken out of both sides; NAN where none was, or each side its own.
 * apart     the two sides have probes that are plainly not alike.
 * doubtful  they may not be: worth a look, no more. */
struct kw_shared_gas {
    double **gas[KW_N_SIDES];
    size_t n[KW_N_SIDES];
    double lag_s;
    double side_lag_s[KW_N_SIDES];
    bool apart;
    bool doubtful;
};

/* The lag is estimated in each session and never quite the same; a tenth of a
 * second moves the gas of a pull by some degrees. The same probe has the same
 * lag, so that of all sessions together is taken out of each, over one window.
 *
 * sessions  sessions[side].
 * out       the caller frees it with kw_shared_gas_free().
 * returns   KW_OK; KW_NO_MEMORY. */
enum kw_status kw_share_gas(
    const struct kw_compare_sessions *const sessions[KW_N_SIDES],
    struct kw_shared_gas *out,
    struct kw_error *error);
void kw_shared_gas_free(struct kw_shared_gas *shared);

#endif
