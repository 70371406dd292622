/* SPDX-License-Identifier: GPL-3.0-or-later */
/* kartwright logbook due: what to do before the next race. */
#include "cli/cmd_logbook.h"
#include "cli/life_out.h"
#include "cli/read_command.h"
#include "cli/round_out.h"

#include "core/json.h"
#include "kartwright/upkeep.h"

/* Everything that is due: items with numbers, and the round of checks. */
struct due_list {
    struct kw_dues dues;
    struct kw_rounds rounds;
};

/* As the contract writes them. */
static const char *urgency_name(enum kw_urgency urgency)
{
    return urgency == KW_BEFORE_NEXT_RUN    ? "before_next_run"
           : urgency == KW_BEFORE_NEXT_RACE ? "before_next_race"
                                            : "watch";
}

/* As a person asks: may it run, may it race, what to watch. */
static const char *urgency_heading(enum kw_urgency urgency)
{
    return urgency == KW_BEFORE_NEXT_RUN    ? "Before the engine runs again"
           : urgency == KW_BEFORE_NEXT_RACE ? "Before the next race"
                                            : "To keep an eye on";
}

/* The order is the library's: most pressing first, the same in text and
 * JSON. */
static void write_json(struct kw_text *text,
                       const struct read_words *words,
                       const struct due_list *list)
{
    const struct kw_dues *dues = &list->dues;
    struct kw_json json = {.out = text};
    kw_json_open(&json, NULL, KW_JSON_OBJECT);
    kw_json_open(&json, "items", KW_JSON_LIST);
    for (size_t i = 0; i < dues->n; i++) {
        const struct kw_due *due = &dues->items[i];
        /* The shopping list leaves out what needs only looking at. */
        if (words->to_buy && !due->to_buy)
            continue;
        kw_json_open(&json, NULL, KW_JSON_OBJECT);
        kw_json_string(&json, "what", due->what);
        kw_json_string(&json, "why", due->why);
        kw_json_string(&json, "urgency", urgency_name(due->urgency));
        kw_json_string(&json, "source", kw_due_source_name(due->source));
        /* Ids begin at 1 and rise: they fit. */
        kw_json_count(&json, "id", (size_t)due->id);
        kw_json_string(&json, "clears", due->clears);
        kw_json_bool(&json, "to_buy", due->to_buy);
        kw_json_string(&json, "life_from", life_source_name(due->life_from));
        kw_json_string(&json, "kart", due->kart);
        kw_json_close(&json);
    }
    kw_json_close(&json);
    /* Beside the items, whose sources the contract names. */
    kw_json_open(&json, "checks", KW_JSON_LIST);
    for (size_t i = 0; i < list->rounds.n && !words->to_buy; i++)
        add_round_json(&json, &list->rounds.items[i], true);
    kw_json_close(&json);
    kw_json_close(&json);
}

/* Only where it can be told apart: one kart needs no name on each line. */
static void add_kart(struct kw_text *text, const struct kw_due *due)
{
    if (due->kart == NULL)
        return;
    kw_text_add(text, " [");
    add_short(text, due->kart, 24);
    kw_text_add(text, "]");
}

/* "7.6 of 8.0 h (your figure)" */
static void add_life_source(struct kw_text *text, const struct kw_due *due)
{
    if (due->life_from != KW_LIFE_NONE)
        kw_text_addf(text, " (%s)", life_source_words(due->life_from));
}

/* What, why, and what clears it: a list that does not say how to get shorter is
 * soon not read. */
static void write_item(struct kw_text *text, const struct kw_due *due)
{
    kw_text_addf(text, "%4lld  ", (long long)due->id);
    add_wrapped(text, due->what, 6);
    add_kart(text, due);
    kw_text_add(text, "\n      ");
    add_wrapped(text, due->why, 6);
    add_life_source(text, due);
    kw_text_add(text, "\n      -> ");
    add_wrapped(text, due->clears, 9);
    kw_text_add(text, "\n");
}

/* A heading where the urgency changes: the list comes sorted by it.
 *
 * pressing  those before the next run or race, or those to keep an eye on. */
static void write_items(struct kw_text *text,
                        const struct kw_dues *dues,
                        bool pressing)
{
    const struct kw_due *last = NULL;
    for (size_t i = 0; i < dues->n; i++) {
        const struct kw_due *due = &dues->items[i];
        if ((due->urgency != KW_WATCH) != pressing || due->looks_at != NULL)
            continue;
        if (last == NULL || due->urgency != last->urgency)
            kw_text_addf(text, "%s%s:\n", text->length == 0 ? "" : "\n",
                         urgency_heading(due->urgency));
        write_item(text, due);
        last = due;
    }
}

/* "   1  clutch lining [Number 7]: fitted on 2026-06-13, 3 sessions since" */
static void write_second_look(struct kw_text *text, const struct kw_due *due)
{
    struct kw_text line = {0};
    kw_text_add(&line, due->looks_at);
    add_kart(&line, due);
    kw_text_addf(&line, ": %s", due->why);
    kw_text_addf(text, "%4lld  ", (long long)due->id);
    if (kw_text_failed(&line))
        text->failed = true;
    else
        add_wrapped(text, line.bytes, 6);
    kw_text_add(text, "\n");
    kw_text_free(&line);
}

