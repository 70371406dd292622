/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "analysis/absence.h"

#include "support/check.h"

#include <math.h>

enum { MOST_READINGS = 8, MOST_ROWS = 80 };

/* The log that pairs of jumps are in, and what is known of its kart. */
struct pair_log {
    double rate_hz;
    size_t rows;
    double idle_rpm;
    double rise_rpm_s;
};

/* Readings before, between and after, each repeated over the log's rows: from
 * the second, which is the last good one, to the last but one, the first good
 * one again; gone and leaves are the first and last wholly off. */
struct pair_case {
    const char *label;
    bool is_told;
    size_t gone;
    size_t leaves;
    double rpm[MOST_READINGS];
};

/* Repeats readings over rows. returns  how many rows. */
static size_t repeat(const double *readings, size_t rows, double *out)
{
    size_t n = 0;
    for (size_t i = 0; i < MOST_READINGS && readings[i] > 0.0; i++)
        for (size_t k = 0; k < rows; k++)
            out[n++] = readings[i];
    return n;
}

/* axle  readings of it; NULL for none. */
static bool is_told(const struct pair_log *log,
                    const struct pair_case *c,
                    const double *axle)
{
    double time_s[MOST_ROWS];
    double rpm[MOST_ROWS];
    double axle_rpm[MOST_ROWS];
    const size_t n = repeat(c->rpm, log->rows, rpm);
    if (axle != NULL)
        repeat(axle, log->rows, axle_rpm);
    for (size_t i = 0; i < n; i++)
        time_s[i] = (double)i / log->rate_hz;
    const struct kw_session session = {
        .n_samples = n, .rate_hz = log->rate_hz, .time_s = time_s, .rpm = rpm};
    const struct kw_rate_limits limits = {
        .top_rpm = 14000.0,
        .locked_rpm = 6300.0,
        .fall_rpm_s = 6300.0,
        .rise_rpm_s = log->rise_rpm_s,
        .noise_rpm = 20.0,
        .unsteady_rpm = 590.0,
        .step_s = 1.0 / log->rate_hz,
        .fresh_s = (double)log->rows / log->rate_hz,
    };
    const struct kw_rpm_search search = {
        .session = &session,
        .limits = &limits,
        .axle_rpm = axle != NULL ? axle_rpm : NULL,
        .axle_scatter = 0.01,
        .idle_rpm = log->idle_rpm,
    };
    const struct kw_absence absence = {
        .before = 2 * log->rows - 1,
        .first = 2 * log->rows,
        .gone = c->gone * log->rows,
        .leaves = (c->leaves + 1) * log->rows - 1,
        .back = n - 2 * log->rows,
        .up = c->rpm[c->gone] > c->rpm[1],
    };
    return kw_is_telling(&search, &absence);
}

static void check_pairs(const struct pair_log *log,
                        const struct pair_case *cases,
                        size_t n)
{
    for (size_t k = 0; k < n; k++)
        check_true(cases[k].label,
                   is_told(log, &cases[k], NULL) == cases[k].is_told);
}

/* A logger that counts pulses in windows and writes each count over some rows:
 * the wire shows from high to high, but not where a clutch may slip, a gear be
 * changed or the kart be slowed. */
static void test_absence__windows_show_it_from_high_to_high(void **state)
{
    (void)state;
    static const struct pair_log log = {20, 5, 2000, 4900};
    static const struct pair_case cases[] = {
        {"halved", true, 3, 3, {13000, 12950, 9900, 6100, 12000, 11900}},
        {"most", true, 2, 3, {11900, 12000, 1300, 3700, 12900, 13000}},
        {"clutch", false, 3, 4, {8800, 8600, 6400, 4200, 4250, 8500, 8550}},
        {"brief", false, 2, 3, {8800, 8600, 5300, 5300, 8500, 8550}},
        {"gear", false, 3, 3, {12900, 13000, 9900, 8200, 12900, 12900}},
        {"slowed", false, 2, 3, {12900, 13000, 4000, 4000, 11500, 11300}},
    };
    check_pairs(&log, cases, sizeof cases / sizeof cases[0]);
}

/* A window that lacks a third of its pulses lost them for a third of it. */
static void test_absence__glitch_in_a_window_is_none(void **state)
{
    (void)state;
    static const struct pair_log log = {25, 2, 2000, 4900};
    static const struct pair_case cases[] = {
        {"long", true, 2, 3, {11900, 12000, 5900, 5900, 12000, 12000}},
        {"long", true, 3, 3, {11900, 12000, 9000, 5700, 12000, 12000}},
        {"a glitch", false, 3, 3, {11900, 12000, 11000, 5900, 12000, 12000}},
    };
    check_pairs(&log, cases, sizeof cases / sizeof cases[0]);
}

