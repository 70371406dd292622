/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "advice/advice.h"
#include "advice/fault.h"
#include "support/check.h"

#include <stdlib.h>
#include <string.h>

enum { N_LAPS = 8 };

/* A review of eight 50 s flying laps with EGT, and no event yet. */
static struct kw_review review_of_eight_laps(void)
{
    struct kw_review review = {0};
    review.laps.method = KW_LAPS_BY_RPM;
    review.laps.items = calloc(N_LAPS, sizeof *review.laps.items);
    review.session.egt_c = calloc(1, sizeof *review.session.egt_c);
    assert_non_null(review.laps.items);
    assert_non_null(review.session.egt_c);
    for (size_t i = 0; i < N_LAPS; i++) {
        review.laps.items[i].number = i + 1;
        review.laps.items[i].kind = KW_LAP_FLYING;
        review.laps.items[i].start_s = 50.0 * (double)i;
        review.laps.items[i].end_s = 50.0 * (double)(i + 1);
    }
    review.laps.n = N_LAPS;
    review.running.seconds = 50.0 * N_LAPS;
    return review;
}

static void free_review(struct kw_review *review)
{
    for (size_t i = 0; i < review->suggestions.n; i++) {
        free(review->suggestions.items[i].part);
        free(review->suggestions.items[i].why);
        free(review->suggestions.items[i].check);
        free(review->suggestions.items[i].caution);
    }
    free(review->suggestions.items);
    free(review->verdict_text);
    free(review->laps.items);
    free(review->session.egt_c);
    kw_events_free(&review->events);
    kw_notices_free(&review->not_judged);
}

static void add_event(struct kw_review *review,
                      struct kw_event event,
                      size_t lap)
{
    event.lap = lap;
    event.start_s = 50.0 * (double)(lap - 1) + 20.0;
    event.end_s = event.start_s + 6.0;
    assert_int_equal(kw_events_add(&review->events, &event, NULL), KW_OK);
}

static struct kw_event lean(enum kw_rpm_region region)
{
    struct kw_event event = {
        .kind = KW_LEAN, .confidence = 0.9, .evidence = "Exhaust 38 C hotter."};
    event.detail.lean.region = region;
    event.detail.lean.basis = KW_BASIS_SESSION;
    return event;
}

static struct kw_event dropout(enum kw_cause cause, double confidence)
{
    struct kw_event event = {.kind = KW_DROPOUT,
                             .confidence = confidence,
                             .evidence = "RPM fell from 13,800 to 0."};
    event.detail.dropout.cause = cause;
    return event;
}

/* A healthy evening must end with nothing to take apart. */
static void test_suggest__healthy_session_asks_for_nothing(void **state)
{
    (void)state;
    struct kw_review review = review_of_eight_laps();
    struct kw_event start = {.kind = KW_CLUTCH_ENGAGEMENT, .confidence = 1.0};
    add_event(&review, start, 1);
    assert_int_equal(kw_advise(&review, NULL, NULL), KW_OK);
    assert_int_equal(review.suggestions.n, 0);
    assert_int_equal(review.verdict, KW_NOTHING_STANDS_OUT);
    assert_non_null(strstr(review.verdict_text, "Nothing stands out"));
    free_review(&review);
}

/* Without EGT "nothing stands out" would promise what the log cannot know. */
static void test_suggest__no_egt_is_said_in_the_verdict(void **state)
{
    (void)state;
    struct kw_review review = review_of_eight_laps();
    free(review.session.egt_c);
    review.session.egt_c = NULL;
    assert_int_equal(kw_advise(&review, NULL, NULL), KW_OK);
    assert_non_null(strstr(review.verdict_text, "could not be judged"));
    free_review(&review);
}

/* "Nothing stands out" must not stand alone over an engine that turned faster
 * than its owner allows. */
static void test_suggest__over_rev_is_said_in_the_verdict(void **state)
{
    (void)state;
    struct kw_review review = review_of_eight_laps();
    review.over_rev = (struct kw_over_rev){
        .limit_rpm = 15500.0, .times = 2, .highest_rpm = 16120.0};
    assert_int_equal(kw_advise(&review, NULL, NULL), KW_OK);
    assert_int_equal(review.verdict, KW_NOTHING_STANDS_OUT);
    assert_non_null(strstr(review.verdict_text,
                           ". But RPM went up to 16,120, above your limit "
                           "of 15,500."));
    free_review(&review);
}

