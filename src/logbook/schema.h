/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What the book's file holds, and how an older one is brought up to date. */
#ifndef KARTWRIGHT_LOGBOOK_SCHEMA_H
#define KARTWRIGHT_LOGBOOK_SCHEMA_H

#include "logbook/query.h"

/* Stands in the file's head: "KWlb". Another number is another program's file.
 */
enum { KW_BOOK_APPLICATION_ID = 0x4B576C62 };

/* The version that this program writes; it reads all before it. */
int kw_book_newest_version(void);

/* Brings a book from its version to the newest, within a transaction of the
 * caller's. Version 0 is an empty file. */
enum kw_status kw_book_migrate(struct kw_logbook *book,
                               int from_version,
                               struct kw_error *error);

/* Makes the views that all questions are asked through; they live as long as
 * the connection and leave no trace in the file. */
enum kw_status kw_book_make_views(struct kw_logbook *book,
                                  struct kw_error *error);

#endif
