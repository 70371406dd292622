/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Gas temperature as a function of RPM, load and what came before.
 *
 * A sum of terms, fitted to this session by least squares that are drawn again
 * and again with less weight on what lies above: a lean stretch must not teach
 * what a right mixture gives. The fit then lies at the cool side of the
 * readings, and heat.c lifts it to their middle. Nothing is taken from other
 * engines: another probe position shifts everything. */
#include "analysis/heat_model.h"

#include "core/array.h"
#include "core/robust.h"
#include "signal/least_squares.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* Fewer settled seconds than this teach nothing. */
static const double FEWEST_S = 15.0;
/* How far outside the RPM that the session was in, as a share. */
static const double BEYOND = 0.03;
enum { ROUNDS = 12 };
/* Residuals smaller than this count as zero in the iteration. */
static const double SMALL_C = 2.0;
/* How large the effects may be: an RPM region against the average, and all that
 * depends on the past (common practice, no source: some tens of degrees). */
static const double LARGE_REGION_C = 300.0;
static const double LARGE_PAST_C = 60.0;
/* A ridge that leaves a term no effect. */
static const double NO_EFFECT = 1e9;
/* Cells that say one thing: a second of them. */
static const double ALIKE_S = 1.0;
/* More cells than this teach nothing new: every second one, or third ... */
enum { MOST_CELLS = 8000 };
/* Decay of what follows a change of load, and of warm-up: of each one for the
 * gas and the thin wall of the probe, and one for the pipe; the fit mixes them
 * (common practice, no source). */
static const double QUICK_S = 0.6;
static const double SLOW_S = 2.5;
static const double WARM_QUICK_S = 25.0;
static const double WARM_SLOW_S = 80.0;
/* A pull longer than this is as hot as it gets. */
static const double LONG_PULL_S = 10.0;
/* The knots span what the session is in all but so much of the time at each
 * end: pit lane and over-revs would stretch them. */
static const double RARE = 0.02;
/* The share of readings that are cooler than the rest is scattered by. */
static const double COOL_SHARE = 0.10;
/* A scatter below this is the logger's resolution, not the engine. */
static const double LEAST_SCATTER_C = 2.0;

/* Evenly from the slowest to the fastest RPM under load, wild readings left
 * out. */
static void place_knots(struct kw_heat_sum *sum, double low, double high)
{
    sum->knot_rpm = low;
    sum->knot_step_rpm = fmax((high - low) / (KW_HEAT_KNOTS - 1), 1.0);
}

/* All terms are between 0 and about 1, so that one ridge suits them all and
 * the coefficients read as degrees. */
static void terms_of(const struct kw_heat_sum *sum,
                     const struct kw_heat_grid *g,
                     size_t i,
                     double *terms)
{
    memset(terms, 0, KW_HEAT_TERMS * sizeof *terms);
    const double last = KW_HEAT_KNOTS - 1.0;
    const double at =
        fmax(0.0, fmin((g->rpm[i] - sum->knot_rpm) / sum->knot_step_rpm, last));
    const size_t below = at < last ? (size_t)at : KW_HEAT_KNOTS - 2;
    terms[below] = 1.0 - (at - (double)below);
    terms[below + 1] = at - (double)below;
    double *more = terms + KW_HEAT_KNOTS;
    *more++ = g->rise[i];
    *more++ = exp(-g->settled_s[i] / QUICK_S);
    *more++ = exp(-g->settled_s[i] / SLOW_S);
    *more++ = exp(-g->worked_s[i] / WARM_QUICK_S);
    *more++ = exp(-g->worked_s[i] / WARM_SLOW_S);
    /* How fast the engine turned a moment ago matters while load is new. */
    *more++ = fmin(g->settled_s[i], LONG_PULL_S) / LONG_PULL_S;
    for (size_t k = 0; k < KW_N_HEATS; k++)
        *more++ = g->heat[k][i] - 0.5;
}

/* About a centre, which keeps the terms small and the sums exact. */
static double level_of(const struct kw_heat_sum *sum, const double *terms)
{
    double level_c = sum->centre_c;
    for (size_t k = 0; k < KW_HEAT_TERMS; k++)
        level_c += terms[k] * sum->coefficients[k];
    return level_c;
}

