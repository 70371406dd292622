/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What is refused is said with what to do, in one line. */
#include "import/table_refused.h"

#include "core/fail.h"
#include "core/text.h"

/* Of fewer rows each can be looked at, and is named. */
static const size_t FEWEST_ROWS = 50;

/* A quote that opens and never closes swallows what follows as one field;
 * better to say so than to lose it. */
enum kw_status kw_refuse_open_quote(const char *path,
                                    size_t line,
                                    struct kw_error *error)
{
    return kw_fail(error, KW_BAD_INPUT, path, line,
                   "a quote opens here and is never closed",
                   "delete the \" or add the missing one");
}

/* Mostly an open quote too; but a file that was spoilt has no quote to look
 * for. */
enum kw_status kw_refuse_endless_row(const char *path,
                                     size_t line,
                                     struct kw_error *error)
{
    return kw_fail(error, KW_BAD_INPUT, path, line,
                   "this row goes on for more than 8 MB",
                   "look for a \" that is never closed, or export the session "
                   "again");
}

/* A few rows that happen to be whole are not the session. */
enum kw_status kw_refuse_most_left_out(const struct kw_row_counts *rows,
                                       const char *path,
                                       struct kw_error *error)
{
    const bool by_count = rows->wrong_count >= rows->no_time;
    struct kw_text what = {0};
    if (rows->n < FEWEST_ROWS ||
        2 * (rows->wrong_count + rows->no_time) <= rows->n)
        return KW_OK;
    kw_text_add_whole(&what,
                      (double)(by_count ? rows->wrong_count : rows->no_time));
    kw_text_add(&what, " of ");
    kw_text_add_whole(&what, (double)rows->n);
    kw_text_addf(&what, " rows have %s",
                 by_count ? "another number of fields than the heading"
                          : "no readable time");
    const struct kw_refusal refusal = {
        KW_BAD_INPUT, path, rows->first_line,
        "compare the rows with the heading: the same number of fields, a time "
        "in each"};
    return kw_fail_text(error, &refusal, &what);
}
