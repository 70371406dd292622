/* SPDX-License-Identifier: GPL-3.0-or-later */
/* kartwright logbook show: one entry, and its files back out byte for byte. */
#include "cli/cmd_logbook.h"
#include "cli/entry_json.h"
#include "cli/read_command.h"

#include "core/file.h"
#include "core/local_time.h"
#include "report/words.h"

#include <errno.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

/* What is known of one entry.
 *
 * entry     exactly one item.
 * findings, facts  of a session, else empty. */
struct shown {
    struct kw_entries entry;
    struct kw_entries findings;
    struct kw_session_facts facts;
    struct kw_finding_advice advice;
};

/* Cut by the person's umask, as for any new folder. */
enum { FOLDER_MODE = 0777 };

/* ---- files back out ------------------------------------------------------ */

/* A name from the book must not lead out of the folder: only its last part
 * counts, and no name that means a folder. */
static const char *safe_name(const char *name)
{
    const char *slash = strrchr(name, '/');
    /* The book may come from somebody else: "../../.profile" must end up in the
     * folder like any other name. */
    const char *last = slash == NULL ? name : slash + 1;
    const bool is_dots =
        last[0] == '\0' || strcmp(last, ".") == 0 || strcmp(last, "..") == 0;
    return is_dots ? "attachment" : last;
}

/* Whether an attachment before this one has the same name. */
static bool is_taken(const struct kw_entry *entry, size_t i)
{
    const char *name = safe_name(entry->attachments[i].name);
    for (size_t j = 0; j < i; j++) {
        if (strcmp(safe_name(entry->attachments[j].name), name) == 0)
            return true;
    }
    return false;
}

/* "FOLDER/photo.jpg", or "FOLDER/34-photo.jpg" for a second one of that name.
 */
static char *place_for(const char *folder,
                       const struct kw_entry *entry,
                       size_t i,
                       struct kw_error *error)
{
    const struct kw_attachment *attachment = &entry->attachments[i];
    struct kw_text path = {0};
    kw_text_add(&path, folder);
    kw_text_add(&path, "/");
    /* Two photos called "photo.jpg" are the rule with cameras; the number of
     * the attachment keeps them apart. */
    if (is_taken(entry, i))
        kw_text_addf(&path, "%lld-", (long long)attachment->id);
    kw_text_add(&path, safe_name(attachment->name));
    return kw_text_take(&path, error);
}

/* The book gives back what was put in, byte for byte, or an error: it checks
 * the sum of what it holds. */
static enum kw_status write_file(struct kw_logbook *book,
                                 const struct kw_attachment *attachment,
                                 const char *path,
                                 struct kw_error *error)
{
    char *bytes = NULL;
    size_t n_bytes = 0;
    enum kw_status status =
        kw_logbook_read_file(book, attachment->id, &bytes, &n_bytes, error);
    if (status == KW_OK)
        status = kw_file_create(path, bytes, n_bytes, error);
    free(bytes);
    return status;
}

/* Never over a file that is there: kw_file_create() refuses it. */
static enum kw_status write_files(struct book_job *job,
                                  const struct kw_entry *entry,
                                  const char *folder,
                                  struct kw_text *said,
                                  struct kw_error *error)
{
    /* A folder that is there is fine: its files are not touched. */
    if (mkdir(folder, FOLDER_MODE) != 0 && errno != EEXIST)
        return kw_file_failed(error, folder, "cannot be made", errno);
    enum kw_status status = KW_OK;
    for (size_t i = 0; i < entry->n_attachments && status == KW_OK; i++) {
        char *path = place_for(folder, entry, i, error);
        if (path == NULL)
            return KW_NO_MEMORY;
        status = write_file(job->book, &entry->attachments[i], path, error);
        kw_text_add(said, "Wrote ");
        kw_text_add_visible(said, path);
        kw_text_add(said, "\n");
        free(path);
    }
    /* Said, for an empty folder looks like a failure. */
    if (entry->n_attachments == 0)
        kw_text_add(said, "No file is kept with this entry.\n");
    return status;
}

/* ---- for a person -------------------------------------------------------- */