/* Which of the terms are about the past of the session, see terms_of(). */
static bool is_past(size_t term)
{
    return term == KW_HEAT_KNOTS + 3 || term == KW_HEAT_KNOTS + 4 ||
           term >= KW_HEAT_KNOTS + 6;
}

/* A ridge keeps terms that the session hardly moved near zero instead of
 * letting them chase noise: a session without a stop says nothing about what
 * a stop does. */
static void fill_ridge(double *ridge, enum kw_heat_past past, double alike)
{
    const double noise_c = 2.0 * SMALL_C;
    for (size_t k = 0; k < KW_HEAT_TERMS; k++) {
        const double large = k < KW_HEAT_KNOTS ? LARGE_REGION_C : LARGE_PAST_C;
        ridge[k] = alike * noise_c * noise_c / (large * large);
        if (past == KW_HEAT_NO_PAST && is_past(k))
            ridge[k] = NO_EFFECT;
    }
}

/* The cells that teach: settled, every one until there are too many.
 *
 * terms  terms[n * KW_HEAT_TERMS]: the same in every round, while the weights
 *        and the coefficients change. */
struct lesson {
    enum kw_heat_past past;
    size_t *cells;
    size_t n;
    double *terms;
    double *residual;
};

/* One round of least squares with the weights that make it a quantile: a
 * reading above the level weighs less than one below it, and both the less
 * the further they are. */
static bool learn_once(struct kw_heat_sum *sum,
                       const struct kw_heat_grid *g,
                       const struct lesson *lesson,
                       const double *ridge)
{
    struct kw_least_squares fit;
    kw_least_squares_start(&fit, KW_HEAT_TERMS);
    for (size_t k = 0; k < lesson->n; k++) {
        const size_t i = lesson->cells[k];
        const double r = lesson->residual[k];
        const double side =
            r > 0.0 ? KW_HEAT_SHARE_BELOW : 1.0 - KW_HEAT_SHARE_BELOW;
        const double weight = side * SMALL_C / fmax(fabs(r), SMALL_C);
        kw_least_squares_add(&fit, &lesson->terms[k * KW_HEAT_TERMS],
                             g->gas_c[i] - sum->centre_c, weight);
    }
    return kw_least_squares_solve(&fit, ridge, sum->coefficients);
}

/* What is left over after the last round; it makes the weights of the next. */
static void find_residuals(const struct kw_heat_sum *sum,
                           const struct kw_heat_grid *g,
                           const struct lesson *lesson)
{
    for (size_t k = 0; k < lesson->n; k++)
        lesson->residual[k] = g->gas_c[lesson->cells[k]] -
                              level_of(sum, &lesson->terms[k * KW_HEAT_TERMS]);
}

/* A fixed number of rounds: the same log gives the same answer in the same
 * time. */
static void learn(struct kw_heat_sum *sum,
                  const struct kw_heat_grid *g,
                  const struct lesson *lesson,
                  double *scratch)
{
    double ridge[KW_HEAT_TERMS];
    for (size_t k = 0; k < lesson->n; k++)
        scratch[k] = g->rpm[lesson->cells[k]];
    const double low = kw_quantile(scratch, lesson->n, RARE, scratch);
    for (size_t k = 0; k < lesson->n; k++)
        scratch[k] = g->rpm[lesson->cells[k]];
    place_knots(sum, low, kw_quantile(scratch, lesson->n, 1.0 - RARE, scratch));
    for (size_t k = 0; k < lesson->n; k++)
        scratch[k] = g->gas_c[lesson->cells[k]];
    sum->centre_c =
        kw_quantile(scratch, lesson->n, KW_HEAT_SHARE_BELOW, scratch);
    for (size_t k = 0; k < lesson->n; k++)
        terms_of(sum, g, lesson->cells[k], &lesson->terms[k * KW_HEAT_TERMS]);
    fill_ridge(ridge, lesson->past, ALIKE_S / g->step_s[lesson->cells[0]]);
    for (int round = 0; round < ROUNDS; round++) {
        find_residuals(sum, g, lesson);
        if (!learn_once(sum, g, lesson, ridge))
            return;
    }
    find_residuals(sum, g, lesson);
    sum->scatter_c = kw_heat_scatter_c(lesson->residual, lesson->n, scratch);
    sum->known = true;
}

