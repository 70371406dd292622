/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The Earth as a plane, by the two radii of its ellipsoid at one place. */
#include "plane.h"

#include <math.h>

/* WGS 84 (NGA.STND.0036): semi-major axis and flattening. */
static const double WGS84_A_M = 6378137.0;
static const double WGS84_F = 1.0 / 298.257223563;

static const double PI = 3.14159265358979323846;

/* Radii of curvature of the ellipsoid along the meridian and across it
 * (textbook geodesy; from memory). */
struct kw_plane kw_plane_at(double lat_deg, double lon_deg)
{
    const double e2 = WGS84_F * (2.0 - WGS84_F);
    const double sine = sin(lat_deg * PI / 180.0);
    const double w2 = 1.0 - e2 * sine * sine;
    const double meridian_m = WGS84_A_M * (1.0 - e2) / (w2 * sqrt(w2));
    const double prime_vertical_m = WGS84_A_M / sqrt(w2);
    return (struct kw_plane){
        .lat_deg = lat_deg,
        .lon_deg = lon_deg,
        .north_m_each_deg = meridian_m * PI / 180.0,
        .east_m_each_deg =
            prime_vertical_m * cos(lat_deg * PI / 180.0) * PI / 180.0,
    };
}

/* A straight projection: over the 2 km of a kart track the curvature of the
 * globe is worth less than a millimetre. */
void kw_plane_project(const struct kw_plane *plane,
                      double lat_deg,
                      double lon_deg,
                      double *x_m,
                      double *y_m)
{
    /* remainder() takes the short way round the globe. It is slow, and only a
     * track at the date line has to ask it. */
    const double east_deg = lon_deg - plane->lon_deg;
    *x_m = (fabs(east_deg) < 180.0 ? east_deg : remainder(east_deg, 360.0)) *
           plane->east_m_each_deg;
    *y_m = (lat_deg - plane->lat_deg) * plane->north_m_each_deg;
}

double kw_plane_distance_m(double from_lat_deg,
                           double from_lon_deg,
                           double to_lat_deg,
                           double to_lon_deg)
{
    const struct kw_plane plane = kw_plane_at(from_lat_deg, from_lon_deg);
    double x_m = 0.0;
    double y_m = 0.0;
    kw_plane_project(&plane, to_lat_deg, to_lon_deg, &x_m, &y_m);
    return hypot(x_m, y_m);
}
