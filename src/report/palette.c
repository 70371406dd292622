/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Colours that people with any kind of colour vision can tell apart: they
 * differ in lightness as well as in hue, so that a page printed in grey still
 * reads. */
#include "report/palette.h"

#include <stddef.h>

/* In the order of the enum; an unknown colour is black. */
const char *kw_colour_code(enum kw_colour colour)
{
    static const char *const codes[] = {
        [KW_COLOUR_INK] = "#000000",     [KW_COLOUR_RPM] = "#0072B2",
        [KW_COLOUR_EGT] = "#D55E00",     [KW_COLOUR_LEAN] = "#E69F00",
        [KW_COLOUR_DROPOUT] = "#CC79A7", [KW_COLOUR_EXPECTED] = "#56B4E9",
        [KW_COLOUR_OTHER] = "#009E73",   [KW_COLOUR_QUIET] = "#999999",
    };
    const size_t n = sizeof codes / sizeof codes[0];
    return codes[(size_t)colour < n ? (size_t)colour : KW_COLOUR_INK];
}

/* Five anchors are enough: gnuplot draws the steps between them. */
const char *kw_colour_scale(void)
{
    return "(0 '#002051', 0.25 '#3c4d6e', 0.5 '#7f7c75', 0.75 '#bbaf71', "
           "1 '#fdea45')";
}
