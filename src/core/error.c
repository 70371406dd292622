/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Filling in the one error that travels upwards. */
#include "kartwright/error.h"

#include "text.h"

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
