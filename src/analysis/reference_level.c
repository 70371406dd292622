/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Before a session is held against another one: is that of this kart; and
 * after it: how far apart are the two as wholes. What is hotter the detectors
 * tell; that all of it is colder no detector does, for a log cannot say whether
 * the mixture, the probe or its place did it. */
#include "analysis/reference_level.h"

#include "analysis/cold_stretch.h"
#include "analysis/reference_heat.h"
#include "core/array.h"
#include "core/robust.h"

#include <math.h>
#include <stdlib.h>

/* The RPM in which a reference has worked, as quantiles of all its readings:
 * below is idling and the slowest corners. A session with less of its work
 * there than a tenth has nothing to be held against. Common practice, no
 * source. */
static const double REFERENCE_FROM = 0.25;
static const double REFERENCE_TO = 0.995;
static const double LEAST_IN_COMMON = 0.1;

/* A level is that of so many seconds of pulling, or none: some pulls of each
 * of two or three laps (common practice, no source). */
static const double LEAST_COMPARED_S = 15.0;

/* The share of a session's work that lies between two RPM; NAN where the work
 * is not known. */
static double share_of_work(const struct kw_session *session,
                            const double *load,
                            double lowest_rpm,
                            double highest_rpm)
{
    size_t worked = 0;
    size_t between = 0;
    for (size_t i = 0; load != NULL && i < session->n_samples; i++) {
        const double rpm = session->rpm[i];
        if (!kw_under_load(load[i]) || isnan(rpm))
            continue;
        worked++;
        between += rpm >= lowest_rpm && rpm <= highest_rpm;
    }
    return worked > 0 ? (double)between / (double)worked : NAN;
}

enum kw_status kw_reference_is_of_another(const struct kw_session *reference,
                                          const struct kw_session *session,
                                          const double *load,
                                          bool *another,
                                          struct kw_error *error)
{
    const size_t n = reference->n_samples;
    *another = false;
    double *scratch = kw_array_new(n, sizeof *scratch, error);
    if (scratch == NULL)
        return KW_NO_MEMORY;
    const double low =
        kw_quantile_of_sample(reference->rpm, n, REFERENCE_FROM, scratch);
    const double high =
        kw_quantile_of_sample(reference->rpm, n, REFERENCE_TO, scratch);
    free(scratch);
    *another = share_of_work(session, load, low, high) < LEAST_IN_COMMON;
    return KW_OK;
}

/* Only what is warm and wholly at work says how hot this engine runs. The
 * middle one: a fault of some laps is not the level.
 *
 * excess_c  excess_c[grid->n]; overwritten. */
static double middle_c(const struct kw_heat_grid *grid, double *excess_c)
{
    double seconds = 0.0;
    for (size_t i = 0; i < grid->n; i++) {
        if (!kw_heat_cell_is_settled(grid, i, true) ||
            !(grid->worked_s[i] > KW_COLD_PIPE_S))
            excess_c[i] = NAN;
        else if (!isnan(excess_c[i]))
            seconds += grid->step_s[i];
    }
    return seconds >= LEAST_COMPARED_S ? kw_median(excess_c, grid->n, excess_c)
                                       : NAN;
}

/* From cells to samples, for whoever draws it: gas less its excess. */
static enum kw_status spread_over_samples(const struct kw_heat_grid *grid,
                                          const double *excess_c,
                                          size_t n_samples,
                                          double **gas_c,
                                          struct kw_error *error)
{
    *gas_c = kw_array_new_nan(n_samples, error);
    if (*gas_c == NULL)
        return KW_NO_MEMORY;
    for (size_t i = 0; i < grid->n; i++) {
        for (size_t k = grid->first[i]; k < grid->first[i + 1]; k++)
            (*gas_c)[k] = grid->gas_c[i] - excess_c[i];
    }
    return KW_OK;
}

enum kw_status kw_level_above_reference(const struct kw_scene *scene,
                                        struct kw_reference_level *out,
                                        struct kw_error *error)
{
    const struct kw_heat_source source = {scene->session, scene->load, NULL};
    struct kw_heat_grid grid = {0};
    double *excess_c = NULL;
    double scatter_c = NAN;
    *out = (struct kw_reference_level){NAN, NULL, NAN};
    if (scene->reference == NULL || scene->session->gas_c == NULL ||
        scene->load == NULL)
        return KW_OK;
    enum kw_status status = kw_heat_grid_new(&source, &grid, error);
    if (status == KW_OK)
        status = kw_compare_with_reference(scene, &grid, &excess_c, &scatter_c,
                                           error);
    if (status == KW_OK && excess_c != NULL)
        status = spread_over_samples(&grid, excess_c, scene->session->n_samples,
                                     &out->gas_c, error);
    if (status == KW_OK && excess_c != NULL) {
        out->spread_c = 2.0 * scatter_c;
        out->above_c = middle_c(&grid, excess_c);
    }
    free(excess_c);
    kw_heat_grid_free(&grid);
    return status;
}
