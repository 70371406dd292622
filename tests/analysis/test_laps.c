/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "analysis/laps.h"

#include "core/array.h"
#include "support/check.h"
#include "support/synthetic.h"

#include <stdlib.h>

static struct kw_profile no_profile(void)
{
    struct kw_profile profile = {0};
    for (size_t i = 0; i < 2; i++)
        profile.line_lat_deg[i] = profile.line_lon_deg[i] = NAN;
    return profile;
}

static struct kw_laps laps_of(const struct kw_session *session)
{
    const struct kw_profile profile = no_profile();
    const struct kw_running running = {0};
    struct kw_laps laps;
    assert_int_equal(kw_find_laps(session, &profile, &running, &laps, NULL),
                     KW_OK);
    return laps;
}

static size_t count(const struct kw_laps *laps, enum kw_lap_kind kind)
{
    size_t n = 0;
    for (size_t i = 0; i < laps->n; i++)
        n += laps->items[i].kind == kind ? 1 : 0;
    return n;
}

/* How far the passings are from being one place of the made-up track, where a
 * lap is a share of the lap's own time. */
static double scatter_of_place(const struct synthetic *made,
                               const struct kw_laps *laps)
{
    double lowest = INFINITY;
    double highest = -INFINITY;
    double first = NAN;
    for (size_t i = 0; i < laps->n; i++) {
        const struct kw_lap *lap = &laps->items[i];
        size_t k = 0;
        while (k + 2 < made->n_laps && made->lap_start_s[k + 1] <= lap->start_s)
            k++;
        const double length_s = made->lap_start_s[k + 1] - made->lap_start_s[k];
        double place = (lap->start_s - made->lap_start_s[k]) / length_s;
        if (lap->kind == KW_LAP_OUT)
            continue;
        first = isnan(first) ? place : first;
        place -= round(place - first);
        lowest = fmin(lowest, place);
        highest = fmax(highest, place);
    }
    return (highest - lowest) * made->options.lap_s;
}

/* The three sources that need no column, at several rates: the number of laps
 * is what the racer checks first, and a boundary that wanders makes every lap
 * time worthless. */
static void test_laps__flying_laps_are_counted_whatever_the_source(void **state)
{
    (void)state;
    const struct {
        const char *label;
        double rate_hz;
        size_t laps;
        bool has_speed;
        bool has_position;
        enum kw_lap_method method;
        double scatter_s;
    } cases[] = {
        {"rpm, 20 Hz, 8 laps", 20.0, 8, false, false, KW_LAPS_BY_RPM, 0.1},
        {"rpm, 100 Hz, 14 laps", 100.0, 14, false, false, KW_LAPS_BY_RPM, 0.1},
        {"rpm, 10 Hz, 5 laps", 10.0, 5, false, false, KW_LAPS_BY_RPM, 0.2},
        {"rpm, 5 Hz, 6 laps", 5.0, 6, false, false, KW_LAPS_BY_RPM, 0.3},
        {"speed, 20 Hz, 8 laps", 20.0, 8, true, false, KW_LAPS_BY_SPEED, 0.1},
        {"position, 10 Hz, 6 laps", 10.0, 6, true, true, KW_LAPS_BY_POSITION,
         0.15},
    };
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        struct synthetic_options options = synthetic_defaults();
        options.rate_hz = cases[i].rate_hz;
        options.laps = cases[i].laps;
        options.has_speed = cases[i].has_speed;
        options.has_position = cases[i].has_position;
        struct synthetic made = synthetic_new(&options);
        struct kw_session session;
        synthetic_session(&made, NULL, &session);
        struct kw_laps laps = laps_of(&session);
        check_near(cases[i].label, (double)count(&laps, KW_LAP_FLYING),
                   (double)cases[i].laps, 1.0);
        check_true(cases[i].label, laps.method == cases[i].method);
        check_near(cases[i].label, scatter_of_place(&made, &laps), 0.0,
                   cases[i].scatter_s);
        check_true(cases[i].label, count(&laps, KW_LAP_OUT) == 1);
        check_true(cases[i].label, count(&laps, KW_LAP_IN) == 1);
        kw_laps_free(&laps);
        kw_session_free(&session);
        synthetic_free(&made);
    }
}

