/* SPDX-License-Identifier: GPL-3.0-or-later */
/* kartwright review: one log in, one answer out. Reads, reviews, writes what
 * was asked for, and prints last, so that a refusal prints nothing.
 *
 * The order of the work: words, profile, is the folder free, reference, log,
 * review, folder, JSON file, standard output. What can be refused early is
 * refused before the reading, and what is printed is printed when nothing can
 * go wrong any more but the printing itself. */
#include "cli/command.h"
#include "cli/delivery.h"
#include "cli/input.h"
#include "cli/review_book.h"
#include "cli/reviewing.h"

#include "core/text.h"
#include "kartwright/report.h"
#include "kartwright/trackside.h"

#include <stdio.h>
#include <stdlib.h>

/* Of the report's folder: "sunday.csv" gives "sunday-report". */
static const char ENDING[] = "-report";

/* The words of the command, and what they led to. */
struct review_words {
    struct input_words input;
    const char *json;
    const char *out;
    const char *reference;
    const char *book;
    const char *air;
    bool no_report;
    struct words logs;
};

/* What comes out of it.
 *
 * notices  beside those of the log: what came from the logbook, missing plots.
 * title    of the page: the kart's name, NULL for none.
 * folder   where the report lies, NULL where none was written. */
struct answer {
    struct kw_review review;
    struct kw_notices notices;
    char *title;
    char *folder;
};

static const char summary[] =
    "Reads one log and says whether the engine is safe to run again, what "
    "went\n"
    "wrong where, and what to look at first. Writes a folder with a page and\n"
    "plots, LOG-report in the current folder unless --out names another.";

static const char examples[] =
    "  kartwright review sunday.csv\n"
    "  kartwright review --kart number7.ini --out sunday sunday.csv\n"
    "  kartwright review --json - --no-report sunday.csv\n"
    "  kartwright review sunday.csv --book\n"
    "  kartwright review --column \"rpm=Engine speed\" --rate 20 sunday.csv\n";

/* The table is both the parser and the help. */
static enum parsed read_words(int argc, char **argv, struct review_words *words)
{
    const struct option options[] = {
        {"--kart", OPTION_TEXT, &words->input.kart, "PROFILE", false,
         "the kart's profile, an INI file"},
        {"--json", OPTION_TEXT, &words->json, "FILE", false,
         "write JSON there; - prints it, and nothing else"},
        {"--out", OPTION_TEXT, &words->out, "FOLDER", false,
         "report goes there: new, empty or an earlier report"},
        {"--no-report", OPTION_FLAG, &words->no_report, NULL, false,
         "write no report folder"},
        {"--reference", OPTION_TEXT, &words->reference, "LOG.csv", false,
         "a good session of the same kart to compare with"},
        {"--book", OPTION_MAYBE, &words->book, "[FILE]", false,
         "kart, setup, air and reference from the logbook"},
        {"--air", OPTION_TEXT, &words->air, "AIR", false,
         "today's air, with --book: \"T=21 P=1012 RH=45\""},
        {"--column", OPTION_LIST, &words->input.columns, "ROLE=HEADING", false,
         "which column holds what; may be given again"},
        {"--rate", OPTION_ABOVE_0, &words->input.rate_hz, "HZ", false,
         "samples each second, for a log without time"}};
    const struct command_words command = {
        "review [OPTIONS] LOG.csv", summary, options,
        sizeof options / sizeof options[0], examples};
    return parse_words(&command, argc, argv, &words->logs);
}

/* ---- where the report goes ----------------------------------------------- */

/* The folder that the person asked for, or one named after the log. */
static enum kw_status write_report(struct answer *answer,
                                   const struct review_words *words,
                                   struct kw_error *error)
{
    const struct kw_folder_options options = {.title = answer->title};
    char *folder =
        report_folder(words->out, answer->review.log.path, ENDING, error);
    if (folder == NULL)
        return KW_NO_MEMORY;
    const enum kw_status status = kw_review_write_folder(
        &answer->review, folder, &options, &answer->notices, error);
    if (status == KW_OK) {
        answer->folder = folder;
        return KW_OK;
    }
    free(folder);
    return note_no_folder(words->out, &answer->notices, error);
}

/* ---- printing ------------------------------------------------------------ */

/* The last line says where the report lies: it is what is still on the screen.
 */
