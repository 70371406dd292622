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
static void fill(const struct kw_scene *scene, struct table *table)
{
    const struct kw_session *session = scene->session;
    size_t lap = 0;
    for (size_t i = 0; i < session->n_samples; i++) {
        while (lap < table->n_laps &&
               session->time_s[i] >= scene->laps->items[lap].end_s)
            lap++;
        const size_t place = place_of(scene->laps, i);
        if (lap == table->n_laps || place == N_PLACES || isnan(session->rpm[i]))
            continue;
        table->sum[place * table->n_laps + lap] += session->rpm[i];
        table->n[place * table->n_laps + lap] += 1.0;
    }
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
        const size_t at = place * table->n_laps + lap;
        if (table->n[at] > 0.0)
            scratch[n++] = table->sum[at] / table->n[at];
    }
    return n < FEWEST_LAPS ? NAN
                           : kw_quantile(scratch, n, better_than, scratch);
}

/* N_PLACES stands for "outside laps": there nothing is usual, and NAN says so
 * to every comparison that meets it. */
static void look_up(const struct kw_scene *scene,
                    const struct table *table,
                    double better_than,
                    double *usual_rpm,
                    double *scratch)
{
    double usual[N_PLACES + 1];
    for (size_t place = 0; place < N_PLACES; place++)
        usual[place] = usual_at(table, place, better_than, scratch);
    usual[N_PLACES] = NAN;
    for (size_t i = 0; i < scene->session->n_samples; i++)
        usual_rpm[i] = usual[place_of(scene->laps, i)];
}

/* With few laps, or none, all stays NAN and the caller has to judge by heat and
 * gain alone. */
enum kw_status kw_find_usual_pace(const struct kw_scene *scene,
                                  double better_than,
                                  double *usual_rpm,
                                  struct kw_error *error)
{
    struct table table = {.n_laps = scene->laps->n};
    for (size_t i = 0; i < scene->session->n_samples; i++)
        usual_rpm[i] = NAN;
    if (scene->laps->place == NULL || table.n_laps < FEWEST_LAPS)
        return KW_OK;
    double *scratch = kw_array_new(table.n_laps, sizeof *scratch, error);
    table.sum = kw_array_new(N_PLACES * table.n_laps, sizeof *table.sum, error);
    table.n = kw_array_new(N_PLACES * table.n_laps, sizeof *table.n, error);
    enum kw_status status = KW_NO_MEMORY;
    if (scratch != NULL && table.sum != NULL && table.n != NULL) {
        fill(scene, &table);
        look_up(scene, &table, better_than, usual_rpm, scratch);
        status = KW_OK;
    }
    free(scratch);
    free(table.sum);
    free(table.n);
    return status;
}
