/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Choosing columns. The better heading wins; where two say the same as well, it
 * is asked which, for RPM and time decide everything that follows. */
#include "import/columns.h"

#include "core/array.h"
#include "core/clock.h"
#include "core/text.h"
#include "import/cell.h"
#include "import/fold.h"
#include "import/headings.h"

#include <limits.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

enum {
    HEADING_SIZE = 256, /* bytes of a heading that are kept */
    HEADINGS_NAMED = 8, /* headings that a refusal lists */
    DATE_SCORE = 2      /* of headings that may hold a date alone */
};

void kw_columns_free(struct kw_columns *columns)
{
    for (size_t i = 0; i < columns->n; i++) {
        free(columns->items[i].heading);
        free(columns->items[i].why);
    }
    free(columns->items);
    *columns = (struct kw_columns){0};
}

/* ---- reading headings -----------------------------------------------------
 */

static const char *cell_of(const struct kw_head *head, size_t row, size_t i)
{
    if (row >= head->n_rows || i >= head->rows[row].n)
        return "";
    return head->rows[row].cells[i];
}

/* A heading without the mark of a comment line and outer spaces, as UTF-8. */
static char *tidy_heading(const char *cell, struct kw_error *error)
{
    char utf8[HEADING_SIZE];
    size_t length = strlen(cell);
    while (length > 0 && strchr(" \t#", *cell) != NULL) {
        cell++;
        length--;
    }
    while (length > 0 && strchr(" \t", cell[length - 1]) != NULL)
        length--;
    kw_to_utf8(cell, length, utf8, sizeof utf8);
    return kw_text_duplicate(utf8, error);
}

/* Looks at the first values of a column: numbers, clock times, or text. A blank
 * column may fill later (a position before the first fix).
 *
 * returns  false for a column of text. */
static bool look_at_values(const struct kw_head *head,
                           size_t i,
                           struct kw_column *column)
{
    size_t numbers = 0;
    size_t clocks = 0;
    size_t texts = 0;
    for (size_t r = head->first_data; r < head->n_rows; r++) {
        const char *cell = cell_of(head, r, i);
        const size_t length = strlen(cell);
        struct kw_clock clock;
        double value = 0.0;
        if (kw_cell_read(column->role, cell, length, head->point, &value)) {
            numbers++;
        } else if (kw_clock_parse(cell, length, &clock)) {
            clocks++;
            column->dated = clock.has_date;
        } else {
            texts += !kw_is_missing(cell, length);
        }
    }
    column->clock = clocks > numbers;
    return clocks + numbers > 0 || texts == 0;
}

/* The unit that the units row states, or the first reading. */
static const char *unit_cell_of(const struct kw_head *head, size_t i)
{
    const char *cell = cell_of(head, head->units, i);
    for (size_t r = head->first_data; r < head->n_rows && *cell == '\0'; r++)
        cell = kw_cell_unit(cell_of(head, r, i));
    return cell;
}

static enum kw_status read_column(const struct kw_head *head,
                                  size_t i,
                                  struct kw_column *column,
                                  struct kw_error *error)
{
    column->heading = tidy_heading(cell_of(head, head->heading, i), error);
    if (column->heading == NULL)
        return KW_NO_MEMORY;
    const struct kw_heading heading =
        kw_heading_read(column->heading, unit_cell_of(head, i));
    column->role = heading.role;
    const bool has_values = look_at_values(head, i, column);
    column->score = heading.score;
    column->unit = heading.unit;
    /* Clock times can be nothing but the time, text can be nothing, and a date
     * is no time without one. */
    if ((column->clock && column->role != KW_ROLE_TIME) || !has_values ||
        (heading.score <= DATE_SCORE && !column->clock))
        column->role = KW_N_ROLES;
    struct kw_text why = {0};
    if (column->role != KW_N_ROLES)
        kw_text_addf(&why, "heading reads as %s", heading.words);
    column->why = kw_text_take(&why, error);
    return column->why == NULL ? KW_NO_MEMORY : KW_OK;
}

/* ---- stated columns -------------------------------------------------------
 */

/* Compares without case and outer spaces. */
static bool same_heading(const char *a, const char *b)
{
    char x[HEADING_SIZE];
    char y[HEADING_SIZE];
    kw_text_copy(x, sizeof x, a + strspn(a, " \t"));
    kw_text_copy(y, sizeof y, b + strspn(b, " \t"));
    char *const both[] = {x, y};
    for (size_t i = 0; i < 2; i++) {
        size_t n = strlen(both[i]);
        while (n > 0 && strchr(" \t", both[i][n - 1]) != NULL)
            both[i][--n] = '\0';
    }
    return kw_text_same(x, y);
}

