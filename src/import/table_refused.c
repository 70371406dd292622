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

static enum kw_status refuse_rows(const struct kw_row_counts *rows,
                                  size_t n,
                                  const char *what,
                                  struct kw_refusal *refusal,
                                  struct kw_error *error)
{
    struct kw_text text = {0};
    kw_text_add_whole(&text, (double)n);
    kw_text_add(&text, " of ");
    kw_text_add_whole(&text, (double)rows->n);
    kw_text_addf(&text, " rows have %s", what);
    refusal->status = KW_BAD_INPUT;
    refusal->line = rows->first_line;
    return kw_fail_text(error, refusal, &text);
}

/* A few rows that happen to be whole are not the session. */
enum kw_status kw_refuse_most_rows(const struct kw_row_counts *rows,
                                   const char *path,
                                   struct kw_error *error)
{
    struct kw_refusal refusal = {.file = path};
    if (rows->n < FEWEST_ROWS)
        return KW_OK;
    if (2 * rows->no_rpm > rows->n) {
        refusal.todo = "export RPM as plain numbers, or name another column "
                       "with --column rpm=HEADING";
        return refuse_rows(rows, rows->no_rpm,
                           "something else than a number for RPM", &refusal,
                           error);
    }
    refusal.todo = "compare the rows with the heading: the same number of "
                   "fields, a time in each";
    if (2 * (rows->wrong_count + rows->no_time) <= rows->n)
        return KW_OK;
    return rows->wrong_count >= rows->no_time
               ? refuse_rows(rows, rows->wrong_count,
                             "another number of fields than the heading",
                             &refusal, error)
               : refuse_rows(rows, rows->no_time, "no readable time", &refusal,
                             error);
}
