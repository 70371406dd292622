/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The logbook's trends as one HTML page. */
#ifndef KARTWRIGHT_REPORT_TRENDS_PAGE_H
#define KARTWRIGHT_REPORT_TRENDS_PAGE_H

#include "kartwright/report.h"
#include "report/report_folder.h"

/* title     untrusted.
 * pictures  drawn or missing; the page says which. Picture i belongs to
 *           source->trends->items[shown[i]]. */
struct kw_trends_page {
    const struct kw_trends_source *source;
    const struct kw_pictures *pictures;
    const size_t *shown;
    const char *title;
};

/* returns  KW_OK; KW_NO_MEMORY. */
enum kw_status kw_trends_page_write(const struct kw_trends_page *from,
                                    struct kw_text *page,
                                    struct kw_error *error);

#endif
