/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "core/plane.h"

#include "support/check.h"

#include <math.h>

struct geodesic_case {
    double lat_deg[2];
    double lon_deg[2];
    double distance_m;
};

/* Short rows of GeodTest-short (C. Karney, WGS 84, CC0). A sphere would be up
 * to 0.42 % off here. */
static const struct geodesic_case published[] = {
    {{19.707097385334, 19.707739582810255},
     {0.0, 0.000260256428101053},
     76.1478894},
    {{23.104245923137, 23.103520430280494},
     {0.0, 0.002305237470119087},
     249.4508219},
    {{78.10174623178, 78.099711031638790},
     {0.0, 0.014156770744057927},
     397.364659},
};

/* Lap distance and gearing from position rest on these metres. */
static void test_plane__meets_published_geodesics(void **state)
{
    (void)state;
    for (size_t i = 0; i < sizeof published / sizeof published[0]; i++) {
        const struct geodesic_case *c = &published[i];
        const struct kw_plane plane =
            kw_plane_at((c->lat_deg[0] + c->lat_deg[1]) / 2.0, 0.0);
        double x_m[2];
        double y_m[2];
        for (size_t k = 0; k < 2; k++)
            kw_plane_project(&plane, c->lat_deg[k], c->lon_deg[k], &x_m[k],
                             &y_m[k]);
        check_near("distance", hypot(x_m[1] - x_m[0], y_m[1] - y_m[0]),
                   c->distance_m, 0.001);
        check_near("from one to the other",
                   kw_plane_distance_m(c->lat_deg[0], c->lon_deg[0],
                                       c->lat_deg[1], c->lon_deg[1]),
                   c->distance_m, 0.05);
    }
}

/* A track on the antimeridian is still one track. */
static void test_plane__longitude_goes_the_short_way_round(void **state)
{
    (void)state;
    const struct kw_plane plane = kw_plane_at(0.0, 179.9995);
    double x_m = 0.0;
    double y_m = 0.0;
    kw_plane_project(&plane, 0.0, -179.9995, &x_m, &y_m);
    check_near("east", x_m, 0.001 * 111319.49, 0.01);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_plane__meets_published_geodesics),
        cmocka_unit_test(test_plane__longitude_goes_the_short_way_round),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
