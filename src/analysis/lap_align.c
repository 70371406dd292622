/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Laying every lap over the common pattern, finer each round:
 *
 * 1. all laps over each other, by the course known so far: their median is the
 *    common pattern, their scatter says where on the track it is sharp;
 * 2. each block of each lap is shifted on to the pattern by weighted least
 *    squares (with a level of its own, so that a faster corner is not taken for
 *    a kart that is further on): a reading of the way at that place, with its
 *    variance;
 * 3. between readings the way is a random walk: lap by lap the line differs a
 *    little and a tyre slips a little. All readings together give the course.
 */
#include "analysis/lap_align.h"

#include "analysis/lap_breaks.h"
#include "analysis/lap_smooth.h"
#include "core/array.h"
#include "core/robust.h"

#include <math.h>
#include <stdlib.h>

enum {
    CELLS = KW_COURSE_CELLS,
    BLOCKS = KW_COURSE_BLOCKS,
    LAP = KW_COURSE_LAP
};
enum { ROUNDS = 5, ENOUGH_LAPS = 40 };
/* Least scatter of pace that is believed of one place, of full pace. */
static const double LEAST_SPREAD = 0.008;
/* How much the level of pace may differ from lap to lap in one block. */
static const double LEVEL_SD = 0.02;
/* A block is not shifted by more cells than this in one round. */
enum { MOST_SHIFT = 24 };
/* From the best whole shift least squares go no further than this. */
static const double MOST_PART = 4.0;
/* A row that is off by fewer cells is in its place. */
static const double IN_PLACE = 1.5;
/* Squares left over, each against what is usual there: more than this is
 * another pace altogether (yellow flag, traffic, the pit lane). */
static const double MOST_MISFIT = 6.0;
/* Least share of a block that must have been driven to be read. */
static const double LEAST_SHARE = 0.7;
/* A block that took this many times its usual time, and that many seconds more,
 * has a spin or a stop in it. */
static const double BREAK_RATIO = 2.0;
static const double BREAK_EXTRA_S = 1.5;
/* Way that a spin, a stop or a start with a slipping clutch adds or takes, as a
 * part of a lap: by engine turns, and by speed. */
static const double STOP_WAY_RPM = 0.04;
static const double STOP_WAY_SPEED = 0.004;

/* What all rounds work on. A row is one block of one lap, in cells of the
 * pattern. */
struct alignment {
    const struct kw_lap_axis *axis;
    const struct kw_lap_grid *grid; /* one cell of the pattern each step */
    struct kw_lap_course *course;
    double *rows; /* rows[course->n][CELLS] */
    struct kw_reading *readings;
    double *scratch; /* 3 * n */
};

/* Between two nodes the way is even, so that within a block it needs no look-up
 * but that of its two halves' rates. */
static void lay_rows(const struct alignment *a)
{
    const struct kw_lap_course *course = a->course;
    const double usual = course->lap / BLOCKS;
    for (size_t node = 0; node < course->n; node++) {
        const double here = course->way[node];
        const double before = node > 0 ? here - course->way[node - 1] : usual;
        const double after =
            node + 1 < course->n ? course->way[node + 1] - here : usual;
        for (size_t cell = 0; cell < CELLS; cell++) {
            const double part = ((double)cell + 0.5) / CELLS - 0.5;
            const double way = here + part * (part < 0.0 ? before : after);
            a->rows[node * CELLS + cell] = kw_lap_grid_pace_at(a->grid, way);
        }
    }
}

/* The median of all laps, cell by cell, and how sharply it is known; then its
 * slope, by which a shift shows. */
