/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Laps of two sessions held against each other. */
#ifndef KARTWRIGHT_COMPARE_LAP_TEST_H
#define KARTWRIGHT_COMPARE_LAP_TEST_H

#include "compare/two_sample.h"

/* Welch's test on laps, the laps of a side counted as fewer where they resemble
 * each other, and with what two sessions differ by though nothing was changed:
 * laps of one session cannot show that, however many they are.
 *
 * floor    as in kw_welch().
 * session  standard deviation of one session about the usual, in the values'
 *          unit; 0 for none.
 * returns  as kw_welch(). Where `session` counts it adds to the error and
 *          brings no loss of freedom of its own: it is known beforehand. */
struct kw_two_sample kw_test_laps(const struct kw_sample *before,
                                  const struct kw_sample *after,
                                  double floor,
                                  double session);

#endif
