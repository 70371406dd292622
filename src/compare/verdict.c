/* SPDX-License-Identifier: GPL-3.0-or-later */
/* From tested measures to verdicts.
 *
 * Twenty measures at one time in twenty would show a change in most comparisons
 * of nothing. So p is corrected for their number: first for the questions that
 * a comparison asks (is it hotter, is it quicker, does it pull), then for the
 * measures that answer one question. Bands that agree are one finding, and six
 * bands of EGT take nothing from the lap time. */
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

/* A change that would pass the correction (by its hardest step) four times in
 * five; half the interval gives the error of the difference. */
static double smallest_change(const struct kw_measure *measure, double n_tests)
{
    const double half = 0.5 * (measure->high - measure->low);
    const double error = half / kw_student_reach(measure->df);
    const double share = 0.5 * SURE / n_tests;
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

/* ---- questions ----------------------------------------------------------- */

/* What a measure answers. */
enum question { HEAT, PACE, PULL, CLUTCH, ILLS, REST, N_QUESTIONS };

/* How much of the one chance in twenty each question gets, as a share among
 * those that are asked: most to EGT, which six bands have to part among them;
 * least to what hangs on the driver or on one reading of a lap. Common
 * practice, no source; beside equal shares 4 in 100 more of the changes of 1 %
 * are found (simulated pairs that are not scored). */
static const double weights[N_QUESTIONS] = {
    [HEAT] = 1.25,  [PACE] = 1.0, [PULL] = 1.0,
    [CLUTCH] = 1.0, [ILLS] = 1.0, [REST] = 0.25};

/* What is not in the table is of the rest. */
static enum question question_of(const struct kw_measure *measure)
{
    static const struct {
        const char *name;
        enum question question;
    } table[] = {{"egt_c", HEAT},
                 {"lap_time_s", PACE},
                 {"rpm_gain_rpm_s", PULL},
                 {"rpm_max", PULL},
                 {"clutch_engagement_s", CLUTCH},
                 {"clutch_hold_rpm", CLUTCH},
                 {"over_limit_s", ILLS},
                 {"lean_seconds_per_lap", ILLS},
                 {"dropouts_per_lap", ILLS}};
    for (size_t i = 0; i < sizeof table / sizeof table[0]; i++) {
        if (strcmp(table[i].name, measure->name) == 0)
            return table[i].question;
    }
    return REST;
}

/* By how much the p of a question is multiplied: one over its share of the
 * chance (weighted Bonferroni, Holm 1979, section 3, from memory). Questions
 * that nothing answers leave their share to the others. */
static void share_out(const struct kw_measures *measures,
                      const double *p,
                      double factors[N_QUESTIONS])
{
    double asked[N_QUESTIONS] = {0.0};
    double sum = 0.0;
    for (size_t i = 0; i < measures->n; i++) {
        if (!isnan(p[i]))
            asked[question_of(&measures->items[i])] = 1.0;
    }
    for (int q = 0; q < N_QUESTIONS; q++)
        sum += asked[q] * weights[q];
    for (int q = 0; q < N_QUESTIONS; q++)
        factors[q] = sum / weights[q];
}

/* Corrects p[n] question by question.
 *
 * work  2 n values of room. */
static void correct(struct kw_measures *measures,
                    const double *p,
                    double *work,
                    const double factors[N_QUESTIONS])
{
    const size_t n = measures->n;
    for (int q = 0; q < N_QUESTIONS; q++) {
        size_t counted = 0;
        for (size_t i = 0; i < n; i++) {
            const bool own = (int)question_of(&measures->items[i]) == q;
            work[i] = own ? p[i] : NAN;
            counted += isnan(work[i]) ? 0U : 1U;
        }
        kw_hochberg(work, n, work + n);
        for (size_t i = 0; i < n; i++) {
            struct kw_measure *measure = &measures->items[i];
            if ((int)question_of(measure) != q)
                continue;
            /* fmin() would take 1 for NAN. */
            measure->p_adjusted =
                isnan(work[n + i]) ? NAN : fmin(work[n + i] * factors[q], 1.0);
            measure->smallest =
                isnan(measure->p) || counted == 0
                    ? NAN
                    : smallest_change(measure, (double)counted * factors[q]);
        }
    }
}

/* Weights hold the chance of any false change over the questions whatever they
 * have in common; within one, measures of the same laps go together, which is
 * what Hochberg's step-up asks for. */
enum kw_status kw_judge_measures(struct kw_measures *measures,
                                 struct kw_error *error)
{
    double factors[N_QUESTIONS];
    double *p = kw_array_new(measures->n, 3 * sizeof *p, error);
    if (p == NULL)
        return KW_NO_MEMORY;
    for (size_t i = 0; i < measures->n; i++)
        p[i] = evidence(measures, i);
    share_out(measures, p, factors);
    correct(measures, p, p + measures->n, factors);
    for (size_t i = 0; i < measures->n; i++) {
        struct kw_measure *measure = &measures->items[i];
        if (!isnan(measure->p) && !kw_says_something(measure))
            be_silent(measure);
        else
            measure->verdict = judge(measure);
    }
    free(p);
    return KW_OK;
}
