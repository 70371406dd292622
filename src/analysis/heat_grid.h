/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The session in short cells: what the heat models look at, whatever the rate
 * of the logger. */
#ifndef KARTWRIGHT_ANALYSIS_HEAT_GRID_H
#define KARTWRIGHT_ANALYSIS_HEAT_GRID_H

#include "analysis/scene.h"

/* Pasts that the pipe remembers, fast to slow. */
enum { KW_N_HEATS = 2 };

/* A cell is a run of samples, 0.1 s long or one sample, and ends at a gap.
 *
 * n        cells; every array has n entries, first has n + 1.
 * first    the cell's samples are first[i] .. first[i + 1] - 1.
 * time_s   mean time.  step_s  seconds that the cell stands for.
 * rpm, gas_c  means; NAN where nothing is known.
 * load     share of the cell under load; NAN where it cannot be told.
 * rise     slope of RPM as a share of the session's usual strong slope.
 * settled_s  seconds since load was last put on or taken off.
 * place, lap  as struct kw_laps says; lap is an index into its items, or its n
 *          outside laps and on laps that are spoilt.
 * worked_s seconds since the engine first worked.
 * teaches  1 where the models may learn from it, else 0.
 * heat     means of load times RPM over the last 12 and 45 s: 0 is cold,
 *          1 is flat out for ever. */
struct kw_heat_grid {
    size_t n;
    size_t *first;
    size_t *lap;
    double *time_s;
    double *step_s;
    double *rpm;
    double *gas_c;
    double *load;
    double *rise;
    double *settled_s;
    double *place;
    double *worked_s;
    double *teaches;
    double *heat[KW_N_HEATS];
    double *numbers; /* owns the arrays of doubles */
};

/* What a grid is made from; laps may be NULL. */
struct kw_heat_source {
    const struct kw_session *session;
    const double *load;
    const struct kw_laps *laps;
};

/* source   its session has gas_c.
 * out      the caller frees it with kw_heat_grid_free(). Empty on error.
 * returns  KW_OK; KW_NO_MEMORY. */
enum kw_status kw_heat_grid_new(const struct kw_heat_source *source,
                                struct kw_heat_grid *out,
                                struct kw_error *error);
void kw_heat_grid_free(struct kw_heat_grid *grid);

/* true where the cell is wholly under load (or wholly not), and was for long
 * enough that an uncertain moment of the lift does not matter. */
bool kw_heat_cell_is_settled(const struct kw_heat_grid *grid,
                             size_t cell,
                             bool loaded);

#endif
