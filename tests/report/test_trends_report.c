/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The report of the logbook's trends: what is drawn, what is said, and nothing
 * untrusted let through. */
#include "support/check.h"

#include "kartwright/report.h"
#include "report/trends_plots.h"
#include "report/trends_words.h"
#include "support/scratch.h"

#include <gsl/gsl_errno.h>
#include <jansson.h>
#include <stdlib.h>
#include <string.h>

enum { N_SESSIONS = 8, HOUR = 3600 };

/* A made-up season of one measure: a slope of 0.5 an hour on a little scatter,
 * and three parts. */
struct made {
    struct kw_trend_point points[N_SESSIONS];
    struct kw_trend trend;
    struct kw_trends trends;
    struct kw_part parts[3];
    struct kw_parts list;
    struct kw_trends_source source;
};

static char kart[] = "<b>Seven</b>";
static char hostile[] =
    "it's <i>`x`</i> \033[0m a name far too long for a plot";
static char reeds[] = "reeds";
static char chain[] = "chain";

static void make(struct made *made, double slope)
{
    *made = (struct made){0};
    for (int i = 0; i < N_SESSIONS; i++)
        made->points[i] = (struct kw_trend_point){
            .id = i + 1,
            .at_s = 1781431200.0 + i * 24.0 * HOUR,
            .hours = 0.5 * (i + 1),
            .value = 1.0 + slope * 0.5 * i + (i % 2 == 0 ? 0.01 : -0.01),
            .air_density_kg_m3 = NAN};
    made->trend = (struct kw_trend){.measure = "clutch_engagement_s",
                                    .what = "clutch engagement time, s",
                                    .decimals = 2,
                                    .kart = kart,
                                    .points = made->points,
                                    .n = N_SESSIONS};
    kw_trend_judge(&made->trend);
    made->trends = (struct kw_trends){.items = &made->trend, .n = 1};
    made->parts[0] = (struct kw_part){
        .id = 21, .kart = kart, .part = chain, .engine_hours = 0.0};
    made->parts[1] = (struct kw_part){
        .id = 22, .kart = kart, .part = hostile, .engine_hours = 1.0};
    made->parts[2] = (struct kw_part){
        .id = 23, .kart = kart, .part = reeds, .engine_hours = 3.0};
    made->list = (struct kw_parts){.items = made->parts, .n = 3};
    made->source = (struct kw_trends_source){&made->trends, &made->list, NULL};
}

static struct kw_plots plots_of(const struct made *made)
{
    struct kw_plots plots = {0};
    size_t shown[1] = {9};
    assert_int_equal(kw_trends_plots(&made->source, &plots, shown, NULL),
                     KW_OK);
    assert_int_equal(plots.n, 1);
    assert_int_equal(shown[0], 0);
    return plots;
}

/* The line that the eye would follow is drawn only where the test says that it
 * is no chance. */
static void test_trends_plots__line_only_where_it_is_told(void **state)
{
    static const struct {
        double slope;
        bool told;
    } cases[] = {{0.5, true}, {0.0, false}};
    (void)state;
    for (size_t i = 0; i < 2; i++) {
        struct made made;
        make(&made, cases[i].slope);
        struct kw_plots plots = plots_of(&made);
        const char *line = strstr(plots.items[0].data.bytes, "least squares");
        assert_non_null(line);
        assert_int_equal(strstr(line, "NaN") == NULL, cases[i].told);
        assert_int_equal(strstr(plots.items[0].explain.bytes, "rising") != NULL,
                         cases[i].told);
        kw_plots_free(&plots);
    }
}

/* By least squares the line goes through the middle of the points: with a
 * slope of 0.5 from about 1.0 at 0.5 h to about 2.75 at 4 h. */
static void test_trends_plots__line_follows_the_points(void **state)
{
    struct made made;
    (void)state;
    make(&made, 0.5);
    struct kw_plots plots = plots_of(&made);
    const char *line = strstr(plots.items[0].data.bytes, "least squares");
    assert_non_null(line);
    line = strchr(line, '\n') + 1;
    check_near("from, h", strtod(line, NULL), 0.5, 1e-9);
    check_near("from", strtod(strchr(line, ' '), NULL), 1.0, 0.02);
    line = strchr(line, '\n') + 1;
    check_near("to, h", strtod(line, NULL), 4.0, 1e-9);
    check_near("to", strtod(strchr(line, ' '), NULL), 2.75, 0.02);
    kw_plots_free(&plots);
}

/* A new part is what makes a step; one that was there from the start did
 * not. A name from the book must not end gnuplot's string. */
