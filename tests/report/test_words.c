/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Words: what a tired person reads, and the words that programs were promised.
 */
#include "support/check.h"

#include "report/words.h"

#include <string.h>

static void check_text(const char *label,
                       struct kw_text *text,
                       const char *expected)
{
    kw_text_add(text, "");
    assert_false(kw_text_failed(text));
    if (strcmp(text->bytes, expected) != 0)
        fail_msg("%s: got '%s', expected '%s'", label, text->bytes, expected);
    kw_text_free(text);
}

static void test_words__clock_never_shows_sixty_seconds(void **state)
{
    (void)state;
    static const struct {
        double seconds;
        int decimals;
        const char *expected;
    } rows[] = {{0.0, 1, "0:00.0"},      {9.96, 1, "0:10.0"},
                {59.97, 1, "1:00.0"},    {59.94, 1, "0:59.9"},
                {301.2, 1, "5:01.2"},    {3599.99, 1, "1:00:00.0"},
                {3723.0, 0, "1:02:03"},  {47.704, 2, "0:47.70"},
                {-1.5, 1, "-0:01.5"},    {NAN, 1, "-"},
                {119.999, 2, "2:00.00"}, {36000.0, 0, "10:00:00"}};
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct kw_text text = {0};
        kw_add_clock(&text, rows[i].seconds, rows[i].decimals);
        check_text(rows[i].expected, &text, rows[i].expected);
    }
}

static void test_words__duration_is_said_in_two_units_at_most(void **state)
{
    (void)state;
    static const struct {
        double seconds;
        const char *expected;
    } rows[] = {
        {0.2, "0.2 s"},        {9.94, "9.9 s"},         {9.96, "10 s"},
        {59.4, "59 s"},        {59.6, "1 min 0 s"},     {561.2, "9 min 21 s"},
        {3599.6, "1 h 0 min"}, {36060.0, "10 h 1 min"}, {NAN, "-"}};
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct kw_text text = {0};
        kw_add_duration(&text, rows[i].seconds);
        check_text(rows[i].expected, &text, rows[i].expected);
    }
}

static void test_words__size_of_a_log_has_the_rate_as_it_was_set(void **state)
{
    (void)state;
    static const struct {
        struct kw_log log;
        const char *expected;
    } rows[] = {
        {{.data_rows = 14080, .duration_s = 563.0, .sample_rate_hz = 25.0},
         "14,080 rows over 9 min 23 s, 25 each second."},
        {{.data_rows = 100, .duration_s = 9.9, .sample_rate_hz = 9.9999},
         "100 rows over 9.9 s, 10 each second."},
        {{.data_rows = 100, .duration_s = 39.6, .sample_rate_hz = 2.5},
         "100 rows over 40 s, 2.5 each second."},
        {{.data_rows = 100, .duration_s = 19.8, .sample_rate_hz = 4.9999},
         "100 rows over 20 s, 5 each second."},
        {{.data_rows = 3, .rows_rejected = 2, .sample_rate_hz = NAN},
         "3 rows over 0.0 s; left out: 2."}};
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct kw_text text = {0};
        kw_add_log_size(&text, &rows[i].log);
        check_text(rows[i].expected, &text, rows[i].expected);
    }
}

/* An engine that never ran was not running when the log began either. */
static void test_words__running_is_said_with_its_starts(void **state)
{
    (void)state;
    static const struct {
        struct kw_running running;
        const char *expected;
    } rows[] = {
        {{.seconds = 0.0}, "The engine did not run in the log. "},
        {{.seconds = 588.0},
         "The engine ran for 9 min 48 s; it was running when the log began, or "
         "was never started in it. "},
        {{.seconds = 588.0, .starts = 1},
         "The engine ran for 9 min 48 s and was started once in the log. "},
        {{.seconds = 588.0, .starts = 3},
         "The engine ran for 9 min 48 s and was started 3 times in the log. "}};
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct kw_text text = {0};
        kw_add_running(&text, &rows[i].running);
        check_text(rows[i].expected, &text, rows[i].expected);
    }
}

/* No laps rule chance out, and a row of zeros would say so. */
static void test_words__small_p_is_never_nought(void **state)
{
    (void)state;
    static const struct {
        double p;
        const char *expected;
    } rows[] = {{1.0, "1.000"},       {0.0124, "0.012"},
                {0.001, "0.001"},     {0.00099, "below 0.001"},
                {0.0, "below 0.001"}, {NAN, "-"}};
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct kw_text text = {0};
        kw_add_p(&text, rows[i].p);
        check_text(rows[i].expected, &text, rows[i].expected);
    }
}