static void learn_pattern(const struct alignment *a)
{
    struct kw_lap_course *course = a->course;
    const size_t first = kw_course_block(course, 0);
    double *copy = a->scratch + course->n;
    /* Some dozens of laps, evenly chosen, teach it as well as hundreds. */
    const size_t every = (course->n / BLOCKS / ENOUGH_LAPS + 1) * BLOCKS;
    for (size_t block = 0; block < BLOCKS; block++) {
        const size_t from = (block + BLOCKS - first) % BLOCKS;
        for (size_t cell = 0; cell < CELLS; cell++) {
            size_t n = 0;
            for (size_t node = from; node < course->n; node += every)
                a->scratch[n++] = a->rows[node * CELLS + cell];
            const size_t at = block * CELLS + cell;
            course->pace[at] = kw_median(a->scratch, n, copy);
            const double sd = kw_mad_sd(a->scratch, n, LEAST_SPREAD, copy);
            course->weight[at] = 1.0 / (sd * sd);
        }
    }
    enum { REACH = 2 };
    for (size_t i = 0; i < LAP; i++)
        course->slope[i] = (course->pace[(i + REACH) % LAP] -
                            course->pace[(i + LAP - REACH) % LAP]) /
                           (2.0 * REACH);
}

/* Sums for the least-squares shift and level of one row. */
struct sums {
    double slope2;
    double slope;
    double one;
    double slope_off;
    double off;
    double off2;
    size_t n;
};

/* A row that is `shift` cells along against the pattern. The level is bound to
 * 0 by its usual scatter. */
static struct sums add_up(const struct alignment *a, size_t node, long shift)
{
    const struct kw_lap_course *course = a->course;
    const double *row = &a->rows[node * CELLS];
    const size_t first = kw_course_block(course, node) * CELLS + LAP;
    struct sums sums = {.one = 1.0 / (LEVEL_SD * LEVEL_SD)};
    for (size_t cell = 0; cell < CELLS; cell++) {
        const size_t at = (size_t)((long)(first + cell) - shift) % LAP;
        const double weight = course->weight[at];
        const double off = row[cell] - course->pace[at];
        const double slope = -course->slope[at];
        if (isnan(off))
            continue;
        sums.n++;
        sums.slope2 += weight * slope * slope;
        sums.slope += weight * slope;
        sums.one += weight;
        sums.slope_off += weight * slope * off;
        sums.off += weight * off;
        sums.off2 += weight * off * off;
    }
    return sums;
}

/* What a shift leaves unexplained, for each cell; every `stride`-th is asked.
 */
static double misfit_at(const struct alignment *a,
                        size_t node,
                        long shift,
                        size_t stride)
{
    const struct kw_lap_course *course = a->course;
    const double *row = &a->rows[node * CELLS];
    const size_t first = kw_course_block(course, node) * CELLS + LAP;
    size_t at = (size_t)((long)first - shift) % LAP;
    double one = 1.0 / (LEVEL_SD * LEVEL_SD);
    double sum = 0.0;
    double squares = 0.0;
    size_t n = 0;
    for (size_t cell = 0; cell < CELLS; cell += stride) {
        const double off = row[cell] - course->pace[at];
        if (!isnan(off)) {
            const double weighted = course->weight[at] * off;
            one += course->weight[at];
            sum += weighted;
            squares += weighted * off;
            n++;
        }
        at += stride;
        at -= at >= LAP ? LAP : 0;
    }
    return (squares - sum * sum / one) / (double)n;
}

/* Shifts that are tried: every `step`-th within `reach` of the centre. */
struct trial {
    long centre;
    long reach;
    long step;
    size_t stride;
};

/* Tries shifts about a centre. With a stride only some cells of the row are
 * asked: coarse first, fine where it is worth it. */
static long best_of(const struct alignment *a,
                    size_t node,
                    const struct trial *trial)
{
    long best = trial->centre;
    double least = INFINITY;
    for (long by = -trial->reach; by <= trial->reach; by += trial->step) {
        const double now =
            misfit_at(a, node, trial->centre + by, trial->stride);
        if (now < least) {
            least = now;
            best = trial->centre + by;
        }
    }
    return best;
}

/* The whole shift at which the row is most like the pattern; none is looked for
 * where the last round found the row in its place. */
static long best_shift(const struct alignment *a, size_t node)
{
    const struct kw_lap_course *course = a->course;
    const double off = a->readings[node].value - course->way[node];
    if (course->fits[node] && fabs(off) < IN_PLACE * a->grid->step)
        return 0;
    struct trial trial = {0, MOST_SHIFT, 4, 4};
    trial.centre = best_of(a, node, &trial);
    trial.reach = trial.step = 2;
    trial.stride = 2;
    return best_of(a, node, &trial);
}