/* Takes a stretch of the drive out; what comes later comes sooner. */
static void cut_out(struct synthetic *made, double from_s, double to_s)
{
    size_t kept = synthetic_at(made, from_s);
    for (size_t i = synthetic_at(made, to_s); i < made->n; i++, kept++) {
        made->time_s[kept] = made->time_s[i] - (to_s - from_s);
        made->rpm[kept] = made->rpm[i];
        made->egt_c[kept] = made->egt_c[i];
    }
    made->n = kept;
}

/* The same way, slower by so many times. */
static void slow_down(struct synthetic *made,
                      double from_s,
                      double to_s,
                      double times)
{
    const size_t to = synthetic_at(made, to_s);
    double later_s = 0.0;
    for (size_t i = synthetic_at(made, from_s); i < made->n; i++) {
        made->time_s[i] += later_s;
        if (i >= to)
            continue;
        made->rpm[i] /= times;
        later_s += (times - 1.0) / made->options.rate_hz;
    }
}

/* Of the out lap and the in lap some way is driven, slowly: neither is ever
 * counted, nor made into one with a lap that was driven in earnest. Away from a
 * spot and home to it, whole turns and only cold tyres on the first of them:
 * that was a lap. */
static void test_laps__slow_out_and_in_laps_are_not_counted(void **state)
{
    (void)state;
    const struct {
        const char *label;
        double out_from, in_to, out_times, in_times;
        size_t more;
    } cases[] = {
        {"both whole", 0.0, 1.0, 1.12, 1.12, 0},
        {"most of both", 0.2, 0.7, 1.12, 1.12, 0},
        {"half of both", 0.5, 0.5, 1.12, 1.12, 0},
        {"half of both, as quick as the others", 0.5, 0.5, 1.0, 1.0, 0},
        {"some of both, quick", 0.6, 0.2, 1.0, 1.0, 0},
        {"off and home on one spot, cold tyres", 0.0, 1.0, 1.045, 1.12, 1},
        {"a part cut off", 0.04, 0.96, 1.045, 1.12, 0},
    };
    for (size_t k = 0; k < sizeof cases / sizeof cases[0]; k++) {
        const struct synthetic_options options = synthetic_defaults();
        struct synthetic made = synthetic_new(&options);
        const double lap_s = options.lap_s;
        const double out_s = made.lap_start_s[0];
        const double first_s = made.lap_start_s[1];
        const double in_s = made.lap_start_s[made.n_laps - 2];
        const double end_s = made.lap_start_s[made.n_laps - 1];
        slow_down(&made, in_s, end_s, cases[k].in_times);
        cut_out(&made, in_s + cases[k].in_to * cases[k].in_times * lap_s,
                in_s + (end_s - in_s) * cases[k].in_times);
        slow_down(&made, out_s, first_s, cases[k].out_times);
        cut_out(&made, out_s,
                out_s +
                    cases[k].out_from * cases[k].out_times * (first_s - out_s));
        struct kw_session session;
        synthetic_session(&made, NULL, &session);
        struct kw_laps laps = laps_of(&session);
        check_near(cases[k].label, (double)count(&laps, KW_LAP_FLYING),
                   (double)(options.laps + cases[k].more), 0.0);
        kw_laps_free(&laps);
        kw_session_free(&session);
        synthetic_free(&made);
    }
}

/* A track of two like halves: three bends of the second take a tenth of a
 * second longer, lap after lap. The same now and then is the driver's. */
static void test_laps__two_like_halves_are_one_lap(void **state)
{
    (void)state;
    /* The out lap, then the flying ones. */
    static const bool slow[2][13] = {
        {1, 0, 1, 0, 1, 0, 1, 0, 1, 0, 1, 0, 1},
        {1, 0, 0, 1, 1, 0, 1, 0, 0, 1, 1, 0, 1},
    };
    for (size_t k = 0; k < 2; k++) {
        struct synthetic_options options = synthetic_defaults();
        options.laps = 12;
        options.lap_scatter = 0.0005;
        struct synthetic made = synthetic_new(&options);
        for (size_t lap = 13; lap-- > 0;) {
            const double start_s = made.lap_start_s[lap];
            for (size_t bend = 3; slow[k][lap] && bend-- > 0;)
                slow_down(&made, start_s + 8.0 + 14.0 * (double)bend,
                          start_s + 11.0 + 14.0 * (double)bend, 1.03);
        }
        struct kw_session session;
        synthetic_session(&made, NULL, &session);
        struct kw_laps laps = laps_of(&session);
        check_near(k == 0 ? "halves" : "laps",
                   (double)count(&laps, KW_LAP_FLYING), k == 0 ? 6.0 : 12.0,
                   1.0);
        kw_laps_free(&laps);
        kw_session_free(&session);
        synthetic_free(&made);
    }
}

