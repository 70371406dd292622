/* SPDX-License-Identifier: GPL-3.0-or-later */
/* SHA-256 against the published examples of FIPS 180-4 and against sha256sum:
 * the logbook counts a log once because it knows it again by this sum. */
#include "support/check.h"

#include "core/sha256.h"
#include "support/other_program.h"
#include "support/scratch.h"

#include <stdlib.h>
#include <string.h>

static void digest_of(const void *bytes, size_t n, char text[KW_SHA256_TEXT])
{
    struct kw_sha256 sum;
    unsigned char digest[KW_SHA256_BYTES];
    kw_sha256_begin(&sum);
    kw_sha256_add(&sum, bytes, n);
    kw_sha256_end(&sum, digest);
    kw_sha256_text(digest, text);
}

/* The first two and the million letters stand in FIPS 180-4's example values
 * (csrc.nist.gov, from memory); the empty text is coreutils' `sha256sum
 * </dev/null`. */
static void test_sha256__published_examples_agree(void **state)
{
    (void)state;
    static const struct {
        const char *text;
        const char *digest;
    } cases[] = {
        {"",
         "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855"},
        {"abc",
         "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"},
        {"abcdbcdecdefdefgefghfghighijhijkijkljklmklmnlmnomnopnopq",
         "248d6a61d20638b8e5c026930c3e6039a33ce45964ff2167f6ecedd419db06c1"},
    };
    char text[KW_SHA256_TEXT];
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        digest_of(cases[i].text, strlen(cases[i].text), text);
        assert_string_equal(text, cases[i].digest);
    }
    char *million = malloc(1000000);
    assert_non_null(million);
    memset(million, 'a', 1000000);
    digest_of(million, 1000000, text);
    free(million);
    assert_string_equal(
        text,
        "cdc76e5c9914fb9281a1c7e284d73e67f1809a48a497200e046d39ccc7112cd0");
}

/* A log is read in pieces of any size: the sum must not notice. */
static void test_sha256__pieces_give_the_same_sum(void **state)
{
    (void)state;
    unsigned char bytes[300];
    char whole[KW_SHA256_TEXT];
    for (size_t i = 0; i < sizeof bytes; i++)
        bytes[i] = (unsigned char)(i * 7);
    digest_of(bytes, sizeof bytes, whole);
    for (size_t piece = 1; piece < sizeof bytes; piece++) {
        struct kw_sha256 sum;
        unsigned char digest[KW_SHA256_BYTES];
        char text[KW_SHA256_TEXT];
        kw_sha256_begin(&sum);
        for (size_t at = 0; at < sizeof bytes; at += piece) {
            const size_t left = sizeof bytes - at;
            kw_sha256_add(&sum, bytes + at, left < piece ? left : piece);
        }
        kw_sha256_end(&sum, digest);
        assert_string_equal(kw_sha256_text(digest, text), whole);
    }
}

/* Lengths round the edges of a block and of the padding, by another program. */
static void test_sha256__files_agree_with_sha256sum(void **state)
{
    static const size_t lengths[] = {0,  1,   55,  56,  57,  63,   64,
                                     65, 119, 120, 127, 128, 70000};
    char *content = calloc(1, 70001);
    assert_non_null(content);
    for (size_t i = 0; i < sizeof lengths / sizeof lengths[0]; i++) {
        char path[SCRATCH_PATH_SIZE];
        char ours[KW_SHA256_TEXT];
        /* Its 64 digits, and the name of the file, which is cut. */
        char theirs[KW_SHA256_TEXT];
        char *const words[] = {"sha256sum", path, NULL};
        unsigned char digest[KW_SHA256_BYTES];
        uint64_t n_bytes = 1;
        memset(content, 'k', lengths[i]);
        content[lengths[i]] = '\0';
        scratch_write(*state, "log", content);
        scratch_path(path, *state, "log");
        assert_int_equal(kw_sha256_file(path, digest, &n_bytes, NULL), KW_OK);
        assert_int_equal(n_bytes, lengths[i]);
        if (!ask_program(words, theirs, sizeof theirs)) {
            free(content);
            skip();
        }
        assert_string_equal(kw_sha256_text(digest, ours), theirs);
    }
    free(content);
}

static void test_sha256__missing_file_is_refused(void **state)
{
    char path[SCRATCH_PATH_SIZE];
    unsigned char digest[KW_SHA256_BYTES];
    uint64_t n_bytes = 0;
    struct kw_error error = {0};
    scratch_path(path, *state, "none");
    assert_int_equal(kw_sha256_file(path, digest, &n_bytes, &error),
                     KW_IO_FAILED);
    assert_string_equal(error.file, path);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_sha256__published_examples_agree),
        cmocka_unit_test(test_sha256__pieces_give_the_same_sum),
        IN_SCRATCH(test_sha256__files_agree_with_sha256sum),
        IN_SCRATCH(test_sha256__missing_file_is_refused),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
