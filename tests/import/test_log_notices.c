/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What a log that can be read has wrong in it: kept out, counted and named with
 * its line, and never mended in silence. */
#include "support/check.h"

#include "support/log_file.h"
#include "support/scratch.h"

#include <string.h>

/* One thing wrong in a log of ten rows a second.
 *
 * bad       lines between the rows 0.0 to 0.4 and the rows 1.0 to 1.4.
 * line      of the notice; 0 for the whole file.
 * notice    to the letter, NULL for none.
 * rejected  rows. */
struct bad_case {
    const char *label;
    const char *bad;
    size_t line;
    const char *notice;
    size_t rejected;
};

static const struct bad_case bad_cases[] = {
    {"short row", "0.5,6000\n", 7, "row has 2 fields, expected 3: left out", 1},
    {"one field", "0.5\n", 7, "row has 1 field, expected 3: left out", 1},
    {"long row", "0.5,6000,600,1,2\n", 7,
     "row has 5 fields, expected 3: left out", 1},
    {"one field more, filled", "0.5,6000,600,1\n", 7,
     "row has 4 fields, expected 3: left out", 1},
    {"one field more, empty", "0.5,6000,600,\n", 0, NULL, 0},
    {"row on two lines", "0.5,\"60\n00\"\n", 7,
     "row has 2 fields on 2 lines, expected 3: left out", 1},
    {"line after a quoted line end", "0.5,6000,\"\n\"\n0.6,6000\n", 9,
     "row has 2 fields, expected 3: left out", 1},
    {"line after a quoted CR LF", "0.5,6000,\"\r\n\"\r\n0.6,6000\r\n", 9,
     "row has 2 fields, expected 3: left out", 1},
    {"unreadable reading", "0.5,60x0,600\n", 7,
     "'60x0' in column 'RPM' is no number: taken as missing", 0},
    {"quote inside a field", "0.5,60\"0,600\n", 7,
     "'60\"0' in column 'RPM' is no number: taken as missing", 0},
    {"controls in a field", "0.5,\x1B[2J,600\n", 7,
     "'\xEF\xBF\xBD[2J' in column 'RPM' is no number: taken as missing", 0},
    {"unreadable time", "x,6000,600\n", 7, "row has no readable time: left out",
     1},
    {"blank time", ",6000,600\n", 7, "row has no readable time: left out", 1},
    {"repeated stamp", "0.4,6000,600\n", 7,
     "time stamp repeats the one before: row left out", 1},
    {"stamp goes back", "0.2,6000,600\n", 7,
     "time stamp goes back: row left out", 1},
    {"stamp far ahead", "5000.5,6000,600\n", 7,
     "time stamp is far ahead of its neighbours: row left out", 1},
    {"two stamps far ahead", "5000.5,6000,600\n5000.6,6000,600\n", 8,
     "time stamp is far ahead of its neighbours: row left out", 2},
    {"stamp that no clock shows", "1e18,6000,600\n", 7,
     "time stamp is more than a day off its neighbours: row left out", 1},
    {"gap", "", 0, NULL, 0},
    {"heading repeated", "Time (s),RPM,EGT\n", 0, NULL, 0},
    {"NUL bytes", "0.5,\1\1,600\n", 7,
     "'\xEF\xBF\xBD\xEF\xBF\xBD' in column 'RPM' is no number: taken as "
     "missing",
     0},
};

static void write_around(char *text, size_t size, const char *bad)
{
    snprintf(text, size,
             "Time (s),RPM,EGT\n0.0,6000,600\n0.1,6000,600\n0.2,6000,600\n"
             "0.3,6000,600\n0.4,6000,600\n%s1.0,6000,600\n1.1,6000,600\n"
             "1.2,6000,600\n1.3,6000,600\n1.4,6000,600\n",
             bad);
}

/* Notice of the wanted text at the wanted line. */
static bool has_notice(const struct kw_log *log, const struct bad_case *c)
{
    for (size_t i = 0; i < log->notices.n; i++) {
        if (log->notices.items[i].line == c->line &&
            strcmp(log->notices.items[i].text, c->notice) == 0)
            return true;
    }
    return false;
}

