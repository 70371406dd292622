/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Looking up days in the logbook. Sessions are looked at from the newest back,
 * and the first that will do is taken: seldom more than a few. */
#include "cli/from_book.h"

#include "cli/book_words.h"
#include "cli/passing.h"
#include "cli/reviewing.h"
#include "cli/setup_words.h"
#include "core/local_time.h"
#include "core/sha256.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* Reading makes no book. Entries are read at once: they are asked again and
 * again below. */
enum kw_status from_book_open(const char *stated,
                              struct from_book *out,
                              struct kw_error *error)
{
    const bool usual = stated[0] == '\0' || strcmp(stated, "-") == 0;
    *out = (struct from_book){0};
    char *path = book_path(usual ? NULL : stated, false, error);
    if (path == NULL)
        return error->status;
    enum kw_status status =
        kw_logbook_open(path, KW_LOGBOOK_READ, &out->book, error);
    if (status == KW_OK)
        status = kw_logbook_entries(out->book, &out->entries, error);
    free(path);
    return status;
}

void from_book_close(struct from_book *from)
{
    kw_entries_free(&from->entries);
    kw_logbook_close(from->book);
    *from = (struct from_book){0};
}

/* The entry belongs to the list of entries. */
void book_day_free(struct book_day *day)
{
    kw_session_facts_free(&day->facts);
    day->entry = NULL;
}

/* ---- files kept with a session ------------------------------------------- */

/* The first of that name: ours stand before those of --attach. */
static const struct kw_attachment *profile_of(const struct kw_entry *entry)
{
    for (size_t i = 0; i < entry->n_attachments; i++) {
        if (strcmp(entry->attachments[i].name, KART_PROFILE_NAME) == 0)
            return &entry->attachments[i];
    }
    return NULL;
}

/* Known by its content, whatever it is called. */
static const struct kw_attachment *log_of(const struct book_day *day)
{
    for (size_t i = 0; i < day->entry->n_attachments; i++) {
        if (strcmp(day->entry->attachments[i].sha256, day->facts.log_sha256) ==
            0)
            return &day->entry->attachments[i];
    }
    return NULL;
}

/* Reads an attachment by way of a passing file. */
static enum kw_status pass_attachment(const struct from_book *from,
                                      const struct kw_attachment *attachment,
                                      use_passing *use,
                                      void *to,
                                      struct kw_error *error)
{
    char *bytes = NULL;
    size_t n_bytes = 0;
    if (attachment == NULL)
        return kw_fail(error, KW_BAD_INPUT, NULL, 0,
                       "the logbook did not keep that file",
                       "name it on the command line");
    enum kw_status status = kw_logbook_read_file(from->book, attachment->id,
                                                 &bytes, &n_bytes, error);
    if (status != KW_OK)
        return status;
    /* Only its last part: a name from the book must not lead elsewhere. */
    const char *slash = strrchr(attachment->name, '/');
    const struct passing_bytes passing = {
        slash == NULL ? attachment->name : slash + 1, bytes, n_bytes};
    status = pass_as_file(&passing, use, to, error);
    free(bytes);
    return status;
}

/* ---- days ---------------------------------------------------------------- */

/* The facts cost a query, so they are read for the days that are looked at
 * only. */
static enum kw_status take_day(const struct from_book *from,
                               const struct kw_entry *entry,
                               struct book_day *out,
                               struct kw_error *error)
{
    const enum kw_status status =
        kw_logbook_session(from->book, entry->id, &out->facts, error);
    out->entry = status == KW_OK ? entry : NULL;
    return status;
}

/* NULL for 0, or an entry that was withdrawn meanwhile. */
static const struct kw_entry *entry_of(const struct from_book *from, int64_t id)
{
    for (size_t i = 0; i < from->entries.n; i++) {
        if (from->entries.items[i].id == id)
            return &from->entries.items[i];
    }
    return NULL;
}

enum kw_status from_book_day_of(const struct from_book *from,
                                const char *log_path,
                                struct book_day *out,
                                struct kw_error *error)
{
    unsigned char sum[KW_SHA256_BYTES];
    uint64_t n_bytes = 0;
    int64_t id = 0;
    *out = (struct book_day){0};
    /* It cannot be read twice, once to know it again. */
    if (strcmp(log_path, "-") == 0)
        return KW_OK;
    enum kw_status status = kw_sha256_file(log_path, sum, &n_bytes, error);
    if (status == KW_OK)
        status = kw_logbook_find_log(from->book, sum, &id, error);
    const struct kw_entry *entry = entry_of(from, id);
    if (status == KW_OK && entry != NULL)
        status = take_day(from, entry, out, error);
    return status;
}

/* Nothing was found, which is not the same as nothing wrong; but of all days in
 * the book these are the ones to hold others against. Not one on which nothing
 * could be found: an engine that idled on its stand. */
