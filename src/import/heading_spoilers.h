/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Words that name another quantity. */
#ifndef KARTWRIGHT_IMPORT_HEADING_SPOILERS_H
#define KARTWRIGHT_IMPORT_HEADING_SPOILERS_H

#include "core/units.h"
#include "import/heading_match.h"

/* Does a word of the heading name another quantity? That ends the matter,
 * however well the rest fits.
 *
 * quantity  of the role that the other words name. */
bool kw_is_spoiled(const struct kw_words *words, enum kw_quantity quantity);

#endif
