/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Moist air: density, height and power, each by its published formula.
 *
 * CIPM-2007 for the density of moist air (Picard et al., Metrologia 45, 2008,
 * 149), ISO 2533 for the standard atmosphere, ISO 1585 for power: the sources
 * stand at each. */
#include "kartwright/trackside.h"

#include <math.h>

static const double ZERO_CELSIUS_K = 273.15;

/* ---- CIPM-2007 (Picard et al. 2008, appendix A1) ------------------------- */

static const double GAS_CONSTANT_J_MOL_K = 8.314472; /* CODATA 2006, as there */
static const double WATER_KG_MOL = 18.01528e-3;
static const double DRY_AIR_KG_MOL = 28.96546e-3; /* with 400 ppm CO2 */

/* How much water the air can hold; it doubles for each 10 C or so. */
double kw_saturation_pressure_pa(double temp_c)
{
    /* psv = 1 Pa x exp(A T^2 + B T + C + D/T) */
    const double t_k = temp_c + ZERO_CELSIUS_K;
    return exp(1.2378847e-5 * t_k * t_k - 1.9121316e-2 * t_k + 33.93711047 -
               6.3431645e3 / t_k);
}

/* Water's vapour pressure in air is a little above that over pure water:
 * f = alpha + beta p + gamma t^2. */
static double enhancement(double pressure_pa, double temp_c)
{
    return 1.00062 + 3.14e-8 * pressure_pa + 5.6e-7 * temp_c * temp_c;
}

/* Water takes the place of air: a damp day gives less oxygen. */
double kw_vapour_pressure_pa(const struct kw_air *air)
{
    return air->humidity * enhancement(air->pressure_pa, air->temp_c) *
           kw_saturation_pressure_pa(air->temp_c);
}

/* Z, by how much moist air departs from an ideal gas. */
static double compressibility(double pressure_pa, double temp_c, double water)
{
    const double p_over_t = pressure_pa / (temp_c + ZERO_CELSIUS_K);
    const double first = 1.58123e-6 - 2.9331e-8 * temp_c +
                         1.1043e-10 * temp_c * temp_c +
                         (5.707e-6 - 2.051e-8 * temp_c) * water +
                         (1.9898e-4 - 2.376e-6 * temp_c) * water * water;
    const double second = 1.83e-11 - 0.765e-8 * water * water;
    return 1.0 - p_over_t * first + p_over_t * p_over_t * second;
}

/* Water is lighter than the air that it displaces, hence the last factor. */
double kw_air_density_kg_m3(const struct kw_air *air)
{
    /* rho = p Ma / (Z R T) x [1 - xv (1 - Mv/Ma)] */
    const double water = kw_vapour_pressure_pa(air) / air->pressure_pa;
    const double t_k = air->temp_c + ZERO_CELSIUS_K;
    const double z = compressibility(air->pressure_pa, air->temp_c, water);
    return air->pressure_pa * DRY_AIR_KG_MOL /
           (z * GAS_CONSTANT_J_MOL_K * t_k) *
           (1.0 - water * (1.0 - WATER_KG_MOL / DRY_AIR_KG_MOL));
}

/* ---- ISO 2533, lowest layer ---------------------------------------------- */

static const double SEA_LEVEL_K = 288.15;
static const double SEA_LEVEL_PA = 101325.0;
static const double LAPSE_K_M = 0.0065;

/* g0 M / (R* L), pure number: p goes with T to this power, density with one
 * less. */
static const double PRESSURE_EXPONENT = 5.255876;

static const double LOWEST_M = -500.0;
static const double HIGHEST_M = 11000.0;

/* In the lowest layer the temperature falls in a straight line. */
double kw_station_pressure_pa(double sea_level_pa, double elevation_m)
{
    if (!(elevation_m >= LOWEST_M && elevation_m <= HIGHEST_M))
        return NAN;
    return sea_level_pa *
           pow(1.0 - LAPSE_K_M * elevation_m / SEA_LEVEL_K, PRESSURE_EXPONENT);
}

double kw_standard_pressure_pa(double elevation_m)
{
    return kw_station_pressure_pa(SEA_LEVEL_PA, elevation_m);
}

/* The law of pressure solved for the height, by density. */
double kw_density_altitude_m(double density_kg_m3)
{
    return SEA_LEVEL_K / LAPSE_K_M *
           (1.0 - pow(density_kg_m3 / KW_STANDARD_DENSITY_KG_M3,
                      1.0 / (PRESSURE_EXPONENT - 1.0)));
}

/* ---- ISO 1585 ------------------------------------------------------------ */

double kw_power_correction_iso1585(const struct kw_air *air)
{
    /* alpha = (99 / ps)^1.2 x (T / 298)^0.6, ps the dry pressure in kPa (from
     * memory; its rows of the reference table are met in the tests). The
     * standard counts kelvin as t + 273. */
    const double dry_kpa =
        (air->pressure_pa - kw_vapour_pressure_pa(air)) / 1000.0;
    return pow(99.0 / dry_kpa, 1.2) * pow((air->temp_c + 273.0) / 298.0, 0.6);
}