/* Steps are checked off one by one with dirty hands: each on its own line. */
static void test_words__steps_are_found_by_their_numbers(void **state)
{
    (void)state;
    const char *at = "1. Look at 2.5 mm. 2. Touch. 3. Done";
    static const char *const expected[] = {"Look at 2.5 mm.", "Touch.", "Done"};
    unsigned number = 1;
    size_t length = 0;
    for (size_t i = 0; i < 3; i++) {
        struct kw_text text = {0};
        const char *step = kw_next_step(&at, &number, &length);
        assert_non_null(step);
        kw_text_add_bytes(&text, step, length);
        check_text("step", &text, expected[i]);
    }
    assert_null(kw_next_step(&at, &number, &length));
    at = "No numbers here.";
    number = 1;
    assert_non_null(kw_next_step(&at, &number, &length));
    assert_int_equal(length, strlen("No numbers here."));
    assert_null(kw_next_step(&at, &number, &length));
}

/* The words of the JSON contract: another program compares them to the letter.
 */
static void test_words__contract_names_are_kept(void **state)
{
    (void)state;
    assert_string_equal(kw_name_lap_method(KW_LAPS_NONE), "none");
    assert_string_equal(kw_name_lap_method(KW_LAPS_BY_COLUMN), "column");
    assert_string_equal(kw_name_lap_method(KW_LAPS_BY_POSITION), "position");
    assert_string_equal(kw_name_lap_method(KW_LAPS_BY_SPEED), "speed");
    assert_string_equal(kw_name_lap_method(KW_LAPS_BY_RPM), "rpm");
    assert_string_equal(kw_name_lap_kind(KW_LAP_OUT), "out");
    assert_string_equal(kw_name_lap_kind(KW_LAP_FLYING), "flying");
    assert_string_equal(kw_name_lap_kind(KW_LAP_IN), "in");
    assert_string_equal(kw_name_region(KW_REGION_LOW), "low");
    assert_string_equal(kw_name_region(KW_REGION_MIDDLE), "middle");
    assert_string_equal(kw_name_region(KW_REGION_TOP), "top");
    assert_string_equal(kw_name_basis(KW_BASIS_LIMIT), "limit");
    assert_string_equal(kw_name_basis(KW_BASIS_SESSION), "session");
    assert_string_equal(kw_name_basis(KW_BASIS_REFERENCE), "reference");
    assert_string_equal(kw_name_urgency(KW_WATCH), "watch");
    assert_string_equal(kw_name_urgency(KW_BEFORE_NEXT_RACE),
                        "before_next_race");
    assert_string_equal(kw_name_urgency(KW_BEFORE_NEXT_RUN), "before_next_run");
    assert_string_equal(kw_name_clutch_method(KW_CLUTCH_BY_SPEED), "speed");
    assert_string_equal(kw_name_clutch_method(KW_CLUTCH_BY_RPM), "rpm");
    assert_string_equal(kw_name_cause(KW_CAUSE_UNCLEAR), "unclear");
    assert_string_equal(kw_name_cause(KW_CAUSE_LOOSE_CONNECTION),
                        "loose_connection");
    assert_string_equal(kw_name_cause(KW_CAUSE_FUEL_RESTRICTION),
                        "fuel_restriction");
}

/* Every kind of event has a name and a phrase. */
static void test_words__every_kind_of_event_is_named(void **state)
{
    (void)state;
    for (int kind = 0; kind < KW_N_EVENT_KINDS; kind++) {
        assert_true(kw_name_event_kind((enum kw_event_kind)kind)[0] != '\0');
        assert_true(kw_say_event_kind((enum kw_event_kind)kind)[0] != '\0');
    }
    assert_string_equal(kw_name_event_kind(KW_N_EVENT_KINDS), "");
}

static void test_words__file_name_is_the_last_part(void **state)
{
    (void)state;
    assert_string_equal(kw_file_name_of("logs/a.csv"), "a.csv");
    assert_string_equal(kw_file_name_of("a.csv"), "a.csv");
    assert_string_equal(kw_file_name_of("-"), "standard input");
    assert_string_equal(kw_file_name_of(NULL), "standard input");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_words__clock_never_shows_sixty_seconds),
        cmocka_unit_test(test_words__duration_is_said_in_two_units_at_most),
        cmocka_unit_test(test_words__size_of_a_log_has_the_rate_as_it_was_set),
        cmocka_unit_test(test_words__running_is_said_with_its_starts),
        cmocka_unit_test(test_words__small_p_is_never_nought),
        cmocka_unit_test(test_words__steps_are_found_by_their_numbers),
        cmocka_unit_test(test_words__contract_names_are_kept),
        cmocka_unit_test(test_words__every_kind_of_event_is_named),
        cmocka_unit_test(test_words__file_name_is_the_last_part),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
