/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "analysis/detectors.h"

#include "support/check.h"
#include "support/made_scene.h"

#include <math.h>
#include <string.h>

struct loss_case {
    const char *label;
    double rate_hz;
    double factor;
    double seconds;
    double rpm_top;
    double rpm_slow;
    double clutch_rpm;
    double idle_rpm;
};

static const struct loss_case losses[] = {
    {"vanishes", 20, 0.0, 0.4, 14800, 6500, 4700, 2100},
    {"vanishes at 5 Hz", 5, 0.0, 1.0, 14800, 6500, 4700, 2100},
    {"vanishes at 100 Hz", 100, 0.0, 0.15, 14800, 6500, 4700, 2100},
    {"halves", 20, 0.5, 0.5, 14800, 6500, 4700, 2100},
    {"halves until after the lift", 20, 0.5, 3.3, 14800, 6500, 4700, 2100},
    {"doubles", 20, 2.0, 0.5, 14800, 6500, 4700, 2100},
    {"long nothing", 10, 0.0, 4.0, 14800, 6500, 4700, 2100},
    {"rental four-stroke", 20, 0.0, 0.4, 6000, 3600, 2200, 1500},
    {"rental halves", 10, 0.5, 0.6, 6000, 3600, 2200, 1500},
    {"doubles at 10 Hz", 10, 2.0, 0.7, 14800, 6500, 4700, 2100},
};

/* The wire that will end the race next Sunday. */
static void test_dropout__lost_signal_is_found_where_it_was(void **state)
{
    (void)state;
    for (size_t k = 0; k < sizeof losses / sizeof losses[0]; k++) {
        const struct loss_case *c = &losses[k];
        struct synthetic_options options = synthetic_defaults();
        options.rate_hz = c->rate_hz;
        options.rpm_top = c->rpm_top;
        options.rpm_slow = c->rpm_slow;
        options.clutch_rpm = c->clutch_rpm;
        options.idle_rpm = c->idle_rpm;
        struct synthetic made = synthetic_new(&options);
        /* Late in the first pull of the fourth lap. */
        const double from_s = made.lap_start_s[4] + 6.0;
        synthetic_lose_signal(&made, from_s, from_s + c->seconds, c->factor);
        struct kw_events found;
        detect(kw_find_dropouts, &made, NAN, &found);
        check_near(c->label, (double)found.n, 1.0, 0.0);
        check_near(c->label, found.items[0].start_s, from_s, 1.5 / c->rate_hz);
        check_near(c->label, found.items[0].end_s, from_s + c->seconds,
                   1.5 / c->rate_hz);
        check_true(c->label, found.items[0].detail.dropout.cause ==
                                 KW_CAUSE_LOOSE_CONNECTION);
        check_true(c->label, found.items[0].confidence > 0.8);
        kw_events_free(&found);
        synthetic_free(&made);
    }
}

/* A reading that stands still while the kart brakes, then jumps to the truth.
 */
static void test_dropout__frozen_signal_is_found(void **state)
{
    (void)state;
    struct synthetic_options options = synthetic_defaults();
    struct synthetic made = synthetic_new(&options);
    size_t pull = synthetic_at(&made, made.lap_start_s[4] + 1.0);
    while (made.load[pull] > 0.5)
        pull++;
    while (made.load[pull] < 0.5)
        pull++;
    const double from_s = made.time_s[pull] + 0.7;
    synthetic_freeze_signal(&made, from_s, from_s + 0.9);
    /* In a log that lacks nothing, then a reading at its start, then one just
     * before as well. */
    const size_t missing[] = {made.n, 0, synthetic_at(&made, from_s - 0.58)};
    for (size_t k = 0; k < sizeof missing / sizeof missing[0]; k++) {
        if (missing[k] < made.n)
            made.rpm[missing[k]] = NAN;
        struct kw_events found;
        detect(kw_find_dropouts, &made, NAN, &found);
        check_near("one", (double)found.n, 1.0, 0.0);
        check_near("start", found.items[0].start_s, from_s, 0.15);
        check_near("end", found.items[0].end_s, from_s + 0.9, 0.15);
        assert_non_null(strstr(found.items[0].evidence, "stood still"));
        kw_events_free(&found);
    }
    synthetic_free(&made);
}

/* A reading that stands still until RPM is there again makes no jump. Beside a
 * speed it is seen all the same; without one nothing can be said. */
