/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The jet that keeps the mixture when the air changes, and how sure that is.
 *
 * A carburettor meters fuel by the root of the air's density, while the engine
 * breathes air by the density itself: so the mixture goes with the inverse
 * root, and thin air runs rich (Heywood, Internal Combustion Engine
 * Fundamentals, ch. 7; from memory). */
#include "kartwright/trackside.h"

#include <math.h>

/* How far a reading may be off, about 95 %: garden thermometer, weather station
 * a few kilometres away, cheap hygrometer. Common practice, no source. */
static const double TEMP_ERROR_C = 1.0;
static const double PRESSURE_ERROR_PA = 150.0;
static const double HUMIDITY_ERROR = 0.05;

/* Rounding must not ask for the next size because of the last bit. */
static const double SIZE_ROUNDING = 1e-9;

/* A carburettor meters fuel by the pressure drop of the air: fuel goes with the
 * root of the air's density, the air itself with its density. So thin air makes
 * the same jet run rich. */
double kw_mixture_change_percent(double density_then_kg_m3,
                                 double density_now_kg_m3)
{
    return 100.0 * (sqrt(density_then_kg_m3 / density_now_kg_m3) - 1.0);
}

/* Relative error of the density that the three readings leave; they err
 * independently, so their squares add. */
static double relative_density_error(const struct kw_air *air)
{
    const double density = kw_air_density_kg_m3(air);
    struct kw_air warmer = *air;
    struct kw_air higher = *air;
    struct kw_air damper = *air;
    warmer.temp_c += TEMP_ERROR_C;
    higher.pressure_pa += PRESSURE_ERROR_PA;
    damper.humidity += HUMIDITY_ERROR;
    const double t = kw_air_density_kg_m3(&warmer) / density - 1.0;
    const double p = kw_air_density_kg_m3(&higher) / density - 1.0;
    const double h = kw_air_density_kg_m3(&damper) / density - 1.0;
    return sqrt(t * t + p * p + h * h);
}

/* Rounded up to the next size, since richer first; the errors of both days'
 * readings make the range that is told with it. */
enum kw_status kw_jet_for_air(const struct kw_air *then,
                              const struct kw_air *today,
                              const struct kw_jet_options *options,
                              struct kw_jet *out,
                              struct kw_error *error)
{
    if (!(options->known_good > 0.0) || !(options->step > 0.0))
        return kw_fail(error, KW_BAD_USAGE, NULL, 0,
                       "a jet number and its step must be above 0",
                       "give the number on the jet, as 142");
    /* Area with the square root of the density, so the bore with the fourth. */
    const double power = options->number == KW_JET_BY_FLOW ? 0.5 : 0.25;
    const double ratio =
        kw_air_density_kg_m3(today) / kw_air_density_kg_m3(then);
    const double error_then = relative_density_error(then);
    const double error_today = relative_density_error(today);
    const double spread =
        power * sqrt(error_then * error_then + error_today * error_today);
    out->exact = options->known_good * pow(ratio, power);
    out->low = out->exact * (1.0 - spread);
    out->high = out->exact * (1.0 + spread);
    const double steps = (out->exact - options->known_good) / options->step;
    out->fit =
        options->known_good + options->step * ceil(steps - SIZE_ROUNDING);
    return KW_OK;
}
