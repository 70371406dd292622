/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The program: finds the command, runs it, and makes sure that what was printed
 * really left. */
#include "cli/command.h"
#include "cli/large_pages.h"

#include <gsl/gsl_errno.h>
#include <signal.h>
#include <stdbool.h>
#include <stdio.h>
#include <string.h>

static const struct command commands[] = {
    {"review", cmd_review, "review a session's log: what happened, what to do"},
    {"compare", cmd_compare, "did a change help? sessions before and after it"},
    {"columns", cmd_columns, "show how each column of a log was understood"},
    {"air", cmd_air, "how thick the air is, and the jet that goes with it"},
    {"gearing", cmd_gearing, "speeds and teeth, from numbers or from a log"},
    {"chain", cmd_chain, "links, wear and alignment of the chain"},
    {"logbook", cmd_logbook, "what was fitted when, its hours, what is due"},
};

static const struct command_table table = {
    commands, sizeof commands / sizeof commands[0],
    "usage: kartwright COMMAND [WORDS]\n\n"
    "Reads the log of a kart after a session and says what to look at "
    "first.\n\ncommands:\n",
    "\n'kartwright COMMAND --help' tells more, and so does "
    "'man kartwright'.\n",
    ""};

static int run(int argc, char **argv)
{
    if (argc >= 2 && strcmp(argv[1], "--version") == 0) {
        puts("kartwright " KW_VERSION);
        return EXIT_DONE;
    }
    return run_from_table(&table, argc, argv);
}

int main(int argc, char **argv)
{
    /* A failed sum must come back as a status; a closed pipe and a file beyond
     * the limit of its size (ulimit -f) as a failed write, which is cleaned up
     * after: none may end the program half-way. */
    gsl_set_error_handler_off();
    signal(SIGPIPE, SIG_IGN);
    signal(SIGXFSZ, SIG_IGN);
    use_large_pages();
    const int status = run(argc, argv);
    /* Output is buffered: a full disk shows here and nowhere before. What fills
     * the buffer more than once has failed before and left its mark alone. */
    const bool failed = fflush(stdout) != 0 || ferror(stdout) != 0;
    if (fclose(stdout) != 0 || failed) {
        fprintf(stderr, "kartwright: could not write standard output: "
                        "is the disk full, or was it closed early?\n");
        return EXIT_REFUSED;
    }
    return status;
}
