/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Filling in the one error that travels upwards. */
#include "kartwright/error.h"

#include "fail.h"
#include "text.h"

#include <stdarg.h>
#include <stdio.h>

/* The texts are copied and cut, never allocated: this must work when there is
 * no memory left. The last thing that could fail is how a failure is told. */
enum kw_status kw_fail(struct kw_error *error,
                       enum kw_status status,
                       const char *file,
                       size_t line,
                       const char *what,
                       const char *todo)
{
    if (error == NULL)
        return status;
    error->status = status;
    error->line = line;
    kw_text_copy(error->file, sizeof error->file, file);
    kw_text_copy(error->what, sizeof error->what, what);
    kw_text_copy(error->todo, sizeof error->todo, todo);
    return status;
}

/* No file and no line: it is the machine that has too little, not the log. */
enum kw_status kw_fail_memory(struct kw_error *error)
{
    return kw_fail(error, KW_NO_MEMORY, NULL, 0, "out of memory",
                   "close other programs or review a shorter log");
}

/* Longer than the error's own text, so that it is kw_fail() that cuts, at a
 * character. */
enum kw_status kw_failf(struct kw_error *error,
                        enum kw_status status,
                        const char *file,
                        const char *todo,
                        const char *format,
                        ...)
{
    char what[2 * KW_ERROR_TEXT_SIZE];
    va_list arguments;
    va_start(arguments, format);
    const int length = vsnprintf(what, sizeof what, format, arguments);
    va_end(arguments);
    return kw_fail(error, status, file, 0, length < 0 ? "" : what, todo);
}

/* The refusal's own texts are copied by kw_fail(), so that they may go with
 * `what`. */
enum kw_status kw_fail_text(struct kw_error *error,
                            const struct kw_refusal *refusal,
                            struct kw_text *what)
{
    const enum kw_status status =
        kw_text_failed(what)
            ? kw_fail_memory(error)
            : kw_fail(error, refusal->status, refusal->file, refusal->line,
                      what->bytes, refusal->todo);
    kw_text_free(what);
    return status;
}