static void test_trends_plots__fittings_are_marked(void **state)
{
    struct made made;
    (void)state;
    make(&made, 0.5);
    struct kw_plots plots = plots_of(&made);
    const char *script = plots.items[0].script.bytes;
    assert_non_null(strstr(script, "set label 'reeds' at 3.0000"));
    assert_non_null(strstr(script, "set arrow from 3.0000,graph 0"));
    assert_non_null(strstr(script, "set label 'it''s <i>`x`</i>"));
    assert_non_null(strstr(script, "...' at 1.0000"));
    assert_null(strstr(script, "chain"));
    assert_null(strchr(script, '\033'));
    kw_plots_free(&plots);
    /* Two in one night share a name, and each has its mark. */
    made.parts[1].engine_hours = 3.0;
    made.parts[1].part = chain;
    plots = plots_of(&made);
    script = plots.items[0].script.bytes;
    assert_non_null(strstr(script, "set label 'chain +1' at 3.0000"));
    assert_null(strstr(script, "reeds"));
    kw_plots_free(&plots);
    /* Another kart's parts are not this engine's. */
    made.parts[1].kart = NULL;
    made.parts[2].kart = NULL;
    plots = plots_of(&made);
    assert_null(strstr(plots.items[0].script.bytes, "set arrow"));
    kw_plots_free(&plots);
}

static void test_trends_plots__one_session_is_no_plot(void **state)
{
    struct made made;
    struct kw_plots plots = {0};
    size_t shown[1];
    (void)state;
    make(&made, 0.5);
    made.trend.n = 1;
    assert_int_equal(kw_trends_plots(&made.source, &plots, shown, NULL), KW_OK);
    assert_int_equal(plots.n, 0);
    kw_plots_free(&plots);
}

/* Whole, with its pictures, and harmless in a browser. */
static void test_trends_folder__is_whole(void **state)
{
    static const char *const files[] = {"index.html",
                                        "trend.json",
                                        "kartwright-report.txt",
                                        "clutch_engagement_s.gp",
                                        "clutch_engagement_s.dat",
                                        "clutch_engagement_s.svg",
                                        "clutch_engagement_s.png"};
    const size_t n_files = sizeof files / sizeof files[0];
    char folder[SCRATCH_PATH_SIZE];
    struct kw_notices notices = {0};
    struct made made;
    make(&made, 0.5);
    scratch_path(folder, *state, "trends");
    /* Twice: the second replaces the first. */
    for (int i = 0; i < 2; i++)
        assert_int_equal(
            kw_trends_write_folder(&made.source, folder, NULL, &notices, NULL),
            KW_OK);
    assert_int_equal(notices.n, 0);
    assert_int_equal(scratch_count(folder), n_files);
    for (size_t i = 0; i < n_files; i++)
        check_true(files[i], scratch_exists(folder, files[i]));
    char *page = scratch_read(folder, "index.html");
    assert_non_null(page);
    assert_non_null(strstr(page, "Rising: clutch engagement time, s."));
    assert_non_null(strstr(page, "mostly right to within two"));
    assert_non_null(strstr(page, "higher since the session of 2026-06-"));
    assert_null(strstr(page, "<b>"));
    assert_null(strstr(page, "<i>"));
    assert_null(strchr(page, '\033'));
    free(page);
    char *text = scratch_read(folder, "trend.json");
    json_t *root = json_loads(text, 0, NULL);
    assert_non_null(root);
    json_t *trend = json_array_get(json_object_get(root, "trends"), 0);
    assert_string_equal(json_string_value(json_object_get(trend, "verdict")),
                        "rising");
    assert_int_equal(json_array_size(json_object_get(trend, "points")),
                     N_SESSIONS);
    assert_int_equal(json_array_size(json_object_get(root, "fittings")), 3);
    json_decref(root);
    free(text);
}

/* What a person keeps in a folder is never taken for a report. */
static void test_trends_folder__foreign_folder_is_refused(void **state)
{
    struct made made;
    struct kw_notices notices = {0};
    make(&made, 0.5);
    scratch_write(*state, "photo.jpg", "bytes");
    assert_int_equal(
        kw_trends_write_folder(&made.source, *state, NULL, &notices, NULL),
        KW_BAD_INPUT);
    assert_int_equal(scratch_count(*state), 1);
}

