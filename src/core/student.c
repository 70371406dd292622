/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Student's t, two-sided: nobody here knows beforehand which way a change
 * goes. */
#include "student.h"

#include <gsl/gsl_cdf.h>
#include <math.h>

double kw_student_p(double t, double df)
{
    return 2.0 * gsl_cdf_tdist_Q(fabs(t), df);
}

/* 2.5 % are left out at each end. */
double kw_student_reach(double df)
{
    return gsl_cdf_tdist_Pinv(0.975, df);
}
