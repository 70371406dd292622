/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What `kartwright gearing` answers, for a person and as JSON. */
#ifndef KARTWRIGHT_CLI_GEARING_OUT_H
#define KARTWRIGHT_CLI_GEARING_OUT_H

#include "cli/json_out.h"
#include "core/text.h"
#include "kartwright/trackside.h"

/* The border of units is here: the library knows metres per second only. */
#define KMH_A_M_S 3.6

/* What is printed fits a pocket. */
enum { GEARING_COLUMNS = 48 };

/* NAN for what was not asked or cannot be known.
 *
 * rpm, speed_kmh  the pair that the table is for.
 * has_log  the log that `seen` is from was given.
 * notices  of that log, laid out; owned.
 * target_rpm  that was asked for. */
struct gearing_answer {
    struct kw_gearing gearing;
    double rpm;
    double speed_kmh;
    bool has_log;
    struct kw_gearing_seen seen;
    struct kw_text notices;
    double target_rpm;
    double axle_teeth_for_target;
    double links_exact;
    double links;
    double centres_mm;
};

/* Prints it in GEARING_COLUMNS.
 *
 * explain  name the formulas, too. */
void print_gearing(const struct gearing_answer *answer, bool explain);

/* As the contract has it; NULL when memory is short. The caller owns it. */
json_t *gearing_as_json(const struct gearing_answer *answer);

#endif
