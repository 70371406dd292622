/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Headings in a language or a shorthand that we do not know may still name the
 * role of a column that holds a target, a gap or what is left of the time. The
 * numbers show it.
 *
 * They speak only where another column could have the role: alone, an odd
 * column is asked about or told of later, where all rows are known. */
#include "import/refuted.h"

#include "core/array.h"
#include "core/text.h"
#include "import/cell.h"

#include <limits.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

/* Fewer readings may be the same, or fall, by chance. This and all that
 * follows: common practice, no source. */
enum { FEWEST_READINGS = 20 };
/* Of the steps of a clock; it falls where it is set back or a stamp is damaged.
 */
static const double SHARE_OF_FALLS = 0.05;
/* A sensor's noise around its zero may go a little below it, an odd time. */
static const double SHARE_BELOW_ZERO = 0.05;
/* A difference of two probes is below 0 and above it; an exhaust is neither
 * so often. */
static const double SHARE_EACH_SIDE = 0.1;

/* How the first values of a column go.
 *
 * n      numbers that were read.
 * rises  steps up; falls, steps down.
 * below  numbers below 0; above, above it. */
struct course {
    size_t n;
    size_t rises;
    size_t falls;
    size_t below;
    size_t above;
};

static struct course course_of(const struct kw_head *head,
                               const struct kw_columns *columns,
                               size_t i)
{
    struct course course = {0};
    double before = NAN;
    for (size_t r = head->first_data; r < head->n_rows; r++) {
        const char *cell = kw_head_cell(head, r, i);
        double value = 0.0;
        if (!kw_cell_read(columns->items[i].role, cell, strlen(cell),
                          head->point, &value))
            continue;
        course.n++;
        course.rises += value > before;
        course.falls += value < before;
        course.below += value < 0.0;
        course.above += value > 0.0;
        before = value;
    }
    return course;
}

static bool is_share(size_t part, double share, size_t n)
{
    return n >= FEWEST_READINGS && (double)part >= share * (double)n;
}

static bool falls_often(const struct course *course)
{
    return is_share(course->falls, SHARE_OF_FALLS,
                    course->rises + course->falls);
}

static bool stands_still(const struct course *course)
{
    return course->n >= FEWEST_READINGS && course->rises + course->falls == 0;
}

/* A clock of hh:mm:ss has no numbers here, and is a time. */
static bool runs_forward(const struct kw_column *column,
                         const struct course *course)
{
    return column->clock || (course->rises > 0 && !falls_often(course));
}

/* What speaks against the one where the other is there; NULL for nothing. */
static const char *against_beside(const struct kw_column *column,
                                  const struct course *one,
                                  const struct kw_column *rival,
                                  const struct course *other)
{
    if (column->role == KW_ROLE_TIME) {
        if (column->clock || !runs_forward(rival, other))
            return NULL;
        return falls_often(one)    ? "it goes back again and again"
               : stands_still(one) ? "it never changes"
                                   : NULL;
    }
    if (column->role == KW_ROLE_EGT)
        return is_share(one->below, SHARE_EACH_SIDE, one->n) &&
                       is_share(one->above, SHARE_EACH_SIDE, one->n) &&
                       other->above > 0 && other->below == 0
                   ? "it lies around 0"
                   : NULL;
    if (is_share(one->below, SHARE_BELOW_ZERO, one->n) && other->above > 0 &&
        other->below == 0)
        return "it goes below 0";
    /* An engine or a kart at rest reads 0 for long. */
    return stands_still(one) && one->above > 0 && other->n > 0 &&
                   !stands_still(other)
               ? "it never changes"
               : NULL;
}

static bool is_judged(const struct kw_column *column)
{
    return (column->role == KW_ROLE_TIME || column->role == KW_ROLE_RPM ||
            column->role == KW_ROLE_SPEED || column->role == KW_ROLE_EGT) &&
           column->readable && !column->own_time;
}

/* What speaks against a column; NULL for nothing.
 *
 * courses  of all columns. */
static const char *against(const struct kw_columns *columns,
                           const struct course *courses,
                           size_t i)
{
    const struct kw_column *column = &columns->items[i];
    /* Its heading says already that it may be no time of the log. */
    if (column->role == KW_ROLE_TIME && column->lesser) {
        if (falls_often(&courses[i]))
            return "it goes back again and again";
        if (stands_still(&courses[i]))
            return "it never changes";
    }
    for (size_t k = 0; k < columns->n; k++) {
        const struct kw_column *rival = &columns->items[k];
        if (k == i || rival->role != column->role || !is_judged(rival))
            continue;
        const char *why =
            against_beside(column, &courses[i], rival, &courses[k]);
        if (why != NULL)
            return why;
    }
    return NULL;
}

static enum kw_status refute(struct kw_column *column,
                             const char *why,
                             struct kw_error *error)
{
    struct kw_text text = {0};
    kw_text_addf(&text, "could be %s, but %s", kw_role_name(column->role), why);
    char *said = kw_text_take(&text, error);
    if (said == NULL)
        return KW_NO_MEMORY;
    free(column->why);
    column->why = said;
    column->denied = column->role;
    column->role = column->claims = KW_N_ROLES;
    return KW_OK;
}

enum kw_status kw_refute_columns(const struct kw_head *head,
                                 struct kw_columns *columns,
                                 struct kw_error *error)
{
    enum kw_status status = KW_OK;
    struct course *courses = kw_array_new(columns->n, sizeof *courses, error);
    if (courses == NULL)
        return KW_NO_MEMORY;
    for (size_t i = 0; i < columns->n; i++) {
        if (is_judged(&columns->items[i]))
            courses[i] = course_of(head, columns, i);
    }
    for (size_t i = 0; status == KW_OK && i < columns->n; i++) {
        struct kw_column *column = &columns->items[i];
        if (!is_judged(column) || column->score == INT_MAX)
            continue;
        const char *why = against(columns, courses, i);
        if (why != NULL)
            status = refute(column, why, error);
    }
    free(courses);
    return status;
}