/* "Nothing stands out" after a lap on a cold pipe says little, and says so. */
static void test_suggest__short_session_is_said_in_the_verdict(void **state)
{
    (void)state;
    static const struct {
        const char *label;
        double running_s;
        size_t laps;
        bool said;
    } cases[] = {{"an out lap", 44.0, 1, true},
                 {"two short laps", 80.0, 2, false},
                 {"one lap, but long", 180.0, 1, false}};
    for (size_t k = 0; k < sizeof cases / sizeof cases[0]; k++) {
        struct kw_review review = review_of_eight_laps();
        review.running.seconds = cases[k].running_s;
        review.laps.n = cases[k].laps;
        review.over_rev = (struct kw_over_rev){
            .limit_rpm = 15500.0, .times = 1, .highest_rpm = 16120.0};
        assert_int_equal(kw_advise(&review, NULL, NULL), KW_OK);
        assert_int_equal(review.verdict, KW_NOTHING_STANDS_OUT);
        check_true(cases[k].label,
                   (strstr(review.verdict_text, "it is short") != NULL) ==
                       cases[k].said);
        /* One "but" is enough. */
        check_true(cases[k].label,
                   (strstr(review.verdict_text, "But RPM went up") == NULL) ==
                       cases[k].said);
        free_review(&review);
    }
}

struct running_case {
    const char *label;
    double running_s;
    double speed_m_s;
    double rpm_step; /* from second to second */
    double load;     /* of the whole session, NAN for not known */
    size_t lifted;   /* one second in so many is without; 0 for none */
    bool laps;
    enum kw_verdict verdict;
    const char *words;
};

/* Silence where nothing could be heard must not send a racer out: an engine
 * that only idled, or did not run, was not found to be sound. */
static void test_suggest__too_little_running_gives_no_verdict(void **state)
{
    (void)state;
    static const struct running_case cases[] = {
        {"engine off", 0.0, 0.0, 100.0, NAN, 0, false, KW_VERDICT_NOT_KNOWN,
         "the engine did not run in it."},
        {"RPM lead off", 0.0, 25.0, 100.0, NAN, 0, true, KW_VERDICT_NOT_KNOWN,
         "Check the logger's RPM lead."},
        {"warmed up", 12.0, 0.0, 100.0, 0.0, 0, false, KW_VERDICT_NOT_KNOWN,
         "for less than half a minute."},
        {"idled for long", 400.0, 0.0, 100.0, 0.0, 0, false,
         KW_VERDICT_NOT_KNOWN, "never at work in it."},
        {"idled only", 400.0, 0.0, 100.0, NAN, 0, false, KW_VERDICT_NOT_KNOWN,
         "It may only have idled."},
        {"laps by RPM alone", 400.0, 0.0, 100.0, NAN, 0, true,
         KW_NOTHING_STANDS_OUT, "Nothing stands"},
        {"driven", 400.0, 25.0, 100.0, 1.0, 0, true, KW_NOTHING_STANDS_OUT,
         "Nothing stands"},
        {"blipped on the stand", 400.0, 0.0, 100.0, 1.0, 2, false,
         KW_VERDICT_NOT_KNOWN, "only blipped in it, and the kart not driven."},
        {"pulls without laps", 400.0, 0.0, 100.0, 1.0, 4, false,
         KW_NOTHING_STANDS_OUT, "Nothing stands"},
        {"short pulls of a lap", 400.0, 0.0, 100.0, 1.0, 2, true,
         KW_NOTHING_STANDS_OUT, "Nothing stands"},
        {"short pulls on the road", 400.0, 25.0, 100.0, 1.0, 2, false,
         KW_NOTHING_STANDS_OUT, "Nothing stands"},
        {"RPM hangs", 400.0, 25.0, 0.0, 1.0, 0, true, KW_VERDICT_NOT_KNOWN,
         "RPM never moves in it"},
        {"load not known", 400.0, 25.0, 100.0, NAN, 0, false,
         KW_NOTHING_STANDS_OUT, "Nothing stands"},
    };
    enum { N = 400 };
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        const struct running_case *c = &cases[i];
        struct kw_review review = review_of_eight_laps();
        double load[N];
        double speed_m_s[N];
        double rpm[N];
        for (size_t k = 0; k < N; k++) {
            load[k] = c->lifted > 0 && k % c->lifted == 0 ? 0.0 : c->load;
            speed_m_s[k] = c->speed_m_s;
            rpm[k] = 9000.0 + c->rpm_step * (double)(k % 30);
        }
        if (!c->laps)
            review.laps.n = 0;
        review.running.seconds = c->running_s;
        review.session.n_samples = N;
        review.session.rate_hz = 1.0;
        review.session.speed_m_s = speed_m_s;
        review.session.rpm = rpm;
        review.load = load;
        assert_int_equal(kw_advise(&review, NULL, NULL), KW_OK);
        check_true(c->label, review.verdict == c->verdict);
        check_true(c->label, strstr(review.verdict_text, c->words) != NULL);
        free_review(&review);
    }
}

