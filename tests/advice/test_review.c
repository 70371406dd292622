/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Whole reviews, from the file to the verdict: the invented samples against
 * what was put into them, and real road drives in which nothing is wrong. */
#include "kartwright/review.h"
#include "support/check.h"

#include <gsl/gsl_errno.h>
#include <stdlib.h>
#include <string.h>

/* What a sample holds, from the labels that the simulator wrote with it. Events
 * may be told as a few more or fewer where a fault lies across a lift. */
struct sample {
    const char *name;
    size_t flying_laps;
    size_t lean_least, lean_most;
    size_t loose_least, loose_most;
    size_t fuel_least, fuel_most;
    enum kw_verdict verdict_least, verdict_most;
    const char *part; /* of the first suggestion; NULL for none */
};

static const struct sample samples[] = {
    {"healthy", 10, 0, 0, 0, 0, 0, 0, KW_NOTHING_STANDS_OUT,
     KW_NOTHING_STANDS_OUT, NULL},
    {"lean-top-end", 10, 3, 6, 0, 0, 0, 0, KW_MEND_BEFORE_RACE, KW_DO_NOT_RUN,
     "jet"},
    {"fuel-restriction", 10, 0, 0, 0, 0, 4, 6, KW_DO_NOT_RUN, KW_DO_NOT_RUN,
     "fuel line"},
    {"loose-connection", 10, 0, 0, 4, 6, 0, 0, KW_DO_NOT_RUN, KW_DO_NOT_RUN,
     "connections"},
    {"worn-clutch", 10, 0, 0, 0, 0, 0, 0, KW_NOTHING_STANDS_OUT,
     KW_MEND_BEFORE_RACE, NULL},
    {"with-position", 10, 0, 0, 0, 0, 0, 0, KW_NOTHING_STANDS_OUT,
     KW_NOTHING_STANDS_OUT, NULL},
    {"rpm-and-egt", 10, 0, 0, 0, 0, 0, 0, KW_NOTHING_STANDS_OUT,
     KW_NOTHING_STANDS_OUT, NULL},
    {"rental-four-stroke", 10, 0, 0, 0, 0, 0, 0, KW_NOTHING_STANDS_OUT,
     KW_NOTHING_STANDS_OUT, NULL},
};

static bool review_file(const char *path, struct kw_review *review)
{
    struct kw_log log = {0};
    struct kw_error error = {0};
    if (kw_log_read(path, NULL, &log, &error) != KW_OK)
        return false;
    const enum kw_status status = kw_review_log(&log, NULL, review, &error);
    kw_log_free(&log);
    assert_int_equal(status, KW_OK);
    return true;
}

static size_t count_cause(const struct kw_review *review, enum kw_cause cause)
{
    size_t n = 0;
    for (size_t i = 0; i < review->events.n; i++)
        n += review->events.items[i].kind == KW_DROPOUT &&
             review->events.items[i].detail.dropout.cause == cause;
    return n;
}

static size_t count_flying(const struct kw_review *review)
{
    size_t n = 0;
    for (size_t i = 0; i < review->laps.n; i++)
        n += review->laps.items[i].kind == KW_LAP_FLYING;
    return n;
}

static void check_between(const char *label,
                          size_t n,
                          size_t least,
                          size_t most)
{
    if (n < least || n > most)
        fail_msg("%s: %zu, expected %zu to %zu", label, n, least, most);
}

/* The main job: the fault that is there is found, told with its cause and its
 * urgency, and nothing else is. */
static void test_review__samples_tell_what_was_put_into_them(void **state)
{
    (void)state;
    for (size_t k = 0; k < sizeof samples / sizeof samples[0]; k++) {
        const struct sample *s = &samples[k];
        char path[128];
        struct kw_review review;
        snprintf(path, sizeof path, "samples/%s.csv", s->name);
        check_true(path, review_file(path, &review));
        check_between(s->name, count_flying(&review), s->flying_laps,
                      s->flying_laps);
        check_between(s->name, kw_events_count(&review.events, KW_LEAN),
                      s->lean_least, s->lean_most);
        check_between(s->name, count_cause(&review, KW_CAUSE_LOOSE_CONNECTION),
                      s->loose_least, s->loose_most);
        check_between(s->name, count_cause(&review, KW_CAUSE_FUEL_RESTRICTION),
                      s->fuel_least, s->fuel_most);
        check_true(s->name, review.verdict >= s->verdict_least &&
                                review.verdict <= s->verdict_most);
        if (s->part != NULL)
            check_true(s->name, strstr(review.suggestions.items[0].part,
                                       s->part) != NULL);
        kw_review_free(&review);
    }
}

/* The same log gives the same bytes: a second look must not change the answer.
 */
static void test_review__same_log_gives_the_same_answer(void **state)
{
    (void)state;
    struct kw_review a;
    struct kw_review b;
    assert_true(review_file("samples/lean-top-end.csv", &a));
    assert_true(review_file("samples/lean-top-end.csv", &b));
    assert_int_equal(a.events.n, b.events.n);
    for (size_t i = 0; i < a.events.n; i++) {
        check_near("start", a.events.items[i].start_s,
                   b.events.items[i].start_s, 0.0);
        assert_string_equal(a.events.items[i].evidence,
                            b.events.items[i].evidence);
    }
    kw_review_free(&a);
    kw_review_free(&b);
}

/* Real drives of a road car, 1 Hz, from an open data set (MIT licence,
 * Copyright 2024 Marie Hardt): no laps, no faults, readings missing. The folder
 * lies beside the project or at KW_ROAD_DRIVES; without it the test is skipped.
 */
static void test_review__road_drives_show_no_laps_and_no_faults(void **state)
{
    (void)state;
    static const int drives[] = {6, 10, 16, 17, 25, 32, 33, 34};
    const char *folder = getenv("KW_ROAD_DRIVES");
    if (folder == NULL)
        folder = "../shared/data/road_drives";
    for (size_t k = 0; k < sizeof drives / sizeof drives[0]; k++) {
        char path[512];
        struct kw_review review;
        snprintf(path, sizeof path, "%s/drive%d.csv", folder, drives[k]);
        if (!review_file(path, &review)) {
            print_message("no road drives at %s: skipped\n", folder);
            skip();
        }
        check_between(path, review.laps.n, 0, 0);
        check_between(path, kw_events_count(&review.events, KW_DROPOUT), 0, 0);
        check_true(path, review.verdict == KW_NOTHING_STANDS_OUT);
        kw_review_free(&review);
    }
}

/* Every test turns GSL's handler off, as main does: a failed sum must come back
 * as a status. */
static int turn_handler_off(void **state)
{
    (void)state;
    gsl_set_error_handler_off();
    return 0;
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_review__samples_tell_what_was_put_into_them),
        cmocka_unit_test(test_review__same_log_gives_the_same_answer),
        cmocka_unit_test(test_review__road_drives_show_no_laps_and_no_faults),
    };
    return cmocka_run_group_tests(tests, turn_handler_off, NULL);
}
