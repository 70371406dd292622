/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "analysis/absence_drawn.h"

#include "analysis/detectors.h"
#include "support/check.h"
#include "support/made_scene.h"

#include <math.h>
#include <string.h>

static const double TOP_RPM = 14000.0;
enum { MOST_SAMPLES = 800, MOST_KNOTS = 10 };

/* rows    the logger repeats each reading in so many rows.
 * stands  nobody knows that the kart was driven. */
struct drawn_log {
    double rate_hz;
    size_t rows;
    double idle_rpm;
    bool stands;
};

/* RPM on lines between its knots; and at what times it was last right, gone,
 * about to come back and back again. */
struct drawn {
    const char *label;
    bool told;
    double before_s;
    double gone_s;
    double leaves_s;
    double back_s;
    double knots[MOST_KNOTS][2];
};

static const struct drawn_log PLAIN = {10, 1, 2000, false};

static double on_lines(const struct drawn *c, double time_s)
{
    size_t k = 0;
    while (k + 2 < MOST_KNOTS && c->knots[k + 2][0] > 0.0 &&
           c->knots[k + 1][0] <= time_s)
        k++;
    const double *a = c->knots[k];
    const double *b = c->knots[k + 1];
    const double share = (time_s - a[0]) / (b[0] - a[0]);
    return a[1] + fmin(share, 1.0) * (b[1] - a[1]);
}

static size_t sample_at(const struct drawn_log *log, double time_s)
{
    return (size_t)(time_s * log->rate_hz + 0.5);
}

static bool ask(const struct drawn_log *log,
                const struct drawn *c,
                const struct kw_session *session)
{
    const struct kw_rate_limits limits = {
        .top_rpm = TOP_RPM,
        .locked_rpm = 6300.0,
        .fall_rpm_s = 6300.0,
        .rise_rpm_s = 4900.0,
        .noise_rpm = 20.0,
        .unsteady_rpm = 590.0,
        .step_s = 1.0 / log->rate_hz,
        .fresh_s = (double)log->rows / log->rate_hz,
    };
    const struct kw_rpm_search search = {.session = session,
                                         .limits = &limits,
                                         .idle_rpm = log->idle_rpm,
                                         .is_driven = !log->stands};
    const struct kw_absence absence = {
        .before = sample_at(log, c->before_s),
        .first = sample_at(log, c->before_s) + 1,
        .gone = sample_at(log, c->gone_s),
        .leaves = sample_at(log, c->leaves_s),
        .back = sample_at(log, c->back_s),
        .up = session->rpm[sample_at(log, c->gone_s)] >
              session->rpm[sample_at(log, c->before_s)],
    };
    return kw_is_drawn_loss(&search, &absence);
}

static void check_all(const struct drawn_log *log,
                      const struct drawn *cases,
                      size_t n_cases)
{
    double time_s[MOST_SAMPLES];
    double rpm[MOST_SAMPLES];
    for (size_t k = 0; k < n_cases; k++) {
        const size_t n = sample_at(log, cases[k].back_s + 1.0);
        assert_true(n < MOST_SAMPLES);
        for (size_t i = 0; i < n; i++) {
            time_s[i] = (double)i / log->rate_hz;
            rpm[i] = on_lines(&cases[k], time_s[i - i % log->rows] + 1e-9);
        }
        const struct kw_session session = {.n_samples = n,
                                           .rate_hz = log->rate_hz,
                                           .time_s = time_s,
                                           .rpm = rpm};
        check_true(cases[k].label,
                   ask(log, &cases[k], &session) == cases[k].told);
    }
}

/* Half and twice, seen between edges that a logger spreads over readings; and
 * what a driver does, who comes near them by chance. */
