/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Headings of languages beside the six that are promised, and short ones: a
 * racer across the border should not have to name every column. */
#include "support/heading_check.h"

static const struct heading_case dutch[] = {
    {"Tijd [s]", "", KW_ROLE_TIME, "s"},
    {"Toerental", "t/min", KW_ROLE_RPM, "rpm"},
    {"Uitlaattemperatuur",
     "\xC2\xB0"
     "C",
     KW_ROLE_EGT, "C"},
    {"Snelheid (km/h)", "", KW_ROLE_SPEED, "km/h"},
    {"Ronde", "", KW_ROLE_LAP, NULL},
    {"Rondetijd", "s", KW_N_ROLES, NULL},
    {"Cilinderkoptemperatuur", "", KW_ROLE_HEAD_TEMP, NULL},
    {"Luchttemperatuur", "", KW_N_ROLES, NULL},
};

static const struct heading_case polish[] = {
    {"Czas", "s", KW_ROLE_TIME, "s"},
    {"Obroty silnika [obr/min]", "", KW_ROLE_RPM, "rpm"},
    {"Temperatura spalin", "", KW_ROLE_EGT, NULL},
    {"Pr\xC4\x99"
     "dko\xC5\x9B\xC4\x87",
     "km/h", KW_ROLE_SPEED, "km/h"},
    {"Okr\xC4\x85\xC5\xBC"
     "enie",
     "", KW_ROLE_LAP, NULL},
    {"Czas okr\xC4\x85\xC5\xBC"
     "enia",
     "s", KW_N_ROLES, NULL},
    {"Temperatura powietrza", "", KW_N_ROLES, NULL},
};

static const struct heading_case czech[] = {
    {"\xC4\x8C"
     "as [s]",
     "", KW_ROLE_TIME, "s"},
    {"Ot\xC3\xA1\xC4\x8D"
     "ky",
     "ot/min", KW_ROLE_RPM, "rpm"},
    {"\xC8"
     "as",
     "s", KW_ROLE_TIME, "s"},
    {"Ot\xE1\xE8ky", "ot/min", KW_ROLE_RPM, "rpm"},
    {"Teplota v\xC3\xBD"
     "fuku",
     "", KW_ROLE_EGT, NULL},
    {"Rychlost", "", KW_ROLE_SPEED, NULL},
    {"Teplota vody", "", KW_ROLE_WATER_TEMP, NULL},
    {"Teplota vzduchu", "", KW_N_ROLES, NULL},
    {"\xC4\x8C"
     "as kola",
     "s", KW_N_ROLES, NULL},
};

static const struct heading_case swedish[] = {
    {"Tid", "s", KW_ROLE_TIME, "s"},
    {"Varvtal [v/min]", "", KW_ROLE_RPM, "rpm"},
    {"Avgastemperatur", "", KW_ROLE_EGT, NULL},
    {"Hastighet", "km/h", KW_ROLE_SPEED, "km/h"},
    {"Varv", "", KW_ROLE_LAP, NULL},
    {"Lufttemperatur", "", KW_N_ROLES, NULL},
};

static const struct heading_case terse[] = {
    {"Umdr.", "", KW_ROLE_RPM, NULL},
    {"Spd", "", KW_ROLE_SPEED, NULL},
    {"Eng Spd", "", KW_ROLE_RPM, NULL},
    {"T\xC2\xB0 \xC3\xA9"
     "chap.",
     "", KW_ROLE_EGT, NULL},
    {"obr/min", "", KW_ROLE_RPM, "rpm"},
    {"RPM/10", "", KW_ROLE_RPM, "rpm x 10"},
    {"RPM x10", "", KW_ROLE_RPM, "rpm x 10"},
};

#define CHECK(cases) check_cases(cases, sizeof(cases) / sizeof(cases)[0])

static void test_heading_neighbours__plain_words_are_understood(void **state)
{
    (void)state;
    CHECK(dutch);
    CHECK(polish);
    CHECK(czech);
    CHECK(swedish);
}

static void test_heading_neighbours__short_ones_are_understood(void **state)
{
    (void)state;
    CHECK(terse);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_heading_neighbours__plain_words_are_understood),
        cmocka_unit_test(test_heading_neighbours__short_ones_are_understood),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
