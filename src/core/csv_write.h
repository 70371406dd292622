/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Writing CSV (RFC 4180) for a spreadsheet: commas, CR LF, quotes where needed,
 * UTF-8 without a mark.
 *
 *     struct kw_csv csv = {.out = &text};
 *     kw_csv_text(&csv, "id");
 *     kw_csv_text(&csv, "note");
 *     kw_csv_end_row(&csv);
 *     kw_csv_plain(&csv, "12");
 *     kw_csv_text(&csv, "=1+1");                       written as '=1+1
 *     kw_csv_end_row(&csv);
 *
 * Want of memory shows in kw_text_failed(out).
 */
#ifndef KARTWRIGHT_CORE_CSV_WRITE_H
#define KARTWRIGHT_CORE_CSV_WRITE_H

#include "text.h"

/* out     where the text goes, not owned.
 * n_here  cells of this row so far. */
struct kw_csv {
    struct kw_text *out;
    size_t n_here;
};

/* A cell of untrusted text; NULL is an empty one. A text that a spreadsheet
 * might run as a formula gets an apostrophe in front, and so does one that
 * begins with an apostrophe: who takes one leading apostrophe off has the text
 * again. Controls other than line ends and tabs become U+FFFD. */
void kw_csv_text(struct kw_csv *csv, const char *text);

/* A cell of our own making, as it is: a number or a date. */
void kw_csv_plain(struct kw_csv *csv, const char *text);

void kw_csv_end_row(struct kw_csv *csv);

#endif
