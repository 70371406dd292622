/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "support/check.h"

#include "compare/lap_choice.h"

#include <string.h>

enum { MOST_LAPS = 12 };

/* Laps of one log: times and heat under load. */
struct rows {
    struct kw_lap_figures rows[MOST_LAPS];
    struct kw_lap_table table;
};

static void make_rows(struct rows *rows,
                      size_t n,
                      const double *time_s,
                      const double *loaded_c)
{
    *rows = (struct rows){0};
    for (size_t i = 0; i < n; i++) {
        rows->rows[i].lap = (struct kw_compared_lap){0, i + 2, KW_LAP_USED};
        rows->rows[i].time_s = time_s[i];
        rows->rows[i].loaded_c = loaded_c[i];
    }
    rows->table = (struct kw_lap_table){rows->rows, n, MOST_LAPS};
}

/* What a table of laps should come to; 'u' used, 'c' cold, 's' slow. */
struct choice_case {
    const char *label;
    size_t n;
    double time_s[MOST_LAPS];
    double loaded_c[MOST_LAPS];
    const char *expected;
};

static const struct choice_case cases[] = {
    {"all alike",
     6,
     {48.1, 48.0, 48.2, 48.1, 48.0, 48.1},
     {600, 601, 600, 602, 601, 600},
     "uuuuuu"},
    {"first lap cold",
     6,
     {48.1, 48.0, 48.2, 48.1, 48.0, 48.1},
     {570, 601, 600, 602, 601, 600},
     "cuuuuu"},
    {"as many as begin within two minutes",
     7,
     {48.1, 48.0, 48.2, 48.1, 48.0, 48.1, 48.0},
     {540, 560, 580, 600, 601, 602, 600},
     "cccuuuu"},
    {"as many as two minutes hold, where they are short",
     9,
     {21.1, 21.0, 21.2, 21.1, 21.0, 21.1, 21.0, 21.1, 21.0},
     {540, 555, 568, 580, 601, 602, 600, 601, 600},
     "ccccuuuuu"},
    {"a cool lap later on stays: it may be the change",
     6,
     {48.1, 48.0, 48.2, 48.1, 48.0, 48.1},
     {600, 601, 570, 602, 601, 600},
     "uuuuuu"},
    {"traffic",
     6,
     {48.1, 48.0, 55.0, 48.1, 48.0, 48.1},
     {600, 601, 600, 602, 601, 600},
     "uusuuu"},
    {"a little traffic",
     7,
     {38.4, 38.3, 38.5, 39.9, 38.4, 38.3, 38.4},
     {600, 601, 600, 602, 601, 600, 601},
     "uuusuuu"},
    {"a learner's laps are all kept",
     6,
     {48.0, 50.5, 47.1, 51.0, 49.2, 52.0},
     {600, 601, 600, 602, 601, 600},
     "uuuuuu"},
    {"too few to tell", 3, {48.1, 48.0, 48.2}, {570, 600, 601}, "uuu"},
    {"no heat known",
     5,
     {48.1, 48.0, 48.2, 48.1, 48.0},
     {NAN, NAN, NAN, NAN, NAN},
     "uuuuu"}};

/* A cold lap makes the richer jet look richer still; a lap behind traffic makes
 * the faster one look slow. */
static void test_lap_choice__cold_and_slow_laps_go(void **state)
{
    (void)state;
    for (size_t k = 0; k < sizeof cases / sizeof cases[0]; k++) {
        struct rows rows;
        char got[MOST_LAPS + 1] = {0};
        make_rows(&rows, cases[k].n, cases[k].time_s, cases[k].loaded_c);
        assert_int_equal(kw_choose_laps(&rows.table, NULL), KW_OK);
        for (size_t i = 0; i < cases[k].n; i++)
            got[i] = rows.rows[i].lap.use == KW_LAP_USED      ? 'u'
                     : rows.rows[i].lap.use == KW_LAP_IS_COLD ? 'c'
                     : rows.rows[i].lap.use == KW_LAP_IS_SLOW ? 's'
                                                              : '?';
        if (strcmp(got, cases[k].expected) != 0)
            fail_msg("%s: got %s, expected %s", cases[k].label, got,
                     cases[k].expected);
    }
}

/* What is left out is named: no reason may be without words. */
static void test_lap_choice__every_reason_has_words(void **state)
{
    (void)state;
    for (int use = 0; use < KW_N_LAP_USES; use++)
        assert_true(kw_lap_use_words((enum kw_lap_use)use)[0] != '\0');
    assert_string_equal(kw_lap_use_words(KW_N_LAP_USES), "");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_lap_choice__cold_and_slow_laps_go),
        cmocka_unit_test(test_lap_choice__every_reason_has_words)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
