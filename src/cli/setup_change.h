/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What was changed between two setups of the logbook. */
#ifndef KARTWRIGHT_CLI_SETUP_CHANGE_H
#define KARTWRIGHT_CLI_SETUP_CHANGE_H

#include "core/text.h"

/* One "name=value" of a setup; a word without a value has an empty one.
 *
 * word  NULL behind the last one. The setup's, as is value. */
struct setting {
    const char *word;
    size_t name_length;
    const char *value;
    size_t value_length;
};

/* The first of a setup, and the one behind another. */
struct setting setting_at(const char *setup);
struct setting next_setting(const struct setting *setting);

/* The setting of the same name; its word is NULL where there is none. */
struct setting find_setting(const char *setup, const struct setting *like);

bool has_same_value(const struct setting *a, const struct setting *b);

/* Adds "main_jet 142, then 145; gearing 11/78, then none" to a text.
 *
 * before, after  setups such as "main_jet=142 gearing=11/78".
 * returns        how many settings differ; where none does nothing is added. */
size_t add_setup_changes(struct kw_text *text,
                         const char *before,
                         const char *after);

#endif
