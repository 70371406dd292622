/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A speed without a unit beside a position that moves, or beside RPM. */
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

/* Engine RPM for each m/s of the kart below, and of a shorter gearing than any
 * kart has with the speed in km/h. */
static const double GEARED = 500.0;

/* A kart whose speed comes and goes, without a position.
 *
 * stated  RPM for each m/s as the profile has it, NAN for none.
 * why     in the notice, NULL for none. */
static const struct geared_case {
    const char *label;
    const char *heading;
    double factor;
    double stated;
    const char *unit;
    const char *why;
} geared_cases[] = {
    {"km/h", "Speed", 3.6, GEARED, "km/h", NULL},
    {"mph", "Speed", 3.6 / 1.609344, GEARED, "mph",
     "column 'Speed': no unit, and by the profile's teeth and tyre it is in "
     "mph: taken as mph. "
     "If that is wrong, write the unit in its heading"},
    {"a tooth less in front", "Speed", 3.6, 1.1 * GEARED, "km/h", NULL},
    {"a unit that is stated", "Speed (km/h)", 3.6 / 1.609344, GEARED, "km/h",
     NULL},
    {"no profile", "Speed", 3.6, NAN, "km/h", NULL},
    {"mph, no profile", "Speed", 3.6 / 1.609344, NAN, "km/h",
     "column 'Speed': no unit, taken as km/h; 224 RPM for each km/h are many "
     "for a kart, so it "
     "may be in mph. Write the unit in its heading"},
};

/* A gearing that the owner stated knows mph from km/h; without one the driver
 * is asked where the number is none of a kart. */
static void test_speed_unit__gearing_tells_it(void **state)
{
    const size_t n_cases = sizeof geared_cases / sizeof geared_cases[0];
    for (size_t i = 0; i < n_cases; i++) {
        const struct geared_case *c = &geared_cases[i];
        const struct kw_import_options options = {.rpm_per_m_s = c->stated};
        static char text[TEXT_SIZE];
        struct kw_log log;
        size_t n =
            (size_t)snprintf(text, TEXT_SIZE, "Time (s),RPM,%s\n", c->heading);
        for (int row = 0; row < ROWS; row++) {
            const double speed_m_s = SPEED_M_S * (1.0 + 0.3 * sin(0.1 * row));
            n += (size_t)snprintf(text + n, TEXT_SIZE - n, "%.1f,%.0f,%.2f\n",
                                  0.1 * row, GEARED * speed_m_s,
                                  speed_m_s * c->factor);
        }
        log_write(*state, text, n);
        assert_int_equal(log_read(*state, &options, &log, NULL), KW_OK);
        const struct kw_channel *speed = kw_log_channel(&log, KW_ROLE_SPEED, 0);
        check_true(c->label, strcmp(speed->unit, c->unit) == 0);
        check_true(c->label, c->why == NULL ? log.notices.n == 0
                                            : log_notice(&log, c->why) != NULL);
        kw_log_free(&log);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        IN_SCRATCH(test_speed_unit__position_tells_it),
        IN_SCRATCH(test_speed_unit__gearing_tells_it),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
