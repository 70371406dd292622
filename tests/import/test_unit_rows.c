/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The row of units: one unit that is not known must not take the others with
 * it, for exhaust in K read as C is a fault that is none. And factors of engine
 * speed, which the numbers confirm. */
#include "support/check.h"

#include "support/log_file.h"
#include "support/scratch.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

enum { TEXT_SIZE = 1 << 16, ROWS = 400 };

static const double IDLE = 2000.0;

/* What the numbers of a log are.
 *
 * top      of RPM, which swings from half of it.
 * hot      of the exhaust, which swings a tenth.
 * doubled  one reading of RPM in so many is doubled, as by a wire that chafes;
 *          0 for none.
 * idle     so many rows before it swings, at IDLE. */
struct numbers {
    double top;
    double hot;
    int doubled;
    int idle;
};

/* A log of time, RPM, EGT, speed, lap and position below the stated rows. */
static void read_log(const void *folder,
                     const char *rows,
                     const struct numbers *numbers,
                     struct kw_log *log)
{
    static char text[TEXT_SIZE];
    size_t n = (size_t)snprintf(text, TEXT_SIZE, "%s\n", rows);
    for (int i = 0; i < ROWS; i++) {
        const double swing = 0.5 + 0.5 * sin(i / 20.0);
        const bool twice = numbers->doubled > 0 && i % numbers->doubled == 0;
        const double rpm =
            i < numbers->idle ? IDLE : numbers->top * (0.5 + 0.5 * swing);
        n += (size_t)snprintf(text + n, TEXT_SIZE - n,
                              "%d.%02d;%.2f;%.0f;%.0f;%d;%d.5;9.5\n", i / 20,
                              i % 20 * 5, twice ? 2.0 * rpm : rpm,
                              numbers->hot * (0.9 + 0.1 * swing),
                              50.0 + 20.0 * swing, i / 200, 42 + i % 2);
    }
    log_from(folder, text, log);
}

static const char *unit_of(const struct kw_log *log, enum kw_role role)
{
    const struct kw_channel *channel = kw_log_channel(log, role, 0);
    return channel != NULL ? channel->unit : "none";
}

static const char heading[] = "Time;RPM;EGT;Speed;Lap;lon;lat";
static const struct numbers in_k = {13000.0, 900.0, 0, 0};

/* egt     the unit that it is read in.
 * notice  that is told of the row, NULL for none. */
static const struct row_case {
    const char *row;
    const char *egt;
    const char *speed;
    const char *notice;
} row_cases[] = {
    {"s;rpm;K;km/h;;deg;deg", "K", "km/h", NULL},
    {";10 rpm;K;km/h;;\xC2\xB0;\xC2\xB0", "K", "km/h", NULL},
    {";x10 rpm;F;mph;;\xB0;\xB0", "F", "mph", NULL},
    {"-;n/a;[K];[mph];[-];-;?", "K", "mph", NULL},
    {";;\xC2\xBAK;;#;[\xC2\xB0];(\xC2\xB0)", "K", "km/h", NULL},
    {"s;rpm;Grd.Kel;mph;;;", "C", "mph",
     "units that are not known are left out: 'Grd.Kel' of column 'EGT'"},
    {"tick;;Kelvin;GPS;of 12;;", "K", "km/h",
     "units that are not known are left out: 'tick' of column 'Time', 'GPS' of "
     "column 'Speed'"},
    {"p;q;K;mph;r;t;u", "K", "mph",
     "units that are not known are left out: 'p' of column 'Time', 'q' of "
     "column 'RPM', 't' of column 'lon', 'u' of column 'lat'"},
    {"p;q;Kelvin;r;;y;z", "K", "km/h",
     "units that are not known are left out: 'p' of column 'Time', 'q' of "
     "column 'RPM', 'r' of column 'Speed', 'y' of column 'lon' and more"},
    /* a lone letter: the numbers agree, or not */
    {"tick;foo;K;bar;baz;x;y", "K", "km/h",
     "this row may be units, but hardly any is known: only what fits the "
     "numbers was used. If it states the units, write them in the headings"},
    /* other headings, below which no units follow */
    {"Zeit;Drehzahl;K;Tempo;Runde;x;y", "C", "km/h", NULL},
};

