/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Failing with a line that has a value in it: "entry 12 was closed already". */
#ifndef KARTWRIGHT_CORE_FAIL_H
#define KARTWRIGHT_CORE_FAIL_H

#include "kartwright/error.h"

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

#endif