static void test_dropout__frozen_signal_shows_beside_the_speed(void **state)
{
    (void)state;
    for (size_t k = 0; k < 2; k++) {
        struct synthetic_options options = synthetic_defaults();
        options.has_speed = k == 0;
        struct synthetic made = synthetic_new(&options);
        size_t from = synthetic_at(&made, made.lap_start_s[4] + 1.0);
        while (made.rpm[from] < 12500.0)
            from++;
        size_t to = from;
        while (made.rpm[to] >= made.rpm[from] || made.load[to] > 0.5)
            to++;
        while (made.rpm[to] < made.rpm[from])
            to++;
        synthetic_freeze_signal(&made, made.time_s[from], made.time_s[to]);
        struct kw_events found;
        detect(kw_find_dropouts, &made, NAN, &found);
        assert_int_equal(found.n, options.has_speed ? 1 : 0);
        for (size_t e = 0; e < found.n; e++) {
            check_near("start", found.items[e].start_s, made.time_s[from], 0.1);
            check_near("end", found.items[e].end_s, made.time_s[to], 0.1);
            assert_non_null(strstr(found.items[e].evidence, "by the kart's"));
        }
        kw_events_free(&found);
        synthetic_free(&made);
    }
}

/* The logger's own first-order filter, which many have, over all of RPM. */
static void smooth_rpm(struct synthetic *made, double lag_s)
{
    for (size_t i = 1; i < made->n; i++) {
        const double step_s = made->time_s[i] - made->time_s[i - 1];
        const double kept = exp(-step_s / lag_s);
        made->rpm[i] = kept * made->rpm[i - 1] + (1.0 - kept) * made->rpm[i];
    }
}

/* A logger that smooths hides the edges; the wire is as loose as before. */
static void test_dropout__smoothed_loss_is_found(void **state)
{
    (void)state;
    static const struct {
        const char *label;
        double rate_hz, factor, seconds, lag_s;
    } cases[] = {
        {"vanishes, 50 Hz", 50, 0.0, 0.6, 0.08},
        {"vanishes, 20 Hz", 20, 0.0, 0.8, 0.15},
        {"halves, 50 Hz", 50, 0.5, 0.5, 0.08},
        {"halves, 100 Hz", 100, 0.5, 0.6, 0.15},
        {"doubles, 20 Hz", 20, 2.0, 0.7, 0.15},
        {"doubles, 50 Hz", 50, 2.0, 0.5, 0.1},
    };
    for (size_t k = 0; k < sizeof cases / sizeof cases[0]; k++) {
        struct synthetic_options options = synthetic_defaults();
        options.rate_hz = cases[k].rate_hz;
        struct synthetic made = synthetic_new(&options);
        const double from_s = made.lap_start_s[4] + 6.0;
        synthetic_lose_signal(&made, from_s, from_s + cases[k].seconds,
                              cases[k].factor);
        smooth_rpm(&made, cases[k].lag_s);
        struct kw_events found;
        detect(kw_find_dropouts, &made, NAN, &found);
        check_near(cases[k].label, (double)found.n, 1.0, 0.0);
        check_near(cases[k].label, found.items[0].start_s, from_s, 0.1);
        check_near(cases[k].label, found.items[0].end_s,
                   from_s + cases[k].seconds, 0.1);
        kw_events_free(&found);
        synthetic_free(&made);
    }
}

/* Each row gets the mean of the last whole window of so many rows. */
static void count_in_windows(struct synthetic *made, size_t rows)
{
    for (size_t from = made->n - made->n % rows; from >= rows; from -= rows) {
        double sum = 0.0;
        for (size_t i = from - rows; i < from; i++)
            sum += made->rpm[i];
        for (size_t i = from; i < from + rows && i < made->n; i++)
            made->rpm[i] = sum / (double)rows;
    }
}

/* A logger that averages its last few readings spreads each edge over as many,
 * and a loss of seconds fits no single shape: half throughout is enough. */
static void test_dropout__half_of_an_averaged_signal_is_found(void **state)
{
    (void)state;
    enum { AVERAGED = 3 };
    struct synthetic_options options = synthetic_defaults();
    options.rate_hz = 25.0;
    struct synthetic made = synthetic_new(&options);
    const double from_s = made.lap_start_s[4] + 5.0;
    synthetic_lose_signal(&made, from_s, from_s + 1.7, 0.5);
    for (size_t i = made.n; i-- > AVERAGED - 1;)
        made.rpm[i] =
            (made.rpm[i] + made.rpm[i - 1] + made.rpm[i - 2]) / AVERAGED;
    struct kw_events found;
    detect(kw_find_dropouts, &made, NAN, &found);
    assert_int_equal(found.n, 1);
    check_near("start", found.items[0].start_s, from_s, 0.1);
    check_near("end", found.items[0].end_s, from_s + 1.7, 0.1);
    kw_events_free(&found);
    synthetic_free(&made);
}