static void list_headings(const struct kw_columns *columns,
                          struct kw_text *text)
{
    for (size_t i = 0; i < columns->n && i < HEADINGS_NAMED; i++) {
        kw_text_add(text, i == 0 ? "'" : ", '");
        kw_text_add_visible(text, columns->items[i].heading);
        kw_text_add(text, "'");
    }
    if (columns->n > HEADINGS_NAMED)
        kw_text_add(text, " and more");
}

/* Refuses with the headings that there are as what to choose from. */
static enum kw_status refuse_with_headings(const struct kw_columns *columns,
                                           const char *path,
                                           size_t line,
                                           const char *what,
                                           const char *todo,
                                           struct kw_error *error)
{
    struct kw_text text = {0};
    kw_text_add(&text, todo);
    kw_text_add(&text, "; the columns are ");
    list_headings(columns, &text);
    const enum kw_status status =
        kw_text_failed(&text)
            ? kw_fail_memory(error)
            : kw_fail(error, KW_BAD_INPUT, path, line, what, text.bytes);
    kw_text_free(&text);
    return status;
}

static enum kw_status set_why(struct kw_column *column,
                              const char *why,
                              struct kw_error *error)
{
    char *copy = kw_text_duplicate(why, error);
    if (copy == NULL)
        return KW_NO_MEMORY;
    free(column->why);
    column->why = copy;
    return KW_OK;
}

/* One choice: that column gets the role, every other loses it. */
static enum kw_status apply_choice(const struct kw_column_choice *choice,
                                   const struct kw_head *head,
                                   struct kw_columns *columns,
                                   const char *path,
                                   struct kw_error *error)
{
    size_t chosen = columns->n;
    for (size_t i = 0; i < columns->n && chosen == columns->n; i++) {
        if (same_heading(columns->items[i].heading, choice->heading))
            chosen = i;
    }
    if (chosen == columns->n) {
        struct kw_text what = {0};
        kw_text_addf(&what, "no column for %s is called '",
                     kw_role_name(choice->role));
        kw_text_add_visible(&what, choice->heading);
        kw_text_add(&what, "'");
        const enum kw_status status =
            kw_text_failed(&what)
                ? kw_fail_memory(error)
                : refuse_with_headings(
                      columns, path, head->rows[head->heading].line, what.bytes,
                      "write it as the file has it", error);
        kw_text_free(&what);
        return status;
    }
    for (size_t i = 0; i < columns->n; i++) {
        if (columns->items[i].role == choice->role &&
            columns->items[i].score != INT_MAX)
            columns->items[i].role = KW_N_ROLES;
    }
    struct kw_column *column = &columns->items[chosen];
    column->role = choice->role;
    column->score = INT_MAX;
    column->unit = kw_heading_unit(choice->role, column->heading,
                                   unit_cell_of(head, chosen));
    return set_why(column, "you said so", error);
}

static bool stated_before(const struct kw_import_options *options, size_t index)
{
    for (size_t i = 0; i < index; i++) {
        if (options->choices[i].role == options->choices[index].role &&
            options->choices[i].role != KW_ROLE_EGT)
            return true;
    }
    return false;
}

/* ---- one column for each role ---------------------------------------------
 */

static enum kw_status refuse_tie(const struct kw_columns *columns,
                                 size_t a,
                                 size_t b,
                                 const char *path,
                                 size_t line,
                                 struct kw_error *error)
{
    struct kw_text what = {0};
    struct kw_text todo = {0};
    const char *role = kw_role_name(columns->items[a].role);
    kw_text_add(&what, "columns '");
    kw_text_add_visible(&what, columns->items[a].heading);
    kw_text_add(&what, "' and '");
    kw_text_add_visible(&what, columns->items[b].heading);
    kw_text_addf(&what, "' could both be %s", role);
    kw_text_addf(&todo, "say which with --column %s=\"", role);
    kw_text_add_visible(&todo, columns->items[a].heading);
    kw_text_add(&todo, "\"");
    const enum kw_status status =
        kw_text_failed(&what) || kw_text_failed(&todo)
            ? kw_fail_memory(error)
            : kw_fail(error, KW_BAD_INPUT, path, line, what.bytes, todo.bytes);
    kw_text_free(&what);
    kw_text_free(&todo);
    return status;
}

