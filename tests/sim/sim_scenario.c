/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Named sessions, see sim_scenario.h. The seed chooses track, kart and driver;
 * the row of the table chooses the story. */
#include "sim_scenario.h"

#include "sim_draw.h"

#include <math.h>
#include <string.h>

/* What to expect of a log, beside its fault. */
struct scenario {
    const char *name;
    const char *story;
    bool four_stroke;
    double rate_hz;
    bool position, speed, profile;
    size_t language;
    char separator, decimal;
    enum sim_time_form time_form;
};

static const struct scenario SCENARIO[] = {
    {"healthy", "nothing wrong", false, 20, false, true, true, 0, ',', '.',
     SIM_SECONDS},
    {"lean_top", "lean at the top end for some laps", false, 20, false, false,
     true, 0, ';', '.', SIM_SECONDS},
    {"fuel_restriction", "a fuel filter that clogs", false, 25, false, true,
     false, 1, ';', ',', SIM_CLOCK},
    {"loose_connection", "a lead that loses contact", false, 50, false, false,
     false, 4, ';', ',', SIM_MILLISECONDS},
    {"worn_clutch", "a glazed clutch", false, 20, false, true, true, 2, ';',
     ',', SIM_SECONDS},
    {"before", "before a jet change: a little lean", false, 20, false, true,
     true, 0, ',', '.', SIM_SECONDS},
    {"after", "after the jet change", false, 20, false, true, true, 0, ',', '.',
     SIM_SECONDS},
    {"position", "with position, healthy", false, 10, true, true, true, 3, '\t',
     '.', SIM_ISO_8601},
    {"rpm_egt_only", "time, RPM and EGT, healthy", false, 10, false, false,
     false, 5, ';', ',', SIM_SECONDS},
    {"rental", "a four-stroke rental kart, healthy", true, 10, false, false,
     false, 0, ',', '.', SIM_SECONDS},
    {"air_leak", "an idle that hangs", false, 20, false, false, false, 0, ',',
     '.', SIM_SECONDS},
    {"seizure", "a piston that picks up", false, 20, false, true, false, 0, ',',
     '.', SIM_SECONDS},
    {"open_probe", "a probe that breaks", false, 20, false, true, false, 0, ',',
     '.', SIM_SECONDS}};

/* Draws of driver, engine and logger of the drive after a change. */
static const unsigned long SECOND_DRIVE = 7700000UL;

enum { N_SCENARIOS = sizeof SCENARIO / sizeof SCENARIO[0] };

static void set_logger(struct sim_logger *logger,
                       const struct scenario *scenario)
{
    *logger = (struct sim_logger){
        .rate_hz = scenario->rate_hz,
        .rpm_noise = 12.0,
        .rpm_step = 10.0,
        .rpm_update_hz = fmax(scenario->rate_hz, 30.0),
        .egt_noise_c = 0.8,
        .egt_step_c = 0.5,
        .egt_update_hz = 1000.0,
        .speed_noise_m_s = 0.08,
        .gps_hz = scenario->rate_hz,
        .gps_noise_m = 0.2,
        .gps_drift_m = 0.4,
        .stamp_step_s = 0.001,
        .has_speed = scenario->speed,
        .has_position = scenario->position,
        .has_water = true,
        .has_profile = scenario->profile,
        .profile_full = true,
        .line_known = scenario->position && scenario->profile,
        .latitude = 51.0,
        .longitude = 3.0};
}

static void add(struct sim_session *session, const struct sim_fault *fault)
{
    if (session->plan.n_faults < SIM_MAX_FAULTS)
        session->plan.fault[session->plan.n_faults++] = *fault;
}

static void add_contacts(struct sim_session *session,
                         struct sim_random *random,
                         const struct sim_guess *guess)
{
    for (int i = 0; i < 6; i++) {
        const double start_s =
            guess->from_s +
            guess->drive_s * (0.2 + 0.7 * sqrt(sim_between(random, 0, 1)));
        add(session, &(struct sim_fault){
                         .kind = SIM_LOOSE,
                         .start_s = start_s,
                         .end_s = start_s + sim_log_span(random, 0.12, 0.9),
                         .signal = i % 3 == 0 ? SIM_HALF : SIM_ZERO});
    }
}

