/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Telling the row of units from remarks, limits and names of sensors that stand
 * between the heading and the data.
 *
 * A unit that is not known must not take the known ones with it: exhaust in K
 * would be read as C. So it is not the share of known units alone that tells,
 * but also whether they stand below headings that they fit. */
#include "import/unit_rows.h"

#include "core/text.h"
#include "import/cell.h"
#include "import/fold.h"
#include "import/heading_units.h"
#include "import/headings.h"

#include <string.h>

/* So many units below headings that they fit are no chance. Common practice, no
 * source. */
enum { SURELY_UNITS = 2 };

enum { UNITS_NAMED = 4 /* that one notice lists */ };

/* What stands where there is no unit: "[-]", "#", "none". */
static bool says_nothing(const char *cell)
{
    static const char *const words[] = {"",      "na",   "n/a", "none",
                                        "count", "nr",   "no",  "num",
                                        "bool",  "flag", "text"};
    char folded[KW_FOLDED_SIZE];
    char plain[KW_FOLDED_SIZE];
    size_t n = 0;
    if (kw_is_missing(cell, strlen(cell)))
        return true;
    /* A lone degree sign, which leaves nothing, is an angle. */
    if (kw_is_degree_sign(cell))
        return false;
    kw_fold(cell, folded);
    for (const char *p = folded; *p != '\0'; p++) {
        if (strchr(" ([{<>}])#-", *p) == NULL)
            plain[n++] = *p;
    }
    plain[n] = '\0';
    for (size_t i = 0; i < sizeof words / sizeof words[0]; i++) {
        if (strcmp(plain, words[i]) == 0)
            return true;
    }
    return false;
}

static bool is_unit(const char *cell)
{
    return !says_nothing(cell) &&
           (kw_is_degree_sign(cell) || kw_is_unit_cell(cell));
}

size_t kw_filled(const struct kw_head_row *row)
{
    size_t n = 0;
    for (size_t i = 0; i < row->n; i++)
        n += !says_nothing(row->cells[i]);
    return n;
}

size_t kw_units_in(const struct kw_head_row *row)
{
    size_t n = 0;
    for (size_t i = 0; i < row->n; i++)
        n += is_unit(row->cells[i]);
    return n;
}

bool kw_is_unit_row(const struct kw_head_row *row)
{
    const size_t units = kw_units_in(row);
    return units > 0 && 2 * units >= kw_filled(row);
}

bool kw_is_units_alone(const struct kw_head_row *row)
{
    for (size_t i = 0; i < row->n; i++) {
        if (!says_nothing(row->cells[i]) && !kw_is_unit_alone(row->cells[i]) &&
            !kw_is_degree_sign(row->cells[i]))
            return false;
    }
    return true;
}

/* A second row of headings in another language or shorter. */
static bool names_columns(const struct kw_head_row *row)
{
    for (size_t i = 0; i < row->n; i++) {
        if (!is_unit(row->cells[i]) &&
            kw_heading_read(row->cells[i], "").role != KW_N_ROLES)
            return true;
    }
    return false;
}

static enum kw_quantity heading_quantity(const struct kw_head *head,
                                         size_t column)
{
    const char *heading = kw_head_cell(head, head->heading, column);
    return kw_role_quantity(kw_heading_read(heading, "").role);
}

bool kw_fits_heading(const struct kw_head *head, size_t row, size_t column)
{
    const char *cell = kw_head_cell(head, row, column);
    const enum kw_quantity quantity = heading_quantity(head, column);
    char folded[KW_FOLDED_SIZE];
    if (quantity == KW_QUANTITY_NONE || says_nothing(cell))
        return false;
    kw_fold(cell, folded);
    return kw_find_stated_unit("", folded, quantity) != NULL ||
           (quantity == KW_QUANTITY_ANGLE && kw_is_degree_sign(cell));
}

/* One letter may also be the name of a probe, or its type: K. */
static bool is_one_letter(const char *cell)
{
    const char *first = cell + strspn(cell, " ");
    return *first != '\0' && first[1 + strspn(first + 1, " ")] == '\0';
}

/* Units by the headings above them.
 *
 * fitting   how many are of the quantity that their heading has.
 * telling   how many of these are more than a letter.
 * unfitting how many letters are units of another quantity: probes are called
 *           A, B and C. */
struct fit {
    size_t fitting;
    size_t telling;
    size_t unfitting;
};

static struct fit fit_of(const struct kw_head *head, size_t row)
{
    struct fit fit = {0};
    for (size_t i = 0; i < head->rows[row].n; i++) {
        const char *cell = head->rows[row].cells[i];
        const bool letter = is_one_letter(cell);
        if (kw_fits_heading(head, row, i)) {
            fit.fitting++;
            fit.telling += !letter;
        } else {
            fit.unfitting += letter && is_unit(cell) &&
                             heading_quantity(head, i) != KW_QUANTITY_NONE;
        }
    }
    return fit;
}

