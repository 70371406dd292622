/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The exhaust temperature that a right mixture would give: a model in RPM, load
 * and heat already in the pipe, then what the other laps show at the same
 * place, then the scatter that is left. */
#include "analysis/heat.h"

#include "analysis/heat_creep.h"
#include "analysis/heat_grid.h"
#include "analysis/heat_model.h"
#include "analysis/heat_onset.h"
#include "analysis/heat_place.h"
#include "analysis/heat_shift.h"
#include "analysis/heat_spots.h"
#include "core/array.h"

#include <math.h>
#include <stdlib.h>

/* The level becomes the middle of the healthy readings; the spread is twice
 * their scatter, one figure for load and one for none. */
static void raise_to_middle(const struct kw_heat_grid *g,
                            double *level_c,
                            double *spread_c,
                            double *scratch)
{
    for (int loaded = 0; loaded < 2; loaded++) {
        size_t n = 0;
        for (size_t i = 0; i < g->n; i++) {
            if (kw_heat_cell_is_settled(g, i, loaded == 1) &&
                !isnan(level_c[i]) && g->teaches[i] > 0.0)
                scratch[n++] = g->gas_c[i] - level_c[i];
        }
        if (n == 0)
            continue;
        const double scatter_c = kw_heat_scatter_c(scratch, n, scratch);
        for (size_t i = 0; i < g->n; i++) {
            if (isnan(level_c[i]) || kw_under_load(g->load[i]) != (loaded == 1))
                continue;
            level_c[i] += KW_HEAT_MIDDLE_ABOVE * scatter_c;
            spread_c[i] = 2.0 * scatter_c;
        }
    }
}

/* Cells are a tenth of a second long, shorter than anything that is judged:
 * every sample of a cell is expected to be the same. */
static void spread_over_samples(const struct kw_heat_grid *g,
                                const double *cells,
                                double *samples)
{
    for (size_t i = 0; i < g->n; i++) {
        for (size_t k = g->first[i]; k < g->first[i + 1]; k++)
            samples[k] = cells[i];
    }
}

/* The level of the cells that teach. */
static enum kw_status find_level(const struct kw_scene *scene,
                                 const struct kw_heat_grid *g,
                                 enum kw_heat_past past,
                                 double *level_c,
                                 struct kw_error *error)
{
    struct kw_heat_model model;
    if (kw_heat_model_fit(g, past, &model, error) != KW_OK)
        return KW_NO_MEMORY;
    for (size_t i = 0; i < g->n; i++)
        level_c[i] = kw_heat_model_at(&model, g, i);
    if (scene->laps == NULL)
        return KW_OK;
    return kw_heat_add_place(g, scene->laps->n, level_c, error);
}

/* The level of the cells that may teach. A fault that came and stayed is looked
 * for three times: warm-up and heat in the pipe may hide its step in a short
 * session, and without them a warm-up may; one of the first minutes is told
 * from the warm-up by both being fitted at once (heat_onset.c). One that grows
 * has no step: it is looked for where there was none (heat_creep.c), and so is
 * one that came at some places only (heat_spots.c).
 *
 * scratch  scratch[g->n], overwritten. */
static enum kw_status expect_cells(const struct kw_scene *scene,
                                   struct kw_heat_grid *g,
                                   double *level_c,
                                   double *scratch,
                                   struct kw_error *error)
{
    bool shifted = false;
    enum kw_status status =
        find_level(scene, g, KW_HEAT_WITH_PAST, level_c, error);
    if (status == KW_OK)
        status =
            kw_heat_find_shift(g, KW_HEAT_WITH_PAST, level_c, &shifted, error);
    if (status == KW_OK && !shifted)
        status = find_level(scene, g, KW_HEAT_NO_PAST, scratch, error);
    if (status == KW_OK && !shifted)
        status = kw_heat_find_onset(g, scratch, &shifted, error);
    if (status == KW_OK && !shifted)
        status =
            kw_heat_find_shift(g, KW_HEAT_NO_PAST, scratch, &shifted, error);
    if (status == KW_OK && !shifted)
        status = kw_heat_find_creep(g, scratch, &shifted, error);
    if (status == KW_OK && !shifted)
        status = kw_heat_find_spots(g, scene->laps, scratch, &shifted, error);
    /* Without a shift all cells still teach, and the first level stands. */
    if (status == KW_OK && shifted)
        status = find_level(scene, g, KW_HEAT_WITH_PAST, level_c, error);
    return status;
}

/* Whether a change was found: what came of it does not teach. */
static bool has_changed(const struct kw_heat_grid *g)
{
    for (size_t i = 0; i < g->n; i++) {
        if (!(g->teaches[i] > 0.0))
            return true;
    }
    return false;
}

/* In cells of even length first and spread over the samples last: the model
 * costs the same for a log of 10 Hz and of 1 kHz. */
enum kw_status kw_expect_heat(const struct kw_scene *scene,
                              double **expected_c,
                              double **spread_c,
                              bool *changed,
                              struct kw_error *error)
{
    const struct kw_session *session = scene->session;
    *expected_c = *spread_c = NULL;
    *changed = false;
    if (session->gas_c == NULL || scene->load == NULL)
        return KW_OK;
    struct kw_heat_grid grid;
    const struct kw_heat_source source = {session, scene->load, scene->laps};
    if (kw_heat_grid_new(&source, &grid, error) != KW_OK)
        return KW_NO_MEMORY;
    double *cells = kw_array_new(grid.n, 3 * sizeof *cells, error);
    *expected_c = kw_array_new_nan(session->n_samples, error);
    *spread_c = kw_array_new_nan(session->n_samples, error);
    enum kw_status status = KW_NO_MEMORY;
    if (cells != NULL && *expected_c != NULL && *spread_c != NULL)
        status = expect_cells(scene, &grid, cells, cells + grid.n, error);
    if (status == KW_OK) {
        double *around_c = cells + grid.n;
        *changed = has_changed(&grid);
        for (size_t i = 0; i < grid.n; i++)
            around_c[i] = NAN;
        raise_to_middle(&grid, cells, around_c, cells + 2 * grid.n);
        spread_over_samples(&grid, cells, *expected_c);
        spread_over_samples(&grid, around_c, *spread_c);
    } else {
        free(*expected_c);
        free(*spread_c);
        *expected_c = *spread_c = NULL;
    }
    free(cells);
    kw_heat_grid_free(&grid);
    return status;
}