/* The axle drives on and the engine's reading is far below it. A kart that
 * brakes may have locked its wheels, and a speed that is read once a second
 * says nothing. */
static void test_absence__axle_drives_on(void **state)
{
    (void)state;
    static const struct pair_log log = {20, 1, 2000, 4900};
    static const struct {
        struct pair_case pair;
        double axle_rpm[MOST_READINGS];
    } cases[] = {
        {{"drives on", true, 2, 4, {7700, 7750, 3000, 3000, 3000, 8500, 8550}},
         {7700, 7750, 7950, 8100, 8300, 8500, 8550}},
        {{"brakes", false, 2, 4, {7700, 7750, 3000, 3000, 3000, 6900, 6850}},
         {7700, 7750, 7600, 7400, 7100, 6900, 6850}},
        {{"brakes soon",
          false,
          2,
          4,
          {7700, 7750, 3000, 3000, 3000, 8500, 7500}},
         {7700, 7750, 7950, 8100, 8300, 8500, 7500}},
        {{"a little", false, 2, 4, {7700, 7750, 6100, 6100, 6100, 8500, 8550}},
         {7700, 7750, 7950, 8100, 8300, 8500, 8550}},
        {{"not long", false, 2, 3, {7700, 7750, 5500, 5500, 8500, 8550}},
         {7700, 7750, 8000, 8200, 8500, 8550}},
        {{"old speed", false, 2, 4, {7700, 7750, 3000, 3000, 3000, 8500, 8550}},
         {8100, 8100, 8100, 8100, 8100, 8100, 8100}},
        {{"slips", false, 2, 4, {7500, 7550, 3000, 3000, 3000, 8300, 8350}},
         {7500, 7550, 7750, 7900, 8100, 8300, 8350}},
    };
    for (size_t k = 0; k < sizeof cases / sizeof cases[0]; k++) {
        check_true(cases[k].pair.label,
                   is_told(&log, &cases[k].pair, cases[k].axle_rpm) ==
                       cases[k].pair.is_told);
        check_true(cases[k].pair.label, !is_told(&log, &cases[k].pair, NULL));
    }
}

/* Faster there and back than any engine, from where no engine idles. */
static void test_absence__leaps_to_low_readings(void **state)
{
    (void)state;
    static const struct pair_log log = {50, 1, 2000, 4900};
    static const struct pair_case cases[] = {
        {"low", true, 2, 4, {5950, 6000, 2500, 2500, 2500, 6100, 6150}},
        {"idle", false, 2, 4, {4650, 4700, 1900, 1900, 1900, 4750, 4800}},
        {"nothing", true, 2, 4, {5450, 5500, 100, 100, 100, 5550, 5600}},
        {"stalled", false, 2, 4, {2450, 2500, 100, 100, 100, 4500, 500}},
    };
    check_pairs(&log, cases, sizeof cases / sizeof cases[0]);
}

/* Half of what is right may be an engine at its idle; where none idles it is
 * not. */
static void test_absence__half_at_no_idle(void **state)
{
    (void)state;
    static const struct pair_log idles = {10, 1, 3400, 4900};
    static const struct pair_log none = {10, 1, 3800, 4900};
    static const struct pair_case cases[] = {
        {"idles", false, 2, 4, {8000, 7900, 3900, 3900, 3900, 7950, 8000}},
        {"half", true, 2, 4, {8000, 7900, 3900, 3900, 3900, 7950, 8000}},
    };
    check_pairs(&idles, cases, 1);
    check_pairs(&none, cases + 1, 1);
}

/* The first reading after the jump back is still some of what was off: the next
 * one tells whether RPM is where it was. */
static void test_absence__first_reading_back_is_averaged(void **state)
{
    (void)state;
    static const struct pair_log log = {20, 1, 2000, 4900};
    static const struct pair_case cases[] = {
        {"as fast", true, 2, 4, {9400, 9450, 5630, 4780, 4670, 8630, 9160}},
        {"slower", false, 2, 4, {9400, 9450, 5630, 4780, 4670, 8630, 8650}},
    };
    check_pairs(&log, cases, sizeof cases / sizeof cases[0]);
}

/* Twice what is right from below where the clutch surely holds, when it is
 * exactly so. */
