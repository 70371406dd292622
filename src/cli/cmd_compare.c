/* SPDX-License-Identifier: GPL-3.0-or-later */
/* kartwright compare: sessions before and after a change, lap for lap. Reviews
 * every log, compares, writes what was asked for, and prints last. */
#include "cli/command.h"
#include "cli/compare_book.h"
#include "cli/delivery.h"
#include "cli/input.h"

#include "core/array.h"
#include "core/notices.h"
#include "core/sha256.h"
#include "core/text.h"
#include "kartwright/report.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

/* Of the report's folder: "sunday.csv" gives "sunday-compare". */
static const char ENDING[] = "-compare";

/* The words of the command; logs and air of each side. */
struct compare_words {
    struct input_words input;
    const char *json;
    const char *out;
    const char *book;
    bool no_report;
    /* In the order of enum kw_side. */
    struct words logs[KW_N_SIDES];
    const char *air[KW_N_SIDES];
    struct words rest;
};

/* One side as it was read.
 *
 * reviews  reviews[n], in the order in which the logs were named. */
struct side {
    struct kw_review *reviews;
    size_t n;
    struct kw_air air;
    struct kw_compare_sessions sessions;
};

/* What comes out of it. */
struct answer {
    struct side sides[KW_N_SIDES];
    struct kw_comparison comparison;
    struct kw_notices notices;
    char *folder;
};

static const char summary[] =
    "Holds the sessions after a change (a jet, a needle, a plug, a clutch "
    "lining)\nagainst those before it, lap for lap, and says what changed, how "
    "surely, and\nwhat these laps cannot tell. Writes a folder with a page and "
    "plots,\nLOG-compare in the current folder unless --out names another.";

static const char examples[] =
    "  kartwright compare --before first.csv --after second.csv\n"
    "  kartwright compare --kart number7.ini --out jet-142 \\\n"
    "      --before s1.csv s2.csv --after s3.csv\n"
    "  kartwright compare --air-before \"T=21 P=1012 RH=45\" \\\n"
    "      --air-after \"T=27 P=1009 RH=40\" --before sat.csv --after "
    "sun.csv\n";

/* The table is both the parser and the help. */
static enum parsed read_words(int argc,
                              char **argv,
                              struct compare_words *words)
{
    const struct option options[] = {
        {"--before", OPTION_LIST, &words->logs[KW_BEFORE], "LOG.csv", true,
         "sessions before the change"},
        {"--after", OPTION_LIST, &words->logs[KW_AFTER], "LOG.csv", true,
         "sessions after it"},
        {"--kart", OPTION_TEXT, &words->input.kart, "PROFILE", false,
         "the kart's profile, an INI file"},
        {"--json", OPTION_TEXT, &words->json, "FILE", false,
         "write JSON there; - prints it, and nothing else"},
        {"--out", OPTION_TEXT, &words->out, "FOLDER", false,
         "report goes there: new, empty or an earlier report"},
        {"--no-report", OPTION_FLAG, &words->no_report, NULL, false,
         "write no report folder"},
        {"--air-before", OPTION_TEXT, &words->air[KW_BEFORE], "AIR", false,
         "air before: \"T=21 P=1012 RH=45\""},
        {"--air-after", OPTION_TEXT, &words->air[KW_AFTER], "AIR", false,
         "air after; P where the kart is, in hPa"},
        {"--book", OPTION_MAYBE, &words->book, "[FILE]", false,
         "air and setup from this logbook, else the usual one"},
        {"--column", OPTION_LIST, &words->input.columns, "ROLE=HEADING", false,
         "which column holds what; may be given again"},
        {"--rate", OPTION_ABOVE_0, &words->input.rate_hz, "HZ", false,
         "samples each second, for a log without time"}};
    const struct command_words command = {
        "compare [OPTIONS] --before LOG.csv ... --after LOG.csv ...", summary,
        options, sizeof options / sizeof options[0], examples};
    return parse_words(&command, argc, argv, &words->rest);
}

/* What the table cannot say. */
static enum kw_status check_words(const struct compare_words *words,
                                  struct kw_error *error)
{
    if (words->rest.n > 0)
        return kw_fail(error, KW_BAD_USAGE, NULL, 0,
                       "a log stands on neither side",
                       "put it behind --before or --after");
    /* One session of each side is enough to run: what it cannot tell, the
     * comparison says. */
    if (words->logs[KW_BEFORE].n == 0 || words->logs[KW_AFTER].n == 0)
        return kw_fail(error, KW_BAD_USAGE, NULL, 0,
                       "compare needs a log on both sides",
                       "see 'kartwright compare --help'");
    return KW_OK;
}

/* ---- reading ------------------------------------------------------------- */

/* What a log holds. Pipes give their bytes once and are not asked. */
struct content {
    bool is_known;
    unsigned char sum[KW_SHA256_BYTES];
};

