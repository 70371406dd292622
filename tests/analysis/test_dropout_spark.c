/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "analysis/detectors.h"

#include "support/check.h"
#include "support/made_scene.h"

#include <math.h>
#include <string.h>

/* What happens in mid-pull, on laps 3 and 5.
 *
 * rate_hz      of the log; 0 for the usual one.
 * for_s        for so long.
 * gas_c        the gas meanwhile; 0 leaves it as it is.
 * loses_rpm_s  RPM falls behind by so much each second.
 * reads_c      meanwhile the probe reads so much too low.
 * late_s       the probe shows it so much later.
 * each_s       it is read so seldom; 0 for in each row.
 * shut_s       the throttle was shut for so long before it,
 * stays_shut_s and so long behind it.
 * throttle     while it lasts; NULL for a log without one.
 * told         it is a spark that cuts out. */
struct moment {
    const char *label;
    double rate_hz;
    double for_s;
    double gas_c;
    double loses_rpm_s;
    double reads_c;
    double late_s;
    double each_s;
    double shut_s;
    double stays_shut_s;
    const double *throttle;
    bool told;
};

/* RPM falls behind, and what was lost fades as the kart gathers speed. */
static void fall_behind(struct synthetic *made,
                        double from_s,
                        const struct moment *m)
{
    static const double GAINED_AGAIN_S = 2.0;
    const double lost_rpm = m->loses_rpm_s * m->for_s;
    for (size_t i = synthetic_at(made, from_s); i < made->n; i++) {
        const double since_s = made->time_s[i] - from_s;
        const double fades = 1.0 - (since_s - m->for_s) / GAINED_AGAIN_S;
        if (fades <= 0.0)
            break;
        made->rpm[i] -= fmin(m->loses_rpm_s * since_s, lost_rpm * fades);
    }
}

static void show_late(struct synthetic *made, const struct moment *m)
{
    const size_t late = (size_t)(m->late_s * made->options.rate_hz);
    for (size_t i = made->n; late > 0 && i-- > late;)
        made->egt_c[i] = made->egt_c[i - late];
    const size_t each = (size_t)(m->each_s * made->options.rate_hz);
    for (size_t i = 1; each > 0 && i < made->n; i++)
        made->egt_c[i] = i % each == 0 ? made->egt_c[i] : made->egt_c[i - 1];
}

static const double NEARLY_SHUT_C = 430.0;

static void shut(struct synthetic *made, double from_s, double to_s)
{
    for (size_t i = synthetic_at(made, from_s); i < synthetic_at(made, to_s);
         i++)
        made->gas_c[i] = fmin(made->gas_c[i], NEARLY_SHUT_C);
}

static void happen(struct synthetic *made,
                   double from_s,
                   const struct moment *m)
{
    const size_t from = synthetic_at(made, from_s);
    const size_t to = synthetic_at(made, from_s + m->for_s);
    fall_behind(made, from_s, m);
    shut(made, from_s - m->shut_s, from_s);
    shut(made, from_s + m->for_s, from_s + m->for_s + m->stays_shut_s);
    for (size_t i = from; i < to; i++) {
        made->gas_c[i] = m->gas_c > 0.0 ? m->gas_c : made->gas_c[i];
        made->load[i] = m->throttle != NULL ? *m->throttle : made->load[i];
    }
}

/* What the probe shows of it all. */
static void show(struct synthetic *made,
                 const double *at_s,
                 const struct moment *m)
{
    synthetic_follow_gas(made);
    for (size_t k = 0; k < 2; k++) {
        for (size_t i = synthetic_at(made, at_s[k]);
             i < synthetic_at(made, at_s[k] + m->for_s); i++)
            made->egt_c[i] -= m->reads_c;
    }
    show_late(made, m);
}

static size_t count_cuts(const struct kw_events *found)
{
    size_t n = 0;
    for (size_t i = 0; i < found->n; i++)
        n += strstr(found->items[i].evidence, "spark") != NULL ? 1 : 0;
    return n;
}

static const double OPEN = 1.0;
static const double HALF = 0.5;
static const double SHUT = 0.0;

