/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The commands of the program, and how each reads its words.
 *
 * A command declares its options in a table; from it come the parsing and the
 * `--help` text, so that the two cannot disagree.
 */
#ifndef KARTWRIGHT_CLI_COMMAND_H
#define KARTWRIGHT_CLI_COMMAND_H

#include "kartwright/error.h"

#include <stdbool.h>
#include <stddef.h>

/* Exit statuses of the contract. */
enum { EXIT_DONE = 0, EXIT_REFUSED = 1, EXIT_USAGE = 2 };

/* What an option takes, and the type that `target` points at. */
enum option_kind {
    OPTION_FLAG,    /* nothing: bool */
    OPTION_TEXT,    /* one word: const char * */
    OPTION_MAYBE,   /* one word, or none at the end and before another option,
                       which gives "": const char * */
    OPTION_NUMBER,  /* one number: double */
    OPTION_ABOVE_0, /* one number above 0, which is "not given": double */
    OPTION_LIST     /* all words up to the next option, or one word each time it
                       is given: struct words */
};

/* A list of words of the command line, not owned. */
struct words {
    const char **items;
    size_t n;
    size_t capacity;
};

/* name    with its dashes: "--out".
 * value   what help calls the word: "FOLDER"; NULL for a flag.
 * many    OPTION_LIST: true takes all words up to the next option.
 * help    one line, lower case. */
struct option {
    const char *name;
    enum option_kind kind;
    void *target;
    const char *value;
    bool many;
    const char *help;
};

/* usage     the words after "kartwright", for the first line of help.
 * summary   one or two sentences.
 * options   options[n_options].
 * examples  lines of examples, each with its comment. */
struct command_words {
    const char *usage;
    const char *summary;
    const struct option *options;
    size_t n_options;
    const char *examples;
};

/* How parsing ended. */
enum parsed { PARSED, PARSED_HELP, PARSED_WRONG };

/* Reads the words of one command (argv[0] is its name). `--help` prints the
 * help to standard output; wrong words print one line to standard error.
 *
 * rest     words that belong to no option, in order; the caller frees it with
 *          words_free(), as every list among the options.
 * returns  PARSED; PARSED_HELP (exit 0); PARSED_WRONG (exit 2). */
enum parsed parse_words(const struct command_words *command,
                        int argc,
                        char **argv,
                        struct words *rest);
void words_free(struct words *words);

/* The same for a command that takes options alone.
 *
 * refusal  what is wrong where a word belongs to none: "takes no file". */
enum parsed parse_options(const struct command_words *command,
                          int argc,
                          char **argv,
                          const char *refusal);

/* How much of the usage is the command's name: "review", "logbook note". */
size_t command_name_length(const struct command_words *command);

/* Refuses the words of a command and points at its help.
 *
 * returns  KW_BAD_USAGE. */
enum kw_status refuse_words(const struct command_words *command,
                            const char *what,
                            struct kw_error *error);

/* The same with a way out of its own; also for numbers that cannot be.
 *
 * returns  KW_BAD_USAGE. */
enum kw_status refuse_usage(struct kw_error *error,
                            const char *what,
                            const char *todo);

/* Prints an error as the contract wants it, on standard error, and gives the
 * exit status that goes with it. */
int print_error(const struct kw_error *error);

/* The exit status of a command: that of its words, where they ended it, else
 * that of its work, whose error is printed. */
int exit_status(enum parsed parsed,
                enum kw_status status,
                const struct kw_error *error);

/* One command of a table: of the program, or of the logbook. */
struct command {
    const char *name;
    int (*run)(int argc, char **argv);
    const char *help;
};

/* commands    the first one takes a log.
 * head, tail  of the overview, around one line for each command.
 * prefix      before the names of its commands, "logbook " or "". */
struct command_table {
    const struct command *commands;
    size_t n;
    const char *head;
    const char *tail;
    const char *prefix;
};

/* Runs the command that argv[1] names; its name is its argv[0], so that it
 * counts its words from 1 as any program does. --help and help print the
 * overview.
 *
 * returns  the exit status. */
int run_from_table(const struct command_table *table, int argc, char **argv);

int cmd_review(int argc, char **argv);
int cmd_compare(int argc, char **argv);
int cmd_columns(int argc, char **argv);
int cmd_air(int argc, char **argv);
int cmd_gearing(int argc, char **argv);
int cmd_chain(int argc, char **argv);
int cmd_logbook(int argc, char **argv);

#endif
