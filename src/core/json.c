/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A writer for JSON that keeps track of commas and indents.
 *
 * The writer knows where commas and line feeds belong, so that its callers
 * read like the document they write. */
#include "json.h"

#include "escape.h"

#include <assert.h>
#include <math.h>

/* A row, and all that is inside one, stays on its line. */
static bool on_one_line(const struct kw_json *json)
{
    for (size_t i = 0; i < json->depth; i++) {
        if (json->kinds[i] == KW_JSON_ROW)
            return true;
    }
    return false;
}

/* Two blanks for each bracket that is open. */
static void start_line(struct kw_json *json)
{
    kw_text_add(json->out, "\n");
    for (size_t i = 0; i < json->depth; i++)
        kw_text_add(json->out, "  ");
}

/* What goes before every value: comma, line, key. */
static void start_value(struct kw_json *json, const char *key)
{
    /* The outermost value has no key, comma or line of its own. */
    if (json->depth > 0) {
        const size_t before = json->n_in[json->depth - 1]++;
        if (before > 0)
            kw_text_add(json->out, on_one_line(json) ? ", " : ",");
        if (!on_one_line(json))
            start_line(json);
    }
    if (key != NULL) {
        kw_text_add(json->out, "\"");
        kw_escape_json(json->out, key);
        kw_text_add(json->out, "\": ");
    }
}

/* Nesting is ours alone, so its depth is asserted and not checked. */
void kw_json_open(struct kw_json *json, const char *key, enum kw_json_kind kind)
{
    assert(json->depth < KW_JSON_DEPTH);
    start_value(json, key);
    kw_text_add(json->out, kind == KW_JSON_LIST ? "[" : "{");
    json->kinds[json->depth] = kind;
    json->n_in[json->depth] = 0;
    json->depth++;
}

/* An empty list stays on its line: []. */
void kw_json_close(struct kw_json *json)
{
    assert(json->depth > 0);
    const bool one_line = on_one_line(json);
    json->depth--;
    if (json->n_in[json->depth] > 0 && !one_line)
        start_line(json);
    kw_text_add(json->out,
                json->kinds[json->depth] == KW_JSON_LIST ? "]" : "}");
    if (json->depth == 0)
        kw_text_add(json->out, "\n");
}

/* NULL is null, never "": not known is not empty. */
void kw_json_string(struct kw_json *json, const char *key, const char *value)
{
    if (value == NULL) {
        kw_json_null(json, key);
        return;
    }
    start_value(json, key);
    kw_text_add(json->out, "\"");
    kw_escape_json(json->out, value);
    kw_text_add(json->out, "\"");
}

/* JSON has no NAN and no infinity (RFC 8259, section 6): both are null. */
void kw_json_number(struct kw_json *json,
                    const char *key,
                    double value,
                    int decimals)
{
    if (!isfinite(value)) {
        kw_json_null(json, key);
        return;
    }
    start_value(json, key);
    kw_text_add_number(json->out, value, decimals);
}

/* A count is exact and has no decimals. */
void kw_json_count(struct kw_json *json, const char *key, size_t value)
{
    start_value(json, key);
    kw_text_addf(json->out, "%zu", value);
}

/* Not known. */
void kw_json_null(struct kw_json *json, const char *key)
{
    start_value(json, key);
    kw_text_add(json->out, "null");
}

/* true or false, not 1 or 0. */
void kw_json_bool(struct kw_json *json, const char *key, bool value)
{
    start_value(json, key);
    kw_text_add(json->out, value ? "true" : "false");
}
