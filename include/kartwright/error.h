/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Status codes and the one error message that every room passes upwards.
 *
 * An error is made where its cause is known, passed up untouched and printed
 * once, by the program:
 *
 *     return kw_fail(error, KW_BAD_INPUT, path, 811,
 *                    "row has 5 fields, expected 6",
 *                    "add the missing field or delete the row");
 *
 *     session.csv:811: row has 5 fields, expected 6: add the missing field ...
 */
#ifndef KARTWRIGHT_ERROR_H
#define KARTWRIGHT_ERROR_H

#include <stddef.h>

#ifdef __cplusplus
extern "C" {
#endif
#if defined(__GNUC__)
#pragma GCC visibility push(default)
#endif

/* How a call went. Few on purpose: a program decides by them, a person reads
 * the error's text. */
enum kw_status {
    KW_OK = 0,
    KW_BAD_INPUT, /* a file or a value from outside is wrong */
    KW_BAD_USAGE, /* the words of the command are wrong */
    KW_NO_MEMORY, /* an allocation failed */
    KW_IO_FAILED, /* a read, write, rename or child process failed */
    KW_BUSY       /* somebody else holds the logbook */
};

/* Sizes in bytes, with the closing zero; longer text is cut at a character. */
enum { KW_ERROR_FILE_SIZE = 512, KW_ERROR_TEXT_SIZE = 320 };

/* status  KW_OK while nothing went wrong.
 * file    the file concerned, "" where there is none; untrusted text.
 * line    1-based line of that file, 0 where there is none.
 * what    what is wrong, with the value seen and the value expected; untrusted.
 * todo    what the person can do about it, "" where there is nothing. */
struct kw_error {
    enum kw_status status;
    char file[KW_ERROR_FILE_SIZE];
    size_t line;
    char what[KW_ERROR_TEXT_SIZE];
    char todo[KW_ERROR_TEXT_SIZE];
};

/* Fills in *error (which may be NULL) and gives status back, so that a caller
 * writes `return kw_fail(...)`.
 *
 * file, todo  may be NULL.
 * line        1-based, 0 for none.
 * returns     status, always. */
enum kw_status kw_fail(struct kw_error *error,
                       enum kw_status status,
                       const char *file,
                       size_t line,
                       const char *what,
                       const char *todo);

/* The same for an allocation that failed.
 *
 * returns  KW_NO_MEMORY, always. */
enum kw_status kw_fail_memory(struct kw_error *error);

#if defined(__GNUC__)
#pragma GCC visibility pop
#endif
#ifdef __cplusplus
}
#endif
#endif
