/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A time without a unit, held against what engines do. */
#include "support/check.h"

#include "support/log_file.h"
#include "support/scratch.h"

#include <math.h>
#include <string.h>

enum { ROWS = 1500, TEXT_SIZE = 65536 };

/* Pulls of 6 s and 1.5 s of braking, over and over. */
static double rpm_at(double at_s)
{
    const double in_pull_s = fmod(at_s, 7.5);
    return in_pull_s < 6.0 ? 7000.0 + 8000.0 * in_pull_s / 6.0
                           : 15000.0 - 8000.0 * (in_pull_s - 6.0) / 1.5;
}

/* A session of ROWS rows.
 *
 * in_a_second  numbers of the time column.
 * halved       one row of so many reads half, 0 for none.
 * what         of the refusal, NULL for a log that is read.
 * notice       NULL for none about the time. */
struct sense_case {
    const char *heading;
    double rate_hz;
    double in_a_second;
    int halved;
    const char *what;
    const char *notice;
};

static const struct sense_case cases[] = {
    {"Time", 20.0, 1.0, 0, NULL, NULL},
    {"Time", 100.0, 1.0, 0, NULL, NULL},
    /* a lead that chafes is no clock that runs fast */
    {"Time", 50.0, 1.0, 3, NULL, NULL},
    {"Time", 1.0, 1.0, 0, NULL,
     "column 'Time': no unit: s by its steps. If that is wrong, write the unit "
     "in its heading"},
    {"Time", 20.0, 1000.0, 0, NULL,
     "column 'Time': no unit: ms by its steps. If that is wrong, write the "
     "unit in its heading"},
    {"Time", 20.0, 100.0, 0,
     "the time column 'Time' has no unit, and taken as ms it gives RPM that "
     "change faster than any engine's",
     NULL},
    {"Time [1/100 s]", 20.0, 100.0, 0, NULL, NULL},
    {"Time", 10.0, 10.0, 0,
     "the time column 'Time' has no unit, and taken as s it gives RPM that "
     "change more slowly than any driver's",
     NULL},
    {"Time [1/10 s]", 10.0, 10.0, 0, NULL, NULL},
    {"Time [s]", 10.0, 10.0, 0, NULL, NULL},
    {"Time", 20.0, 1.0 / 60.0, 0,
     "the time column 'Time' has no unit, and taken as s it gives more than a "
     "thousand rows each second",
     NULL},
    {"Time", 500.0, 1.0, 0,
     "the time column 'Time' has no unit, and taken as s it gives a session "
     "of a few seconds",
     NULL},
    {"Time [min]", 20.0, 1.0 / 60.0, 0, NULL, NULL},
};

static void write_session(char *text, const struct sense_case *c)
{
    size_t n = (size_t)snprintf(text, TEXT_SIZE, "%s,RPM\n", c->heading);
    for (int row = 0; row < ROWS; row++) {
        const double at_s = row / c->rate_hz;
        const double rpm = rpm_at(at_s);
        n += (size_t)snprintf(
            text + n, TEXT_SIZE - n, "%.12g,%.0f\n", at_s * c->in_a_second,
            c->halved > 0 && row % c->halved == 0 ? rpm / 2 : rpm);
    }
}

static void test_time_sense__engine_tells_a_wrong_unit(void **state)
{
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        const struct sense_case *c = &cases[i];
        static char text[TEXT_SIZE];
        struct kw_log log = {0};
        struct kw_error error = {0};
        write_session(text, c);
        log_write(*state, text, strlen(text));
        const enum kw_status status = log_read(*state, NULL, &log, &error);
        const char *notice =
            log.notices.n > 0 ? log.notices.items[0].text : NULL;
        if ((status == KW_OK) != (c->what == NULL) ||
            (c->what != NULL && strcmp(error.what, c->what) != 0) ||
            (notice == NULL) != (c->notice == NULL) ||
            (notice != NULL && strcmp(notice, c->notice) != 0))
            fail_msg("%zu: %s / %s", i, error.what, notice);
        kw_log_free(&log);
    }
}

/* An engine on its stand says nothing of the clock. */
static void test_time_sense__steady_engine_is_no_witness(void **state)
{
    static char text[TEXT_SIZE];
    struct kw_log log;
    size_t n = (size_t)snprintf(text, sizeof text, "Time,RPM\n");
    for (int row = 0; row < ROWS; row++)
        n += (size_t)snprintf(text + n, sizeof text - n, "%d,%d\n", 5 * row,
                              2000 + row % 7);
    log_from(*state, text, &log);
    assert_int_equal(log.rows_used, ROWS);
    kw_log_free(&log);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        IN_SCRATCH(test_time_sense__engine_tells_a_wrong_unit),
        IN_SCRATCH(test_time_sense__steady_engine_is_no_witness),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
