/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Weighted least squares by the normal equations.
 *
 * Sums of products instead of rows: a session of an hour has 72,000 of them and
 * the models a dozen terms. It squares the condition of the problem, which is
 * why terms are centred and scaled by those who use it, and why a ridge can
 * hold back what the rows hardly know. */
#include "signal/least_squares.h"

#include <assert.h>
#include <math.h>

/* A pivot this much smaller than its diagonal says that a term is a sum of
 * others: some ten digits were lost. */
static const double LOST_DIGITS = 1e-11;

/* A fit on the stack: no allocation, nothing to free. */
void kw_least_squares_start(struct kw_least_squares *fit, size_t n_terms)
{
    assert(n_terms <= KW_LEAST_SQUARES_TERMS);
    *fit = (struct kw_least_squares){.n_terms = n_terms};
}

/* The hot loop of both models: one triangle only. */
void kw_least_squares_add(struct kw_least_squares *fit,
                          const double *row,
                          double y,
                          double weight)
{
    for (size_t i = 0; i < fit->n_terms; i++) {
        const double weighted = weight * row[i];
        for (size_t j = 0; j <= i; j++)
            fit->product[i][j] += weighted * row[j];
        fit->moment[i] += weighted * y;
    }
    fit->square += weight * y * y;
    fit->weight += weight;
}

/* Lower triangle l with l l' = product + ridge. */
static bool decompose(const struct kw_least_squares *fit,
                      const double *ridge,
                      double l[][KW_LEAST_SQUARES_TERMS])
{
    for (size_t i = 0; i < fit->n_terms; i++) {
        for (size_t j = 0; j <= i; j++) {
            double sum = fit->product[i][j] + (i == j ? ridge[i] : 0.0);
            const double diagonal = sum;
            for (size_t k = 0; k < j; k++)
                sum -= l[i][k] * l[j][k];
            if (i != j) {
                l[i][j] = sum / l[j][j];
                continue;
            }
            /* Written so that NAN is refused too. */
            if (!(sum > LOST_DIGITS * diagonal))
                return false;
            /* Cholesky (1910): half the work of elimination, and stable for
             * such a matrix without exchanging rows. */
            l[i][i] = sqrt(sum);
        }
    }
    return true;
}

/* Forward, then backward substitution. */
bool kw_least_squares_solve(const struct kw_least_squares *fit,
                            const double *ridge,
                            double *coefficients)
{
    double l[KW_LEAST_SQUARES_TERMS][KW_LEAST_SQUARES_TERMS];
    double z[KW_LEAST_SQUARES_TERMS];
    if (!decompose(fit, ridge, l))
        return false;
    for (size_t i = 0; i < fit->n_terms; i++) {
        z[i] = fit->moment[i];
        for (size_t k = 0; k < i; k++)
            z[i] -= l[i][k] * z[k];
        z[i] /= l[i][i];
    }
    for (size_t i = fit->n_terms; i-- > 0;) {
        for (size_t k = i + 1; k < fit->n_terms; k++)
            z[i] -= l[k][i] * z[k];
        z[i] /= l[i][i];
    }
    for (size_t i = 0; i < fit->n_terms; i++)
        coefficients[i] = z[i];
    return true;
}

/* y'y - 2 c'X'y + c'X'X c, from the sums alone; rounding may take it below
 * zero. */
double kw_least_squares_residual(const struct kw_least_squares *fit,
                                 const double *coefficients)
{
    double sum = fit->square;
    for (size_t i = 0; i < fit->n_terms; i++) {
        double row = 0.0;
        for (size_t j = 0; j < fit->n_terms; j++) {
            const double product =
                j <= i ? fit->product[i][j] : fit->product[j][i];
            row += product * coefficients[j];
        }
        sum += coefficients[i] * (row - 2.0 * fit->moment[i]);
    }
    return fmax(sum, 0.0);
}
