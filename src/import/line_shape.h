/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Lines that hold a log, but not as fields of a table. */
#ifndef KARTWRIGHT_IMPORT_LINE_SHAPE_H
#define KARTWRIGHT_IMPORT_LINE_SHAPE_H

#include <stdbool.h>
#include <stddef.h>

/* Tells what most of the first lines of a text have in common that keeps them
 * from being read as a table: blanks between the fields, quotes round the whole
 * line, and their like. To be asked where no table was found.
 *
 * what, todo  filled in, for the person; static texts.
 * returns     false where the lines are of no such shape. */
bool kw_line_shape(const char *text,
                   size_t length,
                   const char **what,
                   const char **todo);

#endif