/* What is not known is left out rather than shown as a blank. */
static void add_pair(struct kw_text *text, const char *name, const char *value)
{
    if (value == NULL || value[0] == '\0')
        return;
    kw_text_addf(text, "%-14s", name);
    add_wrapped(text, value, 14);
    kw_text_add(text, "\n");
}

/* The steps of a check below each other, as a review tells them: they are gone
 * through with dirty hands. */
static void add_steps(struct kw_text *text, const char *check)
{
    const char *at = check == NULL ? "" : check;
    unsigned number = 1;
    size_t length = 0;
    for (const char *step; (step = kw_next_step(&at, &number, &length));) {
        struct kw_text line = {0};
        kw_text_addf(&line, "%u. ", number - 1);
        kw_text_add_bytes(&line, step, length);
        if (kw_text_failed(&line))
            text->failed = true;
        else
            add_pair(text, number == 2 ? "Check" : "", line.bytes);
        kw_text_free(&line);
    }
}

/* NAN is "not known", and its line goes. */
static void add_value(struct kw_text *text,
                      const char *name,
                      double value,
                      int decimals,
                      const char *unit)
{
    if (!isfinite(value))
        return;
    kw_text_addf(text, "%-14s", name);
    if (decimals == 0)
        kw_text_add_whole(text, value);
    else
        kw_text_add_number(text, value, decimals);
    kw_text_addf(text, "%s%s\n", unit[0] == '\0' ? "" : " ", unit);
}

/* From our units to those a person reads: minutes, hPa, percent. */
static void write_facts(struct kw_text *text,
                        const struct kw_session_facts *facts)
{
    add_value(text, "Running time", facts->running_s / 60.0, 1, "min");
    add_value(text, "Turns", facts->revolutions, 0, "");
    add_value(text, "Best lap", facts->best_lap_s, 2, "s");
    add_value(text, "Top RPM", facts->rpm_max, 0, "");
    add_value(text, "Top EGT", facts->egt_max_c, 0, "C");
    add_value(text, "Air", facts->air.temp_c, 1, "C");
    add_value(text, "", facts->air.pressure_pa / 100.0, 1, "hPa");
    add_value(text, "", facts->air.humidity * 100.0, 0, "% humidity");
    add_pair(text, "Setup", facts->setup);
    add_pair(text, "Verdict", facts->verdict_text);
}

/* Findings have numbers of their own: they are closed one by one. */
static void write_list(struct kw_text *text, const struct shown *shown)
{
    const struct kw_entry *entry = &shown->entry.items[0];
    for (size_t i = 0; i < shown->findings.n; i++) {
        kw_text_addf(text, i == 0 ? "\nFindings:\n%4lld  " : "%4lld  ",
                     (long long)shown->findings.items[i].id);
        add_wrapped(text, shown->findings.items[i].title, 6);
        kw_text_add(text, "\n      ");
        add_wrapped(text, shown->findings.items[i].text, 6);
        kw_text_add(text, "\n");
    }
    for (size_t i = 0; i < entry->n_attachments; i++) {
        const struct kw_attachment *attachment = &entry->attachments[i];
        kw_text_add(text,
                    i == 0 ? "\nFiles (--out FOLDER writes them):\n  " : "  ");
        add_short(text, attachment->name, 50);
        kw_text_add(text, ", ");
        kw_text_add_whole(text, (double)attachment->n_bytes);
        kw_text_add(text, " bytes\n");
    }
}

/* All that is known, a name in front of each: for the person who looks up what
 * was done a year ago. */
static void write_entry(struct kw_text *text, const struct shown *shown)
{
    const struct kw_entry *entry = &shown->entry.items[0];
    char date[KW_LOCAL_TIME_SIZE];
    kw_text_addf(text, "Entry %lld, %s, %s, %s\n", (long long)entry->id,
                 kw_entry_kind_name(entry->kind),
                 kw_local_time_show(date, entry->at_s),
                 date_source_words(entry->source));
    add_pair(text, "Title", entry->title);
    /* A short note is its own title. */
    if (strcmp(entry->text, entry->title) != 0)
        add_pair(text, "Text", entry->text);
    add_pair(text, "Kart", entry->kart);
    if (entry->about_id != 0)
        kw_text_addf(text, "%-14sentry %lld\n", "About",
                     (long long)entry->about_id);
    if (entry->kind == KW_ENTRY_SESSION)
        write_facts(text, &shown->facts);
    add_steps(text, shown->advice.check);
    add_pair(text, "Caution", shown->advice.caution);
    write_list(text, shown);
}