/* Shift (in cells) and level of one row against the pattern. */
static void read_block(const struct alignment *a, size_t node)
{
    struct kw_lap_course *course = a->course;
    struct kw_reading *reading = &a->readings[node];
    const long whole = best_shift(a, node);
    reading->value = NAN;
    course->fits[node] = false;
    const struct sums s = add_up(a, node, whole);
    /* What the row says of its shift once its level is free: a straight has no
     * slope and says nothing. */
    const double information = s.slope2 - s.slope * s.slope / s.one;
    if ((double)s.n < LEAST_SHARE * CELLS || !(information > 0.0))
        return;
    const double part = (s.slope_off - s.slope * s.off / s.one) / information;
    const double level = (s.off - s.slope * part) / s.one;
    const double left = s.off2 - part * s.slope_off - level * s.off;
    const double misfit = fmax(left / (double)s.n, 1.0);
    if (!(fabs(part) < MOST_PART) || !(misfit < MOST_MISFIT) ||
        labs(whole) >= MOST_SHIFT)
        return;
    course->fits[node] = true;
    reading->value = course->way[node] + ((double)whole + part) * a->grid->step;
    reading->variance =
        /* From cells to way. The misfit is paid twice: once for what is left
         * over, once for what a wrong pattern does to the shift. */
        misfit * misfit / information * a->grid->step * a->grid->step;
}

/* Drivers brake and turn in here sooner and there later on every lap: a reading
 * is no better than the readings of that block are, from lap to lap, against
 * the course. */
static void weigh_blocks(const struct alignment *a)
{
    const struct kw_lap_course *course = a->course;
    double *copy = a->scratch + course->n;
    for (size_t from = 0; from < BLOCKS && from < course->n; from++) {
        size_t n = 0;
        for (size_t i = from; i < course->n; i += BLOCKS)
            a->scratch[n++] = a->readings[i].value - course->way[i];
        const double sd = kw_mad_sd(a->scratch, n, 0.0, copy);
        for (size_t i = from; i < course->n; i += BLOCKS)
            a->readings[i].variance = fmax(a->readings[i].variance, sd * sd);
    }
}

/* Way from one lap to the next, as the course has it now. */
static double usual_lap(const struct alignment *a)
{
    const struct kw_lap_course *course = a->course;
    size_t n = 0;
    for (size_t i = 0; i + BLOCKS < course->n; i++)
        a->scratch[n++] = course->way[i + BLOCKS] - course->way[i];
    return n > 0 ? kw_median(a->scratch, n, a->scratch) : course->lap;
}

/* What repeats from lap to lap is taken off before the smoothing and put back
 * behind it. */
static void smooth_value(struct kw_reading *reading, double line, double sign)
{
    reading->value += sign * line;
    reading->smooth += sign * line;
}

/* Readings to course: what is smoothed is the way beyond that of even laps. */
static enum kw_status settle(const struct alignment *a, struct kw_error *error)
{
    struct kw_lap_course *course = a->course;
    course->lap = usual_lap(a);
    for (size_t i = 0; i < course->n; i++)
        smooth_value(&a->readings[i], course->turn[i] * course->lap, -1.0);
    if (kw_smooth_readings(a->readings, course->n, error) != KW_OK)
        return KW_NO_MEMORY;
    double highest = -INFINITY;
    for (size_t i = 0; i < course->n; i++) {
        const double way =
            a->readings[i].smooth + course->turn[i] * course->lap;
        if (isfinite(way))
            course->way[i] = way;
        highest = fmax(highest, course->way[i]);
        course->way[i] = highest;
        course->variance[i] = a->readings[i].smooth_variance;
    }
    return KW_OK;
}

/* How long the kart took from one node to the next. */
static double block_s(const struct alignment *a, size_t node)
{
    return kw_lap_axis_time_at(a->axis, a->course->way[node]) -
           kw_lap_axis_time_at(a->axis, a->course->way[node - 1]);
}

