/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Units in headings: those of small numbers, those of something else, and words
 * that say that the numbers are no readings. */
#include "support/check.h"

#include "import/headings.h"

#include <string.h>

/* unit  its name, NULL for none.
 * why   it is no reading, "" where it is. */
static const struct stated_case {
    const char *heading;
    const char *cell;
    enum kw_role role;
    const char *unit;
    const char *why;
} stated[] = {
    {"Speed (cm/s)", "", KW_ROLE_SPEED, "cm/s", ""},
    {"gSpeed [mm/s]", "", KW_ROLE_SPEED, "mm/s", ""},
    {"Speed", "ft/s", KW_ROLE_SPEED, "ft/s", ""},
    {"Speed (0.1 km/h)", "", KW_ROLE_SPEED, "0.1 km/h", ""},
    {"Engine speed [rev/s]", "", KW_ROLE_RPM, "rev/s", ""},
    {"Engine speed (1/s)", "", KW_ROLE_RPM, "rev/s", ""},
    {"engine_speed_hz", "", KW_ROLE_RPM, "rev/s", ""},
    {"Drehzahl", "1/s", KW_ROLE_RPM, "rev/s", ""},
    {"RPM x 100", "", KW_ROLE_RPM, "rpm x 100", ""},
    {"RPM (hundreds)", "", KW_ROLE_RPM, "rpm x 100", ""},
    {"RPM in thousands", "", KW_ROLE_RPM, "rpm x 1000", ""},
    {"RPM (x10 rpm)", "", KW_ROLE_RPM, "rpm x 10", ""},
    {"rpm \xC3\x97"
     "10",
     "", KW_ROLE_RPM, "rpm x 10", ""},
    {"RPM (\xC3\xB7"
     "10)",
     "", KW_ROLE_RPM, "rpm x 10", ""},
    {"10 rpm", "", KW_ROLE_RPM, "rpm x 10", ""},
    {"Motordrehzahl", "10 rpm", KW_ROLE_RPM, "rpm x 10", ""},
    {"Engine speed/10", "", KW_ROLE_RPM, "rpm x 10", ""},
    {"Engine speed *10", "", KW_ROLE_RPM, "rpm x 10", ""},
    {"Drehzahl [10\xC2\xB3/min]", "", KW_ROLE_RPM, "rpm x 1000", ""},
    {"RPM [1/10 rpm]", "", KW_ROLE_RPM, "0.1 rpm", ""},
    {"Engine RPM 10", "", KW_ROLE_RPM, NULL, ""},
    {"EGT (oF)", "", KW_ROLE_EGT, "F", ""},
    {"EGT (\xC3\x82\xC2\xB0"
     "F)",
     "", KW_ROLE_EGT, "F", ""},
    {"EGT degrees Fahrenheit", "", KW_ROLE_EGT, "F", ""},
    {"EGT, \xCB\x9A"
     "F",
     "", KW_ROLE_EGT, "F", ""},
    {"EGT K", "", KW_ROLE_EGT, "K", ""},
    /* a kind of probe */
    {"EGT type K", "", KW_ROLE_EGT, NULL, ""},
    {"Abgas Typ K", "", KW_ROLE_EGT, NULL, ""},
    {"TC K", "", KW_ROLE_EGT, NULL, ""},
    {"EGT type K (K)", "", KW_ROLE_EGT, "K", ""},
    {"EGT type K", "K", KW_ROLE_EGT, "K", ""},
    {"EGT prototype K", "", KW_ROLE_EGT, "K", ""},
    {"Fuel l/min", "", KW_N_ROLES, NULL, ""},
    {"EGT (0.1 \xC2\xB0"
     "C)",
     "", KW_ROLE_EGT, "0.1 C", ""},
    {"Speed (1/min)", "", KW_ROLE_RPM, "rpm", ""},
    {"Drehzahl/min", "", KW_ROLE_RPM, NULL, ""},
    {"Time (h/min/s)", "", KW_ROLE_TIME, NULL, ""},
    {"Velocidad (leguas/h)", "", KW_N_ROLES, NULL,
     "its unit is none that is known for it"},
    /* how often it was read */
    {"RPM 20 Hz", "", KW_ROLE_RPM, NULL, ""},
    {"RPM [rps]", "", KW_ROLE_RPM, "rev/s", ""},
    {"RPM", "rps", KW_ROLE_RPM, "rev/s", ""},
    {"RPM [Hz]", "", KW_N_ROLES, NULL,
     "Hz or 1/s may be turns or readings a second, so write rps or rpm"},
    {"RPM", "Hz", KW_N_ROLES, NULL,
     "Hz or 1/s may be turns or readings a second, so write rps or rpm"},
    {"RPM %", "", KW_N_ROLES, NULL, "its unit is none that is known for it"},
    {"Speed (1/s)", "", KW_N_ROLES, NULL,
     "its unit is none that is known for it"},
    {"EGT [mV]", "", KW_N_ROLES, NULL, "its unit is none that is known for it"},
    {"EGT", "C/s", KW_N_ROLES, NULL, "its unit is none that is known for it"},
    {"Damper [mm/s]", "", KW_N_ROLES, NULL, ""},
    {"1/s", "", KW_N_ROLES, NULL, ""},
    {"mm/s", "", KW_N_ROLES, NULL, ""},
    {"EGT rate", "", KW_N_ROLES, NULL, "a rate of change is no reading"},
    {"dEGT", "", KW_N_ROLES, NULL, "a rate of change is no reading"},
    {"EGT trend (C/s)", "", KW_N_ROLES, NULL, "a rate of change is no reading"},
    {"EGT_ADC", "", KW_N_ROLES, NULL,
     "numbers of a converter are no temperature"},
    {"EGT raw", "", KW_N_ROLES, NULL, "raw numbers are no temperature"},
    {"EGT x10", "", KW_N_ROLES, NULL,
     "a factor in a heading can be meant two ways"},
    /* a unit, and the name of an input, speak for a reading */
    {"EGT raw [C]", "", KW_ROLE_EGT, "C", ""},
    {"ADC1_EGT", "", KW_ROLE_EGT, NULL, ""},
    {"EGT D", "", KW_ROLE_EGT, NULL, ""},
    {"RPM raw", "", KW_ROLE_RPM, NULL, ""},
};

static void test_heading_units__are_read_or_speak_against_it(void **state)
{
    (void)state;
    for (size_t i = 0; i < sizeof stated / sizeof stated[0]; i++) {
        const struct stated_case *c = &stated[i];
        const struct kw_heading heading = kw_heading_read(c->heading, c->cell);
        const char *unit = heading.unit != NULL ? heading.unit->name : "";
        if (heading.role != c->role ||
            strcmp(unit, c->unit != NULL ? c->unit : "") != 0 ||
            strcmp(heading.why, c->why) != 0)
            fail_msg("%s: role %d, unit '%s', why '%s'", c->heading,
                     (int)heading.role, unit, heading.why);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_heading_units__are_read_or_speak_against_it),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
