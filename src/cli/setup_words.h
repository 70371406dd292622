/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Numbers out of a setup such as "main_jet=142 needle_clip=3 gearing=11/78", as
 * `logbook add --setup` keeps it. */
#ifndef KARTWRIGHT_CLI_SETUP_WORDS_H
#define KARTWRIGHT_CLI_SETUP_WORDS_H

#include "kartwright/error.h"

/* Refuses a setup without "key=value", and one whose main_jet or gearing is no
 * number above 0 or stands twice, or in which a comma stands between digits.
 *
 * setup    or NULL, which is right.
 * returns  KW_OK; KW_BAD_USAGE. */
enum kw_status check_setup(const char *setup, struct kw_error *error);

/* Each takes a setup or NULL; NAN for what it does not say. A gearing without a
 * slash is a ratio and names no teeth. */
double main_jet_of_setup(const char *setup);
void gearing_of_setup(const char *setup,
                      double *engine_teeth,
                      double *axle_teeth);

#endif
