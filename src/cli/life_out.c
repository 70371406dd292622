/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A starter value must never pass for the maker's, nor for the owner's. */
#include "cli/life_out.h"
#include "cli/book_words.h"

#include <math.h>

const char *life_source_words(enum kw_life_source source)
{
    return source == KW_LIFE_NONE   ? NULL
           : source == KW_LIFE_LIST ? "common practice"
                                    : "your figure";
}

const char *life_source_name(enum kw_life_source source)
{
    return source == KW_LIFE_NONE   ? NULL
           : source == KW_LIFE_LIST ? "common_practice"
                                    : "yours";
}

void add_life(struct kw_text *text, double life_h, double life_days)
{
    if (isfinite(life_h)) {
        /* A life of minutes needs more digits. */
        kw_text_add_number(text, life_h, life_h < 1.0 ? 2 : 1);
        kw_text_add(text, " h");
    }
    if (isfinite(life_days)) {
        kw_text_add(text, isfinite(life_h) ? ", " : "");
        kw_text_add_number(text, life_days, 0);
        kw_text_add(text, " days");
    }
}

/* "  clutch lining            6.5 h, your figure (entry 12)" */
static void add_row(struct kw_text *text, const struct kw_life *life)
{
    struct kw_text name = {0};
    add_short(&name, life->part, 24);
    kw_text_addf(text, "  %-24s ", kw_text_failed(&name) ? "" : name.bytes);
    text->failed = text->failed || kw_text_failed(&name);
    kw_text_free(&name);
    add_life(text, life->life_h, life->life_days);
    if (life->id != 0)
        kw_text_addf(text, ", your figure (entry %lld)", (long long)life->id);
    kw_text_add(text, "\n");
}

/* In the list's own order, which goes from the engine outwards. */
void add_lives(struct kw_text *text, const struct kw_lives *lives)
{
    kw_text_add(text, "How long parts last. Common practice with no source, "
                      "where no figure of yours\nstands. Set what the maker's "
                      "sheet says:\n"
                      "  kartwright logbook life PART --hours H\n\n");
    for (size_t i = 0; i < lives->n; i++)
        add_row(text, &lives->items[i]);
}

/* The starter value beside the owner's own: a slip of a digit shows. */
void add_one_life(struct kw_text *text,
                  const char *part,
                  const struct kw_life *life)
{
    add_short(text, life != NULL ? life->part : part, 54);
    if (life == NULL) {
        kw_text_add(text, ": no life is set, so its hours are counted but it "
                          "is never due.\nGive it one with --hours H or --days "
                          "D; 'kartwright logbook life' lists the\nparts that "
                          "have one.\n");
        return;
    }
    kw_text_add(text, ": ");
    add_life(text, life->life_h, life->life_days);
    if (life->id == 0) {
        kw_text_add(text, ", common practice.\nThe maker's sheet comes first: "
                          "set its figure with --hours H or --days D.\n");
        return;
    }
    kw_text_addf(text, ", your figure (entry %lld).\n", (long long)life->id);
    if (isfinite(life->usual_h) || isfinite(life->usual_days)) {
        kw_text_add(text, "Common practice: ");
        add_life(text, life->usual_h, life->usual_days);
        kw_text_add(text, ".\n");
    }
}
