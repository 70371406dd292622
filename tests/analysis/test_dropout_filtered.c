/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "analysis/detectors.h"

#include "support/check.h"
#include "support/made_scene.h"

#include <math.h>

/* The logger's own first-order filter, which many have, over all of RPM. */
static void smooth_rpm(struct synthetic *made, double lag_s)
{
    for (size_t i = 1; i < made->n; i++) {
        const double step_s = made->time_s[i] - made->time_s[i - 1];
        const double kept = exp(-step_s / lag_s);
        made->rpm[i] = kept * made->rpm[i - 1] + (1.0 - kept) * made->rpm[i];
    }
}

/* A logger that reads RPM once in so many rows and draws lines between. */
static void draw_lines(struct synthetic *made, size_t rows)
{
    for (size_t i = 0; i + rows < made->n; i += rows) {
        const double from_rpm = made->rpm[i];
        const double rise_rpm = made->rpm[i + rows] - from_rpm;
        for (size_t k = 1; k < rows; k++)
            made->rpm[i + k] = from_rpm + rise_rpm * (double)k / (double)rows;
    }
}

/* One loss in each lap: so many times what is right, through a filter, or where
 * lag_s is 0 in lines of so many rows.
 *
 * at_idle  another, of everything, before the start.
 * found    how many are. */
struct filtered_case {
    const char *label;
    double rate_hz, times, seconds, lag_s;
    size_t rows;
    bool at_idle;
    size_t found;
};

static const struct filtered_case cases[] = {
    {"halves, 10 Hz", 10, 0.5, 0.3, 0.25, 0, false, 8},
    {"halves, 25 Hz", 25, 0.5, 0.2, 0.2, 0, false, 8},
    {"vanishes, 8 Hz", 8, 0.0, 0.2, 0.16, 0, false, 8},
    {"doubles, 25 Hz", 25, 2.0, 0.3, 0.25, 0, false, 8},
    {"beside one at idle", 10, 0.5, 0.3, 0.25, 0, true, 8},
    {"a part of it", 20, 0.68, 0.4, 0.2, 0, false, 0},
    {"halves, lines", 20, 0.5, 0.3, 0, 6, false, 8},
    {"vanishes, lines, 50 Hz", 50, 0.0, 0.3, 0, 12, false, 8},
    {"a part of it, lines", 20, 0.68, 0.4, 0, 6, false, 0},
};

/* A filter hides the edges; the wire is as loose as before. */
static void test_dropout_filtered__short_losses_are_found(void **state)
{
    (void)state;
    for (size_t k = 0; k < sizeof cases / sizeof cases[0]; k++) {
        const struct filtered_case *c = &cases[k];
        struct synthetic_options options = synthetic_defaults();
        options.rate_hz = c->rate_hz;
        struct synthetic made = synthetic_new(&options);
        for (size_t lap = 0; lap < options.laps; lap++) {
            const double from_s = made.lap_start_s[lap + 1] + 6.03;
            synthetic_lose_signal(&made, from_s, from_s + c->seconds, c->times);
        }
        if (c->at_idle)
            synthetic_lose_signal(&made, 5.0, 5.4, 0.0);
        if (c->rows > 0)
            draw_lines(&made, c->rows);
        else
            smooth_rpm(&made, c->lag_s);
        struct kw_events found;
        detect(kw_find_dropouts, &made, NAN, &found);
        check_near(c->label, (double)found.n, (double)c->found, 0.0);
        for (size_t i = 0; i < found.n; i++) {
            const double from_s = made.lap_start_s[i + 1] + 6.03;
            check_near(c->label, found.items[i].start_s, from_s,
                       (1.5 + (double)c->rows) / c->rate_hz);
            check_near(c->label, found.items[i].end_s, from_s + c->seconds,
                       0.3);
        }
        kw_events_free(&found);
        synthetic_free(&made);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_dropout_filtered__short_losses_are_found),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
