/* SPDX-License-Identifier: GPL-3.0-or-later */
/* How far chance moves the mean of a few values: Student's t distribution.
 *
 * source  Student, Biometrika 6 (1908) 1; tables of NIST/SEMATECH e-Handbook
 *         1.3.6.7.2. */
#ifndef KARTWRIGHT_CORE_STUDENT_H
#define KARTWRIGHT_CORE_STUDENT_H

/* How easily chance alone gives a value of t as far from 0, on either side.
 *
 * df       degrees of freedom, > 0; need not be whole.
 * returns  NAN for NAN. */
double kw_student_p(double t, double df);

/* How many standard errors a 95 % interval reaches to each side. */
double kw_student_reach(double df);

#endif
