/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Odd readings that were too brief to tell a glitch from a loose wire. */
#include "analysis/detectors.h"

#include "support/check.h"
#include "support/made_scene.h"

#include <math.h>
#include <string.h>

/* RPM reads nothing.
 *
 * brief    in so many single readings, a lap apart.
 * lasting  and in so many losses of half a second.
 * rows     the logger repeats each reading in so many rows, one of them more.
 * laps     how long the session is.
 * told     drop-outs. */
struct odd {
    const char *label;
    size_t brief;
    size_t lasting;
    size_t rows;
    size_t laps;
    size_t told;
};

static const struct odd cases[] = {
    {"one", 1, 0, 1, 8, 0},
    {"three", 3, 0, 1, 8, 0},
    {"four", 4, 0, 1, 8, 4},
    {"four in twenty minutes", 4, 0, 1, 24, 0},
    {"one beside a loss that lasts", 1, 1, 1, 8, 2},
    {"a loss that lasts", 0, 1, 1, 8, 1},
    {"one of a logger that repeats unevenly", 1, 0, 2, 8, 0},
};

/* Each reading is written again, and the one that is off once more. */
static void repeat(struct synthetic *made, size_t rows)
{
    for (size_t i = 1; i < made->n; i++)
        made->rpm[i] = i % rows == 0 ? made->rpm[i] : made->rpm[i - 1];
    for (size_t i = made->n; rows > 1 && i-- > 1;)
        made->rpm[i] = made->rpm[i - 1] <= 0.0 ? 0.0 : made->rpm[i];
}

static void make_odd(struct synthetic *made, const struct odd *odd)
{
    static const double STEP_S = 0.1;
    for (size_t lap = 1; lap <= odd->brief + odd->lasting; lap++) {
        const size_t near = synthetic_at(made, made->lap_start_s[lap] + 5.0);
        const double from_s = made->time_s[near - near % odd->rows];
        const double for_s =
            lap <= odd->brief ? STEP_S * (double)odd->rows : 0.5;
        synthetic_lose_signal(made, from_s, from_s + for_s, 0.0);
    }
    repeat(made, odd->rows);
}

static size_t count(const struct kw_notices *notices, const char *what)
{
    size_t n = 0;
    for (size_t i = 0; i < notices->n; i++)
        n += strstr(notices->items[i].text, what) != NULL ? 1 : 0;
    return n;
}

/* Alone they are a notice, beside a loss that lasts they are the same wire, and
 * many of them are one as well. */
static void test_glitch__one_reading_alone_is_a_notice(void **state)
{
    (void)state;
    for (size_t k = 0; k < sizeof cases / sizeof cases[0]; k++) {
        struct synthetic_options options = synthetic_defaults();
        options.rate_hz = 10.0;
        options.laps = cases[k].laps;
        struct synthetic made = synthetic_new(&options);
        make_odd(&made, &cases[k]);
        struct made_scene scene;
        struct kw_notices notices = {0};
        struct kw_events found = {0};
        made_scene(&made, NAN, &scene);
        scene.scene.notices = &notices;
        assert_int_equal(kw_find_dropouts(&scene.scene, &found, NULL), KW_OK);
        check_near(cases[k].label, (double)found.n, (double)cases[k].told, 0.0);
        check_near(cases[k].label, (double)count(&notices, "too brief to tell"),
                   cases[k].told == 0 ? 1.0 : 0.0, 0.0);
        kw_events_free(&found);
        kw_notices_free(&notices);
        made_scene_free(&scene);
        synthetic_free(&made);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_glitch__one_reading_alone_is_a_notice),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