static void test_log_notices__each_fault_is_named_with_its_line(void **state)
{
    for (size_t i = 0; i < sizeof bad_cases / sizeof bad_cases[0]; i++) {
        const struct bad_case *c = &bad_cases[i];
        char text[512];
        struct kw_log log;
        write_around(text, sizeof text, c->bad);
        log_from(*state, text, &log);
        log_check_sound(c->label, &log);
        if (log.rows_rejected != c->rejected)
            fail_msg("%s: %zu rejected", c->label, log.rows_rejected);
        if (c->notice == NULL)
            check_true(c->label, log.notices.n == 0);
        else if (!has_notice(&log, c))
            fail_msg("%s: got line %zu: %s", c->label,
                     log.notices.n > 0 ? log.notices.items[0].line : 0,
                     log.notices.n > 0 ? log.notices.items[0].text : "none");
        check_near(c->label, log.time_s[log.rows_used - 1], 1.4, 1e-9);
        kw_log_free(&log);
    }
}

/* A thousand bad rows must not bury what matters: three, and their number. */
static void test_log_notices__many_of_a_kind_are_counted(void **state)
{
    char text[512];
    char bad[256] = "";
    struct kw_log log;
    for (int i = 0; i < 12; i++)
        strncat(bad, "0.5,6000\n", sizeof bad - strlen(bad) - 1);
    write_around(text, sizeof text, bad);
    log_from(*state, text, &log);
    assert_int_equal(log.rows_rejected, 12);
    assert_int_equal(log.notices.n, 4);
    assert_non_null(log_notice(
        &log, "in all 12 rows with a wrong number of fields were left out"));
    kw_log_free(&log);
}

/* Each row twice is an export's habit and no logger of twice the rate; the same
 * stamps with other readings are a clock too coarse, and the same readings an
 * engine at rest. */
static void test_log_notices__copies_of_rows_are_left_out(void **state)
{
    static const char copies[] =
        "12 rows are copies of the row before them: left out";
    static const struct {
        const char *label;
        int rpm_of_row;   /* added with each row */
        int rpm_of_stamp; /* with each second one */
        size_t used;
        bool told;
    } cases[] = {
        {"copies", 0, 50, 12, true},
        {"coarse clock", 50, 0, 24, false},
        {"engine at rest", 0, 0, 24, false},
    };
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        char text[1024] = "Time (s),RPM,EGT\n";
        for (int row = 0; row < 24; row++) {
            const size_t n = strlen(text);
            snprintf(text + n, sizeof text - n, "%d.%d,%d,\n", row / 20,
                     row / 2 % 10,
                     6000 + row * cases[i].rpm_of_row +
                         row / 2 * cases[i].rpm_of_stamp);
        }
        struct kw_log log;
        log_from(*state, text, &log);
        log_check_sound(cases[i].label, &log);
        check_true(cases[i].label, log.rows_used == cases[i].used);
        check_true(cases[i].label, log.data_rows == 24);
        check_true(cases[i].label,
                   (log_notice(&log, copies) != NULL) == cases[i].told);
        kw_log_free(&log);
    }
}

struct column_case {
    const char *label;
    const char *text;
    const char *notice;
};

