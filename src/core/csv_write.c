/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Writing CSV (RFC 4180) for a spreadsheet.
 *
 * Two dangers: a comma or line end inside a text, which quotes cure; and a text
 * that begins like a formula, which a spreadsheet would run, and for which an
 * apostrophe in front is the usual cure. */
#include "csv_write.h"

#include <string.h>

/* What starts a formula: = + - @, and the wide forms that spreadsheets in East
 * Asia take for them (common practice, no source). Blanks before it do not make
 * it harmless everywhere. */
static bool starts_formula(const char *text)
{
    size_t used = 1;
    text += strspn(text, " \t\r\n");
    switch (kw_utf8_next(text, strlen(text), &used)) {
    case '=':
    case '+':
    case '-':
    case '@':
    case 0xFF1D:
    case 0xFF0B:
    case 0xFF0D:
    case 0xFF20:
        return true;
    default:
        return false;
    }
}

/* Line ends and tabs belong to a note; other controls would upset a reader. */
static bool is_kept(uint32_t code_point)
{
    return code_point == '\n' || code_point == '\r' || code_point == '\t' ||
           !kw_is_control(code_point);
}

/* The inside of a quoted cell. */
static void add_inside(struct kw_text *out, const char *text)
{
    size_t used = 1;
    for (size_t left = strlen(text); left > 0; text += used, left -= used) {
        const uint32_t code_point = kw_utf8_next(text, left, &used);
        if (!is_kept(code_point) || code_point == 0xFFFD)
            kw_text_add(out, "\xEF\xBF\xBD");
        else if (code_point == '"')
            kw_text_add(out, "\"\"");
        else
            kw_text_add_bytes(out, text, used);
    }
}

/* RFC 4180 quotes what has a comma, a quote or a line end. The apostrophe is
 * for spreadsheets, which run what begins like a formula. */
void kw_csv_text(struct kw_csv *csv, const char *text)
{
    kw_csv_plain(csv, "");
    if (text == NULL || text[0] == '\0')
        return;
    const bool guarded = starts_formula(text) || text[0] == '\'';
    /* Blanks at an end are part of the text: some readers trim bare cells. */
    const bool quoted = strpbrk(text, ",\"\r\n\t") != NULL || text[0] == ' ' ||
                        text[strlen(text) - 1] == ' ';
    kw_text_add(csv->out, quoted ? "\"" : "");
    kw_text_add(csv->out, guarded ? "'" : "");
    add_inside(csv->out, text);
    kw_text_add(csv->out, quoted ? "\"" : "");
}

void kw_csv_plain(struct kw_csv *csv, const char *text)
{
    if (csv->n_here++ > 0)
        kw_text_add(csv->out, ",");
    kw_text_add(csv->out, text);
}

/* CR LF, as the RFC has it. */
void kw_csv_end_row(struct kw_csv *csv)
{
    kw_text_add(csv->out, "\r\n");
    csv->n_here = 0;
}
