/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Reading a command's words against its table of options, and printing help
 * from the same table. */
#include "cli/command.h"

#include "core/array.h"
#include "core/number.h"
#include "core/text.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* The words stay the shell's: nothing is copied. */
static bool words_add(struct words *words, const char *word)
{
    if (kw_array_reserve(&words->items, &words->capacity, words->n + 1,
                         sizeof *words->items, NULL) != KW_OK)
        return false;
    words->items[words->n++] = word;
    return true;
}

void words_free(struct words *words)
{
    free(words->items);
    *words = (struct words){0};
}

/* The usage begins with the name, which is what the person has to type; those
 * of the logbook have two words. */
size_t command_name_length(const struct command_words *command)
{
    static const char logbook[] = "logbook ";
    const size_t head = strlen(logbook);
    const size_t skipped =
        strncmp(command->usage, logbook, head) == 0 ? head : 0;
    return skipped + strcspn(command->usage + skipped, " ");
}

/* One line on standard error; the word is untrusted. */
static enum parsed wrong(const struct command_words *command,
                         const char *what,
                         const char *word)
{
    struct kw_text line = {0};
    kw_text_add(&line, "kartwright: ");
    kw_text_add(&line, what);
    if (word != NULL) {
        kw_text_add(&line, " '");
        kw_text_add_visible(&line, word);
        kw_text_add(&line, "'");
    }
    kw_text_addf(&line, ": see 'kartwright %.*s --help'",
                 (int)command_name_length(command), command->usage);
    if (!kw_text_failed(&line))
        fprintf(stderr, "%s\n", line.bytes);
    kw_text_free(&line);
    return PARSED_WRONG;
}

static void print_option(const struct option *option)
{
    char left[64];
    snprintf(left, sizeof left, "%s%s%s%s", option->name,
             option->value == NULL ? "" : " ",
             option->value == NULL ? "" : option->value,
             option->many ? " ..." : "");
    /* The help begins in column 26, or on the next line where the option is
     * long. */
    if (strlen(left) < 24)
        printf("  %-23s %s\n", left, option->help);
    else
        printf("  %s\n  %-23s %s\n", left, "", option->help);
}

static void print_help(const struct command_words *command)
{
    printf("usage: kartwright %s\n\n%s\n", command->usage, command->summary);
    if (command->n_options > 0)
        printf("\noptions:\n");
    for (size_t i = 0; i < command->n_options; i++)
        print_option(&command->options[i]);
    printf("  %-23s %s\n", "--help", "this text");
    printf("\nexamples:\n%s", command->examples);
}

/* No shortened names: a new option must never change what an old script
 * means. */
static const struct option *find_option(const struct command_words *command,
                                        const char *word,
                                        size_t length)
{
    for (size_t i = 0; i < command->n_options; i++) {
        const struct option *option = &command->options[i];
        if (strlen(option->name) == length &&
            memcmp(option->name, word, length) == 0)
            return option;
    }
    return NULL;
}

/* "--out" and "-" for standard input look alike: a lone dash is a word, and so
 * is a negative number. */
static bool is_option(const char *word)
{
    return word[0] == '-' && word[1] == '-' && word[2] != '\0';
}

static enum parsed take_number(const struct command_words *command,
                               const struct option *option,
                               const char *word)
{
    double *number = option->target;
    if (!kw_number_parse(word, strlen(word), '.', number))
        return wrong(command, "not a number (write 12.5):", word);
    if (option->kind == OPTION_ABOVE_0 && !(*number > 0.0))
        return wrong(command, "must be more than 0:", option->name);
    return PARSED;
}

/* Of two values one would be dropped in silence. A flag loses nothing when it
 * is repeated, and a list grows. */
static bool is_repeated(const struct option *option, char **argv, int at)
{
    const size_t length = strlen(option->name);
    if (option->kind == OPTION_FLAG || option->kind == OPTION_LIST)
        return false;
    /* No value begins with two dashes, but behind an equals sign: an earlier
     * word that bears the name is the option. */
    for (int i = 1; i < at; i++) {
        if (strncmp(argv[i], option->name, length) == 0 &&
            (argv[i][length] == '=' || argv[i][length] == '\0'))
            return true;
    }
    return false;
}

/* Takes the words of one option, argv[*at] and what follows.
 *
 * at  the last word taken. */
