/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The numbers of a session that trends are drawn from: one spin, one spike or
 * one probe that fell off must not look like wear. */
#include "support/check.h"

#include "logbook/measures.h"

enum { MOST_LAPS = 16, MOST_EVENTS = 16 };

/* A review whose lists are the test's own arrays; never freed as one. */
struct made_review {
    struct kw_lap laps[MOST_LAPS];
    struct kw_event events[MOST_EVENTS];
    struct kw_review review;
};

static void begin(struct made_review *made, double running_s)
{
    *made = (struct made_review){0};
    made->review.laps.items = made->laps;
    made->review.events.items = made->events;
    made->review.running.seconds = running_s;
}

/* A lap behind the last one. */
static struct kw_lap *add_lap(struct made_review *made,
                              double long_s,
                              double egt_c,
                              double rpm)
{
    struct kw_laps *laps = &made->review.laps;
    const double start_s = laps->n == 0 ? 0.0 : laps->items[laps->n - 1].end_s;
    laps->items[laps->n] = (struct kw_lap){.number = laps->n + 1,
                                           .kind = KW_LAP_FLYING,
                                           .start_s = start_s,
                                           .end_s = start_s + long_s,
                                           .egt_max_c = egt_c,
                                           .rpm_max = rpm};
    return &laps->items[laps->n++];
}

static void add_event(struct made_review *made,
                      enum kw_event_kind kind,
                      double long_s)
{
    struct kw_events *events = &made->review.events;
    events->items[events->n++] = (struct kw_event){
        .kind = kind, .start_s = 10.0, .end_s = 10.0 + long_s};
}

static struct kw_session_numbers measure(const struct made_review *made)
{
    struct kw_session_numbers numbers;
    assert_int_equal(kw_measure_session(&made->review, &numbers, NULL), KW_OK);
    return numbers;
}

/* A log with RPM and time alone, too short for laps: nothing is made up. */
static void test_measures__empty_session_tells_nothing(void **state)
{
    struct made_review made;
    (void)state;
    begin(&made, 0.0);
    const struct kw_session_numbers numbers = measure(&made);
    for (size_t i = 0; i < KW_N_MEASURES; i++)
        check_true(kw_measure_row((enum kw_measure)i)->name,
                   isnan(numbers.values[i]));
    assert_true(isnan(numbers.revolutions));
    assert_true(isnan(numbers.best_lap_s));
    assert_true(isnan(numbers.rpm_max));
    assert_true(isnan(numbers.egt_max_c));
}

/* The spun lap, the out lap and the in lap are no lap times. */
static void test_measures__spoilt_laps_are_left_out(void **state)
{
    struct made_review made;
    (void)state;
    begin(&made, 600.0);
    add_lap(&made, 80.0, 700.0, 9000.0)->kind = KW_LAP_OUT;
    for (int i = 0; i < 5; i++)
        add_lap(&made, 50.0 + 0.1 * i, 600.0 + i, 14000.0 + 10.0 * i);
    add_lap(&made, 20.0, 900.0, 16000.0)->spoilt = true;
    add_lap(&made, 40.0, 500.0, 8000.0)->kind = KW_LAP_IN;
    const struct kw_session_numbers numbers = measure(&made);
    check_near("best", numbers.best_lap_s, 50.0, 1e-9);
    check_near("EGT", numbers.values[KW_MEASURE_EGT_TOP_C], 602.0, 1e-9);
    check_near("RPM", numbers.values[KW_MEASURE_RPM_TOP], 14020.0, 1e-9);
    /* Deviations from 50.2 are 0.2, 0.1, 0, 0.1, 0.2: middle 0.1, which is
     * 1 / 1.4826 of a normal spread (Rousseeuw and Croux 1993, section 1). */
    check_near("spread", numbers.values[KW_MEASURE_LAP_SPREAD],
               100.0 * 1.4826 * 0.1 / 50.2, 1e-3);
}

/* Three laps have no spread worth a number. */
static void test_measures__few_laps_have_no_spread(void **state)
{
    struct made_review made;
    (void)state;
    begin(&made, 600.0);
    for (int i = 0; i < 3; i++)
        add_lap(&made, 50.0 + i, 600.0, 14000.0);
    assert_true(isnan(measure(&made).values[KW_MEASURE_LAP_SPREAD]));
    add_lap(&made, 53.0, 600.0, 14000.0);
    assert_true(!isnan(measure(&made).values[KW_MEASURE_LAP_SPREAD]));
}

