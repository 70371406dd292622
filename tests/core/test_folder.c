/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Folders: the report is whole or not there, and no photo that somebody put
 * beside it is ever lost. */
#include "support/check.h"

#include "core/folder.h"
#include "support/scratch.h"

#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

static const struct kw_folder_kind kind = {
    .noun = "report",
    .marker = "ours.txt",
    .about = "A folder of the tests.\nSecond line.\n"};

/* Makes a folder with one file; returns the status of the last step. */
static enum kw_status make(const char *target,
                           const char *text,
                           struct kw_error *error)
{
    struct kw_folder folder;
    enum kw_status status = kw_folder_begin(&folder, target, &kind, error);
    if (status == KW_OK)
        status = kw_folder_add(&folder, "page", text, strlen(text), error);
    if (status == KW_OK)
        status = kw_folder_commit(&folder, error);
    kw_folder_end(&folder);
    return status;
}

static void check_page(const void *scratch, const char *text)
{
    char *page = scratch_read(scratch, "out/page");
    assert_non_null(page);
    assert_string_equal(page, text);
    free(page);
}

static void test_folder__new_one_appears_whole(void **state)
{
    char target[SCRATCH_PATH_SIZE];
    scratch_path(target, *state, "out/");
    assert_int_equal(make(target, "first", NULL), KW_OK);
    check_page(*state, "first");
    assert_true(scratch_exists(*state, "out/ours.txt"));
    assert_int_equal(scratch_count(*state), 1);
}

static void test_folder__empty_one_is_filled(void **state)
{
    char target[SCRATCH_PATH_SIZE];
    scratch_path(target, *state, "out");
    assert_int_equal(mkdir(target, 0777), 0);
    assert_int_equal(make(target, "first", NULL), KW_OK);
    check_page(*state, "first");
    assert_int_equal(scratch_count(*state), 1);
}

static void test_folder__earlier_one_is_replaced_whole(void **state)
{
    char target[SCRATCH_PATH_SIZE];
    scratch_path(target, *state, "out");
    assert_int_equal(make(target, "first", NULL), KW_OK);
    assert_int_equal(make(target, "second", NULL), KW_OK);
    check_page(*state, "second");
    assert_int_equal(scratch_count(target), 2);
    assert_int_equal(scratch_count(*state), 1);
}

/* Somebody keeps a photo of the plug beside the report. */
static void test_folder__file_of_the_user_is_never_lost(void **state)
{
    char target[SCRATCH_PATH_SIZE];
    struct kw_error error = {0};
    scratch_path(target, *state, "out");
    assert_int_equal(make(target, "first", NULL), KW_OK);
    scratch_write(*state, "out/plug.jpg", "photo");
    assert_int_equal(make(target, "second", &error), KW_BAD_INPUT);
    assert_non_null(strstr(error.what, "plug.jpg"));
    assert_true(scratch_exists(*state, "out/plug.jpg"));
    check_page(*state, "first");
    assert_int_equal(scratch_count(*state), 1);
}

/* The same while the plots are being drawn. */
static void test_folder__file_that_came_meanwhile_is_never_lost(void **state)
{
    char target[SCRATCH_PATH_SIZE];
    struct kw_folder folder;
    scratch_path(target, *state, "out");
    assert_int_equal(make(target, "first", NULL), KW_OK);
    assert_int_equal(kw_folder_begin(&folder, target, &kind, NULL), KW_OK);
    scratch_write(*state, "out/plug.jpg", "photo");
    assert_int_equal(kw_folder_commit(&folder, NULL), KW_BAD_INPUT);
    kw_folder_end(&folder);
    assert_true(scratch_exists(*state, "out/plug.jpg"));
    check_page(*state, "first");
    assert_int_equal(scratch_count(*state), 1);
}

