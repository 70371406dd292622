/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Numbers out of a setup such as "main_jet=142 needle_clip=3 gearing=11/78", as
 * `logbook add --setup` keeps it. */
#ifndef KARTWRIGHT_CLI_SETUP_WORDS_H
#define KARTWRIGHT_CLI_SETUP_WORDS_H

/* Each takes a setup or NULL; NAN for what it does not say. A gearing without a
 * slash is a ratio and names no teeth. */
double main_jet_of_setup(const char *setup);
void gearing_of_setup(const char *setup,
                      double *engine_teeth,
                      double *axle_teeth);

#endif