static const struct drawn halves[] = {
    {"half between two readings",
     true,
     1.0,
     1.1,
     2.0,
     2.1,
     {{0, 9000}, {1, 9000}, {1.2, 4500}, {2, 4500}, {2.2, 9000}, {9, 9000}}},
    {"half, smoothed",
     true,
     1.0,
     1.1,
     2.0,
     2.1,
     {{0, 9000},
      {1, 9000},
      {1.1, 6750},
      {1.4, 4500},
      {2, 4500},
      {2.1, 6750},
      {2.4, 9000},
      {9, 9000}}},
    {"half, first reading mixed",
     true,
     1.1,
     1.2,
     2.0,
     2.2,
     {{0, 9000},
      {1, 9000},
      {1.1, 8000},
      {1.2, 4500},
      {2, 4500},
      {2.2, 9000},
      {9, 9000}}},
    {"half through a bend",
     true,
     1.0,
     1.1,
     5.0,
     5.1,
     {{0, 9000},
      {1, 9000},
      {1.2, 4450},
      {3, 3200},
      {5, 4450},
      {5.2, 9000},
      {9, 9000}}},
    {"a leap meanwhile",
     false,
     1.0,
     1.1,
     5.0,
     5.1,
     {{0, 9000},
      {1, 9000},
      {1.2, 4500},
      {3, 4500},
      {3.1, 2600},
      {4, 2600},
      {4.1, 4500},
      {5, 4500},
      {5.2, 9000},
      {9, 9000}}},
    {"three fifths",
     false,
     1.0,
     1.1,
     2.0,
     2.1,
     {{0, 9000}, {1, 9000}, {1.2, 5400}, {2, 5400}, {2.2, 9000}, {9, 9000}}},
    {"half for a reading",
     false,
     1.0,
     1.1,
     1.3,
     1.4,
     {{0, 9000}, {1, 9000}, {1.2, 4500}, {1.3, 4500}, {1.5, 9000}, {9, 9000}}},
    {"half, where a clutch may slip",
     false,
     1.0,
     1.1,
     2.0,
     2.1,
     {{0, 7500}, {1, 7500}, {1.2, 3750}, {2, 3750}, {2.2, 7500}, {9, 7500}}},
    {"twice",
     true,
     1.0,
     1.2,
     2.0,
     2.2,
     {{0, 4800},
      {1, 4800},
      {1.1, 8000},
      {1.2, 9600},
      {2, 9600},
      {2.1, 6400},
      {2.2, 4800},
      {9, 4800}}},
    {"revved up",
     false,
     1.0,
     1.2,
     2.0,
     2.2,
     {{0, 4800},
      {1, 4800},
      {1.1, 7500},
      {1.2, 8300},
      {2, 8300},
      {2.1, 5600},
      {2.2, 4800},
      {9, 4800}}},
    {"twice, and falls as engines do",
     false,
     1.0,
     1.2,
     2.0,
     2.2,
     {{0, 4800},
      {1, 4800},
      {1.1, 8000},
      {1.2, 9600},
      {2, 9600},
      {2.4, 4800},
      {9, 4800}}},
};

static void test_absence_drawn__half_and_twice(void **state)
{
    (void)state;
    check_all(&PLAIN, halves, sizeof halves / sizeof halves[0]);
}

/* The same in other logs: each reading in five rows, an engine that idles
 * there, and a logger quick enough to show how slowly an engine begins. */
static const struct drawn other_halves[] = {
    {"half for a reading in five rows",
     false,
     0.98,
     1.0,
     1.08,
     1.1,
     {{0, 9000},
      {0.95, 9000},
      {0.96, 4500},
      {1.05, 4500},
      {1.06, 9000},
      {9, 9000}}},
    {"idle",
     false,
     1.0,
     1.1,
     2.0,
     2.1,
     {{0, 7800}, {1, 7800}, {1.2, 3900}, {2, 3900}, {2.2, 7800}, {9, 7800}}},
    {"off its clutch",
     false,
     1.1,
     1.2,
     1.78,
     1.88,
     {{0, 9000},
      {1, 9000},
      {1.12, 8300},
      {1.3, 4500},
      {1.7, 4500},
      {1.82, 5200},
      {2, 9000},
      {9, 9000}}},
};

static void test_absence_drawn__half_in_other_logs(void **state)
{
    (void)state;
    static const struct drawn_log logs[] = {
        {50, 5, 2000, false}, {10, 1, 3450, false}, {50, 1, 2000, false}};
    for (size_t k = 0; k < sizeof other_halves / sizeof other_halves[0]; k++)
        check_all(&logs[k], &other_halves[k], 1);
}

/* Nothing, or what has nothing to do with the engine, between edges that no
 * engine makes; and what one does that died, or that locked wheels drag down.
 */