static void test_unit_rows__one_unknown_unit_keeps_the_others(void **state)
{
    for (size_t i = 0; i < sizeof row_cases / sizeof row_cases[0]; i++) {
        const struct row_case *c = &row_cases[i];
        char rows[256];
        struct kw_log log;
        snprintf(rows, sizeof rows, "%s\n%s", heading, c->row);
        read_log(*state, rows, &in_k, &log);
        if (strcmp(unit_of(&log, KW_ROLE_EGT), c->egt) != 0 ||
            strcmp(unit_of(&log, KW_ROLE_SPEED), c->speed) != 0)
            fail_msg("%s: EGT in %s, speed in %s", c->row,
                     unit_of(&log, KW_ROLE_EGT), unit_of(&log, KW_ROLE_SPEED));
        check_near(c->row, (double)log.rows_used, ROWS, 0.0);
        if (c->notice != NULL && log_notice(&log, c->notice) == NULL)
            fail_msg("%s: '%s'", c->row,
                     log.notices.n > 0 ? log.notices.items[0].text : "");
        kw_log_free(&log);
    }
}

/* A probe of type K, and probes that are called by letters: not in Kelvin. */
static void test_unit_rows__letter_against_the_numbers_is_no_unit(void **state)
{
    static const char *const cases[] = {"tick;counted;K;foo;bar;x;y",
                                        "A;B;C;D;E;F;G", "A;B;K;D;E;G;I"};
    static const struct numbers in_c = {13000.0, 640.0, 0, 0};
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        char rows[256];
        struct kw_log log;
        snprintf(rows, sizeof rows, "%s\n%s", heading, cases[i]);
        read_log(*state, rows, &in_c, &log);
        assert_string_equal(unit_of(&log, KW_ROLE_EGT), "C");
        kw_log_free(&log);
    }
}

/* Wherever the row stands, and whatever stands between it and the data. */
static void test_unit_rows__are_found_where_they_stand(void **state)
{
    static const char *const cases[] = {
        "s;rpm;K;km/h;;deg;deg\nTime;RPM;EGT;Speed;Lap;lon;lat",
        "Engine;;;GPS;;;\nTime;RPM;EGT;Speed;Lap;lon;lat\ns;rpm;K;km/h;;deg;"
        "deg",
        "Time;RPM;EGT;Speed;Lap;lon;lat\nZeit;Drehzahl;Abgastemp;Tempo;Runde;"
        "x;y\ns;U/min;K;km/h;;deg;deg",
        "Time;RPM;EGT;Speed;Lap;lon;lat\ndouble;int;int;float;int;x;y\ns;rpm;K;"
        "km/h;;deg;deg",
        "Time;RPM;EGT;Speed;Lap;lon;lat\ns;rpm;K;km/h;;deg;deg\n20 Hz;20 Hz;4 "
        "Hz;10 Hz;20 Hz;10 Hz;10 Hz",
    };
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        struct kw_log log;
        read_log(*state, cases[i], &in_k, &log);
        if (strcmp(unit_of(&log, KW_ROLE_EGT), "K") != 0)
            fail_msg("%s: EGT in %s", cases[i], unit_of(&log, KW_ROLE_EGT));
        check_near(cases[i], (double)log.rows_used, ROWS, 0.0);
        check_near(cases[i], (double)log.notices.n, 0.0, 0.0);
        kw_log_free(&log);
    }
}

/* Steps in a row below the heading are no first readings, and say no more than
 * how finely was logged where their factor makes no sense. */
static void test_unit_rows__steps_are_no_readings(void **state)
{
    static const struct numbers in_c = {13000.0, 640.0, 0, 0};
    static const char rows[] =
        "Time;RPM;EGT;Speed;Lap;lon;lat\n0.05 s;10 rpm;0.1 C;1 km/h;;;";
    struct kw_log log;
    read_log(*state, rows, &in_c, &log);
    assert_int_equal(log.data_rows, ROWS);
    assert_string_equal(unit_of(&log, KW_ROLE_RPM), "rpm");
    assert_string_equal(unit_of(&log, KW_ROLE_EGT), "C");
    assert_string_equal(unit_of(&log, KW_ROLE_SPEED), "km/h");
    assert_non_null(log_notice(
        &log, "column 'EGT': as tenths too cold for an exhaust: taken as C. If "
              "that is wrong, have it logged in plain C or F"));
    kw_log_free(&log);
}

