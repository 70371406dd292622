/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Only rows that cannot be read are looked at, so that a sound log costs
 * nothing. */
#include "import/joined_files.h"

#include "core/fail.h"
#include "core/notices.h"
#include "core/text.h"
#include "import/cell.h"
#include "import/heading_units.h"
#include "import/headings.h"

#include <string.h>

/* A list of laps below the readings is short, and so is a stretch that a person
 * has edited: more rows than this, and a larger share of all, is part of the
 * session. Common practice, no source. */
static const size_t FEWEST_ROWS = 50;
static const double SHARE_OF_ROWS = 0.05;

/* Longer than any heading or number that is looked at; the rest cannot
 * matter. */
enum { FIELD_SIZE = 128 };

static void copy_field(char *to, const char *text, size_t length)
{
    if (length >= FIELD_SIZE)
        length = FIELD_SIZE - 1;
    memcpy(to, text, length);
    to[length] = '\0';
}

void kw_joined_next_row(struct kw_joined_files *joined)
{
    memset(joined->marks, 0, sizeof joined->marks);
    joined->names = 0;
    joined->names_rpm = joined->names_time = joined->other_number = false;
}

void kw_joined_field(struct kw_joined_files *joined,
                     const char *text,
                     size_t length)
{
    for (size_t i = 0; i < length; i++) {
        const char *mark = memchr(kw_delimiters, text[i], KW_N_DELIMITERS);
        if (mark != NULL)
            joined->marks[mark - kw_delimiters]++;
    }
}

/* ---- another heading ----------------------------------------------------- */

/* A unit that is not stated is no other one; turns in a minute are what RPM
 * are in without a word. */
static bool is_same_unit(const struct kw_column *column,
                         const struct kw_unit *unit)
{
    return unit == NULL || unit == column->unit ||
           (column->unit == NULL && unit == kw_unit_named("rpm"));
}

/* "RPM" above a column of EGT, "EGT (F)" above one in C, or "F" in the row of
 * units below: all of them would be read as what they are not. */
bool kw_joined_word(struct kw_joined_files *joined,
                    const struct kw_columns *columns,
                    size_t column,
                    const char *text,
                    size_t length)
{
    const struct kw_column *above = &columns->items[column];
    char word[FIELD_SIZE];
    copy_field(word, text, length);
    const struct kw_heading heading = kw_heading_read(word, "");
    if (kw_is_unit_alone(word)) {
        const struct kw_unit *unit = kw_heading_unit(above->role, "", word);
        if (unit != NULL && is_same_unit(above, unit))
            return true;
        /* The same columns in other units. */
        joined->names_rpm = joined->names_rpm || unit != NULL;
    } else if (heading.role == KW_N_ROLES) {
        return false;
    } else if (heading.role == above->role &&
               is_same_unit(above, heading.unit)) {
        return true;
    }
    /* The first one is shown. */
    if (joined->names++ == 0 && joined->heading_line == 0) {
        joined->column = column;
        kw_text_copy(joined->name, sizeof joined->name, word);
    }
    return false;
}

void kw_joined_heading_field(struct kw_joined_files *joined,
                             const char *text,
                             size_t length)
{
    char word[FIELD_SIZE];
    copy_field(word, text, length);
    const enum kw_role role = kw_heading_read(word, "").role;
    joined->names_rpm = joined->names_rpm || role == KW_ROLE_RPM;
    /* "s" in a row of units. */
    joined->names_time = joined->names_time || role == KW_ROLE_TIME ||
                         kw_heading_unit(KW_ROLE_TIME, "", word) != NULL;
}

void kw_joined_heading(struct kw_joined_files *joined,
                       size_t fields,
                       size_t line)
{
    if (joined->heading_line == 0) {
        joined->heading_line = line;
        joined->fields = fields;
        if (joined->names == 0)
            joined->name[0] = '\0';
    }
    joined->is_log = joined->is_log || joined->names_rpm;
    joined->below = true;
}

