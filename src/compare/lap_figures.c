/* SPDX-License-Identifier: GPL-3.0-or-later */
/* One row of figures for each lap: a single pass over its samples.
 *
 * Times are weighted by the step to the next sample, so that a logger that
 * jitters or changes its rate gives the same means. */
#include "compare/lap_figures.h"

#include "compare/lap_choice.h"
#include "core/array.h"
#include "signal/slope.h"

#include <math.h>
#include <stdlib.h>

/* A step longer than this many usual ones is a gap: nothing happened in it that
 * can be counted. */
static const double GAP_STEPS = 2.5;

/* Turns are those of the whole lap when RPM is known for this share of it; what
 * is missing turned like the rest. */
static const double RPM_SHARE = 0.95;

/* One lap at work.
 *
 * rpm, peak_c  as read, or means over the window: see the options. peak_c is
 *          NULL without EGT.
 * usual_s  median step of the log.
 * seen_s   when the last reading was taken for the highest and lowest. */
struct pass {
    const struct kw_session *session;
    const double *gain_rpm_s;
    const double *rpm;
    const double *peak_c;
    const double *gas;
    const struct kw_figure_options *options;
    double usual_s;
    double seen_s;
};

/* ---- samples ------------------------------------------------------------- */

/* Highest and lowest of readings as far apart as the slower logger takes them.
 */
static void see_extremes(struct pass *pass,
                         size_t i,
                         struct kw_lap_figures *row)
{
    const struct kw_session *session = pass->session;
    /* Half a usual step of grace: stamps jitter. */
    if (session->time_s[i] - pass->seen_s <
        pass->options->step_s - 0.5 * pass->usual_s)
        return;
    pass->seen_s = session->time_s[i];
    /* fmax() and fmin() skip NAN. */
    row->rpm_max = fmax(row->rpm_max, pass->rpm[i]);
    row->rpm_min = fmin(row->rpm_min, pass->rpm[i]);
    if (pass->peak_c != NULL)
        row->egt_peak_c = fmax(row->egt_peak_c, pass->peak_c[i]);
}

/* What the gas was in the bands, and in the finer steps of the plot. */
static void add_heat(const struct pass *pass,
                     size_t i,
                     double step_s,
                     struct kw_lap_figures *row)
{
    const double gas_c = pass->gas == NULL ? NAN : pass->gas[i];
    const double rpm = pass->rpm[i];
    const double width_rpm = pass->options->width_rpm;
    if (isnan(gas_c) || !(rpm >= 0.0))
        return;
    const size_t band = (size_t)(rpm / width_rpm);
    const size_t fine = (size_t)(rpm / width_rpm * KW_FINE_STEPS);
    if (band < KW_MOST_BANDS) {
        row->band_s[band] += step_s;
        row->band_heat_c_s[band] += step_s * gas_c;
    }
    if (fine < KW_MOST_HEAT_STEPS) {
        row->fine_s[fine] += step_s;
        row->fine_heat_c_s[fine] += step_s * gas_c;
    }
}

/* NAN is not under load. */
static bool is_under_load(const struct pass *pass, size_t i)
{
    return pass->gain_rpm_s[i] >= pass->options->least_gain_rpm_s;
}

/* What RPM gained from this sample to the next, while both pull. The middle of
 * the two says which band: most steps cross no border. */
static void add_gain(const struct pass *pass,
                     size_t i,
                     double step_s,
                     struct kw_lap_figures *row)
{
    const double *rpm = pass->rpm;
    const double middle = 0.5 * (rpm[i] + rpm[i + 1]);
    if (!(middle >= 0.0) || !is_under_load(pass, i + 1))
        return;
    const size_t band = (size_t)(middle / pass->options->width_rpm);
    if (band >= KW_MOST_BANDS)
        return;
    row->gain_s[band] += step_s;
    row->gain_rpm[band] += rpm[i + 1] - rpm[i];
}

/* Turns of the lap from those while RPM was known. */
static double whole_turns(double turns, double known_s, double lap_s)
{
    return known_s >= RPM_SHARE * lap_s ? turns * lap_s / known_s : NAN;
}

/* Samples from..to of one lap; the last one has a step only if the log goes on.
 */