/* A season that has not begun still gets an answer. */
static void test_trends_folder__empty_book_is_said(void **state)
{
    char folder[SCRATCH_PATH_SIZE];
    struct kw_notices notices = {0};
    struct made made;
    make(&made, 0.5);
    made.trends.n = 0;
    made.list.n = 0;
    scratch_path(folder, *state, "trends");
    assert_int_equal(
        kw_trends_write_folder(&made.source, folder, NULL, &notices, NULL),
        KW_OK);
    char *page = scratch_read(folder, "index.html");
    assert_non_null(strstr(page, "No session tells anything"));
    free(page);
}

/* A test that finds no slope does not show that there is none. */
static void test_trends_folder__no_trend_may_be_chance(void **state)
{
    char folder[SCRATCH_PATH_SIZE];
    struct kw_notices notices = {0};
    struct made made;
    make(&made, 0.5);
    for (size_t i = 0; i < made.trends.n; i++)
        made.trends.items[i].verdict = KW_TREND_NONE;
    scratch_path(folder, *state, "trends");
    assert_int_equal(
        kw_trends_write_folder(&made.source, folder, NULL, &notices, NULL),
        KW_OK);
    char *page = scratch_read(folder, "index.html");
    assert_non_null(strstr(page, "may be chance alone."));
    free(page);
}

/* A p that is nearly nothing is not printed as nothing at all. */
static void test_trends_words__tiny_p_is_below(void **state)
{
    struct kw_trend trend = {.verdict = KW_TREND_FALLING,
                             .slope_per_h = -0.25,
                             .decimals = 1,
                             .p = 1e-9};
    struct kw_text text = {0};
    (void)state;
    kw_add_trend_verdict(&text, &trend);
    assert_string_equal(text.bytes,
                        "falling by 0.25 in a running hour (p below 0.001)");
    kw_text_free(&text);
}

/* Said with its number, for two sessions of one day; higher is not "worse". */
static void test_trends_words__since_names_the_session(void **state)
{
    static const struct {
        double slope;
        const char *words;
    } cases[] = {
        {0.5, ", plainly higher since the session of 2026-06-17 (entry 4)"},
        {-0.5, ", plainly lower since the session of 2026-06-17 (entry 4)"},
        {0.0, NULL}};
    (void)state;
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        struct made made;
        struct kw_text text = {0};
        struct kw_text remark = {0};
        make(&made, cases[i].slope);
        kw_add_trend_verdict(&text, &made.trend);
        kw_add_since_remark(&remark, &made.trends);
        if (cases[i].words != NULL)
            assert_non_null(strstr(text.bytes, cases[i].words));
        else
            assert_null(strstr(text.bytes, "since"));
        assert_int_equal(remark.length > 0, cases[i].words != NULL);
        kw_text_free(&text);
        kw_text_free(&remark);
    }
}

/* Other programs find the session by its number, and null where none is
 * told. */
static void test_trends_json__since_is_null_where_not_known(void **state)
{
    (void)state;
    for (int i = 0; i < 2; i++) {
        struct made made;
        char *text = NULL;
        make(&made, i == 0 ? 0.5 : 0.0);
        assert_int_equal(kw_trends_to_json(&made.source, &text, NULL), KW_OK);
        json_t *root = json_loads(text, 0, NULL);
        assert_non_null(root);
        json_t *trend = json_array_get(json_object_get(root, "trends"), 0);
        json_t *id = json_object_get(trend, "since_id");
        json_t *date = json_object_get(trend, "since_date");
        if (i == 0) {
            assert_int_equal(json_integer_value(id), 4);
            assert_memory_equal(json_string_value(date), "2026-06-17T", 11);
        } else {
            assert_true(json_is_null(id));
            assert_true(json_is_null(date));
        }
        json_decref(root);
        free(text);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_trends_plots__line_only_where_it_is_told),
        cmocka_unit_test(test_trends_plots__line_follows_the_points),
        cmocka_unit_test(test_trends_plots__fittings_are_marked),
        cmocka_unit_test(test_trends_plots__one_session_is_no_plot),
        IN_SCRATCH(test_trends_folder__is_whole),
        IN_SCRATCH(test_trends_folder__foreign_folder_is_refused),
        IN_SCRATCH(test_trends_folder__empty_book_is_said),
        IN_SCRATCH(test_trends_folder__no_trend_may_be_chance),
        cmocka_unit_test(test_trends_words__tiny_p_is_below),
        cmocka_unit_test(test_trends_words__since_names_the_session),
        cmocka_unit_test(test_trends_json__since_is_null_where_not_known),
    };
    gsl_set_error_handler_off();
    return cmocka_run_group_tests(tests, NULL, NULL);
}
