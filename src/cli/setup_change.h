/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What was changed between two setups of the logbook. */
#ifndef KARTWRIGHT_CLI_SETUP_CHANGE_H
#define KARTWRIGHT_CLI_SETUP_CHANGE_H

#include "core/text.h"

/* Adds "main_jet 142, then 145; gearing 11/78, then none" to a text.
 *
 * before, after  setups such as "main_jet=142 gearing=11/78".
 * returns        how many settings differ; where none does nothing is added. */
size_t add_setup_changes(struct kw_text *text,
                         const char *before,
                         const char *after);

#endif