/* What cannot be read is refused where it is read as a log. */
static struct content content_of(const char *path)
{
    struct content content = {0};
    struct stat about;
    uint64_t n_bytes = 0;
    content.is_known =
        stat(path, &about) == 0 && S_ISREG(about.st_mode) &&
        kw_sha256_file(path, content.sum, &n_bytes, NULL) == KW_OK;
    return content;
}

static bool is_same(const struct content *a, const struct content *b)
{
    return a->is_known && b->is_known &&
           memcmp(a->sum, b->sum, sizeof a->sum) == 0;
}

/* returns  one for each log; NULL when memory is short; the caller frees it
 * with free(). */
static struct content *contents_of(const struct words *logs,
                                   struct kw_error *error)
{
    struct content *contents = kw_array_new(logs->n, sizeof *contents, error);
    for (size_t i = 0; i < logs->n && contents != NULL; i++)
        contents[i] = content_of(logs->items[i]);
    return contents;
}

/* The lap is the unit of evidence: laps that count twice make every interval
 * too narrow. By content, for a log that was copied has another name. The same
 * log on both sides does no harm: it shows no change. */
static enum kw_status check_side(const struct words *logs,
                                 const struct content *contents,
                                 struct kw_error *error)
{
    for (size_t i = 1; i < logs->n; i++) {
        for (size_t k = 0; k < i; k++) {
            if (is_same(&contents[i], &contents[k]))
                return kw_fail(error, KW_BAD_INPUT, logs->items[i], 0,
                               "is the same session again, on the same side",
                               "name each session once");
        }
    }
    return KW_OK;
}

/* Mostly a slip: the other log was meant.
 *
 * contents  of each side's logs. */
static enum kw_status note_both_sides(const struct compare_words *words,
                                      struct content *const *contents,
                                      struct kw_notices *notices,
                                      struct kw_error *error)
{
    const struct words *after = &words->logs[KW_AFTER];
    enum kw_status status = KW_OK;
    for (size_t i = 0; i < words->logs[KW_BEFORE].n; i++) {
        for (size_t k = 0; k < after->n && status == KW_OK; k++) {
            struct kw_text text = {0};
            if (!is_same(&contents[KW_BEFORE][i], &contents[KW_AFTER][k]))
                continue;
            kw_text_add(&text, after->items[k]);
            kw_text_add(&text, " stands on both sides: it can show no change");
            status = kw_notices_tell(notices, 0, &text, error);
        }
    }
    return status;
}

static enum kw_status check_logs(const struct compare_words *words,
                                 struct kw_notices *notices,
                                 struct kw_error *error)
{
    struct content *contents[KW_N_SIDES] = {0};
    enum kw_status status = KW_OK;
    for (int side = 0; side < KW_N_SIDES && status == KW_OK; side++) {
        const struct words *logs = &words->logs[side];
        contents[side] = contents_of(logs, error);
        status = contents[side] == NULL
                     ? KW_NO_MEMORY
                     : check_side(logs, contents[side], error);
    }
    if (status == KW_OK)
        status = note_both_sides(words, contents, notices, error);
    for (int side = 0; side < KW_N_SIDES; side++)
        free(contents[side]);
    return status;
}

/* Each is reviewed in full: a fault in one session (a probe that failed, a cut)
 * must not pass for an effect of the change. */
static enum kw_status review_log(const struct input *input,
                                 const char *path,
                                 struct kw_review *out,
                                 struct kw_error *error)
{
    struct kw_log log;
    enum kw_status status = input_read(input, path, &log, error);
    if (status != KW_OK)
        return status;
    const struct kw_review_options options = {.profile = &input->profile};
    status = kw_review_log(&log, &options, out, error);
    /* A log that reads well and still cannot be used: name it. */
    if (status == KW_BAD_INPUT && error->file[0] == '\0')
        kw_text_copy(error->file, sizeof error->file, path);
    kw_log_free(&log);
    return status;
}

static enum kw_status read_side(const struct input *input,
                                const struct compare_words *words,
                                int which,
                                struct side *side,
                                struct kw_error *error)
{
    const struct words *logs = &words->logs[which];
    enum kw_status status = KW_OK;
    side->reviews = kw_array_new(logs->n, sizeof *side->reviews, error);
    if (side->reviews == NULL)
        return KW_NO_MEMORY;
    /* Counted as they are done, so that a failure frees those and no more. */
    for (size_t i = 0; i < logs->n && status == KW_OK; i++) {
        status = review_log(input, logs->items[i], &side->reviews[i], error);
        side->n += status == KW_OK ? 1U : 0U;
    }
    side->sessions = (struct kw_compare_sessions){side->reviews, side->n, NULL};
    return status;
}

/* Air as it was typed, else as the logbook has it. */
static enum kw_status settle_air(const struct compare_words *words,
                                 struct answer *answer,
                                 struct kw_error *error)
{
    struct book_side known[KW_N_SIDES];
    for (int i = 0; i < KW_N_SIDES; i++)
        known[i] = (struct book_side){&words->logs[i], answer->sides[i].air,
                                      words->air[i] != NULL};
    const enum kw_status status =
        ask_book(words->book, known, &answer->notices, error);
    for (int i = 0; i < KW_N_SIDES; i++) {
        struct side *side = &answer->sides[i];
        side->air = known[i].air;
        side->sessions.air = known[i].has_air ? &side->air : NULL;
    }
    return status;
}

