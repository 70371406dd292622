/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A stretch is counted over its rows: where the rows are missing too, the gap
 * is told as one. */
#include "signal/blank_stretch.h"

#include "core/notices.h"
#include "core/text.h"

#include <math.h>

/* Blanks for less are a slow sensor's, or a moment in which hardly anything
 * could happen. Common practice, no source. */
static const double LONG_BLANK_S = 5.0;
/* A slow logger may lose fewer. Common practice, no source. */
enum { FEWEST_ROWS = 4 };

/* All long stretches of a channel.
 *
 * to_end  the last one goes on to the end of the log. */
struct blanks {
    size_t n;
    double total_s;
    double first_s;
    double first_end_s;
    bool to_end;
};

static struct blanks find_blanks(const struct kw_session *session,
                                 const double *values)
{
    const double *time_s = session->time_s;
    const size_t n = session->n_samples;
    struct blanks blanks = {0};
    for (size_t from = 0; from < n; from++) {
        size_t to = from;
        double long_s = 0.0;
        for (; to < n && !isfinite(values[to]); to++) {
            const double step_s = to > from ? time_s[to] - time_s[to - 1] : 0.0;
            long_s += step_s > KW_LONG_GAP_S ? 0.0 : step_s;
        }
        if (to == from)
            continue;
        if (to - from >= FEWEST_ROWS && long_s >= LONG_BLANK_S) {
            if (blanks.n++ == 0) {
                blanks.first_s = time_s[from];
                blanks.first_end_s = time_s[to - 1];
            }
            blanks.total_s += long_s;
            blanks.to_end = to == n;
        }
        from = to;
    }
    return blanks;
}

enum kw_status kw_tell_blank_stretches(struct kw_session *session,
                                       const double *values,
                                       const char *name,
                                       struct kw_error *error)
{
    const struct blanks blanks = find_blanks(session, values);
    if (blanks.n == 0)
        return KW_OK;
    struct kw_text text = {0};
    kw_text_addf(&text, "%s: no readings for ", name);
    kw_text_add_whole(&text, blanks.total_s);
    kw_text_add(&text, " s");
    if (blanks.n > 1)
        kw_text_addf(&text, " in %zu stretches, the first", blanks.n);
    kw_text_add(&text, blanks.n > 1 ? " from " : ", from ");
    kw_text_add_number(&text, blanks.first_s, 1);
    kw_text_add(&text, " s to ");
    if (blanks.n == 1 && blanks.to_end) {
        kw_text_add(&text, "the end");
    } else {
        kw_text_add_number(&text, blanks.first_end_s, 1);
        kw_text_add(&text, " s");
    }
    kw_text_add(&text, ": nothing could be judged there");
    return kw_notices_tell(&session->notices, 0, &text, error);
}
