/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What reading and cleaning had to say of a log (a column that was left out, a
 * clock that jumped), told in the same way wherever a log is judged. */
#ifndef KARTWRIGHT_REPORT_LOG_NOTICES_H
#define KARTWRIGHT_REPORT_LOG_NOTICES_H

#include "kartwright/report.h"

/* Gathers the notices of some logs, and before them those of the command
 * itself, which are the news. The line stands in the words: "line 811: row has
 * 5 fields", with several logs "sunday.csv, line 811: ...". What several logs
 * say alike is told once, with their names.
 *
 * reviews  reviews[n].
 * more     of the command; NULL for none.
 * out      a zeroed list; the caller frees it, also after an error.
 * returns  KW_OK; KW_NO_MEMORY. */
enum kw_status kw_gather_notices(const struct kw_review *const *reviews,
                                 size_t n,
                                 const struct kw_notices *more,
                                 struct kw_notices *out,
                                 struct kw_error *error);

/* The same for the logs of both sides of a comparison. */
enum kw_status kw_gather_compared_notices(
    const struct kw_comparison_source *source,
    struct kw_notices *out,
    struct kw_error *error);

#endif
