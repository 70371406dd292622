/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What a comparison says and asks for, from measures that are judged. */
#include "support/check.h"

#include "compare/advise.h"

#include <stdlib.h>
#include <string.h>

enum { MOST = 4, LAPS = 5 };

/* A comparison of five laps and five, with nothing in it yet. */
struct told {
    struct kw_measure items[MOST];
    double values[MOST][KW_N_SIDES][LAPS];
    struct kw_comparison comparison;
};

static void begin(struct told *told)
{
    *told = (struct told){0};
    told->comparison.measures = (struct kw_measures){told->items, 0, MOST};
    for (int side = 0; side < KW_N_SIDES; side++) {
        told->comparison.sides[side].n_used = LAPS;
        told->comparison.sides[side].air_density_kg_m3 = NAN;
    }
}

/* The same value on all laps of a side. */
static struct kw_measure *add(struct told *told,
                              const char *name,
                              double before,
                              double after,
                              enum kw_change verdict)
{
    const size_t at = told->comparison.measures.n++;
    const double level[] = {before, after};
    struct kw_measure *measure = &told->items[at];
    *measure = (struct kw_measure){.name = name,
                                   .unit = "s",
                                   .rpm_from = NAN,
                                   .rpm_to = NAN,
                                   .difference = after - before,
                                   .low = after - before - 0.5,
                                   .high = after - before + 0.5,
                                   .p = 0.001,
                                   .smallest = 0.71,
                                   .verdict = verdict};
    for (int side = 0; side < KW_N_SIDES; side++) {
        measure->values[side] = told->values[at][side];
        measure->n[side] = LAPS;
        measure->mean[side] = level[side];
        for (size_t i = 0; i < LAPS; i++)
            measure->values[side][i] = level[side];
    }
    return measure;
}

static void advise(struct told *told, const struct kw_differences *found)
{
    static const struct kw_differences none = {0};
    assert_int_equal(kw_advise_change(&told->comparison,
                                      found != NULL ? found : &none, NULL),
                     KW_OK);
}

static void end(struct told *told)
{
    free(told->comparison.summary);
    free(told->comparison.suggestion);
}

/* Who mended a fuel line wants to hear of it first, in laps; "these laps do not
 * show that the change did anything" would be the wrong thing to read. */
static void test_summary__drop_outs_that_stopped_come_first(void **state)
{
    struct told told;
    (void)state;
    begin(&told);
    const struct kw_measure *ill =
        add(&told, "dropouts_per_lap", 1.0, 0.0, KW_NO_CLEAR_CHANGE);
    ill->values[KW_BEFORE][0] = 0.0;
    ill->values[KW_BEFORE][3] = 3.0;
    add(&told, "lap_time_s", 48.0, 48.1, KW_NO_CLEAR_CHANGE);
    advise(&told, NULL);
    const char *summary = told.comparison.summary;
    assert_ptr_equal(strstr(summary,
                            "Drop-outs: on 4 of 5 laps before, on none "
                            "of 5 laps after. "),
                     summary);
    /* What would have shown, rounded up. */
    assert_non_null(strstr(summary, "no clear change in lap time (0.8 s would "
                                    "have shown). Laps compared: 5 before, 5 "
                                    "after."));
    assert_non_null(strstr(told.comparison.suggestion, "No drop-out is left"));
    end(&told);
}

/* Lean laps after the change are no "keep". */
static void test_summary__lean_laps_that_stay_are_said(void **state)
{
    struct told told;
    (void)state;
    begin(&told);
    add(&told, "lean_seconds_per_lap", 0.0, 2.0, KW_NO_CLEAR_CHANGE);
    advise(&told, NULL);
    assert_non_null(strstr(told.comparison.summary,
                           "on none of 5 laps before, on 5 of 5 laps after"));
    assert_non_null(
        strstr(told.comparison.suggestion, "richer before the next run"));
    end(&told);
}

/* One sentence for the engine, one for the clutch, and work for both. */
static void test_summary__pull_and_clutch_are_told(void **state)
{
    struct told told;
    (void)state;
    begin(&told);
    struct kw_measure *pull =
        add(&told, "rpm_gain_rpm_s", 800.0, 720.0, KW_FELL);
    pull->unit = "rpm/s";
    pull->rpm_from = 11000.0;
    pull->rpm_to = 12000.0;
    add(&told, "clutch_engagement_s", 2.0, 4.0, KW_ROSE);
    advise(&told, NULL);
    assert_non_null(strstr(told.comparison.summary,
                           "Pull (11,000 to 12,000 RPM): 80 RPM/s less"));
    assert_non_null(strstr(told.comparison.summary, ", 10 %. "));
    assert_non_null(strstr(told.comparison.summary,
                           "A start through the clutch: 2.00 s more"));
    assert_non_null(strstr(told.comparison.suggestion, "pulls less"));
    assert_non_null(strstr(told.comparison.suggestion, "lining and drum"));
    assert_null(strstr(told.comparison.suggestion, "cannot tell whether"));
    end(&told);
}

