/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A comparison as one HTML page. */
#ifndef KARTWRIGHT_REPORT_COMPARE_PAGE_H
#define KARTWRIGHT_REPORT_COMPARE_PAGE_H

#include "kartwright/report.h"
#include "report/report_folder.h"

/* title     untrusted.
 * pictures  drawn or missing; the page says which.
 * returns   KW_OK; KW_NO_MEMORY. */
enum kw_status kw_comparison_page_write(
    const struct kw_comparison_source *source,
    const struct kw_pictures *pictures,
    const char *title,
    struct kw_text *page,
    struct kw_error *error);

#endif
