/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Text for a person at a terminal. */
#include "report/screen.h"

#include "report/wrap.h"

/* What a terminal opens with, and what a telephone held upright shows. */
enum { DEFAULT_COLUMNS = 80, FEWEST_COLUMNS = 40 };

/* Of a "- ". */
enum { ITEM_INDENT = 2 };

/* More would push the answer off the screen. */
enum { MOST_NOTICES = 3, NOTICE_LINES = 3 };

/* Nobody can read a column of a few characters: what is narrower is taken as
 * the narrowest that can be read. */
struct kw_screen kw_screen_on(struct kw_text *out,
                              const struct kw_text_options *options)
{
    struct kw_screen screen = {out, DEFAULT_COLUMNS, false};
    if (options == NULL)
        return screen;
    screen.colour = options->colour;
    if (options->columns > 0)
        screen.columns = options->columns < FEWEST_COLUMNS ? FEWEST_COLUMNS
                                                           : options->columns;
    return screen;
}

/* Colours by number of the palette that every terminal lets its user choose: on
 * a light ground or a dark one the user has made them readable already. The
 * codes are those of ECMA-48, "select graphic rendition" (from memory). */
void kw_screen_style(const struct kw_screen *screen, enum kw_style style)
{
    static const char *const codes[] = {
        [KW_STYLE_PLAIN] = "\033[0m",     [KW_STYLE_BOLD] = "\033[1m",
        [KW_STYLE_RED] = "\033[1;31m",    [KW_STYLE_GREEN] = "\033[1;32m",
        [KW_STYLE_YELLOW] = "\033[1;33m",
    };
    if (screen->colour)
        kw_text_add(screen->out, codes[style]);
}

/* Parted by an empty line and by weight: colour alone would say nothing on
 * paper. */
void kw_screen_heading(const struct kw_screen *screen, const char *words)
{
    kw_text_add(screen->out, "\n");
    kw_screen_style(screen, KW_STYLE_BOLD);
    kw_text_add(screen->out, words);
    kw_screen_style(screen, KW_STYLE_PLAIN);
    kw_text_add(screen->out, "\n");
}

/* All lines alike: what stands in front of the first one has the same width. */
void kw_screen_paragraph(const struct kw_screen *screen,
                         const char *words,
                         size_t indent,
                         size_t most_lines)
{
    kw_wrap_add(screen->out, words,
                &(struct kw_wrap){screen->columns, indent, indent, most_lines});
}

void kw_screen_item(const struct kw_screen *screen,
                    const char *words,
                    size_t most_lines)
{
    kw_text_add(screen->out, "- ");
    kw_screen_paragraph(screen, words, ITEM_INDENT, most_lines);
}

/* An empty paragraph leaves no empty line behind. */
void kw_screen_paragraph_of(const struct kw_screen *screen,
                            struct kw_text *words,
                            size_t indent)
{
    if (kw_text_failed(words))
        screen->out->failed = true;
    else if (words->length > 0)
        kw_screen_paragraph(screen, words->bytes, indent, 0);
    kw_text_free(words);
}

void kw_screen_item_of(const struct kw_screen *screen,
                       struct kw_text *words,
                       size_t most_lines)
{
    if (kw_text_failed(words))
        screen->out->failed = true;
    else
        kw_screen_item(screen, words->bytes, most_lines);
    kw_text_free(words);
}

void kw_screen_and_more(const struct kw_screen *screen,
                        size_t all,
                        size_t told,
                        const char *where)
{
    if (all > told)
        kw_text_addf(screen->out, "   and %zu more: %s\n", all - told, where);
}

void kw_screen_notices(const struct kw_screen *screen,
                       const struct kw_notices *notices,
                       const char *where)
{
    for (size_t i = 0; i < notices->n && i < MOST_NOTICES; i++)
        kw_screen_item(screen, notices->items[i].text, NOTICE_LINES);
    kw_screen_and_more(screen, notices->n, MOST_NOTICES, where);
}