/* The highest RPM alone has no advice of its own, and yet something changed. */
static void test_summary__one_clear_change_is_not_nothing(void **state)
{
    struct told told;
    (void)state;
    begin(&told);
    struct kw_measure *heat =
        add(&told, "egt_c", 600.0, 601.0, KW_NO_CLEAR_CHANGE);
    heat->rpm_from = 11000.0;
    heat->rpm_to = 12000.0;
    add(&told, "rpm_max", 14000.0, 14200.0, KW_ROSE);
    advise(&told, NULL);
    assert_non_null(
        strstr(told.comparison.summary, "The highest RPM of a lap: "));
    assert_null(strstr(told.comparison.suggestion, "cannot tell whether"));
    end(&told);
}

/* A lag that differs asks first, then sends to the jets. */
static void test_summary__a_doubtful_probe_is_asked_first(void **state)
{
    const struct kw_differences found = {.doubtful = true};
    struct told told;
    (void)state;
    begin(&told);
    struct kw_measure *heat = add(&told, "egt_c", 600.0, 620.0, KW_ROSE);
    heat->rpm_from = 11000.0;
    heat->rpm_to = 12000.0;
    advise(&told, &found);
    const char *ask =
        strstr(told.comparison.suggestion, "Before you turn anything");
    assert_non_null(ask);
    assert_non_null(strstr(ask, "runs hotter"));
    end(&told);
}

/* The start that takes longer is told, though the RPM held in it is surer. */
static void test_summary__a_start_is_told_by_its_time(void **state)
{
    struct told told;
    (void)state;
    begin(&told);
    add(&told, "clutch_engagement_s", 2.0, 4.0, KW_ROSE)->p = 0.002;
    add(&told, "clutch_hold_rpm", 5000.0, 5200.0, KW_ROSE);
    advise(&told, NULL);
    assert_non_null(
        strstr(told.comparison.summary, "A start through the clutch: 2.00 s"));
    end(&told);
}

/* Two loggers on one probe need not agree by some degrees: whoever changed the
 * logger and no jet must not go to the jets. */
static void test_summary__another_logger_is_a_doubt(void **state)
{
    const struct kw_differences found = {.logger = true};
    struct told told;
    (void)state;
    begin(&told);
    struct kw_measure *heat = add(&told, "egt_c", 600.0, 614.0, KW_ROSE);
    heat->rpm_from = 11000.0;
    heat->rpm_to = 12000.0;
    advise(&told, &found);
    assert_non_null(strstr(told.comparison.summary, "if it is another logger"));
    end(&told);
}

/* Another gearing is judged by the clock: its heat and RPM say nothing, and are
 * not told. */
static void test_summary__another_gearing_is_judged_by_lap_time(void **state)
{
    const struct kw_differences found = {.gearing = true};
    struct told told;
    (void)state;
    begin(&told);
    add(&told, "rpm_max", 14000.0, 14300.0, KW_ROSE);
    struct kw_measure *heat = add(&told, "egt_c", 600.0, 580.0, KW_FELL);
    heat->rpm_from = 11000.0;
    heat->rpm_to = 12000.0;
    add(&told, "lap_time_s", 48.0, 46.0, KW_FELL);
    advise(&told, &found);
    const char *summary = told.comparison.summary;
    assert_non_null(strstr(summary, "A lap takes 2.00 s less"));
    assert_null(strstr(summary, "highest RPM"));
    assert_null(strstr(summary, "cooler"));
    assert_null(strstr(summary, "Safe side"));
    assert_non_null(strstr(told.comparison.suggestion, "judge it by lap time"));
    end(&told);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_summary__drop_outs_that_stopped_come_first),
        cmocka_unit_test(test_summary__lean_laps_that_stay_are_said),
        cmocka_unit_test(test_summary__pull_and_clutch_are_told),
        cmocka_unit_test(test_summary__a_start_is_told_by_its_time),
        cmocka_unit_test(test_summary__another_logger_is_a_doubt),
        cmocka_unit_test(test_summary__one_clear_change_is_not_nothing),
        cmocka_unit_test(test_summary__a_doubtful_probe_is_asked_first),
        cmocka_unit_test(test_summary__another_gearing_is_judged_by_lap_time)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