/* Only the cool side is looked at: the hot side holds what is searched for. */
double kw_heat_scatter_c(const double *residuals, size_t n, double *scratch)
{
    /* Between the 10 % and the fitted level of a normal distribution lie
     * KW_NORMAL_TENTH - KW_HEAT_MIDDLE_ABOVE standard deviations. */
    const double cool_c = kw_quantile(residuals, n, COOL_SHARE, scratch);
    return fmax(-cool_c / (KW_NORMAL_TENTH - KW_HEAT_MIDDLE_ABOVE),
                LEAST_SCATTER_C);
}

/* returns  how many seconds the settled cells stand for. */
static double gather(const struct kw_heat_grid *g,
                     bool loaded,
                     struct lesson *lesson)
{
    double seconds = 0.0;
    lesson->n = 0;
    for (size_t i = 0; i < g->n; i++) {
        if (!kw_heat_cell_is_settled(g, i, loaded) || !(g->worked_s[i] > 0.0) ||
            !(g->teaches[i] > 0.0))
            continue;
        lesson->cells[lesson->n++] = i;
        seconds += g->step_s[i];
    }
    const size_t stride = lesson->n / MOST_CELLS + 1;
    for (size_t k = 0; k * stride < lesson->n; k++)
        lesson->cells[k] = lesson->cells[k * stride];
    lesson->n = (lesson->n + stride - 1) / stride;
    return seconds;
}

/* Load and no load are two engines as far as the exhaust is concerned. */
enum kw_status kw_heat_model_fit(const struct kw_heat_grid *grid,
                                 enum kw_heat_past past,
                                 struct kw_heat_model *out,
                                 struct kw_error *error)
{
    *out = (struct kw_heat_model){0};
    struct lesson lesson = {.past = past};
    lesson.cells = kw_array_new(grid->n, sizeof *lesson.cells, error);
    const size_t most = grid->n < MOST_CELLS ? grid->n : MOST_CELLS;
    lesson.terms = kw_array_new(most, sizeof(double[KW_HEAT_TERMS]), error);
    lesson.residual = kw_array_new(grid->n, sizeof *lesson.residual, error);
    double *scratch = kw_array_new(grid->n, sizeof *scratch, error);
    const bool ready = lesson.cells != NULL && lesson.terms != NULL &&
                       lesson.residual != NULL && scratch != NULL;
    struct kw_heat_sum *const sums[2] = {&out->lifted, &out->loaded};
    for (int loaded = 0; ready && loaded < 2; loaded++) {
        if (gather(grid, loaded == 1, &lesson) >= FEWEST_S)
            learn(sums[loaded], grid, &lesson, scratch);
    }
    free(lesson.cells);
    free(lesson.terms);
    free(lesson.residual);
    free(scratch);
    return ready ? KW_OK : KW_NO_MEMORY;
}

/* Between the knots, or hardly outside: a model that has not been there does
 * not guess. */
static bool was_there(const struct kw_heat_sum *sum, double rpm)
{
    const double high_rpm =
        sum->knot_rpm + (KW_HEAT_KNOTS - 1) * sum->knot_step_rpm;
    return rpm > sum->knot_rpm * (1.0 - BEYOND) &&
           rpm < high_rpm * (1.0 + BEYOND);
}

/* Before the engine first works there is no heat to be expected. */
double kw_heat_model_at(const struct kw_heat_model *model,
                        const struct kw_heat_grid *grid,
                        size_t cell)
{
    if (isnan(grid->load[cell]) || isnan(grid->rpm[cell]) ||
        !(grid->worked_s[cell] > 0.0))
        return NAN;
    const struct kw_heat_sum *sum =
        kw_under_load(grid->load[cell]) ? &model->loaded : &model->lifted;
    if (!sum->known || !was_there(sum, grid->rpm[cell]))
        return NAN;
    double terms[KW_HEAT_TERMS];
    terms_of(sum, grid, cell, terms);
    return level_of(sum, terms);
}
