/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What the truth says of borderline cases. A label that must be found though no
 * log can show it makes a good detector look bad, and one that need not be
 * found hides a bad one. */
#include "sim/sim_label.h"
#include "sim/sim_trace.h"
#include "support/check.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

static const double STEP_S = 0.01;

/* ---- the clutch ---------------------------------------------------------- */

static const double TAKES_HOLD_RPM = 4000.0;
static const double HOLD_RPM = 4400.0;

/* Out of a slow corner: the axle comes down to a share of the RPM at which the
 * clutch takes hold and gathers speed again, while the engine is held. */
static struct sim_trace slow_corner(double lowest_share)
{
    struct sim_trace trace = sim_trace_open(STEP_S, 20.0);
    const double lowest_rpm = lowest_share * TAKES_HOLD_RPM;
    for (double s = 0.0; s < 6.0; s += STEP_S) {
        const double since_s = s - 3.0;
        const double axle_rpm = lowest_rpm + 1500.0 * fabs(since_s);
        const bool pulls = since_s > 0.0;
        sim_trace_add(&trace, &(struct sim_now){
                                  .axle_rpm = axle_rpm,
                                  .engine_rpm = pulls ? fmax(HOLD_RPM, axle_rpm)
                                                      : axle_rpm,
                                  .clutch_nm = pulls ? 5.0 : 0.0,
                                  .clutch_w = 100.0,
                                  .running = true});
    }
    return trace;
}

/* What a log shows of the axle. */
struct sight {
    bool has_profile;
    bool has_speed;
};

static void label_corner(double lowest_share,
                         const struct sight *sight,
                         struct sim_labels *labels)
{
    struct sim_session session = {0};
    session.kart.clutch_rpm = TAKES_HOLD_RPM;
    session.engine.torque_peak_nm = 20.0;
    session.logger.has_profile = sight->has_profile;
    session.logger.has_speed = sight->has_speed;
    struct sim_trace trace = slow_corner(lowest_share);
    memset(labels, 0, sizeof *labels);
    sim_label_clutch(&session, &trace, labels);
    sim_trace_free(&trace);
}

enum told { NO_LABEL, OPTIONAL, SCORABLE };

struct corner_case {
    const char *label;
    double lowest_share;
    struct sight sight;
    enum told told;
};

/* A start begins below three quarters of the RPM at which the clutch takes hold
 * (contract). With speed and profile a log shows that share to 0.04, without to
 * 0.12. */
static const struct corner_case corners[] = {
    {"a walk, well seen", 0.40, {true, true}, SCORABLE},
    {"a walk, by RPM alone", 0.40, {false, false}, SCORABLE},
    {"below by more than speed is off", 0.70, {true, true}, SCORABLE},
    {"below by less than that", 0.73, {true, true}, OPTIONAL},
    {"above by less than that", 0.77, {true, true}, OPTIONAL},
    {"above by more than that", 0.81, {true, true}, NO_LABEL},
    {"the same by RPM alone", 0.81, {false, false}, OPTIONAL},
    {"a profile without speed is RPM alone", 0.81, {true, false}, OPTIONAL},
    {"speed without a profile likewise", 0.70, {false, true}, OPTIONAL},
    {"far above for all", 0.90, {false, false}, NO_LABEL},
};

static void test_sim_label__start_near_a_walk_need_not_be_found(void **state)
{
    (void)state;
    struct sim_labels *labels = sim_allocate(1, sizeof *labels);
    for (size_t i = 0; i < sizeof corners / sizeof corners[0]; i++) {
        const struct corner_case *c = &corners[i];
        label_corner(c->lowest_share, &c->sight, labels);
        check_near(c->label, (double)labels->n_clutch,
                   c->told == NO_LABEL ? 0.0 : 1.0, 0.0);
        check_true(c->label,
                   c->told == NO_LABEL ||
                       labels->clutch[0].scorable == (c->told == SCORABLE));
    }
    free(labels);
}

/* ---- sags of a lean engine ----------------------------------------------- */

/* Half a minute of pulls, so many percent lean for the middle ten seconds. */
static struct sim_trace lean_drive(double percent)
{
    struct sim_trace trace = sim_trace_open(STEP_S, 60.0);
    for (double s = 0.0; s < 30.0; s += STEP_S)
        sim_trace_add(&trace,
                      &(struct sim_now){
                          .engine_rpm = 10000.0 + 3000.0 * sin(s),
                          .speed_m_s = 20.0,
                          .load = 1.0,
                          .lean_percent = s >= 10.0 && s < 20.0 ? percent : 0.0,
                          .running = true});
    return trace;
}

static void label_lean(double percent, struct sim_labels *labels)
{
    struct sim_session session = {0};
    session.plan.n_faults = 1;
    session.plan.fault[0] = (struct sim_fault){.kind = SIM_LEAN,
                                               .start_s = 10.0,
                                               .end_s = 20.0,
                                               .ramp_s = 0.1,
                                               .strength = percent};
    struct sim_trace trace = lean_drive(percent);
    memset(labels, 0, sizeof *labels);
    sim_label_lean(&session, &trace, labels);
    sim_trace_free(&trace);
}

/* Who says of it that it starves is not wrong; who says no more than that it is
 * lean has missed nothing. */
static void test_sim_label__engine_too_lean_to_pull_may_be_called_starved(
    void **state)
{
    (void)state;
    struct sim_labels *labels = sim_allocate(1, sizeof *labels);
    label_lean(16.0, labels);
    check_true("lean", labels->n_lean == 1 && labels->lean[0].scorable);
    check_true("a sag is excused", labels->n_dropouts == 1);
    const struct sim_dropout *sag = &labels->dropout[0];
    check_true("as hunger", strcmp(sag->cause, "fuel_restriction") == 0);
    check_true("need not be found", !sag->scorable);
    check_near("from", sag->start_s, labels->lean[0].start_s, 0.0);
    check_near("to", sag->end_s, labels->lean[0].end_s, 0.0);
    free(labels);
}

/* An engine that is a little lean pulls as well as ever. */
static void test_sim_label__engine_that_pulls_has_no_sag_excused(void **state)
{
    (void)state;
    struct sim_labels *labels = sim_allocate(1, sizeof *labels);
    label_lean(8.0, labels);
    check_true("lean", labels->n_lean == 1 && labels->lean[0].scorable);
    check_true("no sag", labels->n_dropouts == 0);
    free(labels);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_sim_label__start_near_a_walk_need_not_be_found),
        cmocka_unit_test(
            test_sim_label__engine_too_lean_to_pull_may_be_called_starved),
        cmocka_unit_test(test_sim_label__engine_that_pulls_has_no_sag_excused),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