static const struct drawn nothings[] = {
    {"nothing",
     true,
     1.0,
     1.2,
     3.0,
     3.2,
     {{0, 5500}, {1, 5500}, {1.2, 0}, {3, 0}, {3.2, 6500}, {9, 6500}}},
    {"nothing, smoothed on the way back",
     true,
     1.0,
     1.2,
     3.0,
     3.1,
     {{0, 5500},
      {1, 5500},
      {1.2, 0},
      {3, 0},
      {3.1, 4000},
      {3.4, 5800},
      {9, 5800}}},
    {"died and started again",
     false,
     1.0,
     1.2,
     4.2,
     4.4,
     {{0, 5500}, {1, 5500}, {1.2, 0}, {4.2, 0}, {4.4, 6500}, {9, 6500}}},
    {"from idle",
     false,
     1.0,
     1.1,
     3.0,
     3.2,
     {{0, 4500}, {1, 4500}, {1.1, 0}, {3, 0}, {3.2, 6500}, {9, 6500}}},
    {"to idle",
     false,
     1.0,
     1.2,
     3.0,
     3.1,
     {{0, 5500}, {1, 5500}, {1.2, 0}, {3, 0}, {3.1, 4500}, {9, 4500}}},
    {"anything",
     true,
     1.0,
     1.2,
     2.5,
     2.7,
     {{0, 10500},
      {1, 10500},
      {1.2, 4000},
      {2.5, 3000},
      {2.7, 11000},
      {9, 11000}}},
    {"slowed meanwhile",
     false,
     1.0,
     1.2,
     2.5,
     2.7,
     {{0, 10500},
      {1, 10500},
      {1.2, 4000},
      {2.5, 3000},
      {2.7, 9700},
      {9, 9700}}},
    {"from where a clutch may slip",
     false,
     1.0,
     1.2,
     2.5,
     2.7,
     {{0, 9500}, {1, 9500}, {1.2, 3400}, {2.5, 3000}, {2.7, 9600}, {9, 9600}}},
    {"idles",
     false,
     1.0,
     1.2,
     2.5,
     2.7,
     {{0, 10500},
      {1, 10500},
      {1.2, 2100},
      {2.3, 2100},
      {2.5, 4000},
      {2.7, 11000},
      {9, 11000}}},
    {"passes idle",
     true,
     1.0,
     1.2,
     2.5,
     2.7,
     {{0, 10500},
      {1, 10500},
      {1.2, 2100},
      {2.5, 4000},
      {2.7, 11000},
      {9, 11000}}},
    {"for long",
     false,
     1.0,
     1.2,
     5.5,
     5.7,
     {{0, 10500},
      {1, 10500},
      {1.2, 4000},
      {5.5, 3000},
      {5.7, 11000},
      {9, 11000}}},
};

static void test_absence_drawn__nothing_and_anything(void **state)
{
    (void)state;
    check_all(&PLAIN, nothings, sizeof nothings / sizeof nothings[0]);
}

/* On a stand a foot revs the engine up as it will. */
static void test_absence_drawn__anything_of_an_engine_on_a_stand(void **state)
{
    (void)state;
    static const struct drawn_log stand = {10, 1, 2000, true};
    for (size_t k = 0; k < sizeof nothings / sizeof nothings[0]; k++) {
        if (strcmp(nothings[k].label, "anything") != 0)
            continue;
        struct drawn blip = nothings[k];
        blip.told = false;
        check_all(&stand, &blip, 1);
    }
}

/* Degrees at each second while RPM reads nothing, or one reading of it not. */
static void test_absence_drawn__exhaust_tells_an_engine_that_runs(void **state)
{
    (void)state;
    enum { N = 10 };
    static const struct {
        const char *label;
        bool runs;
        double egt_c[N];
        double rpm;
    } cases[] = {
        {"runs", true, {600, 610, 620, 560, 520, 530, 560, 590, 600, 600}, 0},
        {"stands",
         false,
         {600, 590, 570, 540, 500, 460, 420, 390, 360, 330},
         0},
        {"late probe",
         false,
         {560, 590, 610, 615, 600, 560, 520, 490, 460, 430},
         0},
        {"a little",
         false,
         {600, 610, 620, 560, 520, 525, 530, 530, 520, 510},
         0},
        {"idles",
         false,
         {600, 610, 620, 560, 520, 530, 560, 590, 600, 600},
         2000},
    };
    for (size_t k = 0; k < sizeof cases / sizeof cases[0]; k++) {
        double time_s[N];
        double rpm[N] = {0};
        double egt_c[N];
        for (size_t i = 0; i < N; i++) {
            time_s[i] = (double)i;
            egt_c[i] = cases[k].egt_c[i];
        }
        rpm[5] = cases[k].rpm;
        const struct kw_session session = {.n_samples = N,
                                           .rate_hz = 1.0,
                                           .time_s = time_s,
                                           .rpm = rpm,
                                           .egt_c = egt_c};
        const struct kw_rate_limits limits = {.top_rpm = TOP_RPM};
        const struct kw_rpm_search search = {.session = &session,
                                             .limits = &limits};
        check_true(cases[k].label,
                   kw_heats_meanwhile(&search, 0, N) == cases[k].runs);
        const struct kw_session blind = {
            .n_samples = N, .rate_hz = 1.0, .time_s = time_s, .rpm = rpm};
        const struct kw_rpm_search no_probe = {.session = &blind,
                                               .limits = &limits};
        check_true("no probe", !kw_heats_meanwhile(&no_probe, 0, N));
    }
}

