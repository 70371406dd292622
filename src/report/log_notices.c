/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Notices of logs, gathered into one list. */
#include "report/log_notices.h"

#include "core/array.h"
#include "core/notices.h"
#include "report/words.h"

#include <stdlib.h>
#include <string.h>

static bool is_among(const struct kw_notices *notices,
                     const struct kw_notice *sought)
{
    for (size_t i = 0; i < notices->n; i++) {
        if (notices->items[i].line == sought->line &&
            strcmp(notices->items[i].text, sought->text) == 0)
            return true;
    }
    return false;
}

static bool says(const struct kw_review *review, const struct kw_notice *notice)
{
    return is_among(&review->log.notices, notice) ||
           is_among(&review->session.notices, notice);
}

/* Logs of one logger mostly have the same to be said of them. */
static bool is_told(const struct kw_review *const *reviews,
                    size_t first,
                    const struct kw_notice *notice)
{
    for (size_t i = 0; i < first; i++) {
        if (says(reviews[i], notice))
            return true;
    }
    return false;
}

/* "sunday.csv, monday.csv, line 811: row has 5 fields" */
static enum kw_status tell(const struct kw_review *const *reviews,
                           size_t n,
                           const struct kw_notice *notice,
                           struct kw_notices *out,
                           struct kw_error *error)
{
    struct kw_text said = {0};
    for (size_t i = 0; n > 1 && i < n; i++) {
        if (!says(reviews[i], notice))
            continue;
        kw_text_add(&said, said.length == 0 ? "" : ", ");
        kw_text_add(&said, kw_file_name_of(reviews[i]->log.path));
    }
    if (notice->line > 0)
        kw_text_addf(&said, said.length == 0 ? "line %zu" : ", line %zu",
                     notice->line);
    kw_text_add(&said, said.length == 0 ? "" : ": ");
    kw_text_add(&said, notice->text);
    return kw_notices_tell(out, 0, &said, error);
}

enum kw_status kw_gather_notices(const struct kw_review *const *reviews,
                                 size_t n,
                                 const struct kw_notices *more,
                                 struct kw_notices *out,
                                 struct kw_error *error)
{
    enum kw_status status = KW_OK;
    for (size_t i = 0; more != NULL && i < more->n && status == KW_OK; i++)
        status = tell(NULL, 0, &more->items[i], out, error);
    for (size_t log = 0; log < n; log++) {
        const struct kw_notices *const lists[] = {
            &reviews[log]->log.notices, &reviews[log]->session.notices};
        for (size_t list = 0; list < 2; list++) {
            for (size_t i = 0; i < lists[list]->n && status == KW_OK; i++) {
                const struct kw_notice *notice = &lists[list]->items[i];
                if (!is_told(reviews, log, notice))
                    status = tell(reviews, n, notice, out, error);
            }
        }
    }
    return status;
}

/* Before and after in one list, in the order in which they were driven. */
enum kw_status kw_gather_compared_notices(
    const struct kw_comparison_source *source,
    struct kw_notices *out,
    struct kw_error *error)
{
    const struct kw_compare_sessions *const *sides = source->sessions;
    const size_t n = sides[KW_BEFORE]->n + sides[KW_AFTER]->n;
    const struct kw_review **reviews = kw_array_new(n, sizeof *reviews, error);
    if (reviews == NULL)
        return KW_NO_MEMORY;
    size_t log = 0;
    for (int side = 0; side < KW_N_SIDES; side++) {
        for (size_t i = 0; i < sides[side]->n; i++)
            reviews[log++] = &sides[side]->reviews[i];
    }
    const enum kw_status status =
        kw_gather_notices(reviews, n, source->more, out, error);
    free(reviews);
    return status;
}
