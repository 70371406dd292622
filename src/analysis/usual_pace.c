/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The same place on other laps: a table of mean RPM, a row for each stretch of
 * the lap and a column for each lap, and a high quantile of each row.
 *
 * The place on the lap stands for what the driver does there. An engine that is
 * slower than on its own good laps, at the same place and with the foot down,
 * lacks something. */
#include "analysis/usual_pace.h"

#include "core/array.h"
#include "core/robust.h"

#include <math.h>
#include <stdlib.h>

/* A lap is looked at in so many stretches, of about half a second: short beside
 * a pull, long enough to hold a reading of a 10 Hz logger on each lap. With
 * fewer laps nothing is usual. Common practice, no source. */
enum { N_PLACES = 120, FEWEST_LAPS = 4 };

/* sum, n  [place * n_laps + lap]: sum and number of the readings. */
struct table {
    double *sum;
    double *n;
    size_t n_laps;
};

/* Safe on the empty one. */
static void table_free(struct table *table)
{
    free(table->sum);
    free(table->n);
}

/* The stretch that a sample is in; N_PLACES outside laps. */
static size_t place_of(const struct kw_laps *laps, size_t i)
{
    const double place = laps->place[i] * N_PLACES;
    if (!(place >= 0.0))
        return N_PLACES;
    return place < N_PLACES ? (size_t)place : N_PLACES - 1;
}

/* Samples come in order of time, so the lap needs no search: it only ever moves
 * on. Laps of different speed fill a stretch with different numbers of
 * readings; the mean makes each lap count once. */
static enum kw_status table_new(const struct kw_scene *scene,
                                const double *values,
                                struct table *table,
                                struct kw_error *error)
{
    const size_t n_laps = scene->laps->n;
    *table = (struct table){.n_laps = n_laps};
    table->sum = kw_array_new(N_PLACES * n_laps, sizeof *table->sum, error);
    table->n = kw_array_new(N_PLACES * n_laps, sizeof *table->n, error);
    if (table->sum == NULL || table->n == NULL)
        return KW_NO_MEMORY;
    size_t lap = 0;
    for (size_t i = 0; i < scene->session->n_samples; i++) {
        while (lap < n_laps &&
               scene->session->time_s[i] >= scene->laps->items[lap].end_s)
            lap++;
        const size_t place = place_of(scene->laps, i);
        if (lap == n_laps || place == N_PLACES || isnan(values[i]))
            continue;
        table->sum[place * n_laps + lap] += values[i];
        table->n[place * n_laps + lap] += 1.0;
    }
    return KW_OK;
}

/* Mean of a lap at a place; NAN where it has no reading there. */
static double mean_at(const struct table *table, size_t place, size_t lap)
{
    const size_t at = place * table->n_laps + lap;
    return table->n[at] > 0.0 ? table->sum[at] / table->n[at] : NAN;
}

/* A lap without a reading here (a slow logger, a gap) does not vote; spoilt
 * laps need no rule of their own, since they lie below the quantile. */
static double usual_at(const struct table *table,
                       size_t place,
                       double better_than,
                       double *scratch)
{
    size_t n = 0;
    for (size_t lap = 0; lap < table->n_laps; lap++) {
        const double mean = mean_at(table, place, lap);
        if (!isnan(mean))
            scratch[n++] = mean;
    }
    return n < FEWEST_LAPS ? NAN
                           : kw_quantile(scratch, n, better_than, scratch);
}

/* In the middle of the laps that are no slower than that. */
static double fast_heat_at(const struct table *rpm,
                           const struct table *gas,
                           size_t place,
                           double *scratch)
{
    const double fast_rpm = usual_at(rpm, place, KW_GOOD_LAPS, scratch);
    size_t n = 0;
    for (size_t lap = 0; lap < rpm->n_laps; lap++) {
        const double heat_c = mean_at(gas, place, lap);
        if (mean_at(rpm, place, lap) >= fast_rpm && !isnan(heat_c))
            scratch[n++] = heat_c;
    }
    return kw_median(scratch, n, scratch);
}

/* N_PLACES stands for "outside laps": there nothing is usual, and NAN says so
 * to every comparison that meets it.
 *
 * usual  usual[N_PLACES + 1]. */
static void look_up(const struct kw_scene *scene,
                    double *usual,
                    double *samples)
{
    usual[N_PLACES] = NAN;
    for (size_t i = 0; i < scene->session->n_samples; i++)
        samples[i] = usual[place_of(scene->laps, i)];
}

/* With few laps, or none, all stays NAN and the caller has to judge by heat and
 * gain alone. */
static bool has_laps(const struct kw_scene *scene, double *samples)
{
    for (size_t i = 0; i < scene->session->n_samples; i++)
        samples[i] = NAN;
    return scene->laps->place != NULL && scene->laps->n >= FEWEST_LAPS;
}

enum kw_status kw_find_usual_pace(const struct kw_scene *scene,
                                  double better_than,
                                  double *usual_rpm,
                                  struct kw_error *error)
{
    if (!has_laps(scene, usual_rpm))
        return KW_OK;
    struct table table;
    enum kw_status status =
        table_new(scene, scene->session->rpm, &table, error);
    double *scratch = kw_array_new(table.n_laps, sizeof *scratch, error);
    if (scratch == NULL)
        status = KW_NO_MEMORY;
    if (status == KW_OK) {
        double usual[N_PLACES + 1];
        for (size_t place = 0; place < N_PLACES; place++)
            usual[place] = usual_at(&table, place, better_than, scratch);
        look_up(scene, usual, usual_rpm);
    }
    free(scratch);
    table_free(&table);
    return status;
}

/* Ranked by RPM at each place anew: who is fast on one straight may have missed
 * the bend before the next. */
enum kw_status kw_find_fast_heat(const struct kw_scene *scene,
                                 double *heat_c,
                                 struct kw_error *error)
{
    if (!has_laps(scene, heat_c))
        return KW_OK;
    struct table gas = {0};
    struct table rpm;
    enum kw_status status = table_new(scene, scene->session->rpm, &rpm, error);
    if (status == KW_OK)
        status = table_new(scene, scene->session->gas_c, &gas, error);
    double *scratch = kw_array_new(rpm.n_laps, sizeof *scratch, error);
    if (scratch == NULL)
        status = KW_NO_MEMORY;
    if (status == KW_OK) {
        double heat[N_PLACES + 1];
        for (size_t place = 0; place < N_PLACES; place++)
            heat[place] = fast_heat_at(&rpm, &gas, place, scratch);
        look_up(scene, heat, heat_c);
    }
    free(scratch);
    table_free(&rpm);
    table_free(&gas);
    return status;
}
