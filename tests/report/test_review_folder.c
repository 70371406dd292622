/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The report folder, with gnuplot as it should be and as it can be: missing,
 * failing, silent, half done. The review must come out either way. */
#include "support/check.h"

#include "kartwright/report.h"
#include "support/example_review.h"
#include "support/scratch.h"

#include <fcntl.h>
#include <signal.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <unistd.h>

static const char *const plot_names[] = {"session",  "laps",   "heat", "trend",
                                         "dropouts", "clutch", "track"};
enum { N_PLOTS = sizeof plot_names / sizeof plot_names[0] };

/* A stand-in for gnuplot in the scratch folder.
 *
 * path  of SCRATCH_PATH_SIZE bytes; returned. */
static const char *stand_in(char *path, const void *scratch, const char *script)
{
    scratch_write(scratch, "gnuplot", script);
    scratch_path(path, scratch, "gnuplot");
    assert_int_equal(chmod(path, 0755), 0);
    return path;
}

static enum kw_status write_to(const void *scratch,
                               const struct kw_review *review,
                               const struct kw_folder_options *options,
                               struct kw_notices *notices)
{
    char folder[SCRATCH_PATH_SIZE];
    return kw_review_write_folder(review, scratch_path(folder, scratch, "out"),
                                  options, notices, NULL);
}

static bool has_file(const void *scratch, const char *name, const char *ending)
{
    char path[64];
    snprintf(path, sizeof path, "out/%s%s", name, ending);
    return scratch_exists(scratch, path);
}

/* Runs gnuplot in a folder, as a person would; gives its exit status. */
static int run_gnuplot(const char *folder, const char *script)
{
    int status = -1;
    const pid_t child = fork();
    assert_true(child >= 0);
    if (child == 0) {
        const int nothing = open("/dev/null", O_WRONLY);
        if (nothing >= 0 && dup2(nothing, STDERR_FILENO) >= 0 &&
            chdir(folder) == 0)
            execlp("gnuplot", "gnuplot", script, (char *)NULL);
        _exit(127);
    }
    assert_int_equal(waitpid(child, &status, 0), child);
    return WIFEXITED(status) ? WEXITSTATUS(status) : -1;
}

static void test_review_folder__every_plot_has_its_four_files(void **state)
{
    struct kw_review review;
    struct kw_notices notices = {0};
    example_review(&review);
    assert_int_equal(write_to(*state, &review, NULL, &notices), KW_OK);
    for (size_t i = 0; i < notices.n; i++)
        fail_msg("notice: %s", notices.items[i].text);
    for (size_t i = 0; i < N_PLOTS; i++) {
        static const char *const endings[] = {".gp", ".dat", ".svg", ".png"};
        for (size_t j = 0; j < 4; j++)
            check_true(plot_names[i],
                       has_file(*state, plot_names[i], endings[j]));
    }
    assert_true(has_file(*state, "index", ".html"));
    assert_true(has_file(*state, "review", ".json"));
    assert_int_equal(scratch_count(*state), 1);
    kw_notices_free(&notices);
    kw_review_free(&review);
}

static void check_title(const void *scratch, const char *svg, const char *title)
{
    char *picture = scratch_read(scratch, svg);
    check_true(svg, picture != NULL && strstr(picture, title) != NULL);
    free(picture);
}

/* A title without room is left out in silence, and numbers without one say
 * nothing. */
static void test_review_folder__axes_have_their_titles(void **state)
{
    struct kw_review review;
    struct kw_notices notices = {0};
    example_review(&review);
    assert_int_equal(write_to(*state, &review, NULL, &notices), KW_OK);
    check_title(*state, "out/session.svg", "time in the log");
    check_title(*state, "out/laps.svg", "place in the lap");
    kw_notices_free(&notices);
    kw_review_free(&review);
}

/* Where the RPM axis of the first drop-out begins. */
static double rpm_axis_from(const void *scratch, enum kw_cause cause)
{
    struct kw_review review;
    struct kw_notices notices = {0};
    example_review(&review);
    for (size_t i = 0; i < review.events.n; i++) {
        struct kw_event *event = &review.events.items[i];
        if (event->kind != KW_DROPOUT)
            continue;
        /* Away from where the made-up RPM is 0. */
        event->start_s -= 20.0;
        event->end_s -= 20.0;
        event->detail.dropout.cause = cause;
    }
    assert_int_equal(write_to(scratch, &review, NULL, &notices), KW_OK);
    char *script = scratch_read(scratch, "out/dropouts.gp");
    assert_non_null(script);
    const char *range = strstr(script, "set yrange [");
    assert_non_null(range);
    const double from = strtod(range + strlen("set yrange ["), NULL);
    free(script);
    kw_notices_free(&notices);
    kw_review_free(&review);
    return from;
}