static void pass_over(struct pass *pass,
                      struct kw_span span,
                      struct kw_lap_figures *row)
{
    const struct kw_session *session = pass->session;
    double egt_s = 0.0;
    double egt_c_s = 0.0;
    double over_s = 0.0;
    double turns = 0.0;
    double rpm_s = 0.0;
    for (size_t i = span.from; i < span.to; i++) {
        see_extremes(pass, i, row);
        if (i + 1 >= session->n_samples)
            break;
        const double step_s = session->time_s[i + 1] - session->time_s[i];
        if (step_s > GAP_STEPS * pass->usual_s)
            continue;
        const double rpm = 0.5 * (pass->rpm[i] + pass->rpm[i + 1]);
        if (!isnan(rpm)) {
            turns += step_s * rpm / 60.0;
            rpm_s += step_s;
        }
        if (session->egt_c != NULL && !isnan(session->egt_c[i])) {
            egt_s += step_s;
            egt_c_s += step_s * session->egt_c[i];
            over_s += session->egt_c[i] > pass->options->limit_c ? step_s : 0.0;
        }
        if (is_under_load(pass, i)) {
            add_heat(pass, i, step_s, row);
            add_gain(pass, i, step_s, row);
        }
    }
    row->turns = whole_turns(turns, rpm_s, row->time_s);
    row->egt_mean_c = egt_s > 0.0 ? egt_c_s / egt_s : NAN;
    row->over_limit_s =
        egt_s > 0.0 && !isnan(pass->options->limit_c) ? over_s : NAN;
}

/* ---- laps ---------------------------------------------------------------- */

/* Seconds that two stretches have in common. */
static double overlap_s(double a_from, double a_to, double b_from, double b_to)
{
    return fmax(0.0, fmin(a_to, b_to) - fmax(a_from, b_from));
}

/* What the review found in the lap. */
static void add_events(const struct kw_review *review,
                       const struct kw_lap *lap,
                       struct kw_lap_figures *row)
{
    row->lean_s = review->session.egt_c != NULL ? 0.0 : NAN;
    row->dropouts = 0.0;
    for (size_t i = 0; i < review->events.n; i++) {
        const struct kw_event *event = &review->events.items[i];
        if (event->kind == KW_LEAN)
            row->lean_s += overlap_s(event->start_s, event->end_s, lap->start_s,
                                     lap->end_s);
        if (event->kind == KW_DROPOUT && event->start_s >= lap->start_s &&
            event->start_s < lap->end_s)
            row->dropouts += 1.0;
    }
}

/* Gas under load over all bands. */
static double mean_loaded_c(const struct kw_lap_figures *row)
{
    double seconds = 0.0;
    double heat_c_s = 0.0;
    for (size_t band = 0; band < KW_MOST_BANDS; band++) {
        seconds += row->band_s[band];
        heat_c_s += row->band_heat_c_s[band];
    }
    return seconds > 0.0 ? heat_c_s / seconds : NAN;
}

/* The samples of a lap. */
static struct kw_span span_of(const struct kw_session *session,
                              const struct kw_lap *lap)
{
    size_t low = 0;
    size_t high = session->n_samples;
    while (low < high) {
        const size_t middle = low + (high - low) / 2;
        if (session->time_s[middle] < lap->start_s)
            low = middle + 1;
        else
            high = middle;
    }
    struct kw_span span = {low, low};
    while (span.to < session->n_samples &&
           session->time_s[span.to] < lap->end_s)
        span.to++;
    return span;
}

static enum kw_status add_row(struct kw_lap_table *table,
                              const struct kw_lap_figures *row,
                              struct kw_error *error)
{
    if (kw_array_reserve(&table->rows, &table->capacity, table->n + 1,
                         sizeof *table->rows, error) != KW_OK)
        return KW_NO_MEMORY;
    table->rows[table->n++] = *row;
    return KW_OK;
}