static enum kw_status give_up(struct kw_column *loser,
                              const struct kw_column *winner,
                              struct kw_error *error)
{
    struct kw_text why = {0};
    kw_text_addf(&why, "could be %s too, but '", kw_role_name(winner->role));
    kw_text_add_visible(&why, winner->heading);
    kw_text_add(&why, "' fits better");
    char *text = kw_text_take(&why, error);
    if (text == NULL)
        return KW_NO_MEMORY;
    free(loser->why);
    loser->why = text;
    loser->role = KW_N_ROLES;
    return KW_OK;
}

/* Keeps the best column of a role; a tie for RPM or time is refused. */
static enum kw_status keep_best(struct kw_columns *columns,
                                enum kw_role role,
                                const char *path,
                                size_t line,
                                struct kw_error *error)
{
    size_t best = columns->n;
    for (size_t i = 0; i < columns->n; i++) {
        if (columns->items[i].role != role)
            continue;
        if (best == columns->n ||
            columns->items[i].score > columns->items[best].score)
            best = i;
    }
    for (size_t i = 0; i < columns->n; i++) {
        if (i == best || columns->items[i].role != role)
            continue;
        if (columns->items[i].score == columns->items[best].score &&
            (role == KW_ROLE_RPM || role == KW_ROLE_TIME))
            return refuse_tie(columns, best, i, path, line, error);
        if (give_up(&columns->items[i], &columns->items[best], error) != KW_OK)
            return KW_NO_MEMORY;
    }
    return KW_OK;
}

static bool has_role(const struct kw_columns *columns, enum kw_role role)
{
    for (size_t i = 0; i < columns->n; i++) {
        if (columns->items[i].role == role)
            return true;
    }
    return false;
}

static enum kw_status check_required(const struct kw_columns *columns,
                                     const struct kw_head *head,
                                     const char *path,
                                     bool has_rate,
                                     struct kw_error *error)
{
    const size_t line = head->rows[head->heading].line;
    if (!has_role(columns, KW_ROLE_RPM))
        return refuse_with_headings(columns, path, line, "no RPM column",
                                    "name it with --column rpm=HEADING", error);
    if (!has_role(columns, KW_ROLE_TIME) && !has_rate)
        return refuse_with_headings(
            columns, path, line, "no time column",
            "name it with --column time=HEADING, or state the rate with "
            "--rate HZ",
            error);
    return KW_OK;
}

enum kw_status kw_columns_find(const struct kw_head *head,
                               const char *path,
                               const struct kw_import_options *options,
                               struct kw_columns *out,
                               struct kw_error *error)
{
    const size_t line = head->rows[head->heading].line;
    const bool has_rate = options->rate_hz > 0.0 || head->rate_hz > 0.0;
    enum kw_status status = KW_OK;
    out->n = 0;
    out->items =
        kw_array_new(head->rows[head->heading].n, sizeof *out->items, error);
    if (out->items == NULL)
        return KW_NO_MEMORY;
    for (size_t i = 0; status == KW_OK && i < head->rows[head->heading].n; i++)
        status = read_column(head, i, &out->items[out->n++], error);
    for (size_t i = 0; status == KW_OK && i < options->n_choices; i++) {
        if (!stated_before(options, i))
            status = apply_choice(&options->choices[i], head, out, path, error);
    }
    for (int role = 0; status == KW_OK && role < KW_N_ROLES; role++) {
        if (role != KW_ROLE_EGT)
            status = keep_best(out, (enum kw_role)role, path, line, error);
    }
    if (status == KW_OK)
        status = check_required(out, head, path, has_rate, error);
    if (status != KW_OK)
        kw_columns_free(out);
    return status;
}

enum kw_status kw_columns_notices(const struct kw_columns *columns,
                                  size_t heading_line,
                                  struct kw_notices *notices,
                                  struct kw_error *error)
{
    for (size_t i = 0; i < columns->n; i++) {
        const struct kw_column *column = &columns->items[i];
        if (column->role != KW_N_ROLES || column->heading[0] == '\0')
            continue;
        struct kw_text text = {0};
        kw_text_add(&text, "column '");
        kw_text_add_visible(&text, column->heading);
        kw_text_add(&text, "' is left out: ");
        kw_text_add(&text,
                    column->why[0] != '\0' ? column->why : "not understood");
        const enum kw_status status =
            kw_text_failed(&text)
                ? kw_fail_memory(error)
                : kw_notices_add(notices, heading_line, text.bytes, error);
        kw_text_free(&text);
        if (status != KW_OK)
            return status;
    }
    return KW_OK;
}