/* The engine idles in the paddock and the reading goes for a moment: a contact,
 * for no engine dies and is started again so soon. */
static void test_dropout__loss_at_idle_is_found(void **state)
{
    (void)state;
    struct synthetic_options options = synthetic_defaults();
    struct synthetic made = synthetic_new(&options);
    const double from_s = options.standing_s / 2.0;
    synthetic_lose_signal(&made, from_s, from_s + 0.5, 0.0);
    struct kw_events found;
    detect(kw_find_dropouts, &made, NAN, &found);
    assert_int_equal(found.n, 1);
    check_near("start", found.items[0].start_s, from_s, 0.1);
    kw_events_free(&found);
    synthetic_free(&made);
}

/* RPM as a list of readings from a moment on, in place of what was there. */
static void put_rpm(struct synthetic *made,
                    double from_s,
                    const double *rpm,
                    size_t n)
{
    const size_t from = synthetic_at(made, from_s);
    for (size_t i = 0; i < n && from + i < made->n; i++)
        made->rpm[from + i] = rpm[i];
}

/* Half of what it was, and no loose wire: the engine drops off its clutch in a
 * hairpin and idles; a wheel locks and drags the engine down with it. Each as
 * slow loggers show it. */
static void test_dropout__engine_off_its_clutch_is_none(void **state)
{
    (void)state;
    static const double hairpin[] = {8800, 7600, 6200, 4900, 2300, 2100,
                                     2100, 2100, 2100, 2150, 4700, 6300};
    static const double locked[] = {11600, 8400, 4500, 4000, 3800, 3600, 3400,
                                    3200,  3000, 2900, 2800, 4700, 7200, 7500};
    static const struct {
        const char *label;
        const double *rpm;
        size_t n;
    } cases[] = {
        {"hairpin", hairpin, sizeof hairpin / sizeof hairpin[0]},
        {"locked wheels", locked, sizeof locked / sizeof locked[0]},
    };
    static const double rates_hz[] = {10, 20};
    for (size_t k = 0; k < 4; k++) {
        struct synthetic_options options = synthetic_defaults();
        options.rate_hz = rates_hz[k % 2];
        struct synthetic made = synthetic_new(&options);
        const double from_s = made.lap_start_s[4] + 6.0;
        put_rpm(&made, from_s, cases[k / 2].rpm, cases[k / 2].n);
        /* And from there at an engine's pace. */
        for (size_t i = synthetic_at(&made, from_s) + cases[k / 2].n;
             made.rpm[i] >
             made.rpm[i - 1] + 0.2 * made.rpm[i] / rates_hz[k % 2];
             i++)
            made.rpm[i] = made.rpm[i - 1] + 3000.0 / rates_hz[k % 2];
        struct kw_events found;
        detect(kw_find_dropouts, &made, NAN, &found);
        check_near(cases[k / 2].label, (double)found.n, 0.0, 0.0);
        kw_events_free(&found);
        synthetic_free(&made);
    }
}

/* A lead that picks up something else: neither nothing nor half, but there and
 * back faster than any engine, and that low without an idle being reached so.
 */
static void test_dropout__other_low_reading_is_found(void **state)
{
    (void)state;
    static const double rates_hz[] = {10, 20, 50};
    for (size_t k = 0; k < sizeof rates_hz / sizeof rates_hz[0]; k++) {
        struct synthetic_options options = synthetic_defaults();
        options.rate_hz = rates_hz[k];
        struct synthetic made = synthetic_new(&options);
        const double from_s = made.lap_start_s[4] + 6.0;
        const size_t from = synthetic_at(&made, from_s);
        const size_t to = synthetic_at(&made, from_s + 0.8);
        for (size_t i = from; i < to; i++)
            made.rpm[i] = 2450.0;
        struct kw_events found;
        detect(kw_find_dropouts, &made, NAN, &found);
        check_near("one", (double)found.n, 1.0, 0.0);
        check_near("start", found.items[0].start_s, from_s, 0.15);
        check_near("end", found.items[0].end_s, from_s + 0.8, 0.15);
        kw_events_free(&found);
        synthetic_free(&made);
    }
}

