/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A folder of its own for a test that writes files. */
#ifndef KARTWRIGHT_TESTS_SCRATCH_H
#define KARTWRIGHT_TESTS_SCRATCH_H

#include <stdbool.h>
#include <stddef.h>

enum { SCRATCH_PATH_SIZE = 512 };

/* cmocka set-up and tear-down: *state is the path of an empty folder, which is
 * removed with all that is in it. */
int scratch_begin(void **state);
int scratch_end(void **state);

/* One row of a group of tests, run in such a folder. */
#define IN_SCRATCH(test)                                                       \
    cmocka_unit_test_setup_teardown(test, scratch_begin, scratch_end)

/* folder/name in a buffer of SCRATCH_PATH_SIZE bytes; returns buffer. */
const char *scratch_path(char *buffer, const void *folder, const char *name);

/* Writes a small file; fails the test when it cannot. */
void scratch_write(const void *folder, const char *name, const char *text);

/* Reads a small file to a closed string; the caller frees it. NULL when there
 * is none. */
char *scratch_read(const void *folder, const char *name);

/* How many names the folder holds, without "." and "..". */
size_t scratch_count(const char *folder);

bool scratch_exists(const void *folder, const char *name);

#endif
