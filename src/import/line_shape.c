/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The shapes that a terminal, a print loop or a spreadsheet gives to lines,
 * each with the way back to a table. */
#include "import/line_shape.h"

#include "core/number.h"
#include "import/cell.h"

#include <string.h>

enum {
    LINES = 200,     /* lines that are looked at */
    LEAST_LINES = 3, /* of one shape, below which it may be chance */
    MOST_WORD = 40   /* bytes of a value */
};

struct line {
    const char *at;
    size_t length;
};

static bool has(const struct line *line, char c)
{
    return memchr(line->at, c, line->length) != NULL;
}

static bool begins_and_ends(const struct line *line, char first, char last)
{
    return line->length > 2 && line->at[0] == first &&
           line->at[line->length - 1] == last;
}

static bool is_coloured(const struct line *line)
{
    return has(line, '\033');
}

/* No other quote within, and something that parts fields. */
static bool is_quoted(const struct line *line)
{
    const struct line inside = {line->at + 1, line->length - 2};
    return begins_and_ends(line, '"', '"') && !has(&inside, '"') &&
           (has(&inside, ',') || has(&inside, ';') || has(&inside, '\t'));
}

static bool is_bracketed(const struct line *line)
{
    return (begins_and_ends(line, '(', ')') ||
            begins_and_ends(line, '[', ']')) &&
           has(line, ',');
}

static bool is_letter(char c)
{
    return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z');
}

/* "t=0.05,rpm=1980": a name in front of each value; none in ="0.05". */
static bool is_named(const struct line *line)
{
    size_t names = 0;
    size_t marks = 0;
    for (size_t i = 0; i < line->length; i++) {
        names += line->at[i] == '=' && i > 0 && is_letter(line->at[i - 1]);
        marks += line->at[i] == ',' || line->at[i] == ';' || line->at[i] == ' ';
    }
    return names > 1 && marks + 1 >= names;
}

static void unquote(const char **word, size_t *length)
{
    if (*length > 2 && **word == '"' && (*word)[*length - 1] == '"') {
        (*word)++;
        *length -= 2;
    }
}

/* Does it begin as a number, a time or a position does, or say that there is no
 * reading? One comma may be its decimal mark; more of them part fields. */
static bool is_value(const char *word, size_t length)
{
    unquote(&word, &length);
    const size_t sign = length > 1 && strchr("+-.", word[0]) != NULL;
    size_t marks = 0;
    for (size_t i = 0; i < length; i++)
        marks += word[i] == ',' ? 1 : word[i] == ';' || word[i] == '|' ? 2 : 0;
    return length > 0 && length < MOST_WORD && marks < 2 &&
           ((word[sign] >= '0' && word[sign] <= '9') ||
            kw_is_missing(word, length));
}

/* A number with either decimal mark, between quotes perhaps. */
static bool is_number(const char *word, size_t length)
{
    double value = 0.0;
    unquote(&word, &length);
    return length > 0 && length < MOST_WORD &&
           (kw_number_parse(word, length, '.', &value) ||
            kw_number_parse(word, length, ',', &value));
}

/* Two values or more, one of them a plain number, and nothing but values. */
static bool is_parted_by_blanks(const struct line *line)
{
    size_t values = 0;
    size_t numbers = 0;
    for (size_t i = 0; i < line->length;) {
        size_t end = i;
        while (end < line->length && line->at[end] != ' ')
            end++;
        if (end > i) {
            if (!is_value(line->at + i, end - i))
                return false;
            values++;
            numbers += is_number(line->at + i, end - i);
        }
        i = end + 1;
    }
    return values > 1 && numbers > 0;
}

static const struct {
    bool (*fits)(const struct line *);
    const char *what;
    const char *todo;
} shapes[] = {
    {is_coloured, "the lines hold the colours of a terminal",
     "save the log without them"},
    {is_quoted, "each whole line stands between quotes, as one field",
     "delete the \" at both ends of the lines, or export the session again"},
    {is_bracketed, "each line stands between brackets",
     "delete the brackets, and let the first line name the columns"},
    {is_named, "each value has its name in front, as in rpm=1980",
     "write the names once, in the first line, and the values below"},
    {is_parted_by_blanks, "the fields are parted by blanks",
     "replace the blanks between them by commas or tabs, also in the line that "
     "names the columns"},
};

enum { N_SHAPES = sizeof shapes / sizeof shapes[0] };

/* The next line without its end, outer blanks and a comma behind its bracket.
 */
static struct line next_line(const char **at, const char *end)
{
    const char *first = *at;
    while (*at < end && **at != '\n' && **at != '\r')
        (*at)++;
    struct line line = {first, (size_t)(*at - first)};
    while (*at < end && (**at == '\n' || **at == '\r'))
        (*at)++;
    while (line.length > 0 && *line.at == ' ') {
        line.at++;
        line.length--;
    }
    while (line.length > 0 && strchr(" ,", line.at[line.length - 1]) != NULL &&
           line.at[line.length - 1] != '\0')
        line.length--;
    return line;
}

/* By majority: a heading and notes may stand above. */
bool kw_line_shape(const char *text,
                   size_t length,
                   const char **what,
                   const char **todo)
{
    const char *at = text;
    size_t count[N_SHAPES] = {0};
    size_t n = 0;
    while (at < text + length && n < LINES) {
        const struct line line = next_line(&at, text + length);
        n += line.length > 0;
        for (size_t i = 0; i < N_SHAPES; i++)
            count[i] += line.length > 0 && shapes[i].fits(&line);
    }
    for (size_t i = 0; i < N_SHAPES; i++) {
        if (count[i] < LEAST_LINES || 2 * count[i] <= n)
            continue;
        *what = shapes[i].what;
        *todo = shapes[i].todo;
        return true;
    }
    return false;
}
