/* SPDX-License-Identifier: GPL-3.0-or-later */
/* HTML pages that are whole in one file: one look for all reports. */
#ifndef KARTWRIGHT_REPORT_PAGE_H
#define KARTWRIGHT_REPORT_PAGE_H

#include "core/text.h"
#include "kartwright/notice.h"
#include "report/plot.h"

/* Begins a page with its head and style; title is untrusted. */
void kw_page_begin(struct kw_text *page, const char *title);
void kw_page_end(struct kw_text *page);

/* Opens a box for a table, which scrolls sideways on a phone and then shows a
 * shade at the side where more is; "</div>" closes it. */
void kw_page_begin_wide(struct kw_text *page);

/* <tag>text</tag>; text is escaped, NULL counts as "". Attributes may follow
 * the tag: kw_page_element(page, "p class=\"quiet\"", text). */
void kw_page_element(struct kw_text *page, const char *tag, const char *text);

/* The same with text that was put together for it, which it frees. */
void kw_page_text(struct kw_text *page, const char *tag, struct kw_text *text);

/* "And 3 more", and where, where not all were told. */
void kw_page_and_more(struct kw_text *page, size_t all, size_t told);

/* A heading, or NULL for none, and a list; nothing for no notices or NULL. Of
 * a very long list the first hundred. */
void kw_page_notices(struct kw_text *page,
                     const char *heading,
                     const struct kw_notices *notices);

/* A figure: the picture as data inside the page, its explanation, and links to
 * the files beside the page.
 *
 * svg  the picture; NULL where it is missing, which the page then says. */
void kw_page_figure(struct kw_text *page,
                    const struct kw_plot *plot,
                    const struct kw_text *svg);

/* source  RFC 4648, section 4. */
void kw_page_add_base64(struct kw_text *page, const char *bytes, size_t length);

#endif
