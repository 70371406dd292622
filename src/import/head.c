/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Telling the dialect. Each delimiter is tried on the first rows; the one under
 * which most rows have the same number of readable fields is right.
 *
 * Notes stand above the heading in many exports, a row of units below it in
 * some. Neither has to be said: they show by their shape. */
#include "import/head.h"

#include "core/array.h"
#include "core/clock.h"
#include "core/fail.h"
#include "core/text.h"
#include "import/cell.h"
#include "import/decimal_mark.h"
#include "import/file_kind.h"
#include "import/fold.h"
#include "import/head_rows.h"
#include "import/heading_units.h"
#include "import/headings.h"
#include "import/rate_note.h"
#include "import/table_refused.h"
#include "import/unit_rows.h"

#include <stdlib.h>
#include <string.h>

enum {
    MOST_FIELDS = 4096, /* one more than a row may have */
    ROWS_ABOVE = 4,     /* rows above the data that may be the heading */
    BLOCKS = 4,         /* blocks of data that are looked at for a heading */
    NAMES_A_LOG = MOST_FIELDS, /* more than a row can name columns */
    MOST_LAPS = 50,            /* rows of a list of laps above the readings */
    WIDE_ROWS = 10 /* more than one row in so many is no exception */
};

/* Of the fields of a data row, this share holds numbers, times or blanks; the
 * rest may be text (a source, a comment). Common practice, no source. Less than
 * half, for a log with a clock, RPM and three columns of remarks is still a
 * table. */
static const double SHARE_OF_DATA = 0.4;

const char kw_delimiters[KW_N_DELIMITERS] = {',', ';', '\t', '|'};

void kw_head_free(struct kw_head *head)
{
    kw_head_free_rows(head);
    *head = (struct kw_head){0};
}

/* ---- which rows are data ------------------------------------------------- */

/* A time of day, a date, or both. */
static bool is_time(const char *cell)
{
    struct kw_clock clock;
    double day = 0.0;
    const size_t length = strlen(cell);
    return kw_clock_parse(cell, length, &clock) ||
           kw_date_parse(cell, length, &day);
}

static bool is_data_row(const struct kw_head_row *row)
{
    size_t readable = 0;
    size_t blank = 0;
    for (size_t i = 0; i < row->n; i++) {
        /* Blanks count as data, for a column may be blank until the first fix,
         * but a row of blanks alone is none. */
        const bool number =
            kw_cell_is_number(row->cells[i]) || is_time(row->cells[i]);
        readable += number;
        blank += !number && kw_is_missing(row->cells[i], strlen(row->cells[i]));
    }
    /* A note such as "Date;2026-06-14" has one number and one word. */
    return (readable > 1 || (readable == 1 && blank + 1 == row->n)) &&
           (double)(readable + blank) >= SHARE_OF_DATA * (double)row->n;
}

/* Also a row of nothing but delimiters, as spreadsheets leave them. */
static bool is_blank_row(const struct kw_head_row *row)
{
    for (size_t i = 0; i < row->n; i++) {
        if (row->cells[i][0] != '\0')
            return false;
    }
    return true;
}

/* Numbers of fields of the rows of data.
 *
 * usual    that most of them have, n_usual rows.
 * widest   the most that is no exception: where blank fields at the end of a
 *          row are left away, most rows may be shorter than the heading. */
struct widths {
    size_t usual;
    size_t n_usual;
    size_t widest;
};

/* Not the longest row: a comma in an unquoted remark makes one row longer than
 * the rest. */
static struct widths widths_of(const struct kw_head *head)
{
    size_t count[MOST_FIELDS] = {0};
    size_t n_data = 0;
    struct widths widths = {0};
    for (size_t i = 0; i < head->n_rows; i++) {
        const struct kw_head_row *row = &head->rows[i];
        if (row->n >= MOST_FIELDS || !is_data_row(row))
            continue;
        count[row->n]++;
        n_data++;
    }
    for (size_t n = 1; n < MOST_FIELDS; n++) {
        /* Of two equally frequent numbers the larger: cutting a row short is
         * the commoner damage. */
        if (count[n] > 0 && count[n] >= count[widths.usual])
            widths.usual = n;
        if (WIDE_ROWS * count[n] > n_data)
            widths.widest = n;
    }
    widths.n_usual = count[widths.usual];
    if (widths.widest < widths.usual)
        widths.widest = widths.usual;
    return widths;
}

/* Share of the fields of all data rows that can be read. The wrong delimiter
 * leaves fields like "5;800". */
static double readable_share(const struct kw_head *head)
{
    size_t readable = 0;
    size_t all = 0;
    for (size_t i = 0; i < head->n_rows; i++) {
        const struct kw_head_row *row = &head->rows[i];
        for (size_t k = 0; is_data_row(row) && k < row->n; k++) {
            const char *cell = row->cells[k];
            readable += kw_cell_is_number(cell) || is_time(cell) ||
                        kw_is_missing(cell, strlen(cell));
            all++;
        }
    }
    return all > 0 ? (double)readable / (double)all : 0.0;
}

