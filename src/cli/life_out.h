/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Lives of parts for a person: always with whose figure it is. */
#ifndef KARTWRIGHT_CLI_LIFE_OUT_H
#define KARTWRIGHT_CLI_LIFE_OUT_H

#include "core/text.h"
#include "kartwright/upkeep.h"

/* "your figure" or "common practice"; NULL for no life. */
const char *life_source_words(enum kw_life_source source);

/* As other programs read it: "yours", "common_practice"; NULL for no life. */
const char *life_source_name(enum kw_life_source source);

/* Adds "8.0 h, 365 days". */
void add_life(struct kw_text *text, double life_h, double life_days);

/* Adds the whole list, the owner's figures marked. */
void add_lives(struct kw_text *text, const struct kw_lives *lives);

/* Adds what stands for one kind of part.
 *
 * life  NULL where it has none. */
void add_one_life(struct kw_text *text,
                  const char *part,
                  const struct kw_life *life);

#endif
