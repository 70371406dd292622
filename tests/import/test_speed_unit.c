/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A speed without a unit beside a position that moves. */
#include "support/check.h"

#include "support/log_file.h"
#include "support/scratch.h"

#include <math.h>
#include <string.h>

enum { ROWS = 600, TEXT_SIZE = 65536 };

static const double SPEED_M_S = 20.0;

/* A circle of 60 m on which the speed comes and goes.
 *
 * factor   numbers of the column for each m/s.
 * wanders  the position is that of another drive.
 * unit     as it must be taken.
 * told     a notice says so. */
static const struct speed_case {
    const char *heading;
    double factor;
    bool wanders;
    const char *unit;
    bool told;
} cases[] = {
    {"Speed", 3.6, false, "km/h", false},
    {"Speed", 3.6 / 1.609344, false, "mph", true},
    {"Speed", 3.6 / 1.852, false, "knots", true},
    {"Speed", 1.0, false, "m/s", false},
    /* of a wheel that is a tenth smaller than was typed in */
    {"Speed", 3.96, false, "km/h", false},
    {"Speed (km/h)", 3.6 / 1.609344, false, "km/h", false},
    {"Speed", 3.6 / 1.609344, true, "km/h", false},
};

static void write_circle(char *text, const struct speed_case *c)
{
    size_t n = (size_t)snprintf(text, TEXT_SIZE, "Time (s),RPM,Lat,Lon,%s\n",
                                c->heading);
    double way_m = 0.0;
    for (int row = 0; row < ROWS; row++) {
        const double at_s = 0.1 * row;
        const double speed_m_s = SPEED_M_S * (1.0 + 0.3 * sin(at_s));
        const double turned = way_m / 60.0;
        const double wander = c->wanders ? 1.0 + sin(3.0 * at_s) : 1.0;
        way_m += 0.1 * speed_m_s * wander;
        n += (size_t)snprintf(
            text + n, TEXT_SIZE - n, "%.1f,9000,%.7f,%.7f,%.2f\n", at_s,
            51.0 + 60.0 * sin(turned) / 111195.0,
            3.0 + 60.0 * cos(turned) / 111195.0 / cos(51.0 * 3.14159 / 180.0),
            speed_m_s * c->factor);
    }
}

static void test_speed_unit__position_tells_it(void **state)
{
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        const struct speed_case *c = &cases[i];
        static char text[TEXT_SIZE];
        char notice[160];
        struct kw_log log;
        write_circle(text, c);
        log_from(*state, text, &log);
        const struct kw_channel *speed = kw_log_channel(&log, KW_ROLE_SPEED, 0);
        snprintf(notice, sizeof notice,
                 "column 'Speed': no unit, and the position moves as fast as "
                 "in %s: taken as %s. If that is wrong, write the unit in its "
                 "heading",
                 c->unit, c->unit);
        if (strcmp(speed->unit, c->unit) != 0 ||
            (log_notice(&log, notice) != NULL) != c->told)
            fail_msg("%zu: %s", i, speed->unit);
        if (c->told) {
            check_near("speed", speed->values[0], SPEED_M_S, 0.01);
            check_true("why", strstr(speed->why, "by the position") != NULL &&
                                  strstr(speed->why, "km/h") == NULL);
        }
        kw_log_free(&log);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        IN_SCRATCH(test_speed_unit__position_tells_it),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
