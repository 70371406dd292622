/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A review as one HTML page. */
#ifndef KARTWRIGHT_REPORT_REVIEW_PAGE_H
#define KARTWRIGHT_REPORT_REVIEW_PAGE_H

#include "core/text.h"
#include "kartwright/review.h"
#include "report/report_folder.h"

/* pictures  drawn or missing; the page says which.
 * more      notices beside those of the log and the session.
 * title     untrusted. */
struct kw_review_page {
    const struct kw_review *review;
    const struct kw_pictures *pictures;
    const struct kw_notices *more;
    const char *title;
};

/* returns  KW_OK; KW_NO_MEMORY. */
enum kw_status kw_review_page_write(const struct kw_review_page *from,
                                    struct kw_text *page,
                                    struct kw_error *error);

#endif
