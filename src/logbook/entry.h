/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Writing entries: what all kinds have in common. */
#ifndef KARTWRIGHT_LOGBOOK_ENTRY_H
#define KARTWRIGHT_LOGBOOK_ENTRY_H

#include "logbook/query.h"

/* What distinguishes a new entry from others of its time.
 *
 * kart   that it belongs to; NULL for the one that was last named.
 * title  one line. */
struct kw_entry_head {
    enum kw_entry_kind kind;
    const char *kart;
    const char *title;
};

/* The row of `entry` and the attachments; within the caller's transaction.
 *
 * id  of the new entry. */
enum kw_status kw_entry_insert(struct kw_logbook *book,
                               const struct kw_new_entry *entry,
                               const struct kw_entry_head *head,
                               int64_t *id,
                               struct kw_error *error);

/* What a target is, for the checks before an entry is written about it.
 *
 * kind   KW_N_ENTRY_KINDS when there is no such entry, or it was withdrawn.
 * kart, title  the caller frees them. */
struct kw_target {
    enum kw_entry_kind kind;
    char *kart;
    char *title;
};
enum kw_status kw_target_find(struct kw_logbook *book,
                              int64_t id,
                              struct kw_target *target,
                              struct kw_error *error);
void kw_target_free(struct kw_target *target);

/* An entry about another: what it is, what that must be, and where the link
 * between the two is kept.
 *
 * fits      whether it can be about an entry of that kind.
 * wanted    "a part", for the refusal.
 * link_sql  inserts the two numbers, that of the new entry first.
 * target_id  number of the other. */
struct kw_about {
    enum kw_entry_kind kind;
    bool (*fits)(enum kw_entry_kind kind);
    const char *wanted;
    const char *link_sql;
    int64_t target_id;
};

/* As kw_entry_insert(), with the kart and the title of the entry that it is
 * about. */
enum kw_status kw_entry_insert_about(struct kw_logbook *book,
                                     const struct kw_new_entry *entry,
                                     const struct kw_about *about,
                                     int64_t *id,
                                     struct kw_error *error);

/* An entry that says nothing helps nobody: KW_BAD_USAGE with `what`. */
enum kw_status kw_entry_check_words(const char *text,
                                    const char *what,
                                    struct kw_error *error);

/* "no entry 12", "entry 12 is a note, no part": KW_BAD_USAGE. */
enum kw_status kw_target_refuse(int64_t id,
                                enum kw_entry_kind kind,
                                const char *wanted,
                                struct kw_error *error);

/* KW_N_ENTRY_KINDS for a word that names none. */
enum kw_entry_kind kw_entry_kind_from_name(const char *name);
enum kw_date_source kw_date_source_from_name(const char *name);

/* Copies a file into the book; the same content is kept once. */
enum kw_status kw_attach(struct kw_logbook *book,
                         int64_t entry_id,
                         const struct kw_file_copy *file,
                         struct kw_error *error);

#endif
