/* SPDX-License-Identifier: GPL-3.0-or-later */
/* `kartwright columns`: how each column of a log was understood, and why. */
#include "cli/command.h"
#include "cli/input.h"

#include "core/number.h"
#include "core/text.h"
#include "core/units.h"
#include "report/wrap.h"

#include <math.h>
#include <stdio.h>

enum {
    /* Three readings show a wrong unit at once, and fit on one line. */
    VALUES_SHOWN = 3,
    HEADING_WIDTH = 24,
    ROLE_WIDTH = 10,
    UNIT_WIDTH = 10,
    LINE_WIDTH = 79
};

/* Prints text as it may stand on a terminal, cut to a width; gives the columns
 * that it took. Widths are counted in characters. A heading is untrusted: it
 * could hold escape codes of the terminal. */
static size_t print_cut(const char *text, size_t width)
{
    struct kw_text visible = {0};
    size_t columns = 0;
    kw_text_add_visible(&visible, text);
    const char *bytes = kw_text_failed(&visible) ? "" : visible.bytes;
    size_t length = bytes == NULL ? 0 : visible.length;
    for (size_t i = 0, used = 1; i < length && columns < width; i += used) {
        kw_utf8_next(bytes + i, length - i, &used);
        fwrite(bytes + i, 1, used, stdout);
        columns++;
    }
    kw_text_free(&visible);
    return columns;
}

/* printf's own padding counts bytes, and "Drehzahl °" would stand one column
 * off. */
static void print_padded(const char *text, size_t width)
{
    const size_t columns = print_cut(text, width);
    printf("%*s ", (int)(width - columns), "");
}

/* Readings with no more decimals than a person needs. Three or four digits, as
 * a person would read them off a gauge. */
static int decimals_of(double value)
{
    const double size = fabs(value);
    /* Whole numbers as such: 5800 and not 5800.0. */
    if (fabs(value - round(value)) < 1e-9)
        return 0;
    if (size >= 99.95)
        return 0;
    return size >= 9.995 ? 1 : 3;
}

/* A hundred-thousandth of a degree is a metre on the ground. What is larger
 * than half a turn in minutes counts something so small that it is whole. */
static int decimals_of_position(double value)
{
    return fabs(value) > 180.0 * 60.0 ? 0 : 5;
}

static bool is_position(enum kw_role role)
{
    return role == KW_ROLE_LATITUDE || role == KW_ROLE_LONGITUDE;
}

/* The row at or next behind `at` that has a reading, else the one before it: a
 * slow sensor leaves most rows blank, and three dashes would look like a dead
 * one. */
static size_t row_with_reading(const struct kw_log *log,
                               const struct kw_channel *channel,
                               size_t at)
{
    for (size_t i = at; i < log->rows_used; i++) {
        if (!isnan(channel->values[i]))
            return i;
    }
    for (size_t i = at; i > 0; i--) {
        if (!isnan(channel->values[i - 1]))
            return i - 1;
    }
    return at;
}

/* Readings as the file has them, spread over what was read: the first ones are
 * often all zero. The time is in seconds from the first row. */
static void print_values(const struct kw_log *log,
                         const struct kw_channel *channel)
{
    const struct kw_unit *unit =
        channel->values == NULL ? NULL : kw_unit_named(channel->unit);
    for (size_t i = 0; i < VALUES_SHOWN; i++) {
        char number[KW_NUMBER_SIZE];
        /* A quarter, a half and three quarters of the way: never the first row,
         * never the last. */
        const size_t at = log->rows_used * (i + 1) / (VALUES_SHOWN + 1);
        double value =
            channel->values == NULL
                ? log->time_s[at]
                : channel->values[row_with_reading(log, channel, at)];
        /* The way back from our unit to the file's: the person compares with
         * the file. */
        if (unit != NULL)
            value = (value - unit->offset) / unit->factor;
        const int decimals = is_position(channel->role)
                                 ? decimals_of_position(value)
                                 : decimals_of(value);
        printf("%s%s", i == 0 ? "" : ", ",
               kw_number_print(number, value, decimals));
    }
}

