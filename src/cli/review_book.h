/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What a review takes from the logbook: kart, setup, air and reference. */
#ifndef KARTWRIGHT_CLI_REVIEW_BOOK_H
#define KARTWRIGHT_CLI_REVIEW_BOOK_H

#include "cli/input.h"
#include "kartwright/notice.h"
#include "kartwright/session.h"

/* What the command line says; it wins over the book.
 *
 * book       path, "" or "-" for the usual one.
 * log        that is to be reviewed.
 * input      the kart's profile, columns and rate.
 * reference  path of a good session, or NULL.
 * air        as typed, or NULL. */
struct review_wanted {
    const char *book;
    const char *log;
    const struct input_words *input;
    const char *reference;
    const char *air;
};

/* What it is reviewed with.
 *
 * input          opened.
 * has_reference  reference is set.
 * from_book      it is one of the book, in which nothing was found.
 * since_reference  what was changed on the kart since then, by the book, or
 *                NULL; owned.
 * notices        what came from the book, what it does not have, and what the
 *                air alone does. */
struct review_sources {
    struct input input;
    struct kw_session reference;
    bool has_reference;
    bool from_book;
    char *since_reference;
    struct kw_notices notices;
};

/* The kart is that which this log was filed with, else the newest that was
 * filed; the gearing likewise. The reference is the newest other session of the
 * kart in which nothing was found.
 *
 * out      the caller frees it with review_sources_free(), also after an error.
 * returns  KW_OK; KW_BAD_USAGE (the air cannot be read); what opening a book,
 *          input_open() and read_reference() give. */
enum kw_status review_sources_open(const struct review_wanted *wanted,
                                   struct review_sources *out,
                                   struct kw_error *error);
void review_sources_free(struct review_sources *sources);

#endif