/* A steady receiver beside a speed that is off by up to a fifth, now more, now
 * less: the passings stay where the receiver saw them. */
static void test_laps__poor_pace_does_not_move_a_good_position(void **state)
{
    (void)state;
    struct synthetic_options options = synthetic_defaults();
    options.has_speed = true;
    options.has_position = true;
    struct synthetic made = synthetic_new(&options);
    for (size_t i = 0; i < made.n; i++)
        made.speed_m_s[i] *=
            1.0 + 0.2 * sin(made.time_s[i] / 3.1) * sin(made.time_s[i] / 19.0);
    struct kw_session session;
    synthetic_session(&made, NULL, &session);
    struct kw_laps laps = laps_of(&session);
    assert_int_equal(laps.method, KW_LAPS_BY_POSITION);
    check_near("one place", scatter_of_place(&made, &laps), 0.0, 0.02);
    kw_laps_free(&laps);
    kw_session_free(&session);
    synthetic_free(&made);
}

/* No fixes for a lap and more, in the middle of the log or to its end: the pace
 * tells when the line was passed. With a speed of its own, and without. */
static void test_laps__lost_position_costs_no_lap(void **state)
{
    (void)state;
    for (size_t k = 0; k < 4; k++) {
        struct synthetic_options options = synthetic_defaults();
        options.has_speed = k % 2 == 0;
        options.has_position = true;
        struct synthetic made = synthetic_new(&options);
        const double from_s = made.lap_start_s[4] + 20.0;
        const double to_s = k < 2 ? from_s + 70.0 : INFINITY;
        for (size_t i = 0; i < made.n; i++) {
            if (made.time_s[i] > from_s && made.time_s[i] < to_s)
                made.lat_deg[i] = made.lon_deg[i] = NAN;
        }
        struct kw_session session;
        synthetic_session(&made, NULL, &session);
        struct kw_laps laps = laps_of(&session);
        assert_int_equal(laps.method, KW_LAPS_BY_POSITION);
        check_near("laps", (double)count(&laps, KW_LAP_FLYING),
                   (double)options.laps, 1.0);
        check_near("one place", scatter_of_place(&made, &laps), 0.0, 0.3);
        for (size_t i = 0; i < laps.n; i++)
            check_true("one lap",
                       laps.items[i].kind != KW_LAP_FLYING ||
                           laps.items[i].end_s - laps.items[i].start_s <
                               1.3 * options.lap_s);
        kw_laps_free(&laps);
        kw_session_free(&session);
        synthetic_free(&made);
    }
}

/* The pace comes back after half a lap; where the passings were seen, they say
 * that it was half of one, and so where they were not. */
static void test_laps__lost_position_of_like_halves_is_whole_laps(void **state)
{
    (void)state;
    static const double pi = 3.14159265358979323846;
    struct synthetic_options options = synthetic_defaults();
    options.laps = 12;
    options.has_speed = true;
    options.has_position = true;
    struct synthetic made = synthetic_new(&options);
    const double lap_s = 2.0 * options.lap_s;
    const double from_s = made.lap_start_s[5] + 20.0;
    /* Once around some 2 km in two laps. */
    for (size_t half = 0; half < options.laps + 2; half++) {
        const double start_s = made.lap_start_s[half];
        const double took_s = made.lap_start_s[half + 1] - start_s;
        for (size_t i = synthetic_at(&made, start_s); i < made.n; i++) {
            const double done = fmin((made.time_s[i] - start_s) / took_s, 1.0);
            const double angle = pi * ((double)half + done);
            made.lat_deg[i] = 51.0 + 0.0028 * sin(angle);
            made.lon_deg[i] = 3.0 + 0.0045 * cos(angle);
        }
    }
    for (size_t i = synthetic_at(&made, from_s);
         i < synthetic_at(&made, from_s + 150.0); i++)
        made.lat_deg[i] = made.lon_deg[i] = NAN;
    struct kw_session session;
    synthetic_session(&made, NULL, &session);
    struct kw_laps laps = laps_of(&session);
    assert_int_equal(laps.method, KW_LAPS_BY_POSITION);
    check_near("laps", (double)count(&laps, KW_LAP_FLYING), 6.0, 1.0);
    for (size_t i = 0; i < laps.n; i++) {
        if (laps.items[i].kind == KW_LAP_FLYING)
            check_near("one lap", laps.items[i].end_s - laps.items[i].start_s,
                       lap_s, 0.1 * lap_s);
    }
    kw_laps_free(&laps);
    kw_session_free(&session);
    synthetic_free(&made);
}

