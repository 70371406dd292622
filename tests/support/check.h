/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What every test file includes: cmocka with the headers that it wants first,
 * and comparisons that it lacks. */
#ifndef KARTWRIGHT_TESTS_CHECK_H
#define KARTWRIGHT_TESTS_CHECK_H

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>

#include <cmocka.h>

/* Fails with the row's label unless |got - expected| <= tolerance; two NAN are
 * the same. */
static inline void check_near(const char *label,
                              double got,
                              double expected,
                              double tolerance)
{
    if (isnan(got) && isnan(expected))
        return;
    if (!(fabs(got - expected) <= tolerance))
        fail_msg("%s: got %.17g, expected %.17g within %g", label, got,
                 expected, tolerance);
}

/* Fails with the row's label unless the condition holds. */
static inline void check_true(const char *label, int condition)
{
    if (!condition)
        fail_msg("%s: does not hold", label);
}

#endif
