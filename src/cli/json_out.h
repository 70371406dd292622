/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Printing a small JSON object that a command has built. */
#ifndef KARTWRIGHT_CLI_JSON_OUT_H
#define KARTWRIGHT_CLI_JSON_OUT_H

#include "cli/command.h"

#include <jansson.h>

/* A number, or null for NAN. The caller owns the reference; NULL when memory is
 * short, which json_object_set_new() then reports. */
json_t *json_number_or_null(double value);

/* Writes `root` to standard output ("-") or to a file, and lets go of it.
 *
 * root     may be NULL or hold a failure from building: then it is out of
 *          memory.
 * returns  the command's exit status; a refusal has been printed. */
int print_json(json_t *root, const char *path);

#endif
