/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Failing with a line that has a value in it: "entry 12 was closed already". */
#ifndef KARTWRIGHT_CORE_FAIL_H
#define KARTWRIGHT_CORE_FAIL_H

#include "text.h"

/* kw_fail() without a line number, and with what is wrong made by printf's %s,
 * %d, %lld and %zu; not %f, which follows the locale. Needs no memory.
 *
 * file, todo  may be NULL.
 * returns     status, always. */
#if defined(__GNUC__)
__attribute__((format(printf, 5, 6)))
#endif
enum kw_status
kw_failf(struct kw_error *error,
         enum kw_status status,
         const char *file,
         const char *todo,
         const char *format,
         ...);

/* What an error says beside what is wrong, as in struct kw_error.
 *
 * file, todo  NULL where there is none.
 * line        1-based, 0 for none. */
struct kw_refusal {
    enum kw_status status;
    const char *file;
    size_t line;
    const char *todo;
};

/* kw_fail() with what is wrong put together in a text, which is freed: for
 * numbers with decimals, and for what was typed or read, made visible.
 *
 * returns  refusal->status, or KW_NO_MEMORY where putting it together ran out:
 *          then that is what is told, and not half a message. */
enum kw_status kw_fail_text(struct kw_error *error,
                            const struct kw_refusal *refusal,
                            struct kw_text *what);

#endif
