/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Logbook: what was fitted when, how long each part has run, what was found and
 * not yet dealt with.
 *
 *     struct kw_logbook *book;
 *     struct kw_entries entries = {0};
 *     if (kw_logbook_open("season.db", use, &book, &error) == KW_OK) {
 *         if (kw_logbook_entries(book, &entries, &error) == KW_OK)
 *             ... entries.items[0 .. entries.n - 1], by date ...
 *         kw_entries_free(&entries);
 *         kw_logbook_close(book);
 *     }
 *
 * One SQLite file holds everything, attachments too. Entries are only ever
 * added: hours are worked out from them at each question, so that a log added
 * late, a corrected date or a withdrawn entry gives the right hours at once.
 * What a function that writes has acknowledged with KW_OK survives a power cut;
 * after any other result the book is as it was.
 *
 * Times are seconds since 1970-01-01 UTC. Texts are UTF-8 and untrusted: escape
 * them for the sink. Not known is NAN or NULL. What is due, the round of checks
 * and the lives of parts are in upkeep.h, trends and tables in season.h.
 */
#ifndef KARTWRIGHT_LOGBOOK_H
#define KARTWRIGHT_LOGBOOK_H

#include "kartwright/error.h"
#include "kartwright/review.h"
#include "kartwright/trackside.h"

#include <stdbool.h>
#include <stdint.h>

