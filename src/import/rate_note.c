/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Searching the notes above the table for the rate of the rows. */
#include "import/rate_note.h"

#include "core/number.h"
#include "core/text.h"

#include <math.h>
#include <string.h>

/* What numbers are written with, whatever the decimal mark. */
static const char NUMBER_SIGNS[] = "0123456789.,";

/* A number with either decimal mark; NAN for none. */
static double number_of(const char *text, size_t length)
{
    double value = NAN;
    return kw_number_parse(text, length, '.', &value) ||
                   kw_number_parse(text, length, ',', &value)
               ? value
               : NAN;
}

static double number_at(const char *text)
{
    return number_of(text, strspn(text, NUMBER_SIGNS));
}

/* The rate that stands before or behind the letters Hz at `hz`: "20 Hz", "Rate
 * (Hz): 20". */
static double rate_beside(const char *line, const char *hz)
{
    const char *end = hz;
    /* In front: "20 Hz". Read backwards from the letters, for words of any
     * language may stand before the number. */
    while (end > line && strchr(" ([", end[-1]) != NULL)
        end--;
    const char *first = end;
    while (first > line && strchr(NUMBER_SIGNS, first[-1]) != NULL)
        first--;
    double value = number_of(first, (size_t)(end - first));
    if (isnan(value))
        value = number_at(hz + 2 + strspn(hz + 2, " )]:=;,\t"));
    /* "0 Hz" is a field that nobody filled in. */
    return value > 0.0 ? value : NAN;
}

/* "Sample interval: 0.04 s", "Abtastintervall = 40 ms": the word is the same in
 * all languages of the tables, but for its end. */
static double rate_by_interval(const char *word)
{
    const char *at = word + strcspn(word, "0123456789");
    const double interval = number_at(at);
    at += strspn(at, "0123456789., ");
    const double factor = strncmp(at, "ms", 2) == 0 ? 1e-3 : 1.0;
    /* Without its unit a number could be anything. */
    return interval > 0.0 && (*at == 's' || factor < 1.0)
               ? 1.0 / (factor * interval)
               : NAN;
}

/* "Sample rate: 20 Hz", "Abtastrate;20;Hz", "Fréquence = 20Hz": a number beside
 * the letters Hz, in a note above the table. */
static double rate_in(const struct kw_head_row *row)
{
    struct kw_text line = {0};
    double rate_hz = NAN;
    for (size_t i = 0; i < row->n; i++) {
        kw_text_add(&line, row->cells[i]);
        kw_text_add(&line, " ");
    }
    /* Out of memory here costs a note, and the next allocation says so. */
    const char *at = kw_text_failed(&line) ? "" : line.bytes;
    for (; at != NULL && *at != '\0' && isnan(rate_hz); at++) {
        /* A word in which "hz" stands by chance has no number beside it. */
        if ((at[0] == 'H' || at[0] == 'h') && (at[1] == 'z' || at[1] == 'Z'))
            rate_hz = rate_beside(line.bytes, at);
        else if (strncmp(at, "nterval", 7) == 0)
            rate_hz = rate_by_interval(at);
    }
    kw_text_free(&line);
    return rate_hz;
}

/* Notes stand above the heading; the first that states a rate counts. */
double kw_rate_note(const struct kw_head *head)
{
    double rate_hz = NAN;
    for (size_t i = 0; i < head->heading && isnan(rate_hz); i++)
        rate_hz = rate_in(&head->rows[i]);
    return rate_hz;
}