/* top   the highest number in the file.
 * unit  it is read in. */
static const struct factor_case {
    const char *row;
    double top;
    const char *unit;
    bool asked;
    int doubled;
    int idle;
} factor_cases[] = {
    {"x10 rpm", 1300.0, "rpm x 10", false, 0, 0},
    {"10 rpm", 2000.0, "rpm x 10", false, 0, 0},
    {"1/10 rpm", 130000.0, "0.1 rpm", false, 0, 0},
    {"1000 rpm", 13.0, "rpm x 1000", false, 0, 0},
    /* idling */
    {"x10 rpm", 200.0, "rpm x 10", false, 0, 0},
    /* meant the other way round */
    {"1/10 rpm", 1300.0, "rpm x 10", true, 0, 0},
    {"rpm x10", 130000.0, "0.1 rpm", true, 0, 0},
    /* how finely it was logged */
    {"10 rpm", 13000.0, "rpm", true, 0, 0},
    {"0.1 rpm", 13000.0, "rpm", true, 0, 0},
    {"10 rpm", 3600.0, "rpm", true, 0, 0},
    {"10 rpm", 13000.0, "rpm", true, 0, 320},
    /* a wire chafes */
    {"x10 rpm", 1300.0, "rpm x 10", false, 8, 0},
    {"10 rpm", 1900.0, "rpm x 10", false, 8, 0},
    {"10 rpm", 13000.0, "rpm", true, 8, 0},
};

static void test_unit_rows__factor_of_rpm_is_confirmed_or_asked(void **state)
{
    for (size_t i = 0; i < sizeof factor_cases / sizeof factor_cases[0]; i++) {
        const struct factor_case *c = &factor_cases[i];
        const struct numbers numbers = {c->top, 640.0, c->doubled, c->idle};
        char rows[256];
        struct kw_log log;
        snprintf(rows, sizeof rows, "%s\ns;%s;C;km/h;;deg;deg", heading,
                 c->row);
        read_log(*state, rows, &numbers, &log);
        if (strcmp(unit_of(&log, KW_ROLE_RPM), c->unit) != 0 ||
            (log.notices.n > 0) != c->asked)
            fail_msg("%s, %.0f: in %s, %zu notices", c->row, c->top,
                     unit_of(&log, KW_ROLE_RPM), log.notices.n);
        kw_log_free(&log);
    }
}

/* Tenths of a degree and kelvin are so, unless they would be of no exhaust. */
static void test_unit_rows__units_of_exhaust_are_confirmed(void **state)
{
    static const struct {
        const char *unit;
        double hot;
        const char *read_in;
    } cases[] = {
        {"0.1 C", 6400.0, "0.1 C"},  {"0.1 C", 640.0, "C"},
        {"0.1 C", 280.0, "0.1 C"},   {"0.1 C", 1200.0, "0.1 C"},
        {"0.1 F", 1200.0, "F"},      {"0.1 F", 1600.0, "0.1 F"},
        {"0.1 F", 12000.0, "0.1 F"}, {"K", 880.0, "K"},
        {"K", 270.0, "K"},           {"K", 220.0, "C"},
    };
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        const struct numbers numbers = {13000.0, cases[i].hot, 0, 0};
        char rows[256];
        struct kw_log log;
        snprintf(rows, sizeof rows, "%s\ns;rpm;%s;km/h;;deg;deg", heading,
                 cases[i].unit);
        read_log(*state, rows, &numbers, &log);
        if (strcmp(unit_of(&log, KW_ROLE_EGT), cases[i].read_in) != 0)
            fail_msg("%s, %.0f: in %s", cases[i].unit, cases[i].hot,
                     unit_of(&log, KW_ROLE_EGT));
        kw_log_free(&log);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        IN_SCRATCH(test_unit_rows__one_unknown_unit_keeps_the_others),
        IN_SCRATCH(test_unit_rows__letter_against_the_numbers_is_no_unit),
        IN_SCRATCH(test_unit_rows__are_found_where_they_stand),
        IN_SCRATCH(test_unit_rows__steps_are_no_readings),
        IN_SCRATCH(test_unit_rows__units_of_exhaust_are_confirmed),
        IN_SCRATCH(test_unit_rows__factor_of_rpm_is_confirmed_or_asked),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