/* A fault that showed in ten seconds is a fault. */
static void test_suggest__finding_in_a_short_run_is_told(void **state)
{
    (void)state;
    struct kw_review review = review_of_eight_laps();
    review.running.seconds = 10.0;
    add_event(&review, dropout(KW_CAUSE_LOOSE_CONNECTION, 0.9), 1);
    assert_int_equal(kw_advise(&review, NULL, NULL), KW_OK);
    assert_int_equal(review.verdict, KW_MEND_BEFORE_RACE);
    free_review(&review);
}

struct urgency_case {
    const char *label;
    enum kw_event_kind kind;
    enum kw_cause cause;
    double confidence;
    size_t n;
    enum kw_urgency urgency;
    enum kw_verdict verdict;
    const char *part;
};

static const struct urgency_case urgency_cases[] = {
    {"one cut", KW_DROPOUT, KW_CAUSE_LOOSE_CONNECTION, 0.9, 1,
     KW_BEFORE_NEXT_RACE, KW_MEND_BEFORE_RACE, "connections"},
    {"three cuts", KW_DROPOUT, KW_CAUSE_LOOSE_CONNECTION, 0.9, 3,
     KW_BEFORE_NEXT_RUN, KW_DO_NOT_RUN, "connections"},
    {"one starved pull", KW_DROPOUT, KW_CAUSE_FUEL_RESTRICTION, 0.8, 1,
     KW_BEFORE_NEXT_RACE, KW_MEND_BEFORE_RACE, "fuel line"},
    {"two starved pulls", KW_DROPOUT, KW_CAUSE_FUEL_RESTRICTION, 0.8, 2,
     KW_BEFORE_NEXT_RUN, KW_DO_NOT_RUN, "fuel line"},
    {"a doubtful one", KW_DROPOUT, KW_CAUSE_UNCLEAR, 0.3, 3, KW_WATCH,
     KW_KEEP_WATCHING, "wiring"},
    {"slow clutch once", KW_CLUTCH_SLIP, KW_CAUSE_UNCLEAR, 0.8, 1, KW_WATCH,
     KW_KEEP_WATCHING, "clutch"},
    {"seizure coming on", KW_SEIZURE_ONSET, KW_CAUSE_UNCLEAR, 0.7, 1,
     KW_BEFORE_NEXT_RUN, KW_DO_NOT_RUN, "piston"},
};

/* Repeated or dangerous evidence is moved up, doubt is held down. */
static void test_suggest__urgency_follows_danger_and_repetition(void **state)
{
    (void)state;
    for (size_t i = 0; i < sizeof urgency_cases / sizeof urgency_cases[0];
         i++) {
        const struct urgency_case *c = &urgency_cases[i];
        struct kw_review review = review_of_eight_laps();
        for (size_t k = 0; k < c->n; k++) {
            struct kw_event event = dropout(c->cause, c->confidence);
            event.kind = c->kind;
            add_event(&review, event, k + 2);
        }
        assert_int_equal(kw_advise(&review, NULL, NULL), KW_OK);
        check_true(c->label, review.suggestions.n == 1);
        check_true(c->label, review.suggestions.items[0].urgency == c->urgency);
        check_true(c->label, review.verdict == c->verdict);
        check_true(c->label,
                   strstr(review.suggestions.items[0].part, c->part) != NULL);
        free_review(&review);
    }
}

/* The most pressing first, each cause once, ranks without holes. */
static void test_suggest__causes_are_ranked_and_told_once(void **state)
{
    (void)state;
    struct kw_review review = review_of_eight_laps();
    add_event(&review, dropout(KW_CAUSE_LOOSE_CONNECTION, 0.9), 3);
    add_event(&review, dropout(KW_CAUSE_FUEL_RESTRICTION, 0.9), 5);
    add_event(&review, dropout(KW_CAUSE_FUEL_RESTRICTION, 0.9), 6);
    add_event(&review, lean(KW_REGION_TOP), 7);
    assert_int_equal(kw_advise(&review, NULL, NULL), KW_OK);
    assert_int_equal(review.suggestions.n, 2);
    const struct kw_suggestion *first = &review.suggestions.items[0];
    assert_non_null(strstr(first->part, "fuel line"));
    assert_non_null(strstr(first->why, "Seen 3 times, laps 5 to 7"));
    assert_non_null(strstr(first->caution, "cold"));
    assert_int_equal(first->rank, 1);
    assert_int_equal(review.suggestions.items[1].rank, 2);
    free_review(&review);
}

