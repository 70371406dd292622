/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Numbers that stand for no reading: left in, 65535 is the highest RPM of the
 * session, and an open probe makes Fahrenheit of Celsius; taken out wrongly, a
 * racer loses readings that were true. */
#include "import/no_reading.h"

#include "support/check.h"
#include "support/log_file.h"
#include "support/scratch.h"

#include <string.h>

enum { ROWS = 400, TEXT_SIZE = 40 * ROWS };

/* A column that climbs and falls between two levels, once in 40 rows, with some
 * rows replaced.
 *
 * every    each so-and-so-many-th row holds `odd`; 0 for none.
 * grows    added to `odd` each time: a spike is never twice the same.
 * found    what is taken for no reading; NAN for nothing. */
struct column_case {
    const char *label;
    enum kw_role role;
    double low;
    double high;
    size_t every;
    double odd;
    double grows;
    double found;
};

static const struct column_case columns[] = {
    {"RPM 65535", KW_ROLE_RPM, 1800, 15200, 50, 65535, 0, 65535},
    {"RPM 32767", KW_ROLE_RPM, 1800, 15200, 20, 32767, 0, 32767},
    {"four-stroke 9999", KW_ROLE_RPM, 1500, 6300, 30, 9999, 0, 9999},
    {"RPM -1", KW_ROLE_RPM, 1800, 15200, 30, -1, 0, -1},
    {"axle 65535", KW_ROLE_AXLE_RPM, 0, 2000, 30, 65535, 0, 65535},
    {"speed 999.9", KW_ROLE_SPEED, 0, 110, 20, 999.9, 0, 999.9},
    {"speed 65535, half of all", KW_ROLE_SPEED, 0, 30, 2, 65535, 0, 65535},
    {"EGT 1372", KW_ROLE_EGT, 200, 660, 30, 1372, 0, 1372},
    {"EGT 999", KW_ROLE_EGT, 400, 660, 30, 999, 0, 999},
    {"EGT -999", KW_ROLE_EGT, 200, 660, 30, -999, 0, -999},
    {"water 2047", KW_ROLE_WATER_TEMP, 40, 60, 30, 2047, 0, 2047},
    {"head -40", KW_ROLE_HEAD_TEMP, 110, 160, 30, -40, 0, -40},
    /* what must stay */
    {"nothing odd", KW_ROLE_RPM, 1800, 15200, 0, 0, 0, NAN},
    {"engine stands", KW_ROLE_RPM, 6000, 15200, 10, 0, 0, NAN},
    {"kart stands", KW_ROLE_SPEED, 60, 110, 10, 0, 0, NAN},
    {"pickup doubles", KW_ROLE_RPM, 1800, 15200, 30, 29000, -100, NAN},
    {"spikes of EGT", KW_ROLE_EGT, 200, 660, 30, 1100, 25, NAN},
    {"exhaust in F", KW_ROLE_EGT, 500, 1250, 20, 1372, 0, NAN},
    {"hot pull", KW_ROLE_EGT, 500, 640, 30, 690, 0, NAN},
    {"noise about zero", KW_ROLE_SPEED, -2, 3, 0, 0, 0, NAN},
    {"twice only", KW_ROLE_RPM, 1800, 15200, 150, 65535, 0, NAN},
    {"most of the column", KW_ROLE_RPM, 1, 2, 1, 6000, 0, NAN},
    {"no usual range", KW_ROLE_LAP, 1, 9, 30, 65535, 0, NAN},
};

static void fill(const struct column_case *c, double *values)
{
    double odd = c->odd;
    for (size_t i = 0; i < ROWS; i++) {
        const double part = (double)(i % 40) / 39.0;
        values[i] = floor(c->low + (c->high - c->low) * part);
        if (c->every > 0 && i % c->every == c->every - 1) {
            values[i] = odd;
            odd += c->grows;
        }
    }
}

