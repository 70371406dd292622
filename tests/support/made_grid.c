/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "support/made_grid.h"

#include "core/array.h"
#include "support/check.h"

#include <math.h>

static const double PULL_S = 4.0;
static const double PIPE_C = 90.0;
static const double EXPECTED_C = 550.0;

static void fill(double pipe_s,
                 made_moment_at *at,
                 const void *what,
                 struct kw_heat_grid *g)
{
    double settled_s = 0.0;
    for (size_t i = 0; i < g->n; i++) {
        const double t = MADE_CELL_S * (double)i;
        const double in_round_s = fmod(t, MADE_ROUND_S);
        const struct made_moment moment = at(what, t);
        const bool loaded = in_round_s < PULL_S && !moment.stands;
        const double worked_s = MADE_CELL_S * (double)(i + 1);
        settled_s = loaded == (i > 0 && g->load[i - 1] > 0.5)
                        ? settled_s + MADE_CELL_S
                        : 0.5 * MADE_CELL_S;
        g->time_s[i] = t;
        g->step_s[i] = MADE_CELL_S;
        g->load[i] = loaded ? 1.0 : 0.0;
        g->rpm[i] = loaded ? 6000.0 + 1500.0 * in_round_s : 6000.0;
        g->rise[i] = loaded ? moment.rise : -1.0;
        g->gas_c[i] =
            EXPECTED_C + moment.hot_c - PIPE_C * exp(-worked_s / pipe_s);
        g->settled_s[i] = settled_s;
        g->worked_s[i] = worked_s;
        g->teaches[i] = 1.0;
    }
}

void made_grid_new(size_t n_cells,
                   double pipe_s,
                   made_moment_at *at,
                   const void *what,
                   struct made_grid *out)
{
    struct kw_heat_grid *g = &out->grid;
    *g = (struct kw_heat_grid){.n = n_cells};
    double **const arrays[] = {&g->time_s,    &g->step_s,   &g->rpm,
                               &g->gas_c,     &g->load,     &g->rise,
                               &g->settled_s, &g->worked_s, &g->teaches,
                               &g->place,     &out->level_c};
    enum { N_ARRAYS = sizeof arrays / sizeof arrays[0] };
    g->numbers = kw_array_new(g->n, N_ARRAYS * sizeof *g->numbers, NULL);
    g->lap = kw_array_new(g->n, sizeof *g->lap, NULL);
    assert_non_null(g->numbers);
    assert_non_null(g->lap);
    for (size_t k = 0; k < N_ARRAYS; k++)
        *arrays[k] = g->numbers + k * g->n;
    for (size_t i = 0; i < g->n; i++)
        out->level_c[i] = EXPECTED_C;
    fill(pipe_s, at, what, g);
}

void made_grid_free(struct made_grid *made)
{
    kw_heat_grid_free(&made->grid);
}

double made_grid_teaching_s(const struct made_grid *made)
{
    double seconds = 0.0;
    for (size_t i = 0; i < made->grid.n; i++)
        seconds += made->grid.teaches[i] * MADE_CELL_S;
    return seconds;
}

double made_grid_scatter(double time_s)
{
    return sin(0.9 * floor(time_s / MADE_ROUND_S));
}
