/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The words of headings in the languages that we know, as tables for racers to
 * read and add to. How they are searched stands in headings.c. */
#ifndef KARTWRIGHT_IMPORT_HEADING_WORDS_H
#define KARTWRIGHT_IMPORT_HEADING_WORDS_H

#include "core/units.h"
#include "kartwright/log.h"

/* One way to call a column.
 *
 * score  how sure that makes us: 12 for words that are never anything else, 4
 *        for those that need a unit beside them. The highest wins.
 * words  all must be in the heading, in any order; lower case, no accents. "*"
 *        stands for any letters. */
struct kw_phrase {
    enum kw_role role;
    int score;
    const char *words;
};

/* Those of both tables, from 0 to kw_n_phrases() - 1. */
size_t kw_n_phrases(void);
const struct kw_phrase *kw_phrase(size_t i);

/* The second table alone, for kw_phrase(). */
extern const struct kw_phrase kw_track_phrases[];
extern const size_t kw_n_track_phrases;

#endif
