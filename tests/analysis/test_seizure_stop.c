/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "analysis/seizure_stop.h"

#include "support/check.h"

#include <math.h>

enum { RATE_HZ = 20, N = 100 * RATE_HZ };
static const double TOP_RPM = 14000.0;
static const double EXPECTED_C = 600.0;
/* A pull every 8 s, until the fall begins. */
static const double FALLS_AT_S = 63.0;

/* How the engine stops.
 *
 * hot_c      by so much pulls are too hot,
 * hot_for_s  from so long before the fall on,
 * hot_ended_s  until so long before it;
 * hot_every  of these only every so many-th.
 * pull_s     how long a pull is.
 * from_rpm   it falls from there,
 * fell_s     to a standstill in so long,
 * rests_s    idles for so long on its way,
 * works_s    and works again for so long just before it stands.
 * missing_s  a reading is missing so long after it began to fall; 0 for none.
 * runs_on    the log ends with the engine running. */
struct stop {
    const char *label;
    double hot_c;
    double hot_for_s;
    double hot_ended_s;
    size_t hot_every;
    double pull_s;
    double from_rpm;
    double fell_s;
    double rests_s;
    double works_s;
    double missing_s;
    bool runs_on;
    bool told;
};

static double fall_rpm(const struct stop *c, double since_s)
{
    static const double IDLE_RPM = 2200.0;
    const double moving_s = c->fell_s - c->rests_s;
    const double left_s = c->fell_s - since_s;
    if (left_s <= 0.0)
        return c->runs_on ? IDLE_RPM : 0.0;
    if (c->works_s > 0.0 && left_s > 1.2 && left_s < 1.2 + c->works_s)
        return 0.7 * c->from_rpm;
    if (c->rests_s > 0.0 && left_s < c->rests_s)
        return IDLE_RPM;
    const double low_rpm = c->rests_s > 0.0 ? IDLE_RPM : 0.0;
    return low_rpm + (c->from_rpm - low_rpm) * (1.0 - since_s / moving_s);
}

struct made {
    double time_s[N];
    double rpm[N];
    double gas_c[N];
    double load[N];
    double expected_c[N];
};

static void make(const struct stop *c, struct made *m)
{
    for (size_t i = 0; i < N; i++) {
        const double t = (double)i / RATE_HZ;
        const double in_round_s = fmod(t, 8.0);
        const size_t round = (size_t)(t / 8.0);
        const bool pulls = in_round_s < c->pull_s;
        const bool hot = t > FALLS_AT_S - c->hot_for_s &&
                         t < FALLS_AT_S - c->hot_ended_s &&
                         round % c->hot_every == 0;
        m->time_s[i] = t;
        m->rpm[i] = t >= FALLS_AT_S        ? fall_rpm(c, t - FALLS_AT_S)
                    : t > FALLS_AT_S - 4.0 ? c->from_rpm
                                           : 8000.0 + 800.0 * in_round_s;
        m->load[i] = pulls && t < FALLS_AT_S ? 1.0 : 0.0;
        m->expected_c[i] = EXPECTED_C;
        m->gas_c[i] = EXPECTED_C + (hot && pulls ? c->hot_c : 0.0);
    }
    if (c->missing_s > 0.0)
        m->rpm[(size_t)((FALLS_AT_S + c->missing_s) * RATE_HZ)] = NAN;
}

static const struct stop stops[] = {
    {"dies in a lean pull", 100, 40, 0, 1, 5, 12000, 4.0, 0, 0, 0, false, true},
    {"a reading missing", 100, 40, 0, 1, 5, 12000, 4.0, 0, 0, 1.0, false, true},
    {"not lean", 20, 40, 0, 1, 5, 12000, 4.0, 0, 0, 0, false, false},
    {"lean long before", 100, 60, 21, 1, 5, 12000, 4.0, 0, 0, 0, false, false},
    {"lean for a moment", 100, 40, 0, 1, 1.2, 12000, 4.0, 0, 0, 0, false,
     false},
    {"lean now and then", 100, 40, 0, 3, 5, 12000, 4.0, 0, 0, 0, false, false},
    {"stalls in a spin", 100, 40, 0, 1, 5, 12000, 1.0, 0, 0, 0, false, false},
    {"rolls out", 100, 40, 0, 1, 5, 12000, 12.0, 0, 0, 0, false, false},
    {"idles first", 100, 40, 0, 1, 5, 12000, 6.0, 2.0, 0, 0, false, false},
    {"idles, one missing", 100, 40, 0, 1, 5, 12000, 6.0, 1.4, 0, 5.3, false,
     false},
    {"comes in slowly", 100, 40, 0, 1, 5, 5000, 4.0, 0, 0, 0, false, false},
    {"works again", 100, 40, 0, 1, 5, 13000, 6.5, 0, 1.0, 0, false, false},
    {"runs on", 100, 40, 0, 1, 5, 12000, 4.0, 0, 0, 0, true, false},
};

static void test_seizure_stop__dies_after_lean_pulls(void **state)
{
    (void)state;
    static struct made made;
    for (size_t k = 0; k < sizeof stops / sizeof stops[0]; k++) {
        const struct stop *c = &stops[k];
        make(c, &made);
        struct kw_session session = {.n_samples = N,
                                     .rate_hz = RATE_HZ,
                                     .time_s = made.time_s,
                                     .rpm = made.rpm,
                                     .gas_c = made.gas_c};
        const size_t stood =
            c->runs_on ? N : (size_t)((FALLS_AT_S + c->fell_s) * RATE_HZ + 0.5);
        struct kw_span span = {0, stood};
        const struct kw_running running = {.spans = {&span, 1, 1}};
        const struct kw_scene scene = {.session = &session,
                                       .running = &running,
                                       .load = made.load,
                                       .expected_c = made.expected_c};
        struct kw_hot_stop out;
        assert_int_equal(kw_find_hot_stop(&scene, TOP_RPM, &out, NULL), KW_OK);
        check_true(c->label, (out.span.to > 0) == c->told);
        if (!c->told)
            continue;
        check_near(c->label, made.time_s[out.span.from], FALLS_AT_S, 0.3);
        check_near(c->label, out.excess_c, 100.0, 1e-9);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_seizure_stop__dies_after_lean_pulls),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