/* A sag of 500 in 12,000 RPM on an axis from 0 is a flat line; RPM that
 * vanishes is seen against 0. */
static void test_review_folder__sag_is_drawn_close_up(void **state)
{
    assert_true(rpm_axis_from(*state, KW_CAUSE_LOOSE_CONNECTION) <= 0.0);
    assert_true(rpm_axis_from(*state, KW_CAUSE_FUEL_RESTRICTION) > 1000.0);
}

/* The page opens without a network, on a phone, and for who cannot see. */
static void test_review_folder__page_is_whole_in_itself(void **state)
{
    struct kw_review review;
    struct kw_notices notices = {0};
    example_review(&review);
    assert_int_equal(write_to(*state, &review, NULL, &notices), KW_OK);
    char *page = scratch_read(*state, "out/index.html");
    /* Words inside a box that scrolls are cut off on a phone. */
    assert_null(strstr(page, "<caption"));
    assert_non_null(page);
    assert_non_null(strstr(page, "<meta name=\"viewport\""));
    assert_non_null(strstr(page, "@media print"));
    assert_null(strstr(page, "http:"));
    assert_null(strstr(page, "https:"));
    assert_null(strstr(page, "<script"));
    size_t pictures = 0;
    for (const char *at = page; (at = strstr(at, "<img ")) != NULL; at++) {
        assert_memory_equal(at, "<img alt=\"", 10);
        assert_true(at[10] != '"');
        pictures++;
    }
    assert_int_equal(pictures, N_PLOTS);
    free(page);
    kw_notices_free(&notices);
    kw_review_free(&review);
}

/* A person changes a colour and draws again: `gnuplot session.gp` works inside
 * the folder, for every plot. */
static void test_review_folder__scripts_draw_again_in_their_folder(void **state)
{
    char folder[SCRATCH_PATH_SIZE];
    struct kw_review review;
    struct kw_notices notices = {0};
    example_review(&review);
    assert_int_equal(write_to(*state, &review, NULL, &notices), KW_OK);
    scratch_path(folder, *state, "out");
    for (size_t i = 0; i < N_PLOTS; i++) {
        char name[64];
        snprintf(name, sizeof name, "out/%s.svg", plot_names[i]);
        char path[SCRATCH_PATH_SIZE];
        assert_int_equal(unlink(scratch_path(path, *state, name)), 0);
        snprintf(name, sizeof name, "%s.gp", plot_names[i]);
        check_true(plot_names[i], run_gnuplot(folder, name) == 0);
        check_true(plot_names[i], has_file(*state, plot_names[i], ".svg"));
    }
    kw_notices_free(&notices);
    kw_review_free(&review);
}

static void test_review_folder__bare_log_still_gives_a_page(void **state)
{
    struct kw_review review;
    struct kw_notices notices = {0};
    bare_review(&review);
    assert_int_equal(write_to(*state, &review, NULL, &notices), KW_OK);
    assert_int_equal(notices.n, 0);
    assert_true(has_file(*state, "session", ".svg"));
    assert_false(has_file(*state, "heat", ".gp"));
    assert_false(has_file(*state, "track", ".gp"));
    kw_notices_free(&notices);
    kw_review_free(&review);
}

static void forget_egt(struct kw_review *review)
{
    for (size_t i = 0; i < review->session.n_samples; i++) {
        review->session.egt_c[i] = NAN;
        review->session.gas_c[i] = NAN;
        review->expected_c[i] = NAN;
    }
}

static void forget_rpm(struct kw_review *review)
{
    for (size_t i = 0; i < review->session.n_samples; i++)
        review->session.rpm[i] = review->session.rpm_raw[i] = NAN;
}

static void stand_still(struct kw_review *review)
{
    for (size_t i = 0; i < review->session.n_samples; i++) {
        review->session.x_m[i] = review->session.y_m[i] = 0.0;
        review->session.rpm[i] = review->session.rpm_raw[i] = 0.0;
        review->session.egt_c[i] = review->session.gas_c[i] = 20.0;
        review->session.speed_m_s[i] = 0.0;
    }
}