static void tell_story(struct sim_session *session,
                       const char *name,
                       struct sim_random *random,
                       const struct sim_guess *guess)
{
    const double lap_s = guess->lap_s;
    const double middle_s = guess->from_s + 0.5 * guess->drive_s;
    if (strcmp(name, "lean_top") == 0)
        add(session, &(struct sim_fault){.kind = SIM_LEAN,
                                         .start_s = middle_s,
                                         .end_s = middle_s + 2.5 * lap_s,
                                         .ramp_s = 1.5,
                                         .strength = 10.0,
                                         .region = SIM_TOP});
    else if (strcmp(name, "fuel_restriction") == 0)
        add(session, &(struct sim_fault){.kind = SIM_RESTRICTION,
                                         .start_s = middle_s - 2.0 * lap_s,
                                         .end_s = 1e6,
                                         .ramp_s = 4.0 * lap_s,
                                         .strength = 0.45});
    else if (strcmp(name, "loose_connection") == 0)
        add_contacts(session, random, guess);
    else if (strcmp(name, "worn_clutch") == 0)
        add(session, &(struct sim_fault){.kind = SIM_WORN_CLUTCH,
                                         .start_s = -1.0,
                                         .end_s = 1e6,
                                         .strength = 0.6});
    else if (strcmp(name, "before") == 0)
        add(session, &(struct sim_fault){.kind = SIM_LEAN,
                                         .start_s = -10.0,
                                         .end_s = 1e6,
                                         .strength = 5.0});
    else if (strcmp(name, "air_leak") == 0)
        add(session, &(struct sim_fault){.kind = SIM_AIR_LEAK,
                                         .start_s = -10.0,
                                         .end_s = 1e6,
                                         .strength = 9.0});
    else if (strcmp(name, "seizure") == 0)
        add(session, &(struct sim_fault){.kind = SIM_SEIZURE,
                                         .start_s = middle_s,
                                         .end_s = 1e6,
                                         .ramp_s = 5.0,
                                         .strength = 11.0});
    else if (strcmp(name, "open_probe") == 0)
        add(session, &(struct sim_fault){.kind = SIM_OPEN_PROBE,
                                         .start_s = middle_s,
                                         .end_s = 1e6});
}

/* A shortish club session with a few benign events. */
static void set_plan(struct sim_session *session,
                     struct sim_random *random,
                     struct sim_guess *guess)
{
    session->plan = (struct sim_plan){.place = SIM_ON_TRACK};
    sim_draw_plan(session, random, guess);
    struct sim_plan *plan = &session->plan;
    plan->laps = 11;
    plan->drive_m = plan->laps * session->track.length_m;
    plan->rolling_start = false;
    plan->ends_on_track = false;
    plan->running_at_start = false;
    plan->idle_before_s = 12.0;
    plan->idle_after_s = 5.0;
    size_t kept = 0;
    for (size_t i = 0; i < plan->n_events; i++)
        if (plan->event[i].at_m < plan->pit_m + 10.5 * session->track.length_m)
            plan->event[kept++] = plan->event[i];
    plan->n_events = kept;
    guess->from_s = plan->idle_before_s + 5.0;
    guess->drive_s = plan->laps * guess->lap_s * 1.05;
}

bool sim_scenario_draw(const char *name,
                       unsigned long seed,
                       struct sim_session *session,
                       struct sim_dialect *dialect)
{
    size_t k = 0;
    while (k < N_SCENARIOS && strcmp(SCENARIO[k].name, name) != 0)
        k++;
    if (k == N_SCENARIOS)
        return false;
    const struct scenario *scenario = &SCENARIO[k];
    *session = (struct sim_session){
        .seed = seed,
        .set = SIM_DEVELOP,
        .group = scenario->four_stroke ? "four_stroke" : "two_stroke"};
    session->engine.four_stroke = scenario->four_stroke;
    struct sim_random random = sim_random_open(seed, 20, 0.0);
    session->track =
        sim_track_build(&random, sim_between(&random, 850.0, 1100.0));
    sim_draw_engine(session, &random);
    sim_draw_driver(session, &random);
    sim_draw_kart(session, &random);
    sim_draw_exhaust(session, &random);
    struct sim_guess guess = sim_guess_lap(session);
    set_plan(session, &random, &guess);
    sim_random_close(&random);
    /* Before and after are one kart on one track, driven twice. */
    if (strcmp(name, "after") == 0)
        session->seed = seed + SECOND_DRIVE;
    if (strcmp(name, "before") == 0)
        session->plan.whole_session = "lean";
    random = sim_random_open(seed, 21, 0.0);
    tell_story(session, name, &random, &guess);
    sim_random_close(&random);
    set_logger(&session->logger, scenario);
    *dialect = (struct sim_dialect){.language = scenario->language,
                                    .separator = scenario->separator,
                                    .decimal = scenario->decimal,
                                    .time_form = scenario->time_form,
                                    .units = SIM_UNITS_IN_HEADING,
                                    .crlf = scenario->language % 2 == 1,
                                    .clock_start_s = 50400.0,
                                    .notes_above = true};
    return true;
}

void sim_scenario_list(FILE *out)
{
    for (size_t i = 0; i < N_SCENARIOS; i++)
        fprintf(out, "%-18s %s\n", SCENARIO[i].name, SCENARIO[i].story);
}