/* Also half-read, after a failure. */
static void side_free(struct side *side)
{
    for (size_t i = 0; i < side->n; i++)
        kw_review_free(&side->reviews[i]);
    free(side->reviews);
}

/* ---- handing over -------------------------------------------------------- */

static struct kw_comparison_source source_of(const struct answer *answer)
{
    return (struct kw_comparison_source){
        &answer->comparison,
        {&answer->sides[KW_BEFORE].sessions, &answer->sides[KW_AFTER].sessions},
        &answer->notices};
}

/* The folder that the person asked for, or one named after the first log after
 * the change.
 *
 * title  of the page, or NULL. */
static enum kw_status write_report(struct answer *answer,
                                   const struct compare_words *words,
                                   const char *title,
                                   struct kw_error *error)
{
    const struct kw_folder_options options = {.title = title};
    const struct kw_comparison_source source = source_of(answer);
    char *folder = report_folder(words->out, words->logs[KW_AFTER].items[0],
                                 ENDING, error);
    if (folder == NULL)
        return KW_NO_MEMORY;
    const enum kw_status status = kw_comparison_write_folder(
        &source, folder, &options, &answer->notices, error);
    if (status == KW_OK) {
        answer->folder = folder;
        return KW_OK;
    }
    free(folder);
    return note_no_folder(words->out, &answer->notices, error);
}

/* JSON to its file or to standard output; then the text, unless standard output
 * is the JSON's. */
static enum kw_status deliver(const struct answer *answer,
                              const struct compare_words *words,
                              struct kw_error *error)
{
    const struct kw_comparison_source source = source_of(answer);
    const struct kw_text_options options = {.colour = wants_colour()};
    char *json = NULL;
    char *text = NULL;
    enum kw_status status = KW_OK;
    if (words->json != NULL)
        status = kw_comparison_to_json(&source, &json, error);
    if (status == KW_OK)
        status = write_json(json, words->json, error);
    if (status == KW_OK && !is_standard_output(words->json)) {
        status = kw_comparison_to_text(&source, &options, &text, error);
        if (status == KW_OK) {
            fputs(text, stdout);
            status = print_where(answer->folder, error);
        }
    }
    free(json);
    free(text);
    return status;
}

/* Everything is freed on one way out, whatever went wrong before. */
static enum kw_status run(const struct compare_words *words,
                          struct kw_error *error)
{
    struct input input;
    struct answer answer = {0};
    const struct places places = {words->json, words->out,
                                  words->logs[KW_AFTER].items[0], ENDING,
                                  words->no_report};
    enum kw_status status = input_open(&input, &words->input, error);
    if (status == KW_OK)
        status = check_places(&places, error);
    if (status == KW_OK)
        status = note_unused_out(&places, &answer.notices, error);
    for (int side = 0; side < KW_N_SIDES && status == KW_OK; side++) {
        if (words->air[side] != NULL)
            status =
                kw_air_parse(words->air[side], &answer.sides[side].air, error);
    }
    if (status == KW_OK)
        status = check_logs(words, &answer.notices, error);
    for (int side = 0; side < KW_N_SIDES && status == KW_OK; side++)
        status = read_side(&input, words, side, &answer.sides[side], error);
    if (status == KW_OK)
        status = settle_air(words, &answer, error);
    if (status == KW_OK) {
        const struct kw_compare_options options = {.profile = &input.profile};
        status = kw_compare(&answer.sides[KW_BEFORE].sessions,
                            &answer.sides[KW_AFTER].sessions, &options,
                            &answer.comparison, error);
    }
    if (status == KW_OK && !words->no_report)
        status = write_report(&answer, words, input.profile.name, error);
    if (status == KW_OK)
        status = deliver(&answer, words, error);
    free(answer.folder);
    kw_notices_free(&answer.notices);
    kw_comparison_free(&answer.comparison);
    for (int side = 0; side < KW_N_SIDES; side++)
        side_free(&answer.sides[side]);
    input_close(&input);
    return status;
}

/* Words first: wrong ones cost no work. */
int cmd_compare(int argc, char **argv)
{
    struct compare_words words = {0};
    struct kw_error error = {0};
    enum kw_status status = KW_OK;
    const enum parsed parsed = read_words(argc, argv, &words);
    if (parsed == PARSED)
        status = check_words(&words, &error);
    if (parsed == PARSED && status == KW_OK)
        status = run(&words, &error);
    words_free(&words.input.columns);
    words_free(&words.rest);
    for (int side = 0; side < KW_N_SIDES; side++)
        words_free(&words.logs[side]);
    return exit_status(parsed, status, &error);
}
