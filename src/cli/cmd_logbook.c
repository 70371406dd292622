/* SPDX-License-Identifier: GPL-3.0-or-later */
/* kartwright logbook: the table of its commands. */
#include "cli/cmd_logbook.h"
#include "cli/command.h"

/* In the order in which a person meets them: filing a session first, mending an
 * entry last. */
static const struct command commands[] = {
    {"add", logbook_add, "review a log and file it, with its running time"},
    {"note", logbook_note, "write something down"},
    {"fit", logbook_fit, "a part went on the kart"},
    {"remove", logbook_remove, "a part came off"},
    {"watch", logbook_watch, "something to keep an eye on"},
    {"put-back", logbook_put_back,
     "taken apart and put back: look again later"},
    {"close", logbook_close, "a watch item or finding was dealt with"},
    {"due", logbook_due, "what to do before the next race"},
    {"round", logbook_round, "the round of checks after each race day"},
    {"tick", logbook_tick, "a check of the round is done and good"},
    {"skip", logbook_skip, "a check of the round is left out this time"},
    {"new-check", logbook_new_check, "a check of your own for the round"},
    {"list", logbook_list, "all entries by date"},
    {"show", logbook_show, "one entry; its files back out"},
    {"parts", logbook_parts, "what is fitted and how long it has run"},
    {"life", logbook_life, "how long parts last, by your own figures"},
    {"trend", logbook_trend, "what creeps from session to session"},
    {"print", logbook_print, "one page, fit for paper"},
    {"export", logbook_export, "everything as tables for a spreadsheet"},
    {"save", logbook_save, "a safe copy, also while in use"},
    {"check", logbook_check, "is the logbook's file sound"},
    {"correct", logbook_correct, "give an entry another date"},
    {"withdraw", logbook_withdraw, "take an entry out of every count"},
};

/* Where the file lies is said here, for it is what has to be backed up. */
static const struct command_table table = {
    commands, sizeof commands / sizeof commands[0],
    "usage: kartwright logbook COMMAND [WORDS]\n\n"
    "Remembers what was fitted when, how long each part has run, and "
    "what was\nfound and not yet dealt with. One file: --book FILE, "
    "else $KARTWRIGHT_BOOK,\nelse logbook.db in "
    "~/.local/share/kartwright; made on first use.\n\ncommands:\n",
    "\n'kartwright logbook COMMAND --help' tells more.\n", "logbook "};

int cmd_logbook(int argc, char **argv)
{
    return run_from_table(&table, argc, argv);
}
