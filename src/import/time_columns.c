/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What the first rows of the time columns say about them. */
#include "import/time_columns.h"

#include "core/fail.h"
#include "core/text.h"
#include "import/cell.h"

#include <limits.h>
#include <math.h>
#include <string.h>

/* Two clocks of one log keep together better than this; those of two channels
 * differ by a factor of their rates. Factors of ten are s beside ms. Common
 * practice, no source. */
static const double SAME_PACE = 0.1;
static const double SAME_DECADE = 0.02;
/* Clocks of channels start together, within so many of their steps. */
static const double STARTS_WITHIN_STEPS = 10.0;

/* The first and the last number of a column in the head.
 *
 * step   between two rows.
 * whole  all are whole numbers, each one more than the one before.
 * n      how many were read; a column that does not rise has none. */
struct pace {
    double first;
    double last;
    double step;
    bool whole;
    size_t n;
};

static struct pace pace_of(const struct kw_head *head, size_t column)
{
    struct pace pace = {.whole = true};
    for (size_t r = head->first_data; r < head->n_rows; r++) {
        const char *cell = kw_head_cell(head, r, column);
        double value = 0.0;
        if (!kw_cell_number(cell, strlen(cell), head->point, &value))
            continue;
        if (pace.n > 0 && !(value >= pace.last))
            return (struct pace){.n = 0};
        pace.whole = pace.whole && !(floor(value) < value) &&
                     (pace.n == 0 || !(fabs(value - pace.last - 1.0) > 0.0));
        if (pace.n++ == 0)
            pace.first = value;
        pace.last = value;
    }
    if (pace.n > 1)
        pace.step = (pace.last - pace.first) / (double)(pace.n - 1);
    return pace;
}

/* Do the two start together and part from there? */
static bool run_apart(const struct pace *a, const struct pace *b)
{
    if (a->n < 2 || b->n < 2 || !(a->step > 0.0) || !(b->step > 0.0))
        return false;
    const double decades = log10(a->step / b->step);
    const bool scaled =
        fabs(decades) > 0.5 && fabs(decades - round(decades)) < SAME_DECADE;
    return !scaled && fabs(a->step / b->step - 1.0) > SAME_PACE &&
           fabs(a->first - b->first) <=
               STARTS_WITHIN_STEPS * fmax(a->step, b->step);
}

/* Refuses with the texts, which are freed. */
static enum kw_status refuse(struct kw_error *error,
                             const char *path,
                             size_t line,
                             struct kw_text *what,
                             const char *todo)
{
    const struct kw_refusal refusal = {KW_BAD_INPUT, path, line, todo};
    return kw_fail_text(error, &refusal, what);
}

static bool says_time(const struct kw_column *column)
{
    return column->claims == KW_ROLE_TIME && column->readable &&
           !column->own_time;
}

/* Values of one row would be put together that were read seconds apart. */
static enum kw_status check_own_times(const struct kw_head *head,
                                      const char *path,
                                      const struct kw_columns *columns,
                                      struct kw_error *error)
{
    size_t first = columns->n;
    struct pace one = {.n = 0};
    for (size_t i = 0; i < columns->n; i++) {
        if (!says_time(&columns->items[i]) || columns->items[i].clock)
            continue;
        const struct pace other = pace_of(head, i);
        if (first == columns->n) {
            first = i;
            one = other;
        } else if (run_apart(&one, &other)) {
            struct kw_text what = {0};
            kw_text_add(&what, "columns '");
            kw_text_add_visible(&what, columns->items[first].heading);
            kw_text_add(&what, "' and '");
            kw_text_add_visible(&what, columns->items[i].heading);
            kw_text_add(&what, "' run at different rates: each channel has a "
                               "time of its own");
            return refuse(error, path, head->rows[head->heading].line, &what,
                          "export all channels with one common time");
        }
    }
    return KW_OK;
}

/* "1/128 s", "50 us": a number with a unit of time. "1970" is a remark. */
static bool is_odd_unit(const char *text)
{
    char unit[16];
    const size_t number = strspn(text, "0123456789.,/* ");
    kw_text_copy(unit, sizeof unit, text + number);
    unit[strcspn(unit, ")] ")] = '\0';
    return number > 0 && kw_unit_find(KW_QUANTITY_TIME, unit) != NULL;
}

/* A unit that is stated must not be guessed over. */
static bool states_odd_unit(const struct kw_head *head, size_t column)
{
    const struct kw_head_row *heading = &head->rows[head->heading];
    const char *bracket = strpbrk(heading->cells[column], "[(");
    if (bracket != NULL && is_odd_unit(bracket + 1))
        return true;
    const char *cell = kw_head_cell(head, head->units, column);
    return is_odd_unit(cell + strspn(cell, " [("));
}

static enum kw_status check_column(const struct kw_head *head,
                                   const char *path,
                                   const struct kw_columns *columns,
                                   size_t i,
                                   struct kw_error *error)
{
    const struct kw_column *column = &columns->items[i];
    const size_t line = head->rows[head->heading].line;
    struct kw_text what = {0};
    if (column->clock || column->unit != NULL)
        return KW_OK;
    if (states_odd_unit(head, i)) {
        kw_text_add(&what, "the unit of the time column '");
        kw_text_add_visible(&what, column->heading);
        kw_text_add(&what, "' is not understood");
        return refuse(error, path, line, &what,
                      "export the time in s or ms, or as hh:mm:ss.sss");
    }
    /* "Time" may well count whole seconds; "Sample" does not. */
    const struct pace pace = pace_of(head, i);
    if (column->score != INT_MAX || says_time(column) || pace.n < 2 ||
        !pace.whole)
        return KW_OK;
    kw_text_add(&what, "column '");
    kw_text_add_visible(&what, column->heading);
    kw_text_add(&what, "' counts the rows and is no time");
    return refuse(error, path, line, &what,
                  "leave it out and state the rate with --rate HZ");
}

enum kw_status kw_time_columns_check(const struct kw_head *head,
                                     const char *path,
                                     const struct kw_columns *columns,
                                     struct kw_error *error)
{
    enum kw_status status = check_own_times(head, path, columns, error);
    for (size_t i = 0; status == KW_OK && i < columns->n; i++) {
        if (columns->items[i].role == KW_ROLE_TIME)
            status = check_column(head, path, columns, i, error);
    }
    return status;
}