static void test_no_reading__is_told_by_repeats_far_from_all_others(
    void **state)
{
    (void)state;
    for (size_t i = 0; i < sizeof columns / sizeof columns[0]; i++) {
        const struct column_case *c = &columns[i];
        double values[ROWS];
        double scratch[ROWS];
        fill(c, values);
        const struct kw_stand_ins found =
            kw_find_stand_ins(c->role, values, ROWS, scratch);
        check_true(c->label, found.n == (isnan(c->found) ? 0 : 1));
        if (found.n > 0)
            check_near(c->label, found.value[0], c->found, 0.0);
    }
}

/* A logger may have one number for an open input and one for none at all. */
static void test_no_reading__two_of_them_are_both_found(void **state)
{
    (void)state;
    double values[ROWS];
    double scratch[ROWS];
    const struct column_case c = {"", KW_ROLE_EGT, 200, 660, 20, 1372, 0, 1372};
    fill(&c, values);
    values[0] = values[100] = values[200] = 9999.0;
    values[50] = 3000.0; /* a spike between the two */
    const struct kw_stand_ins found =
        kw_find_stand_ins(KW_ROLE_EGT, values, ROWS, scratch);
    assert_int_equal(found.n, 2);
    assert_true(kw_is_stand_in(&found, 1372.0));
    assert_true(kw_is_stand_in(&found, 9999.0));
    assert_false(kw_is_stand_in(&found, 3000.0));
}

static void test_no_reading__empty_and_blank_columns_have_none(void **state)
{
    (void)state;
    double values[] = {NAN, NAN, NAN, NAN};
    double scratch[4];
    assert_int_equal(kw_find_stand_ins(KW_ROLE_RPM, values, 0, scratch).n, 0);
    assert_int_equal(kw_find_stand_ins(KW_ROLE_RPM, values, 4, scratch).n, 0);
}

/* Time, RPM and one column more, ten rows a second. */
static void read_column(const void *folder,
                        const struct column_case *c,
                        struct kw_log *log)
{
    static char text[TEXT_SIZE];
    double values[ROWS];
    fill(c, values);
    size_t n = (size_t)snprintf(text, sizeof text, "Time,RPM,%s\n", c->label);
    for (size_t i = 0; i < ROWS; i++)
        n += (size_t)snprintf(text + n, sizeof text - n, "%zu.%zu,6000,%g\n",
                              i / 10, i % 10, values[i]);
    log_from(folder, text, log);
}

static void test_no_reading__in_a_log_is_missing_and_said(void **state)
{
    const struct column_case c = {"Speed", KW_ROLE_SPEED, 0, 110,
                                  20,      999.9,         0, 999.9};
    struct kw_log log;
    read_column(*state, &c, &log);
    assert_int_equal(log.channels[2].missing, ROWS / 20);
    assert_true(isnan(log.channels[2].values[19]));
    assert_non_null(log_notice(&log, "20 fields of column 'Speed' are 999.9, "
                                     "unlike all others: taken as no reading"));
    kw_log_free(&log);
}

/* A lean engine must not look half as hot because its probe came loose; and the
 * loose probe itself is told later, from what it read. */
static void test_no_reading__open_probe_is_no_fahrenheit(void **state)
{
    static const double full_scale[] = {1372, 2047, 9999, 32767, 65535, -999};
    for (size_t i = 0; i < sizeof full_scale / sizeof full_scale[0]; i++) {
        const struct column_case c = {"EGT", KW_ROLE_EGT,   200, 660,
                                      8,     full_scale[i], 0,   full_scale[i]};
        struct kw_log log;
        read_column(*state, &c, &log);
        assert_string_equal(log.channels[2].unit, "C");
        check_near("kept", log.channels[2].values[7], full_scale[i], 0.0);
        assert_int_equal(log.notices.n, 0);
        kw_log_free(&log);
    }
}

struct guess_case {
    struct column_case column;
    const char *unit;
    const char *notice;
};

/* A unit that is guessed against the usual decides every number behind it: the
 * person is asked. */