/* Without a probe a long nothing is no reason to stop. */
static void test_absence_drawn__long_nothing_without_probe(void **state)
{
    (void)state;
    struct synthetic_options options = synthetic_defaults();
    options.has_egt = false;
    struct synthetic made = synthetic_new(&options);
    const double from_s = made.lap_start_s[4] + 5.5;
    synthetic_lose_signal(&made, from_s, from_s + 9.0, 0.0);
    struct kw_events found;
    detect(kw_find_dropouts, &made, NAN, &found);
    assert_int_equal(found.n, 0);
    kw_events_free(&found);
    synthetic_free(&made);
}

/* How long is followed: exactly half for some seconds, and nothing for longer
 * where the exhaust goes on as before. */
static void test_absence_drawn__long_losses(void **state)
{
    (void)state;
    static const struct {
        const char *label;
        double factor;
        double seconds;
        bool stands;
        bool told;
    } cases[] = {
        {"half", 0.5, 6.3, false, true},
        {"half for long", 0.5, 8.6, false, false},
        {"nothing", 0.0, 12.0, false, true},
        {"nothing for long", 0.0, 24.0, false, false},
        {"engine stands", 0.0, 12.0, true, false},
    };
    for (size_t k = 0; k < sizeof cases / sizeof cases[0]; k++) {
        struct synthetic_options options = synthetic_defaults();
        options.rate_hz = 10.0;
        struct synthetic made = synthetic_new(&options);
        const double from_s = made.lap_start_s[4] + 5.5;
        const double to_s = from_s + cases[k].seconds;
        if (cases[k].stands)
            synthetic_stop_engine(&made, from_s, to_s);
        else
            synthetic_lose_signal(&made, from_s, to_s, cases[k].factor);
        struct kw_events found;
        detect(kw_find_dropouts, &made, NAN, &found);
        check_near(cases[k].label, (double)found.n, cases[k].told ? 1.0 : 0.0,
                   0.0);
        kw_events_free(&found);
        synthetic_free(&made);
    }
}

/* A session full of losses that a logger smooths teaches no faster braking than
 * one without. */
static void test_absence_drawn__losses_teach_no_braking(void **state)
{
    (void)state;
    double fall_rpm_s[2];
    for (size_t k = 0; k < 2; k++) {
        struct synthetic_options options = synthetic_defaults();
        options.rate_hz = 10.0;
        struct synthetic made = synthetic_new(&options);
        const double end_s = made.lap_start_s[made.n_laps - 1];
        for (double at_s = made.lap_start_s[0]; k > 0 && at_s < end_s;
             at_s += 2.5)
            synthetic_lose_signal(&made, at_s, at_s + 0.6, 0.5);
        for (size_t i = 1; i < made.n; i++)
            made.rpm[i] = 0.5 * made.rpm[i - 1] + 0.5 * made.rpm[i];
        struct made_scene scene;
        made_scene(&made, NAN, &scene);
        struct kw_rate_limits limits;
        assert_int_equal(
            kw_find_rate_limits(&scene.session, &scene.profile, &limits, NULL),
            KW_OK);
        fall_rpm_s[k] = limits.fall_rpm_s;
        made_scene_free(&scene);
        synthetic_free(&made);
    }
    check_near("limit", fall_rpm_s[1] / fall_rpm_s[0], 1.0, 0.2);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_absence_drawn__half_and_twice),
        cmocka_unit_test(test_absence_drawn__half_in_other_logs),
        cmocka_unit_test(test_absence_drawn__nothing_and_anything),
        cmocka_unit_test(test_absence_drawn__exhaust_tells_an_engine_that_runs),
        cmocka_unit_test(test_absence_drawn__anything_of_an_engine_on_a_stand),
        cmocka_unit_test(test_absence_drawn__long_losses),
        cmocka_unit_test(test_absence_drawn__long_nothing_without_probe),
        cmocka_unit_test(test_absence_drawn__losses_teach_no_braking),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
