/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Headings that are not what one of their words says, and which of two wins. */
#include "support/heading_check.h"

#define CHECK_ALL(cases) check_cases(cases, sizeof cases / sizeof cases[0])

/* Headings that share a word with a role and are none of ours. */
static const struct heading_case others[] = {
    {"Lap time", "", KW_N_ROLES, NULL},
    {"Last lap time", "s", KW_N_ROLES, NULL},
    {"Best lap", "", KW_N_ROLES, NULL},
    {"Rundenzeit", "", KW_N_ROLES, NULL},
    {"Temps au tour", "", KW_N_ROLES, NULL},
    {"Tempo giro", "", KW_N_ROLES, NULL},
    {"Tiempo vuelta", "", KW_N_ROLES, NULL},
    {"Tempo de volta", "", KW_N_ROLES, NULL},
    {"Sector time", "", KW_N_ROLES, NULL},
    {"Sector", "", KW_N_ROLES, NULL},
    {"Oil temp", "C", KW_N_ROLES, NULL},
    {"\xC3\x96ltemperatur", "", KW_N_ROLES, NULL},
    {"Temp. huile", "", KW_N_ROLES, NULL},
    {"Ambient temp", "C", KW_N_ROLES, NULL},
    {"Air temperature", "C", KW_N_ROLES, NULL},
    {"Au\xC3\x9F"
     "entemperatur",
     "", KW_N_ROLES, NULL},
    {"Intake air temp", "C", KW_N_ROLES, NULL},
    {"Logger temperature", "C", KW_N_ROLES, NULL},
    {"Temperature", "C", KW_N_ROLES, NULL},
    {"Max RPM", "", KW_N_ROLES, NULL},
    {"RPM limit", "", KW_N_ROLES, NULL},
    {"Target speed", "", KW_N_ROLES, NULL},
    {"Max speed", "km/h", KW_N_ROLES, NULL},
    {"Steering angle", "deg", KW_N_ROLES, NULL},
    {"Lenkwinkel", "Grad", KW_N_ROLES, NULL},
    {"Brake pressure", "bar", KW_N_ROLES, NULL},
    {"Altitude", "m", KW_N_ROLES, NULL},
    {"Wind speed", "km/h", KW_N_ROLES, NULL},
    {"Vit. vent", "km/h", KW_N_ROLES, NULL},
    {"GPS altitude", "m", KW_N_ROLES, NULL},
    {"GPS heading", "deg", KW_N_ROLES, NULL},
    {"GPS satellites", "", KW_N_ROLES, NULL},
    {"GPS date", "", KW_N_ROLES, NULL},
    {"HDOP", "", KW_N_ROLES, NULL},
    {"GPS accuracy", "m", KW_N_ROLES, NULL},
    {"Distance", "m", KW_N_ROLES, NULL},
    {"Lap distance", "m", KW_N_ROLES, NULL},
    {"Yaw rate", "deg/s", KW_N_ROLES, NULL},
    {"Gyro X", "deg/s", KW_N_ROLES, NULL},
    {"Magnetometer X", "uT", KW_N_ROLES, NULL},
    {"Magnetic field Y", "uT", KW_N_ROLES, NULL},
    {"Magnetfeld", "uT", KW_N_ROLES, NULL},
    {"Vertical acc", "g", KW_N_ROLES, NULL},
    {"Accel Z", "g", KW_N_ROLES, NULL},
    {"Lambda", "", KW_N_ROLES, NULL},
    {"AFR", "", KW_N_ROLES, NULL},
    {"Gear", "", KW_N_ROLES, NULL},
    {"Fuel level", "l", KW_N_ROLES, NULL},
    {"Driver", "", KW_N_ROLES, NULL},
    {"Comment", "", KW_N_ROLES, NULL},
    {"Aux 3", "", KW_N_ROLES, NULL},
    {"Analog 1", "V", KW_N_ROLES, NULL},
    {"Tyre temp", "C", KW_N_ROLES, NULL},
    {"Brake disc temp", "C", KW_N_ROLES, NULL},
    {"Clutch temp", "C", KW_N_ROLES, NULL},
    {"Sample", "", KW_N_ROLES, NULL},
    {"Index", "", KW_N_ROLES, NULL},
    {"#", "", KW_N_ROLES, NULL},
    {"Heart rate", "1/min", KW_N_ROLES, NULL},
    {"Exhaust length", "mm", KW_N_ROLES, NULL},
    {"Exhaust valve", "", KW_N_ROLES, NULL},
    {"Exhaust flap", "", KW_N_ROLES, NULL},
    {"Exhaust servo", "", KW_N_ROLES, NULL},
    {"Exhaust O2", "", KW_N_ROLES, NULL},
    {"CO2 exhaust", "", KW_N_ROLES, NULL},
    {"Exhaust gasket temp", "", KW_N_ROLES, NULL},
    {"Auspuffklappe", "", KW_N_ROLES, NULL},
    {"Auslassventil Abgas", "", KW_N_ROLES, NULL},
    {"EGT mV", "", KW_N_ROLES, NULL},
    {"Lap progress", "", KW_N_ROLES, NULL},
    {"Lap fraction", "", KW_N_ROLES, NULL},
    {"Ideal RPM", "", KW_N_ROLES, NULL},
    {"Exhaust pressure", "bar", KW_N_ROLES, NULL},
    {"Water pressure", "bar", KW_N_ROLES, NULL},
    {"RPM delta", "", KW_N_ROLES, NULL},
    {"Session", "", KW_N_ROLES, NULL},
    {"Speed accuracy", "m/s", KW_N_ROLES, NULL},
    {"EGT", "mV", KW_N_ROLES, NULL},
    {"Throttle [V]", "", KW_N_ROLES, NULL},
    {"Battery", "%", KW_N_ROLES, NULL},
    {"Lap [s]", "", KW_N_ROLES, NULL},
    {"Battery temp", "C", KW_N_ROLES, NULL},
    {"Axle temperature", "", KW_N_ROLES, NULL},
    {"Lateral position", "m", KW_N_ROLES, NULL},
    {"", "", KW_N_ROLES, NULL},
};

