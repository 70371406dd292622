/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Files: a power cut in the garage must not cost the last good review. */
#include "support/check.h"

#include "core/file.h"
#include "support/scratch.h"

#include <errno.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

static void check_holds(const void *folder, const char *name, const char *text)
{
    char *found = scratch_read(folder, name);
    assert_non_null(found);
    assert_string_equal(found, text);
    free(found);
}

static void test_file__new_file_is_whole_and_alone(void **state)
{
    char path[SCRATCH_PATH_SIZE];
    scratch_path(path, *state, "review.json");
    assert_int_equal(kw_file_write(path, "{}\n", 3, NULL), KW_OK);
    check_holds(*state, "review.json", "{}\n");
    assert_int_equal(scratch_count(*state), 1);
}

/* The person's own permissions outlive a rewrite. */
static void test_file__old_file_is_replaced_and_keeps_its_mode(void **state)
{
    char path[SCRATCH_PATH_SIZE];
    struct stat about;
    scratch_write(*state, "a.json", "old and longer");
    scratch_path(path, *state, "a.json");
    assert_int_equal(chmod(path, 0600), 0);
    assert_int_equal(kw_file_write(path, "new", 3, NULL), KW_OK);
    check_holds(*state, "a.json", "new");
    assert_int_equal(stat(path, &about), 0);
    assert_int_equal(about.st_mode & 0777, 0600);
    assert_int_equal(scratch_count(*state), 1);
}

static void test_file__link_stays_a_link(void **state)
{
    char path[SCRATCH_PATH_SIZE];
    struct stat about;
    scratch_write(*state, "real.json", "old");
    scratch_path(path, *state, "link.json");
    assert_int_equal(symlink("real.json", path), 0);
    assert_int_equal(kw_file_write(path, "new", 3, NULL), KW_OK);
    assert_int_equal(lstat(path, &about), 0);
    assert_true(S_ISLNK(about.st_mode));
    check_holds(*state, "real.json", "new");
}

/* A device is written to and never renamed over. */
static void test_file__full_disk_is_told_and_null_device_survives(void **state)
{
    (void)state;
    struct kw_error error = {0};
    struct stat about;
    assert_int_equal(kw_file_write("/dev/null", "x", 1, NULL), KW_OK);
    assert_int_equal(stat("/dev/null", &about), 0);
    assert_true(S_ISCHR(about.st_mode));
    if (access("/dev/full", W_OK) != 0)
        skip();
    assert_int_equal(kw_file_write("/dev/full", "x", 1, &error), KW_IO_FAILED);
    assert_string_equal(error.file, "/dev/full");
    assert_non_null(strstr(error.what, "cannot be written"));
    assert_non_null(strstr(error.todo, "make room"));
}

static void test_file__missing_folder_is_told_with_what_to_do(void **state)
{
    char path[SCRATCH_PATH_SIZE];
    struct kw_error error = {0};
    scratch_path(path, *state, "none/review.json");
    assert_int_equal(kw_file_write(path, "x", 1, &error), KW_IO_FAILED);
    assert_string_equal(error.file, path);
    assert_non_null(strstr(error.todo, "folder"));
    assert_int_equal(scratch_count(*state), 0);
}

static void test_file__folder_in_its_place_is_refused(void **state)
{
    char path[SCRATCH_PATH_SIZE];
    scratch_path(path, *state, "folder");
    assert_int_equal(mkdir(path, 0777), 0);
    assert_int_equal(kw_file_write(path, "x", 1, NULL), KW_IO_FAILED);
    assert_int_equal(scratch_count(*state), 1);
}

/* The same answers as the writing gives, and nothing is touched. */
static void test_file__place_is_told_before_the_work(void **state)
{
    char path[SCRATCH_PATH_SIZE];
    struct kw_error error = {0};
    assert_int_equal(
        kw_file_check_place(scratch_path(path, *state, "new"), NULL), KW_OK);
    assert_int_equal(scratch_count(*state), 0);
    scratch_write(*state, "a", "mine");
    assert_int_equal(kw_file_check_place(scratch_path(path, *state, "a"), NULL),
                     KW_OK);
    assert_int_equal(
        kw_file_check_place(scratch_path(path, *state, "none/a"), &error),
        KW_IO_FAILED);
    assert_string_equal(error.file, path);
    assert_non_null(strstr(error.todo, "folder"));
    assert_int_equal(kw_file_check_place(*state, NULL), KW_IO_FAILED);
    assert_int_equal(kw_file_check_place("/dev/null", NULL), KW_OK);
    assert_int_equal(kw_file_check_place("new", NULL), KW_OK);
    check_holds(*state, "a", "mine");
    assert_int_equal(scratch_count(*state), 1);
}

static void test_file__create_never_overwrites(void **state)
{
    char path[SCRATCH_PATH_SIZE];
    scratch_write(*state, "a", "mine");
    scratch_path(path, *state, "a");
    assert_int_equal(kw_file_create(path, "x", 1, NULL), KW_IO_FAILED);
    check_holds(*state, "a", "mine");
}

static void test_file__read_gives_all_bytes_and_refuses_longer_files(
    void **state)
{
    char path[SCRATCH_PATH_SIZE];
    struct kw_text text = {0};
    struct kw_error error = {0};
    scratch_write(*state, "a", "12345");
    scratch_path(path, *state, "a");
    assert_int_equal(kw_file_read(path, 5, &text, NULL), KW_OK);
    assert_int_equal(text.length, 5);
    assert_string_equal(text.bytes, "12345");
    kw_text_free(&text);
    assert_int_equal(kw_file_read(path, 4, &text, &error), KW_IO_FAILED);
    assert_non_null(strstr(error.todo, "smaller"));
    kw_text_free(&text);
}

/* A photo that is not there is no matter of a folder, and one that may not be
 * read no matter of a place to write to. */
static void test_file__what_cannot_be_read_is_told_as_such(void **state)
{
    static const struct {
        const char *label;
        int failed;
        const char *todo;
    } cases[] = {{"not there", ENOENT, "check its name"},
                 {"below a file", ENOTDIR, "check its name"},
                 {"not allowed", EACCES, "change its rights"},
                 {"a folder", EISDIR, "a file in it"}};
    (void)state;
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        struct kw_error error = {0};
        kw_file_unread(&error, "a.jpg", cases[i].failed);
        if (strstr(error.todo, cases[i].todo) == NULL)
            fail_msg("%s: %s", cases[i].label, error.todo);
        assert_non_null(strstr(error.what, "cannot be read"));
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        IN_SCRATCH(test_file__new_file_is_whole_and_alone),
        IN_SCRATCH(test_file__old_file_is_replaced_and_keeps_its_mode),
        IN_SCRATCH(test_file__link_stays_a_link),
        cmocka_unit_test(test_file__full_disk_is_told_and_null_device_survives),
        IN_SCRATCH(test_file__missing_folder_is_told_with_what_to_do),
        IN_SCRATCH(test_file__folder_in_its_place_is_refused),
        IN_SCRATCH(test_file__place_is_told_before_the_work),
        IN_SCRATCH(test_file__create_never_overwrites),
        IN_SCRATCH(test_file__read_gives_all_bytes_and_refuses_longer_files),
        cmocka_unit_test(test_file__what_cannot_be_read_is_told_as_such),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
