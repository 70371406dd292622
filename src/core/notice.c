/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The list of notices that import, signal and analysis hand to the person.
 *
 * A notice is no error: the log is read, and this is what was left out, mended
 * or taken for granted on the way. */
#include "notices.h"

#include "array.h"

#include <stdlib.h>

/* The copy first: when the list cannot grow there is only that to undo. */
enum kw_status kw_notices_add(struct kw_notices *notices,
                              size_t line,
                              const char *text,
                              struct kw_error *error)
{
    char *copy = kw_text_duplicate(text, error);
    if (copy == NULL)
        return KW_NO_MEMORY;
    if (kw_array_reserve(&notices->items, &notices->capacity, notices->n + 1,
                         sizeof *notices->items, error) != KW_OK) {
        free(copy);
        return KW_NO_MEMORY;
    }
    /* The text belongs to the list from here on. */
    notices->items[notices->n++] = (struct kw_notice){line, copy};
    return KW_OK;
}

/* One place for the three ends of a line that was put together: out of memory,
 * nothing to say, said. */
enum kw_status kw_notices_tell(struct kw_notices *notices,
                               size_t line,
                               struct kw_text *text,
                               struct kw_error *error)
{
    enum kw_status status = KW_OK;
    if (kw_text_failed(text))
        status = kw_fail_memory(error);
    else if (text->length > 0)
        status = kw_notices_add(notices, line, text->bytes, error);
    kw_text_free(text);
    return status;
}

void kw_notices_take_back(struct kw_notices *notices, size_t index)
{
    free(notices->items[index].text);
    notices->n--;
    for (size_t i = index; i < notices->n; i++)
        notices->items[i] = notices->items[i + 1];
}

void kw_notices_free(struct kw_notices *notices)
{
    for (size_t i = 0; i < notices->n; i++)
        free(notices->items[i].text);
    free(notices->items);
    *notices = (struct kw_notices){0};
}