/* How well a delimiter fits: the rows that agree on their number of fields, and
 * how much of them can be read. One field alone agrees with everything and
 * counts last. */
static double fitness(const struct kw_head *head)
{
    const struct widths widths = widths_of(head);
    if (widths.usual < 2)
        return widths.n_usual > 0 ? 0.5 : 0.0;
    /* Read share squared, so that a decimal comma taken for a delimiter
     * ("5,8;6,1" split at the commas) loses against the mark that reads all.
     * The last two terms only order what is else equal. Common practice, no
     * source. */
    const double share = (double)widths.n_usual / (double)head->n_rows;
    const double readable = readable_share(head);
    return share * (double)widths.n_usual * readable * readable + 1.0 +
           1e-3 * (double)widths.usual;
}

/* ---- heading, units ------------------------------------------------------ */

/* How many of its first n_cells columns a heading row names. */
static size_t understood(const struct kw_head_row *row, size_t n_cells)
{
    size_t n = 0;
    for (size_t i = 0; i < row->n && i < n_cells; i++)
        n += kw_heading_read(row->cells[i], "").role != KW_N_ROLES;
    return n;
}

/* How many columns it names; what names the time and RPM in words is worth more
 * than any note or list of laps. */
static size_t worth(const struct kw_head_row *row)
{
    bool names[KW_N_ROLES + 1] = {false};
    for (size_t i = 0; i < row->n; i++) {
        const enum kw_role role = kw_heading_read(row->cells[i], "").role;
        /* "sec" is a unit and no word for the time. */
        names[role] = names[role] || role != KW_ROLE_TIME ||
                      !kw_is_unit_alone(row->cells[i]);
    }
    return understood(row, row->n) +
           (names[KW_ROLE_TIME] && names[KW_ROLE_RPM] && !kw_is_units_alone(row)
                ? NAMES_A_LOG
                : 0);
}

/* Blank lines between notes, heading and data mean nothing. */
static size_t text_row_above(const struct kw_head *head, size_t index)
{
    while (index > 0) {
        index--;
        if (!is_blank_row(&head->rows[index]))
            return index;
    }
    return head->n_rows;
}

/* About as many fields as the data, one more or less for a delimiter at the
 * end of the line, and no row of numbers itself. More, where what stands above
 * the data is a heading beyond doubt: the rows leave blank fields away. */
static bool could_be_heading(const struct kw_head *head,
                             size_t first_data,
                             size_t index)
{
    const size_t n_data = head->rows[first_data].n;
    return index < head->n_rows && !is_data_row(&head->rows[index]) &&
           head->rows[index].n + 1 >= n_data &&
           (head->rows[index].n <= n_data + 1 ||
            understood(&head->rows[index], n_data) > 1);
}

/* One field more or less is a delimiter at the end of the line. A row with
 * fewer ended early, where the heading above it is as wide as the other rows.
 */
static bool may_begin_block(const struct kw_head *head,
                            const struct widths *widths,
                            size_t index)
{
    const size_t n = head->rows[index].n;
    const size_t above = text_row_above(head, index);
    if (n > widths->widest + 1)
        return false;
    return n + 1 >= widths->usual || (could_be_heading(head, index, above) &&
                                      head->rows[above].n + 1 >= widths->usual);
}

/* The next row from `from` on that begins a block of data. */
static size_t next_block(const struct kw_head *head,
                         const struct widths *widths,
                         size_t from)
{
    bool in_block = from > 0 && is_data_row(&head->rows[from - 1]);
    for (size_t i = from; i < head->n_rows; i++) {
        const struct kw_head_row *row = &head->rows[i];
        if (is_blank_row(row))
            continue;
        if (is_data_row(row) && !in_block && may_begin_block(head, widths, i))
            return i;
        in_block = is_data_row(row);
    }
    return head->n_rows;
}

/* A row of nothing but units with words above each of them is no heading,
 * though "rpm" and "km/h" alone would name a column: the words may be of a
 * language that we do not know, and the person must be able to name them. Above
 * a single column stands a note. */
static bool is_below_words(const struct kw_head *head,
                           size_t units,
                           size_t above)
{
    const struct kw_head_row *row = &head->rows[units];
    const struct kw_head_row *words = &head->rows[above];
    const size_t n = kw_filled(row);
    return n > 1 && kw_is_units_alone(row) && kw_units_in(words) == 0 &&
           kw_filled(words) >= n;
}

/* The row above the data that names most columns; rows of units and other
 * remarks may stand between.
 *
 * named    what it is worth, see worth().
 * returns  n_rows where nothing above can be a heading. */
