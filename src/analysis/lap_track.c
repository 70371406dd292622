/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Following the pattern: a first pattern from the lap that is most like its
 * neighbours, then in turns the most likely way through the pattern and the
 * median of all laps along that way. */
#include "analysis/lap_track.h"

#include "core/array.h"
#include "core/robust.h"

#include <math.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

enum { K = KW_LAP_STEPS, ROUNDS = 3, PLAY = K / 25 + 1 };

/* Pace of one lap against another, of full pace, before it is known better; and
 * the least that is believed of one place. */
static const double FIRST_SPREAD = 0.06;
static const double LEAST_SPREAD = 0.025;
/* One step that does not fit counts for no more than this: a slow lap is slow
 * everywhere and must not look for another place. */
static const double MOST_MISFIT = 3.0;
/* Prices, in the same measure: one step too many or too few (wheelspin, another
 * line), and to go on at any other place (a pit visit, a long gap). */
static const double STEP_PRICE = 8.0;
static const double JUMP_PRICE = 250.0;

enum move { GO, STAY, SKIP, JUMP };

struct pattern {
    double pace[K];
    double spread[K];
};

static double unlikeness(const double *a, const double *b)
{
    double sum = 0.0;
    for (size_t i = 0; i < K; i++)
        sum += fmin((a[i] - b[i]) * (a[i] - b[i]),
                    MOST_MISFIT * FIRST_SPREAD * FIRST_SPREAD);
    return sum;
}

/* The lap length of pace that is most like what comes one lap later. */
static size_t most_typical(const struct kw_lap_grid *grid)
{
    size_t best = 0;
    double least = INFINITY;
    for (size_t from = 0; from + 2 * K + PLAY < grid->n; from += K / 4) {
        double here = INFINITY;
        for (size_t next = from + K - PLAY; next <= from + K + PLAY; next++)
            here = fmin(here, unlikeness(&grid->pace[from], &grid->pace[next]));
        if (here < least) {
            least = here;
            best = from;
        }
    }
    return best;
}

static double misfit(const struct pattern *pattern, size_t place, double pace)
{
    const double off = (pace - pattern->pace[place]) / pattern->spread[place];
    return fmin(0.5 * off * off, MOST_MISFIT);
}

/* Cheapest way to each place at one step of the grid. */
static void step_on(const struct pattern *pattern,
                    double pace,
                    const double *before,
                    double *after,
                    uint8_t *moves)
{
    double cheapest = INFINITY;
    for (size_t i = 0; i < K; i++)
        cheapest = fmin(cheapest, before[i]);
    for (size_t i = 0; i < K; i++) {
        const double price[] = {
            [GO] = before[(i + K - 1) % K],
            [STAY] = before[i] + STEP_PRICE,
            [SKIP] = before[(i + K - 2) % K] + STEP_PRICE,
            [JUMP] = cheapest + JUMP_PRICE,
        };
        size_t move = GO;
        for (size_t m = STAY; m <= JUMP; m++)
            move = price[m] < price[move] ? m : move;
        after[i] = price[move] - cheapest + misfit(pattern, i, pace);
        moves[i] = (uint8_t)move;
    }
}

static size_t cheapest_place(const double *cost)
{
    size_t best = 0;
    for (size_t i = 1; i < K; i++)
        best = cost[i] < cost[best] ? i : best;
    return best;
}

/* moves[n][K], came_from[n]: the way to every place, and where a jump starts.
 */
static void walk(const struct kw_lap_grid *grid,
                 const struct pattern *pattern,
                 uint8_t (*moves)[K],
                 uint8_t *came_from,
                 uint8_t *places)
{
    double cost[2][K] = {{0.0}, {0.0}};
    for (size_t i = 0; i < grid->n; i++) {
        const double *before = cost[i % 2];
        came_from[i] = (uint8_t)cheapest_place(before);
        step_on(pattern, grid->pace[i], before, cost[(i + 1) % 2], moves[i]);
    }
    size_t place = cheapest_place(cost[grid->n % 2]);
    for (size_t i = grid->n; i-- > 0;) {
        places[i] = (uint8_t)place;
        switch ((enum move)moves[i][place]) {
        case GO:
            place = (place + K - 1) % K;
            break;
        case STAY:
            break;
        case SKIP:
            place = (place + K - 2) % K;
            break;
        case JUMP:
            place = came_from[i];
            break;
        }
    }
}

/* Counts on from place to place, by the shorter way round. */
static void count_turns(const uint8_t *places, size_t n, double *turns)
{
    double at = n > 0 ? (double)places[0] : 0.0;
    double highest = at;
    for (size_t i = 0; i < n; i++) {
        if (i > 0)
            at += remainder((double)places[i] - (double)places[i - 1], K);
        highest = fmax(highest, at);
        turns[i] = highest / K;
    }
}

/* The median pace of every place, and its spread. */
static void learn(const struct kw_lap_grid *grid,
                  const uint8_t *places,
                  struct pattern *pattern,
                  double *scratch)
{
    for (size_t place = 0; place < K; place++) {
        size_t n = 0;
        for (size_t i = 0; i < grid->n; i++) {
            if (places[i] == place)
                scratch[n++] = grid->pace[i];
        }
        if (n < 3)
            continue;
        pattern->spread[place] =
            kw_mad_sd(scratch, n, LEAST_SPREAD, scratch + grid->n);
        pattern->pace[place] = kw_median(scratch, n, scratch);
    }
}

enum kw_status kw_track_laps(const struct kw_lap_grid *grid,
                             double *turns,
                             struct kw_error *error)
{
    uint8_t(*moves)[K] = kw_array_new(grid->n, sizeof *moves, error);
    uint8_t *came_from = kw_array_new(grid->n, 1, error);
    uint8_t *places = kw_array_new(grid->n, 1, error);
    double *scratch = kw_array_new(2 * grid->n, sizeof *scratch, error);
    const bool ok =
        moves != NULL && came_from != NULL && places != NULL && scratch != NULL;
    struct pattern pattern;
    if (ok && grid->n >= 2 * K) {
        memcpy(pattern.pace, &grid->pace[most_typical(grid)],
               sizeof pattern.pace);
        for (size_t i = 0; i < K; i++)
            pattern.spread[i] = FIRST_SPREAD;
        for (size_t round = 0; round < ROUNDS; round++) {
            walk(grid, &pattern, moves, came_from, places);
            if (round + 1 < ROUNDS)
                learn(grid, places, &pattern, scratch);
        }
        count_turns(places, grid->n, turns);
    }
    free(moves);
    free(came_from);
    free(places);
    free(scratch);
    return ok ? KW_OK : KW_NO_MEMORY;
}