/* Marks where the way is not what the track is long: stops and pit visits. */
static void find_breaks(const struct alignment *a)
{
    const struct kw_lap_course *course = a->course;
    double *took_s = a->scratch;
    const double stop_way =
        a->axis->source == KW_PACE_RPM ? STOP_WAY_RPM : STOP_WAY_SPEED;
    double *same = a->scratch + course->n;
    for (size_t i = 1; i < course->n; i++)
        took_s[i] = block_s(a, i);
    for (size_t i = 1; i < course->n; i++) {
        size_t n = 0;
        for (size_t k = i % BLOCKS; k < course->n; k += BLOCKS) {
            if (k > 0)
                same[n++] = took_s[k];
        }
        const double usual_s = kw_median(same, n, same);
        const double beyond =
            course->way[i] - course->way[i - 1] - course->lap / BLOCKS;
        double extra = 0.0;
        if (took_s[i] > BREAK_RATIO * usual_s + BREAK_EXTRA_S)
            extra = stop_way * course->lap;
        if (kw_is_break(course, i))
            extra = fabs(beyond);
        a->readings[i].extra = extra * extra;
    }
}

/* Each round has a sharper pattern to lay the laps on, and to see by it which
 * jumps are none. Five rounds settle it (tried on simulated sessions that are
 * not scored). */
static enum kw_status refine(const struct alignment *a, struct kw_error *error)
{
    enum kw_status status = KW_OK;
    a->course->lap = usual_lap(a);
    for (size_t round = 0; status == KW_OK && round < ROUNDS; round++) {
        lay_rows(a);
        learn_pattern(a);
        const bool mended = kw_mend_breaks(a->grid, a->course);
        if (mended)
            lay_rows(a);
        if (mended || round == 0)
            find_breaks(a);
        for (size_t node = 0; node < a->course->n; node++)
            read_block(a, node);
        weigh_blocks(a);
        status = settle(a, error);
    }
    return status;
}

/* Likeness of the lap that begins at a node with the common pattern; NAN where
 * it was not driven whole. */
static double likeness_of_lap(const struct alignment *a, size_t node)
{
    const double *row = &a->rows[node * CELLS];
    const double *pace = a->course->pace;
    const size_t first = kw_course_block(a->course, node) * CELLS;
    double sum = 0.0;
    double squares = 0.0;
    double apart = 0.0;
    for (size_t i = 0; i < LAP; i++) {
        const double usual = pace[(first + i) % LAP];
        sum += row[i] + usual;
        squares += row[i] * row[i] + usual * usual;
        apart += (row[i] - usual) * (row[i] - usual);
    }
    return 1.0 - apart / (squares - sum * sum / (2.0 * LAP));
}

/* The middle one of all laps. */
static double usual_likeness(const struct alignment *a)
{
    size_t n = 0;
    lay_rows(a);
    for (size_t node = 0; node + BLOCKS <= a->course->n; node += BLOCKS)
        a->scratch[n++] = likeness_of_lap(a, node);
    return kw_median(a->scratch, n, a->scratch);
}

/* The grid has one cell of the pattern for each step, so that a lap laid over
 * it is read and not computed anew in each round. */
enum kw_status kw_align_laps(const struct kw_lap_axis *axis,
                             struct kw_lap_course *course,
                             struct kw_error *error)
{
    if (course->n == 0)
        return KW_OK;
    struct kw_lap_grid grid = {0};
    struct alignment a = {.axis = axis, .grid = &grid, .course = course};
    const size_t n = course->n;
    enum kw_status status =
        kw_lap_grid_new(axis, course->lap / LAP, &grid, error);
    a.rows = kw_array_new(n, CELLS * sizeof *a.rows, error);
    a.readings = kw_array_new(n, sizeof *a.readings, error);
    a.scratch = kw_array_new(n, 3 * sizeof *a.scratch, error);
    if (a.rows == NULL || a.readings == NULL || a.scratch == NULL)
        status = KW_NO_MEMORY;
    if (status == KW_OK)
        status = refine(&a, error);
    if (status == KW_OK)
        course->likeness = usual_likeness(&a);
    kw_lap_grid_free(&grid);
    free(a.rows);
    free(a.readings);
    free(a.scratch);
    return status;
}