/* The reason stands below, indented: it is what to read when the role is
 * wrong. */
static void print_channel(const struct kw_log *log,
                          const struct kw_channel *channel)
{
    print_padded(channel->column, HEADING_WIDTH);
    print_padded(kw_role_name(channel->role), ROLE_WIDTH);
    print_padded(channel->unit, UNIT_WIDTH);
    print_values(log, channel);
    if (channel->why[0] != '\0') {
        printf("\n%*s ", HEADING_WIDTH, "");
        print_cut(channel->why, LINE_WIDTH - HEADING_WIDTH - 1);
    }
    putchar('\n');
}

static void print_columns(const struct kw_log *log)
{
    char rate[KW_NUMBER_SIZE];
    print_padded("column", HEADING_WIDTH);
    print_padded("role", ROLE_WIDTH);
    print_padded("unit", UNIT_WIDTH);
    puts("values (time in s)");
    for (size_t i = 0; i < log->n_channels; i++)
        print_channel(log, &log->channels[i]);
    /* The rate is what tells a clock in milliseconds that was read as
     * seconds. */
    printf("\n%s readings a second\n",
           kw_number_print(rate, log->sample_rate_hz,
                           decimals_of(log->sample_rate_hz)));
    for (size_t i = 0; i < log->notices.n; i++) {
        struct kw_text text = {0};
        struct kw_text line = {0};
        const struct kw_wrap wrap = {.columns = LINE_WIDTH, .indent = 2};
        if (log->notices.items[i].line > 0)
            kw_text_addf(&text, "line %zu: ", log->notices.items[i].line);
        kw_text_add(&text, log->notices.items[i].text);
        if (!kw_text_failed(&text))
            kw_wrap_add(&line, text.bytes, &wrap);
        fputs(kw_text_failed(&line) || line.bytes == NULL ? "out of memory\n"
                                                          : line.bytes,
              stdout);
        kw_text_free(&text);
        kw_text_free(&line);
    }
}

/* The whole log is read and not only its head: the notices about its rows and
 * clock belong to how it was understood. */
static enum kw_status show_columns(const struct input_words *words,
                                   const char *path,
                                   struct kw_error *error)
{
    struct kw_log log = {0};
    struct input input;
    enum kw_status status = input_open(&input, words, error);
    if (status == KW_OK)
        status = input_read(&input, path, &log, error);
    if (status == KW_OK)
        print_columns(&log);
    kw_log_free(&log);
    input_close(&input);
    return status;
}

int cmd_columns(int argc, char **argv)
{
    struct input_words input = {0};
    const struct option options[] = {
        {"--kart", OPTION_TEXT, &input.kart, "PROFILE", false,
         "the kart's profile, an INI file"},
        {"--column", OPTION_LIST, &input.columns, "ROLE=HEADING", false,
         "which column holds what; may be given again"},
        {"--rate", OPTION_ABOVE_0, &input.rate_hz, "HZ", false,
         "samples each second, for a log without a time column"},
    };
    const struct command_words command = {
        "columns [OPTIONS] LOG.csv",
        "Shows how each column of a log was understood, and why.", options,
        sizeof options / sizeof options[0],
        "  kartwright columns sunday.csv\n"
        "  kartwright columns --column rpm=\"Engine speed\" sunday.csv\n"};
    struct kw_error error = {0};
    enum kw_status status = KW_OK;
    struct words logs;
    const enum parsed parsed = parse_words(&command, argc, argv, &logs);
    /* One log: two would need a heading each, and "columns" is asked when one
     * cannot be read. */
    if (parsed == PARSED)
        status = logs.n == 1 ? show_columns(&input, logs.items[0], &error)
                             : refuse_words(&command, "give one log", &error);
    words_free(&input.columns);
    words_free(&logs);
    return exit_status(parsed, status, &error);
}
