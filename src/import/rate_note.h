/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The sample rate as a note above the table states it. */
#ifndef KARTWRIGHT_IMPORT_RATE_NOTE_H
#define KARTWRIGHT_IMPORT_RATE_NOTE_H

#include "import/head.h"

/* Samples each second, from a number beside the letters Hz, or from the
 * interval between two in s or ms; the first note that states one counts.
 *
 * head     rows, heading and delimiter are known.
 * line     on which it stands.
 * returns  NAN for none. */
double kw_rate_note(const struct kw_head *head, size_t *line);

#endif
