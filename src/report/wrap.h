/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Text laid out in columns of a terminal, by display width and not by bytes.
 */
#ifndef KARTWRIGHT_REPORT_WRAP_H
#define KARTWRIGHT_REPORT_WRAP_H

#include "core/text.h"

/* Columns that a UTF-8 string takes in a terminal: combining marks take none,
 * wide East Asian characters and pictures take two. */
size_t kw_display_width(const char *text);

/* Bytes at the start of a text that a line end must not part: a word; a number
 * and its unit; a command in quotes, which is copied as it stands.
 *
 * room  columns of an empty line: what is longer is no more than a word. */
size_t kw_unparted(const char *text, size_t room);

/* columns     of a whole line, indent included.
 * first       columns of the first line that are taken already.
 * indent      blanks before each further line.
 * most_lines  what goes beyond is cut and ends with "..."; 0 for no limit. */
struct kw_wrap {
    size_t columns;
    size_t first;
    size_t indent;
    size_t most_lines;
};

/* Adds `from`, made visible (see kw_text_add_visible; a line feed in it could
 * forge a line of ours), wrapped between words (see kw_unparted), and a line
 * feed at the end. A word that is longer than a line is broken.
 *
 * returns  lines written, at least 1. */
size_t kw_wrap_add(struct kw_text *text,
                   const char *from,
                   const struct kw_wrap *wrap);

#endif
