/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A writer for JSON (RFC 8259): commas, indents, escapes and nulls.
 *
 *     struct kw_json json = {.out = &text};
 *     kw_json_open(&json, NULL, KW_JSON_OBJECT);
 *     kw_json_string(&json, "format", "kartwright-review");
 *     kw_json_open(&json, "items", KW_JSON_LIST);
 *     kw_json_open(&json, NULL, KW_JSON_ROW);         an object on one line
 *     kw_json_number(&json, "start_s", 12.5, 3);
 *     kw_json_close(&json);
 *     kw_json_close(&json);
 *     kw_json_close(&json);
 *
 * A key is NULL inside a list. Want of memory shows in kw_text_failed(out).
 */
#ifndef KARTWRIGHT_CORE_JSON_H
#define KARTWRIGHT_CORE_JSON_H

#include "text.h"

/* Deepest nesting that a writer keeps track of. */
enum { KW_JSON_DEPTH = 16 };

/* ROW is an object that is written on one line, with all that is in it. */
enum kw_json_kind { KW_JSON_OBJECT, KW_JSON_LIST, KW_JSON_ROW };

/* out     where the text goes, not owned.
 * depth   brackets that are open; kinds[depth] and n_in[depth] describe each.
 */
struct kw_json {
    struct kw_text *out;
    size_t depth;
    enum kw_json_kind kinds[KW_JSON_DEPTH];
    size_t n_in[KW_JSON_DEPTH];
};

void kw_json_open(struct kw_json *json,
                  const char *key,
                  enum kw_json_kind kind);

/* Closes what was opened last; the outermost one ends with a line feed. */
void kw_json_close(struct kw_json *json);

/* NULL gives null. Untrusted text is escaped here. */
void kw_json_string(struct kw_json *json, const char *key, const char *value);

/* NAN and infinities give null. */
void kw_json_number(struct kw_json *json,
                    const char *key,
                    double value,
                    int decimals);
void kw_json_count(struct kw_json *json, const char *key, size_t value);
void kw_json_null(struct kw_json *json, const char *key);
void kw_json_bool(struct kw_json *json, const char *key, bool value);

#endif
