/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Degrees to metres on a plane that touches the Earth. */
#ifndef KARTWRIGHT_CORE_PLANE_H
#define KARTWRIGHT_CORE_PLANE_H

/* Metres for each degree at a latitude, from the two radii of curvature of the
 * WGS 84 ellipsoid (meridian and prime vertical): right to some 1e-8 over a
 * kart track. */
struct kw_plane {
    double lat_deg;
    double lon_deg;
    double north_m_each_deg;
    double east_m_each_deg;
};

struct kw_plane kw_plane_at(double lat_deg, double lon_deg);

/* x_m east, y_m north of the plane's origin. */
void kw_plane_project(const struct kw_plane *plane,
                      double lat_deg,
                      double lon_deg,
                      double *x_m,
                      double *y_m);

/* Metres from one place to another, on the plane of the first: for places as
 * near as those of one track, or to see that they are not. NAN where one is not
 * known. */
double kw_plane_distance_m(double from_lat_deg,
                           double from_lon_deg,
                           double to_lat_deg,
                           double to_lon_deg);

#endif
