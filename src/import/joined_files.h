/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Files that were put behind each other: a heading in the middle that is not
 * the first one's, or rows that are written with other marks. To read on would
 * take one column for another, or lose what the session ended with. */
#ifndef KARTWRIGHT_IMPORT_JOINED_FILES_H
#define KARTWRIGHT_IMPORT_JOINED_FILES_H

#include "import/columns.h"
#include "import/head.h"
#include "kartwright/log.h"

enum {
    KW_HEADING_SHOWN = 64 /* bytes of a heading that a message quotes */
};

/* What is known of the file so far, and of the row at hand.
 *
 * marks         of each of kw_delimiters in the row's fields that are not read.
 * names         of the row's fields are words of a heading, though not those of
 *               the heading above.
 * names_rpm     the row names RPM, `names_time` the time.
 * other_number  a field of the row is a number with the other decimal mark.
 * below         the rows stand below another heading.
 * heading_line  of the first of such headings; 0 for none.
 * column        the first one has `name` for; "" where only its number of
 *               columns, `fields`, is another.
 * is_log        one of them names RPM.
 * n_below       rows below it.
 * marks_line    of the first row with other marks; 0 for none.
 * n_marks       rows with other marks. */
struct kw_joined_files {
    size_t marks[KW_N_DELIMITERS];
    size_t names;
    bool names_rpm;
    bool names_time;
    bool other_number;
    bool below;
    bool is_log;
    size_t heading_line;
    size_t column;
    char name[KW_HEADING_SHOWN];
    size_t fields;
    size_t n_below;
    size_t marks_line;
    size_t n_marks;
};

/* Forgets the row at hand. */
void kw_joined_next_row(struct kw_joined_files *joined);

/* A field that cannot be read, or of a column that is not. */
void kw_joined_field(struct kw_joined_files *joined,
                     const char *text,
                     size_t length);

/* A field of a column that cannot be read, in a row without any readings.
 *
 * columns  columns->items[column] has a role.
 * returns  whether it says the same as the column's own heading or unit. */
bool kw_joined_word(struct kw_joined_files *joined,
                    const struct kw_columns *columns,
                    size_t column,
                    const char *text,
                    size_t length);

/* Any field of a row that has words of a heading and no readings. */
void kw_joined_heading_field(struct kw_joined_files *joined,
                             const char *text,
                             size_t length);

/* A field of a column that cannot be read, in any row. */
void kw_joined_bad_field(struct kw_joined_files *joined,
                         const char *text,
                         size_t length);

/* The row is another heading, with so many fields. */
void kw_joined_heading(struct kw_joined_files *joined,
                       size_t fields,
                       size_t line);

/* The row, which has so many columns in the heading, could not be read. */
void kw_joined_bad_row(struct kw_joined_files *joined,
                       size_t n_columns,
                       size_t line);

/* What the end of the file needs.
 *
 * n_rows  of data, with those that are left out. */
struct kw_joined_report {
    const struct kw_columns *columns;
    const char *path;
    size_t n_rows;
    struct kw_notices *notices;
};

/* Tells or refuses what was found, at the end of the file.
 *
 * returns  KW_OK; KW_BAD_INPUT; KW_NO_MEMORY. */
enum kw_status kw_joined_settle(const struct kw_joined_files *joined,
                                const struct kw_joined_report *report,
                                struct kw_error *error);

#endif
