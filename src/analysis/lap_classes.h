/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Half a lap or a whole one: whether every m-th piece of a series is of a kind
 * of its own. */
#ifndef KARTWRIGHT_ANALYSIS_LAP_CLASSES_H
#define KARTWRIGHT_ANALYSIS_LAP_CLASSES_H

#include "kartwright/error.h"

/* As many as are told apart. */
enum { KW_MOST_CLASSES = 8 };

/* A series that seems to come back after a period.
 *
 * values  values[n], none NAN.
 * period  in values, to a fraction of one; at least 3. */
struct kw_pieced_series {
    const double *values;
    size_t n;
    double period;
};

/* How likely m classes of equal pieces (the k-th, the k + m-th, ...) are to
 * differ as much as these do: next to 0 where the true period is m of them.
 *
 * m        2 to KW_MOST_CLASSES.
 * chance   NAN where there are too few pieces to tell.
 * returns  KW_OK; KW_NO_MEMORY.
 * source   analysis of variance: Fisher, Statistical Methods for Research
 *          Workers, 1925 (from memory). */
enum kw_status kw_chance_of_classes(const struct kw_pieced_series *series,
                                    size_t m,
                                    double *chance,
                                    struct kw_error *error);

#endif
