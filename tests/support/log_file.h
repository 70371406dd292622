/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A log written for a test and read by the library. */
#ifndef KARTWRIGHT_TESTS_LOG_FILE_H
#define KARTWRIGHT_TESTS_LOG_FILE_H

#include "kartwright/log.h"

/* Writes `length` bytes to folder/log.csv; fails the test when it cannot. */
void log_write(const void *folder, const char *bytes, size_t length);

/* Reads folder/log.csv. */
enum kw_status log_read(const void *folder,
                        const struct kw_import_options *options,
                        struct kw_log *log,
                        struct kw_error *error);

/* Writes a closed text and reads it; fails the test when it is refused. */
void log_from(const void *folder, const char *text, struct kw_log *log);

/* The first notice whose text is that, NULL for none. */
const struct kw_notice *log_notice(const struct kw_log *log, const char *text);

/* What any log that was read keeps to: counts that add up, times that rise from
 * 0, numbers that are finite or missing. */
void log_check_sound(const char *label, const struct kw_log *log);

#endif
