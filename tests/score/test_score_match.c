/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "score/score_metric.h"
#include "support/check.h"

/* Worked check in the manner of ANSI/AAMI EC57, by hand: records A (9 found, 1
 * missed, none false), B (1, 3, 2) and C (0, 0, 1, no label). Gross sensitivity
 * 10/14, gross predictivity 10/13, F1 of both 20/27. */
static void test_score_match__gross_figures_of_three_records(void **state)
{
    (void)state;
    const struct score_counts gross = {9 + 1 + 0, 1 + 3 + 0, 0 + 2 + 1};
    check_near("Se", score_sensitivity(&gross), 0.714286, 1e-6);
    check_near("+P", score_predictivity(&gross), 0.769231, 1e-6);
    check_near("F1", score_f1(&gross), 0.740741, 1e-6);
    const struct score_counts a = {9, 1, 0}, b = {1, 3, 2}, c = {0, 0, 1};
    check_near("average Se",
               (score_sensitivity(&a) + score_sensitivity(&b)) / 2.0, 0.575,
               1e-6);
    check_near("average +P",
               (score_predictivity(&a) + score_predictivity(&b) +
                score_predictivity(&c)) /
                   3.0,
               0.444444, 1e-6);
    check_near("no label, no Se", score_sensitivity(&c), NAN, 0.0);
}

/* Label 10 to 20 s, finding 12 to 26 s: 8 s are shared, 0.8 of the label and
 * 8/14 of the finding. */
static void test_score_match__overlap_of_two_spans(void **state)
{
    (void)state;
    const struct score_event label = {.start_s = 10, .end_s = 20};
    const struct score_event finding = {.start_s = 12, .end_s = 26};
    const struct score_event later = {.start_s = 20.4, .end_s = 30};
    const double shared_s = score_overlap_s(&label, &finding, 0.0);
    check_near("of the label", shared_s / 10.0, 0.8, 1e-12);
    check_near("of the finding", shared_s / 14.0, 0.571429, 1e-6);
    check_near("apart", score_overlap_s(&label, &later, 0.0), 0.0, 0.0);
    check_true("within the window", score_overlap_s(&label, &later, 0.5) > 0);
}

/* One finding over two labels serves one of them; a second finding over one
 * label is false. Otherwise a detector that cries all day would look perfect.
 */
static void test_score_match__each_label_gets_one_finding(void **state)
{
    (void)state;
    struct score_event labels[] = {{.start_s = 0, .end_s = 10},
                                   {.start_s = 12, .end_s = 16},
                                   {.start_s = 50, .end_s = 60}};
    struct score_event findings[] = {{.start_s = 1, .end_s = 15},
                                     {.start_s = 51, .end_s = 55},
                                     {.start_s = 56, .end_s = 58},
                                     {.start_s = 80, .end_s = 81}};
    struct score_matching matching =
        score_match(&(struct score_events){labels, 3},
                    &(struct score_events){findings, 4}, 0.0);
    check_true("longest overlap first", matching.finding_of[0] == 0);
    check_true("second label is missed", matching.finding_of[1] == SCORE_NONE);
    check_true("but was touched", matching.touched[1]);
    check_true("third is found", matching.finding_of[2] == 1);
    check_true("twice told is false", matching.fate[2] == SCORE_FALSE);
    check_true("though it touches", matching.touches[2]);
    check_true("invented",
               matching.fate[3] == SCORE_FALSE && !matching.touches[3]);
    score_matching_free(&matching);
}

/* What need not be found excuses a finding and is no success. */
static void test_score_match__optional_label_excuses(void **state)
{
    (void)state;
    struct score_event labels[] = {
        {.start_s = 0, .end_s = 10, .optional = true},
        {.start_s = 9, .end_s = 12}};
    struct score_event findings[] = {{.start_s = 2, .end_s = 8},
                                     {.start_s = 1, .end_s = 11}};
    struct score_matching matching =
        score_match(&(struct score_events){labels, 2},
                    &(struct score_events){findings, 2}, 0.0);
    check_true("excused", matching.fate[0] == SCORE_EXCUSED);
    check_true("a label that counts comes first",
               matching.fate[1] == SCORE_RIGHT);
    score_matching_free(&matching);
}

/* Quantiles between values; the median of an even number lies in the middle. */
static void test_score_match__quantile_lies_between_neighbours(void **state)
{
    (void)state;
    double even[] = {4.0, 1.0, 3.0, 2.0};
    double odd[] = {5.0, 9.0, 1.0};
    check_near("median", score_quantile(even, 4, 0.5), 2.5, 1e-12);
    check_near("95 %", score_quantile(even, 4, 0.95), 3.85, 1e-12);
    check_near("odd", score_quantile(odd, 3, 0.5), 5.0, 1e-12);
    check_near("none", score_quantile(NULL, 0, 0.5), NAN, 0.0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_score_match__gross_figures_of_three_records),
        cmocka_unit_test(test_score_match__overlap_of_two_spans),
        cmocka_unit_test(test_score_match__each_label_gets_one_finding),
        cmocka_unit_test(test_score_match__optional_label_excuses),
        cmocka_unit_test(test_score_match__quantile_lies_between_neighbours),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
