/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Rows and fields: the rules of RFC 4180 (October 2005, section 2), logs that
 * are damaged, and files larger than any buffer. */
#include "support/check.h"

#include "support/log_file.h"
#include "support/scratch.h"

#include <stdlib.h>
#include <string.h>

/* column   its heading, as it must be read.
 * rows     used and rejected. */
struct rule_case {
    const char *rule;
    const char *text;
    const char *column;
    size_t used;
    size_t rejected;
};

static const struct rule_case rules[] = {
    {"1: lines end with CR LF", "Time,RPM\r\n1,6000\r\n2,6000\r\n", "RPM", 2,
     0},
    {"1: LF alone gives the same", "Time,RPM\n1,6000\n2,6000\n", "RPM", 2, 0},
    {"2: the last line may lack its end", "Time,RPM\r\n1,6000\r\n2,6000", "RPM",
     2, 0},
    {"4: short and long rows", "Time,RPM\n1,6000\n2\n3,6000,1\n4,6000\n", "RPM",
     2, 2},
    {"4b: blanks belong to the field", "Time, RPM \n1, 6000\n2,6000 \n", "RPM",
     2, 0},
    {"4c: a comma at the end is an empty field",
     "Time,RPM\n1,6000,\n2,6000,\n3,6000\n", "RPM", 3, 0},
    {"5: quotes round any field", "\"Time\",RPM\n\"1\",6000\n2,\"6000\"\n",
     "RPM", 2, 0},
    {"6: comma in quotes", "Time,\"RPM, engine\"\n1,6000\n2,6000\n",
     "RPM, engine", 2, 0},
    {"6: line end in quotes", "Time,\"RPM\r\nengine\"\r\n1,6000\r\n2,6000\r\n",
     "RPM\r\nengine", 2, 0},
    {"7: quotes in quotes", "Time,\"RPM \"\"engine\"\"\"\n1,6000\n2,6000\n",
     "RPM \"engine\"", 2, 0},
    {"CR LF and LF mixed", "Time,RPM\r\n1,6000\n2,6000\r\n\r\n3,6000\n", "RPM",
     3, 0},
};

static void test_table__rules_of_rfc_4180_are_kept(void **state)
{
    for (size_t i = 0; i < sizeof rules / sizeof rules[0]; i++) {
        const struct rule_case *c = &rules[i];
        struct kw_log log;
        log_from(*state, c->text, &log);
        const struct kw_channel *rpm = kw_log_channel(&log, KW_ROLE_RPM, 0);
        if (strcmp(rpm->column, c->column) != 0)
            fail_msg("%s: column '%s'", c->rule, rpm->column);
        check_true(c->rule, log.rows_used == c->used);
        check_true(c->rule, log.rows_rejected == c->rejected);
        check_true(c->rule, rpm->missing == 0);
        kw_log_free(&log);
    }
}

static char *long_log(size_t rows, size_t *length)
{
    const size_t size = 64 + rows * 40;
    char *text = malloc(size);
    assert_non_null(text);
    *length = (size_t)snprintf(text, size, "Time (s),RPM,EGT (C),Note\n");
    for (size_t i = 0; i < rows; i++)
        *length += (size_t)snprintf(text + *length, size - *length,
                                    "%zu.%02zu,%zu,%zu.5,\"a\nb\"\n", i / 100,
                                    i % 100, 6000 + i % 9000, 300 + i % 400);
    return text;
}

/* Fields and quotes that lie across the blocks in which a file is read, and
 * lines that are counted to the end. */
static void test_table__long_log_is_read_to_its_last_row(void **state)
{
    enum { LOG_ROWS = 20000 };
    size_t length = 0;
    char *text = long_log(LOG_ROWS, &length);
    struct kw_log log;
    /* The last row loses its last field. */
    length -= strlen(",\"a\nb\"\n");
    log_write(*state, text, length);
    free(text);
    assert_int_equal(log_read(*state, NULL, &log, NULL), KW_OK);
    log_check_sound("long", &log);
    assert_int_equal(log.rows_used, LOG_ROWS - 1);
    const struct kw_notice *notice =
        log_notice(&log, "row has 3 fields, expected 4: left out");
    assert_non_null(notice);
    assert_int_equal(notice->line, 2 * LOG_ROWS);
    for (size_t i = 0; i < log.rows_used; i++) {
        check_near("rpm", log.channels[1].values[i],
                   6000.0 + (double)(i % 9000), 0.0);
        check_near("egt", log.channels[2].values[i], 300.5 + (double)(i % 400),
                   0.0);
    }
    kw_log_free(&log);
}

static void test_table__line_of_a_megabyte_is_one_bad_row(void **state)
{
    enum { LONG = 1000000 };
    static const char before[] = "Time,RPM\n0.0,6000\n0.1,6000\n";
    static const char after[] = "\n0.3,6000\n0.4,6000\n";
    char *text = malloc(sizeof before + LONG + sizeof after);
    assert_non_null(text);
    size_t n = sizeof before - 1;
    memcpy(text, before, n);
    memset(text + n, '9', LONG);
    n += LONG;
    memcpy(text + n, after, sizeof after - 1);
    n += sizeof after - 1;
    struct kw_log log;
    log_write(*state, text, n);
    free(text);
    assert_int_equal(log_read(*state, NULL, &log, NULL), KW_OK);
    assert_int_equal(log.rows_used, 4);
    assert_int_equal(log.notices.n, 1);
    assert_int_equal(log.notices.items[0].line, 4);
    kw_log_free(&log);
}