static void test_log_notices__columns_left_out_are_named(void **state)
{
    static const struct column_case cases[] = {
        {"not understood", "Time,RPM,Aux 3\n0,6000,1\n0.1,6000,1\n",
         "column 'Aux 3' is left out: not understood"},
        {"the better heading", "Time (s),Engine RPM,RPM\n0,1,2\n0.1,1,2\n",
         "column 'RPM' is left out: could be rpm too, but 'Engine RPM' fits "
         "better"},
        {"the plainer heading",
         "Stint time (s),Time (s),RPM\n0,0,1\n0.1,0.1,1\n",
         "column 'Stint time (s)' is left out: could be time too, but 'Time "
         "(s)' fits better"},
        {"the same name", "Time,RPM,Speed,Speed\n0,1,2,2\n0.1,1,2,2\n",
         "column 'Speed' is left out: could be speed too, but another column "
         "of "
         "that name is taken"},
        {"the second clock",
         "Time,GPS time,RPM\n0,12:00:00,1\n0.1,12:00:01,1\n",
         "column 'GPS time' is left out: could be time too, but 'Time' fits "
         "better"},
        {"the blank one", "Time,RPM,Revs RPM\n0,6000,\n0.1,6000,\n",
         "column 'Revs RPM' is left out: could be rpm too, but 'RPM' fits "
         "better"},
        {"hot, and no EGT", "Time,RPM,T2\n0,6000,271\n0.1,6000,272\n",
         "column 'T2' is left out: not understood. If it is the exhaust: "
         "--column egt=\"T2\""},
        {"hot, but the number of the row",
         "Time,RPM,T2\n0,6000,271\n0.1,6000,272\n0.2,6000,273\n"
         "0.3,6000,274\n0.4,6000,275\n0.5,6000,276\n0.6,6000,277\n"
         "0.7,6000,278\n0.8,6000,279\n0.9,6000,280\n",
         "column 'T2' is left out: not understood"},
        {"hot, beside EGT", "Time,RPM,EGT,T2\n0,6000,1,271\n0.1,6000,1,272\n",
         "column 'T2' is left out: not understood"},
        {"no numbers", "Time,RPM,EGT\n0,6000,#N/A!\n0.1,6000,#N/A!\n",
         "column 'EGT' is left out: no number can be read in it"},
        {"controls in the heading", "Time,RPM,\x1B[2J\n0,6000,1\n1,6000,1\n",
         "column '\xEF\xBF\xBD[2J' is left out: not understood"},
    };
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        struct kw_log log;
        log_from(*state, cases[i].text, &log);
        const struct kw_notice *notice = log_notice(&log, cases[i].notice);
        if (notice == NULL)
            fail_msg("%s: got %s", cases[i].label,
                     log.notices.n > 0 ? log.notices.items[0].text : "none");
        assert_int_equal(notice->line, 1);
        kw_log_free(&log);
    }
}

/* A rate beside a clock is told as not used, so that nobody waits for it to
 * change something; one that is needed goes without a word. */
static void test_log_notices__rate_beside_a_clock_is_told(void **state)
{
    static const char unused[] =
        "--rate is not used: the time stands in column 'Time'";
    static const struct {
        const char *label;
        const char *text;
        double rate_hz;
        bool told;
        double second_s;
    } cases[] = {
        {"clock and rate", "Time,RPM\n0,6000\n0.1,6001\n", 20.0, true, 0.1},
        {"clock alone", "Time,RPM\n0,6000\n0.1,6001\n", 0.0, false, 0.1},
        {"rate alone", "RPM,EGT\n6000,600\n6001,600\n", 20.0, false, 0.05},
    };
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        const struct kw_import_options options = {.rate_hz = cases[i].rate_hz};
        struct kw_log log;
        log_write(*state, cases[i].text, strlen(cases[i].text));
        assert_int_equal(log_read(*state, &options, &log, NULL), KW_OK);
        check_true(cases[i].label,
                   (log_notice(&log, unused) != NULL) == cases[i].told);
        check_near(cases[i].label, log.time_s[1], cases[i].second_s, 1e-9);
        kw_log_free(&log);
    }
}

/* One temperature without a name is the exhaust where it is as hot as one, and
 * nothing is told of a cold one. Two are a question. */
