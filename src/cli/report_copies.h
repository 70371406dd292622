/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A review's page and plots as bytes, to be kept in the logbook. */
#ifndef KARTWRIGHT_CLI_REPORT_COPIES_H
#define KARTWRIGHT_CLI_REPORT_COPIES_H

#include "kartwright/logbook.h"
#include "kartwright/report.h"

/* items[n]: names and bytes are owned. */
struct report_copies {
    struct kw_file_copy *items;
    size_t n;
    size_t capacity;
};

/* Draws the report in a passing folder and takes what a person looks at: the
 * page, the JSON and the pictures.
 *
 * title    of the page, or NULL.
 * notices  plots that are missing, and why, are added.
 * copies   the caller frees it with report_copies_free(), also after an error.
 * returns  KW_OK; KW_IO_FAILED; KW_NO_MEMORY. The folder is gone in any case.
 */
enum kw_status report_copies_make(const struct kw_review *review,
                                  const char *title,
                                  struct kw_notices *notices,
                                  struct report_copies *copies,
                                  struct kw_error *error);
void report_copies_free(struct report_copies *copies);

#endif