/* Speed that is missing while the kart stands, and tells nothing while it
 * drives: it is asked first, and RPM after it. */
static void test_laps__speed_that_never_moves_leaves_rpm(void **state)
{
    (void)state;
    struct synthetic_options options = synthetic_defaults();
    options.has_speed = true;
    options.standing_s = 15.0;
    struct synthetic made = synthetic_new(&options);
    for (size_t i = 0; i < made.n; i++)
        made.speed_m_s[i] = made.time_s[i] < 12.0 ? NAN : 20.0;
    struct kw_session session;
    synthetic_session(&made, NULL, &session);
    struct kw_laps laps = laps_of(&session);
    assert_int_equal(laps.method, KW_LAPS_BY_RPM);
    check_near("laps", (double)count(&laps, KW_LAP_FLYING),
               (double)options.laps, 1.0);
    kw_laps_free(&laps);
    kw_session_free(&session);
    synthetic_free(&made);
}

/* A sensor on the axle and no tyre stated: a speed all the same, and better
 * than RPM of a clutch that slips. */
static void test_laps__axle_that_turns_is_a_speed(void **state)
{
    (void)state;
    struct synthetic_options options = synthetic_defaults();
    options.has_speed = true;
    struct synthetic made = synthetic_new(&options);
    struct kw_session session;
    synthetic_session(&made, NULL, &session);
    session.axle_rpm = session.speed_m_s;
    session.speed_m_s = NULL;
    for (size_t i = 0; i < session.n_samples; i++)
        session.axle_rpm[i] *= 60.0 / 0.84;
    struct kw_laps laps = laps_of(&session);
    check_true("by speed", laps.method == KW_LAPS_BY_SPEED);
    check_near("laps", (double)count(&laps, KW_LAP_FLYING),
               (double)options.laps, 1.0);
    check_near("place", scatter_of_place(&made, &laps), 0.0, 0.1);
    kw_laps_free(&laps);
    kw_session_free(&session);
    synthetic_free(&made);
}

/* Other detectors compare laps at the same place: it must run from 0 to 1 in
 * each lap without a step back. */
static void test_laps__place_rises_within_each_lap(void **state)
{
    (void)state;
    struct synthetic_options options = synthetic_defaults();
    struct synthetic made = synthetic_new(&options);
    struct kw_session session;
    synthetic_session(&made, NULL, &session);
    struct kw_laps laps = laps_of(&session);
    assert_true(laps.n > 3);
    for (size_t k = 0; k < laps.n; k++) {
        double last = 0.0;
        double first = NAN;
        for (size_t i = 0; i < session.n_samples; i++) {
            if (session.time_s[i] < laps.items[k].start_s ||
                session.time_s[i] >= laps.items[k].end_s)
                continue;
            assert_true(laps.place[i] >= last && laps.place[i] <= 1.0);
            last = laps.place[i];
            first = isnan(first) ? last : first;
        }
        if (laps.items[k].kind != KW_LAP_FLYING)
            continue;
        check_near("first place", first, 0.0, 0.01);
        check_near("last place", last, 1.0, 0.01);
    }
    assert_true(isnan(laps.place[0]));
    kw_laps_free(&laps);
    kw_session_free(&session);
    synthetic_free(&made);
}

