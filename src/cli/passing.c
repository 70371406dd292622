/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Folders and files that are needed for a moment.
 *
 * gnuplot and the log reader want files; what lies in the book has to become
 * one, in a folder that only this program knows, and is gone before the command
 * ends. */
#include "cli/passing.h"

#include "core/file.h"
#include "core/text.h"

#include <errno.h>
#include <stdlib.h>
#include <unistd.h>

/* "/tmp/kartwright-Ab12Cd", made. mkdtemp() makes it for the owner alone and
 * under a name that cannot be guessed: nobody can put a link in its place. */
char *passing_folder(struct kw_error *error)
{
    /* Where the person or the system wants such files; a small /tmp is no
     * reason to fail. */
    const char *place = getenv("TMPDIR");
    struct kw_text name = {0};
    kw_text_add(&name, place == NULL || place[0] == '\0' ? "/tmp" : place);
    kw_text_add(&name, "/kartwright-XXXXXX");
    char *path = kw_text_take(&name, error);
    if (path != NULL && mkdtemp(path) == NULL) {
        kw_file_failed(error, path, "cannot be made", errno);
        free(path);
        return NULL;
    }
    return path;
}

enum kw_status pass_as_file(const struct passing_bytes *bytes,
                            use_passing *use,
                            void *to,
                            struct kw_error *error)
{
    char *folder = passing_folder(error);
    if (folder == NULL)
        return error->status;
    char *path = kw_file_within(folder, bytes->name, error);
    enum kw_status status =
        path == NULL
            ? KW_NO_MEMORY
            : kw_file_create(path, bytes->bytes, bytes->n_bytes, error);
    if (status == KW_OK)
        status = use(path, to, error);
    if (path != NULL)
        (void)unlink(path);
    (void)rmdir(folder);
    free(path);
    free(folder);
    return status;
}