/* Lean on every lap is the jet; lean on two laps of eight is debris or a low
 * tank, and turning a screw for it would spoil a good setting. */
static void test_suggest__every_lap_is_the_jet_some_laps_are_not(void **state)
{
    (void)state;
    struct kw_review every = review_of_eight_laps();
    for (size_t lap = 1; lap <= N_LAPS; lap++)
        add_event(&every, lean(KW_REGION_MIDDLE), lap);
    assert_int_equal(kw_advise(&every, NULL, NULL), KW_OK);
    assert_int_equal(every.suggestions.n, 1);
    assert_non_null(strstr(every.suggestions.items[0].part, "needle"));
    free_review(&every);

    struct kw_review some = review_of_eight_laps();
    add_event(&some, lean(KW_REGION_MIDDLE), 4);
    add_event(&some, lean(KW_REGION_MIDDLE), 5);
    assert_int_equal(kw_advise(&some, NULL, NULL), KW_OK);
    assert_non_null(strstr(some.suggestions.items[0].part, "debris"));
    free_review(&some);
}

/* A jet that is wrong all day is said once, and not only lap by lap. */
static void test_suggest__lean_throughout_is_said(void **state)
{
    (void)state;
    struct kw_review review = review_of_eight_laps();
    for (size_t lap = 1; lap <= N_LAPS; lap++) {
        struct kw_event event = lean(KW_REGION_TOP);
        event.detail.lean.basis = KW_BASIS_LIMIT;
        add_event(&review, event, lap);
    }
    assert_int_equal(kw_advise(&review, NULL, NULL), KW_OK);
    assert_int_equal(review.suggestions.n, 1);
    assert_non_null(strstr(review.suggestions.items[0].why,
                           "The whole session was lean: at the top end on "
                           "every flying lap. Exhaust"));
    free_review(&review);
}

/* "The whole session" and "5 times" beside each other contradict: a stretch may
 * last for laps. */
static void test_suggest__lean_for_laps_on_end_counts_each_lap(void **state)
{
    (void)state;
    struct kw_review review = review_of_eight_laps();
    struct kw_event event = lean(KW_REGION_TOP);
    event.detail.lean.basis = KW_BASIS_REFERENCE;
    add_event(&review, event, 1);
    review.events.items[0].end_s = 50.0 * (N_LAPS - 1);
    assert_int_equal(kw_advise(&review, NULL, NULL), KW_OK);
    assert_non_null(strstr(review.suggestions.items[0].why,
                           "lean: at the top end on 7 of 8 flying laps. "));
    free_review(&review);
}

/* "The whole session was lean: at the top end on 0 of 7 flying laps" is what
 * the out lap alone would make of it, and "on 1 of 7" no better. */
static void test_suggest__lean_elsewhere_on_one_lap_is_told_as_that(
    void **state)
{
    (void)state;
    struct kw_review review = review_of_eight_laps();
    review.laps.items[0].kind = KW_LAP_OUT;
    for (size_t lap = 1; lap <= N_LAPS; lap++) {
        struct kw_event event =
            lean(lap == 1 ? KW_REGION_TOP : KW_REGION_MIDDLE);
        event.detail.lean.basis = KW_BASIS_LIMIT;
        add_event(&review, event, lap);
    }
    struct kw_event low = lean(KW_REGION_LOW);
    low.detail.lean.basis = KW_BASIS_LIMIT;
    add_event(&review, low, 5);
    assert_int_equal(kw_advise(&review, NULL, NULL), KW_OK);
    assert_int_equal(review.suggestions.n, 3);
    for (size_t i = 0; i < review.suggestions.n; i++) {
        const char *why = review.suggestions.items[i].why;
        assert_true(strstr(why, "in the middle on every flying lap") != NULL ||
                    strstr(why, "Seen once, lap 1. ") == why ||
                    strstr(why, "Seen once, lap 5. ") == why);
    }
    free_review(&review);
}

/* A probe that is dead from lap 5 on is not "seen once, lap 5". */
static void test_suggest__what_lasts_names_all_its_laps(void **state)
{
    (void)state;
    struct kw_review review = review_of_eight_laps();
    struct kw_event event = {.kind = KW_PROBE_FAULT, .confidence = 0.9};
    add_event(&review, event, 5);
    review.events.items[0].end_s = 50.0 * N_LAPS;
    assert_int_equal(kw_advise(&review, NULL, NULL), KW_OK);
    assert_non_null(
        strstr(review.suggestions.items[0].why, "Seen once, laps 5 to 8."));
    free_review(&review);
}

