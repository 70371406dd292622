/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Reading a log and its reference, and reviewing it. */
#include "cli/reviewing.h"

#include "core/text.h"

enum kw_status read_reference(const struct input *input,
                              const char *path,
                              struct kw_session *out,
                              struct kw_error *error)
{
    struct kw_log log;
    enum kw_status status = input_read(input, path, &log, error);
    if (status != KW_OK)
        return status;
    status = kw_session_from_log(&log, &input->profile, out, error);
    /* A log that reads well and still cannot be used: name it. */
    if (status == KW_BAD_INPUT && error->file[0] == '\0')
        kw_text_copy(error->file, sizeof error->file, path);
    kw_log_free(&log);
    return status;
}

/* The log that the session was cleaned from moves into the review. */
enum kw_status review_named_log(const struct input *input,
                                const char *path,
                                const struct kw_review_options *against,
                                struct kw_review *out,
                                struct kw_error *error)
{
    struct kw_review_options options = *against;
    options.profile = &input->profile;
    struct kw_log log;
    enum kw_status status = input_read(input, path, &log, error);
    if (status != KW_OK)
        return status;
    status = kw_review_log(&log, &options, out, error);
    if (status == KW_BAD_INPUT && error->file[0] == '\0')
        kw_text_copy(error->file, sizeof error->file, path);
    kw_log_free(&log);
    return status;
}
