/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The comparison as a whole: gas, laps, measures, curves, what differs, words.
 *
 * Everything is worked out for both sides alike and with the same widths and
 * lags, so that what differs in the end was on the kart and not in the
 * arithmetic. */
#include "kartwright/compare.h"

#include "compare/advise.h"
#include "compare/alike.h"
#include "compare/course.h"
#include "compare/lap_choice.h"
#include "compare/measures.h"
#include "compare/resolution.h"
#include "compare/shared_gas.h"
#include "core/array.h"
#include "core/robust.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* Engines that stop below this get narrower bands: they have fewer RPM. */
static const double QUICK_ENGINE_RPM = 8000.0;
static const double WIDE_BAND_RPM = 1000.0;
static const double NARROW_BAND_RPM = 500.0;

/* Under load RPM climbs by 1 % of the engine's top each second or faster, seen
 * over a window that holds some readings of the slower logger: 150 rpm/s for an
 * engine of 15,000, which the end of a straight still gives (common practice,
 * no source). */
static const double LEAST_GAIN = 0.01;
static const double GAIN_WINDOW_S = 0.6;
static const double GAIN_WINDOW_STEPS = 3.0;

/* An engine that stays below this share of its top was never driven: it idles
 * and is blipped at some 2,000 to 4,000 RPM of 13,000 (common practice, no
 * source). */
static const double DRIVEN_SHARE = 0.33;

/* A heat curve needs so many laps at one RPM, each so long. */
enum { FEWEST_LAPS = 3 };
static const double SECONDS_IN_STEP = 0.3;

/* What is needed on the way. */
struct work {
    const struct kw_compare_sessions *sessions[KW_N_SIDES];
    struct kw_lap_table tables[KW_N_SIDES];
    struct kw_shared_gas gas;
    struct kw_figure_options figures;
};

/* ---- settings ------------------------------------------------------------ */

/* The owner's word, else the highest reading of the middle lap. */
static double engine_top_rpm(const struct work *work,
                             const struct kw_profile *profile)
{
    double top = NAN;
    if (profile != NULL && !isnan(profile->max_rpm))
        return profile->max_rpm;
    for (int side = 0; side < KW_N_SIDES; side++) {
        for (size_t log = 0; log < work->sessions[side]->n; log++) {
            const struct kw_laps *laps =
                &work->sessions[side]->reviews[log].laps;
            for (size_t i = 0; i < laps->n; i++)
                top = fmax(top, laps->items[i].rpm_max);
        }
    }
    return top;
}

/* Widths and windows hang on the coarser side: what only the finer one could
 * see would show as a difference of the two. */
static void settle(struct work *work, const struct kw_profile *profile)
{
    const double top_rpm = engine_top_rpm(work, profile);
    work->figures = (struct kw_figure_options){
        .width_rpm =
            top_rpm < QUICK_ENGINE_RPM ? NARROW_BAND_RPM : WIDE_BAND_RPM,
        .least_gain_rpm_s = LEAST_GAIN * top_rpm,
        .driven_rpm = DRIVEN_SHARE * top_rpm,
        .limit_c = profile != NULL ? profile->egt_limit_c : NAN,
        .has_egt = true};
    for (int side = 0; side < KW_N_SIDES; side++) {
        bool has_egt = false;
        for (size_t log = 0; log < work->sessions[side]->n; log++) {
            const struct kw_session *session =
                &work->sessions[side]->reviews[log].session;
            has_egt = has_egt || session->egt_c != NULL;
            work->figures.step_s =
                fmax(work->figures.step_s, 1.0 / session->rate_hz);
        }
        work->figures.has_egt = work->figures.has_egt && has_egt;
    }
    work->figures.window_s =
        fmax(GAIN_WINDOW_S, GAIN_WINDOW_STEPS * work->figures.step_s);
}

/* ---- sides --------------------------------------------------------------- */

/* Mean over laps of the gas at each step of RPM, and how laps scatter. */
static void draw_heat(const struct kw_lap_table *table,
                      struct kw_compare_side *side)
{
    for (size_t step = 0; step < KW_MOST_HEAT_STEPS; step++) {
        double n = 0.0;
        double sum = 0.0;
        double sum_squares = 0.0;
        for (size_t i = 0; i < table->n; i++) {
            const struct kw_lap_figures *row = &table->rows[i];
            if (row->lap.use != KW_LAP_USED ||
                row->fine_s[step] < SECONDS_IN_STEP)
                continue;
            const double gas_c = row->fine_heat_c_s[step] / row->fine_s[step];
            n += 1.0;
            sum += gas_c;
            sum_squares += gas_c * gas_c;
        }
        const bool enough = n >= FEWEST_LAPS;
        const double mean_c = enough ? sum / n : NAN;
        const double variance =
            enough ? fmax(sum_squares - sum * mean_c, 0.0) / (n - 1.0) : NAN;
        side->heat_c[step] = mean_c;
        side->heat_low_c[step] = mean_c - 2.0 * sqrt(variance);
        side->heat_high_c[step] = mean_c + 2.0 * sqrt(variance);
    }
}

/* What the page shows of a side, laps that were left out too. */
static enum kw_status make_side(const struct work *work,
                                int which,
                                struct kw_compare_side *side,
                                struct kw_error *error)
{
    const struct kw_compare_sessions *sessions = work->sessions[which];
    const struct kw_lap_table *table = &work->tables[which];
    side->laps = kw_array_new(table->n, sizeof *side->laps, error);
    if (side->laps == NULL)
        return KW_NO_MEMORY;
    side->n_laps = table->n;
    for (size_t i = 0; i < table->n; i++)
        side->laps[i] = table->rows[i].lap;
    side->n_used = kw_count_used(table);
    side->n_left_out = side->n_laps - side->n_used;
    side->air_density_kg_m3 =
        sessions->air != NULL ? kw_air_density_kg_m3(sessions->air) : NAN;
    draw_heat(table, side);
    return kw_draw_course(sessions, side, error);
}

