/* SPDX-License-Identifier: GPL-3.0-or-later */
/* From tested measures to verdicts.
 *
 * Twenty measures at one time in twenty would show a change in most comparisons
 * of nothing. So p is corrected for their number, and a band of EGT needs a
 * neighbour that goes the same way. */
#include "compare/verdict.h"

#include "compare/two_sample.h"
#include "core/array.h"
#include "core/student.h"

#include <gsl/gsl_cdf.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

/* The chance of any false change in a comparison of nothing that is put up
 * with: one in twenty. It is the level of the 95 % interval beside it, and the
 * usual one since Fisher, Statistical Methods for Research Workers (1925; from
 * memory). */
static const double SURE = 0.05;
/* "Would have shown" means four times in five: the usual power for a study
 * (Cohen, Statistical Power Analysis, 1988; from memory). Nine in ten would
 * take a third more laps. */
static const double POWER = 0.8;

/* A carburettor meters over a range of RPM that is wider than one band, so a
 * change that its neighbours do not share at all is luck: the p of a band is
 * believed down to this share of the p of the better neighbour. Common
 * practice, no source; it takes a sixth of the false alarms and 1 in 100 of the
 * changes of 1 % that were found (simulated pairs that are not scored). */
static const double NEIGHBOUR_SHARE = 0.05;

/* All 0 on both sides says that there was none, and is no test. */
bool kw_says_something(const struct kw_measure *measure)
{
    for (int side = 0; side < KW_N_SIDES; side++) {
        for (size_t i = 0; i < measure->n[side]; i++) {
            if (fabs(measure->values[side][i]) > 0.0)
                return true;
        }
    }
    return false;
}

/* A change that would pass the correction (by its first and hardest step) four
 * times in five; half the interval gives the error of the difference. */
static double smallest_change(const struct kw_measure *measure, size_t n_tests)
{
    const double half = 0.5 * (measure->high - measure->low);
    const double error = half / kw_student_reach(measure->df);
    const double share = 0.5 * SURE / (double)n_tests;
    return error * (gsl_cdf_tdist_Qinv(share, measure->df) +
                    gsl_cdf_tdist_Pinv(POWER, measure->df));
}

/* By p corrected for the number of measures: of twenty one would be below 0.05
 * by chance. */
static enum kw_change judge(const struct kw_measure *measure)
{
    if (isnan(measure->p_adjusted))
        return KW_TOO_FEW_LAPS;
    if (measure->p_adjusted >= SURE)
        return KW_NO_CLEAR_CHANGE;
    return measure->difference > 0.0 ? KW_ROSE : KW_FELL;
}

/* 0 on every lap of both sides: no change, and no evidence to correct for. */
static void be_silent(struct kw_measure *measure)
{
    measure->low = 0.0;
    measure->high = 0.0;
    measure->p = 1.0;
    measure->p_adjusted = 1.0;
    measure->smallest = NAN;
    measure->verdict = KW_NO_CLEAR_CHANGE;
}

/* p of a neighbour that changed the same way; 1 where it did not, NAN where
 * there is none. */
static double neighbour_p(const struct kw_measures *measures,
                          size_t i,
                          size_t neighbour)
{
    const struct kw_measure *own = &measures->items[i];
    if (neighbour >= measures->n)
        return NAN;
    const struct kw_measure *other = &measures->items[neighbour];
    if (strcmp(other->name, own->name) != 0)
        return NAN;
    const bool same_way = (other->difference > 0.0) == (own->difference > 0.0);
    return same_way ? other->p : 1.0;
}

/* The p that is corrected for the number of measures; NAN for no evidence. */
static double evidence(const struct kw_measures *measures, size_t i)
{
    const struct kw_measure *measure = &measures->items[i];
    if (!kw_says_something(measure))
        return NAN;
    if (strcmp(measure->name, "egt_c") != 0)
        return measure->p;
    /* fmin() skips NAN; i - 1 wraps round to none. */
    const double better =
        fmin(neighbour_p(measures, i, i - 1), neighbour_p(measures, i, i + 1));
    return isnan(better) || isnan(measure->p)
               ? measure->p
               : fmax(measure->p, NEIGHBOUR_SHARE * better);
}

/* Holm's step-down (Scandinavian Journal of Statistics 6, 1979, 65): holds the
 * chance of any false change, whatever the measures have in common. */
enum kw_status kw_judge_measures(struct kw_measures *measures,
                                 struct kw_error *error)
{
    double *p = kw_array_new(measures->n, 2 * sizeof *p, error);
    if (p == NULL)
        return KW_NO_MEMORY;
    size_t n_tests = 0;
    for (size_t i = 0; i < measures->n; i++) {
        p[i] = evidence(measures, i);
        n_tests += isnan(p[i]) ? 0U : 1U;
    }
    kw_holm(p, measures->n, p + measures->n);
    for (size_t i = 0; i < measures->n; i++) {
        struct kw_measure *measure = &measures->items[i];
        measure->p_adjusted = p[measures->n + i];
        if (!isnan(measure->p) && !kw_says_something(measure)) {
            be_silent(measure);
            continue;
        }
        measure->smallest =
            isnan(measure->p) ? NAN : smallest_change(measure, n_tests);
        measure->verdict = judge(measure);
    }
    free(p);
    return KW_OK;
}