/* Reason and remedy are the same for all but for the number, and told once:
 * after an evening's work there are many. */
static void write_second_looks(struct kw_text *text, const struct kw_dues *dues)
{
    const struct kw_due *first = NULL;
    size_t n = 0;
    for (size_t i = 0; i < dues->n; i++) {
        const struct kw_due *due = &dues->items[i];
        if (due->looks_at == NULL)
            continue;
        if (n++ == 0)
            kw_text_addf(text,
                         "%sA second look before the next race (what was taken "
                         "apart settles):\n",
                         text->length == 0 ? "" : "\n");
        first = first == NULL ? due : first;
        write_second_look(text, due);
    }
    if (first == NULL)
        return;
    kw_text_add(text, "      -> ");
    add_wrapped(text, first->clears, 9);
    if (n > 1)
        add_wrapped(text, "; close each by its own number", 9);
    kw_text_add(text, "\n");
}

/* The round belongs before the next race, what is only watched comes last. */
static void write_rounds(struct kw_text *text, const struct kw_rounds *rounds)
{
    for (size_t i = 0; i < rounds->n; i++) {
        struct kw_text round = {0};
        add_open_round(&round, &rounds->items[i]);
        if (kw_text_failed(&round))
            text->failed = true;
        else if (round.length > 0)
            kw_text_addf(text, "%s%s", text->length == 0 ? "" : "\n",
                         round.bytes);
        kw_text_free(&round);
    }
}

/* What to ask for over the counter; a make-do's own words name what is in its
 * place now, not what to buy. */
static void write_shopping(struct kw_text *text, const struct kw_dues *dues)
{
    for (size_t i = 0; i < dues->n; i++) {
        const struct kw_due *due = &dues->items[i];
        if (!due->to_buy)
            continue;
        kw_text_add(text, text->length == 0 ? "To buy:\n  [ ] " : "  [ ] ");
        if (due->source == KW_DUE_WATCH)
            kw_text_add(text, "the proper part for: ");
        add_wrapped(text, due->what, 6);
        add_kart(text, due);
        kw_text_add(text, "\n      ");
        add_wrapped(text, due->why, 6);
        add_life_source(text, due);
        kw_text_add(text, "\n");
    }
    kw_text_add(text,
                text->length == 0
                    ? "Nothing to buy.\n"
                    : "\nSizes and part numbers are on the maker's sheet; "
                      "the class rules say what may be\nfitted.\n");
}

static void write_text(struct kw_text *text, const struct due_list *list)
{
    write_items(text, &list->dues, true);
    write_second_looks(text, &list->dues);
    write_rounds(text, &list->rounds);
    write_items(text, &list->dues, false);
    if (text->length == 0)
        kw_text_add(text, "Nothing is due.\n");
    else
        kw_text_add(text,
                    /* On every list with work in it: the person reads this and
                     * goes to the garage. */
                    "\nEngine off and cold, no fuel near heat or sparks. The "
                    "maker's sheet and your\nclass rules come first.\n");
}

/* The list and the round are read together, so that both are of one moment. */
static enum kw_status show_due(struct book_job *job,
                               const struct read_words *words,
                               struct kw_error *error)
{
    struct due_list list = {0};
    struct kw_text text = {0};
    /* "Today" is an argument: --date shows what will be due on a race day to
     * come. */
    enum kw_status status =
        kw_logbook_due(job->book, job->entry.at_s, &list.dues, error);
    if (status == KW_OK)
        status = kw_logbook_rounds(job->book, &list.rounds, error);
    if (status == KW_OK && words->json != NULL) {
        write_json(&text, words, &list);
        status = deliver_json(&text, words->json, error);
    } else if (status == KW_OK) {
        if (words->to_buy)
            write_shopping(&text, &list.dues);
        else
            write_text(&text, &list);
        status = print_text_once(&text, error);
    }
    kw_text_free(&text);
    kw_dues_free(&list.dues);
    kw_rounds_free(&list.rounds);
    return status;
}

int logbook_due(int argc, char **argv)
{
    struct read_words words = {0};
    const struct option options[] = {
        {"--to-buy", OPTION_FLAG, &words.to_buy, NULL, false,
         "only what asks for a new part: a shopping list"},
        option_date(&words.book,
                    "as on that day, for lives in days; default now"),
        option_json(&words.json),
        option_book(&words.book)};
    const struct read_command command = {
        {"logbook due [OPTIONS]",
         "What to do before the next race, most pressing first: open findings, "
         "watch\nitems, second looks at what was taken apart, parts near or "
         "past their life, and\nthe round of checks after the last race day. "
         "Says why, and what clears it.",
         options, sizeof options / sizeof options[0],
         "  kartwright logbook due\n"
         "  kartwright logbook due --to-buy\n"},
        NULL,
        show_due};
    return run_read_command(&command, &words, argc, argv);
}
