/* SPDX-License-Identifier: GPL-3.0-or-later */
/* From the numbers of a time column to seconds. */
#ifndef KARTWRIGHT_IMPORT_TIME_FORM_H
#define KARTWRIGHT_IMPORT_TIME_FORM_H

#include "core/units.h"

#include <stdbool.h>
#include <stddef.h>

/* How a time column of plain numbers counts: seconds are (number - origin) *
 * factor.
 *
 * unit     in which it counts; never NULL.
 * why      it was told so, for the person; NULL where the file states it.
 * asks     the person has to know: it is not the plain one, seconds with their
 *          decimals.
 * packed   140321.5 stands for 14:03:21.5: no number of seconds.
 * of_day   it begins again at midnight.
 * on_wall  the clock on the wall, as opposed to seconds since 1970 in UTC. */
struct kw_time_form {
    const struct kw_unit *unit;
    const char *why;
    bool asks;
    double factor;
    double origin;
    bool packed;
    bool of_day;
    bool on_wall;
};

/* Tells the form from the unit that is stated (NULL for none) and, where there
 * is none, from the usual step, the length and the size of values[n]: no kart
 * is logged more slowly than once a second, give or take, or for half a day.
 *
 * scratch  scratch[n]. */
struct kw_time_form kw_time_form_of(const struct kw_unit *stated,
                                    const double *values,
                                    size_t n,
                                    double *scratch);

/* One number of a column of that form in seconds. */
double kw_time_seconds(const struct kw_time_form *form, double value);

/* A first time stamp that is a date in seconds since 1970, else NAN.
 *
 * dated  the column has dates; else a number of the size of today's. */
double kw_start_of_epoch(double first_s, bool dated);

#endif
