/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "score/score_metric.h"
#include "support/check.h"

#include <stdlib.h>
#include <string.h>

/* An hour of driving without lap lines: two lean stretches that count, one that
 * need not be found, a start, a lost signal and a sag. */
static struct score_event lean[] = {
    {.start_s = 100, .end_s = 110, .strength = 8, .fault_s = 10},
    {.start_s = 300, .end_s = 308, .strength = 7, .fault_s = 8},
    {.start_s = 500, .end_s = 503, .strength = 2, .optional = true}};
static struct score_event clutch[] = {{.start_s = 20, .end_s = 22}};
static struct score_event dropouts[] = {
    {.start_s = 700, .end_s = 700.4, .kind = "loose_connection"},
    {.start_s = 800, .end_s = 803, .kind = "fuel_restriction"}};
static struct score_event others[] = {
    {.start_s = 900, .end_s = 950, .kind = "rich"}};

static struct score_labels an_hour(void)
{
    return (struct score_labels){.name = "made",
                                 .channels = "rpm_egt",
                                 .rate_hz = 20.0,
                                 .running_s = 3600.0,
                                 .track_m = NAN,
                                 .lean = {lean, 3},
                                 .clutch = {clutch, 1},
                                 .dropouts = {dropouts, 2},
                                 .others = {others, 1}};
}

static struct score_result judged(const struct score_labels *labels,
                                  const char *json)
{
    char copy[4096];
    snprintf(copy, sizeof copy, "%s", json);
    const struct score_output output = {
        .exit = SCORE_REVIEWED, .output = copy, .length = strlen(copy)};
    return score_judge(labels, &output);
}

static double figure(enum score_metric metric,
                     const struct score_result *result)
{
    const struct score_result *items[] = {result};
    return score_metric(metric, &(struct score_sample){items, 1});
}

/* The first lean stretch is found 0.25 s late and ends right, the optional one
 * is told too, one is invented; the start is 0.1 s too long; the lost signal is
 * called a restriction; the sag and the rich running are found. */
static const char REVIEW[] =
    "{\"format\":\"kartwright-review\",\"laps\":{\"items\":[]},"
    "\"lean_episodes\":[{\"start_s\":100.25,\"end_s\":110},"
    "{\"start_s\":501,\"end_s\":502},{\"start_s\":600,\"end_s\":610}],"
    "\"clutch_engagements\":[{\"start_s\":20,\"locked_s\":22.1}],"
    "\"dropouts\":[{\"start_s\":700.1,\"end_s\":700.4,"
    "\"cause\":\"fuel_restriction\",\"confidence\":0.9},"
    "{\"start_s\":801,\"end_s\":803,\"cause\":\"fuel_restriction\"}],"
    "\"findings\":[{\"kind\":\"rich\",\"start_s\":910,\"end_s\":940},"
    "{\"kind\":\"seizure_onset\",\"start_s\":10,\"end_s\":12}]}";

/* Each figure of the table, worked by hand for one session. */
static void test_score_judge__figures_of_one_session(void **state)
{
    (void)state;
    const struct score_labels labels = an_hour();
    struct score_result result = judged(&labels, REVIEW);
    static const struct {
        const char *label;
        enum score_metric metric;
        double value;
    } cases[] = {{"laps", SCORE_LAPS_EXACT, 1.0},
                 {"lean Se", SCORE_LEAN_SE, 0.5},
                 {"lean +P", SCORE_LEAN_PP, 0.5},
                 {"lean start", SCORE_LEAN_START_S, 0.25},
                 {"lean end", SCORE_LEAN_END_S, 0.0},
                 {"clutch Se", SCORE_CLUTCH_SE, 1.0},
                 {"clutch duration", SCORE_CLUTCH_DURATION_S, 0.1},
                 {"drop-out Se", SCORE_DROPOUT_SE, 1.0},
                 {"drop-out +P", SCORE_DROPOUT_PP, 1.0},
                 {"cause", SCORE_DROPOUT_CAUSE, 0.5}};
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++)
        check_near(cases[i].label, figure(cases[i].metric, &result),
                   cases[i].value, 1e-9);
    check_near("rich found", result.kind_found[0], 1.0, 0.0);
    check_near("false: lean and seizure", result.false_findings, 2.0, 0.0);
    check_near("not a healthy session", figure(SCORE_FALSE_PER_H, &result), NAN,
               0.0);
    score_result_free(&result);
}

/* Two false findings in a healthy hour are two per hour; clutch engagements
 * that never were do not count among them. */
static void test_score_judge__false_findings_are_counted_by_the_hour(
    void **state)
{
    (void)state;
    const struct score_labels healthy = {.name = "made",
                                         .healthy = true,
                                         .rate_hz = 20.0,
                                         .running_s = 1800.0,
                                         .track_m = NAN};
    struct score_result result =
        judged(&healthy, "{\"format\":\"kartwright-review\",\"lean_episodes\":"
                         "[{\"start_s\":1,\"end_s\":9}],\"clutch_engagements\":"
                         "[{\"start_s\":1,\"locked_s\":2}]}");
    check_near("per hour", figure(SCORE_FALSE_PER_H, &result), 2.0, 1e-12);
    check_near("clutch +P", figure(SCORE_CLUTCH_PP, &result), 0.0, 0.0);
    score_result_free(&result);
}

/* A review that crashed found nothing: it must not look like a careful one. */
static void test_score_judge__crash_misses_everything(void **state)
{
    (void)state;
    const struct score_labels labels = an_hour();
    const struct score_output crash = {.exit = SCORE_CRASHED, .status = 11};
    struct score_result result = score_judge(&labels, &crash);
    check_near("laps", figure(SCORE_LAPS_EXACT, &result), 0.0, 0.0);
    check_near("lean", figure(SCORE_LEAN_SE, &result), 0.0, 0.0);
    check_near("drop-outs", figure(SCORE_DROPOUT_SE, &result), 0.0, 0.0);
    check_true("told", strstr(result.text, "crashed") != NULL);
    score_result_free(&result);
    struct score_result garbage = judged(&labels, "{\"format\": \"other\"");
    check_true("garbage is no review", !garbage.readable);
    score_result_free(&garbage);
}

/* The interval holds the value, and the same seed gives the same interval. */
static void test_score_judge__interval_holds_the_value(void **state)
{
    (void)state;
    const struct score_labels labels = an_hour();
    struct score_result good = judged(&labels, REVIEW);
    struct score_result poor =
        judged(&labels, "{\"format\":\"kartwright-review\"}");
    const struct score_result *items[] = {&good, &poor, &good, &good};
    const struct score_sample sample = {items, 4};
    const struct score_interval a =
        score_bootstrap(SCORE_DROPOUT_SE, &sample, 5);
    const struct score_interval b =
        score_bootstrap(SCORE_DROPOUT_SE, &sample, 5);
    check_near("value", a.value, 0.75, 1e-12);
    check_true("inside", a.low < a.value && a.value <= a.high);
    check_near("repeatable", b.low, a.low, 0.0);
    score_result_free(&good);
    score_result_free(&poor);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_score_judge__figures_of_one_session),
        cmocka_unit_test(
            test_score_judge__false_findings_are_counted_by_the_hour),
        cmocka_unit_test(test_score_judge__crash_misses_everything),
        cmocka_unit_test(test_score_judge__interval_holds_the_value),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