/* The probe came off after two laps: the laps that it saw speak. */
static void test_measures__lap_without_reading_is_passed_over(void **state)
{
    struct made_review made;
    (void)state;
    begin(&made, 600.0);
    add_lap(&made, 50.0, 610.0, 14000.0);
    add_lap(&made, 50.0, 620.0, 14000.0);
    add_lap(&made, 50.0, NAN, 14000.0);
    add_lap(&made, 50.0, NAN, 14000.0);
    check_near("EGT", measure(&made).values[KW_MEASURE_EGT_TOP_C], 615.0, 1e-9);
}

static void test_measures__one_slow_start_is_no_worn_clutch(void **state)
{
    struct made_review made;
    (void)state;
    begin(&made, 600.0);
    add_event(&made, KW_CLUTCH_ENGAGEMENT, 0.6);
    add_event(&made, KW_CLUTCH_ENGAGEMENT, 4.0);
    add_event(&made, KW_CLUTCH_ENGAGEMENT, 0.7);
    add_event(&made, KW_LEAN, 30.0);
    check_near("clutch", measure(&made).values[KW_MEASURE_CLUTCH_S], 0.7, 1e-9);
}

/* Ten minutes with two drop-outs are twelve an hour; two minutes are no rate.
 */
static void test_measures__rates_need_running_time(void **state)
{
    struct made_review made;
    double egt_c[1] = {600.0};
    (void)state;
    begin(&made, 600.0);
    add_event(&made, KW_DROPOUT, 0.2);
    add_event(&made, KW_DROPOUT, 0.2);
    add_event(&made, KW_LEAN, 5.0);
    struct kw_session_numbers numbers = measure(&made);
    check_near("drop-outs", numbers.values[KW_MEASURE_DROPOUTS_PER_H], 12.0,
               1e-9);
    /* Without EGT nobody knows whether it ran lean: not 0. */
    assert_true(isnan(numbers.values[KW_MEASURE_LEAN_S_PER_H]));
    made.review.session.egt_c = egt_c;
    made.review.session.rpm = egt_c;
    made.review.session.n_samples = 1;
    numbers = measure(&made);
    check_near("lean", numbers.values[KW_MEASURE_LEAN_S_PER_H], 30.0, 1e-9);
    made.review.running.seconds = 120.0;
    assert_true(isnan(measure(&made).values[KW_MEASURE_DROPOUTS_PER_H]));
    made.review.running.seconds = 600.0;
    made.review.verdict = KW_VERDICT_NOT_KNOWN;
    assert_true(isnan(measure(&made).values[KW_MEASURE_DROPOUTS_PER_H]));
}

/* 6,000 RPM for 10 s are 1,000 turns; where RPM is missing for a stretch the
 * rest of the run speaks for it. */
static void test_measures__turns_are_rpm_times_running_time(void **state)
{
    enum { N = 101 };
    struct made_review made;
    double time_s[N];
    double rpm[N];
    struct kw_span span = {0, N};
    (void)state;
    begin(&made, 10.0);
    for (size_t i = 0; i < N; i++) {
        time_s[i] = 0.1 * (double)i;
        rpm[i] = 6000.0;
    }
    made.review.session.time_s = time_s;
    made.review.session.rpm = rpm;
    made.review.session.n_samples = N;
    made.review.running.spans = (struct kw_spans){&span, 1, 1};
    check_near("whole", measure(&made).revolutions, 1000.0, 1e-6);
    check_near("top", measure(&made).rpm_max, 6000.0, 1e-9);
    for (size_t i = 30; i < 60; i++)
        rpm[i] = NAN;
    check_near("with a hole", measure(&made).revolutions, 1000.0, 1e-6);
    for (size_t i = 0; i < N; i++)
        rpm[i] = NAN;
    assert_true(isnan(measure(&made).revolutions));
    assert_true(isnan(measure(&made).rpm_max));
}

/* Names are what `trend` takes and other programs read: none twice, none
 * without a unit for the person. */
static void test_measures__every_row_has_a_name_of_its_own(void **state)
{
    (void)state;
    for (size_t i = 0; i < KW_N_MEASURES; i++) {
        const struct kw_measure_row *row = kw_measure_row((enum kw_measure)i);
        assert_true(row->name[0] != '\0' && row->what[0] != '\0');
        for (size_t j = 0; j < i; j++)
            assert_string_not_equal(row->name,
                                    kw_measure_row((enum kw_measure)j)->name);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_measures__empty_session_tells_nothing),
        cmocka_unit_test(test_measures__spoilt_laps_are_left_out),
        cmocka_unit_test(test_measures__few_laps_have_no_spread),
        cmocka_unit_test(test_measures__lap_without_reading_is_passed_over),
        cmocka_unit_test(test_measures__one_slow_start_is_no_worn_clutch),
        cmocka_unit_test(test_measures__rates_need_running_time),
        cmocka_unit_test(test_measures__turns_are_rpm_times_running_time),
        cmocka_unit_test(test_measures__every_row_has_a_name_of_its_own),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
