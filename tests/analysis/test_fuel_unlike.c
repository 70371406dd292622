/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "analysis/fuel_unlike.h"

#include "support/check.h"

#include <math.h>
#include <string.h>

enum { MOST = 8 };

struct session_case {
    const char *label;
    double hotter_c[MOST];
    size_t n;
    size_t left;
};

/* Those that stay keep their order and their heat. */
static void test_fuel_unlike__a_few_cool_among_hot_go(void **state)
{
    (void)state;
    static const struct session_case cases[] = {
        {"none", {0}, 0, 0},
        {"all alike", {40, 45, 50, 38, 41, 44}, 6, 6},
        {"one cool", {40, 0, 50, 38, 41, 44}, 6, 5},
        {"two cool", {3, 45, 50, 38, 41, 44, -20}, 7, 5},
        {"three cool", {3, 45, 50, 38, 41, 44, -20, 5}, 8, 8},
        {"less hot, not cool", {40, 14, 50, 38, 41, 44}, 6, 6},
        {"one cool of five", {40, 0, 50, 38, 41}, 5, 4},
        {"one cool of four", {40, 0, 50, 38}, 4, 4},
        {"one not known", {40, NAN, 50, 0, 41, 44}, 6, 5},
        {"none of them hot", {20, 0, 23, 22, 24, 21}, 6, 6},
    };
    for (size_t k = 0; k < sizeof cases / sizeof cases[0]; k++) {
        struct kw_fuel_sag items[MOST];
        double hotter_c[MOST];
        double scratch[MOST];
        for (size_t i = 0; i < cases[k].n; i++) {
            hotter_c[i] = cases[k].hotter_c[i];
            items[i] = (struct kw_fuel_sag){.lost_rpm = hotter_c[i]};
        }
        struct kw_fuel_sags sags = {items, cases[k].n, MOST};
        kw_drop_unlike_sags(&sags, hotter_c, scratch);
        check_near(cases[k].label, (double)sags.n, (double)cases[k].left, 0.0);
        for (size_t i = 0; i < sags.n; i++) {
            check_true(cases[k].label, memcmp(&items[i].lost_rpm, &hotter_c[i],
                                              sizeof hotter_c[i]) == 0);
            check_true(cases[k].label,
                       cases[k].left == cases[k].n || !(hotter_c[i] < 10.0));
        }
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_fuel_unlike__a_few_cool_among_hot_go),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
