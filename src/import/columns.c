/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Choosing columns. The better heading wins; where two say the same as well, it
 * is asked which, for RPM and time decide everything that follows. */
#include "import/columns.h"

#include "core/array.h"
#include "core/clock.h"
#include "core/fail.h"
#include "core/text.h"
#include "import/cell.h"
#include "import/fold.h"
#include "import/heading_units.h"
#include "import/headings.h"
#include "import/own_times.h"
#include "import/refuted.h"
#include "import/time_columns.h"
#include "import/unit_rows.h"

#include <limits.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

enum {
    HEADING_SIZE = 256,  /* bytes of a heading that are kept */
    HEADINGS_NAMED = 8,  /* headings that a refusal lists */
    FEWEST_COUNTED = 10, /* numbers in a row that are no chance */
    BLANK = 3,           /* taken off the score of a column without readings */
    DATE_SCORE = 2       /* of headings that may hold a date alone */
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

/* What every step of choosing needs.
 *
 * line  of the heading row. */
struct chooser {
    const struct kw_head *head;
    const struct kw_import_options *options;
    const char *path;
    size_t line;
    struct kw_columns *columns;
    struct kw_error *error;
};

/* ---- reading headings ---------------------------------------------------- */

/* A heading without the mark of a comment line and outer spaces, as UTF-8. */
static char *tidy_heading(const char *cell, struct kw_error *error)
{
    char utf8[HEADING_SIZE];
    size_t length = strlen(cell);
    /* "# time,rpm" is how some loggers set the heading apart as a comment. */
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
 * column may fill later (a position before the first fix); one of text is not
 * readable. */
static void look_at_values(const struct kw_head *head,
                           size_t i,
                           struct kw_column *column)
{
    size_t numbers = 0;
    size_t clocks = 0;
    size_t texts = 0;
    double before = NAN;
    bool counts = true;
    for (size_t r = head->first_data; r < head->n_rows; r++) {
        const char *cell = kw_head_cell(head, r, i);
        const size_t length = strlen(cell);
        /* A number is tried first: "12.5" is also the beginning of a time of
         * day. */
        struct kw_clock clock;
        double value = 0.0;
        if (kw_cell_read(column->role, cell, length, head->point, &value)) {
            numbers++;
            column->highest = fmax(column->highest, value);
            counts =
                counts && (numbers == 1 || !(fabs(value - before - 1.0) > 0.0));
            before = value;
        } else if (kw_clock_parse(cell, length, &clock)) {
            clocks++;
            column->dated = clock.has_date;
            column->zoned = clock.has_zone;
        } else {
            texts += !kw_is_missing(cell, length);
        }
    }
    column->counts = counts && numbers >= FEWEST_COUNTED;
    /* By majority: one damaged row must not turn a column of clock times into
     * numbers. */
    column->clock = clocks > numbers;
    /* Of two columns the one that has readings is meant. Two "EGT" columns with
     * one probe fitted, or a GPS speed without a fix: the heading fits both
     * equally. */
    if (clocks + numbers == 0)
        column->score -= BLANK;
    /* A blank column is kept, for the head of a log shows its first rows
     * only. */
    column->readable = clocks + numbers > 0 || texts == 0;
}

/* The words that told the role, without the stars of the table. */
static void add_reason(struct kw_text *why, const char *words)
{
    kw_text_add(why, "told by '");
    for (; *words != '\0'; words++) {
        if (*words != '*')
            kw_text_add_bytes(why, words, 1);
    }
    kw_text_add(why, "'");
}

/* The heading proposes a role, the values may refuse it. */
static enum kw_status read_column(const struct kw_head *head,
                                  size_t i,
                                  struct kw_column *column,
                                  struct kw_error *error)
{
    column->heading = tidy_heading(kw_head_cell(head, head->heading, i), error);
    if (column->heading == NULL)
        return KW_NO_MEMORY;
    const struct kw_heading heading =
        kw_heading_read(column->heading, kw_head_unit_cell(head, i));
    column->role = column->claims = heading.role;
    column->denied = heading.denied;
    column->score = heading.score;
    column->lesser = heading.lesser;
    column->strangers = heading.strangers;
    /* After the role, for it decides what a field may hold: "X" is a value in a
     * marker column only. */
    look_at_values(head, i, column);
    column->unit = heading.unit;
    column->unsure =
        head->doubtful_units && kw_fits_heading(head, head->units, i);
    /* Clock times can be nothing but the time, text can be nothing, and a date
     * is no time without one. */
    if ((column->clock && column->role != KW_ROLE_TIME) || !column->readable ||
        (heading.score <= DATE_SCORE && !column->clock))
        column->role = KW_N_ROLES;
    /* The person sees in the list of columns why each was taken. A reason that
     * can be read is what makes a wrong choice visible. */
    struct kw_text why = {0};
    if (column->role != KW_N_ROLES)
        add_reason(&why, heading.words);
    else
        kw_text_add(&why, heading.why);
    column->why = kw_text_take(&why, error);
    return column->why == NULL ? KW_NO_MEMORY : KW_OK;
}

/* ---- stated columns ------------------------------------------------------ */

/* Compares without case and outer spaces. */
static bool same_heading(const char *a, const char *b)
{
    char x[HEADING_SIZE];
    char y[HEADING_SIZE];
    kw_text_copy(x, sizeof x, a + strspn(a, " \t"));
    kw_text_copy(y, sizeof y, b + strspn(b, " \t"));
    /* Typed by a person and exported by a program: blanks at the ends are where
     * the two differ. */
    char *const both[] = {x, y};
    for (size_t i = 0; i < 2; i++) {
        size_t n = strlen(both[i]);
        while (n > 0 && strchr(" \t", both[i][n - 1]) != NULL)
            both[i][--n] = '\0';
    }
    return kw_text_same(x, y);
}

/* Some headings, not all: the message must stay one line. */
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

/* Refuses with the texts, which are freed. */
static enum kw_status refuse(const struct chooser *chooser,
                             struct kw_text *what,
                             struct kw_text *todo)
{
    what->failed = what->failed || kw_text_failed(todo);
    const struct kw_refusal refusal = {KW_BAD_INPUT, chooser->path,
                                       chooser->line, todo->bytes};
    const enum kw_status status = kw_fail_text(chooser->error, &refusal, what);
    kw_text_free(todo);
    return status;
}

/* Refuses with the headings that there are as what to choose from. */
static enum kw_status refuse_with_headings(const struct chooser *chooser,
                                           struct kw_text *what,
                                           const char *advice)
{
    struct kw_text todo = {0};
    kw_text_addf(&todo, "%s; the columns are ", advice);
    list_headings(chooser->columns, &todo);
    return refuse(chooser, what, &todo);
}

/* Replaces the reason that the person is shown. */
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

/* The first field of a column that says something, and where it stands. */
static size_t first_filled(const struct kw_head *head,
                           size_t column,
                           const char **cell)
{
    for (size_t r = head->first_data; r < head->n_rows; r++) {
        *cell = kw_head_cell(head, r, column);
        if (!kw_is_missing(*cell, strlen(*cell)))
            return head->rows[r].line;
    }
    return 0;
}

/* The column is there, but what a spreadsheet left in it is no reading: to name
 * it, or to look at the wiring, would not help. */
static enum kw_status refuse_unreadable(const struct chooser *chooser,
                                        size_t column,
                                        enum kw_role role)
{
    struct kw_text what = {0};
    struct kw_text todo = {0};
    const char *cell = "";
    const size_t line = first_filled(chooser->head, column, &cell);
    kw_text_add(&what, "column '");
    kw_text_add_visible(&what, chooser->columns->items[column].heading);
    kw_text_addf(&what, "' holds no %s: line %zu has '",
                 role == KW_ROLE_TIME ? "time" : "number", line);
    kw_text_add_visible(&what, cell);
    kw_text_add(&what, "'");
    kw_text_addf(&todo,
                 "export it as %s, or name another one with --column "
                 "%s=HEADING",
                 role == KW_ROLE_TIME ? "seconds or hh:mm:ss.sss"
                                      : "plain numbers",
                 kw_role_name(role));
    return refuse(chooser, &what, &todo);
}

/* A stated column that is not there is refused, for the person counts on it. */
static enum kw_status refuse_choice(const struct chooser *chooser,
                                    const struct kw_column_choice *choice)
{
    struct kw_text what = {0};
    kw_text_addf(&what, "no column for %s is called '",
                 kw_role_name(choice->role));
    kw_text_add_visible(&what, choice->heading);
    kw_text_add(&what, "'");
    return refuse_with_headings(chooser, &what, "write it as the file has it");
}

/* The column of that heading: letter for letter, or else the only one that
 * reads alike. Two systems may write the same accent in two ways, and what
 * nobody sees in a heading nobody types.
 *
 * returns  n where there is none. */
static size_t find_heading(const struct kw_columns *columns,
                           const char *heading)
{
    char wanted[KW_FOLDED_SIZE];
    char folded[KW_FOLDED_SIZE];
    size_t found = columns->n;
    for (size_t i = 0; i < columns->n; i++) {
        if (same_heading(columns->items[i].heading, heading))
            return i;
    }
    kw_fold(heading, wanted);
    for (size_t i = 0; i < columns->n; i++) {
        kw_fold(columns->items[i].heading, folded);
        if (wanted[strspn(wanted, " ")] == '\0' || strcmp(folded, wanted) != 0)
            continue;
        if (found < columns->n)
            return columns->n;
        found = i;
    }
    return found;
}

/* One choice: that column gets the role, every other loses it. */
static enum kw_status apply_choice(const struct chooser *chooser,
                                   const struct kw_column_choice *choice)
{
    struct kw_columns *columns = chooser->columns;
    const size_t chosen = find_heading(columns, choice->heading);
    if (chosen == columns->n)
        return refuse_choice(chooser, choice);
    if (!columns->items[chosen].readable)
        return refuse_unreadable(chooser, chosen, choice->role);
    for (size_t i = 0; i < columns->n; i++) {
        /* Whoever names a column means it alone. Those named before it stay:
         * several EGT probes are stated one by one. */
        if (columns->items[i].role == choice->role &&
            columns->items[i].score != INT_MAX)
            columns->items[i].role = KW_N_ROLES;
    }
    struct kw_column *column = &columns->items[chosen];
    column->role = choice->role;
    /* No heading can beat what the person said. */
    column->score = INT_MAX;
    column->unit = kw_heading_unit(choice->role, column->heading,
                                   kw_head_unit_cell(chooser->head, chosen));
    return set_why(column, "you said so", chooser->error);
}

/* The command's own words come before the profile's, and the first one for a
 * role wins. Probes add up. */
static bool stated_before(const struct kw_import_options *options, size_t index)
{
    for (size_t i = 0; i < index; i++) {
        /* EGT is the one role of which there are several. */
        if (options->choices[i].role == options->choices[index].role &&
            options->choices[i].role != KW_ROLE_EGT)
            return true;
    }
    return false;
}

/* ---- one column for each role -------------------------------------------- */

/* Both are named, with the words to type. Two of the same name cannot be told
 * apart by name. */
static enum kw_status refuse_tie(const struct chooser *chooser,
                                 const struct kw_column *a,
                                 const struct kw_column *b)
{
    struct kw_text what = {0};
    struct kw_text todo = {0};
    const char *role = kw_role_name(a->role);
    kw_text_add(&what, "columns '");
    kw_text_add_visible(&what, a->heading);
    kw_text_add(&what, "' and '");
    kw_text_add_visible(&what, b->heading);
    kw_text_addf(&what, "' could both be %s", role);
    /* To name one of them on the command would choose the first by chance. */
    if (same_heading(a->heading, b->heading)) {
        kw_text_addf(&todo, "rename one of them in the file");
        return refuse(chooser, &what, &todo);
    }
    /* The words can be copied to the command line as they are. */
    kw_text_addf(&todo, "say which with --column %s=\"", role);
    kw_text_add_visible(&todo, a->heading);
    kw_text_add(&todo, "\"");
    return refuse(chooser, &what, &todo);
}

/* The loser is left out, and its reason names the winner. Silence would be
 * worse: the person may have wanted the other one. */
static enum kw_status give_up(struct kw_column *loser,
                              const struct kw_column *winner,
                              struct kw_error *error)
{
    struct kw_text why = {0};
    kw_text_addf(&why, "could be %s too, but ", kw_role_name(winner->role));
    if (same_heading(loser->heading, winner->heading)) {
        kw_text_add(&why, "another column of that name is taken");
    } else {
        kw_text_add(&why, "'");
        kw_text_add_visible(&why, winner->heading);
        kw_text_add(&why, "' fits better");
    }
    char *text = kw_text_take(&why, error);
    if (text == NULL)
        return KW_NO_MEMORY;
    free(loser->why);
    loser->why = text;
    loser->role = KW_N_ROLES;
    return KW_OK;
}

/* Of headings that say a role as well, the plainer one: "RPM" and not "RPM x".
 */
static bool fits_better(const struct kw_column *a, const struct kw_column *b)
{
    return a->score > b->score ||
           (a->score == b->score && a->strangers < b->strangers);
}

/* Keeps the best column of a role; a tie for RPM or time is refused. */
static enum kw_status keep_best(const struct chooser *chooser,
                                enum kw_role role)
{
    struct kw_columns *columns = chooser->columns;
    size_t best = columns->n;
    for (size_t i = 0; i < columns->n; i++) {
        if (columns->items[i].role != role || columns->items[i].own_time)
            continue;
        /* Of equals the first, as a person reads a table. */
        if (best == columns->n ||
            fits_better(&columns->items[i], &columns->items[best]))
            best = i;
    }
    for (size_t i = 0; i < columns->n; i++) {
        struct kw_column *column = &columns->items[i];
        if (i == best || column->role != role || column->own_time)
            continue;
        /* A wrong RPM or time makes every later finding wrong. For the others
         * the first one is taken, and the notice names the one left out. */
        if (!fits_better(&columns->items[best], column) &&
            (role == KW_ROLE_RPM || role == KW_ROLE_TIME))
            return refuse_tie(chooser, &columns->items[best], column);
        if (give_up(column, &columns->items[best], chooser->error) != KW_OK)
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

/* No column of a role that is needed: one whose heading says so is named. In a
 * list of laps the highest RPM of each is where it belongs. */
static enum kw_status refuse_missing(const struct chooser *chooser,
                                     enum kw_role role)
{
    const struct kw_columns *columns = chooser->columns;
    for (size_t i = 0; i < columns->n; i++) {
        if (columns->items[i].claims == role && !columns->items[i].readable)
            return refuse_unreadable(chooser, i, role);
    }
    const bool is_list_of_laps = role == KW_ROLE_RPM &&
                                 has_role(columns, KW_ROLE_LAP) &&
                                 !has_role(columns, KW_ROLE_TIME);
    struct kw_text text = {0};
    kw_text_addf(&text, "no %s column%s", role == KW_ROLE_RPM ? "RPM" : "time",
                 is_list_of_laps ? " in what looks like a list of laps" : "");
    for (size_t i = 0; !is_list_of_laps && i < columns->n; i++) {
        if (columns->items[i].denied != role)
            continue;
        kw_text_add(&text, " ('");
        kw_text_add_visible(&text, columns->items[i].heading);
        kw_text_addf(&text, "': %s)", columns->items[i].why);
        break;
    }
    return refuse_with_headings(
        chooser, &text,
        role == KW_ROLE_TIME
            ? "name it with --column time=HEADING, or state the rate with "
              "--rate HZ"
        : is_list_of_laps ? "export the readings themselves, or name it with "
                            "--column rpm=HEADING"
                          : "name it with --column rpm=HEADING");
}

/* A log with one temperature and no word for what: a logger with one probe has
 * it in the exhaust, and its readings will show it. */
static enum kw_status consider_bare_temperature(const struct chooser *chooser)
{
    struct kw_columns *columns = chooser->columns;
    size_t found = columns->n;
    for (size_t i = 0; i < columns->n; i++) {
        const struct kw_column *column = &columns->items[i];
        if (column->role == KW_ROLE_EGT)
            return KW_OK;
        if (column->claims != KW_N_ROLES || !column->readable ||
            column->clock || !kw_is_bare_temperature(column->heading))
            continue;
        if (found < columns->n)
            return KW_OK;
        found = i;
    }
    if (found == columns->n || columns->items[found].role != KW_N_ROLES)
        return KW_OK;
    struct kw_column *column = &columns->items[found];
    column->role = KW_ROLE_EGT;
    column->doubtful = true;
    column->unit = kw_heading_unit(KW_ROLE_EGT, column->heading,
                                   kw_head_unit_cell(chooser->head, found));
    return set_why(column, "as hot as an exhaust", chooser->error);
}

/* Without RPM and a clock there is nothing to review. */
static enum kw_status check_required(const struct chooser *chooser)
{
    const struct kw_columns *columns = chooser->columns;
    /* A stated rate numbers the rows, which then need no time column. */
    const bool has_rate =
        chooser->options->rate_hz > 0.0 || chooser->head->rate_hz > 0.0;
    if (!has_role(columns, KW_ROLE_RPM))
        return refuse_missing(chooser, KW_ROLE_RPM);
    if (!has_role(columns, KW_ROLE_TIME) && !has_rate)
        return refuse_missing(chooser, KW_ROLE_TIME);
    return KW_OK;
}

/* A date in a column of its own belongs to a clock without one. Without it
 * the session has a time of day but no day, and the logbook would have to be
 * told. */
static void find_date(const struct kw_head *head, struct kw_columns *columns)
{
    bool wanted = false;
    columns->date_s = NAN;
    for (size_t i = 0; i < columns->n; i++) {
        const struct kw_column *column = &columns->items[i];
        wanted = wanted || (column->role == KW_ROLE_TIME && column->clock &&
                            !column->dated);
    }
    /* By its values: "Date", "Datum" or a column without a heading are all the
     * same. */
    for (size_t i = 0; wanted && i < columns->n; i++) {
        const char *cell = kw_head_cell(head, head->first_data, i);
        if (columns->items[i].role != KW_N_ROLES ||
            !kw_date_parse(cell, strlen(cell), &columns->date_s))
            continue;
        columns->items[i].date = true;
        return;
    }
}

/* First what the headings say, then what the person says, then one column for
 * each role, and last whether enough is there. */
enum kw_status kw_columns_find(const struct kw_head *head,
                               const char *path,
                               const struct kw_import_options *options,
                               struct kw_columns *out,
                               struct kw_error *error)
{
    /* The heading row says how many columns there are. Fields beyond it have no
     * name and are left out. */
    const size_t n = head->rows[head->heading].n;
    const struct chooser chooser = {
        head, options, path, head->rows[head->heading].line, out, error};
    enum kw_status status = KW_OK;
    *out = (struct kw_columns){.date_s = NAN};
    out->items = kw_array_new(n, sizeof *out->items, error);
    if (out->items == NULL)
        return KW_NO_MEMORY;
    for (size_t i = 0; status == KW_OK && i < n; i++)
        status = read_column(head, i, &out->items[out->n++], error);
    for (size_t i = 0; status == KW_OK && i < options->n_choices; i++) {
        if (!stated_before(options, i))
            status = apply_choice(&chooser, &options->choices[i]);
    }
    if (status == KW_OK)
        status = kw_own_times_find(head, out, error);
    if (status == KW_OK)
        status = kw_refute_columns(head, out, error);
    if (status == KW_OK)
        status = kw_time_columns_check(head, path, out, error);
    for (int role = 0; status == KW_OK && role < KW_N_ROLES; role++) {
        /* All probes are kept: which one the review uses is decided when their
         * readings are known. */
        if (role != KW_ROLE_EGT)
            status = keep_best(&chooser, (enum kw_role)role);
    }
    if (status == KW_OK)
        status = consider_bare_temperature(&chooser);
    if (status == KW_OK)
        status = check_required(&chooser);
    if (status == KW_OK)
        find_date(head, out);
    else
        kw_columns_free(out);
    return status;
}
