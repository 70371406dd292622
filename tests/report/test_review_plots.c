/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What the plots of a review show, and that the words beneath say no more. */
#include "support/check.h"

#include "core/array.h"
#include "report/review_plots.h"
#include "support/example_review.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* One plot of a review; the caller frees both. */
static const struct kw_plot *draw(kw_review_plot *plot,
                                  const struct kw_review *review,
                                  struct kw_plots *plots)
{
    *plots = (struct kw_plots){0};
    assert_int_equal(plot(review, plots, NULL), KW_OK);
    assert_int_equal(plots->n, 1);
    return &plots->items[0];
}

static void check_has(const struct kw_text *text, const char *words, bool has)
{
    assert_false(kw_text_failed(text));
    if ((strstr(text->bytes, words) != NULL) != has)
        fail_msg("'%s' %s", words, has ? "is missing" : "should not be there");
}

/* The highest temperature of the band, which is the first block. */
static double top_of_band_c(const struct kw_plot *plot)
{
    double top_c = NAN;
    const char *end = strstr(plot->data.bytes, "under load");
    for (const char *line = plot->data.bytes; line != NULL && line < end;) {
        double rpm;
        double low_c;
        double high_c;
        if (sscanf(line, "%lf %lf %lf", &rpm, &low_c, &high_c) == 3)
            top_c = fmax(top_c, high_c);
        line = strchr(line, '\n');
        line = line == NULL ? NULL : line + 1;
    }
    return top_c;
}

static void read_y_range(const struct kw_plot *plot, double range_c[2])
{
    const char *range = strstr(plot->script.bytes, "set yrange [");
    assert_non_null(range);
    assert_int_equal(
        sscanf(range, "set yrange [%lf:%lf]", &range_c[0], &range_c[1]), 2);
}

/* Findings against a good day stand above that day's band, and not within that
 * of the session that they fill; and the band is on the plot, however far
 * below. */
static void test_review_plots__band_is_that_of_the_reference(void **state)
{
    (void)state;
    struct kw_review review;
    struct kw_plots plots;
    example_review(&review);
    review.reference_c = kw_array_new(review.session.n_samples,
                                      sizeof *review.reference_c, NULL);
    assert_non_null(review.reference_c);
    for (size_t i = 0; i < review.session.n_samples; i++)
        review.reference_c[i] = 30.0;
    review.reference_spread_c = 15.0;
    const struct kw_plot *plot = draw(kw_plot_heat, &review, &plots);
    check_near("top of the band", top_of_band_c(plot), 45.0, 0.1);
    double range_c[2];
    read_y_range(plot, range_c);
    assert_true(range_c[0] < 30.0);
    check_has(&plot->script, "'reference'", true);
    check_has(&plot->explain, "what the reference session gives", true);
    check_has(&plot->alt, "stand out above", false);
    kw_plots_free(&plots);
    kw_review_free(&review);
}

/* Alone, a session does not know the right mixture; and which jet to turn to is
 * no question where nothing was lean. */
static void test_review_plots__session_alone_promises_no_right_mixture(
    void **state)
{
    (void)state;
    struct kw_review review;
    struct kw_plots plots;
    example_review(&review);
    const struct kw_plot *plot = draw(kw_plot_heat, &review, &plots);
    check_has(&plot->explain, "not whether the mixture is right", true);
    check_has(&plot->explain, "main jet", true);
    check_has(&plot->script, "limit", false);
    kw_plots_free(&plots);
    for (size_t i = 0; i < review.events.n; i++)
        review.events.items[i].kind = KW_CLUTCH_ENGAGEMENT;
    plot = draw(kw_plot_heat, &review, &plots);
    check_has(&plot->explain, "main jet", false);
    kw_plots_free(&plots);
    kw_review_free(&review);
}

/* The owner's limit is drawn and named, also where nothing reached it. */
static void test_review_plots__limit_is_drawn(void **state)
{
    (void)state;
    struct kw_review review;
    struct kw_plots plots;
    example_review(&review);
    review.egt_limit_c = 940.0;
    const struct kw_plot *plot = draw(kw_plot_heat, &review, &plots);
    check_has(&plot->script, "'limit 940 C'", true);
    check_has(&plot->explain, "dashed line is your limit", true);
    double range_c[2];
    read_y_range(plot, range_c);
    assert_true(range_c[1] > 940.0);
    kw_plots_free(&plots);
    kw_review_free(&review);
}

/* A session that is lean throughout must look it: what is long is pale, and is
 * explained. */
static void test_review_plots__long_finding_is_marked_and_explained(
    void **state)
{
    (void)state;
    struct kw_review review;
    struct kw_plots plots;
    example_review(&review);
    for (size_t k = 0; k < review.events.n; k++)
        review.events.items[k].end_s = review.events.items[k].start_s + 2.0;
    const struct kw_plot *plot = draw(kw_plot_session, &review, &plots);
    check_has(&plot->explain, "pale stripe", false);
    kw_plots_free(&plots);
    review.events.items[0].end_s = review.events.items[0].start_s + 250.0;
    plot = draw(kw_plot_session, &review, &plots);
    check_has(&plot->explain, "pale stripe", true);
    check_has(&plot->script, "($3 > 0 ? NaN : 1e5)", true);
    kw_plots_free(&plots);
    kw_review_free(&review);
}

/* Lap numbers that print over each other say nothing: a pause of the logger
 * crowds the laps into a corner of the plot. */
static void test_review_plots__lap_numbers_stand_apart_after_a_pause(
    void **state)
{
    (void)state;
    struct kw_review review;
    struct kw_plots plots;
    example_review(&review);
    const double width_s = 6000.0;
    review.session.time_s[review.session.n_samples - 1] = width_s;
    const struct kw_plot *plot = draw(kw_plot_session, &review, &plots);
    const char *line = strstr(plot->data.bytes, "# laps: ");
    assert_non_null(line);
    double last_s = -INFINITY;
    size_t n = 0;
    while ((line = strchr(line, '\n')) != NULL) {
        double start_s;
        double middle_s;
        unsigned number;
        line++;
        if (sscanf(line, "%lf %lf %u", &start_s, &middle_s, &number) != 3)
            break;
        if (number == 0)
            continue;
        assert_true(middle_s - last_s >= width_s / 26.0 - 0.01);
        last_s = middle_s;
        n++;
    }
    assert_true(n >= 2);
    kw_plots_free(&plots);
    kw_review_free(&review);
}

/* Under "do not run", no plot may say that up and down is no warning. */
static void test_review_plots__trend_takes_no_finding_back(void **state)
{
    (void)state;
    struct kw_review review;
    struct kw_plots plots;
    example_review(&review);
    const struct kw_plot *plot = draw(kw_plot_trend, &review, &plots);
    check_has(&plot->explain, "up and down is not", false);
    check_has(&plot->explain, "told at the top of the page", true);
    kw_plots_free(&plots);
    kw_review_free(&review);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_review_plots__band_is_that_of_the_reference),
        cmocka_unit_test(
            test_review_plots__session_alone_promises_no_right_mixture),
        cmocka_unit_test(test_review_plots__limit_is_drawn),
        cmocka_unit_test(
            test_review_plots__long_finding_is_marked_and_explained),
        cmocka_unit_test(
            test_review_plots__lap_numbers_stand_apart_after_a_pause),
        cmocka_unit_test(test_review_plots__trend_takes_no_finding_back),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
