/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Half a lap or a whole one.
 *
 * A track of two like halves repeats after half a lap, nearly. Cut into pieces
 * of that length, the odd ones are one half of it and the even ones the other:
 * whether they really are the same is a question of analysis of variance,
 * between the classes against within them (Fisher 1925). */
#include "analysis/lap_classes.h"

#include "core/array.h"
#include "core/robust.h"

#include <gsl/gsl_cdf.h>
#include <math.h>
#include <stdbool.h>
#include <stdlib.h>
#include <string.h>

/* The F distribution needs to know how much of a piece is independent: so many
 * places, its bends, fewer than it has, since a slow lap is slow in all of
 * them. */
static const double PLACES = 9.0;
/* The mean follows slowly: as the engine warms up and the driver learns, the
 * tenth lap is like the ninth rather than like the first (common practice, no
 * source). */
static const double KEEP = 0.6;
/* Pieces so many times as far from the middle of all as half of them are do not
 * count: out laps, spins (common practice, no source). */
static const double FAR_OFF = 3.0;

/* The same for one place of a piece, in standard deviations of all of them
 * there: the stop of a practice start (common practice, no source). */
static const double FAR_OFF_SD = 3.0;

/* Pieces of one period each, placed so that they lie over each other.
 *
 * rows  rows[n][length]: the values of each piece. */
struct pieces {
    const struct kw_pieced_series *series;
    double *rows;
    bool *used;
    size_t n;
    size_t length;
};

/* Laps of one driver are as long as each other to a twenty-fifth (common
 * practice, no source): so far is a piece moved either way. */
static size_t play_of(size_t length)
{
    return length / 25 + 1;
}

/* Mean square: what the sum of squares of the analysis of variance is made
 * of. */
static double difference(const double *a, const double *b, size_t n)
{
    double sum = 0.0;
    for (size_t i = 0; i < n; i++)
        sum += (a[i] - b[i]) * (a[i] - b[i]);
    return sum / (double)n;
}

/* Where a piece is most like the mean of those before it, near a place: a
 * whole step, then the part of one at the bottom of the parabola through it and
 * its neighbours. */
static double best_place(const struct pieces *pieces,
                         const double *mean,
                         double about)
{
    const double *values = pieces->series->values;
    const size_t length = pieces->length;
    const size_t play = play_of(length);
    const size_t middle = (size_t)(about + 0.5);
    size_t best = middle;
    double least = INFINITY;
    for (size_t from = middle - play; from <= middle + play; from++) {
        const double now = difference(&values[from], mean, length);
        if (now < least) {
            least = now;
            best = from;
        }
    }
    const double before = difference(&values[best - 1], mean, length);
    const double after = difference(&values[best + 1], mean, length);
    const double bend = before - 2.0 * least + after;
    const double part = bend > 0.0 ? 0.5 * (before - after) / bend : 0.0;
    return (double)best + fmin(fmax(part, -0.5), 0.5);
}

/* Between two values: the cubic with the slopes that their neighbours give
 * (Catmull and Rom 1974, from memory). A straight line would cut the corners
 * where the driver brakes, in some pieces and not in others. */
static double value_between(const double *values, double part)
{
    const double slope = 0.5 * (values[1] - values[-1]);
    const double next_slope = 0.5 * (values[2] - values[0]);
    const double rise = values[1] - values[0];
    const double bend = 3.0 * rise - 2.0 * slope - next_slope;
    const double twist = slope + next_slope - 2.0 * rise;
    return values[0] + part * (slope + part * (bend + part * twist));
}

/* The values of the next piece. */
static const double *add_piece(struct pieces *pieces, double from)
{
    double *row = &pieces->rows[pieces->n++ * pieces->length];
    const double *values = &pieces->series->values[(size_t)from];
    const double part = from - floor(from);
    for (size_t i = 0; i < pieces->length; i++)
        row[i] = value_between(&values[i], part);
    return row;
}

/* Places the pieces one after the other, each where it is most like the mean of
 * those before it. To a part of a step: half a step off, and on again in the
 * next piece, would make two kinds of pieces of the brakings of one. */
static void place_pieces(struct pieces *pieces, double *mean)
{
    const struct kw_pieced_series *series = pieces->series;
    const size_t play = play_of(pieces->length);
    double at = 1.0;
    memcpy(mean, add_piece(pieces, at), pieces->length * sizeof *mean);
    while (at + series->period + (double)(pieces->length + play) + 2.0 <
           (double)series->n) {
        at = best_place(pieces, mean, at + series->period);
        const double *row = add_piece(pieces, at);
        for (size_t i = 0; i < pieces->length; i++)
            mean[i] = KEEP * mean[i] + (1.0 - KEEP) * row[i];
    }
}

/* Leaves out the pieces that are far from the middle of all: out lap, spins.
 * The middle of as many of each class: with one piece more of one, that class
 * would be the middle, and the others far off. */
