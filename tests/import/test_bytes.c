/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The bytes of a log: UTF-16 turned into UTF-8 whatever lies across the blocks
 * in which it is read. Pairs of surrogates from RFC 2781, section 2. */
#include "support/check.h"

#include "import/bytes.h"
#include "support/log_file.h"
#include "support/scratch.h"

#include <string.h>

/* Reads the whole log in blocks of `size` bytes. */
static size_t read_all(const void *folder, size_t size, char *out, size_t most)
{
    char path[SCRATCH_PATH_SIZE];
    struct kw_bytes bytes;
    size_t n = 0;
    size_t length = 0;
    scratch_path(path, folder, "log.csv");
    assert_int_equal(kw_bytes_open(&bytes, path, NULL), KW_OK);
    do {
        char block[4096];
        assert_true(size <= sizeof block);
        assert_int_equal(kw_bytes_read(&bytes, block, size, &length, NULL),
                         KW_OK);
        assert_true(length <= size && n + length <= most);
        memcpy(out + n, block, length);
        n += length;
    } while (length > 0);
    kw_bytes_close(&bytes);
    kw_bytes_close(&bytes);
    return n;
}

struct form_case {
    const char *label;
    const char *bytes;
    size_t length;
    const char *text;
};

#define BYTES(text) text, sizeof(text) - 1

static const struct form_case forms[] = {
    {"plain", BYTES("Time,RPM\n"), "Time,RPM\n"},
    {"UTF-8 mark", BYTES("\xEF\xBB\xBFTime"), "Time"},
    {"little end first",
     BYTES("\xFF\xFE"
           "a\0\xE9\0\xAC\x20"),
     "a\xC3\xA9\xE2\x82\xAC"},
    {"big end first",
     BYTES("\xFE\xFF"
           "\0a\0\xE9\x20\xAC"),
     "a\xC3\xA9\xE2\x82\xAC"},
    {"pair of surrogates", BYTES("\xFE\xFF\xD8\x08\xDF\x45"),
     "\xF0\x92\x8D\x85"},
    {"lone low surrogate", BYTES("\xFE\xFF\xDF\x45\0a"),
     "\xEF\xBF\xBD"
     "a"},
    {"high surrogate without its low one", BYTES("\xFE\xFF\xD8\x08\0a"), "a"},
    {"odd byte at the end", BYTES("\xFE\xFF\0a\0"), "a"},
    {"no mark, little end first", BYTES("T\0i\0m\0e\0,\0R\0P\0M\0"),
     "Time,RPM"},
    {"no mark, big end first", BYTES("\0T\0i\0m\0e\0,\0R\0P\0M"), "Time,RPM"},
    {"nothing", BYTES(""), ""},
    {"one byte", BYTES("T"), "T"},
};

static void test_bytes__every_form_becomes_utf8(void **state)
{
    for (size_t i = 0; i < sizeof forms / sizeof forms[0]; i++) {
        char out[256];
        log_write(*state, forms[i].bytes, forms[i].length);
        const size_t n = read_all(*state, 64, out, sizeof out);
        check_true(forms[i].label, n == strlen(forms[i].text));
        check_true(forms[i].label, memcmp(out, forms[i].text, n) == 0);
    }
}

/* Each size of block cuts the text elsewhere: the result is the same. */
static void test_bytes__blocks_leave_no_seam(void **state)
{
    char wide[6002] = "\xFE\xFF";
    char expected[8000];
    char out[8000];
    size_t n_wide = 2;
    size_t n_expected = 0;
    while (n_wide + 6 <= sizeof wide) {
        memcpy(wide + n_wide, "\0a\xD8\x08\xDF\x45", 6);
        memcpy(expected + n_expected, "a\xF0\x92\x8D\x85", 5);
        n_wide += 6;
        n_expected += 5;
    }
    log_write(*state, wide, n_wide);
    for (size_t size = 64; size < 80; size++) {
        assert_int_equal(read_all(*state, size, out, sizeof out), n_expected);
        assert_memory_equal(out, expected, n_expected);
    }
}

/* How long the rows' arrays will be is told from it before they are read. */
static void test_bytes__size_is_that_of_the_file(void **state)
{
    char path[SCRATCH_PATH_SIZE];
    struct kw_bytes bytes;
    log_write(*state, "Time,RPM\n", 9);
    scratch_path(path, *state, "log.csv");
    assert_int_equal(kw_bytes_open(&bytes, path, NULL), KW_OK);
    assert_int_equal(bytes.size, 9);
    kw_bytes_close(&bytes);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        IN_SCRATCH(test_bytes__every_form_becomes_utf8),
        IN_SCRATCH(test_bytes__blocks_leave_no_seam),
        IN_SCRATCH(test_bytes__size_is_that_of_the_file),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