/* ---- the whole ----------------------------------------------------------- */

/* In this order: what the loggers can resolve decides the widths, and one lag
 * for both sides comes before the figures of the laps. */
static enum kw_status measure(struct work *work,
                              struct kw_comparison *out,
                              struct kw_error *error)
{
    struct kw_measure_source source = {
        .sessions = {work->sessions[KW_BEFORE], work->sessions[KW_AFTER]},
        .tables = {&work->tables[KW_BEFORE], &work->tables[KW_AFTER]},
        .width_rpm = work->figures.width_rpm};
    enum kw_status status = kw_find_resolution(&source, error);
    work->figures.smooths = source.other_logger;
    if (status == KW_OK)
        status = kw_share_gas(work->sessions, &work->gas, error);
    for (int side = 0; side < KW_N_SIDES && status == KW_OK; side++) {
        status = kw_measure_side(work->sessions[side],
                                 (const double *const *)work->gas.gas[side],
                                 &work->figures, &work->tables[side], error);
        if (status == KW_OK)
            status = make_side(work, side, &out->sides[side], error);
    }
    if (status == KW_OK)
        status = kw_find_measures(&source, &out->measures, error);
    return status;
}

/* The same sensor before and after is what EGT rests on. With two that follow
 * the gas at different speeds the numbers stay, the verdicts go. */
static void withhold_heat(struct kw_measures *measures)
{
    for (size_t i = 0; i < measures->n; i++) {
        struct kw_measure *measure = &measures->items[i];
        if (strncmp(measure->name, "egt_", 4) == 0 &&
            measure->verdict != KW_TOO_FEW_LAPS)
            measure->verdict = KW_NO_CLEAR_CHANGE;
    }
}

/* Last, since it says what the numbers are worth. */
static enum kw_status conclude(const struct work *work,
                               struct kw_comparison *out,
                               struct kw_error *error)
{
    struct kw_differences found = {0};
    const struct kw_alike_source source = {
        .sessions = {work->sessions[KW_BEFORE], work->sessions[KW_AFTER]},
        .tables = {&work->tables[KW_BEFORE], &work->tables[KW_AFTER]},
        .gas = &work->gas,
        .driven_rpm = work->figures.driven_rpm,
        .course_fit =
            kw_turn_course(&out->sides[KW_BEFORE], &out->sides[KW_AFTER])};
    enum kw_status status =
        kw_find_differences(&source, &found, &out->not_alike, error);
    if (work->gas.apart)
        withhold_heat(&out->measures);
    if (status == KW_OK)
        status = kw_advise_change(out, &found, error);
    return status;
}

/* Measures first, then what they mean: what is wrong with the comparison is
 * told with the same numbers. */
enum kw_status kw_compare(const struct kw_compare_sessions *before,
                          const struct kw_compare_sessions *after,
                          const struct kw_compare_options *options,
                          struct kw_comparison *out,
                          struct kw_error *error)
{
    struct work work = {.sessions = {before, after}};
    const struct kw_profile *profile =
        options != NULL ? options->profile : NULL;
    *out = (struct kw_comparison){0};
    settle(&work, profile);
    /* The plot is drawn in finer steps than the bands that are tested. */
    out->heat_step_rpm = work.figures.width_rpm / KW_FINE_STEPS;
    enum kw_status status = measure(&work, out, error);
    if (status == KW_OK)
        status = conclude(&work, out, error);
    for (int side = 0; side < KW_N_SIDES; side++)
        kw_lap_table_free(&work.tables[side]);
    kw_shared_gas_free(&work.gas);
    if (status != KW_OK)
        kw_comparison_free(out);
    return status;
}

void kw_comparison_free(struct kw_comparison *comparison)
{
    for (int side = 0; side < KW_N_SIDES; side++)
        free(comparison->sides[side].laps);
    kw_measures_free(&comparison->measures);
    kw_notices_free(&comparison->not_alike);
    free(comparison->summary);
    free(comparison->suggestion);
    *comparison = (struct kw_comparison){0};
}

/* ---- looking things up --------------------------------------------------- */

const char *kw_change_name(enum kw_change change)
{
    static const char *const names[] = {[KW_NO_CLEAR_CHANGE] =
                                            "no_clear_change",
                                        [KW_ROSE] = "rose",
                                        [KW_FELL] = "fell",
                                        [KW_TOO_FEW_LAPS] = "too_few_laps"};
    const size_t n = sizeof names / sizeof names[0];
    return (size_t)change < n ? names[change] : "";
}

/* Bands share a name and are told apart by the RPM that they hold; a measure of
 * the whole lap has none. */
const struct kw_measure *kw_measure_named(const struct kw_comparison *from,
                                          const char *name,
                                          double rpm)
{
    for (size_t i = 0; i < from->measures.n; i++) {
        const struct kw_measure *measure = &from->measures.items[i];
        const bool in_band =
            isnan(rpm) ? isnan(measure->rpm_from)
                       : rpm >= measure->rpm_from && rpm < measure->rpm_to;
        if (in_band && strcmp(measure->name, name) == 0)
            return measure;
    }
    return NULL;
}