static size_t heading_above(const struct kw_head *head,
                            size_t first_data,
                            size_t *named)
{
    size_t heading = head->n_rows;
    size_t at = text_row_above(head, first_data);
    *named = 0;
    /* Some exports have two heading rows, a short and a long one; the one that
     * we understand better is taken, and of equals the lower one unless it is a
     * row of units. */
    for (size_t i = 0; i < ROWS_ABOVE; i++) {
        if (!could_be_heading(head, first_data, at))
            break;
        const size_t n = worth(&head->rows[at]);
        if (heading == head->n_rows || n > *named ||
            (n == *named && kw_is_unit_row(&head->rows[heading])) ||
            is_below_words(head, heading, at)) {
            heading = at;
            *named = n;
        }
        at = text_row_above(head, at);
    }
    return heading;
}

/* Notes may look like data too: of the first blocks of data, the one below the
 * best heading is taken. */
static void find_heading(struct kw_head *head)
{
    size_t most = 0;
    /* A summary of laps above the samples is also a table of numbers. Its
     * headings (lap, time, best) name fewer roles than those of the log. */
    const struct widths widths = widths_of(head);
    size_t block = next_block(head, &widths, 0);
    size_t length = 0;
    head->first_data = block;
    head->heading = head->units = head->n_rows;
    for (size_t i = 0; i < BLOCKS && block < head->n_rows; i++) {
        size_t named = 0;
        const size_t heading = heading_above(head, block, &named);
        const size_t next = next_block(head, &widths, block + 1);
        /* What is a log, and longer than a list of laps, is where it begins:
         * another one may be joined to it. */
        const bool is_log = most >= NAMES_A_LOG && length >= MOST_LAPS;
        if (heading < head->n_rows &&
            (head->heading == head->n_rows || (named > most && !is_log))) {
            head->first_data = block;
            head->heading = heading;
            most = named;
            length = next - block;
        }
        block = next;
    }
    if (head->heading < head->n_rows)
        kw_find_units(head);
}

/* ---- the whole ----------------------------------------------------------- */

/* Decimal commas without quotes, between commas: each number falls in two. */
static enum kw_status refuse_split_numbers(const struct kw_head *head,
                                           size_t heading,
                                           const char *path,
                                           struct kw_error *error)
{
    const struct kw_head_row *data = &head->rows[head->first_data];
    struct kw_text what = {0};
    kw_text_addf(&what, "the row has %zu fields, the heading above it %zu",
                 data->n, head->rows[heading].n);
    const struct kw_refusal refusal = {
        KW_BAD_INPUT, path, data->line,
        "if the numbers have decimal commas, export with semicolons between "
        "the fields or with decimal points"};
    return kw_fail_text(error, &refusal, &what);
}

/* The line where a quote opens that swallows all lines behind it as one field;
 * 0 for none. */
static size_t line_of_open_quote(const struct kw_head *head)
{
    const struct kw_head_row *last = &head->rows[head->n_rows - 1];
    size_t line = last->line;
    for (size_t i = 0; i + 1 < last->n; i++) {
        for (const char *c = last->cells[i]; *c != '\0'; c++)
            line += *c == '\n';
    }
    return last->n > 0 && strchr(last->cells[last->n - 1], '\n') != NULL ? line
                                                                         : 0;
}

static enum kw_status refuse_wide_row(const char *path,
                                      size_t line,
                                      struct kw_error *error)
{
    struct kw_text what = {0};
    const struct kw_refusal refusal = {
        KW_BAD_INPUT, path, line,
        "export fewer columns: time, RPM, EGT and what else is of use"};
    kw_text_add(&what, "the row has more than ");
    kw_text_add_whole(&what, MOST_FIELDS - 1);
    kw_text_add(&what, " fields");
    return kw_fail_text(error, &refusal, &what);
}

/* What is missing tells what went wrong with the export. */
static enum kw_status refuse(const struct kw_head *head,
                             const struct kw_file_kind *kind,
                             const char *path,
                             struct kw_error *error)
{
    if (head->n_rows == 0)
        return kw_fail(error, KW_BAD_INPUT, path, 0, "the file is empty",
                       "export the session from the logger again");
    if (kind->what != NULL)
        return kw_fail(error, KW_BAD_INPUT, path, 0, kind->what, kind->todo);
    for (size_t i = 0; i < head->n_rows; i++) {
        if (head->rows[i].n >= MOST_FIELDS)
            return refuse_wide_row(path, head->rows[i].line, error);
    }
    const size_t quote_line = line_of_open_quote(head);
    if (head->first_data == head->n_rows && quote_line > 0)
        return kw_refuse_open_quote(path, quote_line, error);
    if (head->first_data == head->n_rows)
        return kw_fail(error, KW_BAD_INPUT, path, 0, "no rows of numbers found",
                       "export the session as a CSV table with a heading row");
    const size_t above = text_row_above(head, head->first_data);
    if (above < head->n_rows &&
        understood(&head->rows[above], head->rows[above].n) > 1 &&
        head->rows[above].n < head->rows[head->first_data].n)
        return refuse_split_numbers(head, above, path, error);
    return kw_fail(error, KW_BAD_INPUT, path, head->rows[head->first_data].line,
                   "no heading row above the numbers",
                   "add a first line that names the columns, such as "
                   "time,rpm,egt");
}

