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

/* From one step of the log to the next: on by one step of the lap, none (the
 * log has a step too many), two, or to any other place. */
enum move { GO, STAY, SKIP, JUMP };

struct pattern {
    double pace[K];
    double sharpness[K]; /* 1 over the spread from lap to lap */
};

/* Squared difference, cut off at the most that one step may count: Huber's
 * idea, as a truncated square (from memory). */
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

/* Prices of being at each place, the two last places once more in front, so
 * that the way round the lap needs no division. */
struct prices {
    double front[K + 2];
    size_t cheapest;
};

/* Cheapest way to each place at one step of the grid. Runs for every pair of
 * step and place: no calls in it. */
static void step_on(const struct pattern *pattern,
                    double pace,
                    const struct prices *before,
                    struct prices *after,
                    uint8_t *moves)
{
    const double *from = before->front;
    const double jump = from[before->cheapest + 2] + JUMP_PRICE;
    const double base = from[before->cheapest + 2];
    size_t cheapest = 0;
    double least = INFINITY;
    for (size_t i = 0; i < K; i++) {
        double price = from[i + 1];
        uint8_t move = GO;
        if (from[i + 2] + STEP_PRICE < price) {
            price = from[i + 2] + STEP_PRICE;
            move = STAY;
        }
        if (from[i] + STEP_PRICE < price) {
            price = from[i] + STEP_PRICE;
            move = SKIP;
        }
        if (jump < price) {
            price = jump;
            move = JUMP;
        }
        const double off = (pace - pattern->pace[i]) * pattern->sharpness[i];
        const double misfit = 0.5 * off * off;
        price += (misfit < MOST_MISFIT ? misfit : MOST_MISFIT) - base;
        after->front[i + 2] = price;
        moves[i] = move;
        if (price < least) {
            least = price;
            cheapest = i;
        }
    }
    after->front[0] = after->front[K];
    after->front[1] = after->front[K + 1];
    after->cheapest = cheapest;
}

/* moves[n][K], came_from[n]: the way to every place, and where a jump starts.
 */
static void walk(const struct kw_lap_grid *grid,
                 const struct pattern *pattern,
                 uint8_t (*moves)[K],
                 uint8_t *came_from,
                 uint8_t *places)
{
    struct prices prices[2] = {0};
    for (size_t i = 0; i < grid->n; i++) {
        const struct prices *before = &prices[i % 2];
        came_from[i] = (uint8_t)before->cheapest;
        step_on(pattern, grid->pace[i], before, &prices[(i + 1) % 2], moves[i]);
    }
    size_t place = prices[grid->n % 2].cheapest;
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
        pattern->sharpness[place] =
            1.0 / kw_mad_sd(scratch, n, LEAST_SPREAD, scratch + grid->n);
        pattern->pace[place] = kw_median(scratch, n, scratch);
    }
}

/* The last round learns nothing more: its way is what is asked for. */
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
            pattern.sharpness[i] = 1.0 / FIRST_SPREAD;
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
