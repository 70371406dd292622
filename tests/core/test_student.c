/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "core/student.h"

#include "support/check.h"

#include <math.h>

/* NIST/SEMATECH e-Handbook 1.3.6.7.2, critical values at 0.975, three digits
 * behind the point. */
static void test_student__reach_is_that_of_the_tables(void **state)
{
    (void)state;
    static const struct {
        double df;
        double reach;
    } rows[] = {{1, 12.706}, {2, 4.303}, {5, 2.571}, {10, 2.228}, {100, 1.984}};
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++)
        check_near("reach", kw_student_reach(rows[i].df), rows[i].reach, 5e-4);
}

/* What lies at the edge of the interval is chance one time in twenty, whichever
 * way it went. */
static void test_student__p_is_two_sided(void **state)
{
    (void)state;
    for (double df = 1.5; df < 40.0; df *= 2.0) {
        const double reach = kw_student_reach(df);
        check_near("above", kw_student_p(reach, df), 0.05, 1e-9);
        check_near("below", kw_student_p(-reach, df), 0.05, 1e-9);
    }
    check_near("nothing", kw_student_p(0.0, 7.0), 1.0, 1e-12);
    assert_true(isnan(kw_student_p(NAN, 7.0)));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_student__reach_is_that_of_the_tables),
        cmocka_unit_test(test_student__p_is_two_sided),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