/* Readings have nothing to do with each other, none of them nothing, half or
 * double: a lead that chafes. One is told, however long it lasts. */
static void test_dropout__scattered_readings_are_one(void **state)
{
    (void)state;
    static const double times[] = {0.3, 0.7, 1.3, 0.4, 0.8, 1.2, 0.3, 1.4};
    enum { N = sizeof times / sizeof times[0] };
    static const struct {
        const char *label;
        double rate_hz, seconds;
    } cases[] = {
        {"short, 100 Hz", 100, 0.12},
        {"short, 20 Hz", 20, 0.2},
        {"10 Hz", 10, 1.0},
        {"long, 50 Hz", 50, 3.0},
        {"5 Hz", 5, 2.0},
    };
    for (size_t k = 0; k < sizeof cases / sizeof cases[0]; k++) {
        struct synthetic_options options = synthetic_defaults();
        options.rate_hz = cases[k].rate_hz;
        struct synthetic made = synthetic_new(&options);
        const double from_s = made.lap_start_s[4] + 5.0;
        const double to_s = from_s + cases[k].seconds;
        const size_t from = synthetic_at(&made, from_s);
        for (size_t i = from; i < synthetic_at(&made, to_s); i++)
            made.rpm[i] *= times[(i - from) % N];
        struct kw_events found;
        detect(kw_find_dropouts, &made, NAN, &found);
        check_near(cases[k].label, (double)found.n, 1.0, 0.0);
        check_near(cases[k].label, found.items[0].start_s, from_s,
                   1.5 / cases[k].rate_hz);
        check_near(cases[k].label, found.items[0].end_s, to_s,
                   1.5 / cases[k].rate_hz);
        check_true(cases[k].label, found.items[0].detail.dropout.cause ==
                                       KW_CAUSE_LOOSE_CONNECTION);
        /* Thousands are set apart, as in every other finding. */
        for (const char *at = found.items[0].evidence; *at != '\0'; at++)
            check_true(cases[k].label, strspn(at, "0123456789") < 4);
        kw_events_free(&found);
        synthetic_free(&made);
    }
}

/* Readings beyond any engine's, readings that pause while they leap about, and
 * a slow bend whose pulses are counted twice. */
static void test_dropout__impossible_readings_are_found(void **state)
{
    (void)state;
    static const struct {
        const char *label;
        bool in_bend;
        double rate_hz;
        double times[16];
    } cases[] = {
        {"beyond the top end", false, 10, {1.45, 1.4, 1.0}},
        {"a pause among leaps",
         false,
         25,
         {1.8, 2.1, 0.4, 0.5, 0.5, 0.45, 0.1, 2.0, 1.0}},
        {"smoothed leaps",
         false,
         25,
         {1.26, 1.31, 1.43, 1.38, 1.01, 0.8, 0.8, 0.81, 0.83, 1.07, 0.94, 1.21,
          1.19, 1.12, 1.08, 1.0}},
        {"it settles by and by",
         false,
         20,
         {0.8, 1.14, 1.5, 1.5, 1.15, 1.04, 1.0}},
        {"a slow bend, doubled",
         true,
         20,
         {2.0, 2.0, 2.0, 2.0, 2.0, 2.0, 2.0, 2.0, 1.0}},
    };
    for (size_t k = 0; k < sizeof cases / sizeof cases[0]; k++) {
        struct synthetic_options options = synthetic_defaults();
        options.rate_hz = cases[k].rate_hz;
        options.rpm_slow = 5500.0;
        struct synthetic made = synthetic_new(&options);
        size_t from = synthetic_at(&made, made.lap_start_s[4] + 5.0);
        while (cases[k].in_bend && made.rpm[from] > 5600.0)
            from++;
        for (size_t i = 0; cases[k].times[i] < 1.0 || cases[k].times[i] > 1.0;
             i++)
            made.rpm[from + i] *= cases[k].times[i];
        struct kw_events found;
        detect(kw_find_dropouts, &made, NAN, &found);
        check_near(cases[k].label, (double)found.n, 1.0, 0.0);
        check_near(cases[k].label, found.items[0].start_s, made.time_s[from],
                   1.5 / cases[k].rate_hz);
        kw_events_free(&found);
        synthetic_free(&made);
    }
}

/* A logger that counts pulses over a window and repeats the count until the
 * next one: the wire's edges come in two steps, and a window late. */
