/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What the logbook knows of a log, a kart or a good day, so that nothing is
 * typed twice.
 *
 *     struct from_book from;
 *     struct book_day day;
 *     status = from_book_open("-", &from, &error);
 *     if (status == KW_OK)
 *         status = from_book_day_of(&from, "sunday.csv", &day, &error);
 *     if (status == KW_OK && day.entry != NULL)
 *         ... day.facts.air, day.facts.setup ...
 *     book_day_free(&day);
 *     from_book_close(&from);                     also after an error
 */
#ifndef KARTWRIGHT_CLI_FROM_BOOK_H
#define KARTWRIGHT_CLI_FROM_BOOK_H

#include "cli/input.h"
#include "core/text.h"
#include "kartwright/logbook.h"

/* The name under which `logbook add` keeps the kart's profile. */
#define KART_PROFILE_NAME "kart-profile.ini"

/* An open book and all its entries, by date. */
struct from_book {
    struct kw_logbook *book;
    struct kw_entries entries;
};

/* entry  belongs to the struct from_book; NULL where there is no such day.
 * facts  not known is NAN, NULL; owned. */
struct book_day {
    const struct kw_entry *entry;
    struct kw_session_facts facts;
};

/* What a session must have to be looked for. Good is one in which nothing was
 * found: a jet that ran lean is no model. */
enum book_need {
    NEED_SESSION,        /* nothing more */
    NEED_PROFILE,        /* the kart's profile was kept with it */
    NEED_GEARING,        /* its setup names both sprockets */
    NEED_GOOD_WITH_LOG,  /* good, and its log was kept */
    NEED_GOOD_WITH_FACTS /* good, with air, jet or sprockets written down */
};

/* kart      only sessions of it; NULL for any.
 * first_id  looked at before the newest; 0 for none.
 * not_id    never this one; 0 for none. */
struct book_search {
    enum book_need need;
    const char *kart;
    int64_t first_id;
    int64_t not_id;
};

/* stated   path of the book; "" or "-" for the usual place.
 * out      the caller closes it with from_book_close(), also after an error.
 * returns  what kw_logbook_open() and kw_logbook_entries() give. */
enum kw_status from_book_open(const char *stated,
                              struct from_book *out,
                              struct kw_error *error);
void from_book_close(struct from_book *from);

/* The session that has the log of this content; an empty day for none and for
 * standard input.
 *
 * out      the caller frees it with book_day_free(); empty on error.
 * returns  KW_OK; KW_IO_FAILED (the log cannot be read); as reading does. */
enum kw_status from_book_day_of(const struct from_book *from,
                                const char *log_path,
                                struct book_day *out,
                                struct kw_error *error);

/* The newest session that meets a search, or its first one; else as
 * from_book_day_of(). */
enum kw_status from_book_find(const struct from_book *from,
                              const struct book_search *search,
                              struct book_day *out,
                              struct kw_error *error);

/* Takes a zeroed day, and may be called twice. */
void book_day_free(struct book_day *day);

/* "healthy.csv of 2026-06-14": how a day is named to a person. */
void add_book_day(struct kw_text *text, const struct book_day *day);

/* Opens the input with the kart's profile that was kept with a session.
 *
 * words    its kart is not looked at.
 * returns  as input_open(); KW_BAD_INPUT where none was kept. */
enum kw_status from_book_input(const struct from_book *from,
                               const struct book_day *day,
                               const struct input_words *words,
                               struct input *input,
                               struct kw_error *error);

/* Reads the log that was kept with a session.
 *
 * out      the caller frees it with kw_session_free(). Zeroed on error.
 * returns  as read_reference(); KW_BAD_INPUT where none was kept. */
enum kw_status from_book_session(const struct from_book *from,
                                 const struct book_day *day,
                                 const struct input *input,
                                 struct kw_session *out,
                                 struct kw_error *error);

#endif
