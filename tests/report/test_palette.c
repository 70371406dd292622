/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Colours: one man in twelve cannot tell red from green. */
#include "support/check.h"

#include "report/palette.h"

#include <stdlib.h>
#include <string.h>

/* Okabe & Ito 2008, Color Universal Design; hex values as R's
 * palette.colors("Okabe-Ito") has them, which adds the grey. */
static void test_palette__is_okabe_and_ito(void **state)
{
    (void)state;
    static const struct {
        enum kw_colour colour;
        const char *code;
    } rows[] = {{KW_COLOUR_INK, "#000000"},      {KW_COLOUR_LEAN, "#E69F00"},
                {KW_COLOUR_EXPECTED, "#56B4E9"}, {KW_COLOUR_OTHER, "#009E73"},
                {KW_COLOUR_RPM, "#0072B2"},      {KW_COLOUR_EGT, "#D55E00"},
                {KW_COLOUR_DROPOUT, "#CC79A7"},  {KW_COLOUR_QUIET, "#999999"}};
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++)
        assert_string_equal(kw_colour_code(rows[i].colour), rows[i].code);
}

/* cividis (Nunez, Anderton & Renslow 2018) at five places, from d3's polynomial
 * approximation; each channel within 4 of 255. And what makes it a scale: it
 * gets lighter all the way (relative luminance of sRGB, IEC 61966-2-1). */
static void test_palette__scale_is_cividis_and_gets_lighter(void **state)
{
    (void)state;
    static const unsigned expected[][3] = {{0x00, 0x20, 0x51},
                                           {0x3c, 0x4d, 0x6e},
                                           {0x7f, 0x7c, 0x75},
                                           {0xbb, 0xaf, 0x71},
                                           {0xfd, 0xea, 0x45}};
    const char *at = kw_colour_scale();
    double before = -1.0;
    for (size_t i = 0; i < 5; i++) {
        at = strchr(at, '#');
        assert_non_null(at);
        const unsigned long code = strtoul(++at, NULL, 16);
        double light = 0.0;
        static const double weights[] = {0.2126, 0.7152, 0.0722};
        for (size_t j = 0; j < 3; j++) {
            const unsigned channel = (unsigned)(code >> (16 - 8 * j)) & 0xFFU;
            check_near("channel", channel, expected[i][j], 4.0);
            light += weights[j] * pow(channel / 255.0, 2.2);
        }
        assert_true(light > before);
        before = light;
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_palette__is_okabe_and_ito),
        cmocka_unit_test(test_palette__scale_is_cividis_and_gets_lighter),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
