/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "sim/sim_label.h"
#include "sim/sim_trace.h"
#include "support/check.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* A whole drive of one seed, with its labels. */
struct drive {
    struct sim_session session;
    struct sim_trace trace;
    struct sim_rows rows;
    struct sim_labels *labels;
};

static struct drive drive_of(const struct sim_session *session)
{
    struct drive drive = {.session = *session};
    drive.trace = sim_run(&drive.session);
    drive.rows = sim_measure(&drive.session, &drive.trace);
    drive.labels = sim_allocate(1, sizeof *drive.labels);
    sim_label(&drive.session, &drive.trace, &drive.rows, drive.labels);
    return drive;
}

static void end_drive(struct drive *drive)
{
    free(drive->labels);
    sim_rows_free(&drive->rows);
    sim_trace_free(&drive->trace);
    sim_session_free(&drive->session);
}

/* A session on a track from the pits and back, with `fault` only; a short one,
 * to keep the tests quick. */
static struct sim_session session_with(const struct sim_fault *fault)
{
    struct sim_session session;
    unsigned long seed = 500;
    sim_draw(&session, seed, SIM_DEVELOP);
    while (session.plan.place != SIM_ON_TRACK || session.plan.rolling_start ||
           session.plan.ends_on_track || session.engine.four_stroke ||
           session.group[0] == 'l') {
        sim_session_free(&session);
        sim_draw(&session, ++seed, SIM_DEVELOP);
    }
    session.plan.n_events = 0;
    session.plan.n_faults = 0;
    session.plan.whole_session = NULL;
    session.plan.laps = 4;
    session.plan.drive_m = 4.0 * session.track.length_m;
    if (fault != NULL)
        session.plan.fault[session.plan.n_faults++] = *fault;
    return session;
}

/* Nothing that a real kart cannot do may be in a log that detectors are judged
 * by: forces within the grip, RPM within the engine, no way backwards. */
static void test_sim_run__stays_within_what_a_kart_can_do(void **state)
{
    (void)state;
    for (unsigned long seed = 900; seed < 906; seed++) {
        struct sim_session session;
        sim_draw(&session, seed, SIM_SCORE);
        struct drive drive = drive_of(&session);
        const struct sim_trace *trace = &drive.trace;
        const double grip_m_s2 = session.kart.grip * 9.80665;
        for (size_t i = 1; i < trace->n; i++) {
            check_true("forward",
                       trace->distance_m[i] >= trace->distance_m[i - 1]);
            check_true("rpm",
                       trace->engine_rpm[i] < 1.3 * session.engine.max_rpm);
            check_true("acceleration",
                       fabs(trace->accel_m_s2[i]) < grip_m_s2 + 8.0);
            check_true("side", fabs(trace->lateral_m_s2[i]) < 1.35 * grip_m_s2);
            check_true("egt",
                       trace->probe_c[i] > -40.0 && trace->probe_c[i] < 1100.0);
        }
        end_drive(&drive);
    }
}

/* The distance that the labels hold is the speed that the log shows. */
static void test_sim_run__distance_is_speed_over_time(void **state)
{
    (void)state;
    const struct sim_session session = session_with(NULL);
    struct drive drive = drive_of(&session);
    double metres = 0.0;
    for (size_t i = 0; i < drive.trace.n; i++)
        metres += drive.trace.step_s * drive.trace.speed_m_s[i];
    check_near("metres", metres, session.plan.drive_m, 3.0);
    end_drive(&drive);
}

/* A seed must give the same log wherever it is run. */
static void test_sim_run__same_seed_gives_same_rows(void **state)
{
    (void)state;
    struct sim_session first, second;
    sim_draw(&first, 901, SIM_SCORE);
    sim_draw(&second, 901, SIM_SCORE);
    struct drive a = drive_of(&first), b = drive_of(&second);
    check_true("rows", a.rows.n == b.rows.n && a.rows.n > 100);
    check_true("rpm", memcmp(a.rows.value[SIM_RPM], b.rows.value[SIM_RPM],
                             a.rows.n * sizeof(double)) == 0);
    check_true("labels", a.labels->n_laps == b.labels->n_laps);
    end_drive(&a);
    end_drive(&b);
}

/* Four laps from the pits to the pits are an out lap, three flying laps and an
 * in lap, each as long as the track. */
static void test_sim_run__laps_are_passings_of_the_line(void **state)
{
    (void)state;
    const struct sim_session session = session_with(NULL);
    struct drive drive = drive_of(&session);
    const struct sim_labels *labels = drive.labels;
    check_true("laps", labels->n_laps == 5);
    check_true("out", strcmp(labels->lap[0].kind, "out") == 0);
    check_true("in", strcmp(labels->lap[4].kind, "in") == 0);
    for (size_t i = 1; i < 4; i++) {
        const struct sim_lap *lap = &labels->lap[i];
        const double metres =
            sim_trace_at(&drive.trace, drive.trace.distance_m, lap->end_s) -
            sim_trace_at(&drive.trace, drive.trace.distance_m, lap->start_s);
        check_near("a lap", metres, session.track.length_m, 1e-6);
    }
    end_drive(&drive);
}