static void test_folder__foreign_things_are_refused(void **state)
{
    static const struct {
        const char *label;
        const char *file;
        const char *text;
    } rows[] = {{"a folder with a page", "out/index.html", "mine"},
                {"a marker that is not ours", "out/ours.txt", "shopping"},
                {"an empty marker", "out/ours.txt", ""}};
    char target[SCRATCH_PATH_SIZE];
    scratch_path(target, *state, "out");
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        char path[SCRATCH_PATH_SIZE];
        assert_int_equal(mkdir(target, 0777), 0);
        scratch_write(*state, rows[i].file, rows[i].text);
        check_true(rows[i].label,
                   kw_folder_check(target, &kind, NULL) == KW_BAD_INPUT);
        check_true(rows[i].label, make(target, "x", NULL) == KW_BAD_INPUT);
        check_true(rows[i].label, scratch_exists(*state, rows[i].file));
        unlink(scratch_path(path, *state, rows[i].file));
        rmdir(target);
    }
    scratch_write(*state, "out", "a file");
    assert_int_equal(make(target, "x", NULL), KW_BAD_INPUT);
    assert_int_equal(scratch_count(*state), 1);
    assert_int_equal(kw_folder_check("", &kind, NULL), KW_BAD_INPUT);
}

static void test_folder__unfinished_one_leaves_nothing(void **state)
{
    char target[SCRATCH_PATH_SIZE];
    struct kw_folder folder;
    scratch_path(target, *state, "out");
    assert_int_equal(kw_folder_begin(&folder, target, &kind, NULL), KW_OK);
    assert_int_equal(kw_folder_add(&folder, "page", "x", 1, NULL), KW_OK);
    assert_int_equal(kw_folder_add(&folder, "page", "x", 1, NULL),
                     KW_IO_FAILED);
    kw_folder_end(&folder);
    assert_int_equal(scratch_count(*state), 0);
}

static void test_folder__link_leads_to_the_folder_itself(void **state)
{
    char target[SCRATCH_PATH_SIZE];
    char link[SCRATCH_PATH_SIZE];
    scratch_path(target, *state, "out");
    scratch_path(link, *state, "link");
    assert_int_equal(make(target, "first", NULL), KW_OK);
    assert_int_equal(symlink("out", link), 0);
    assert_int_equal(make(link, "second", NULL), KW_OK);
    check_page(*state, "second");
    assert_int_equal(scratch_count(*state), 2);
}

/* Else the folder would be made and could not take its place. */
static void test_folder__link_to_nothing_is_refused(void **state)
{
    char link[SCRATCH_PATH_SIZE];
    struct kw_error error = {0};
    scratch_path(link, *state, "link");
    assert_int_equal(symlink("nowhere", link), 0);
    assert_int_equal(kw_folder_check(link, &kind, &error), KW_BAD_INPUT);
    assert_non_null(strstr(error.what, "is a link"));
    assert_int_equal(make(link, "first", NULL), KW_BAD_INPUT);
    assert_int_equal(scratch_count(*state), 1);
}

static void test_folder__place_that_cannot_be_is_told(void **state)
{
    char target[SCRATCH_PATH_SIZE];
    struct kw_error error = {0};
    scratch_path(target, *state, "none/out");
    assert_int_equal(make(target, "x", &error), KW_IO_FAILED);
    assert_string_equal(error.file, target);
    assert_int_equal(scratch_count(*state), 0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        IN_SCRATCH(test_folder__new_one_appears_whole),
        IN_SCRATCH(test_folder__empty_one_is_filled),
        IN_SCRATCH(test_folder__earlier_one_is_replaced_whole),
        IN_SCRATCH(test_folder__file_of_the_user_is_never_lost),
        IN_SCRATCH(test_folder__file_that_came_meanwhile_is_never_lost),
        IN_SCRATCH(test_folder__foreign_things_are_refused),
        IN_SCRATCH(test_folder__unfinished_one_leaves_nothing),
        IN_SCRATCH(test_folder__link_leads_to_the_folder_itself),
        IN_SCRATCH(test_folder__link_to_nothing_is_refused),
        IN_SCRATCH(test_folder__place_that_cannot_be_is_told),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
