/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A logbook of an earlier version, for tests of bringing it up to date. */
#ifndef KARTWRIGHT_TESTS_OLD_BOOK_H
#define KARTWRIGHT_TESTS_OLD_BOOK_H

/* Numbers and words of the book of version 1 that tests look for. */
enum {
    OLD_BOOK_LISTED = 8,    /* entries in its list */
    OLD_BOOK_CHAIN = 2,     /* part whose date was put right */
    OLD_BOOK_TYRES = 3,     /* part that had run 1.5 h before */
    OLD_BOOK_SESSION = 4,   /* the session, of 9.3 min */
    OLD_BOOK_RECEIPT = 1,   /* attachment: "receipt" and a line end */
    OLD_BOOK_CABLE_TIE = 7, /* make-do repair, still open */
    OLD_BOOK_WITHDRAWN = 10
};

/* Writes it to a new file. */
void old_book_write(const char *path);

#endif