/* A second lap time or an oil temperature taken for a role is worse than a
 * column left out: the person cannot see the mistake in the findings. */
static void test_headings__what_is_no_role_is_left_out(void **state)
{
    (void)state;
    CHECK_ALL(others);
}

static const struct heading_case short_names[] = {
    {"E.G.T.", "", KW_ROLE_EGT, NULL},    {"ENGRPM", "", KW_ROLE_RPM, NULL},
    {"EXHTMP", "", KW_ROLE_EGT, NULL},    {"Termocopp.", "", KW_ROLE_EGT, NULL},
    {"xtime", "", KW_ROLE_TIME, NULL},    {"micros", "", KW_ROLE_TIME, "us"},
    {"Peak RPM", "", KW_ROLE_RPM, "rpm"}, {"EGT left", "C", KW_ROLE_EGT, "C"},
};

/* A peak is engine speed where there is no other. */
static void test_headings__short_names_and_lesser_ones_are_read(void **state)
{
    (void)state;
    CHECK_ALL(short_names);
}

struct pair_case {
    const char *better;
    const char *other;
};

/* Where two columns could be one role, the better heading wins. */
static void test_headings__better_of_two_scores_higher(void **state)
{
    (void)state;
    static const struct pair_case cases[] = {
        {"Time (s)", "GPS time"},
        {"Time", "UTC time"},
        {"Engine speed", "RPM GPS"},
        {"Engine RPM", "RPM 2"},
        {"GPS speed (km/h)", "Speed"},
        {"Battery (V)", "Voltage"},
        {"Zeit [s]", "Uhrzeit"},
        {"RPM", "Peak RPM"},
        {"RPM", "RPM raw [rpm]"},
        {"Regime", "Regime pic"},
        {"Time", "Time left"},
        {"Time", "Time remaining [s]"},
        {"t", "Time left"},
    };
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        const struct kw_heading a = kw_heading_read(cases[i].better, "");
        const struct kw_heading b = kw_heading_read(cases[i].other, "");
        check_true(cases[i].better, a.score > b.score || a.role != b.role);
    }
}

/* Of two that score alike the one that says nothing more. */
static void test_headings__plainer_of_two_has_fewer_strangers(void **state)
{
    (void)state;
    static const struct pair_case cases[] = {
        {"RPM", "RPM 2"},
        {"RPM", "RPM filtered"},
        {"RPM", "RPM x1000"},
        {"Time (s)", "Stint time (s)"},
        {"Czas (s)", "Czas okr\xB9\xBF"
                     "enia (s)"},
        {"Drehzahl 1/min", "Drehzahl 2 1/min"},
    };
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        const struct kw_heading a = kw_heading_read(cases[i].better, "");
        const struct kw_heading b = kw_heading_read(cases[i].other, "");
        check_true(cases[i].other, a.role == b.role && a.score >= b.score);
        check_true(cases[i].other, a.strangers < b.strangers);
    }
    /* A unit says nothing more. */
    assert_int_equal(kw_heading_read("Time s", "").strangers, 0);
    assert_int_equal(kw_heading_read("Time [ms]", "").strangers, 0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_headings__what_is_no_role_is_left_out),
        cmocka_unit_test(test_headings__short_names_and_lesser_ones_are_read),
        cmocka_unit_test(test_headings__better_of_two_scores_higher),
        cmocka_unit_test(test_headings__plainer_of_two_has_fewer_strangers),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