static void test_no_reading__unusual_guess_of_a_unit_is_said(void **state)
{
    static const struct guess_case cases[] = {
        {{"EGT", KW_ROLE_EGT, 500, 1250, 0, 0, 0, NAN},
         "F",
         "column 'EGT': no unit, too hot for C: taken as F. If that is wrong, "
         "write the unit in its heading"},
        {{"EGT", KW_ROLE_EGT, 600, 930, 0, 0, 0, NAN},
         "C",
         "column 'EGT': no unit, hotter than a sound engine, may be in K: "
         "taken "
         "as C. If that is wrong, write the unit in its heading"},
        {{"Speed", KW_ROLE_SPEED, 0, 32, 0, 0, 0, NAN},
         "m/s",
         "column 'Speed': no unit, small numbers: taken as m/s. If that is "
         "wrong, write the unit in its heading"},
        {{"EGT", KW_ROLE_EGT, 10, 28, 0, 0, 0, NAN},
         "C",
         "column 'EGT': no unit, too cold for an exhaust: taken as C. If that "
         "is wrong, write the unit in its heading"},
        {{"EGT", KW_ROLE_EGT, 19, 26, 0, 0, 0, NAN}, "C", NULL},
        {{"EGT", KW_ROLE_EGT, 200, 660, 0, 0, 0, NAN}, "C", NULL},
        {{"Speed", KW_ROLE_SPEED, 0, 110, 0, 0, 0, NAN}, "km/h", NULL},
        {{"Speed", KW_ROLE_SPEED, 0, 0.4, 0, 0, 0, NAN}, "km/h", NULL},
        {{"EGT [F]", KW_ROLE_EGT, 500, 1250, 0, 0, 0, NAN}, "F", NULL},
    };
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        const struct guess_case *c = &cases[i];
        struct kw_log log;
        read_column(*state, &c->column, &log);
        assert_string_equal(log.channels[2].unit, c->unit);
        if (c->notice == NULL)
            check_true(c->unit, log.notices.n == 0);
        else
            check_true(c->notice, log_notice(&log, c->notice) != NULL);
        kw_log_free(&log);
    }
}

/* Tens of turns, of an engine at work also where they are as many as those of
 * one that idles, and each turn counted twice. Turns each second are refused,
 * see test_sense.c. */
static void test_no_reading__rpm_of_no_engine_is_said(void **state)
{
    static const char slow[] =
        "column 'RPM': too slow for an engine, may be in tens: taken as rpm. "
        "If that is wrong, write the unit in its heading";
    static const char fast[] =
        "column 'RPM': too fast for an engine of a kart, each turn counted "
        "twice perhaps: taken as rpm. If that is wrong, write the unit in its "
        "heading";
    static const struct {
        const char *text;
        const char *notice;
    } cases[] = {
        {"Time (s),RPM\n0.0,200\n0.1,1503\n0.2,1500\n", slow},
        {"Time (s),RPM\n0.0,1500\n0.1,1503\n0.2,1500\n", slow},
        {"Time (s),RPM\n0.0,1000\n0.1,2050\n0.2,2040\n", slow},
        {"Time (s),RPM\n0.0,2000\n0.1,2050\n0.2,2040\n", NULL},
        {"Time (s),RPM\n0.0,1000\n0.1,2500\n0.2,2500\n", NULL},
        {"Time (s),RPM\n0.0,4000\n0.1,30100\n0.2,30000\n", fast},
        {"Time (s),RPM\n0.0,0\n0.1,0\n0.2,0\n", NULL},
    };
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        struct kw_log log;
        log_from(*state, cases[i].text, &log);
        if (cases[i].notice == NULL)
            check_true(cases[i].text, log.notices.n == 0);
        else
            check_true(cases[i].text,
                       log_notice(&log, cases[i].notice) != NULL);
        kw_log_free(&log);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(
            test_no_reading__is_told_by_repeats_far_from_all_others),
        cmocka_unit_test(test_no_reading__two_of_them_are_both_found),
        cmocka_unit_test(test_no_reading__empty_and_blank_columns_have_none),
        IN_SCRATCH(test_no_reading__in_a_log_is_missing_and_said),
        IN_SCRATCH(test_no_reading__open_probe_is_no_fahrenheit),
        IN_SCRATCH(test_no_reading__rpm_of_no_engine_is_said),
        IN_SCRATCH(test_no_reading__unusual_guess_of_a_unit_is_said),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
