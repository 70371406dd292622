/* SPDX-License-Identifier: GPL-3.0-or-later */
/* This session's heat against that of a session that is known to be good.
 *
 * Within one session only changes stand out; a jet that is wrong all day needs
 * another day. The model is learned on the good day and asked at this day's RPM
 * and load, so that another driver, another line and even another track do not
 * count as mixture. Air does: see `kartwright air`. */
#include "analysis/reference_heat.h"

#include "analysis/heat_model.h"
#include "analysis/load.h"
#include "analysis/running.h"
#include "core/array.h"

#include <math.h>
#include <stdlib.h>

/* The reference goes through the same rooms as the session, laps excepted:
 * it may have been another track. */
static enum kw_status fit_reference(const struct kw_session *reference,
                                    const struct kw_profile *profile,
                                    struct kw_heat_model *model,
                                    struct kw_error *error)
{
    struct kw_running running = {0};
    struct kw_pulls pulls = {0};
    struct kw_heat_grid grid = {0};
    double *load = NULL;
    enum kw_status status =
        kw_find_running(reference, profile, &running, error);
    if (status == KW_OK)
        status = kw_find_load(reference, &running, &load, &pulls, error);
    const struct kw_heat_source source = {reference, load, NULL};
    if (status == KW_OK)
        status = kw_heat_grid_new(&source, &grid, error);
    if (status == KW_OK)
        status = kw_heat_model_fit(&grid, KW_HEAT_WITH_PAST, model, error);
    kw_heat_grid_free(&grid);
    kw_pulls_free(&pulls);
    kw_running_free(&running);
    free(load);
    return status;
}

/* The scatter is that of the reference about its own model: what a good
 * session does by itself. */
enum kw_status kw_compare_with_reference(const struct kw_scene *scene,
                                         const struct kw_heat_grid *grid,
                                         double **excess_c,
                                         double *scatter_c,
                                         struct kw_error *error)
{
    struct kw_heat_model model;
    *excess_c = NULL;
    *scatter_c = NAN;
    if (scene->reference->gas_c == NULL)
        return KW_OK;
    if (fit_reference(scene->reference, scene->profile, &model, error) != KW_OK)
        return KW_NO_MEMORY;
    /* A reference that never pulled, or too little to learn from, is no
     * reference; that is no error. */
    if (!model.loaded.known)
        return KW_OK;
    *excess_c = kw_array_new_nan(grid->n, error);
    if (*excess_c == NULL)
        return KW_NO_MEMORY;
    *scatter_c = model.loaded.scatter_c;
    for (size_t i = 0; i < grid->n; i++) {
        /* Off the throttle the mixture says little: it is not compared. */
        if (kw_under_load(grid->load[i]))
            (*excess_c)[i] = grid->gas_c[i] -
                             kw_heat_model_at(&model, grid, i) -
                             KW_HEAT_MIDDLE_ABOVE * *scatter_c;
    }
    return KW_OK;
}