/* The lap's own figures are what the report shows beside its time. */
static void test_laps__figures_are_those_of_the_lap(void **state)
{
    (void)state;
    struct synthetic_options options = synthetic_defaults();
    struct synthetic made = synthetic_new(&options);
    struct kw_session session;
    synthetic_session(&made, NULL, &session);
    struct kw_laps laps = laps_of(&session);
    for (size_t k = 0; k < laps.n; k++) {
        const struct kw_lap *lap = &laps.items[k];
        assert_int_equal(lap->number, k + 1);
        if (k > 0)
            check_near("no hole", lap->start_s, laps.items[k - 1].end_s, 0.0);
        if (lap->kind != KW_LAP_FLYING)
            continue;
        check_near("rpm_max", lap->rpm_max, options.rpm_top, 400.0);
        check_near("rpm_min", lap->rpm_min, options.rpm_slow, 300.0);
        assert_true(lap->egt_mean_c < lap->egt_max_c);
        assert_false(lap->spoilt);
    }
    kw_laps_free(&laps);
    kw_session_free(&session);
    synthetic_free(&made);
}

/* A stop on the track makes a long lap, not two, and it stays out of the
 * statistics. */
static void test_laps__stop_on_track_makes_one_long_spoilt_lap(void **state)
{
    (void)state;
    struct synthetic_options options = synthetic_defaults();
    struct synthetic made = synthetic_new(&options);
    const double stop_s = made.lap_start_s[4] + 20.0;
    const size_t at = synthetic_at(&made, stop_s);
    const double stood_s = 15.0;
    const size_t more = (size_t)(stood_s * options.rate_hz);
    struct kw_session session;
    synthetic_session(&made, NULL, &session);
    struct kw_laps whole = laps_of(&session);
    const size_t usual = count(&whole, KW_LAP_FLYING);
    kw_laps_free(&whole);
    /* The engine idles where the kart stands; then the lap goes on. */
    const size_t n = session.n_samples + more;
    double *time_s = kw_array_new(n, sizeof *time_s, NULL);
    double *rpm = kw_array_new(n, sizeof *rpm, NULL);
    assert_non_null(time_s);
    assert_non_null(rpm);
    for (size_t i = 0; i < n; i++) {
        time_s[i] = (double)i / options.rate_hz;
        const bool stands = i >= at && i < at + more;
        rpm[i] = stands ? options.idle_rpm : session.rpm[i < at ? i : i - more];
    }
    struct kw_session stopped = {
        .n_samples = n,
        .rate_hz = options.rate_hz,
        .time_s = time_s,
        .rpm = rpm,
    };
    struct kw_laps laps = laps_of(&stopped);
    assert_int_equal(count(&laps, KW_LAP_FLYING), usual);
    size_t spoilt = 0;
    for (size_t k = 0; k < laps.n; k++)
        spoilt += laps.items[k].spoilt ? 1 : 0;
    assert_int_equal(spoilt, 1);
    kw_laps_free(&laps);
    free(time_s);
    free(rpm);
    kw_session_free(&session);
    synthetic_free(&made);
}

/* A log of laps alone never shows the idle: its slowest corner must not be
 * taken for a stop on every lap, which would leave no lap to judge by. */
static void test_laps__slowest_corner_of_all_laps_is_no_stop(void **state)
{
    enum { N = 6000 };
    double *time_s = kw_array_new(N, sizeof *time_s, NULL);
    double *rpm = kw_array_new(N, sizeof *rpm, NULL);
    (void)state;
    assert_non_null(time_s);
    assert_non_null(rpm);
    for (size_t i = 0; i < N; i++) {
        time_s[i] = 0.1 * (double)i;
        rpm[i] = 9000.0 + 3000.0 * sin(time_s[i] / 4.0);
    }
    const struct kw_session session = {
        .n_samples = N, .rate_hz = 10.0, .time_s = time_s, .rpm = rpm};
    struct kw_laps laps = laps_of(&session);
    assert_true(count(&laps, KW_LAP_FLYING) > 20);
    for (size_t k = 0; k < laps.n; k++)
        assert_false(laps.items[k].spoilt);
    kw_laps_free(&laps);
    free(time_s);
    free(rpm);
}

