/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The printed page: whole in itself, and no text from outside becomes markup.
 */
#include "support/check.h"

#include "kartwright/report.h"
#include "support/scratch.h"
#include "support/season.h"

#include <stdlib.h>
#include <string.h>

static char *print_all(struct season *season)
{
    char *html = NULL;
    struct kw_error error = {0};
    if (kw_logbook_print(season->book, 0, season_day(9.0), &html, &error) !=
        KW_OK)
        fail_msg("print: %s", error.what);
    return html;
}

static int64_t note_with(struct season *season,
                         const char *text,
                         const struct kw_file_copy *file)
{
    const struct kw_new_entry note = {.at_s = season_day(1.0),
                                      .text = text,
                                      .files = file,
                                      .n_files = file == NULL ? 0 : 1};
    int64_t id = 0;
    assert_int_equal(kw_logbook_note(season->book, &note, &id, NULL), KW_OK);
    return id;
}

/* A buyer opens the page in a browser: a note must not run there. */
static void test_logbook_page__hostile_text_stays_text(void **state)
{
    static const char hostile[] =
        "<script>x</script> & \"quoted\" 'too' \033[0m";
    const struct kw_file_copy file = {"\"><img src=x>.png", "bytes", 5};
    struct season season;
    season_begin(&season, *state);
    season.kart = "<b>Number 7";
    season_fit(&season, 0.0, "<i>chain", 1.0);
    season_session_with(&season, 0.5, "<u>fuel line", KW_WATCH);
    note_with(&season, hostile, &file);
    char *html = print_all(&season);
    season_end(&season);
    assert_null(strstr(html, "<script"));
    assert_null(strstr(html, "<b>"));
    assert_null(strstr(html, "<i>"));
    assert_null(strstr(html, "<u>"));
    assert_null(strstr(html, "src=x>"));
    assert_null(strchr(html, '\033'));
    assert_non_null(strstr(html, "&lt;script&gt;x&lt;/script&gt; &amp;"));
    free(html);
}

/* RFC 4648, section 10: its test vectors, as pictures. */
static void test_logbook_page__pictures_are_in_the_page(void **state)
{
    static const char *const vectors[][2] = {
        {"f", "base64,Zg==\""},         {"fo", "base64,Zm8=\""},
        {"foo", "base64,Zm9v\""},       {"foob", "base64,Zm9vYg==\""},
        {"fooba", "base64,Zm9vYmE=\""}, {"foobar", "base64,Zm9vYmFy\""}};
    struct season season;
    season_begin(&season, *state);
    for (size_t i = 0; i < sizeof vectors / sizeof vectors[0]; i++) {
        const struct kw_file_copy file = {"photo.JPG", vectors[i][0],
                                          strlen(vectors[i][0])};
        note_with(&season, "photo", &file);
    }
    char *html = print_all(&season);
    season_end(&season);
    for (size_t i = 0; i < sizeof vectors / sizeof vectors[0]; i++)
        check_true(vectors[i][0], strstr(html, vectors[i][1]) != NULL);
    assert_null(strstr(html, "http"));
    free(html);
}

/* Everything that is due and every part stands on the page. */
static void test_logbook_page__tells_what_the_book_holds(void **state)
{
    struct season season;
    season_begin(&season, *state);
    season_fit(&season, 0.0, "clutch lining", 0.25);
    season_session_with(&season, 1.0, "fuel line", KW_BEFORE_NEXT_RUN);
    season_watch(&season, 2.0, "hairline at the seat stay", false);
    char *html = print_all(&season);
    assert_non_null(strstr(html, "0.25 of 0.25 h"));
    assert_non_null(strstr(html, "Look at it"));
    assert_non_null(strstr(html, "hairline at the seat stay"));
    assert_non_null(strstr(html, "second look: clutch lining"));
    assert_non_null(strstr(html, "A second look: what was taken apart"));
    free(html);
    html = NULL;
    assert_int_equal(
        kw_logbook_print(season.book, 99, season_day(9.0), &html, NULL),
        KW_BAD_INPUT);
    assert_null(html);
    season_end(&season);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        IN_SCRATCH(test_logbook_page__hostile_text_stays_text),
        IN_SCRATCH(test_logbook_page__pictures_are_in_the_page),
        IN_SCRATCH(test_logbook_page__tells_what_the_book_holds),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
