/* SPDX-License-Identifier: GPL-3.0-or-later */
/* How commands hand over what they found: folder, JSON, text. */
#ifndef KARTWRIGHT_CLI_DELIVERY_H
#define KARTWRIGHT_CLI_DELIVERY_H

#include "kartwright/error.h"
#include "kartwright/notice.h"

#include <stdbool.h>

/* "sunday-report" for "logs/sunday.csv.gz" and "-report"; "session-report" for
 * standard input.
 *
 * returns  NULL when memory is short; the caller frees it with free(). */
char *folder_named_after(const char *log,
                         const char *ending,
                         struct kw_error *error);

/* A folder that nobody named and that cannot be made: better an answer without
 * it than none. The error becomes a notice. */
enum kw_status note_no_folder(struct kw_notices *notices,
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
