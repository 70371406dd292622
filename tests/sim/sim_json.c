/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Label files by jansson, profiles as INI; see sim_json.h and README.md. */
#include "sim_json.h"

#include "sim_trace.h"

#include <math.h>
#include <stdlib.h>

#include <jansson.h>

static const double PROGRESS_HZ = 10.0;
/* The owner's limit stands this far above what a sound engine shows. */
static const double LIMIT_MARGIN_C = 25.0;

/* Four decimals: a tenth of a millisecond, and files that stay small. */
static json_t *number(double value)
{
    return json_real(round(value * 1e4) / 1e4);
}

/* jansson fails without memory alone here. */
static void must(int status)
{
    if (status == 0)
        return;
    fprintf(stderr, "kartwright-sim: out of memory\n");
    exit(EXIT_FAILURE);
}

static void set(json_t *object, const char *key, json_t *value)
{
    must(json_object_set_new(object, key, value));
}

static void append(json_t *array, json_t *value)
{
    must(json_array_append_new(array, value));
}

static json_t *span(double start_s, double end_s)
{
    json_t *object = json_object();
    set(object, "start_s", number(start_s));
    set(object, "end_s", number(end_s));
    return object;
}

static json_t *laps(const struct sim_labels *labels)
{
    json_t *array = json_array();
    for (size_t i = 0; i < labels->n_laps; i++) {
        json_t *lap = span(labels->lap[i].start_s, labels->lap[i].end_s);
        set(lap, "kind", json_string(labels->lap[i].kind));
        append(array, lap);
    }
    return array;
}

static json_t *lean(const struct sim_labels *labels)
{
    json_t *array = json_array();
    for (size_t i = 0; i < labels->n_lean; i++) {
        const struct sim_lean *label = &labels->lean[i];
        json_t *episode = span(label->start_s, label->end_s);
        set(episode, "strength_percent", number(label->strength_percent));
        set(episode, "fault_s", number(label->fault_s));
        set(episode, "region", json_string(label->region));
        set(episode, "scorable", json_boolean(label->scorable));
        append(array, episode);
    }
    return array;
}

static json_t *clutch(const struct sim_labels *labels)
{
    json_t *array = json_array();
    for (size_t i = 0; i < labels->n_clutch; i++) {
        const struct sim_clutch *label = &labels->clutch[i];
        json_t *start = json_object();
        set(start, "start_s", number(label->start_s));
        set(start, "locked_s", number(label->locked_s));
        set(start, "start_rpm", number(label->start_rpm));
        set(start, "hold_rpm", number(label->hold_rpm));
        set(start, "slip_energy_kj", number(label->slip_energy_kj));
        set(start, "scorable", json_boolean(label->scorable));
        append(array, start);
    }
    return array;
}

static json_t *dropouts(const struct sim_labels *labels)
{
    json_t *array = json_array();
    for (size_t i = 0; i < labels->n_dropouts; i++) {
        const struct sim_dropout *label = &labels->dropout[i];
        json_t *dropout = span(label->start_s, label->end_s);
        set(dropout, "cause", json_string(label->cause));
        set(dropout, "spark_cut", json_boolean(label->spark_cut));
        set(dropout, "depth_rpm", number(label->depth_rpm));
        set(dropout, "scorable", json_boolean(label->scorable));
        append(array, dropout);
    }
    return array;
}

static json_t *others(const struct sim_labels *labels)
{
    json_t *array = json_array();
    for (size_t i = 0; i < labels->n_others; i++) {
        const struct sim_other *label = &labels->other[i];
        json_t *other = span(label->start_s, label->end_s);
        set(other, "kind", json_string(label->kind));
        set(other, "strength", number(label->strength));
        set(other, "scorable", json_boolean(label->scorable));
        append(array, other);
    }
    return array;
}

/* Where the kart truly was, for judging lap boundaries at any place. */
static json_t *progress(const struct sim_product *product)
{
    json_t *array = json_array();
    const struct sim_trace *trace = product->trace;
    if (product->session->plan.place != SIM_ON_TRACK)
        return array;
    const double last_s = trace->step_s * (double)(trace->n - 1);
    for (size_t k = 0; (double)k / PROGRESS_HZ <= last_s; k++) {
        const double s = (double)k / PROGRESS_HZ;
        const double m = sim_trace_at(trace, trace->distance_m, s);
        json_t *pair = json_array();
        append(pair, json_real(round(s * 1e3) / 1e3));
        append(pair, json_real(round(m * 1e3) / 1e3));
        append(array, pair);
    }
    return array;
}

static const char *best_channel(const struct sim_logger *logger)
{
    if (logger->has_lap || logger->has_marker)
        return "column";
    if (logger->has_position)
        return "position";
    return logger->has_speed || logger->has_axle ? "speed" : "rpm_egt";
}

static json_t *arguments(const struct sim_product *product)
{
    json_t *array = json_array();
    if (product->dialect->time_form != SIM_NO_TIME ||
        product->dialect->rate_in_notes)
        return array;
    char rate[32];
    snprintf(rate, sizeof rate, "%.10g", product->session->logger.rate_hz);
    append(array, json_string("--rate"));
    append(array, json_string(rate));
    return array;
}

