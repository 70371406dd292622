/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The round of checks for a person and as JSON; `round` and `due` share it. */
#ifndef KARTWRIGHT_CLI_ROUND_OUT_H
#define KARTWRIGHT_CLI_ROUND_OUT_H

#include "core/json.h"
#include "kartwright/upkeep.h"

/* Adds the whole round with a box before each check. */
void add_round(struct kw_text *text, const struct kw_round *round);

/* Adds the names of the open checks, broken before column 80. */
void add_open_names(struct kw_text *text, const struct kw_round *round);

/* Adds what is open after the last race day, with why and what clears it;
 * nothing for a round that is done or not yet due. */
void add_open_round(struct kw_text *text, const struct kw_round *round);

/* Adds all that is known of one check: "how", "caution". */
void add_check_details(struct kw_text *text,
                       const struct kw_round *round,
                       const struct kw_check *check);

/* Adds the checks of a round to a list that is open.
 *
 * open_only  leaves out what was done or skipped. */
void add_round_json(struct kw_json *json,
                    const struct kw_round *round,
                    bool open_only);

#endif