/* How surely a row states units; 0 for one that does not. */
static size_t sureness(const struct kw_head *head, size_t row)
{
    const struct fit fit = fit_of(head, row);
    const bool sure = fit.fitting >= SURELY_UNITS ||
                      (fit.telling > 0 && !names_columns(&head->rows[row])) ||
                      (kw_is_unit_row(&head->rows[row]) && fit.unfitting == 0);
    return sure ? 1 + fit.fitting : 0;
}

/* "0.1 C", "10 rpm": a step or a factor, where the readings below it are bare
 * numbers. */
static bool is_row_of_steps(const struct kw_head *head, size_t row)
{
    const struct kw_head_row *steps = &head->rows[row];
    size_t n = 0;
    if (row + 1 >= head->n_rows)
        return false;
    for (size_t i = 0; i < steps->n; i++) {
        const char *cell = steps->cells[i];
        const bool step = kw_cell_unit(cell)[0] != '\0';
        if (says_nothing(cell))
            continue;
        if ((!step && !is_unit(cell)) ||
            kw_cell_unit(kw_head_cell(head, row + 1, i))[0] != '\0')
            return false;
        n += step;
    }
    return n > 0;
}

/* Of the rows between heading and data the surest, of equals the first: limits
 * or names of sensors may follow. */
static size_t units_below(const struct kw_head *head)
{
    size_t units = head->n_rows;
    size_t most = 0;
    for (size_t i = head->heading + 1; i < head->first_data; i++) {
        const size_t sure = sureness(head, i);
        if (sure > most) {
            units = i;
            most = sure;
        }
    }
    return units;
}

/* A row of words in which a letter is a unit that fits: K, or the type of the
 * probe. */
static size_t doubtful_units(const struct kw_head *head)
{
    for (size_t i = head->heading + 1; i < head->first_data; i++) {
        if (fit_of(head, i).fitting > 0 && !names_columns(&head->rows[i]))
            return i;
    }
    return head->n_rows;
}

/* Above the heading stand notes too, so it must be units and nothing else. */
static size_t units_above(const struct kw_head *head)
{
    size_t at = head->heading;
    while (at > 0 && kw_filled(&head->rows[at - 1]) == 0)
        at--;
    return at > 0 && kw_is_units_alone(&head->rows[at - 1]) &&
                   head->rows[at - 1].n <= head->rows[head->heading].n + 1 &&
                   fit_of(head, at - 1).fitting >= SURELY_UNITS
               ? at - 1
               : head->n_rows;
}

void kw_find_units(struct kw_head *head)
{
    const size_t none = head->n_rows;
    head->doubtful_units = false;
    head->units = units_below(head);
    /* Below units it may be the rate of each channel, in Hz. */
    if (is_row_of_steps(head, head->first_data)) {
        head->units = head->units == none ? head->first_data : head->units;
        head->first_data++;
    }
    if (head->units == none)
        head->units = units_above(head);
    if (head->units == none) {
        head->units = doubtful_units(head);
        head->doubtful_units = head->units != none;
    }
}

/* ---- what is told of it -------------------------------------------------- */

/* "RPM" names the column rather than its unit. */
static bool knows_unit(const struct kw_column *column)
{
    return column->unit != NULL && column->unit != kw_unit_named("rpm");
}

/* A remark, or the heading in other words, is not meant to be a unit. */
static bool is_unknown_unit(const struct kw_column *column, const char *cell)
{
    return kw_role_quantity(column->role) != KW_QUANTITY_NONE &&
           !column->clock && !knows_unit(column) && !says_nothing(cell) &&
           !is_unit(cell) && kw_cell_unit(cell)[0] == '\0' &&
           kw_heading_read(cell, "").role != column->role;
}

/* Each with the heading that it stands below. */
static size_t list_unknown(const struct kw_head *head,
                           const struct kw_columns *columns,
                           struct kw_text *text)
{
    size_t n = 0;
    for (size_t i = 0; i < columns->n; i++) {
        const char *cell = kw_head_cell(head, head->units, i);
        if (!is_unknown_unit(&columns->items[i], cell) || ++n > UNITS_NAMED)
            continue;
        kw_text_add(text, n == 1 ? "'" : ", '");
        kw_text_add_visible(text, cell);
        kw_text_add(text, "' of column '");
        kw_text_add_visible(text, columns->items[i].heading);
        kw_text_add(text, "'");
    }
    if (n > UNITS_NAMED)
        kw_text_add(text, " and more");
    return n;
}

enum kw_status kw_units_notices(const struct kw_head *head,
                                const struct kw_columns *columns,
                                struct kw_notices *notices,
                                struct kw_error *error)
{
    struct kw_text text = {0};
    if (head->units == head->n_rows)
        return KW_OK;
    const size_t line = head->rows[head->units].line;
    if (head->doubtful_units) {
        kw_text_add(&text, "this row may be units, but hardly any is known: "
                           "only what fits the numbers was used. If it states "
                           "the units, write them in the headings");
        return kw_notices_tell(notices, line, &text, error);
    }
    kw_text_add(&text, "units that are not known are left out: ");
    if (list_unknown(head, columns, &text) > 0)
        return kw_notices_tell(notices, line, &text, error);
    kw_text_free(&text);
    return KW_OK;
}
