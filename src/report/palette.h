/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Colours that people with any kind of colour vision can tell apart. */
#ifndef KARTWRIGHT_REPORT_PALETTE_H
#define KARTWRIGHT_REPORT_PALETTE_H

/* Okabe & Ito 2008, Color Universal Design, and grey. What each stands for is
 * the same in every plot. */
enum kw_colour {
    KW_COLOUR_INK,      /* black: text, the middle of many laps */
    KW_COLOUR_RPM,      /* blue */
    KW_COLOUR_EGT,      /* vermillion */
    KW_COLOUR_LEAN,     /* orange */
    KW_COLOUR_DROPOUT,  /* reddish purple */
    KW_COLOUR_EXPECTED, /* sky blue: what a right mixture gives, clutch slip */
    KW_COLOUR_OTHER,    /* bluish green: other findings */
    KW_COLOUR_QUIET     /* grey: laps behind the one that is looked at */
};

/* returns  "#rrggbb", constant. */
const char *kw_colour_code(enum kw_colour colour);

/* A scale from dark blue (low) to yellow (high) whose lightness rises evenly,
 * as words for gnuplot's `set palette defined`.
 *
 * source  cividis: Nunez, Anderton & Renslow 2018. */
const char *kw_colour_scale(void);

#endif
