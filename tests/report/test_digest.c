/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The review in a few numbers: like findings told as one, the worst first. */
#include "support/check.h"

#include "report/digest.h"

#include <string.h>

static void test_digest__spoilt_laps_do_not_count(void **state)
{
    (void)state;
    struct kw_lap items[] = {
        {.number = 1, .kind = KW_LAP_OUT, .start_s = 0.0, .end_s = 10.0},
        {.number = 2, .kind = KW_LAP_FLYING, .start_s = 10.0, .end_s = 58.0},
        {.number = 3,
         .kind = KW_LAP_FLYING,
         .spoilt = true,
         .start_s = 58.0,
         .end_s = 90.0},
        {.number = 4, .kind = KW_LAP_FLYING, .start_s = 90.0, .end_s = 137.0},
        {.number = 5, .kind = KW_LAP_FLYING, .start_s = 137.0, .end_s = 197.0},
        {.number = 6, .kind = KW_LAP_IN, .start_s = 197.0, .end_s = 200.0}};
    const struct kw_laps laps = {.items = items, .n = 6};
    struct kw_lap_digest digest;
    assert_int_equal(kw_digest_laps(&laps, &digest, NULL), KW_OK);
    assert_int_equal(digest.n_flying, 3);
    assert_int_equal(digest.n_spoilt, 1);
    assert_int_equal(digest.n_out, 1);
    assert_int_equal(digest.n_in, 1);
    assert_int_equal(digest.best, 3);
    check_near("middle", digest.middle_s, 48.0, 1e-9);
}

static void test_digest__no_laps_give_no_times(void **state)
{
    (void)state;
    const struct kw_laps laps = {0};
    struct kw_lap_digest digest;
    assert_int_equal(kw_digest_laps(&laps, &digest, NULL), KW_OK);
    assert_int_equal(digest.best, 0);
    assert_true(isnan(digest.middle_s));
}

static struct kw_event lean_event(size_t lap,
                                  double excess_c,
                                  enum kw_rpm_region region)
{
    return (struct kw_event){
        .kind = KW_LEAN,
        .lap = lap,
        .severity = KW_BEFORE_NEXT_RACE,
        .detail.lean = {670.0, excess_c, region, KW_BASIS_SESSION}};
}

static void test_digest__like_findings_are_one_and_the_worst_leads(void **state)
{
    (void)state;
    struct kw_event items[] = {
        lean_event(3, 20.0, KW_REGION_TOP),
        lean_event(4, 50.0, KW_REGION_TOP),
        lean_event(4, 30.0, KW_REGION_LOW),
        {.kind = KW_CLUTCH_ENGAGEMENT},
        {.kind = KW_SEIZURE_ONSET, .severity = KW_BEFORE_NEXT_RUN, .lap = 5}};
    const struct kw_events events = {.items = items, .n = 5};
    struct kw_event_group groups[KW_MOST_GROUPS];
    assert_int_equal(kw_group_events(&events, groups), 3);
    assert_int_equal(groups[0].worst, 4);
    assert_int_equal(groups[1].n, 2);
    assert_int_equal(groups[1].worst, 1);
    assert_int_equal(groups[2].n, 1);
}

/* Behind all events of a test that have no times of their own. */
enum { N_LAPS = 13 };
static const double LAPS_FROM_S = 1000.0;

/* What is said of the first `n` events as one group, up to `most` bytes. */
static void check_group(const struct kw_events *events,
                        size_t n,
                        const char *expected,
                        size_t most)
{
    const struct kw_event_group group = {.worst = 0, .n = n};
    struct kw_lap laps[N_LAPS];
    for (size_t i = 0; i < N_LAPS; i++)
        laps[i] =
            (struct kw_lap){.number = i + 1,
                            .start_s = LAPS_FROM_S + 50.0 * (double)i,
                            .end_s = LAPS_FROM_S + 50.0 * (double)(i + 1)};
    const struct kw_review review = {.events = *events,
                                     .laps = {.items = laps, .n = N_LAPS}};
    struct kw_text text = {0};
    kw_add_group(&text, &review, &group);
    if (text.length > most)
        text.bytes[most] = '\0';
    assert_string_equal(text.bytes, expected);
    kw_text_free(&text);
}

static void test_digest__laps_are_named_once_and_then_counted(void **state)
{
    (void)state;
    struct kw_event items[10];
    const size_t laps[] = {3, 3, 4, 6, 7, 9, 10, 12, 8, 0};
    for (size_t i = 0; i < 10; i++)
        items[i] = lean_event(laps[i], 20.0, KW_REGION_TOP);
    static const struct {
        size_t n;
        const char *expected;
    } rows[] = {{1, ": lap 3; at "},
                {2, ": 2 times, lap 3; worst at "},
                {3, ": 3 times, laps 3 and 4; worst at "},
                {4, ": 4 times, laps 3, 4 and 6; worst at "},
                {8, ": 8 times, laps 3, 4, 6, 7, 9 and 2 more; worst at "},
                {9, ": 9 times, laps 3, 4, 6 to 10 and 12; worst at "},
                {10, ": 10 times, laps 3, 4, 6 to 10 and 12; worst at "}};
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        const struct kw_events events = {.items = items, .n = rows[i].n};
        check_group(&events, rows[i].n, rows[i].expected,
                    strlen(rows[i].expected));
    }
    const struct kw_events outside = {.items = items + 9, .n = 1};
    check_group(&outside, 1, ": outside the laps",
                strlen(": outside the laps"));
}

/* What goes on over the line was on the next lap too; what runs over it by a
 * moment was not. */
static void test_digest__what_lasts_names_all_its_laps(void **state)
{
    (void)state;
    static const struct {
        double from_s;
        double to_s;
        const char *expected;
    } rows[] = {{1120.0, 1153.0, ": lap 3; at "},
                {1120.0, 1160.0, ": laps 3 and 4; at "},
                {900.0, 1304.0, ": laps 1 to 6; at "},
                {900.0, 1700.0, ": on every lap; at "}};
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct kw_event event = {.kind = KW_PROBE_FAULT,
                                 .lap = rows[i].from_s < LAPS_FROM_S ? 0 : 3,
                                 .start_s = rows[i].from_s,
                                 .end_s = rows[i].to_s};
        const struct kw_events events = {.items = &event, .n = 1};
        check_group(&events, 1, rows[i].expected, strlen(rows[i].expected));
    }
}

/* What is not known is not said. */
static void test_digest__numbers_say_only_what_is_known(void **state)
{
    (void)state;
    struct kw_event lean = lean_event(3, 38.04, KW_REGION_TOP);
    lean.end_s = 8.7;
    const struct kw_events events = {.items = &lean, .n = 1};
    check_group(&events, 1,
                ": lap 3; at 0:00.0, 38 C over what was expected, 670 C at "
                "most, for 8.7 s",
                SIZE_MAX);
    lean.detail.lean.excess_c = NAN;
    lean.detail.lean.peak_egt_c = NAN;
    check_group(&events, 1, ": lap 3; at 0:00.0, for 8.7 s", SIZE_MAX);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_digest__spoilt_laps_do_not_count),
        cmocka_unit_test(test_digest__no_laps_give_no_times),
        cmocka_unit_test(
            test_digest__like_findings_are_one_and_the_worst_leads),
        cmocka_unit_test(test_digest__laps_are_named_once_and_then_counted),
        cmocka_unit_test(test_digest__what_lasts_names_all_its_laps),
        cmocka_unit_test(test_digest__numbers_say_only_what_is_known),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