static enum kw_status print_text(const struct answer *answer,
                                 struct kw_error *error)
{
    const struct kw_text_options options = {.colour = wants_colour()};
    char *text = NULL;
    if (kw_review_to_text(&answer->review, &answer->notices, &options, &text,
                          error) != KW_OK)
        return KW_NO_MEMORY;
    fputs(text, stdout);
    free(text);
    return print_where(answer->folder, error);
}

/* JSON to its file or to standard output; then the text, unless standard output
 * is the JSON's. */
static enum kw_status deliver(const struct answer *answer,
                              const struct review_words *words,
                              struct kw_error *error)
{
    char *json = NULL;
    enum kw_status status = KW_OK;
    if (words->json != NULL)
        status =
            kw_review_to_json(&answer->review, &answer->notices, &json, error);
    if (status == KW_OK)
        status = write_json(json, words->json, error);
    if (status == KW_OK && !is_standard_output(words->json))
        status = print_text(answer, error);
    free(json);
    return status;
}

/* ---- the work ------------------------------------------------------------ */

/* Reads what the log is reviewed with, from the words or from the logbook, and
 * reviews it. */
static enum kw_status make_review(struct answer *answer,
                                  const struct review_words *words,
                                  struct kw_error *error)
{
    const struct review_wanted wanted = {words->book, words->logs.items[0],
                                         &words->input, words->reference,
                                         words->air};
    struct review_sources sources;
    enum kw_status status = review_sources_open(&wanted, &sources, error);
    if (status == KW_OK && words->reference != NULL) {
        status = read_reference(&sources.input, words->reference,
                                &sources.reference, error);
        sources.has_reference = status == KW_OK;
    }
    const struct kw_review_options against = {
        .reference = sources.has_reference ? &sources.reference : NULL,
        .reference_is_unproven = sources.from_book,
        .since_reference = sources.since_reference};
    if (status == KW_OK)
        status = review_named_log(&sources.input, words->logs.items[0],
                                  &against, &answer->review, error);
    /* Moved: both outlive what they were read from. */
    answer->notices = sources.notices;
    sources.notices = (struct kw_notices){0};
    answer->title = sources.input.profile.name;
    sources.input.profile.name = NULL;
    review_sources_free(&sources);
    return status;
}

/* Everything is freed on one way out, whatever went wrong before. */
static enum kw_status run(const struct review_words *words,
                          struct kw_error *error)
{
    const struct places places = {words->json, words->out, words->logs.items[0],
                                  ENDING, words->no_report};
    struct answer answer = {0};
    enum kw_status status = check_places(&places, error);
    if (status == KW_OK)
        status = make_review(&answer, words, error);
    if (status == KW_OK)
        status = note_unused_out(&places, &answer.notices, error);
    if (status == KW_OK && !words->no_report)
        status = write_report(&answer, words, error);
    if (status == KW_OK)
        status = deliver(&answer, words, error);
    free(answer.folder);
    free(answer.title);
    kw_notices_free(&answer.notices);
    kw_review_free(&answer.review);
    return status;
}

static enum kw_status check_words(const struct review_words *words,
                                  struct kw_error *error)
{
    struct kw_air air;
    /* "--book sunday.csv" has taken the log for the book. */
    if (words->logs.n != 1)
        return kw_fail(error, KW_BAD_USAGE, NULL, 0,
                       words->logs.n == 0 ? "no log was named"
                                          : "review takes one log at a time",
                       words->logs.n == 0 && words->book != NULL
                           ? "write the log before --book"
                           : "see 'kartwright review --help'");
    if (words->air != NULL && words->book == NULL)
        return kw_fail(error, KW_BAD_USAGE, NULL, 0, "--air needs --book",
                       "the air is held against that of the logbook");
    return words->air == NULL ? KW_OK : kw_air_parse(words->air, &air, error);
}

/* Words first: wrong ones cost no work. */
int cmd_review(int argc, char **argv)
{
    struct review_words words = {0};
    struct kw_error error = {0};
    enum kw_status status = KW_OK;
    const enum parsed parsed = read_words(argc, argv, &words);
    if (parsed == PARSED)
        status = check_words(&words, &error);
    if (parsed == PARSED && status == KW_OK)
        status = run(&words, &error);
    words_free(&words.input.columns);
    words_free(&words.logs);
    return exit_status(parsed, status, &error);
}