static bool is_healthy(const struct sim_plan *plan)
{
    for (size_t i = 0; i < plan->n_faults; i++)
        if (plan->fault[i].kind != SIM_GLITCH)
            return false;
    return true;
}

static json_t *file_name(const struct sim_product *product, const char *ending)
{
    return json_sprintf("%s%s", product->stem, ending);
}

static void set_head(json_t *root, const struct sim_product *product)
{
    static const char *const SET[] = {"develop", "choose", "score"};
    const struct sim_session *session = product->session;
    set(root, "csv", file_name(product, ".csv"));
    set(root, "seed", json_integer((json_int_t)session->seed));
    set(root, "set", json_string(SET[session->set]));
    set(root, "group", json_string(session->group));
    set(root, "rate_hz", number(session->logger.rate_hz));
    set(root, "channels", json_string(best_channel(&session->logger)));
    set(root, "args", arguments(product));
    set(root, "profile",
        session->logger.has_profile ? file_name(product, ".ini") : json_null());
    set(root, "healthy", json_boolean(is_healthy(&session->plan)));
    json_t *running = json_object();
    set(running, "seconds", number(product->labels->running_s));
    set(running, "starts", json_integer(product->labels->starts));
    set(root, "running", running);
}

/* What shapes the difficulty, for grouping results. */
static json_t *conditions(const struct sim_session *session)
{
    json_t *object = json_object();
    set(object, "probe_s", number(session->exhaust.probe_s));
    set(object, "egt_noise_c", number(session->logger.egt_noise_c));
    set(object, "egt_step_c", number(session->logger.egt_step_c));
    set(object, "rpm_step", number(session->logger.rpm_step));
    set(object, "rpm_update_hz", number(session->logger.rpm_update_hz));
    set(object, "gps_hz", number(session->logger.gps_hz));
    set(object, "gps_noise_m", number(session->logger.gps_noise_m));
    set(object, "gps_drift_m", number(session->logger.gps_drift_m));
    set(object, "lap_scatter", number(session->driver.lap_scatter));
    set(object, "clutch_rpm", number(session->kart.clutch_rpm));
    set(object, "lean_c_percent", number(session->exhaust.lean_c_percent));
    return object;
}

void sim_labels_write(const struct sim_product *product, const char *path)
{
    const struct sim_session *session = product->session;
    const struct sim_labels *labels = product->labels;
    json_t *root = json_object();
    set_head(root, product);
    set(root, "laps", laps(labels));
    set(root, "line_known", json_boolean(session->logger.line_known));
    set(root, "track_m",
        session->plan.place == SIM_ON_TRACK ? number(session->track.length_m)
                                            : json_null());
    set(root, "lean_episodes", lean(labels));
    set(root, "clutch_engagements", clutch(labels));
    set(root, "dropouts", dropouts(labels));
    set(root, "other_faults", others(labels));
    set(root, "whole_session",
        session->plan.whole_session != NULL
            ? json_string(session->plan.whole_session)
            : json_null());
    set(root, "conditions", conditions(session));
    set(root, "progress", progress(product));
    FILE *file = sim_open(path);
    must(json_dumpf(root, file, JSON_INDENT(1) | JSON_REAL_PRECISION(10)));
    fputc('\n', file);
    sim_close(file, path);
    json_decref(root);
}

/* The start line: square to the track at place 0, short of the pit lane. */
static void put_line(FILE *file, const struct sim_session *session)
{
    const struct sim_track *track = &session->track;
    fputs("\n[line]\n", file);
    for (int side = 0; side < 2; side++) {
        double x_m = 0.0, y_m = 0.0, latitude = 0.0, longitude = 0.0;
        sim_track_point(track, 0.0, side == 0 ? 8.0 : -8.0, &x_m, &y_m);
        sim_degrees(&session->logger, x_m, y_m, &latitude, &longitude);
        fprintf(file, "%c = %.7f, %.7f\n", 'a' + side, latitude, longitude);
    }
}

void sim_profile_write(const struct sim_product *product, const char *path)
{
    const struct sim_session *session = product->session;
    const struct sim_trace *trace = product->trace;
    const struct sim_kart *kart = &session->kart;
    const struct sim_engine *engine = &session->engine;
    double hottest_c = 0.0;
    for (size_t i = 0; i < trace->n; i++)
        hottest_c = fmax(hottest_c, trace->healthy_c[i]);
    FILE *file = sim_open(path);
    fprintf(file,
            "; invented for a simulated log\n[kart]\nname = Simulated %lu\n"
            "engine_teeth = %d\naxle_teeth = %d\n",
            session->seed, kart->engine_teeth, kart->axle_teeth);
    if (session->logger.profile_full)
        fprintf(file,
                "mass_kg = %.0f\ntyre_circumference_mm = %.0f\n\n[engine]\n"
                "idle_rpm = %.0f\nmax_rpm = %.0f\nclutch_rpm = %.0f\n",
                kart->mass_kg, 1000.0 * kart->tyre_m, engine->idle_rpm,
                1.01 * engine->max_rpm, kart->clutch_rpm);
    else
        fputs("\n[engine]\n", file);
    fprintf(file, "egt_limit_c = %.0f\n",
            hottest_c + LIMIT_MARGIN_C + 3.0 * session->logger.egt_noise_c);
    if (session->logger.line_known && session->logger.has_position)
        put_line(file, session);
    sim_close(file, path);
}