static const struct moment moments[] = {
    {"cut", .for_s = 0.8, .gas_c = 60, .loses_rpm_s = 1600, .told = true},
    {"short", .for_s = 0.6, .gas_c = 60, .loses_rpm_s = 1600, .told = true},
    {"long", .for_s = 1.8, .gas_c = 60, .loses_rpm_s = 1600, .told = true},
    {"at 100 Hz", .rate_hz = 100, .for_s = 0.8, .gas_c = 60,
     .loses_rpm_s = 1600, .told = true},
    {"at 5 Hz", .rate_hz = 5, .for_s = 1.2, .gas_c = 60, .loses_rpm_s = 1600,
     .told = true},
    {"shown late", .for_s = 0.8, .gas_c = 60, .loses_rpm_s = 1600,
     .late_s = 0.6, .told = true},
    {"throttle held open", .for_s = 0.8, .gas_c = 60, .loses_rpm_s = 1600,
     .throttle = &OPEN, .told = true},
    {"cool under an open throttle", .for_s = 0.8, .gas_c = 260,
     .loses_rpm_s = 1600, .throttle = &OPEN, .told = true},
    {"brief under an open throttle", .for_s = 0.4, .gas_c = 240,
     .loses_rpm_s = 1600, .throttle = &OPEN, .told = true},
    {"cool under half a throttle", .for_s = 0.8, .gas_c = 260,
     .loses_rpm_s = 1600, .throttle = &HALF},
    {"a little cooler under an open throttle", .for_s = 0.8, .gas_c = 360,
     .loses_rpm_s = 1600, .throttle = &OPEN},
    {"throttle shut", .for_s = 0.8, .gas_c = 60, .loses_rpm_s = 1600,
     .throttle = &SHUT},
    {"not so deep", .for_s = 0.8, .gas_c = 160, .loses_rpm_s = 1600},
    {"lift", .for_s = 0.8, .gas_c = 400, .loses_rpm_s = 1600},
    {"a cool lift", .for_s = 0.8, .gas_c = 320, .loses_rpm_s = 1600},
    {"RPM goes on", .for_s = 0.8, .gas_c = 60},
    {"RPM hardly fall", .for_s = 0.8, .gas_c = 60, .loses_rpm_s = 200},
    {"brakes a little", .for_s = 0.8, .gas_c = 60, .loses_rpm_s = 3600},
    {"rolls for too long", .for_s = 2.6, .gas_c = 60, .loses_rpm_s = 2100},
    {"was shut", .for_s = 0.8, .gas_c = 70, .loses_rpm_s = 1600, .shut_s = 1.5},
    {"stays shut", .for_s = 0.8, .gas_c = 70, .loses_rpm_s = 1600,
     .stays_shut_s = 2.5},
    {"far colder than a lift", .for_s = 1.4, .gas_c = 1, .loses_rpm_s = 1600,
     .shut_s = 1.5, .told = true},
    {"brief", .for_s = 0.2, .gas_c = 60, .loses_rpm_s = 1600},
    {"shut for less", .for_s = 0.8, .gas_c = 60, .loses_rpm_s = 1600,
     .shut_s = 0.6, .stays_shut_s = 1.4, .told = true},
    {"brakes", .for_s = 0.8, .gas_c = 60, .loses_rpm_s = 4600},
    {"a wire of the probe", .for_s = 0.4, .loses_rpm_s = 1600, .reads_c = 120},
    {"a loose probe", .for_s = 0.6, .loses_rpm_s = 1600, .reads_c = 60},
    {"one reading of a slow probe", .for_s = 0.7, .loses_rpm_s = 1600,
     .reads_c = 120, .each_s = 0.7},
};

/* The exhaust tells what RPM cannot: nothing burns. */
static void test_spark__cut_is_told_by_the_exhaust(void **state)
{
    (void)state;
    for (size_t k = 0; k < sizeof moments / sizeof moments[0]; k++) {
        const struct moment *m = &moments[k];
        struct synthetic_options options = synthetic_defaults();
        options.rate_hz = m->rate_hz > 0.0 ? m->rate_hz : options.rate_hz;
        options.has_throttle = m->throttle != NULL;
        struct synthetic made = synthetic_new(&options);
        const double at_s[] = {made.lap_start_s[3] + 5.0,
                               made.lap_start_s[5] + 5.0};
        for (size_t i = 0; i < 2; i++)
            happen(&made, at_s[i], m);
        show(&made, at_s, m);
        struct kw_events found;
        detect(kw_find_dropouts, &made, NAN, &found);
        check_near(m->label, (double)count_cuts(&found), m->told ? 2.0 : 0.0,
                   0.0);
        for (size_t i = 0; i < 2 && m->told; i++) {
            const struct kw_event *cut = &found.items[i];
            check_near(m->label, cut->start_s, at_s[i], 0.35);
            check_true(m->label,
                       cut->confidence > 0.7 && cut->confidence <= 0.9);
            check_near(m->label, cut->end_s, at_s[i] + m->for_s + m->late_s,
                       0.35 + m->late_s);
            check_true(m->label,
                       cut->detail.dropout.cause == KW_CAUSE_LOOSE_CONNECTION);
        }
        kw_events_free(&found);
        synthetic_free(&made);
    }
}

