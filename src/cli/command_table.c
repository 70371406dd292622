/* SPDX-License-Identifier: GPL-3.0-or-later */
/* From a command's name to the command: for the program and for the logbook,
 * which has commands of its own. */
#include "cli/command.h"

#include "core/text.h"

#include <stdio.h>
#include <string.h>
#include <sys/stat.h>

/* One line for each, from the table: none can be forgotten. */
static void print_overview(const struct command_table *table, FILE *to)
{
    fputs(table->head, to);
    for (size_t i = 0; i < table->n; i++)
        fprintf(to, "  %-10s %s\n", table->commands[i].name,
                table->commands[i].help);
    fputs(table->tail, to);
}

/* The word is untrusted. Out of memory costs the word alone. A log where the
 * command should stand is the most likely slip: the first command takes it. */
static void print_unknown(const struct command_table *table, const char *word)
{
    struct kw_text text = {0};
    struct stat about;
    kw_text_add(&text, " '");
    kw_text_add_visible(&text, word);
    kw_text_add(&text, "'");
    const char *quoted = kw_text_failed(&text) ? "" : text.bytes;
    if (stat(word, &about) == 0 && !S_ISDIR(about.st_mode))
        fprintf(stderr,
                "kartwright:%s is a file, no command: write 'kartwright %s%s' "
                "before it\n",
                quoted, table->prefix, table->commands[0].name);
    else
        fprintf(stderr,
                "kartwright: no such command%s: see 'kartwright %s--help'\n",
                quoted, table->prefix);
    kw_text_free(&text);
}

int run_from_table(const struct command_table *table, int argc, char **argv)
{
    /* No command is a slip and goes to standard error, asked-for help to
     * standard output, where it can be paged. */
    if (argc < 2) {
        print_overview(table, stderr);
        return EXIT_USAGE;
    }
    if (strcmp(argv[1], "--help") == 0 || strcmp(argv[1], "help") == 0) {
        print_overview(table, stdout);
        return EXIT_DONE;
    }
    for (size_t i = 0; i < table->n; i++) {
        if (strcmp(argv[1], table->commands[i].name) == 0)
            return table->commands[i].run(argc - 1, argv + 1);
    }
    print_unknown(table, argv[1]);
    return EXIT_USAGE;
}
