/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The table of what can be measured of a lap. Heat and pull are told band by
 * band, since a jet works at the top end and a needle below it; all else is of
 * the whole lap. */
#include "compare/measure_kinds.h"

#include <math.h>

/* Seconds in the band weigh the gas: a lap that only brushes it says
 * nothing. */
static double heat_of(const struct kw_lap_figures *row, size_t band)
{
    return row->band_s[band] >= KW_SECONDS_IN_BAND
               ? row->band_heat_c_s[band] / row->band_s[band]
               : NAN;
}

/* How strongly it pulls: what a rich mixture or a slipping clutch costs. */
static double gain_of(const struct kw_lap_figures *row, size_t band)
{
    return row->gain_s[band] >= KW_SECONDS_IN_BAND
               ? row->gain_rpm[band] / row->gain_s[band]
               : NAN;
}

/* Below, the band is not asked: they are of the whole lap. */
static double peak_of(const struct kw_lap_figures *row, size_t band)
{
    (void)band;
    return row->egt_peak_c;
}

static double mean_of(const struct kw_lap_figures *row, size_t band)
{
    (void)band;
    return row->egt_mean_c;
}

static double over_of(const struct kw_lap_figures *row, size_t band)
{
    (void)band;
    return row->over_limit_s;
}

static double lean_of(const struct kw_lap_figures *row, size_t band)
{
    (void)band;
    return row->lean_s;
}

static double time_of(const struct kw_lap_figures *row, size_t band)
{
    (void)band;
    return row->time_s;
}

static double top_of(const struct kw_lap_figures *row, size_t band)
{
    (void)band;
    return row->rpm_max;
}

static double low_of(const struct kw_lap_figures *row, size_t band)
{
    (void)band;
    return row->rpm_min;
}

static double dropouts_of(const struct kw_lap_figures *row, size_t band)
{
    (void)band;
    return row->dropouts;
}

const struct kw_measure_kind kw_heat_kind = {.name = "egt_c",
                                             .unit = "C",
                                             .value = heat_of,
                                             .floor = 0.5,
                                             .alike = {.amount = 0.8},
                                             .unlike = {.amount = 4.0}};
const struct kw_measure_kind kw_gain_kind = {.name = "rpm_gain_rpm_s",
                                             .unit = "rpm/s",
                                             .value = gain_of,
                                             .floor = 10.0,
                                             .alike = {.share = 0.015},
                                             .unlike = {.share = 0.03}};
static const struct kw_measure_kind whole_lap[] = {
    {.name = "egt_peak_c",
     .unit = "C",
     .value = peak_of,
     .floor = 0.5,
     .by_egt_step = KW_SD_OF_ROUNDING,
     .alike = {.amount = 1.5},
     .unlike = {.amount = 5.0}},
    /* Hangs on how long the driver stands on the throttle, too. */
    {.name = "egt_mean_c",
     .unit = "C",
     .value = mean_of,
     .floor = 0.5,
     .alike = {.amount = 3.0},
     .unlike = {.amount = 4.0}},
    {.name = "over_limit_s",
     .unit = "s",
     .value = over_of,
     .is_count = true,
     .floor = 0.1,
     .by_lap_step = KW_SD_OF_ROUNDING},
    {.name = "lean_seconds_per_lap",
     .unit = "s",
     .value = lean_of,
     .is_count = true,
     .floor = 0.5,
     .even_zero = true},
    {.name = "lap_time_s",
     .unit = "s",
     .value = time_of,
     .floor = 0.02,
     .by_lap_step = KW_SD_OF_TWO_ROUNDINGS,
     .alike = {.share = 0.002},
     .unlike = {.share = 0.002}},
    {.name = "rpm_max",
     .unit = "rpm",
     .value = top_of,
     .floor = 10.0,
     .by_rpm_step = KW_SD_OF_ROUNDING,
     .alike = {.share = 0.002},
     .unlike = {.share = 0.003}},
    {.name = "rpm_min",
     .unit = "rpm",
     .value = low_of,
     .floor = 10.0,
     .by_rpm_step = KW_SD_OF_ROUNDING,
     .alike = {.share = 0.004},
     .unlike = {.share = 0.01}},
    {.name = "dropouts_per_lap",
     .unit = "",
     .value = dropouts_of,
     .is_count = true,
     .floor = 0.3,
     .all_flying = true}};

const struct kw_measure_kind *kw_whole_lap_kinds(size_t *n)
{
    *n = sizeof whole_lap / sizeof whole_lap[0];
    return whole_lap;
}