#ifdef __cplusplus
extern "C" {
#endif
#if defined(__GNUC__)
#pragma GCC visibility push(default)
#endif

/* An open book; one thread at a time. */
struct kw_logbook;

/* What the caller means to do with the book: reading never makes a file. */
enum kw_logbook_use {
    KW_LOGBOOK_READ,   /* a book that is not there reads as an empty one */
    KW_LOGBOOK_CHANGE, /* likewise, else it must be writable */
    KW_LOGBOOK_WRITE   /* a book that is not there is made; it is gone again
                          when it is closed before anything was written */
};

/* Opens a book, brings an older one up to date.
 *
 * path     of the file; its folder must exist.
 * out      the caller closes it with kw_logbook_close(). NULL on error.
 * returns  KW_OK; KW_BUSY (another program writes, for over 5 s); KW_BAD_INPUT
 *          (no logbook, damaged, or from a newer version); KW_IO_FAILED (may
 *          not be written, disk full); KW_NO_MEMORY. */
enum kw_status kw_logbook_open(const char *path,
                               enum kw_logbook_use use,
                               struct kw_logbook **out,
                               struct kw_error *error);

/* NULL is no book, and nothing happens. */
void kw_logbook_close(struct kw_logbook *book);

/* false when an empty book stands in for a file that is not there. */
bool kw_logbook_exists(const struct kw_logbook *book);

/* ---- writing ------------------------------------------------------------- */

/* What an entry says. A session was driven; a part was fitted or came off;
 * something is to be watched; that, or a finding, was dealt with. */
enum kw_entry_kind {
    KW_ENTRY_SESSION,
    KW_ENTRY_NOTE,
    KW_ENTRY_FIT,
    KW_ENTRY_REMOVE,
    KW_ENTRY_WATCH,
    KW_ENTRY_CLOSE,
    KW_ENTRY_FINDING, /* belongs to a session; not listed by itself */
    KW_N_ENTRY_KINDS
};

/* The kind's name as the contract writes it: "session".
 *
 * returns  constant text; "" outside the enum. */
const char *kw_entry_kind_name(enum kw_entry_kind kind);

/* Where an entry's date comes from. */
enum kw_date_source {
    KW_DATE_GIVEN, /* the person said it */
    KW_DATE_LOG,   /* the log itself has dates */
    KW_DATE_FILE,  /* the log's file was last written then */
    KW_DATE_NOW
};

/* As kw_entry_kind_name(): "given". */
const char *kw_date_source_name(enum kw_date_source source);

/* A file to be kept with an entry, byte for byte. */
struct kw_file_copy {
    const char *name;
    const char *bytes;
    size_t n_bytes;
};

/* What all new entries have in common; zero what does not apply.
 *
 * at_s, source  when it happened, and how that is known.
 * written_s     now: when it is written down.
 * kart          name of the kart; NULL for the one that was last named.
 * text          the note, the reason, what to watch; NULL counts as "".
 * files         files[n_files], copied into the book. */
struct kw_new_entry {
    double at_s;
    enum kw_date_source source;
    double written_s;
    const char *kart;
    const char *text;
    const struct kw_file_copy *files;
    size_t n_files;
};

/* Each adds one entry.
 *
 * id       of the new entry.
 * returns  KW_OK; KW_BAD_INPUT (what the entry is about is not there or cannot
 *          be meant); KW_BUSY; KW_IO_FAILED; KW_NO_MEMORY. */
enum kw_status kw_logbook_note(struct kw_logbook *book,
                               const struct kw_new_entry *entry,
                               int64_t *id,
                               struct kw_error *error);

/* part          what it is: "clutch lining".
 * name          to tell two of a kind apart, or NULL.
 * life_h, life_days  NAN for the starter list's, or none.
 * hours_so_far  what it had run before; 0 for a new part.
 * lead_s        it counts from so long before the entry: a fitting without a
 *               time of day counts from the start of its day.
 * registered    it has been on the kart for long: nothing to look at again. */
struct kw_new_part {
    const char *part;
    const char *name;
    double life_h;
    double life_days;
    double hours_so_far;
    double lead_s;
    bool registered;
};

/* Whose figure a life is: stated for this part when it was fitted, set by the
 * owner for all of its kind, or the starter list's, which is common practice.
 */
enum kw_life_source { KW_LIFE_NONE, KW_LIFE_STATED, KW_LIFE_OWN, KW_LIFE_LIST };

/* What fitting led to.
 *
 * id           of the new entry, and so of the part.
 * replaced_id  part of the same kind and name that came off, or 0.
 * successor_id  the next such part, which was filed before and by which this
 *              one came off at off_s; or 0.
 * life_h, life_days  that it now has, NAN for none.
 * life_from    whose figures they are. */
struct kw_fitted {
    int64_t id;
    int64_t replaced_id;
    int64_t successor_id;
    double off_s;
    double life_h;
    double life_days;
    enum kw_life_source life_from;
};

/* Fits a part. One of the same kind and name comes off by it, and its hours
 * stop there; so do its own where the next one is in the book already. */
enum kw_status kw_logbook_fit(struct kw_logbook *book,
                              const struct kw_new_entry *entry,
                              const struct kw_new_part *part,
                              struct kw_fitted *fitted,
                              struct kw_error *error);

/* Takes a part off without a new one; it may be fitted again later. */
enum kw_status kw_logbook_remove(struct kw_logbook *book,
                                 const struct kw_new_entry *entry,
                                 int64_t part_id,
                                 int64_t *id,
                                 struct kw_error *error);

/* part_id   the part to watch, or 0.
 * make_do   a repair that must not stay: pressing until it is closed.
 * after_run  what was taken apart and put back: due for a second look after the
 *            kart's next session. */
struct kw_new_watch {
    int64_t part_id;
    bool make_do;
    bool after_run;
};

/* Writes down what is not worth an evening yet but must not be forgotten; the
 * words are entry->text. */
enum kw_status kw_logbook_watch(struct kw_logbook *book,
                                const struct kw_new_entry *entry,
                                const struct kw_new_watch *watch,
                                int64_t *id,
                                struct kw_error *error);

/* Says that something was dealt with, so that it is due no longer.
 *
 * target  a watch item, a finding (and those before it of the same kind), or a
 *         part whose second look is done. */
enum kw_status kw_logbook_close_item(struct kw_logbook *book,
                                     const struct kw_new_entry *entry,
                                     int64_t target,
                                     int64_t *id,
                                     struct kw_error *error);

/* review      what was found.
 * log_name    without its folder.
 * log_sha256  of the file, to know it again; log_bytes its length.
 * air         or NULL.
 * setup       "main_jet=142 needle_clip=3", or NULL. */
struct kw_new_session {
    const struct kw_review *review;
    const char *log_name;
    unsigned char log_sha256[32];
    uint64_t log_bytes;
    const struct kw_air *air;
    const char *setup;
};

/* id       of the new entry, or of the one that has this log already.
 * already  nothing was added: the log was in the book. */
struct kw_added {
    int64_t id;
    bool already;
};

/* Keeps what a review found and how long the engine ran. A log that is in the
 * book already is not counted twice, whatever its name is now. */
enum kw_status kw_logbook_add_session(struct kw_logbook *book,
                                      const struct kw_new_entry *entry,
                                      const struct kw_new_session *session,
                                      struct kw_added *added,
                                      struct kw_error *error);

/* What a session says about what was found before and dealt with: "fuel line:
 * back, 2 sessions after it was closed (filter replaced)"; "... gone, not found
 * in the 1 session since the fuel filter was fitted (2026-06-14)".
 *
 * lines    grows by one for each; the caller frees it with kw_notices_free().
 * returns  as reading does, below. */
enum kw_status kw_logbook_follow_up(struct kw_logbook *book,
                                    int64_t session_id,
                                    struct kw_notices *lines,
                                    struct kw_error *error);

/* The entry that has a log of this content, 0 for none. Asked before minutes of
 * review. */
enum kw_status kw_logbook_find_log(struct kw_logbook *book,
                                   const unsigned char log_sha256[32],
                                   int64_t *id,
                                   struct kw_error *error);

/* Moves an entry to another date, or takes it out of every count and list. Both
 * are written down beside the entry, which stays. The removal of a part that a
 * fitting replaced goes with the fitting.
 *
 * returns  KW_OK; KW_BAD_INPUT where a part would come off before it was
 *          fitted, or something else is about the entry. */
enum kw_status kw_logbook_correct(struct kw_logbook *book,
                                  const struct kw_new_entry *entry,
                                  int64_t target,
                                  struct kw_error *error);
enum kw_status kw_logbook_withdraw(struct kw_logbook *book,
                                   const struct kw_new_entry *entry,
                                   int64_t target,
                                   struct kw_error *error);

/* The part that came off because entry `by`, a fitting, replaced it.
 *
 * part_id  0 for none. */
enum kw_status kw_logbook_part_replaced(struct kw_logbook *book,
                                        int64_t by,
                                        int64_t *part_id,
                                        struct kw_error *error);

/* ---- keeping safe -------------------------------------------------------- */

/* Copies the book while others may use it: the copy is whole or not there.
 *
 * path     a new file, or an older copy of a logbook, which is replaced.
 * returns  KW_OK; KW_BAD_INPUT (something else is there, or the book itself);
 *          KW_BUSY; KW_IO_FAILED; KW_NO_MEMORY. */
enum kw_status kw_logbook_save(struct kw_logbook *book,
                               const char *path,
                               struct kw_error *error);

/* Looks at every page, every link between entries and every attachment.
 *
 * problems  one line for each thing that is wrong; none: the book is sound. The
 *           caller frees it with kw_notices_free().
 * returns   KW_OK, also for a book with problems; as reading does. */
enum kw_status kw_logbook_check(struct kw_logbook *book,
                                struct kw_notices *problems,
                                struct kw_error *error);

/* ---- reading ------------------------------------------------------------- */

/* A file kept with an entry.
 *
 * id      of the attachment itself.
 * sha256  64 hex digits. */
struct kw_attachment {
    int64_t id;
    char *name;
    int64_t n_bytes;
    char *sha256;
};

/* about_id   the part or item that it is about, 0 for none.
 * running_s  of a session, else NAN.
 * kart       NULL where none was ever named. */
struct kw_entry {
    int64_t id;
    enum kw_entry_kind kind;
    double at_s;
    enum kw_date_source source;
    char *kart;
    char *title;
    char *text;
    int64_t about_id;
    double running_s;
    struct kw_attachment *attachments;
    size_t n_attachments;
    size_t attachments_capacity;
};

/* A list that grows; freed as a whole. */
struct kw_entries {
    struct kw_entry *items;
    size_t n;
    size_t capacity;
};

/* All entries by date, then id; withdrawn ones and findings left out.
 *
 * out      the caller frees it with kw_entries_free(). Empty on error.
 * returns  KW_OK; KW_BAD_INPUT (the book is damaged); KW_BUSY; KW_NO_MEMORY. */
enum kw_status kw_logbook_entries(struct kw_logbook *book,
                                  struct kw_entries *out,
                                  struct kw_error *error);

/* One entry, or the findings of one session.
 *
 * returns  the same, and KW_BAD_INPUT when there is no such entry. */
enum kw_status kw_logbook_entry(struct kw_logbook *book,
                                int64_t id,
                                struct kw_entries *out,
                                struct kw_error *error);
enum kw_status kw_logbook_findings(struct kw_logbook *book,
                                   int64_t session_id,
                                   struct kw_entries *out,
                                   struct kw_error *error);

/* Takes a zeroed list, and may be called twice. */
void kw_entries_free(struct kw_entries *entries);

/* What a session's entry holds beside; not known is NAN, NULL.
 *
 * log_sha256  64 hex digits: an attachment with this sum is the log itself.
 * part_ids and the like are not here: see kw_logbook_parts(). */
struct kw_session_facts {
    char *log_name;
    char *log_sha256;
    double running_s;
    double revolutions;
    int64_t n_laps;
    double best_lap_s;
    double rpm_max;
    double egt_max_c;
    enum kw_verdict verdict;
    char *verdict_text;
    char *setup;
    struct kw_air air;
};

/* returns  KW_OK; KW_BAD_INPUT when the entry is no session; as above. */
enum kw_status kw_logbook_session(struct kw_logbook *book,
                                  int64_t id,
                                  struct kw_session_facts *out,
                                  struct kw_error *error);

/* Takes zeroed facts, and may be called twice. */
void kw_session_facts_free(struct kw_session_facts *facts);

/* What a finding asks for: the review's steps to check, and the caution. */
struct kw_finding_advice {
    char *check;
    char *caution;
};

/* out      the caller frees it with kw_finding_advice_free(). Zeroed on error.
 *          Both texts are NULL when the entry is no finding.
 * returns  KW_OK; as kw_logbook_entries(). */
enum kw_status kw_logbook_advice(struct kw_logbook *book,
                                 int64_t finding_id,
                                 struct kw_finding_advice *out,
                                 struct kw_error *error);

/* Takes zeroed advice, and may be called twice. */
void kw_finding_advice_free(struct kw_finding_advice *advice);

/* The content of an attachment, checked against its SHA-256.
 *
 * bytes    the caller frees it with free(). NULL on error.
 * returns  KW_OK; KW_BAD_INPUT (not there, or damaged); KW_NO_MEMORY. */
enum kw_status kw_logbook_read_file(struct kw_logbook *book,
                                    int64_t attachment_id,
                                    char **bytes,
                                    size_t *n_bytes,
                                    struct kw_error *error);

/* A part that is or was fitted.
 *
 * from_s, to_s  it counts sessions from and before; to_s NAN while it is on.
 * life_from     whose figures the lives are.
 * hours_so_far  what it had run before.
 * engine_hours  that the kart's engine had run when it was fitted.
 * running_s, revolutions, n_sessions  from the logs, while it was on. */
struct kw_part {
    int64_t id;
    char *kart;
    char *part;
    char *name;
    double from_s;
    double to_s;
    double life_h;
    double life_days;
    enum kw_life_source life_from;
    double hours_so_far;
    double engine_hours;
    double running_s;
    double revolutions;
    int64_t n_sessions;
    bool registered;
};

struct kw_parts {
    struct kw_part *items;
    size_t n;
    size_t capacity;
};

/* Every part that was ever fitted, on or off.
 *
 * out      the caller frees it with kw_parts_free(). Empty on error. */
enum kw_status kw_logbook_parts(struct kw_logbook *book,
                                struct kw_parts *out,
                                struct kw_error *error);

/* Takes a zeroed list, and may be called twice. */
void kw_parts_free(struct kw_parts *parts);

/* Two names of a kart, each NULL where none was ever named.
 *
 * returns  true when they are the same. */
bool kw_same_kart(const char *a, const char *b);

/* Hours that a part has run in all. */
double kw_part_hours(const struct kw_part *part);

/* The engine of each kart: all its sessions. part is "engine", id 0. */
enum kw_status kw_logbook_engines(struct kw_logbook *book,
                                  struct kw_parts *out,
                                  struct kw_error *error);

#if defined(__GNUC__)
#pragma GCC visibility pop
#endif
#ifdef __cplusplus
}
#endif
#endif
