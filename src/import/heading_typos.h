/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Words of a heading that are one letter off a known one: "Drehzal". */
#ifndef KARTWRIGHT_IMPORT_HEADING_TYPOS_H
#define KARTWRIGHT_IMPORT_HEADING_TYPOS_H

#include "import/heading_match.h"

/* Puts the known word in the place of each that is one letter off it: one too
 * many, one missing, one wrong, or two swapped. Only for long words, and never
 * at their first or last letter, where other words and other forms differ.
 *
 * Only words of the tables of headings: a misspelt "target" is not seen. The
 * first word in the order of the tables wins.
 *
 * returns  whether there was one. */
bool kw_words_mend(struct kw_words *words);

#endif
