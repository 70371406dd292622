/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A log written for a test and read by the library. */
#include "support/log_file.h"

#include "support/check.h"
#include "support/scratch.h"

#include <string.h>

void log_write(const void *folder, const char *bytes, size_t length)
{
    char path[SCRATCH_PATH_SIZE];
    FILE *file = fopen(scratch_path(path, folder, "log.csv"), "wb");
    assert_non_null(file);
    assert_int_equal(fwrite(bytes, 1, length, file), length);
    assert_int_equal(fclose(file), 0);
}

enum kw_status log_read(const void *folder,
                        const struct kw_import_options *options,
                        struct kw_log *log,
                        struct kw_error *error)
{
    char path[SCRATCH_PATH_SIZE];
    scratch_path(path, folder, "log.csv");
    return kw_log_read(path, options, log, error);
}

void log_from(const void *folder, const char *text, struct kw_log *log)
{
    struct kw_error error = {0};
    log_write(folder, text, strlen(text));
    if (log_read(folder, NULL, log, &error) != KW_OK)
        fail_msg("refused: %s: %s: %s", text, error.what, error.todo);
}

const struct kw_notice *log_notice(const struct kw_log *log, const char *text)
{
    for (size_t i = 0; i < log->notices.n; i++) {
        if (strcmp(log->notices.items[i].text, text) == 0)
            return &log->notices.items[i];
    }
    return NULL;
}

void log_check_sound(const char *label, const struct kw_log *log)
{
    check_true(label, log->data_rows == log->rows_used + log->rows_rejected);
    check_true(label, log->rows_used > 0);
    check_near(label, log->time_s[0], 0.0, 0.0);
    for (size_t i = 1; i < log->rows_used; i++)
        check_true(label, log->time_s[i] > log->time_s[i - 1]);
    for (size_t k = 0; k < log->n_channels; k++) {
        const struct kw_channel *channel = &log->channels[k];
        size_t missing = 0;
        if (channel->values == NULL)
            continue;
        for (size_t i = 0; i < log->rows_used; i++) {
            missing += isnan(channel->values[i]) ? 1 : 0;
            check_true(label, !isinf(channel->values[i]));
        }
        check_true(label, missing == channel->missing);
    }
}
