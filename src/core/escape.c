/* SPDX-License-Identifier: GPL-3.0-or-later */
/* One way of escaping for each sink: a table of characters that must not pass
 * as they are, and what stands for them.
 *
 * A log may hold anything: a heading that is a tag, a file name that is a
 * command. Nothing of it reaches a page, a plot or a program but through here.
 */
#include "escape.h"

/* The characters of one sink that need a stand-in; all are ASCII. */
struct stand_in {
    char character;
    const char *written;
};

/* NULL for a character that may pass as it is. */
static const char *find_stand_in(const struct stand_in *table,
                                 size_t n,
                                 char character)
{
    for (size_t i = 0; i < n; i++) {
        if (table[i].character == character)
            return table[i].written;
    }
    return NULL;
}

/* Bytes up to the first that has a stand-in. */
static size_t length_as_it_is(const char *from,
                              const struct stand_in *table,
                              size_t n)
{
    size_t length = 0;
    while (from[length] != '\0' &&
           find_stand_in(table, n, from[length]) == NULL)
        length++;
    return length;
}

/* Makes the text visible first, so that a table needs no row for controls. */
static void add_escaped(struct kw_text *text,
                        const char *from,
                        const struct stand_in *table,
                        size_t n)
{
    struct kw_text visible = {0};
    kw_text_add_visible(&visible, from == NULL ? "" : from);
    /* A text that is cut off could lose its closing quote, so the failure is
     * passed on and the whole is thrown away. */
    if (kw_text_failed(&visible))
        text->failed = true;
    for (size_t i = 0; i < visible.length; i++) {
        const char *from_here = visible.bytes + i;
        const size_t length = length_as_it_is(from_here, table, n);
        kw_text_add_bytes(text, from_here, length);
        i += length;
        if (i < visible.length)
            kw_text_add(text, find_stand_in(table, n, visible.bytes[i]));
    }
    kw_text_free(&visible);
}

/* Controls are gone already, so two characters are left. */
void kw_escape_json(struct kw_text *text, const char *from)
{
    static const struct stand_in table[] = {{'"', "\\\""}, {'\\', "\\\\"}};
    add_escaped(text, from, table, sizeof table / sizeof table[0]);
}

/* Both kinds of quotes: nobody has to know where the text will stand. */
void kw_escape_html(struct kw_text *text, const char *from)
{
    static const struct stand_in table[] = {{'&', "&amp;"},
                                            {'<', "&lt;"},
                                            {'>', "&gt;"},
                                            {'"', "&quot;"},
                                            {'\'', "&#39;"}};
    add_escaped(text, from, table, sizeof table / sizeof table[0]);
}

/* In single quotes only the quote itself is special. */
void kw_escape_gnuplot(struct kw_text *text, const char *from)
{
    static const struct stand_in table[] = {{'\'', "''"}};
    add_escaped(text, from, table, sizeof table / sizeof table[0]);
}
