/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A passing of the line in a row that is left out must not cost a lap. */
#include "support/check.h"

#include "support/log_file.h"
#include "support/scratch.h"

#include <stdio.h>
#include <string.h>

enum { TEXT_SIZE = 8192, ROWS = 40, EVENT = 20 };

/* Rows at 1 Hz, with lines behind row EVENT - 1. */
static void put_log(char *text, const char *event)
{
    size_t n = (size_t)snprintf(text, TEXT_SIZE, "Time (s),RPM,Marker\n");
    for (int i = 0; i < ROWS; i++)
        n += (size_t)snprintf(text + n, TEXT_SIZE - n, "%s%d,%d,0\n",
                              i == EVENT ? event : "", i, 9000 + i);
}

struct marker_case {
    const char *label;
    const char *event;
    double markers;
    double next;
};

static void test_lost_markers__go_to_the_next_row(void **state)
{
    static const struct marker_case cases[] = {
        {"stamp repeated", "19,9019,1\n", 1.0, 1.0},
        {"nothing but the marker", "19,,1\n", 1.0, 1.0},
        {"a word", "19,,X\n", 1.0, 1.0},
        {"two rows back", "17,9017,1\n", 1.0, 1.0},
        {"two lines", "19,,1\n19,,1\n", 1.0, 1.0},
        /* Only its stamp is wrong: it was passed here. */
        {"far ahead", "900,9000,1\n", 1.0, 1.0},
        {"no marker", "19,9019,0\n", 0.0, 0.0},
        {"blank", "19,9019,\n", 0.0, 0.0},
        /* Rows that were sent again have had their say. */
        {"minutes back", "2,9002,1\n", 0.0, 0.0},
    };
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        char text[TEXT_SIZE];
        struct kw_log log;
        put_log(text, cases[i].event);
        log_from(*state, text, &log);
        const double *marker =
            kw_log_channel(&log, KW_ROLE_LAP_MARKER, 0)->values;
        double sum = 0.0;
        for (size_t k = 0; k < log.rows_used; k++)
            sum += marker[k];
        check_near(cases[i].label, (double)log.rows_used, ROWS, 0.0);
        check_near(cases[i].label, sum, cases[i].markers, 0.0);
        check_near(cases[i].label, marker[EVENT], cases[i].next, 0.0);
        kw_log_free(&log);
    }
}

/* The row and its copy are one passing. */
static void test_lost_markers__copy_is_no_second_passing(void **state)
{
    static const char *const events[] = {"19.5,9019,1\n19.5,9019,1\n",
                                         "19.3,9,1\n19.6,9,0\n19.3,9,1\n",
                                         "19.3,9,0\n19.2,9,1\n19.4,9,1\n"};
    for (size_t i = 0; i < sizeof events / sizeof events[0]; i++) {
        char text[TEXT_SIZE];
        struct kw_log log;
        put_log(text, events[i]);
        log_from(*state, text, &log);
        const double *marker =
            kw_log_channel(&log, KW_ROLE_LAP_MARKER, 0)->values;
        double sum = 0.0;
        for (size_t k = 0; k < log.rows_used; k++)
            sum += marker[k];
        check_near(events[i], sum, 1.0, 0.0);
        kw_log_free(&log);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        IN_SCRATCH(test_lost_markers__go_to_the_next_row),
        IN_SCRATCH(test_lost_markers__copy_is_no_second_passing),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
