/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The list of passings of the line, one time each. */
#include "analysis/lap_passings.h"

#include "core/array.h"

#include <stdlib.h>

/* In the order of time, which the caller keeps. */
enum kw_status kw_passings_add(struct kw_passings *passings,
                               double time_s,
                               struct kw_error *error)
{
    enum kw_status status =
        kw_array_reserve(&passings->time_s, &passings->capacity,
                         passings->n + 1, sizeof *passings->time_s, error);
    if (status == KW_OK)
        passings->time_s[passings->n++] = time_s;
    return status;
}

void kw_passings_free(struct kw_passings *passings)
{
    free(passings->time_s);
    *passings = (struct kw_passings){0};
}