/* A file that was spoilt has a row without an end and no quote at all. */
static void test_table__row_without_an_end_is_refused(void **state)
{
    enum { LONG = 9000000 };
    static const char before[] = "Time,RPM\n0.0,6000\n";
    const size_t n = sizeof before - 1;
    char *text = malloc(n + LONG);
    assert_non_null(text);
    memcpy(text, before, n);
    memset(text + n, '9', LONG);
    struct kw_log log;
    struct kw_error error = {0};
    log_write(*state, text, n + LONG);
    free(text);
    assert_int_equal(log_read(*state, NULL, &log, &error), KW_BAD_INPUT);
    assert_int_equal(error.line, 3);
    assert_string_equal(error.what, "this row goes on for more than 8 MB");
}

/* A stray quote must never eat rows: where it would, the log is refused with
 * the line on which it stands. */
static void test_table__stray_quote_never_eats_rows_in_silence(void **state)
{
    char text[4096];
    size_t n = (size_t)snprintf(text, sizeof text, "Time,RPM\n");
    for (int i = 0; i < 100; i++)
        n += (size_t)snprintf(text + n, sizeof text - n, "%d,%s6000%s\n", i,
                              i == 10 ? "\"" : "", i == 60 ? "\"" : "");
    struct kw_log log;
    struct kw_error error = {0};
    log_write(*state, text, n);
    assert_int_equal(log_read(*state, NULL, &log, &error), KW_BAD_INPUT);
    assert_int_equal(error.line, 12);
    assert_string_equal(error.what, "a quote opens here and is never closed");
}

static uint32_t next_random(uint32_t *seed)
{
    *seed = *seed * 1664525 + 1013904223;
    return *seed >> 8;
}

/* Bytes changed, taken out and doubled. */
static size_t damage(char *text, size_t length, size_t size, uint32_t *seed)
{
    const size_t n_faults = 1 + next_random(seed) % 6;
    for (size_t k = 0; k < n_faults && length > 32; k++) {
        const size_t at = next_random(seed) % length;
        const size_t some = next_random(seed) % 16;
        switch (next_random(seed) % 4) {
        case 0:
            text[at] = (char)next_random(seed);
            break;
        case 1:
            text[at] = "\",;\n\r\t.-#0"[next_random(seed) % 10];
            break;
        case 2:
            if (at + some < length) {
                memmove(text + at, text + at + some, length - at - some);
                length -= some;
            }
            break;
        default:
            if (at + some < length && length + some < size) {
                memmove(text + at + some, text + at, length - at);
                length += some;
            }
        }
    }
    return next_random(seed) % 8 == 0 ? next_random(seed) % length : length;
}

static const char with_notes[] =
    "Invented log\nRate: 10 Hz\n\nTime (s);RPM;EGT (C);Lap\n"
    "0,0;6000;400,5;1\n0,1;6100;401,5;1\n0,2;6200;402,5;1\n"
    "0,3;6300;403,5;2\n0,4;6400;;2\n0,5;6500;405,5;2\n";

static const char with_date[] =
    "Date,Time,RPM,EGT 1,EGT 2,Beacon,Lat,Lon\n,,1/min,C,C,,deg,deg\n"
    "14.06.2026,12:00:00.0,6000,400,OPEN,0,51.1,3.1\n"
    "14.06.2026,12:00:00.1,6000,400,410,1,51.1,3.1\n"
    "14.06.2026,12:00:00.2,6000,\"40\n1\",410,0,51.1 N,3.1\n"
    "14.06.2026,12:00:00.3,6000,400,-,0,51.1,3.1\n";

static const char with_tabs[] =
    "Zeit ms\tDrehzahl\tAbgas\n0\t6000\t400\n50\t6000\t400\n"
    "100\t6000\t400\n150\t6000\t400\n200\t6000\t400\n";

/* Whatever a broken card holds, the log is read soundly or refused with a
 * reason. */
static void test_table__damaged_logs_are_sound_or_refused(void **state)
{
    static const char *const bases[] = {with_notes, with_date, with_tabs};
    uint32_t seed = 20260614;
    size_t n_read = 0;
    for (int round = 0; round < 3000; round++) {
        char text[1024];
        struct kw_log log = {0};
        struct kw_error error = {0};
        const char *base = bases[round % 3];
        memcpy(text, base, strlen(base));
        const size_t length = damage(text, strlen(base), sizeof text, &seed);
        log_write(*state, text, length);
        const enum kw_status status = log_read(*state, NULL, &log, &error);
        if (status == KW_OK)
            log_check_sound("damaged", &log);
        else
            assert_true(status == error.status && error.what[0] != '\0');
        n_read += status == KW_OK;
        kw_log_free(&log);
    }
    /* Most faults cost a row and not the log. */
    assert_true(n_read > 1500);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        IN_SCRATCH(test_table__rules_of_rfc_4180_are_kept),
        IN_SCRATCH(test_table__long_log_is_read_to_its_last_row),
        IN_SCRATCH(test_table__line_of_a_megabyte_is_one_bad_row),
        IN_SCRATCH(test_table__row_without_an_end_is_refused),
        IN_SCRATCH(test_table__stray_quote_never_eats_rows_in_silence),
        IN_SCRATCH(test_table__damaged_logs_are_sound_or_refused),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
