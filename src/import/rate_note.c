/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Searching the notes above the table for the rate of the rows. */
#include "import/rate_note.h"

#include "core/number.h"
#include "core/text.h"

#include <math.h>
#include <string.h>

/* What stands between a word, its number and the unit, whatever parts the
 * fields of the table below. */
static const char SEPARATORS[] = " \t;|,:=([)]";

static bool is_digit(char c)
{
    return c >= '0' && c <= '9';
}

/* Do commas part the fields of this note? One between digits may be a decimal
 * mark, one before a blank a comma of plain writing. */
static bool has_parting_comma(const char *line)
{
    for (const char *c = strchr(line, ','); c != NULL; c = strchr(c + 1, ',')) {
        if (c[1] != ' ' && !(c > line && is_digit(c[-1]) && is_digit(c[1])))
            return true;
    }
    return false;
}

/* What its numbers are written with. In "Rate,20 Hz" the comma is none of it.
 */
static const char *number_signs(const char *line)
{
    return has_parting_comma(line) ? "0123456789." : "0123456789.,";
}

/* A number with either decimal mark; NAN for none. Marks at its ends belong to
 * the words around it: "rate...20 Hz", "20, of 16 bit". */
static double number_of(const char *text, size_t length)
{
    double value = NAN;
    while (length > 0 && !is_digit(text[length - 1]))
        length--;
    const size_t marks = length > 0 ? strspn(text, ".,") : 0;
    /* ".5" is a number. */
    if (marks > 1 || (marks == 1 && *text == ',')) {
        text += marks;
        length -= marks;
    }
    return kw_number_parse(text, length, '.', &value) ||
                   kw_number_parse(text, length, ',', &value)
               ? value
               : NAN;
}

/* The rate that stands before or behind the letters Hz at `hz`: "20 Hz", "Rate
 * (Hz): 20", "20;Hz". */
static double rate_beside(const char *line, const char *hz)
{
    const char *signs = number_signs(line);
    const char *end = hz;
    /* In front: "20 Hz". Read backwards from the letters, for words of any
     * language may stand before the number. */
    while (end > line && strchr(SEPARATORS, end[-1]) != NULL)
        end--;
    const char *first = end;
    while (first > line && strchr(signs, first[-1]) != NULL)
        first--;
    double value = number_of(first, (size_t)(end - first));
    if (isnan(value)) {
        first = hz + 2 + strspn(hz + 2, SEPARATORS);
        value = number_of(first, strspn(first, signs));
    }
    /* "0 Hz" is a field that nobody filled in. */
    return value > 0.0 ? value : NAN;
}

/* "Sample interval: 0.04 s", "Abtastintervall = 40 ms": the word is the same in
 * all languages of the tables, but for its end. */
static double rate_by_interval(const char *line, const char *word)
{
    const char *at = word + strcspn(word, "0123456789");
    const size_t length = strspn(at, number_signs(line));
    const double interval = number_of(at, length);
    at += length;
    at += strspn(at, SEPARATORS);
    const double factor = strncmp(at, "ms", 2) == 0 ? 1e-3 : 1.0;
    /* Without its unit a number could be anything. */
    return interval > 0.0 && (*at == 's' || factor < 1.0)
               ? 1.0 / (factor * interval)
               : NAN;
}

/* "Rate;12,5 Hz" above a table with commas between its fields was cut within
 * its number; "Kart 7,20 Hz" was cut between two. */
static bool was_cut_in_number(const char *cell, const char *next)
{
    size_t n = strlen(cell);
    const size_t length = n;
    while (n > 0 && is_digit(cell[n - 1]))
        n--;
    if (n == length || n == 0 || !is_digit(*next))
        return false;
    return strchr(";|\t=", cell[n - 1]) != NULL ||
           (n > 1 && cell[n - 1] == ' ' && strchr(":=", cell[n - 2]) != NULL);
}

/* The note as one line, with tabs where its fields were parted. */
static void join_cells(const struct kw_head_row *row,
                       char delimiter,
                       struct kw_text *line)
{
    for (size_t i = 0; i < row->n; i++) {
        if (i > 0)
            kw_text_add(line,
                        delimiter == ',' && was_cut_in_number(row->cells[i - 1],
                                                              row->cells[i])
                            ? ","
                            : "\t");
        kw_text_add(line, row->cells[i]);
    }
}

/* "Sample rate: 20 Hz", "Abtastrate;20;Hz", "Fréquence = 20Hz": a number beside
 * the letters Hz, in a note above the table. */
static double rate_in(const struct kw_head_row *row, char delimiter)
{
    struct kw_text line = {0};
    double rate_hz = NAN;
    join_cells(row, delimiter, &line);
    /* Out of memory here costs a note, and the next allocation says so. */
    const char *at =
        kw_text_failed(&line) || line.bytes == NULL ? "" : line.bytes;
    for (; *at != '\0' && isnan(rate_hz); at++) {
        /* A word in which "hz" stands by chance has no number beside it. */
        if ((at[0] == 'H' || at[0] == 'h') && (at[1] == 'z' || at[1] == 'Z'))
            rate_hz = rate_beside(line.bytes, at);
        else if (strncmp(at, "nterval", 7) == 0)
            rate_hz = rate_by_interval(line.bytes, at);
    }
    kw_text_free(&line);
    return rate_hz;
}

/* Notes stand above the heading; the first that states a rate counts. */
double kw_rate_note(const struct kw_head *head, size_t *line)
{
    double rate_hz = NAN;
    for (size_t i = 0; i < head->heading && isnan(rate_hz); i++) {
        rate_hz = rate_in(&head->rows[i], head->delimiter);
        *line = head->rows[i].line;
    }
    return rate_hz;
}
