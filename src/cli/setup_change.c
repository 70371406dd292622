/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What was changed between two setups of the logbook, word by word: a setup is
 * what its owner wrote, and any name counts. */
#include "cli/setup_change.h"

#include <string.h>

static const char separators[] = " \t,;";

/* Blanks, commas and semicolons part settings, as people write them. */
struct setting setting_at(const char *setup)
{
    const char *word = setup + strspn(setup, separators);
    const size_t length = strcspn(word, separators);
    const char *equals = memchr(word, '=', length);
    const size_t name_length =
        equals != NULL ? (size_t)(equals - word) : length;
    const char *value = equals != NULL ? equals + 1 : word + length;
    return (struct setting){*word != '\0' ? word : NULL, name_length, value,
                            (size_t)(word + length - value)};
}

struct setting next_setting(const struct setting *setting)
{
    return setting_at(setting->value + setting->value_length);
}

struct setting find_setting(const char *setup, const struct setting *like)
{
    struct setting found = setting_at(setup);
    while (found.word != NULL &&
           (found.name_length != like->name_length ||
            memcmp(found.word, like->word, like->name_length) != 0))
        found = next_setting(&found);
    return found;
}

bool has_same_value(const struct setting *a, const struct setting *b)
{
    return a->word != NULL && b->word != NULL &&
           a->value_length == b->value_length &&
           memcmp(a->value, b->value, a->value_length) == 0;
}

/* A setting that was not written down that day may have been any: it is said,
 * and not guessed. */
static void add_value(struct kw_text *text, const struct setting *setting)
{
    if (setting->word == NULL)
        kw_text_add(text, "not noted");
    else
        kw_text_add_bytes(text, setting->value, setting->value_length);
}

static void add_change(struct kw_text *text,
                       const struct setting *name,
                       const struct setting *before,
                       const struct setting *after)
{
    if (text->length > 0)
        kw_text_add(text, "; ");
    kw_text_add_bytes(text, name->word, name->name_length);
    kw_text_add(text, " ");
    add_value(text, before);
    kw_text_add(text, ", then ");
    add_value(text, after);
}

/* First those of the day before in the order in which they were written, then
 * those that are new. */
size_t add_setup_changes(struct kw_text *text,
                         const char *before,
                         const char *after)
{
    size_t n = 0;
    for (struct setting old = setting_at(before); old.word != NULL;
         old = next_setting(&old)) {
        const struct setting new = find_setting(after, &old);
        if (has_same_value(&old, &new))
            continue;
        add_change(text, &old, &old, &new);
        n++;
    }
    for (struct setting new = setting_at(after); new.word != NULL;
         new = next_setting(&new)) {
        const struct setting old = find_setting(before, &new);
        if (old.word != NULL)
            continue;
        add_change(text, &new, &old, &new);
        n++;
    }
    return n;
}