/* ---- the work ------------------------------------------------------------ */

/* What belongs to an entry depends on its kind; the rest stays zero, which the
 * frees accept. */
static enum kw_status look_up(struct book_job *job,
                              int64_t id,
                              struct shown *shown,
                              struct kw_error *error)
{
    enum kw_status status =
        kw_logbook_entry(job->book, id, &shown->entry, error);
    if (status != KW_OK)
        return status;
    const enum kw_entry_kind kind = shown->entry.items[0].kind;
    if (kind == KW_ENTRY_FINDING)
        return kw_logbook_advice(job->book, id, &shown->advice, error);
    if (kind != KW_ENTRY_SESSION)
        return KW_OK;
    status = kw_logbook_session(job->book, id, &shown->facts, error);
    if (status == KW_OK)
        status = kw_logbook_findings(job->book, id, &shown->findings, error);
    return status;
}

/* Files first: if one cannot be written, nothing is said to be. */
static enum kw_status deliver(struct book_job *job,
                              const struct read_words *words,
                              const struct shown *shown,
                              struct kw_error *error)
{
    const struct kw_entry *entry = &shown->entry.items[0];
    const bool is_session = entry->kind == KW_ENTRY_SESSION;
    struct kw_text text = {0};
    struct kw_text said = {0};
    enum kw_status status = KW_OK;
    if (words->out != NULL)
        status = write_files(job, entry, words->out, &said, error);
    if (status == KW_OK && words->json != NULL) {
        struct kw_json json = {.out = &text};
        entries_json_begin(&json);
        entry_json(&json, entry, is_session ? &shown->facts : NULL,
                   is_session ? &shown->findings : NULL);
        entries_json_end(&json);
        status = deliver_json(&text, words->json, error);
    } else if (status == KW_OK) {
        if (words->out == NULL)
            write_entry(&text, shown);
        /* With --out the person asked for files, and gets their names and
         * nothing else. */
        else if (!kw_text_failed(&said))
            kw_text_add(&text, said.bytes);
        status = print_text_once(&text, error);
    }
    kw_text_free(&text);
    kw_text_free(&said);
    return status;
}

static enum kw_status one_number(const struct read_words *words,
                                 struct kw_error *error)
{
    if (words->rest.n == 1)
        return KW_OK;
    return kw_fail(error, KW_BAD_USAGE, NULL, 0,
                   "show takes the number of one entry",
                   "'kartwright logbook list' shows the numbers");
}

/* Number, look-up, printing or files. */
static enum kw_status show_entry(struct book_job *job,
                                 const struct read_words *words,
                                 struct kw_error *error)
{
    struct shown shown = {0};
    int64_t id = 0;
    enum kw_status status = read_id(words->rest.items[0], &id, error);
    if (status == KW_OK)
        status = look_up(job, id, &shown, error);
    if (status == KW_OK)
        status = deliver(job, words, &shown, error);
    kw_entries_free(&shown.entry);
    kw_entries_free(&shown.findings);
    kw_session_facts_free(&shown.facts);
    kw_finding_advice_free(&shown.advice);
    return status;
}

int logbook_show(int argc, char **argv)
{
    struct read_words words = {0};
    const struct option options[] = {
        {"--out", OPTION_TEXT, &words.out, "FOLDER", false,
         "write the entry's files there, byte for byte"},
        option_json(&words.json),
        option_book(&words.book)};
    const struct read_command command = {
        {"logbook show ID [OPTIONS]",
         "One entry with all that is known of it; a finding with what to "
         "check.",
         options, sizeof options / sizeof options[0],
         "  kartwright logbook show 12\n"
         "  kartwright logbook show 12 --out sunday-files\n"},
        one_number,
        show_entry};
    return run_read_command(&command, &words, argc, argv);
}
