/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Weighted least squares with few terms and many rows, one row at a time.
 *
 *     struct kw_least_squares fit;
 *     kw_least_squares_start(&fit, 2);
 *     for (...)
 *         kw_least_squares_add(&fit, (double[]){1.0, x[i]}, y[i], weight[i]);
 *     if (kw_least_squares_solve(&fit, ridge, coefficients)) ...
 *
 * The normal equations are kept, not the rows: enough for terms of like size
 * that are not nearly the same, which is what the models here are made of.
 * GSL's Cholesky routine ends the program when the terms are not independent;
 * this one says so. */
#ifndef KARTWRIGHT_SIGNAL_LEAST_SQUARES_H
#define KARTWRIGHT_SIGNAL_LEAST_SQUARES_H

#include <stdbool.h>
#include <stddef.h>

enum { KW_LEAST_SQUARES_TERMS = 24 };

/* n_terms  at most KW_LEAST_SQUARES_TERMS.
 * product  lower triangle of the sum of weight * row * row'.
 * moment   sum of weight * row * y.
 * square   sum of weight * y * y.
 * weight   sum of the weights. */
struct kw_least_squares {
    size_t n_terms;
    double product[KW_LEAST_SQUARES_TERMS][KW_LEAST_SQUARES_TERMS];
    double moment[KW_LEAST_SQUARES_TERMS];
    double square;
    double weight;
};

void kw_least_squares_start(struct kw_least_squares *fit, size_t n_terms);

/* row  row[n_terms]; finite, as are y and the weight. */
void kw_least_squares_add(struct kw_least_squares *fit,
                          const double *row,
                          double y,
                          double weight);

/* Solves for the coefficients (Cholesky).
 *
 * ridge         ridge[n_terms] >= 0, added to the diagonal: the inverse square
 *               of how large a coefficient may be, in units of the noise.
 * coefficients  coefficients[n_terms]; untouched when the result is false.
 * returns       false when the terms are not independent. */
bool kw_least_squares_solve(const struct kw_least_squares *fit,
                            const double *ridge,
                            double *coefficients);

/* The weighted sum of squared residuals of those coefficients, never < 0. */
double kw_least_squares_residual(const struct kw_least_squares *fit,
                                 const double *coefficients);

#endif