/* The owner's own limit is what the owner looks for, whatever was surer. */
static void test_suggest__limit_that_was_passed_too_is_told(void **state)
{
    (void)state;
    static const struct {
        const char *label;
        double limit_c;
        enum kw_basis basis;
        bool told;
    } cases[] = {{"passed", 640.0, KW_BASIS_REFERENCE, true},
                 {"kept", 680.0, KW_BASIS_REFERENCE, false},
                 {"none", NAN, KW_BASIS_REFERENCE, false},
                 {"told by the finding", 640.0, KW_BASIS_LIMIT, false}};
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        struct kw_profile profile = {.egt_limit_c = cases[i].limit_c};
        const struct kw_review_options options = {.profile = &profile};
        struct kw_review review = review_of_eight_laps();
        struct kw_event event = lean(KW_REGION_TOP);
        event.detail.lean.basis = cases[i].basis;
        event.detail.lean.peak_egt_c = 671.0;
        add_event(&review, event, 3);
        assert_int_equal(kw_advise(&review, &options, NULL), KW_OK);
        check_true(cases[i].label,
                   cases[i].told ==
                       (strstr(review.suggestions.items[0].why,
                               "EGT passed your limit of 640 C as well: 671 C "
                               "at most.") != NULL));
        free_review(&review);
    }
}

/* Who looks at the first point alone would run an engine that starves. */
static void test_suggest__verdict_counts_what_must_come_first(void **state)
{
    (void)state;
    struct kw_review review = review_of_eight_laps();
    for (size_t lap = 1; lap <= 3; lap++)
        add_event(&review, dropout(KW_CAUSE_LOOSE_CONNECTION, 0.9), lap);
    add_event(&review, (struct kw_event){.kind = KW_RICH, .confidence = 0.9},
              4);
    assert_int_equal(kw_advise(&review, NULL, NULL), KW_OK);
    assert_non_null(strstr(review.verdict_text, "the first point below."));
    free_review(&review);

    struct kw_review two = review_of_eight_laps();
    for (size_t lap = 1; lap <= 3; lap++) {
        add_event(&two, dropout(KW_CAUSE_LOOSE_CONNECTION, 0.9), lap);
        add_event(&two, dropout(KW_CAUSE_FUEL_RESTRICTION, 0.9), lap);
    }
    assert_int_equal(kw_advise(&two, NULL, NULL), KW_OK);
    assert_non_null(strstr(two.verdict_text, "the first 2 points below."));
    free_review(&two);
}

/* A row without its caution could cost a finger: the table must be whole. */
static void test_suggest__every_fault_says_what_to_do_and_what_hurts(
    void **state)
{
    (void)state;
    for (size_t i = 0; i < KW_N_FAULTS; i++) {
        const struct kw_fault_row *row = kw_fault_row((enum kw_fault)i);
        assert_non_null(row->part);
        assert_non_null(strstr(row->check, "1. "));
        assert_non_null(strstr(row->caution, "Engine off and cold"));
        assert_true(row->many >= 1);
        assert_true(row->repeated >= row->one);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_suggest__healthy_session_asks_for_nothing),
        cmocka_unit_test(test_suggest__no_egt_is_said_in_the_verdict),
        cmocka_unit_test(test_suggest__over_rev_is_said_in_the_verdict),
        cmocka_unit_test(test_suggest__short_session_is_said_in_the_verdict),
        cmocka_unit_test(test_suggest__too_little_running_gives_no_verdict),
        cmocka_unit_test(test_suggest__finding_in_a_short_run_is_told),
        cmocka_unit_test(test_suggest__urgency_follows_danger_and_repetition),
        cmocka_unit_test(test_suggest__causes_are_ranked_and_told_once),
        cmocka_unit_test(test_suggest__every_lap_is_the_jet_some_laps_are_not),
        cmocka_unit_test(test_suggest__lean_throughout_is_said),
        cmocka_unit_test(test_suggest__lean_for_laps_on_end_counts_each_lap),
        cmocka_unit_test(
            test_suggest__lean_elsewhere_on_one_lap_is_told_as_that),
        cmocka_unit_test(test_suggest__what_lasts_names_all_its_laps),
        cmocka_unit_test(test_suggest__limit_that_was_passed_too_is_told),
        cmocka_unit_test(test_suggest__verdict_counts_what_must_come_first),
        cmocka_unit_test(
            test_suggest__every_fault_says_what_to_do_and_what_hurts),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
