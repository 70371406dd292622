/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Where the heading stands: with few columns a note above it looks much like
 * it, and the plainest loggers have two. */
#include "support/check.h"

#include "support/log_file.h"
#include "support/scratch.h"

#include <stdio.h>
#include <string.h>

enum { TEXT_SIZE = 4096, ROWS = 30 };

/* The heading, and rows of as many numbers. */
static void put_log(char *text, const char *note, const char *heading)
{
    size_t n = (size_t)snprintf(text, TEXT_SIZE, "%s\n%s\n", note, heading);
    for (int i = 0; i < ROWS; i++) {
        n += (size_t)snprintf(text + n, TEXT_SIZE - n, "%d.%d,%d", i / 10,
                              i % 10, 9000 + i);
        for (const char *c = strchr(strchr(heading, ',') + 1, ','); c != NULL;
             c = strchr(c + 1, ','))
            n += (size_t)snprintf(text + n, TEXT_SIZE - n, ",%d", 500 + i);
        n += (size_t)snprintf(text + n, TEXT_SIZE - n, "\n");
    }
}

static void test_head__note_is_no_heading(void **state)
{
    static const char *const notes[] = {
        "Track,Ring,1180",
        "Driver,Jan",
        "Session,3",
        "Max RPM,15020",
        "Best lap,48.12",
        "Driver,Jan,Kart,7",
        "2026-06-14,10:20",
        "Lap,Time\n1,48.1\n2,48.3\n3,48.2",
        "Lap,Time\n1,48.1\n2,48.3\n",
        "Channel,Unit,Rate\nRPM,rpm,20\nEGT,C,20",
        "Channel,Rate\nRPM,20\nTime,20",
        "Name,Unit\nTime,s\nRPM,rpm",
    };
    static const char *const headings[] = {
        "Time (s),RPM", "Time,RPM", "Time (s),RPM,EGT (C)",
        "\nTime [s],RPM [1/min],EGT [C],Speed [km/h]"};
    for (size_t i = 0; i < sizeof notes / sizeof notes[0]; i++) {
        for (size_t k = 0; k < sizeof headings / sizeof headings[0]; k++) {
            char text[TEXT_SIZE];
            struct kw_log log;
            put_log(text, notes[i], headings[k]);
            log_from(*state, text, &log);
            check_near(notes[i], (double)log.rows_used, ROWS, 0.0);
            check_near(notes[i],
                       kw_log_channel(&log, KW_ROLE_RPM, 0)->values[0], 9000.0,
                       0.0);
            kw_log_free(&log);
        }
    }
}

/* A list of laps may name the time and RPM as well. */
static void test_head__short_list_above_more_channels_is_no_log(void **state)
{
    char text[TEXT_SIZE];
    struct kw_log log;
    put_log(text, "Lap,Time,RPM\n1,48.1,15020\n2,48.3,14980\n3,48.2,15010\n",
            "Time (s),RPM,EGT (C),Speed (km/h)");
    log_from(*state, text, &log);
    assert_int_equal(log.rows_used, ROWS);
    check_near("RPM", kw_log_channel(&log, KW_ROLE_RPM, 0)->values[0], 9000.0,
               0.0);
    kw_log_free(&log);
}

/* Words of a language that we do not know, above their units: the person names
 * them. */
static void test_head__unknown_words_above_units_are_the_heading(void **state)
{
    char text[TEXT_SIZE];
    char time[] = "Aika";
    char rpm[] = "Kierrokset";
    const struct kw_column_choice choices[] = {{KW_ROLE_TIME, time},
                                               {KW_ROLE_RPM, rpm}};
    const struct kw_import_options options = {.choices = choices,
                                              .n_choices = 2};
    struct kw_log log;
    put_log(text, "Aika,Kierrokset", "s,rpm");
    log_write(*state, text, strlen(text));
    assert_int_equal(log_read(*state, &options, &log, NULL), KW_OK);
    assert_int_equal(log.rows_used, ROWS);
    kw_log_free(&log);
}

/* "2: RPM [rpm]" is a name with its number, and no reading with its unit. */
static void test_head__numbered_names_are_the_heading(void **state)
{
    static const char *const headings[] = {
        "1: Time [s],2: RPM [rpm],3: EGT [C]", "1) Time [s],2) RPM,3) EGT [C]",
        "1 Time [s],2 RPM [rpm],3 EGT [C]"};
    for (size_t i = 0; i < sizeof headings / sizeof headings[0]; i++) {
        char text[TEXT_SIZE];
        struct kw_log log;
        put_log(text, "Track,Ring", headings[i]);
        log_from(*state, text, &log);
        check_near(headings[i], (double)log.rows_used, ROWS, 0.0);
        check_true(headings[i], kw_log_channel(&log, KW_ROLE_EGT, 0) != NULL);
        kw_log_free(&log);
    }
}

/* "sec" and "rpm" name the time and RPM, but are units below better names, also
 * where some of the units are not known. */
static void test_head__units_below_words_are_no_heading(void **state)
{
    char text[TEXT_SIZE];
    char time[] = "Aika";
    const struct kw_column_choice choice = {KW_ROLE_TIME, time};
    const struct kw_import_options options = {.choices = &choice,
                                              .n_choices = 1};
    struct kw_log log;
    put_log(text, "Aika,Engine speed,EGT,Damp", "sec,rpm,C,grains");
    log_write(*state, text, strlen(text));
    assert_int_equal(log_read(*state, &options, &log, NULL), KW_OK);
    assert_string_equal(kw_log_channel(&log, KW_ROLE_RPM, 0)->column,
                        "Engine speed");
    kw_log_free(&log);
}

/* Loggers of cars write hundreds of channels. */
static void test_head__many_columns_are_read_or_told(void **state)
{
    enum { WIDE = 2000, TOO_WIDE = 5000, SIZE = 1 << 16 };
    static char text[SIZE];
    for (size_t n = WIDE; n <= TOO_WIDE; n += TOO_WIDE - WIDE) {
        size_t length = (size_t)snprintf(text, SIZE, "Time,RPM");
        for (size_t i = 2; i < n; i++)
            length += (size_t)snprintf(text + length, SIZE - length, ",c");
        for (int row = 0; row < 4; row++) {
            length += (size_t)snprintf(text + length, SIZE - length,
                                       "\n0.%d,9000", row);
            for (size_t i = 2; i < n; i++)
                length += (size_t)snprintf(text + length, SIZE - length, ",1");
        }
        struct kw_log log;
        struct kw_error error = {0};
        log_write(*state, text, length);
        if (n == WIDE) {
            assert_int_equal(log_read(*state, NULL, &log, &error), KW_OK);
            assert_int_equal(log.rows_used, 4);
            kw_log_free(&log);
        } else {
            assert_int_equal(log_read(*state, NULL, &log, &error),
                             KW_BAD_INPUT);
            assert_int_equal(error.line, 1);
            assert_string_equal(error.what,
                                "the row has more than 4,095 fields");
        }
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        IN_SCRATCH(test_head__note_is_no_heading),
        IN_SCRATCH(test_head__short_list_above_more_channels_is_no_log),
        IN_SCRATCH(test_head__unknown_words_above_units_are_the_heading),
        IN_SCRATCH(test_head__numbered_names_are_the_heading),
        IN_SCRATCH(test_head__units_below_words_are_no_heading),
        IN_SCRATCH(test_head__many_columns_are_read_or_told),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
