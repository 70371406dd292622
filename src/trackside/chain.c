/* SPDX-License-Identifier: GPL-3.0-or-later */
/* How long a chain must be, how worn it is, and whether it runs straight. */
#include "kartwright/trackside.h"

#include <math.h>

static const double PI = 3.14159265358979323846;

/* (N2 - N1)^2 / (4 pi^2): what the difference of the sprockets adds. */
static double difference_term(double small_teeth, double large_teeth)
{
    const double difference = large_teeth - small_teeth;
    return difference * difference / (4.0 * PI * PI);
}

double kw_chain_links(double small_teeth,
                      double large_teeth,
                      double centres_pitches)
{
    return 2.0 * centres_pitches + (small_teeth + large_teeth) / 2.0 +
           difference_term(small_teeth, large_teeth) / centres_pitches;
}

double kw_chain_centres(double small_teeth, double large_teeth, double links)
{
    const double straight = links - (small_teeth + large_teeth) / 2.0;
    const double under_root =
        straight * straight - 8.0 * difference_term(small_teeth, large_teeth);
    if (straight <= 0.0 || under_root < 0.0)
        return NAN;
    return (straight + sqrt(under_root)) / 4.0;
}

double kw_chain_even_links(double links_exact)
{
    return 2.0 * round(links_exact / 2.0);
}

double kw_chain_wear_percent(double length_mm, double n_links, double pitch_mm)
{
    return 100.0 * (length_mm / (n_links * pitch_mm) - 1.0);
}

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