static void test_dropout__loss_in_windows_is_found(void **state)
{
    (void)state;
    static const struct {
        const char *label;
        double factor, seconds, rate_hz;
        size_t rows;
    } cases[] = {
        {"halves, 0.1 s", 0.5, 0.45, 20, 2},
        {"halves, 0.25 s", 0.5, 0.8, 20, 5},
        {"vanishes, 0.25 s", 0.0, 0.55, 20, 5},
        {"for a moment, 0.25 s", 0.0, 0.25, 20, 5},
        {"for a moment, 8 Hz", 0.0, 0.4, 8, 2},
    };
    for (size_t k = 0; k < sizeof cases / sizeof cases[0]; k++) {
        struct synthetic_options options = synthetic_defaults();
        options.rate_hz = cases[k].rate_hz;
        struct synthetic made = synthetic_new(&options);
        const double from_s =
            made.lap_start_s[4] + 5.0 + cases[k].seconds / 7.0;
        synthetic_lose_signal(&made, from_s, from_s + cases[k].seconds,
                              cases[k].factor);
        count_in_windows(&made, cases[k].rows);
        struct kw_events found;
        detect(kw_find_dropouts, &made, NAN, &found);
        const double window_s = (double)cases[k].rows / cases[k].rate_hz;
        check_near(cases[k].label, (double)found.n, 1.0, 0.0);
        check_near(cases[k].label, found.items[0].start_s, from_s + window_s,
                   window_s);
        check_near(cases[k].label, found.items[0].end_s,
                   from_s + cases[k].seconds + window_s, window_s);
        kw_events_free(&found);
        synthetic_free(&made);
    }
}

/* The throttle is blipped in the paddock, up and down as fast as the engine
 * will go. */
static void test_dropout__blips_at_idle_are_none(void **state)
{
    (void)state;
    const struct synthetic_options options = synthetic_defaults();
    struct synthetic made = synthetic_new(&options);
    const size_t from = synthetic_at(&made, 2.0);
    static const double blip_rpm[] = {2100, 5200, 8800, 5600, 3000};
    enum { N = sizeof blip_rpm / sizeof blip_rpm[0] };
    for (size_t i = 0; i < 4 * N; i++)
        made.rpm[from + i] = blip_rpm[i % N];
    struct kw_events found;
    detect(kw_find_dropouts, &made, NAN, &found);
    assert_int_equal(found.n, 0);
    kw_events_free(&found);
    synthetic_free(&made);
}

/* Wheels that spin, or are in the air, take RPM far up for a moment. */
static void test_dropout__wheelspin_is_none(void **state)
{
    (void)state;
    static const double over[] = {1.02, 1.38, 1.66, 1.25, 1.06};
    static const double rates_hz[] = {10, 20, 50};
    for (size_t k = 0; k < sizeof rates_hz / sizeof rates_hz[0]; k++) {
        struct synthetic_options options = synthetic_defaults();
        options.rate_hz = rates_hz[k];
        struct synthetic made = synthetic_new(&options);
        size_t at = synthetic_at(&made, made.lap_start_s[4] + 1.0);
        while (made.rpm[at] > 8000.0)
            at++;
        for (size_t i = 0; i < sizeof over / sizeof over[0]; i++)
            made.rpm[at + i] *= over[i];
        struct kw_events found;
        detect(kw_find_dropouts, &made, NAN, &found);
        check_near("wheelspin", (double)found.n, 0.0, 0.0);
        kw_events_free(&found);
        synthetic_free(&made);
    }
}

/* A contact that bounces is one drop-out, not five. */
static void test_dropout__bouncing_contact_is_one(void **state)
{
    (void)state;
    struct synthetic_options options = synthetic_defaults();
    struct synthetic made = synthetic_new(&options);
    const double at_s = made.lap_start_s[4] + 4.0;
    for (size_t i = 0; i < 3; i++)
        synthetic_lose_signal(&made, at_s + 0.3 * (double)i,
                              at_s + 0.3 * (double)i + 0.15, 0.0);
    struct kw_events found;
    detect(kw_find_dropouts, &made, NAN, &found);
    assert_int_equal(found.n, 1);
    check_near("start", found.items[0].start_s, at_s, 0.1);
    check_near("end", found.items[0].end_s, at_s + 0.75, 0.1);
    kw_events_free(&found);
    synthetic_free(&made);
}

/* Readings that come six times a second, each repeated: the leap from one to
 * the next is a sixth of a second of driving. */
