/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Following each setting of a good day through the sessions after it. A session
 * whose setup does not name a setting was driven with what it had: people write
 * down what they change. */
#include "cli/since_day.h"

#include "cli/setup_change.h"

#include "core/array.h"
#include "core/local_time.h"

#include <stdlib.h>

/* The setup of one session; owned. */
struct noted {
    double at_s;
    char *setup;
};

/* In the order of time. */
struct noted_list {
    struct noted *items;
    size_t n;
};

/* Behind the good day and up to the session in question. What was filed later
 * says nothing of how that one was driven. */
static bool is_between(const struct kw_entry *entry,
                       const struct book_day *day,
                       const struct kw_entry *last)
{
    return entry->kind == KW_ENTRY_SESSION && entry->at_s > day->entry->at_s &&
           (last == NULL || entry->at_s <= last->at_s) &&
           kw_same_kart(entry->kart, day->entry->kart);
}

/* Setups that are NULL are passed over: nothing was written down that day. */
static enum kw_status read_setups(const struct from_book *from,
                                  const struct book_day *day,
                                  const struct kw_entry *last,
                                  struct noted_list *out,
                                  struct kw_error *error)
{
    enum kw_status status = KW_OK;
    out->items = kw_array_new(from->entries.n, sizeof *out->items, error);
    if (out->items == NULL)
        return KW_NO_MEMORY;
    for (size_t i = 0; i < from->entries.n && status == KW_OK; i++) {
        const struct kw_entry *entry = &from->entries.items[i];
        struct kw_session_facts facts = {0};
        if (!is_between(entry, day, last))
            continue;
        status = kw_logbook_session(from->book, entry->id, &facts, error);
        if (status == KW_OK && facts.setup != NULL) {
            out->items[out->n++] = (struct noted){entry->at_s, facts.setup};
            facts.setup = NULL;
        }
        kw_session_facts_free(&facts);
    }
    return status;
}

/* "main_jet" as people say it. */
static void add_name(struct kw_text *text, const struct setting *setting)
{
    for (size_t i = 0; i < setting->name_length; i++)
        kw_text_addf(text, "%c",
                     setting->word[i] == '_' ? ' ' : setting->word[i]);
}

/* The date is that of the session in which it was first noted; on which evening
 * it was done, nobody wrote down. */
static void add_change(struct kw_text *text,
                       const struct setting *then,
                       const struct setting *now,
                       double noted_s)
{
    char date[KW_LOCAL_TIME_SIZE];
    const bool first = text->length == 0;
    kw_text_add(text, first ? "the " : ", the ");
    add_name(text, then);
    kw_text_add(text, first ? " was changed from " : " from ");
    kw_text_add_bytes(text, then->value, then->value_length);
    kw_text_add(text, " to ");
    kw_text_add_bytes(text, now->value, now->value_length);
    kw_text_addf(text, " (noted %s)",
                 kw_local_time_print(date, noted_s, false));
}

/* The last value counts, with the day on which it was first written down. */
static void follow_setting(struct kw_text *text,
                           const struct setting *then,
                           const struct noted_list *setups)
{
    struct setting now = *then;
    double noted_s = 0.0;
    for (size_t i = 0; i < setups->n; i++) {
        const struct setting found = find_setting(setups->items[i].setup, then);
        if (found.word == NULL || has_same_value(&found, &now))
            continue;
        now = found;
        noted_s = setups->items[i].at_s;
    }
    if (!has_same_value(&now, then))
        add_change(text, then, &now, noted_s);
}

enum kw_status add_changes_since(struct kw_text *text,
                                 const struct from_book *from,
                                 const struct book_day *day,
                                 const struct kw_entry *last,
                                 struct kw_error *error)
{
    struct noted_list setups = {0};
    if (day->facts.setup == NULL)
        return KW_OK;
    const enum kw_status status = read_setups(from, day, last, &setups, error);
    if (status == KW_OK) {
        for (struct setting then = setting_at(day->facts.setup);
             then.word != NULL; then = next_setting(&then))
            follow_setting(text, &then, &setups);
    }
    for (size_t i = 0; i < setups.n; i++)
        free(setups.items[i].setup);
    free(setups.items);
    return status;
}
