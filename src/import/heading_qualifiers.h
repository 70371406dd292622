/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Words that make a column something worked out of the reading: its highest
 * value, its mean, its target, what is left of it. */
#ifndef KARTWRIGHT_IMPORT_HEADING_QUALIFIERS_H
#define KARTWRIGHT_IMPORT_HEADING_QUALIFIERS_H

#include "import/heading_match.h"
#include "kartwright/log.h"

/* LESSER   it is taken where no plainer heading is there.
 * DERIVED  it is never the reading itself. */
enum kw_standing { KW_PLAIN, KW_LESSER, KW_DERIVED };

/* How a heading stands as one of that role.
 *
 * has_unit  it states a unit of the role.
 * why       set where it is DERIVED: what it is, for the person. */
enum kw_standing kw_standing_of(const struct kw_words *words,
                                enum kw_role role,
                                bool has_unit,
                                const char **why);

#endif
