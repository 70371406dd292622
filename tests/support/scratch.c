/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A folder of its own for a test that writes files. */
#include "support/scratch.h"

#include "support/check.h"

#include <dirent.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

int scratch_begin(void **state)
{
    const char *parent = getenv("TMPDIR");
    char *path = malloc(SCRATCH_PATH_SIZE);
    assert_non_null(path);
    snprintf(path, SCRATCH_PATH_SIZE, "%s/kartwright-test-XXXXXX",
             parent == NULL ? "/tmp" : parent);
    assert_non_null(mkdtemp(path));
    *state = path;
    return 0;
}

/* Depth is that of the folders that the tests make: three. */
static void remove_all(const char *path)
{
    DIR *stream = opendir(path);
    struct dirent *entry;
    while (stream != NULL && (entry = readdir(stream)) != NULL) {
        char inner[SCRATCH_PATH_SIZE];
        if (strcmp(entry->d_name, ".") == 0 || strcmp(entry->d_name, "..") == 0)
            continue;
        scratch_path(inner, path, entry->d_name);
        if (unlink(inner) != 0)
            remove_all(inner);
    }
    if (stream != NULL)
        closedir(stream);
    rmdir(path);
}

int scratch_end(void **state)
{
    remove_all(*state);
    free(*state);
    return 0;
}

const char *scratch_path(char *buffer, const void *folder, const char *name)
{
    const int n = snprintf(buffer, SCRATCH_PATH_SIZE, "%s/%s",
                           (const char *)folder, name);
    assert_true(n > 0 && n < SCRATCH_PATH_SIZE);
    return buffer;
}

void scratch_write(const void *folder, const char *name, const char *text)
{
    char path[SCRATCH_PATH_SIZE];
    FILE *file = fopen(scratch_path(path, folder, name), "wb");
    assert_non_null(file);
    assert_int_equal(fwrite(text, 1, strlen(text), file), strlen(text));
    assert_int_equal(fclose(file), 0);
}

char *scratch_read(const void *folder, const char *name)
{
    enum { MOST = 4 * 1024 * 1024 };
    char path[SCRATCH_PATH_SIZE];
    FILE *file = fopen(scratch_path(path, folder, name), "rb");
    if (file == NULL)
        return NULL;
    char *text = malloc(MOST);
    assert_non_null(text);
    const size_t n = fread(text, 1, MOST - 1, file);
    text[n] = '\0';
    fclose(file);
    return text;
}

size_t scratch_count(const char *folder)
{
    size_t n = 0;
    DIR *stream = opendir(folder);
    assert_non_null(stream);
    while (readdir(stream) != NULL)
        n++;
    closedir(stream);
    return n - 2;
}

bool scratch_exists(const void *folder, const char *name)
{
    char path[SCRATCH_PATH_SIZE];
    struct stat about;
    return lstat(scratch_path(path, folder, name), &about) == 0;
}
