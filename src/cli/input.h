/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What commands that read logs have in common: the kart's profile, and which
 * column holds what.
 *
 *     struct input input;
 *     status = input_open(&input, &words, &error);
 *     if (status == KW_OK)
 *         status = input_read(&input, "sunday.csv", &log, &error);
 *     input_close(&input);                        also after an error
 */
#ifndef KARTWRIGHT_CLI_INPUT_H
#define KARTWRIGHT_CLI_INPUT_H

#include "cli/command.h"
#include "kartwright/log.h"
#include "kartwright/profile.h"

/* kart     path of a profile, NULL for none.
 * columns  words "ROLE=HEADING" of --column; before those of the profile.
 * rate_hz  of --rate, 0 when it was not given. */
struct input_words {
    const char *kart;
    struct words columns;
    double rate_hz;
};

/* profile  states nothing when there was none.
 * choices  choices[n_choices]; the headings of the first n_owned are ours, the
 *          others the profile's. */
struct input {
    struct kw_profile profile;
    struct kw_column_choice *choices;
    size_t n_choices;
    size_t n_owned;
    double rate_hz;
};

/* returns  KW_OK; KW_BAD_USAGE (a wrong --column or --rate); what
 *          kw_profile_read() gives. */
enum kw_status input_open(struct input *input,
                          const struct input_words *words,
                          struct kw_error *error);

/* returns  as kw_log_read(). */
enum kw_status input_read(const struct input *input,
                          const char *path,
                          struct kw_log *log,
                          struct kw_error *error);
void input_close(struct input *input);

#endif
