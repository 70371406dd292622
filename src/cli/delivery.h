/* SPDX-License-Identifier: GPL-3.0-or-later */
/* How commands hand over what they found: folder, JSON, text. */
#ifndef KARTWRIGHT_CLI_DELIVERY_H
#define KARTWRIGHT_CLI_DELIVERY_H

#include "kartwright/error.h"
#include "kartwright/notice.h"

#include <stdbool.h>

/* The name of the report's folder: `asked`, or one after the log. "-report" and
 * "logs/sunday.csv.gz" give "sunday-report", standard input "session-report".
 *
 * asked    with --out, or NULL.
 * returns  NULL when memory is short; the caller frees it with free(). */
char *report_folder(const char *asked,
                    const char *log,
                    const char *ending,
                    struct kw_error *error);

/* What becomes of a folder that could not be written, as `error` says. One that
 * nobody asked for becomes a notice: better an answer without it than none.
 *
 * returns  KW_OK; the error's status where the folder was asked for or memory
 *          is short. */
enum kw_status note_no_folder(const char *asked,
                              struct kw_notices *notices,
                              struct kw_error *error);

/* Puts a file that the person named in place, whole or not at all. One that is
 * there is replaced only where its first line is the new one's, as that of an
 * earlier page or of earlier JSON is, or where it is empty.
 *
 * text     one line at least, with its end.
 * returns  KW_OK; KW_BAD_INPUT where something else is there; KW_IO_FAILED;
 *          KW_NO_MEMORY. */
enum kw_status put_in_place(const char *path,
                            const char *text,
                            struct kw_error *error);

/* Where a command was told to write.
 *
 * json         FILE of --json, "-" or NULL.
 * out          FOLDER of --out, or NULL.
 * log, ending  what the report's folder is named after without --out.
 * no_report    no folder is written. */
struct places {
    const char *json;
    const char *out;
    const char *log;
    const char *ending;
    bool no_report;
};

/* Asks before the work what would be refused after it, when a report that is
 * written already would have to be taken back.
 *
 * returns  KW_OK; KW_BAD_INPUT (something else is there); KW_IO_FAILED;
 *          KW_NO_MEMORY. */
enum kw_status check_places(const struct places *places,
                            struct kw_error *error);

/* Says that --out was given in vain, beside --no-report. */
enum kw_status note_unused_out(const struct places *places,
                               struct kw_notices *notices,
                               struct kw_error *error);

/* Hands over finished JSON, to standard output ("-") or to a file that is whole
 * or not there.
 *
 * path  NULL where none is wanted. */
enum kw_status write_json(const char *json,
                          const char *path,
                          struct kw_error *error);

/* Colour is for a person at a terminal who did not refuse it (no-color.org:
 * NO_COLOR present and not empty). */
bool wants_colour(void);

/* "-", as the contract has it; NULL is none. */
bool is_standard_output(const char *path);

/* The last line says where the report lies: it is what is still on the screen.
 *
 * folder  NULL where there is none: nothing is printed. */
enum kw_status print_where(const char *folder, struct kw_error *error);

#endif
