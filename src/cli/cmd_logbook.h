/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The commands below `kartwright logbook`. */
#ifndef KARTWRIGHT_CLI_CMD_LOGBOOK_H
#define KARTWRIGHT_CLI_CMD_LOGBOOK_H

int logbook_add(int argc, char **argv);
int logbook_note(int argc, char **argv);
int logbook_fit(int argc, char **argv);
int logbook_remove(int argc, char **argv);
int logbook_watch(int argc, char **argv);
int logbook_close(int argc, char **argv);
int logbook_life(int argc, char **argv);
int logbook_put_back(int argc, char **argv);
int logbook_trend(int argc, char **argv);
int logbook_print(int argc, char **argv);
int logbook_export(int argc, char **argv);
int logbook_save(int argc, char **argv);
int logbook_check(int argc, char **argv);
int logbook_correct(int argc, char **argv);
int logbook_withdraw(int argc, char **argv);
int logbook_due(int argc, char **argv);
int logbook_round(int argc, char **argv);
int logbook_tick(int argc, char **argv);
int logbook_skip(int argc, char **argv);
int logbook_new_check(int argc, char **argv);
int logbook_list(int argc, char **argv);
int logbook_show(int argc, char **argv);
int logbook_parts(int argc, char **argv);

#endif
