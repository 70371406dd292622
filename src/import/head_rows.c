/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Cutting the first lines of a log into rows and cells with libcsv. */
#include "import/head_rows.h"

#include "core/array.h"
#include "core/fail.h"

#include <csv.h>
#include <stdlib.h>
#include <string.h>

enum { MOST_ROWS = 400 /* that are looked at */ };

/* What libcsv's callbacks share. It counts lines itself, for libcsv does not: a
 * message must name the line that an editor shows. */
struct splitter {
    struct kw_head *head;
    size_t line;
    size_t newlines;
    bool row_open;
    int last_end;
    bool failed;
};

/* libcsv calls this for each field. After a failure it does nothing more: a
 * callback cannot stop the parser. */
static void add_cell(void *cell, size_t length, void *data)
{
    struct splitter *splitter = data;
    struct kw_head *head = splitter->head;
    if (splitter->failed || head->n_rows == MOST_ROWS)
        return;
    if (!splitter->row_open) {
        if (kw_array_reserve(&head->rows, &head->capacity, head->n_rows + 1,
                             sizeof *head->rows, NULL) != KW_OK) {
            splitter->failed = true;
            return;
        }
        head->rows[head->n_rows++] =
            (struct kw_head_row){.line = splitter->line};
        splitter->row_open = true;
    }
    struct kw_head_row *row = &head->rows[head->n_rows - 1];
    char *copy = kw_array_new(length + 1, 1, NULL);
    if (copy == NULL ||
        kw_array_reserve(&row->cells, &row->capacity, row->n + 1,
                         sizeof *row->cells, NULL) != KW_OK) {
        free(copy);
        splitter->failed = true;
        return;
    }
    if (length > 0)
        memcpy(copy, cell, length);
    /* A field between quotes may hold line ends: one row, several lines. */
    for (size_t i = 0; i < length; i++)
        splitter->newlines += copy[i] == '\n';
    row->cells[row->n++] = copy;
}

static void end_row(int end, void *data)
{
    struct splitter *splitter = data;
    /* CR LF is reported as two ends: the second one is no line of its own. */
    const bool second_half =
        end == '\n' && splitter->last_end == '\r' && !splitter->row_open;
    splitter->line += splitter->newlines + !second_half;
    splitter->newlines = 0;
    splitter->last_end = second_half ? 0 : end;
    splitter->row_open = false;
}

void kw_head_free_rows(struct kw_head *head)
{
    for (size_t i = 0; i < head->n_rows; i++) {
        for (size_t k = 0; k < head->rows[i].n; k++)
            free(head->rows[i].cells[k]);
        free(head->rows[i].cells);
    }
    free(head->rows);
    head->rows = NULL;
    head->n_rows = head->capacity = 0;
}

/* A quote that is still open at the end is closed there: the table itself is
 * judged later. */
enum kw_status kw_head_split(const char *text,
                             size_t length,
                             char delimiter,
                             struct kw_head *head,
                             struct kw_error *error)
{
    struct csv_parser parser;
    struct splitter splitter = {.head = head, .line = 1};
    /* Without strict mode: a quote inside a field is kept as it is, and a log
     * damaged there is still a table. */
    if (csv_init(&parser, CSV_REPALL_NL) != 0)
        return kw_fail_memory(error);
    csv_set_delim(&parser, (unsigned char)delimiter);
    const size_t done =
        csv_parse(&parser, text, length, add_cell, end_row, &splitter);
    /* The last line may have no end. csv_fini() gives it up too. */
    csv_fini(&parser, add_cell, end_row, &splitter);
    csv_free(&parser);
    if (done == length && !splitter.failed)
        return KW_OK;
    kw_head_free_rows(head);
    return kw_fail_memory(error);
}

size_t kw_mend_quotes(char *text, size_t length)
{
    size_t first_line = 0;
    size_t line = 1;
    for (size_t start = 0; start < length; line++) {
        size_t end = start;
        size_t quotes = 0;
        while (end < length && text[end] != '\n' && text[end] != '\r')
            quotes += text[end++] == '"';
        for (size_t i = start; quotes % 2 == 1 && i < end; i++) {
            if (text[i] == '"')
                text[i] = '\'';
        }
        if (quotes % 2 == 1 && first_line == 0)
            first_line = line;
        /* CR LF is one end. */
        end += end + 1 < length && text[end] == '\r' && text[end + 1] == '\n';
        start = end + 1;
    }
    return first_line;
}
