/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A log with a damaged column would have a notice for each row. */
#include "import/row_complaints.h"

#include "core/notices.h"

/* Notices with a line, before they are only counted. */
enum { NAMED_OF_A_KIND = 3 };

enum kw_status kw_complain(struct kw_complaints *complaints,
                           enum kw_complaint kind,
                           size_t line,
                           struct kw_text *text,
                           struct kw_error *error)
{
    complaints->count[kind]++;
    if (complaints->told[kind] < NAMED_OF_A_KIND) {
        complaints->told[kind]++;
        return kw_notices_tell(complaints->notices, line, text, error);
    }
    kw_text_free(text);
    return KW_OK;
}

enum kw_status kw_complaints_sum_up(const struct kw_complaints *complaints,
                                    struct kw_error *error)
{
    /* Short rows count as another kind by now, or are kept. */
    static const char *const kinds[KW_N_COMPLAINTS] = {
        [KW_WRONG_COUNT] = "rows with a wrong number of fields were left out",
        [KW_NO_TIME] = "rows without a readable time were left out",
        /* Counted by rows, as they are named. */
        [KW_UNREADABLE] = "rows with fields that are no number",
    };
    for (size_t i = 0; i < KW_N_COMPLAINTS; i++) {
        if (complaints->count[i] <= complaints->told[i])
            continue;
        struct kw_text text = {0};
        kw_text_add(&text, "in all ");
        kw_text_add_whole(&text, (double)complaints->count[i]);
        kw_text_addf(&text, " %s", kinds[i]);
        const enum kw_status status =
            kw_notices_tell(complaints->notices, 0, &text, error);
        if (status != KW_OK)
            return status;
    }
    return KW_OK;
}
