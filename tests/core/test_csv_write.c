/* SPDX-License-Identifier: GPL-3.0-or-later */
/* CSV for a spreadsheet: what is written is read back as it was, and nothing of
 * it is run. */
#include "support/check.h"

#include "core/csv_write.h"

#include <csv.h>
#include <stdlib.h>
#include <string.h>

/* Rows of RFC 4180, and the guard. */
static void test_csv_write__cells_are_as_the_standard_has_them(void **state)
{
    static const struct {
        const char *label;
        const char *text;
        const char *written;
    } cases[] = {
        {"none", NULL, ""},
        {"empty", "", ""},
        {"plain", "chain", "chain"},
        {"comma", "a,b", "\"a,b\""},
        {"quote", "6\" hose", "\"6\"\" hose\""},
        {"line", "a\nb", "\"a\nb\""},
        {"blank", " a", "\" a\""},
        {"umlaut", "M\xC3\xBCller", "M\xC3\xBCller"},
        {"control", "a\033[0mb", "a\xEF\xBF\xBD[0mb"},
        {"no UTF-8", "a\xFF", "a\xEF\xBF\xBD"},
        {"formula", "=1+1", "'=1+1"},
        {"plus", "+1", "'+1"},
        {"minus", "-1", "'-1"},
        {"at", "@SUM(A1)", "'@SUM(A1)"},
        {"tab", "\t=1", "\"'\t=1\""},
        {"blank first", " =1", "\"' =1\""},
        {"line first", "\n=1", "\"'\n=1\""},
        {"quoted", "=A1,B1", "\"'=A1,B1\""},
        {"wide", "\xEF\xBC\x9D\x31", "'\xEF\xBC\x9D\x31"},
        {"apostrophe", "'tis", "''tis"},
        {"inside", "a=b", "a=b"},
    };
    (void)state;
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        struct kw_text text = {0};
        struct kw_csv csv = {.out = &text};
        kw_csv_text(&csv, cases[i].text);
        kw_csv_end_row(&csv);
        const size_t n = strlen(cases[i].written);
        check_true(cases[i].label,
                   text.length == n + 2 &&
                       memcmp(text.bytes, cases[i].written, n) == 0 &&
                       strcmp(text.bytes + n, "\r\n") == 0);
        kw_text_free(&text);
    }
}

/* Cells as another library reads them. */
struct cells {
    char *items[16];
    size_t n;
    size_t rows;
};

static void on_cell(void *field, size_t length, void *data)
{
    struct cells *cells = data;
    char *copy = calloc(length + 1, 1);
    assert_non_null(copy);
    assert_true(cells->n < 16);
    memcpy(copy, field, length);
    cells->items[cells->n++] = copy;
}

static void on_row(int end, void *data)
{
    (void)end;
    ((struct cells *)data)->rows++;
}

/* One leading apostrophe taken off gives the text again, whatever it was. */
static void test_csv_write__another_reader_gets_the_texts_back(void **state)
{
    static const char *const texts[] = {
        "=cmd|' /C calc'!A0", "'quoted'", "''", "-", "two\r\nlines, \"q\"",
        " blanks ",           "plain",    "",   "+"};
    const size_t n = sizeof texts / sizeof texts[0];
    struct kw_text text = {0};
    struct kw_csv csv = {.out = &text};
    struct csv_parser parser;
    struct cells cells = {0};
    (void)state;
    for (size_t i = 0; i < n; i++)
        kw_csv_text(&csv, texts[i]);
    kw_csv_end_row(&csv);
    assert_int_equal(csv_init(&parser, CSV_STRICT), 0);
    assert_int_equal(
        csv_parse(&parser, text.bytes, text.length, on_cell, on_row, &cells),
        text.length);
    csv_fini(&parser, on_cell, on_row, &cells);
    csv_free(&parser);
    assert_int_equal(cells.rows, 1);
    assert_int_equal(cells.n, n);
    for (size_t i = 0; i < n; i++) {
        const char *cell = cells.items[i];
        assert_null(strchr("=+-@", cell[0] == '\0' ? 'x' : cell[0]));
        assert_string_equal(cell[0] == '\'' ? cell + 1 : cell, texts[i]);
        free(cells.items[i]);
    }
    kw_text_free(&text);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_csv_write__cells_are_as_the_standard_has_them),
        cmocka_unit_test(test_csv_write__another_reader_gets_the_texts_back),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
