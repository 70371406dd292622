/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Text for a person at a terminal: headings, paragraphs and items of a list, as
 * wide as the terminal, with or without colour. All that is written is made
 * visible, see kw_wrap_add(): no escape sequence of a log gets through. */
#ifndef KARTWRIGHT_REPORT_SCREEN_H
#define KARTWRIGHT_REPORT_SCREEN_H

#include "core/text.h"
#include "kartwright/report.h"

/* Where the text goes, how wide the terminal is, and whether it takes
 * colour. */
struct kw_screen {
    struct kw_text *out;
    size_t columns;
    bool colour;
};

enum kw_style {
    KW_STYLE_PLAIN,
    KW_STYLE_BOLD,
    KW_STYLE_RED,
    KW_STYLE_GREEN,
    KW_STYLE_YELLOW
};

/* options  NULL for the defaults. */
struct kw_screen kw_screen_on(struct kw_text *out,
                              const struct kw_text_options *options);

/* How what follows looks, where colour is wanted. */
void kw_screen_style(const struct kw_screen *screen, enum kw_style style);

/* A line in bold; an empty one parts it from what went before. */
void kw_screen_heading(const struct kw_screen *screen, const char *words);

/* A paragraph with all its lines indented.
 *
 * indent  columns; those of the first line may hold a label already. */
void kw_screen_paragraph(const struct kw_screen *screen,
                         const char *words,
                         size_t indent,
                         size_t most_lines);

/* "- words", further lines below the words. */
void kw_screen_item(const struct kw_screen *screen,
                    const char *words,
                    size_t most_lines);

/* The same for words that were put together here, which are freed. */
void kw_screen_paragraph_of(const struct kw_screen *screen,
                            struct kw_text *words,
                            size_t indent);
void kw_screen_item_of(const struct kw_screen *screen,
                       struct kw_text *words,
                       size_t most_lines);

/* "and 3 more: see the report", where not all were told. */
void kw_screen_and_more(const struct kw_screen *screen,
                        size_t all,
                        size_t told,
                        const char *where);

/* The first few as a list, and how many more there are.
 *
 * where  they stand in full: "see the report". */
void kw_screen_notices(const struct kw_screen *screen,
                       const struct kw_notices *notices,
                       const char *where);

#endif