static enum kw_status is_good(const struct from_book *from,
                              const struct book_day *day,
                              bool *good,
                              struct kw_error *error)
{
    struct kw_entries findings;
    const enum kw_status status =
        kw_logbook_findings(from->book, day->entry->id, &findings, error);
    *good = status == KW_OK && findings.n == 0 &&
            day->facts.verdict != KW_VERDICT_NOT_KNOWN;
    if (status == KW_OK)
        kw_entries_free(&findings);
    return status;
}

/* Teeth of both sprockets, not a ratio alone: a person counts teeth. */
static bool has_gearing(const struct kw_session_facts *facts)
{
    double engine_teeth;
    double axle_teeth;
    gearing_of_setup(facts->setup, &engine_teeth, &axle_teeth);
    return isfinite(engine_teeth) && isfinite(axle_teeth);
}

/* All but the look for findings, which costs a query. */
static bool has_what_is_needed(const struct book_day *day, enum book_need need)
{
    switch (need) {
    case NEED_SESSION:
        return true;
    case NEED_PROFILE:
        return profile_of(day->entry) != NULL;
    case NEED_GEARING:
        return has_gearing(&day->facts);
    case NEED_GOOD_WITH_LOG:
        return log_of(day) != NULL;
    case NEED_GOOD_WITH_FACTS:
        return isfinite(day->facts.air.temp_c) || has_gearing(&day->facts) ||
               isfinite(main_jet_of_setup(day->facts.setup));
    }
    return false;
}

/* Leaves the day empty where this entry will not do. */
static enum kw_status try_entry(const struct from_book *from,
                                const struct kw_entry *entry,
                                const struct book_search *search,
                                struct book_day *out,
                                struct kw_error *error)
{
    const bool its_kart =
        search->kart == NULL ||
        (entry->kart != NULL && strcmp(entry->kart, search->kart) == 0);
    if (entry->kind != KW_ENTRY_SESSION || entry->id == search->not_id ||
        !its_kart)
        return KW_OK;
    enum kw_status status = take_day(from, entry, out, error);
    if (status != KW_OK)
        return status;
    bool good = has_what_is_needed(out, search->need);
    if (good && (search->need == NEED_GOOD_WITH_LOG ||
                 search->need == NEED_GOOD_WITH_FACTS))
        status = is_good(from, out, &good, error);
    if (status != KW_OK || !good)
        book_day_free(out);
    return status;
}

/* A log that was filed already brings its own kart and setup, which beat any
 * newer ones. */
enum kw_status from_book_find(const struct from_book *from,
                              const struct book_search *search,
                              struct book_day *out,
                              struct kw_error *error)
{
    const struct kw_entry *first = entry_of(from, search->first_id);
    enum kw_status status = KW_OK;
    *out = (struct book_day){0};
    if (first != NULL)
        status = try_entry(from, first, search, out, error);
    /* Entries rise by date: the newest stands last. */
    for (size_t i = from->entries.n;
         status == KW_OK && i > 0 && out->entry == NULL; i--)
        status =
            try_entry(from, &from->entries.items[i - 1], search, out, error);
    return status;
}

void add_book_day(struct kw_text *text, const struct book_day *day)
{
    char date[KW_LOCAL_TIME_SIZE];
    kw_text_add(text, day->facts.log_name);
    kw_text_addf(text, " of %s",
                 kw_local_time_print(date, day->entry->at_s, false));
}

/* ---- reading what was kept ----------------------------------------------- */

struct opening {
    const struct input_words *words;
    struct input *input;
};

static enum kw_status open_with(const char *path,
                                void *to,
                                struct kw_error *error)
{
    const struct opening *opening = to;
    struct input_words words = *opening->words;
    words.kart = path;
    return input_open(opening->input, &words, error);
}

enum kw_status from_book_input(const struct from_book *from,
                               const struct book_day *day,
                               const struct input_words *words,
                               struct input *input,
                               struct kw_error *error)
{
    struct opening opening = {words, input};
    *input = (struct input){0};
    return pass_attachment(from, profile_of(day->entry), open_with, &opening,
                           error);
}

struct reading {
    const struct input *input;
    struct kw_session *session;
};

static enum kw_status read_kept(const char *path,
                                void *to,
                                struct kw_error *error)
{
    const struct reading *reading = to;
    return read_reference(reading->input, path, reading->session, error);
}

enum kw_status from_book_session(const struct from_book *from,
                                 const struct book_day *day,
                                 const struct input *input,
                                 struct kw_session *out,
                                 struct kw_error *error)
{
    struct reading reading = {input, out};
    *out = (struct kw_session){0};
    return pass_attachment(from, log_of(day), read_kept, &reading, error);
}
