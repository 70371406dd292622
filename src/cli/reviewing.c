/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Reading a log and its reference, and reviewing it. */
#include "cli/reviewing.h"

#include "core/text.h"

/* The reference is read with the same columns and cleaned like the log. */
static enum kw_status read_reference(const struct input *input,
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
                                const char *reference_path,
                                struct kw_review *out,
                                struct kw_error *error)
{
    struct kw_session reference = {0};
    struct kw_log log = {0};
    enum kw_status status = KW_OK;
    /* The reference first: it is the file that is more likely named wrong, and
     * reading it costs less than a review. */
    if (reference_path != NULL)
        status = read_reference(input, reference_path, &reference, error);
    if (status == KW_OK)
        status = input_read(input, path, &log, error);
    if (status == KW_OK) {
        const struct kw_review_options options = {
            .profile = &input->profile,
            .reference = reference_path != NULL ? &reference : NULL};
        status = kw_review_log(&log, &options, out, error);
        if (status == KW_BAD_INPUT && error->file[0] == '\0')
            kw_text_copy(error->file, sizeof error->file, path);
    }
    kw_log_free(&log);
    kw_session_free(&reference);
    return status;
}