static void test_dropout__repeated_readings_are_none(void **state)
{
    (void)state;
    struct synthetic_options options = synthetic_defaults();
    options.rate_hz = 50.0;
    struct synthetic made = synthetic_new(&options);
    for (size_t i = 0; i < made.n; i++)
        made.rpm[i] = made.rpm[i - i % 8];
    struct kw_events found;
    detect(kw_find_dropouts, &made, NAN, &found);
    assert_int_equal(found.n, 0);
    kw_events_free(&found);
    synthetic_free(&made);
}

/* A driver who lifts for a corner must never be told to check the wiring. */
static void test_dropout__healthy_driving_is_none(void **state)
{
    (void)state;
    static const double rates_hz[] = {1, 5, 10, 20, 50, 100};
    for (size_t k = 0; k < sizeof rates_hz / sizeof rates_hz[0]; k++) {
        struct synthetic_options options = synthetic_defaults();
        options.rate_hz = rates_hz[k];
        options.rpm_noise = 40.0;
        options.rpm_step = k % 2 == 0 ? 25.0 : 1.0;
        options.seed = 100 + k;
        struct synthetic made = synthetic_new(&options);
        struct kw_events found;
        detect(kw_find_dropouts, &made, NAN, &found);
        check_near("healthy", (double)found.n, 0.0, 0.0);
        kw_events_free(&found);
        synthetic_free(&made);
    }
}

/* One odd reading is the logger's hiccup, not the kart's. */
static void test_dropout__glitch_is_none(void **state)
{
    (void)state;
    struct synthetic_options options = synthetic_defaults();
    options.rate_hz = 50.0;
    struct synthetic made = synthetic_new(&options);
    const double at_s = made.lap_start_s[3] + 6.0;
    synthetic_lose_signal(&made, at_s, at_s + 0.015, 0.0);
    struct kw_events found;
    detect(kw_find_dropouts, &made, NAN, &found);
    assert_int_equal(found.n, 0);
    kw_events_free(&found);
    synthetic_free(&made);
}

/* An engine that is switched off does not come back by itself. */
static void test_dropout__stopped_engine_is_none(void **state)
{
    (void)state;
    struct synthetic_options options = synthetic_defaults();
    struct synthetic made = synthetic_new(&options);
    synthetic_stop_engine(&made, made.lap_start_s[5] + 6.0,
                          made.time_s[made.n - 1] + 1.0);
    struct kw_events found;
    detect(kw_find_dropouts, &made, NAN, &found);
    assert_int_equal(found.n, 0);
    kw_events_free(&found);
    synthetic_free(&made);
}

/* Two losses with a second of good readings between are two. */
static void test_dropout__losses_apart_are_told_apart(void **state)
{
    (void)state;
    struct synthetic_options options = synthetic_defaults();
    struct synthetic made = synthetic_new(&options);
    const double at_s = made.lap_start_s[4] + 4.0;
    synthetic_lose_signal(&made, at_s, at_s + 0.3, 0.0);
    synthetic_lose_signal(&made, at_s + 1.5, at_s + 1.9, 0.5);
    struct kw_events found;
    detect(kw_find_dropouts, &made, NAN, &found);
    assert_int_equal(found.n, 2);
    kw_events_free(&found);
    synthetic_free(&made);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_dropout__lost_signal_is_found_where_it_was),
        cmocka_unit_test(test_dropout__frozen_signal_is_found),
        cmocka_unit_test(test_dropout__frozen_signal_shows_beside_the_speed),
        cmocka_unit_test(test_dropout__smoothed_loss_is_found),
        cmocka_unit_test(test_dropout__half_of_an_averaged_signal_is_found),
        cmocka_unit_test(test_dropout__loss_at_idle_is_found),
        cmocka_unit_test(test_dropout__engine_off_its_clutch_is_none),
        cmocka_unit_test(test_dropout__other_low_reading_is_found),
        cmocka_unit_test(test_dropout__scattered_readings_are_one),
        cmocka_unit_test(test_dropout__impossible_readings_are_found),
        cmocka_unit_test(test_dropout__loss_in_windows_is_found),
        cmocka_unit_test(test_dropout__blips_at_idle_are_none),
        cmocka_unit_test(test_dropout__wheelspin_is_none),
        cmocka_unit_test(test_dropout__bouncing_contact_is_one),
        cmocka_unit_test(test_dropout__repeated_readings_are_none),
        cmocka_unit_test(test_dropout__healthy_driving_is_none),
        cmocka_unit_test(test_dropout__glitch_is_none),
        cmocka_unit_test(test_dropout__stopped_engine_is_none),
        cmocka_unit_test(test_dropout__losses_apart_are_told_apart),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
