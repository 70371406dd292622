/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "sim/sim_dialect.h"
#include "sim/sim_trace.h"
#include "support/check.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

static double time_s[] = {0.0, 0.05, 0.1};
static double rpm[] = {2000.0, 9000.0, NAN};
static double egt_c[] = {100.0, 600.5, 20.0};

/* Three rows of time, RPM and EGT in a dialect, as text; freed by the caller.
 */
static char *written(const struct sim_dialect *dialect, size_t *size)
{
    char path[] = "/tmp/kartwright-dialect-XXXXXX";
    const int made = mkstemp(path);
    assert_true(made >= 0 && close(made) == 0);
    const struct sim_session session = {
        .logger = {.rate_hz = 20.0, .egt_step_c = 0.5}};
    struct sim_rows rows = {.n = 3};
    rows.value[SIM_TIME] = time_s;
    rows.value[SIM_RPM] = rpm;
    rows.value[SIM_EGT] = egt_c;
    sim_log_write(&session, dialect, &rows, path);
    FILE *file = fopen(path, "rb");
    assert_non_null(file);
    char *text = sim_allocate(4096, 1);
    *size = fread(text, 1, 4095, file);
    assert_int_equal(fclose(file), 0);
    assert_int_equal(remove(path), 0);
    return text;
}

/* Loggers all over the world write other signs: each must come out as a person
 * there would expect it. */
static void test_sim_dialect__text_is_as_the_dialect_says(void **state)
{
    (void)state;
    static const struct {
        const char *label;
        struct sim_dialect dialect;
        const char *text;
    } cases[] = {
        {"plain",
         {.separator = ',', .decimal = '.'},
         "Time,RPM,EGT\n0.000,2000,100.00\n0.050,9000,600.50\n"
         "0.100,,20.00\n"},
        {"German, decimal commas, CRLF, milliseconds",
         {.language = 1,
          .separator = ';',
          .decimal = ',',
          .crlf = true,
          .time_form = SIM_MILLISECONDS,
          .units = SIM_UNITS_IN_HEADING},
         "Zeit [ms];Drehzahl [rpm];Abgastemperatur [°C]\r\n"
         "0;2000;100,00\r\n50;9000;600,50\r\n100;;20,00\r\n"},
        {"quoted, Fahrenheit, clock past midnight, row of units",
         {.separator = '\t',
          .decimal = '.',
          .quoted = true,
          .time_form = SIM_CLOCK,
          .units = SIM_UNITS_ROW,
          .temperature_unit = 1,
          .clock_start_s = 86399.95},
         "\"Time\"\t\"RPM\"\t\"EGT\"\n\"\"\t\"rpm\"\t\"°F\"\n"
         "\"23:59:59.950\"\t\"2000\"\t\"212.00\"\n"
         "\"00:00:00.000\"\t\"9000\"\t\"1112.90\"\n"
         "\"00:00:00.050\"\t\"\"\t\"68.00\"\n"},
        {"no time, rate in the notes",
         {.separator = ',',
          .decimal = '.',
          .notes_above = true,
          .rate_in_notes = true,
          .time_form = SIM_NO_TIME},
         "Invented demonstration log\nDriver: A. Nobody\nSample rate: 20 Hz\n"
         "RPM,EGT\n2000,100.00\n9000,600.50\n,20.00\n"}};
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        size_t size = 0;
        char *text = written(&cases[i].dialect, &size);
        if (strcmp(text, cases[i].text) != 0)
            fail_msg("%s: got\n%s", cases[i].label, text);
        free(text);
    }
}

/* The degree sign is two bytes in UTF-8, one in Latin-1, and in UTF-16 every
 * sign is two. */
static void test_sim_dialect__encodings_differ_in_bytes(void **state)
{
    (void)state;
    struct sim_dialect dialect = {
        .separator = ',', .decimal = '.', .units = SIM_UNITS_IN_HEADING};
    size_t utf8 = 0, mark = 0, latin1 = 0, utf16 = 0;
    free(written(&dialect, &utf8));
    dialect.encoding = SIM_UTF8_MARK;
    char *text = written(&dialect, &mark);
    check_true("mark", memcmp(text, "\xef\xbb\xbf", 3) == 0);
    free(text);
    dialect.encoding = SIM_LATIN1;
    text = written(&dialect, &latin1);
    check_true("degree", strchr(text, '\xb0') != NULL);
    free(text);
    dialect.encoding = SIM_UTF16;
    text = written(&dialect, &utf16);
    check_true("order mark", memcmp(text, "\xff\xfe", 2) == 0);
    free(text);
    check_true("sizes", mark == utf8 + 3 && latin1 + 1 == utf8 &&
                            utf16 == 2 * latin1 + 2);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_sim_dialect__text_is_as_the_dialect_says),
        cmocka_unit_test(test_sim_dialect__encodings_differ_in_bytes),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