/* ---- other marks --------------------------------------------------------- */

void kw_joined_bad_field(struct kw_joined_files *joined,
                         const char *text,
                         size_t length)
{
    char number[FIELD_SIZE];
    copy_field(number, text, length);
    joined->other_number = joined->other_number || kw_cell_is_number(number);
}

/* As many marks of another kind as would part the columns, perhaps with one at
 * the end of the line; or a number with the other decimal mark. */
void kw_joined_bad_row(struct kw_joined_files *joined,
                       size_t n_columns,
                       size_t line)
{
    bool other = joined->other_number;
    for (size_t i = 0; n_columns > 1 && i < KW_N_DELIMITERS; i++)
        other = other || joined->marks[i] + 1 == n_columns ||
                joined->marks[i] == n_columns;
    if (!other)
        return;
    if (joined->n_marks++ == 0)
        joined->marks_line = line;
}

/* ---- at the end ---------------------------------------------------------- */

static bool is_part_of_session(size_t n, size_t n_rows)
{
    return n > FEWEST_ROWS && (double)n > SHARE_OF_ROWS * (double)n_rows;
}

static void describe_heading(const struct kw_joined_files *joined,
                             const struct kw_columns *columns,
                             struct kw_text *text)
{
    kw_text_add(text, "another heading stands here, with ");
    if (joined->name[0] == '\0') {
        kw_text_addf(text, "%zu columns where the one at the top has %zu",
                     joined->fields, columns->n);
        return;
    }
    kw_text_add(text, "'");
    kw_text_add_visible(text, joined->name);
    kw_text_add(text, "' where the one at the top has '");
    kw_text_add_visible(text, columns->items[joined->column].heading);
    kw_text_add(text, "'");
}

static enum kw_status refuse_heading(const struct kw_joined_files *joined,
                                     const struct kw_joined_report *report,
                                     struct kw_error *error)
{
    const struct kw_refusal refusal = {
        KW_BAD_INPUT, report->path, joined->heading_line,
        "split the file here and review each part"};
    struct kw_text what = {0};
    describe_heading(joined, report->columns, &what);
    return kw_fail_text(error, &refusal, &what);
}

static enum kw_status tell_heading(const struct kw_joined_files *joined,
                                   const struct kw_joined_report *report,
                                   struct kw_error *error)
{
    struct kw_text text = {0};
    describe_heading(joined, report->columns, &text);
    kw_text_addf(&text, ": %zu row%s below it %s left out", joined->n_below,
                 joined->n_below == 1 ? "" : "s",
                 joined->n_below == 1 ? "is" : "are");
    return kw_notices_tell(report->notices, joined->heading_line, &text, error);
}

static enum kw_status refuse_marks(const struct kw_joined_files *joined,
                                   const struct kw_joined_report *report,
                                   struct kw_error *error)
{
    const struct kw_refusal refusal = {
        KW_BAD_INPUT, report->path, joined->marks_line,
        "split the file here and review each part, or export it again"};
    struct kw_text what = {0};
    kw_text_add_whole(&what, (double)joined->n_marks);
    kw_text_add(&what, " of ");
    kw_text_add_whole(&what, (double)report->n_rows);
    kw_text_add(&what, " rows, from this one on, have other marks between "
                       "their fields or in their numbers");
    return kw_fail_text(error, &refusal, &what);
}

/* What stands below another heading is left out for certain: that comes first.
 * Without RPM it is another table, of positions or laps, and no part of this
 * one. */
enum kw_status kw_joined_settle(const struct kw_joined_files *joined,
                                const struct kw_joined_report *report,
                                struct kw_error *error)
{
    if (joined->is_log && is_part_of_session(joined->n_below, report->n_rows))
        return refuse_heading(joined, report, error);
    if (is_part_of_session(joined->n_marks, report->n_rows))
        return refuse_marks(joined, report, error);
    return joined->n_below > 0 ? tell_heading(joined, report, error) : KW_OK;
}