static void choose_pieces(struct pieces *pieces,
                          size_t m,
                          double *median,
                          double *scratch)
{
    const size_t even = pieces->n < m ? pieces->n : pieces->n - pieces->n % m;
    for (size_t i = 0; i < pieces->length; i++) {
        for (size_t k = 0; k < even; k++)
            scratch[k] = pieces->rows[k * pieces->length + i];
        median[i] = kw_median(scratch, even, scratch);
    }
    double *off = scratch;
    double *copy = scratch + pieces->n;
    for (size_t k = 0; k < pieces->n; k++)
        off[k] = difference(&pieces->rows[k * pieces->length], median,
                            pieces->length);
    const double most = FAR_OFF * kw_median(off, pieces->n, copy);
    for (size_t k = 0; k < pieces->n; k++)
        pieces->used[k] = off[k] <= most;
}

/* Who stops at the end of every third lap, for a practice start, makes three
 * classes of it that differ in one place, all others alike. So what stands far
 * off where most pieces agree is set to their middle. Of two classes neither is
 * most pieces: their middle lies between them, and nothing is far off. */
static void take_stops_out(struct pieces *pieces, double *scratch)
{
    for (size_t i = 0; i < pieces->length; i++) {
        size_t n = 0;
        for (size_t k = 0; k < pieces->n; k++) {
            if (pieces->used[k])
                scratch[n++] = pieces->rows[k * pieces->length + i];
        }
        double *copy = scratch + n;
        const double middle = kw_median(scratch, n, copy);
        const double far = FAR_OFF_SD * kw_mad_sd(scratch, n, 0.0, copy);
        for (size_t k = 0; k < pieces->n; k++) {
            double *value = &pieces->rows[k * pieces->length + i];
            if (fabs(*value - middle) > far)
                *value = middle;
        }
    }
}

/* How likely m classes of equal pieces (k, k + m, ...) are to differ as much as
 * these do: the variance between over that within them, all places of the track
 * together. NAN where there are too few of them. */
static double chance_of_classes(const struct pieces *pieces, size_t m)
{
    double between = 0.0;
    double within = 0.0;
    double n[KW_MOST_CLASSES] = {0};
    double used = 0.0;
    for (size_t k = 0; k < pieces->n; k++)
        n[k % m] += pieces->used[k] ? 1.0 : 0.0;
    for (size_t c = 0; c < m; c++) {
        used += n[c];
        if (n[c] < 1.0)
            return NAN;
    }
    /* With hardly a piece more than there are classes nothing is left to tell
     * how much two of one class differ. */
    if (used - (double)m < 2.0)
        return NAN;
    for (size_t i = 0; i < pieces->length; i++) {
        double sum[KW_MOST_CLASSES] = {0};
        double all = 0.0;
        double squares = 0.0;
        for (size_t k = 0; k < pieces->n; k++) {
            const double value =
                pieces->used[k] ? pieces->rows[k * pieces->length + i] : 0.0;
            sum[k % m] += value;
            all += value;
            squares += value * value;
        }
        double classes = 0.0;
        for (size_t c = 0; c < m; c++)
            classes += sum[c] * sum[c] / n[c];
        between += classes - all * all / used;
        within += squares - classes;
    }
    const double between_df = (double)(m - 1);
    const double within_df = used - (double)m;
    return gsl_cdf_fdist_Q(between / between_df / (within / within_df),
                           PLACES * between_df, PLACES * within_df);
}

/* The pieces lie over each other first: a slow lap is longer than a fast one.
 */
enum kw_status kw_chance_of_classes(const struct kw_pieced_series *series,
                                    size_t m,
                                    double *chance,
                                    struct kw_error *error)
{
    struct pieces pieces = {
        .series = series,
        .length = (size_t)series->period,
    };
    *chance = NAN;
    if (series->n < pieces.length + 3)
        return KW_OK;
    const size_t least = pieces.length - play_of(pieces.length) - 1;
    const size_t room = series->n / least + 3;
    double *mean = kw_array_new(pieces.length, sizeof *mean, error);
    double *scratch = kw_array_new(2 * room, sizeof *scratch, error);
    pieces.rows =
        kw_array_new(room, pieces.length * sizeof *pieces.rows, error);
    pieces.used = kw_array_new(room, sizeof *pieces.used, error);
    const bool ok = mean != NULL && scratch != NULL && pieces.rows != NULL &&
                    pieces.used != NULL;
    if (ok) {
        place_pieces(&pieces, mean);
        choose_pieces(&pieces, m, mean, scratch);
        if (m > 2)
            take_stops_out(&pieces, scratch);
        *chance = chance_of_classes(&pieces, m);
    }
    free(mean);
    free(scratch);
    free(pieces.rows);
    free(pieces.used);
    return ok ? KW_OK : KW_NO_MEMORY;
}