/* Four delimiters are tried on the same text. A line "sep=;" needs no reading:
 * what it says is found in the rows. */
static enum kw_status read_rows(const char *text,
                                size_t length,
                                struct kw_head *out,
                                struct kw_error *error)
{
    char best = ',';
    double best_fitness = -1.0;
    *out = (struct kw_head){0};
    for (size_t i = 0; i < KW_N_DELIMITERS; i++) {
        struct kw_head tried = {0};
        const enum kw_status status =
            kw_head_split(text, length, kw_delimiters[i], &tried, error);
        if (status != KW_OK)
            return status;
        const double fits = fitness(&tried);
        /* On a tie the comma, which is tried first. */
        if (fits > best_fitness) {
            best_fitness = fits;
            best = kw_delimiters[i];
        }
        kw_head_free_rows(&tried);
    }
    const enum kw_status status = kw_head_split(text, length, best, out, error);
    if (status == KW_OK) {
        out->delimiter = best;
        find_heading(out);
    }
    return status;
}

/* How good a heading was found: one as wide as its rows is better. */
static size_t quality(const struct kw_head *head)
{
    return head->heading == head->n_rows ? 0
                                         : worth(&head->rows[head->heading]) +
                                               (head->rows[head->heading].n ==
                                                head->rows[head->first_data].n);
}

static bool names_nothing(const struct kw_head *head)
{
    return worth(&head->rows[head->heading]) == 0;
}

/* In a note such as `Comment,"felt fine` the quote swallows the heading, if not
 * all that follows. It is taken as text where that gives a better heading. */
static enum kw_status read_without_stray_quotes(char *text,
                                                size_t length,
                                                struct kw_head *head,
                                                struct kw_error *error)
{
    struct kw_head mended = {0};
    char *copy = kw_array_new(length + 1, 1, error);
    if (copy == NULL)
        return KW_NO_MEMORY;
    memcpy(copy, text, length);
    const size_t line = kw_mend_quotes(copy, length);
    const enum kw_status status =
        line > 0 ? read_rows(copy, length, &mended, error) : KW_OK;
    if (line > 0 && status == KW_OK && quality(&mended) > quality(head)) {
        const struct kw_head other = *head;
        *head = mended;
        mended = other;
        head->quote_line = line;
        memcpy(text, copy, length);
    }
    kw_head_free(&mended);
    free(copy);
    return status;
}

enum kw_status kw_head_read(char *text,
                            size_t length,
                            const char *path,
                            struct kw_head *out,
                            struct kw_error *error)
{
    const struct kw_file_kind kind = kw_file_kind_of(text, length);
    *out = (struct kw_head){0};
    if (kind.binary)
        return kw_fail(error, KW_BAD_INPUT, path, 0, kind.what, kind.todo);
    enum kw_status status = read_rows(text, length, out, error);
    if (status == KW_OK)
        status = read_without_stray_quotes(text, length, out, error);
    /* Decimal commas may make a table of lines that are none. */
    if (status == KW_OK && (out->heading == out->n_rows ||
                            (kind.what != NULL && names_nothing(out))))
        status = refuse(out, &kind, path, error);
    if (status != KW_OK) {
        kw_head_free(out);
        return status;
    }
    out->point = kw_decimal_mark(out);
    out->rate_hz = kw_rate_note(out, &out->rate_line);
    return KW_OK;
}

const char *kw_head_cell(const struct kw_head *head, size_t row, size_t column)
{
    if (row >= head->n_rows || column >= head->rows[row].n)
        return "";
    return head->rows[row].cells[column];
}

const char *kw_head_unit_cell(const struct kw_head *head, size_t column)
{
    const char *cell = kw_head_cell(head, head->units, column);
    if (head->doubtful_units && !kw_fits_heading(head, head->units, column))
        cell = "";
    /* A step ("5 rpm") has its unit behind its number. */
    if (*cell != '\0' && !kw_is_unit_cell(cell) && *kw_cell_unit(cell) != '\0')
        cell = kw_cell_unit(cell);
    for (size_t r = head->first_data; r < head->n_rows && *cell == '\0'; r++)
        cell = kw_cell_unit(kw_head_cell(head, r, column));
    return cell;
}
