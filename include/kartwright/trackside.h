/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The arithmetic of a race day: air, jet, gearing and chain.
 *
 *     struct kw_air today = {.temp_c = 24, .pressure_pa = 100800,
 *                            .humidity = 0.55};
 *     double rho = kw_air_density_kg_m3(&today);
 *
 * Pure sums: no files, no state. A value that cannot be worked out is NAN.
 */
#ifndef KARTWRIGHT_TRACKSIDE_H
#define KARTWRIGHT_TRACKSIDE_H

#include "kartwright/error.h"
#include "kartwright/review.h"

#ifdef __cplusplus
extern "C" {
#endif
#if defined(__GNUC__)
#pragma GCC visibility push(default)
#endif

/* ---- air ----------------------------------------------------------------- */

/* The air that the engine breathes.
 *
 * temp_c       -30 to 55.
 * pressure_pa  station pressure, where the kart is; 60,000 to 110,000.
 * humidity     relative, 0 to 1. */
struct kw_air {
    double temp_c;
    double pressure_pa;
    double humidity;
};

/* Density of the ISO 2533 standard atmosphere at sea level, kg/m3. */
#define KW_STANDARD_DENSITY_KG_M3 1.225

/* Reads "T=21 P=1012 RH=45" in any order. T in C or with F ("T=70F"), P in hPa
 * or with hPa, mbar, inHg or mmHg, RH in percent.
 *
 * out      untouched on error.
 * returns  KW_OK; KW_BAD_USAGE when a part is missing, unknown or impossible.
 */
enum kw_status kw_air_parse(const char *text,
                            struct kw_air *out,
                            struct kw_error *error);

/* Whether a relative humidity can be one, in percent. Air that is drier than
 * 1 % and not quite dry is nowhere near a track: 0.55 was to be 55. */
bool kw_humidity_is_possible(double percent);

/* Each reads one value with an optional unit, as kw_air_parse() does.
 *
 * returns  KW_OK; KW_BAD_USAGE for no number, no such unit or a value that no
 *          race day has. */
enum kw_status kw_temp_parse(const char *text,
                             double *temp_c,
                             struct kw_error *error);
enum kw_status kw_pressure_parse(const char *text,
                                 double *pressure_pa,
                                 struct kw_error *error);

/* Saturation vapour pressure over water, Pa.
 *
 * source  CIPM-2007: Picard, Davis, Glaser & Fujii, Metrologia 45 (2008) 149,
 *         appendix A1. */
double kw_saturation_pressure_pa(double temp_c);

/* Partial pressure of the water in this air, Pa: humidity, enhancement factor
 * and saturation pressure of CIPM-2007. */
double kw_vapour_pressure_pa(const struct kw_air *air);

/* Density of moist air, kg/m3, with 400 ppm of carbon dioxide.
 *
 * source  CIPM-2007 (Picard et al. 2008), all terms; stated for 600 to 1100 hPa
 *         and 15 to 27 C, a little less exact outside. */
double kw_air_density_kg_m3(const struct kw_air *air);

/* Pressure at a height where it is sea_level_pa at sea level, and back.
 *
 * elevation_m  -500 to 11,000; NAN outside.
 * source       ISO 2533 / U.S. Standard Atmosphere 1976, lowest layer. */
double kw_station_pressure_pa(double sea_level_pa, double elevation_m);
double kw_standard_pressure_pa(double elevation_m);

/* Height at which the standard atmosphere is as thin as this, m.
 *
 * source  ISO 2533, lowest layer, solved for the height. */
double kw_density_altitude_m(double density_kg_m3);

/* By what the power measured in this air would have to be multiplied to be that
 * in the reference air (99 kPa dry, 25 C): above 1 in thin air.
 *
 * source  ISO 1585, spark ignition (formula from memory). It is stated for 0.93
 *         to 1.07 and not made for two-strokes: for comparing days only. */
double kw_power_correction_iso1585(const struct kw_air *air);

/* ---- jet ----------------------------------------------------------------- */

/* What the number on a jet counts. */
enum kw_jet_number {
    KW_JET_BY_DIAMETER, /* bore in hundredths of a millimetre, or like it */
    KW_JET_BY_FLOW      /* flow, so it grows with the area of the bore */
};

/* exact       the number that keeps the mixture.
 * low, high   range of it that the errors of the readings leave (95 %).
 * fit         the richer one of the two sizes beside `exact`. */
struct kw_jet {
    double exact;
    double low;
    double high;
    double fit;
};

/* step  from one size to the next, counted from the known-good jet; > 0. */
struct kw_jet_options {
    double known_good;
    enum kw_jet_number number;
    double step;
};

/* The jet for today's air, from a day on which the jet was right.
 *
 * returns  KW_OK; KW_BAD_USAGE for a jet or step that is not above 0.
 * source   plain carburettor: fuel/air goes with the inverse square root of the
 *          air's density (Heywood 1988, ch. 7, from memory), so the bore's area
 *          must go with its square root. */
enum kw_status kw_jet_for_air(const struct kw_air *then,
                              const struct kw_air *today,
                              const struct kw_jet_options *options,
                              struct kw_jet *out,
                              struct kw_error *error);

/* EGT under load for each percent of fuel/air, on the rich side of the hottest
 * mixture: leaner is hotter. Common practice, no source. */
#define KW_EGT_C_PER_PERCENT 10.0

/* How much richer (+) or leaner (-) the same jet runs, percent of fuel/air,
 * from the density then to the density now. Source as kw_jet_for_air(). */
double kw_mixture_change_percent(double density_then_kg_m3,
                                 double density_now_kg_m3);

/* ---- gearing ------------------------------------------------------------- */

/* tyre_circumference_m  of the driven wheels, rolling. */
struct kw_gearing {
    double engine_teeth;
    double axle_teeth;
    double tyre_circumference_m;
};

/* Engine turns for one turn of the axle. */
double kw_gearing_ratio(const struct kw_gearing *gearing);

/* Speed at an engine speed, m/s, and back; clutch locked, tyre not slipping. */
double kw_gearing_speed_m_s(const struct kw_gearing *gearing, double rpm);
double kw_gearing_rpm(const struct kw_gearing *gearing, double speed_m_s);

/* One flying lap, as far as gearing goes.
 *
 * peak_rpm   highest RPM of the lap, at the end of its longest straight.
 * above_s    how long RPM stood above the one that was asked about. */
struct kw_lap_gearing {
    size_t number;
    double time_s;
    double peak_rpm;
    double above_s;
};

/* What a log shows of the gearing.
 *
 * ratio      engine turns for one turn of the axle while locked; NAN without a
 *            speed in the log. low, high: 95 % interval, laps counted.
 * peak_rpm   middle of the laps' peaks; NAN without flying laps.
 * laps       laps[n_laps], flying and not spoilt. */
struct kw_gearing_seen {
    double ratio;
    double ratio_low;
    double ratio_high;
    double peak_rpm;
    struct kw_lap_gearing *laps;
    size_t n_laps;
};

/* Looks at a reviewed log.
 *
 * tyre_circumference_m  NAN when not known: then there is no ratio.
 * above_rpm  for above_s; NAN for none.
 * out        the caller frees it with kw_gearing_seen_free(). Zeroed on error.
 * returns    KW_OK; KW_NO_MEMORY. */
enum kw_status kw_gearing_look(const struct kw_review *review,
                               double tyre_circumference_m,
                               double above_rpm,
                               struct kw_gearing_seen *out,
                               struct kw_error *error);
void kw_gearing_seen_free(struct kw_gearing_seen *seen);

/* The axle sprocket that would bring the peak to a target, not rounded: the
 * kart comes to the end of the straight at about the same speed. */
double kw_axle_teeth_for(double axle_teeth, double peak_rpm, double target_rpm);

/* ---- chain --------------------------------------------------------------- */

/* Pitch of a kart's chain; older karts have 9.525 mm. Common practice, no
 * source. */
#define KW_USUAL_PITCH_MM 7.775

/* Links of a chain over two sprockets.
 *
 * centres_pitches  distance of the shafts in chain pitches.
 * source           handbook formula (ISO 606 / ANSI B29.1 practice; Mott,
 *                  Machine Elements in Mechanical Design, 4th ed., p. 295). It
 *                  is a short series: on a kart about 0.05 link too few. */
double kw_chain_links(double small_teeth,
                      double large_teeth,
                      double centres_pitches);

/* The distance of the shafts, in pitches, that makes that many links fit; NAN
 * when no distance does. Source as kw_chain_links(). */
double kw_chain_centres(double small_teeth, double large_teeth, double links);

/* The nearest even number: a kart's chain is made of pairs of links. */
double kw_chain_even_links(double links_exact);

/* How much longer a worn chain is than a new one, percent.
 *
 * length_mm  measured over n_links links, pulled straight. */
double kw_chain_wear_percent(double length_mm, double n_links, double pitch_mm);

/* How two sprockets stand to each other, from a straight edge laid along the
 * face of one and reaching past the other.
 *
 * near_mm, far_mm  gap from the edge to the near and the far side of the other
 *                  sprocket, apart_mm apart; equal gaps mean parallel faces.
 * angle_deg        of one face to the other.
 * offset_mm        of the middle of the other face from the edge. */
struct kw_alignment {
    double angle_deg;
    double offset_mm;
};
struct kw_alignment kw_sprocket_alignment(double near_mm,
                                          double far_mm,
                                          double apart_mm);

#if defined(__GNUC__)
#pragma GCC visibility pop
#endif
#ifdef __cplusplus
}
#endif
#endif