static enum parsed take_option(const struct command_words *command,
                               int argc,
                               char **argv,
                               int *at)
{
    const char *word = argv[*at];
    const char *equals = strchr(word, '=');
    const size_t length =
        equals == NULL ? strlen(word) : (size_t)(equals - word);
    const struct option *option = find_option(command, word, length);
    if (option == NULL)
        return wrong(command, "no such option:", word);
    /* "--explain=no" would be read as yes. */
    if (option->kind == OPTION_FLAG && equals != NULL)
        return wrong(command, "takes no value:", option->name);
    if (option->kind == OPTION_FLAG) {
        *(bool *)option->target = true;
        return PARSED;
    }
    if (is_repeated(option, argv, *at))
        return wrong(command, "given twice:", option->name);
    const char *value = equals != NULL ? equals + 1 : NULL;
    const bool is_last = *at + 1 >= argc || is_option(argv[*at + 1]);
    if (option->kind == OPTION_MAYBE && value == NULL && is_last)
        value = "";
    /* Both "--out FOLDER" and "--out=FOLDER", as people know it. */
    else if (value == NULL && *at + 1 < argc)
        value = argv[++*at];
    if (value == NULL || (equals == NULL && is_option(value)))
        return wrong(command, "needs a value:", option->name);
    if (option->kind == OPTION_TEXT || option->kind == OPTION_MAYBE)
        *(const char **)option->target = value;
    if (option->kind == OPTION_NUMBER || option->kind == OPTION_ABOVE_0)
        return take_number(command, option, value);
    if (option->kind != OPTION_LIST)
        return PARSED;
    bool added = words_add(option->target, value);
    /* "--before s1.csv s2.csv --after s3.csv": the shell's wild cards give such
     * lists. */
    while (added && option->many && *at + 1 < argc && !is_option(argv[*at + 1]))
        added = words_add(option->target, argv[++*at]);
    return added ? PARSED : wrong(command, "out of memory", NULL);
}

enum parsed parse_words(const struct command_words *command,
                        int argc,
                        char **argv,
                        struct words *rest)
{
    *rest = (struct words){0};
    bool only_words = false;
    for (int at = 1; at < argc; at++) {
        enum parsed parsed = PARSED;
        /* Behind it everything is a word: a log may be called "--old.csv". */
        if (!only_words && strcmp(argv[at], "--") == 0) {
            only_words = true;
        } else if (!only_words && strcmp(argv[at], "--help") == 0) {
            print_help(command);
            return PARSED_HELP;
        } else if (!only_words && is_option(argv[at])) {
            parsed = take_option(command, argc, argv, &at);
        } else if (!only_words && argv[at][0] == '-' && argv[at][1] != '\0') {
            /* A single dash and a letter is what other programs take: say so,
             * rather than look for a log of that name. */
            parsed = wrong(command, "no such option:", argv[at]);
        } else if (!words_add(rest, argv[at])) {
            parsed = wrong(command, "out of memory", NULL);
        }
        if (parsed != PARSED)
            return parsed;
    }
    return PARSED;
}

/* The words are gone once they are counted: nothing else wants them. */
enum parsed parse_options(const struct command_words *command,
                          int argc,
                          char **argv,
                          const char *refusal)
{
    struct words rest;
    const enum parsed parsed = parse_words(command, argc, argv, &rest);
    const bool is_stray = parsed == PARSED && rest.n > 0;
    words_free(&rest);
    return is_stray ? wrong(command, refusal, NULL) : parsed;
}

/* With the command's own name: it can be typed as it stands. */
enum kw_status refuse_words(const struct command_words *command,
                            const char *what,
                            struct kw_error *error)
{
    char todo[64];
    snprintf(todo, sizeof todo, "see 'kartwright %.*s --help'",
             (int)command_name_length(command), command->usage);
    return refuse_usage(error, what, todo);
}

/* No file and no line: what is wrong is on the command line. */
enum kw_status refuse_usage(struct kw_error *error,
                            const char *what,
                            const char *todo)
{
    return kw_fail(error, KW_BAD_USAGE, NULL, 0, what, todo);
}

/* File and line first, in the form that editors follow. The texts come in part
 * from files: nothing of them reaches the terminal unescaped. */
int print_error(const struct kw_error *error)
{
    struct kw_text line = {0};
    if (error->file[0] != '\0') {
        kw_text_add_visible(&line, error->file);
        if (error->line > 0)
            kw_text_addf(&line, ":%zu", error->line);
        kw_text_add(&line, ": ");
    } else {
        kw_text_add(&line, "kartwright: ");
    }
    kw_text_add_visible(&line, error->what);
    if (error->todo[0] != '\0') {
        kw_text_add(&line, ": ");
        kw_text_add_visible(&line, error->todo);
    }
    fprintf(stderr, "%s\n",
            /* The last message needs no memory of its own. */
            kw_text_failed(&line) ? "kartwright: out of memory" : line.bytes);
    kw_text_free(&line);
    return error->status == KW_BAD_USAGE ? EXIT_USAGE : EXIT_REFUSED;
}

int exit_status(enum parsed parsed,
                enum kw_status status,
                const struct kw_error *error)
{
    /* What is wrong with the words was printed while they were parsed. */
    if (parsed != PARSED)
        return parsed == PARSED_HELP ? EXIT_DONE : EXIT_USAGE;
    return status == KW_OK ? EXIT_DONE : print_error(error);
}