static void keep_two_samples(struct kw_review *review)
{
    review->session.n_samples = 2;
}

static void lose_every_other_reading(struct kw_review *review)
{
    for (size_t i = 0; i < review->session.n_samples; i += 2) {
        review->session.rpm[i] = review->session.rpm_raw[i] = NAN;
        review->session.egt_c[i] = review->session.gas_c[i] = NAN;
        review->laps.place[i] = NAN;
    }
}

static void break_the_pickup(struct kw_review *review)
{
    for (size_t i = 0; i < review->session.n_samples; i++)
        review->session.rpm_raw[i] = i % 2 == 0 ? 1e300 : -1e300;
}

/* gnuplot stops at a range without width or a block without a number: no log
 * may lead it there. */
static void test_review_folder__odd_logs_lose_no_plot(void **state)
{
    static const struct {
        const char *label;
        void (*change)(struct kw_review *review);
    } rows[] = {{"no EGT reading", forget_egt},
                {"no RPM reading", forget_rpm},
                {"nothing moves", stand_still},
                {"two samples", keep_two_samples},
                {"every other reading", lose_every_other_reading},
                {"impossible readings", break_the_pickup}};
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct kw_review review;
        struct kw_notices notices = {0};
        example_review(&review);
        rows[i].change(&review);
        check_true(rows[i].label,
                   write_to(*state, &review, NULL, &notices) == KW_OK);
        if (notices.n > 0)
            fail_msg("%s: %s", rows[i].label, notices.items[0].text);
        kw_notices_free(&notices);
        kw_review_free(&review);
    }
}

/* Each gives the folder, without pictures, and one line that says why. */
static void test_review_folder__gnuplot_trouble_costs_only_the_plots(
    void **state)
{
    static const struct {
        const char *label;
        const char *script;
        const char *said;
    } rows[] = {
        {"missing", NULL, "gnuplot was not found: install it"},
        {"failing", "#!/bin/sh\necho 'line 7: no' >&2\nexit 3\n",
         "gnuplot failed and said: line 7: no"},
        {"killed", "#!/bin/sh\nkill -9 $$\n", "gnuplot failed"},
        {"silent", "#!/bin/sh\nexec tail -f /dev/null\n",
         "gnuplot said nothing for 0.3 s and was ended"},
        {"silent, with a child of its own",
         "#!/bin/sh\ntail -f /dev/null & tail -f /dev/null\n",
         "gnuplot said nothing for 0.3 s and was ended"},
        {"silent with closed mouth",
         "#!/bin/sh\nexec tail -f /dev/null >/dev/null 2>&1\n",
         "gnuplot said nothing for 0.3 s and was ended"},
        {"content but idle", "#!/bin/sh\nexit 0\n", "gnuplot did not draw"},
        {"half done", "#!/bin/sh\nprintf '<svg>' >session.svg\nexit 0\n",
         "gnuplot did not draw"}};
    struct kw_review review;
    example_review(&review);
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        char path[SCRATCH_PATH_SIZE] = "/nowhere/gnuplot";
        struct kw_notices notices = {0};
        if (rows[i].script != NULL)
            stand_in(path, *state, rows[i].script);
        const struct kw_folder_options options = {.gnuplot = path,
                                                  .silence_s = 0.3};
        check_true(rows[i].label,
                   write_to(*state, &review, &options, &notices) == KW_OK);
        check_true(rows[i].label, notices.n == 1);
        if (strstr(notices.items[0].text, rows[i].said) == NULL)
            fail_msg("%s: '%s'", rows[i].label, notices.items[0].text);
        check_true(rows[i].label, has_file(*state, "session", ".gp"));
        check_true(rows[i].label, !has_file(*state, "session", ".svg"));
        char *page = scratch_read(*state, "out/index.html");
        check_true(rows[i].label, strstr(page, "This plot is missing") != NULL);
        check_true(rows[i].label, strstr(page, "plots are missing") != NULL);
        free(page);
        kw_notices_free(&notices);
    }
    kw_review_free(&review);
}

/* Ctrl-C while gnuplot works leaves nothing behind. The signal is held back by
 * this test, as kw_review_write_folder() does itself. */