/* A healthy drive has no fault in its labels, and one clutch engagement. */
static void test_sim_run__healthy_drive_has_no_fault_labels(void **state)
{
    (void)state;
    const struct sim_session session = session_with(NULL);
    struct drive drive = drive_of(&session);
    check_true("lean", drive.labels->n_lean == 0);
    check_true("drop-outs", drive.labels->n_dropouts == 0);
    check_true("others", drive.labels->n_others == 0);
    check_true("one start", drive.labels->n_clutch == 1);
    const struct sim_clutch *clutch = &drive.labels->clutch[0];
    const double axle =
        sim_trace_at(&drive.trace, drive.trace.axle_rpm, clutch->locked_s);
    const double engine =
        sim_trace_at(&drive.trace, drive.trace.engine_rpm, clutch->locked_s);
    check_true("locked under 3 % slip", (engine - axle) / engine < 0.031);
    check_true("starts near engagement",
               fabs(clutch->start_rpm / session.kart.clutch_rpm - 1.0) < 0.08);
    end_drive(&drive);
}

/* A mixture fault is hot where and when it is labelled, and nowhere else. */
static void test_sim_run__lean_label_covers_the_hot_stretch(void **state)
{
    (void)state;
    const struct sim_session session =
        session_with(&(struct sim_fault){.kind = SIM_LEAN,
                                         .start_s = 70.0,
                                         .end_s = 100.0,
                                         .ramp_s = 0.2,
                                         .strength = 8.0});
    struct drive drive = drive_of(&session);
    check_true("labelled", drive.labels->n_lean > 0);
    for (size_t i = 0; i < drive.labels->n_lean; i++) {
        const struct sim_lean *lean = &drive.labels->lean[i];
        check_near("strength", lean->strength_percent, 8.0, 0.5);
        check_true("inside", lean->start_s >= 70.0 && lean->end_s <= 100.3);
    }
    double before_c = 0.0, hottest_c = 0.0;
    for (size_t i = 0; i < drive.trace.n; i++) {
        const double excess_c =
            drive.trace.probe_c[i] - drive.trace.healthy_c[i];
        if (drive.trace.step_s * (double)i < 69.0)
            before_c = fmax(before_c, fabs(excess_c));
        hottest_c = fmax(hottest_c, excess_c);
    }
    check_near("sound before", before_c, 0.0, 1e-9);
    check_true("hot inside", hottest_c > 3.0 * session.exhaust.lean_c_percent);
    end_drive(&drive);
}

/* A pinched line: the pull is lost, the exhaust gets hotter as it sags, and the
 * drop-out ends with the lift. */
static void test_sim_run__starved_pull_sags_hot_until_the_lift(void **state)
{
    (void)state;
    struct sim_session session =
        session_with(&(struct sim_fault){.kind = SIM_RESTRICTION,
                                         .start_s = -1e4,
                                         .end_s = 1e6,
                                         .strength = 0.65});
    session.plan.fuel_store_s = 0.8;
    struct drive drive = drive_of(&session);
    check_true("labelled", drive.labels->n_dropouts > 0);
    const struct sim_dropout *sag = &drive.labels->dropout[0];
    check_true("cause", strcmp(sag->cause, "fuel_restriction") == 0);
    check_true("deep", sag->depth_rpm > 0.0);
    const double rise_c =
        sim_trace_at(&drive.trace, drive.trace.probe_c, sag->end_s) -
        sim_trace_at(&drive.trace, drive.trace.healthy_c, sag->end_s);
    check_true("hotter than sound", rise_c > 5.0);
    check_true("until the lift", sim_trace_at(&drive.trace, drive.trace.load,
                                              sag->end_s + 0.1) < 0.9);
    end_drive(&drive);
}

/* A lead that loses contact changes the reading, not the engine. */
static void test_sim_run__lost_signal_leaves_the_engine_alone(void **state)
{
    (void)state;
    struct sim_session session = session_with(&(struct sim_fault){
        .kind = SIM_LOOSE, .start_s = 80.0, .end_s = 80.8, .signal = SIM_ZERO});
    session.logger.rate_hz = 20.0;
    session.logger.rpm_update_hz = 30.0;
    struct drive drive = drive_of(&session);
    check_true("one label", drive.labels->n_dropouts == 1);
    check_true("to be found", drive.labels->dropout[0].scorable);
    size_t zeros = 0;
    for (size_t k = 0; k < drive.rows.n; k++)
        if (drive.rows.true_s[k] >= 80.0 && drive.rows.true_s[k] < 80.8) {
            check_near("reads zero", drive.rows.value[SIM_RPM][k], 0.0, 0.0);
            zeros++;
        }
    check_true("rows", zeros >= 10);
    check_true("still turns", sim_trace_at(&drive.trace, drive.trace.engine_rpm,
                                           80.4) > session.engine.idle_rpm);
    end_drive(&drive);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_sim_run__stays_within_what_a_kart_can_do),
        cmocka_unit_test(test_sim_run__distance_is_speed_over_time),
        cmocka_unit_test(test_sim_run__same_seed_gives_same_rows),
        cmocka_unit_test(test_sim_run__laps_are_passings_of_the_line),
        cmocka_unit_test(test_sim_run__healthy_drive_has_no_fault_labels),
        cmocka_unit_test(test_sim_run__lean_label_covers_the_hot_stretch),
        cmocka_unit_test(test_sim_run__starved_pull_sags_hot_until_the_lift),
        cmocka_unit_test(test_sim_run__lost_signal_leaves_the_engine_alone),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
