/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What the scripts of all plots have in common. */
#include "support/check.h"

#include "report/script.h"

#include <string.h>

/* Times that run into each other cannot be read; ten of them fit. */
static void test_script__times_of_any_log_stand_apart(void **state)
{
    (void)state;
    static const struct {
        double length_s;
        const char *marks;
    } rows[] = {
        {0.0, "set xtics 1 time format '%tM:%tS'"},
        {40.0, "set xtics 5 time format '%tM:%tS'"},
        {563.0, "set xtics 60 time format '%tM:%tS'"},
        {709.0, "set xtics 120 time format '%tM:%tS'"},
        {3600.0, "set xtics 600 time format '%tM:%tS'"},
        {36000.0, "set xtics 3600 time format '%tH:%tM'"},
        {86400.0, "set xtics 10800 time format '%tH:%tM'"},
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct kw_plot plot = {0};
        kw_script_time_axis(&plot, 5.0, 5.0 + rows[i].length_s);
        assert_false(kw_text_failed(&plot.script));
        check_true(rows[i].marks,
                   strstr(plot.script.bytes, rows[i].marks) != NULL);
        kw_text_free(&plot.script);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_script__times_of_any_log_stand_apart),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
