/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Two like halves. A track whose second half looks like its first comes back
 * after half a lap, and its laps are cut in two. No two bends are the same to
 * the metre: each block of the lap then takes a little longer in every second
 * piece, lap after lap, or fits in no other. Real laps vary by the driver,
 * whole or odd. */
#include "analysis/lap_halves.h"

#include "core/student.h"

#include <gsl/gsl_cdf.h>
#include <math.h>

/* Pieces of each kind that a block must have, and blocks that must have them.
 */
static const double FEWEST_PIECES = 4.0;
static const double FEWEST_BLOCKS = 6.0;
/* Spread of a block's time that is always allowed for, as a share of it: the
 * logger's clock is no better. Common practice, no source. */
static const double LEAST_SPREAD = 1e-4;
/* No p below this adds to the proof: one block alone is not to decide. */
static const double LEAST_P = 1e-12;

/* Sums over the pieces of one kind. */
struct sums {
    double n;
    double sum;
    double squares;
};

/* Around it as well, so that a spin next door does not count. */
static bool fits_about(const struct kw_lap_course *course, size_t node)
{
    return node > 0 && node + 1 < course->n && course->fits[node - 1] &&
           course->fits[node] && course->fits[node + 1];
}

/* Nodes come block by block, so every KW_COURSE_BLOCKS-th is of the same one.
 */
static void add_up(const struct kw_lap_axis *axis,
                   const struct kw_lap_course *course,
                   size_t block,
                   struct sums kinds[2])
{
    size_t piece = 0;
    for (size_t node = block; node < course->n;
         node += KW_COURSE_BLOCKS, piece++) {
        if (!fits_about(course, node))
            continue;
        const double from = course->turn[node] - 0.5 / KW_COURSE_BLOCKS;
        const double took = log(kw_course_block_s(axis, course, from));
        struct sums *kind = &kinds[piece % 2];
        kind->n += 1.0;
        kind->sum += took;
        kind->squares += took * took;
    }
}

/* Student's t with one variance for both kinds. */
static double block_p(const struct sums kinds[2])
{
    const double df = kinds[0].n + kinds[1].n - 2.0;
    double off = 0.0;
    double variance = LEAST_SPREAD * LEAST_SPREAD;
    double weight = 0.0;
    for (size_t i = 0; i < 2; i++) {
        const double mean = kinds[i].sum / kinds[i].n;
        variance += fmax(kinds[i].squares - kinds[i].sum * mean, 0.0) / df;
        weight += 1.0 / kinds[i].n;
        off += i == 0 ? mean : -mean;
    }
    return kw_student_p(off / sqrt(variance * weight), df);
}

double kw_chance_of_halves(const struct kw_lap_axis *axis,
                           const struct kw_lap_course *course)
{
    double logs = 0.0;
    double blocks = 0.0;
    for (size_t block = 0; block < KW_COURSE_BLOCKS; block++) {
        struct sums kinds[2] = {{0.0, 0.0, 0.0}, {0.0, 0.0, 0.0}};
        add_up(axis, course, block, kinds);
        if (kinds[0].n < FEWEST_PIECES || kinds[1].n < FEWEST_PIECES)
            continue;
        logs -= 2.0 * log(fmax(block_p(kinds), LEAST_P));
        blocks += 1.0;
    }
    return blocks < FEWEST_BLOCKS ? NAN : gsl_cdf_chisq_Q(logs, 2.0 * blocks);
}

/* How often a block was passed in the pieces of each kind, and fitted. */
struct fits {
    unsigned passed[2];
    unsigned fitted[2];
};

static struct fits count_fits(const struct kw_lap_course *course, size_t block)
{
    struct fits fits = {{0, 0}, {0, 0}};
    size_t piece = 0;
    for (size_t node = block; node < course->n;
         node += KW_COURSE_BLOCKS, piece++) {
        fits.passed[piece % 2]++;
        fits.fitted[piece % 2] += course->fits[node] ? 1 : 0;
    }
    return fits;
}

/* Of all ways in which as many fits could lie among the pieces, the share in
 * which this kind has as many of them or more. */
static double chance_of_so_many(const struct fits *fits, size_t kind)
{
    if (fits->fitted[kind] == 0)
        return 1.0;
    return gsl_cdf_hypergeometric_Q(
        fits->fitted[kind] - 1, fits->passed[kind], fits->passed[1 - kind],
        fits->fitted[kind] + fits->fitted[1 - kind]);
}

double kw_chance_of_turns(const struct kw_lap_course *course)
{
    double least[2] = {1.0, 1.0};
    for (size_t block = 0; block < KW_COURSE_BLOCKS; block++) {
        const struct fits fits = count_fits(course, block);
        for (size_t kind = 0; kind < 2; kind++)
            least[kind] = fmin(least[kind], chance_of_so_many(&fits, kind));
    }
    const double chosen_from = (double)KW_COURSE_BLOCKS;
    return fmin(chosen_from * least[0] * chosen_from * least[1], 1.0);
}
