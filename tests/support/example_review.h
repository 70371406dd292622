/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A review made by hand: ten minutes at 20 Hz of an invented kart, with laps, a
 * lean episode, a drop-out and two starts. For tests of what comes after the
 * analysis. */
#ifndef KARTWRIGHT_TESTS_EXAMPLE_REVIEW_H
#define KARTWRIGHT_TESTS_EXAMPLE_REVIEW_H

#include "kartwright/review.h"

/* The whole review; free it with kw_review_free(). Fails the test when memory
 * is short. */
void example_review(struct kw_review *review);

/* The same with nothing found, no EGT, no laps and no position. */
void bare_review(struct kw_review *review);

/* A heading with all that could hurt a sink: quotes, tags, a shell command, a
 * line feed, an escape sequence, a mark that turns writing round, a byte that
 * is no UTF-8. */
extern const char hostile_heading[];

/* Puts it everywhere that text from outside can come from. */
void make_hostile(struct kw_review *review);

#endif