static void test_absence__exact_doubles(void **state)
{
    (void)state;
    static const struct pair_log log = {10, 1, 2000, 4900};
    static const struct pair_case cases[] = {
        {"exact", true, 2, 4, {6000, 6050, 12100, 12150, 12250, 6150, 6200}},
        {"a blip", false, 2, 4, {6000, 6050, 11400, 12150, 11600, 6150, 6200}},
        {"short", false, 2, 3, {6000, 6050, 12100, 12150, 6150, 6200}},
        {"at idle", false, 2, 4, {4700, 4700, 9400, 9400, 9400, 4700, 4700}},
    };
    check_pairs(&log, cases, sizeof cases / sizeof cases[0]);
}

/* Where gears and clutch make jumps a wheel that spins is no double. */
static void test_absence__doubles_with_gears(void **state)
{
    (void)state;
    static const struct pair_log tied = {5, 1, 2000, 4900};
    static const struct pair_log gears = {5, 1, 2000, 17000};
    static const struct pair_case cases[] = {
        {"tied", true, 2, 3, {7000, 7100, 14100, 13600, 7200, 7300}},
        {"gears", false, 2, 3, {7000, 7100, 14100, 13600, 7200, 7300}},
    };
    check_pairs(&tied, cases, 1);
    check_pairs(&gears, cases + 1, 1);
}

/* A smoothed loss at one rate: so many readings are off. */
struct smoothed_case {
    const char *label;
    double rate_hz;
    size_t away;
    double times;
    bool is_told;
};

/* RPM of 11,000, seen through a filter of the first order: none of the edges is
 * sharp. */
static bool is_smoothed_told(const struct smoothed_case *c)
{
    enum { BEFORE = 3, AFTER = 8, MOST = 40 };
    static const double RIGHT_RPM = 11000.0;
    static const double LAG_S = 0.24;
    const double kept = exp(-1.0 / c->rate_hz / LAG_S);
    double time_s[MOST];
    double rpm[MOST];
    const size_t n = BEFORE + 1 + c->away + AFTER;
    double y = RIGHT_RPM;
    for (size_t i = 0; i < n; i++) {
        const bool away = i > BEFORE && i <= BEFORE + c->away;
        y = kept * y + (1.0 - kept) * RIGHT_RPM * (away ? c->times : 1.0);
        time_s[i] = (double)i / c->rate_hz;
        rpm[i] = y;
    }
    const struct kw_session session = {
        .n_samples = n, .rate_hz = c->rate_hz, .time_s = time_s, .rpm = rpm};
    const struct kw_rate_limits limits = {
        .top_rpm = 14000.0,
        .locked_rpm = 6300.0,
        .fall_rpm_s = 6300.0,
        .rise_rpm_s = 4200.0,
        .noise_rpm = 20.0,
        .unsteady_rpm = 590.0,
        .step_s = 1.0 / c->rate_hz,
        .fresh_s = 1.0 / c->rate_hz,
    };
    const struct kw_rpm_search search = {
        .session = &session, .limits = &limits, .idle_rpm = 2000.0};
    const struct kw_absence absence = {
        .before = BEFORE,
        .first = BEFORE + 1,
        .gone = BEFORE + 1,
        .leaves = BEFORE + c->away,
        .back = BEFORE + c->away + 1,
        .up = c->times > 1.0,
    };
    return kw_is_telling(&search, &absence);
}

/* The same wire, seen by slower and faster loggers and for a longer and shorter
 * time. */
static void test_absence__smoothed_loss_is_told_by_its_shape(void **state)
{
    (void)state;
    static const struct smoothed_case cases[] = {
        {"half, three readings of 0.2 s", 5.0, 3, 0.5, true},
        {"half, three readings of 0.1 s", 10.0, 3, 0.5, false},
        {"half, for 1.4 s", 5.0, 7, 0.5, true},
        {"half, for 2 s", 5.0, 10, 0.5, false},
    };
    for (size_t k = 0; k < sizeof cases / sizeof cases[0]; k++)
        check_true(cases[k].label,
                   is_smoothed_told(&cases[k]) == cases[k].is_told);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_absence__windows_show_it_from_high_to_high),
        cmocka_unit_test(test_absence__glitch_in_a_window_is_none),
        cmocka_unit_test(test_absence__axle_drives_on),
        cmocka_unit_test(test_absence__smoothed_loss_is_told_by_its_shape),
        cmocka_unit_test(test_absence__leaps_to_low_readings),
        cmocka_unit_test(test_absence__half_at_no_idle),
        cmocka_unit_test(test_absence__first_reading_back_is_averaged),
        cmocka_unit_test(test_absence__exact_doubles),
        cmocka_unit_test(test_absence__doubles_with_gears),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