/* A logger that was off for ten minutes in the middle costs one lap and not
 * all of them. */
static void test_laps__hole_in_the_log_spoils_one_lap(void **state)
{
    (void)state;
    struct synthetic_options options = synthetic_defaults();
    options.has_speed = true;
    struct synthetic made = synthetic_new(&options);
    struct kw_session session;
    synthetic_session(&made, NULL, &session);
    struct kw_laps whole = laps_of(&session);
    const size_t usual = count(&whole, KW_LAP_FLYING);
    kw_laps_free(&whole);
    kw_session_free(&session);
    for (size_t i = synthetic_at(&made, made.lap_start_s[4] + 20.0); i < made.n;
         i++)
        made.time_s[i] += 600.0;
    synthetic_session(&made, NULL, &session);
    struct kw_laps laps = laps_of(&session);
    assert_int_equal(count(&laps, KW_LAP_FLYING), usual);
    size_t spoilt = 0;
    for (size_t k = 0; k < laps.n; k++)
        spoilt += laps.items[k].spoilt ? 1 : 0;
    assert_int_equal(spoilt, 1);
    kw_laps_free(&laps);
    kw_session_free(&session);
    synthetic_free(&made);
}

/* What is no session must not end in a crash, nor in laps. */
static void test_laps__nothing_driven_gives_none(void **state)
{
    (void)state;
    enum { N = 4000 };
    static double time_s[N];
    static double rpm[N];
    const struct {
        const char *label;
        size_t n;
        double rpm;
        double blip_rpm;
        double blip_s;
    } cases[] = {
        {"no samples", 0, 0.0, 0.0, 1.0},
        {"one sample", 1, 2000.0, 0.0, 1.0},
        {"two samples", 2, 9000.0, 0.0, 1.0},
        {"all missing", N, NAN, 0.0, 1.0},
        {"flat", N, 12000.0, 0.0, 1.0},
        {"engine off", N, 0.0, 0.0, 1.0},
        {"idling", N, 2100.0, 0.0, 1.0},
        {"blipped every 4 s", N, 2100.0, 9000.0, 4.0},
        {"blipped every 11 s", N, 2100.0, 6000.0, 11.0},
    };
    for (size_t k = 0; k < sizeof cases / sizeof cases[0]; k++) {
        for (size_t i = 0; i < N; i++) {
            time_s[i] = (double)i * 0.1;
            const double part = fmod(time_s[i], cases[k].blip_s);
            rpm[i] = cases[k].rpm + cases[k].blip_rpm *
                                        fmax(0.0, sin(part * 2.0)) *
                                        (part < 1.5 ? 1.0 : 0.0);
        }
        const struct kw_session session = {
            .n_samples = cases[k].n,
            .rate_hz = 10.0,
            .time_s = time_s,
            .rpm = rpm,
        };
        struct kw_laps laps = laps_of(&session);
        check_true(cases[k].label, laps.method == KW_LAPS_NONE);
        check_true(cases[k].label, laps.n == 0 && laps.place == NULL);
        kw_laps_free(&laps);
        kw_laps_free(&laps);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(
            test_laps__flying_laps_are_counted_whatever_the_source),
        cmocka_unit_test(test_laps__slow_out_and_in_laps_are_not_counted),
        cmocka_unit_test(test_laps__poor_pace_does_not_move_a_good_position),
        cmocka_unit_test(test_laps__lost_position_costs_no_lap),
        cmocka_unit_test(test_laps__two_like_halves_are_one_lap),
        cmocka_unit_test(test_laps__lost_position_of_like_halves_is_whole_laps),
        cmocka_unit_test(test_laps__speed_that_never_moves_leaves_rpm),
        cmocka_unit_test(test_laps__axle_that_turns_is_a_speed),
        cmocka_unit_test(test_laps__place_rises_within_each_lap),
        cmocka_unit_test(test_laps__figures_are_those_of_the_lap),
        cmocka_unit_test(test_laps__stop_on_track_makes_one_long_spoilt_lap),
        cmocka_unit_test(test_laps__slowest_corner_of_all_laps_is_no_stop),
        cmocka_unit_test(test_laps__hole_in_the_log_spoils_one_lap),
        cmocka_unit_test(test_laps__nothing_driven_gives_none),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
