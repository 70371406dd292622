/* SPDX-License-Identifier: GPL-3.0-or-later */
/* One way of escaping for each sink. Whatever came from a log, a profile or a
 * file name goes through one of these before it is written anywhere.
 *
 * All of them first make the text visible, as kw_text_add_visible() does for
 * the terminal: controls, marks that turn the direction of writing and bytes
 * that are no UTF-8 become U+FFFD. Each adds at the end of *text, NULL counts
 * as "", and want of memory shows in kw_text_failed().
 */
#ifndef KARTWRIGHT_CORE_ESCAPE_H
#define KARTWRIGHT_CORE_ESCAPE_H

#include "text.h"

/* The inside of a JSON string, without the quotes around it.
 *
 * source  RFC 8259, section 7. */
void kw_escape_json(struct kw_text *text, const char *from);

/* Fit for HTML text and for an attribute in double or single quotes.
 *
 * source  HTML living standard, 13.1.2.3 and 13.1.4: & < > " '. */
void kw_escape_html(struct kw_text *text, const char *from);

/* The inside of a gnuplot string in single quotes, where a backslash, a
 * backquote and a percent sign mean nothing and '' stands for one quote. What
 * enhanced text would read as markup stays as it is: set `noenhanced` too. */
void kw_escape_gnuplot(struct kw_text *text, const char *from);

#endif