static void test_log_notices__bare_temperature_is_told_by_its_heat(void **state)
{
    static const struct {
        const char *label;
        const char *text;
        bool is_egt;
        const char *notice;
    } cases[] = {
        {"hot", "Time,RPM,Temp\n0,6000,580\n0.1,6000,620\n", true,
         "column 'Temp' is as hot as an exhaust: taken as EGT. If it is "
         "something else, say so in its heading"},
        {"hot, in F", "Time,RPM,Temp [F]\n0,6000,1080\n0.1,6000,1120\n", true,
         "column 'Temp [F]' is as hot as an exhaust: taken as EGT. If it is "
         "something else, say so in its heading"},
        {"cylinder head", "Time,RPM,Temp\n0,6000,180\n0.1,6000,210\n", false,
         "column 'Temp' is left out: not understood. If it is the exhaust: "
         "--column egt=\"Temp\""},
        {"water", "Time,RPM,Temp\n0,6000,55\n0.1,6000,62\n", false,
         "column 'Temp' is left out: not understood"},
        {"two", "Time,RPM,Temp,Temp\n0,6000,580,580\n0.1,6000,620,580\n", false,
         "column 'Temp' is left out: not understood. If it is the exhaust: "
         "--column egt=\"Temp\""},
        {"beside EGT", "Time,RPM,EGT,Temp\n0,6000,1,580\n0.1,6000,1,620\n",
         true, "column 'Temp' is left out: not understood"},
    };
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        struct kw_log log;
        log_from(*state, cases[i].text, &log);
        log_check_sound(cases[i].label, &log);
        check_true(cases[i].label, (kw_log_channel(&log, KW_ROLE_EGT, 0) !=
                                    NULL) == cases[i].is_egt);
        check_true(cases[i].label, log_notice(&log, cases[i].notice) != NULL);
        kw_log_free(&log);
    }
}

struct start_case {
    const char *label;
    const char *text;
    double start_unix_s;
    bool has_zone;
};

/* 2026-06-14 12:00 UTC is 1781438400 (GNU date). */
static void test_log_notices__start_is_known_where_there_is_a_date(void **state)
{
    static const struct start_case cases[] = {
        {"ISO 8601", "Time,RPM\n2026-06-14T12:00:00,1\n2026-06-14T12:00:01,1\n",
         1781438400.0, false},
        {"with a zone",
         "Time,RPM\n2026-06-14T14:00:00+02:00,1\n2026-06-14T14:00:01+02:00,1\n",
         1781438400.0, true},
        {"in Greenwich",
         "Time,RPM\n2026-06-14T12:00:00Z,1\n2026-06-14T12:00:01Z,1\n",
         1781438400.0, true},
        {"date in its own column",
         "Date,Time,RPM\n14.06.2026,12:00:00,1\n14.06.2026,12:00:01,1\n",
         1781438400.0, false},
        {"under the heading date",
         "Date,RPM\n2026-06-14 12:00:00,1\n2026-06-14 12:00:01,1\n",
         1781438400.0, false},
        {"seconds since 1970", "Time,RPM\n1781438400.0,1\n1781438400.1,1\n",
         1781438400.0, true},
        {"days of a spreadsheet", "Time,RPM\n46187.5,1\n46187.50001,1\n",
         1781438400.0, false},
        {"milliseconds since 1970",
         "Timestamp,RPM\n1781438400000,1\n1781438400100,1\n", 1781438400.0,
         true},
        {"microseconds since 1970",
         "Timestamp,RPM\n1781438400000000,1\n1781438400100000,1\n",
         1781438400.0, true},
        {"nanoseconds since 1970",
         "Timestamp,RPM\n1781438400000000000,1\n1781438400100000000,1\n",
         1781438400.0, true},
        {"clock alone", "Time,RPM\n12:00:00,1\n12:00:01,1\n", NAN, false},
        {"seconds", "Time,RPM\n0,1\n0.1,1\n", NAN, false},
    };
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        struct kw_log log;
        log_from(*state, cases[i].text, &log);
        check_near(cases[i].label, log.start_unix_s, cases[i].start_unix_s,
                   1e-3);
        check_true(cases[i].label, log.start_has_zone == cases[i].has_zone);
        check_true(cases[i].label, log.notices.n == 0);
        kw_log_free(&log);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        IN_SCRATCH(test_log_notices__each_fault_is_named_with_its_line),
        IN_SCRATCH(test_log_notices__many_of_a_kind_are_counted),
        IN_SCRATCH(test_log_notices__copies_of_rows_are_left_out),
        IN_SCRATCH(test_log_notices__columns_left_out_are_named),
        IN_SCRATCH(test_log_notices__rate_beside_a_clock_is_told),
        IN_SCRATCH(test_log_notices__bare_temperature_is_told_by_its_heat),
        IN_SCRATCH(test_log_notices__start_is_known_where_there_is_a_date),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