/* An engine that is switched off cools as well, and does not fire again. */
static void test_spark__switched_off_is_no_cut(void **state)
{
    (void)state;
    struct synthetic_options options = synthetic_defaults();
    struct synthetic made = synthetic_new(&options);
    const double from_s = made.lap_start_s[5] + 5.0;
    synthetic_stop_engine(&made, from_s + 1.0, made.time_s[made.n - 1] + 1.0);
    const struct moment off = {"", .for_s = 1.0, .gas_c = 60,
                               .loses_rpm_s = 1600};
    happen(&made, from_s, &off);
    synthetic_follow_gas(&made);
    struct kw_events found;
    detect(kw_find_dropouts, &made, NAN, &found);
    assert_int_equal(count_cuts(&found), 0);
    kw_events_free(&found);
    synthetic_free(&made);
}

/* The gas of this many lifts from the longest straight falls as deep. */
static void deepen_lifts(struct synthetic *made, size_t n_lifts)
{
    static const double FOR_S = 0.8;
    size_t from = 0;
    size_t to = 0;
    for (size_t k = 0; k < n_lifts && synthetic_next_longest(made, &from, &to);
         k++, from = to + 1) {
        for (size_t i = to; made->time_s[i] < made->time_s[to] + FOR_S; i++)
            made->gas_c[i] = 60.0;
    }
    synthetic_follow_gas(made);
}

/* An exhaust that wanders: what looks like a cut is believed while lifts from
 * speed, with the brakes on, do not look like it as often. */
static void test_spark__none_where_lifts_cool_as_much(void **state)
{
    (void)state;
    static const struct {
        size_t n_lifts;
        size_t told;
    } rows[] = {{0, 2}, {1, 2}, {2, 0}};
    for (size_t k = 0; k < sizeof rows / sizeof rows[0]; k++) {
        struct synthetic_options options = synthetic_defaults();
        struct synthetic made = synthetic_new(&options);
        happen(&made, made.lap_start_s[3] + 5.0, &moments[0]);
        happen(&made, made.lap_start_s[5] + 5.0, &moments[0]);
        deepen_lifts(&made, rows[k].n_lifts);
        struct kw_events found;
        detect(kw_find_dropouts, &made, NAN, &found);
        assert_int_equal(count_cuts(&found), rows[k].told);
        kw_events_free(&found);
        synthetic_free(&made);
    }
}

static size_t count_cuts_in(const struct made_scene *scene)
{
    struct kw_events found = {0};
    assert_int_equal(kw_find_dropouts(&scene->scene, &found, NULL), KW_OK);
    const size_t n = count_cuts(&found);
    kw_events_free(&found);
    return n;
}

/* In the yard lifts are too few to compare with, and gas that is as late as its
 * probe shows no cut. */
static void test_spark__none_without_laps_or_lag(void **state)
{
    (void)state;
    struct synthetic_options options = synthetic_defaults();
    struct synthetic made = synthetic_new(&options);
    happen(&made, made.lap_start_s[3] + 5.0, &moments[0]);
    synthetic_follow_gas(&made);
    struct made_scene scene;
    made_scene(&made, NAN, &scene);
    assert_int_equal(count_cuts_in(&scene), 1);
    scene.session.probe_lag_s = NAN;
    assert_int_equal(count_cuts_in(&scene), 0);
    scene.session.probe_lag_s = options.probe_lag_s;
    const struct kw_laps none = {0};
    scene.scene.laps = &none;
    assert_int_equal(count_cuts_in(&scene), 0);
    made_scene_free(&scene);
    synthetic_free(&made);
}

/* Idling tells nothing of what the exhaust does after a lift. */
static void test_spark__long_idling_makes_no_lift_a_cut(void **state)
{
    (void)state;
    struct synthetic_options options = synthetic_defaults();
    options.standing_s = 400.0;
    struct synthetic made = synthetic_new(&options);
    const double at_s[] = {made.lap_start_s[3] + 5.0,
                           made.lap_start_s[5] + 5.0};
    const struct moment lift = {"", .for_s = 0.8, .gas_c = 320,
                                .loses_rpm_s = 1600};
    for (size_t i = 0; i < 2; i++)
        happen(&made, at_s[i], &lift);
    show(&made, at_s, &lift);
    struct kw_events found;
    detect(kw_find_dropouts, &made, NAN, &found);
    assert_int_equal(count_cuts(&found), 0);
    kw_events_free(&found);
    synthetic_free(&made);
}

static void test_spark__healthy_and_without_probe(void **state)
{
    (void)state;
    check_quiet_when_healthy(kw_find_dropouts);
    check_quiet_without_probe(kw_find_dropouts);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_spark__cut_is_told_by_the_exhaust),
        cmocka_unit_test(test_spark__switched_off_is_no_cut),
        cmocka_unit_test(test_spark__none_where_lifts_cool_as_much),
        cmocka_unit_test(test_spark__none_without_laps_or_lag),
        cmocka_unit_test(test_spark__long_idling_makes_no_lift_a_cut),
        cmocka_unit_test(test_spark__healthy_and_without_probe),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