/* All laps of one log. */
static enum kw_status measure_log(const struct kw_review *review,
                                  struct pass *pass,
                                  size_t log,
                                  struct kw_lap_table *out,
                                  struct kw_error *error)
{
    enum kw_status status = KW_OK;
    for (size_t i = 0; i < review->laps.n && status == KW_OK; i++) {
        const struct kw_lap *lap = &review->laps.items[i];
        struct kw_lap_figures row = {.lap = {log, lap->number, KW_LAP_USED},
                                     .time_s = lap->end_s - lap->start_s,
                                     .rpm_max = NAN,
                                     .rpm_min = NAN,
                                     .egt_peak_c = NAN};
        pass->seen_s = -INFINITY;
        pass_over(pass, span_of(&review->session, lap), &row);
        add_events(review, lap, &row);
        row.loaded_c = mean_loaded_c(&row);
        row.lap.use = row.rpm_max < pass->options->driven_rpm
                          ? KW_LAP_IS_IDLE
                          : kw_judge_lap(review, lap, pass->options->has_egt);
        status = add_row(out, &row, error);
    }
    return status;
}

/* Arrays of one log that are made for its figures; smooth ones where the
 * options ask for them, else NULL. */
struct made {
    double *gain_rpm_s;
    double *rpm;
    double *egt_c;
};

static void made_free(struct made *made)
{
    free(made->gain_rpm_s);
    free(made->rpm);
    free(made->egt_c);
}

/* A mean over the window of each reading, in an array of its own. */
static enum kw_status make_smooth(const struct kw_session *session,
                                  const double *values,
                                  double window_s,
                                  double **out,
                                  struct kw_error *error)
{
    *out = kw_array_new(session->n_samples, sizeof **out, error);
    if (*out == NULL)
        return KW_NO_MEMORY;
    kw_smooth(session, values, window_s, *out);
    return KW_OK;
}

/* Worked out once for a log and not for each lap: windows reach over the
 * line. */
static enum kw_status make(const struct kw_session *session,
                           const struct kw_figure_options *options,
                           struct made *made,
                           struct kw_error *error)
{
    enum kw_status status = KW_OK;
    made->gain_rpm_s = kw_array_new(session->n_samples, sizeof(double), error);
    if (made->gain_rpm_s == NULL)
        return KW_NO_MEMORY;
    kw_slope(session, session->rpm, options->window_s, made->gain_rpm_s);
    if (options->smooths)
        status = make_smooth(session, session->rpm, options->window_s,
                             &made->rpm, error);
    if (status == KW_OK && options->smooths && session->egt_c != NULL)
        status = make_smooth(session, session->egt_c, options->window_s,
                             &made->egt_c, error);
    return status;
}

/* One log of a side.
 *
 * pass  with its session, gas and options. */
static enum kw_status add_log(const struct kw_review *review,
                              struct pass *pass,
                              size_t log,
                              struct kw_lap_table *out,
                              struct kw_error *error)
{
    const struct kw_session *session = pass->session;
    struct made made = {0};
    enum kw_status status = make(session, pass->options, &made, error);
    pass->gain_rpm_s = made.gain_rpm_s;
    pass->rpm = made.rpm != NULL ? made.rpm : session->rpm;
    pass->peak_c = made.egt_c != NULL ? made.egt_c : session->egt_c;
    if (status == KW_OK)
        status = measure_log(review, pass, log, out, error);
    made_free(&made);
    return status;
}

/* All laps have their figures first; which of them count is asked behind that,
 * for a slow lap is slow only beside the others. */
enum kw_status kw_measure_side(const struct kw_compare_sessions *sessions,
                               const double *const *gas,
                               const struct kw_figure_options *options,
                               struct kw_lap_table *out,
                               struct kw_error *error)
{
    *out = (struct kw_lap_table){0};
    enum kw_status status = KW_OK;
    for (size_t log = 0; log < sessions->n && status == KW_OK; log++) {
        const struct kw_review *review = &sessions->reviews[log];
        struct pass pass = {.session = &review->session,
                            .gas = gas[log] != NULL ? gas[log]
                                                    : review->session.gas_c,
                            .options = options,
                            .usual_s = 1.0 / review->session.rate_hz};
        status = add_log(review, &pass, log, out, error);
    }
    if (status == KW_OK)
        status = kw_choose_laps(out, error);
    if (status != KW_OK)
        kw_lap_table_free(out);
    return status;
}

void kw_lap_table_free(struct kw_lap_table *table)
{
    free(table->rows);
    *table = (struct kw_lap_table){0};
}
