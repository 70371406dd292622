/* SPDX-License-Identifier: GPL-3.0-or-later */
/* From a log's name to its review: what `review` and `logbook add` share. */
#ifndef KARTWRIGHT_CLI_REVIEWING_H
#define KARTWRIGHT_CLI_REVIEWING_H

#include "cli/input.h"
#include "kartwright/review.h"

/* Reads a session that is known to be good, with the same columns and cleaned
 * like the log that is held against it.
 *
 * input    opened: the profile and the columns.
 * out      the caller frees it with kw_session_free(). Zeroed on error.
 * returns  KW_OK; what reading gives, the error naming the log. */
enum kw_status read_reference(const struct input *input,
                              const char *path,
                              struct kw_session *out,
                              struct kw_error *error);

/* Reviews one log.
 *
 * input      opened: the profile and the columns.
 * against    a good session and what was changed since; its profile is not
 *            looked at, the input's counts.
 * out        the caller frees it with kw_review_free().
 * returns    KW_OK; what reading and reviewing give, the error naming the log.
 */
enum kw_status review_named_log(const struct input *input,
                                const char *path,
                                const struct kw_review_options *against,
                                struct kw_review *out,
                                struct kw_error *error);

#endif