static void test_review_folder__interrupt_leaves_nothing(void **state)
{
    char path[SCRATCH_PATH_SIZE];
    struct kw_review review;
    struct kw_notices notices = {0};
    sigset_t held;
    sigset_t before;
    int taken = 0;
    example_review(&review);
    const struct kw_folder_options options = {
        .gnuplot =
            stand_in(path, *state, "#!/bin/sh\nexec tail -f /dev/null\n"),
        .silence_s = 20.0};
    sigemptyset(&held);
    sigaddset(&held, SIGTERM);
    assert_int_equal(pthread_sigmask(SIG_BLOCK, &held, &before), 0);
    assert_int_equal(raise(SIGTERM), 0);
    assert_int_equal(write_to(*state, &review, &options, &notices),
                     KW_IO_FAILED);
    assert_int_equal(sigwait(&held, &taken), 0);
    assert_int_equal(taken, SIGTERM);
    assert_int_equal(pthread_sigmask(SIG_SETMASK, &before, NULL), 0);
    assert_int_equal(scratch_count(*state), 1);
    kw_notices_free(&notices);
    kw_review_free(&review);
}

static void test_review_folder__foreign_folder_is_refused(void **state)
{
    char folder[SCRATCH_PATH_SIZE];
    struct kw_review review;
    struct kw_notices notices = {0};
    example_review(&review);
    scratch_path(folder, *state, "out");
    assert_int_equal(mkdir(folder, 0777), 0);
    scratch_write(*state, "out/index.html", "mine");
    assert_int_equal(kw_report_check_folder(folder, NULL), KW_BAD_INPUT);
    assert_int_equal(write_to(*state, &review, NULL, &notices), KW_BAD_INPUT);
    char *page = scratch_read(*state, "out/index.html");
    assert_string_equal(page, "mine");
    assert_int_equal(scratch_count(folder), 1);
    free(page);
    kw_notices_free(&notices);
    kw_review_free(&review);
}

static void test_review_folder__earlier_report_is_replaced(void **state)
{
    struct kw_review review;
    struct kw_notices notices = {0};
    const struct kw_folder_options options = {.gnuplot = "/nowhere/gnuplot"};
    example_review(&review);
    assert_int_equal(write_to(*state, &review, NULL, &notices), KW_OK);
    assert_true(has_file(*state, "session", ".svg"));
    assert_int_equal(write_to(*state, &review, &options, &notices), KW_OK);
    assert_false(has_file(*state, "session", ".svg"));
    assert_int_equal(scratch_count(*state), 1);
    kw_notices_free(&notices);
    kw_review_free(&review);
}

/* What a log says stays text in the page and in the scripts, and gnuplot draws
 * all the same. */
static void test_review_folder__hostile_log_does_nothing(void **state)
{
    struct kw_review review;
    struct kw_notices notices = {0};
    const struct kw_folder_options options = {.title = hostile_heading};
    example_review(&review);
    make_hostile(&review);
    assert_int_equal(write_to(*state, &review, &options, &notices), KW_OK);
    assert_int_equal(notices.n, 0);
    char *page = scratch_read(*state, "out/index.html");
    char *script = scratch_read(*state, "out/session.gp");
    assert_null(strstr(page, "<b>"));
    assert_null(strstr(page, "</script>"));
    assert_null(strchr(page, '\033'));
    assert_null(strstr(page, "\xE2\x80\xAE"));
    assert_non_null(strstr(page, "&lt;b&gt;"));
    assert_non_null(strstr(script, "''%s"));
    assert_null(strstr(script, " '%s"));
    assert_null(strchr(script, '\033'));
    free(page);
    free(script);
    kw_notices_free(&notices);
    kw_review_free(&review);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        IN_SCRATCH(test_review_folder__every_plot_has_its_four_files),
        IN_SCRATCH(test_review_folder__axes_have_their_titles),
        IN_SCRATCH(test_review_folder__sag_is_drawn_close_up),
        IN_SCRATCH(test_review_folder__page_is_whole_in_itself),
        IN_SCRATCH(test_review_folder__scripts_draw_again_in_their_folder),
        IN_SCRATCH(test_review_folder__bare_log_still_gives_a_page),
        IN_SCRATCH(test_review_folder__odd_logs_lose_no_plot),
        IN_SCRATCH(test_review_folder__gnuplot_trouble_costs_only_the_plots),
        IN_SCRATCH(test_review_folder__interrupt_leaves_nothing),
        IN_SCRATCH(test_review_folder__foreign_folder_is_refused),
        IN_SCRATCH(test_review_folder__earlier_report_is_replaced),
        IN_SCRATCH(test_review_folder__hostile_log_does_nothing),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
