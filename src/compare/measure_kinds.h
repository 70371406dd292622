/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What can be measured of a lap, and how far each measure is believed. A new
 * measure is a new row of the table in measure_kinds.c. */
#ifndef KARTWRIGHT_COMPARE_MEASURE_KINDS_H
#define KARTWRIGHT_COMPARE_MEASURE_KINDS_H

#include "compare/lap_figures.h"

/* A lap says something of a band in which it spends so long, seconds. Common
 * practice, no source. */
#define KW_SECONDS_IN_BAND 1.0

/* A reading that is rounded to steps lies evenly between their ends, and
 * 1 / sqrt(12) of a step is the standard deviation of that; a lap's time is the
 * difference of two rounded ones, sqrt(2) times as much. */
#define KW_SD_OF_ROUNDING 0.29
#define KW_SD_OF_TWO_ROUNDINGS 0.41

/* Of one lap: what the measure says; NAN where it says nothing. */
typedef double kw_lap_value(const struct kw_lap_figures *row, size_t band);

/* How far one session stands from the usual, as a standard deviation: an amount
 * in the measure's unit, and a share of its level. Fuel and air drift, drivers
 * have days; 1 C is a tenth of a percent of mixture. Loggers that are not alike
 * cut tops and undo lags at other rates. Measured on simulated pairs with seeds
 * that are not scored, see scripts/score-compare. */
struct kw_apart {
    double amount;
    double share;
};

/* A kind of measure.
 *
 * all_flying  laps with a drop-out count too.
 * even_zero   shown even where it is 0 on all laps.
 * is_count    mostly 0, or of two kinds: it has no normal spread.
 * floor       smallest standard deviation that is believed, in the measure's
 *             unit; floors of resolutions are added. Common practice, no
 *             source.
 * alike, unlike  what two sessions stand apart with nothing changed, where
 *             their loggers are of one kind and where they are not.
 * by_rpm_step, by_lap_step, by_egt_step  how many steps of that resolution the
 *             floor is, for those that hang on single readings. */
struct kw_measure_kind {
    const char *name;
    const char *unit;
    kw_lap_value *value;
    bool all_flying;
    bool even_zero;
    bool is_count;
    double floor;
    struct kw_apart alike;
    struct kw_apart unlike;
    double by_rpm_step;
    double by_lap_step;
    double by_egt_step;
};

/* EGT under load, and RPM gained in a pull, of one band of RPM. */
extern const struct kw_measure_kind kw_heat_kind;
extern const struct kw_measure_kind kw_gain_kind;

/* Those of a whole lap, in the order in which they are shown.
 *
 * n  how many. */
const struct kw_measure_kind *kw_whole_lap_kinds(size_t *n);

#endif
