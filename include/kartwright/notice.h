/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Notices: what a person should know about a log beside the findings. Import,
 * signal and analysis each hand on a list of them. */
#ifndef KARTWRIGHT_NOTICE_H
#define KARTWRIGHT_NOTICE_H

#include "kartwright/error.h"

#ifdef __cplusplus
extern "C" {
#endif
#if defined(__GNUC__)
#pragma GCC visibility push(default)
#endif

/* Something a person should know about a log.
 *
 * line  1-based line of the file, 0 where it concerns the whole file.
 * text  one line, lower case, no full stop; may quote untrusted text. */
struct kw_notice {
    size_t line;
    char *text;
};

/* A list that grows; start with a zeroed one. */
struct kw_notices {
    struct kw_notice *items;
    size_t n;
    size_t capacity;
};

/* Adds one notice; the text is copied.
 *
 * returns  KW_OK; KW_NO_MEMORY, and the list is as it was. */
enum kw_status kw_notices_add(struct kw_notices *notices,
                              size_t line,
                              const char *text,
                              struct kw_error *error);

/* Takes a zeroed list, and may be called twice. */
void kw_notices_free(struct kw_notices *notices);

#if defined(__GNUC__)
#pragma GCC visibility pop
#endif
#ifdef __cplusplus
}
#endif
#endif
