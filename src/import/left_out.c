/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Columns that are left out, in words: silence would look like a column that
 * was understood. */
#include "import/left_out.h"

#include "core/notices.h"
#include "core/text.h"

/* Even an idling engine's exhaust is hotter, in C or F; what never comes so far
 * is none. Common practice, no source. */
static const double WARM = 120.0;

bool kw_is_warm(double temperature)
{
    return temperature > WARM;
}

/* A heading that is understood above fields that are not is said so: to the
 * person the column is there. */
static const char *why_left_out(const struct kw_column *column)
{
    if (column->why[0] != '\0' && !column->doubtful)
        return column->why;
    return column->claims != KW_N_ROLES && !column->readable
               ? "no number can be read in it"
               : "not understood";
}

enum kw_status kw_column_left_out(const struct kw_column *column,
                                  bool warm,
                                  size_t heading_line,
                                  struct kw_notices *notices,
                                  struct kw_error *error)
{
    struct kw_text text = {0};
    kw_text_add(&text, "column '");
    kw_text_add_visible(&text, column->heading);
    kw_text_add(&text, "' is left out: ");
    kw_text_add(&text, why_left_out(column));
    if (warm) {
        kw_text_add(&text, ". If it is the exhaust: --column egt=\"");
        kw_text_add_visible(&text, column->heading);
        kw_text_add(&text, "\"");
    }
    return kw_notices_tell(notices, heading_line, &text, error);
}

static bool has_egt(const struct kw_columns *columns)
{
    for (size_t i = 0; i < columns->n; i++) {
        if (columns->items[i].role == KW_ROLE_EGT)
            return true;
    }
    return false;
}

/* A blank heading is no column worth naming: it comes of a delimiter at the end
 * of the line. */
enum kw_status kw_columns_notices(const struct kw_columns *columns,
                                  size_t heading_line,
                                  struct kw_notices *notices,
                                  struct kw_error *error)
{
    for (size_t i = 0; i < columns->n; i++) {
        const struct kw_column *column = &columns->items[i];
        if (column->role != KW_N_ROLES || column->heading[0] == '\0' ||
            column->date)
            continue;
        /* The number of a row rises as high as any temperature. */
        const bool warm = column->why[0] == '\0' && !column->counts &&
                          kw_is_warm(column->highest) && !has_egt(columns);
        const enum kw_status status =
            kw_column_left_out(column, warm, heading_line, notices, error);
        if (status != KW_OK)
            return status;
    }
    return KW_OK;
}
