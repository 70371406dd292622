/* SPDX-License-Identifier: GPL-3.0-or-later */
/* How long a chain must be, how worn it is, and whether it runs straight.
 *
 * Lengths of chain are counted in pitches, so that one formula serves 7.775 mm
 * and 9.525 mm alike. Sources stand in the header beside each function. */
#include "kartwright/trackside.h"

#include <math.h>

static const double PI = 3.14159265358979323846;

/* (N2 - N1)^2 / (4 pi^2): what the difference of the sprockets adds. */
static double difference_term(double small_teeth, double large_teeth)
{
    const double difference = large_teeth - small_teeth;
    return difference * difference / (4.0 * PI * PI);
}

/* Two straights, half of each sprocket, and what the slant of the straights
 * adds: the first term of a series, good while the centres are far apart beside
 * the difference of the sprockets. */
double kw_chain_links(double small_teeth,
                      double large_teeth,
                      double centres_pitches)
{
    return 2.0 * centres_pitches + (small_teeth + large_teeth) / 2.0 +
           difference_term(small_teeth, large_teeth) / centres_pitches;
}

/* The same solved for the centres: a quadratic, of which the larger root is the
 * one with sprockets that do not overlap. A chain too short to reach around
 * both has none. */
double kw_chain_centres(double small_teeth, double large_teeth, double links)
{
    const double straight = links - (small_teeth + large_teeth) / 2.0;
    const double under_root =
        straight * straight - 8.0 * difference_term(small_teeth, large_teeth);
    if (straight <= 0.0 || under_root < 0.0)
        return NAN;
    return (straight + sqrt(under_root)) / 4.0;
}

/* An odd number would need a half link, which is the weakest of the chain. */
double kw_chain_even_links(double links_exact)
{
    return 2.0 * round(links_exact / 2.0);
}

/* Pins and bushes wear, plates do not stretch: a longer pitch rides up the
 * teeth until it jumps one. */
double kw_chain_wear_percent(double length_mm, double n_links, double pitch_mm)
{
    return 100.0 * (length_mm / (n_links * pitch_mm) - 1.0);
}

/* Two gaps make a line: its slope is the angle, its middle the offset. Two
 * faces in one plane have no gap at either side, and give 0 and 0. */
struct kw_alignment kw_sprocket_alignment(double near_mm,
                                          double far_mm,
                                          double apart_mm)
{
    const struct kw_alignment alignment = {
        .angle_deg = atan2(far_mm - near_mm, apart_mm) * 180.0 / PI,
        .offset_mm = (near_mm + far_mm) / 2.0,
    };
    return alignment;
}
