/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Reading the last good day out of the book, so that nothing is typed twice. */
#include "cli/known_good.h"

#include "cli/book_words.h"
#include "core/number.h"
#include "core/text.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* Reads "key=12.5" out of a setup such as "main_jet=142 gearing=11/78"; NAN
 * when it is not there. What stands behind `mark` is read where a mark is
 * given. */
static double number_in(const char *setup, const char *key, char mark)
{
    const size_t length = strlen(key);
    for (const char *word = setup; *word != '\0';) {
        const size_t n = strcspn(word, " ,;");
        const char *value = word + length + 1;
        double number = NAN;
        if (n > length + 1 && strncmp(word, key, length) == 0 &&
            word[length] == '=') {
            const char *end = word + n;
            const char *slash = memchr(value, '/', (size_t)(end - value));
            if (mark == '/' && slash != NULL)
                value = slash + 1;
            else if (slash != NULL)
                end = slash;
            if (kw_number_parse(value, (size_t)(end - value), '.', &number))
                return number;
        }
        word += n;
        word += strspn(word, " ,;");
    }
    return NAN;
}

/* A day counts when its review found nothing: a jet that ran lean is no model.
 */
static enum kw_status is_good_day(struct kw_logbook *book,
                                  int64_t id,
                                  bool *good,
                                  struct kw_error *error)
{
    struct kw_entries findings;
    const enum kw_status status =
        kw_logbook_findings(book, id, &findings, error);
    *good = status == KW_OK && findings.n == 0;
    if (status == KW_OK)
        kw_entries_free(&findings);
    return status;
}

static void take_facts(const struct kw_session_facts *facts,
                       struct known_good *out)
{
    const char *setup = facts->setup != NULL ? facts->setup : "";
    out->air = facts->air;
    out->main_jet = number_in(setup, "main_jet", '\0');
    out->engine_teeth = number_in(setup, "gearing", '\0');
    out->axle_teeth = number_in(setup, "gearing", '/');
    /* Without a slash the number is a ratio and names no teeth. */
    if (strchr(setup, '/') == NULL)
        out->engine_teeth = out->axle_teeth = NAN;
    if (!isnan(out->air.temp_c) || !isnan(out->main_jet) ||
        !isnan(out->engine_teeth))
        kw_text_copy(out->log_name, sizeof out->log_name, facts->log_name);
}

static enum kw_status look_at(struct kw_logbook *book,
                              int64_t id,
                              struct known_good *out,
                              struct kw_error *error)
{
    bool good = false;
    enum kw_status status = is_good_day(book, id, &good, error);
    if (status != KW_OK || !good)
        return status;
    struct kw_session_facts facts;
    status = kw_logbook_session(book, id, &facts, error);
    if (status == KW_OK) {
        take_facts(&facts, out);
        kw_session_facts_free(&facts);
    }
    return status;
}

enum kw_status read_known_good(const char *book,
                               struct known_good *out,
                               struct kw_error *error)
{
    *out = (struct known_good){.air = {NAN, NAN, NAN},
                               .main_jet = NAN,
                               .engine_teeth = NAN,
                               .axle_teeth = NAN};
    const bool usual = book[0] == '\0' || strcmp(book, "-") == 0;
    char *path = book_path(usual ? NULL : book, false, error);
    if (path == NULL)
        return error->status;
    struct kw_logbook *opened = NULL;
    struct kw_entries entries = {0};
    enum kw_status status =
        kw_logbook_open(path, KW_LOGBOOK_READ, &opened, error);
    if (status == KW_OK)
        status = kw_logbook_entries(opened, &entries, error);
    /* Entries rise by date: the newest stands last. */
    for (size_t i = entries.n;
         status == KW_OK && i > 0 && out->log_name[0] == '\0'; i--) {
        if (entries.items[i - 1].kind == KW_ENTRY_SESSION)
            status = look_at(opened, entries.items[i - 1].id, out, error);
    }
    kw_entries_free(&entries);
    kw_logbook_close(opened);
    free(path);
    return status;
}
