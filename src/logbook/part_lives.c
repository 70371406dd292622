/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Lives of parts, for racers to read and correct.
 *
 * All of them are common practice, no source: a first guess for someone who has
 * no sheet yet. The maker's sheet comes first, then what the owner states with
 * --life-hours and --life-days. A tuned 125 wears faster than a rental engine.
 */
#include "logbook/part_lives.h"

#include "core/text.h"

#include <math.h>

static const struct kw_part_life rows[] = {
    {"piston and ring", "piston|piston ring|piston and rings|ring", 10.0, NAN},
    {"big-end bearing", "big end bearing|big end|crank|conrod", 20.0, NAN},
    {"reeds", "reed|reed petals|reed valve", 10.0, NAN},
    {"clutch lining", "clutch|clutch linings|clutch shoes", 8.0, NAN},
    {"clutch bearing", "clutch needle bearing", 5.0, NAN},
    {"plug", "spark plug", 5.0, NAN},
    {"fuel line and filter", "fuel line|fuel filter|fuel hose", 20.0, 365.0},
    {"chain", NULL, 10.0, NAN},
    {"engine sprocket", "front sprocket|drive sprocket", 10.0, NAN},
    {"axle sprocket", "rear sprocket|sprocket", 20.0, NAN},
    {"axle bearings", "axle bearing", 40.0, NAN},
    {"wheel bearings", "wheel bearing", 40.0, NAN},
    {"throttle cable", NULL, 30.0, 730.0},
    {"exhaust springs", "exhaust spring", 10.0, NAN},
    {"exhaust gasket", NULL, 10.0, NAN},
    {"brake pads", "brake pad", 20.0, NAN},
    {"brake fluid", NULL, NAN, 365.0},
    {"tyres", "tyre|tires|tire", 3.0, NAN},
};

enum { N_ROWS = sizeof rows / sizeof rows[0] };

const struct kw_part_life *kw_part_lives(size_t *n)
{
    *n = N_ROWS;
    return rows;
}

/* People call a part by many names; the list knows some. */
const struct kw_part_life *kw_part_life_find(const char *part)
{
    for (size_t i = 0; i < N_ROWS; i++) {
        if (kw_text_same(rows[i].part, part) ||
            kw_text_is_among(rows[i].aliases, part))
            return &rows[i];
    }
    return NULL;
}

/* NAN passes: it means that no life of that kind was given. */
enum kw_status kw_part_life_check(double life_h,
                                  double life_days,
                                  struct kw_error *error)
{
    if (life_h <= 0.0 || life_days <= 0.0)
        return kw_fail(error, KW_BAD_USAGE, NULL, 0, "a life must be above 0",
                       "write 8 hours or 365 days");
    return KW_OK;
}
