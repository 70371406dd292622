/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Headings made comparable, whatever the editor that saved them. */
#include "support/check.h"

#include "import/fold.h"

#include <string.h>

struct fold_case {
    const char *label;
    const char *from;
    const char *to;
};

static void test_fold__case_accents_and_camels_go(void **state)
{
    (void)state;
    static const struct fold_case cases[] = {
        {"case", "RPM", "rpm"},
        {"camel", "engineSpeed", "engine speed"},
        {"capital letter glued", "TKopf", "t kopf"},
        {"abbreviation glued", "EGTMin", "egt min"},
        {"abbreviation before small letters", "RPMlimit", "rpm limit"},
        {"abbreviation that ends in its letter", "CHTemp", "cht emp"},
        {"plural", "RPMs", "rpms"},
        {"word of capitals", "WATERtemp", "watertemp"},
        {"letter between words", "valvolaAFarfalla", "valvola a farfalla"},
        {"other letter", "LTime", "ltime"},
        {"g", "GForce", "gforce"},
        {"underscores", "Engine_Speed", "engine speed"},
        {"accents",
         "R\xC3\xA9gime \xC3\x89"
         "chappement",
         "regime echappement"},
        {"accents in Latin-1", "R\xE9gime", "regime"},
        {"sharp s", "Ma\xC3\x9F", "mass"},
        {"degree",
         "EGT [\xC2\xB0"
         "C]",
         "egt [c]"},
        {"degree in Latin-1",
         "EGT [\xB0"
         "C]",
         "egt [c]"},
        {"degree in one sign", "EGT [\xE2\x84\x83]", "egt [c]"},
        {"superscripts", "min\xE2\x81\xBB\xC2\xB9 m/s\xC2\xB2", "min-1 m/s2"},
        {"micro", "\xC2\xB5s", "us"},
        {"oe", "n\xC5\x93uds", "noeuds"},
        {"other letters", "\xCE\xA9 \xD0\xAF", "   "},
        {"accents apart", "Re\xCC\x81gime", "regime"},
        {"soft hyphen", "R\xC2\xADPM", "rpm"},
        {"no width", "\xE2\x80\x8BRPM\xEF\xBB\xBF", "rpm"},
        {"Cyrillic E in a Latin word", "\xD0\x95GT", "egt"},
        {"Cyrillic T at an end", "EG\xD0\xA2", "egt"},
        {"a Cyrillic word", "\xD0\xA2\xD0\x95 C", "   c"},
        {"quotes and dots", "\"Temp.\" d'eau", " temp   d'eau"},
        {"nothing", "", ""},
    };
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        char out[KW_FOLDED_SIZE];
        kw_fold(cases[i].from, out);
        if (strcmp(out, cases[i].to) != 0)
            fail_msg("%s: got '%s'", cases[i].label, out);
    }
}

/* A heading of any length stays inside its buffer. */
static void test_fold__long_headings_are_cut(void **state)
{
    (void)state;
    char from[4000];
    char out[KW_FOLDED_SIZE];
    for (size_t i = 0; i + 1 < sizeof from; i++)
        from[i] = i % 2 == 0 ? 'a' : 'B';
    from[sizeof from - 1] = '\0';
    kw_fold(from, out);
    assert_in_range(strlen(out), KW_FOLDED_SIZE / 2, KW_FOLDED_SIZE - 1);
    memset(from, '\xE9', sizeof from - 1);
    kw_fold(from, out);
    assert_in_range(strlen(out), 1, KW_FOLDED_SIZE - 1);
}

static void test_fold__any_bytes_become_utf8(void **state)
{
    (void)state;
    static const struct fold_case cases[] = {
        {"UTF-8 stays",
         "\xC2\xB0"
         "C",
         "\xC2\xB0"
         "C"},
        {"Latin-1",
         "\xB0"
         "C",
         "\xC2\xB0"
         "C"},
        {"Windows apostrophe",
         "d\x92\xE9"
         "chap",
         "d\xE2\x80\x99\xC3\xA9"
         "chap"},
        {"Windows euro", "\x80", "\xE2\x82\xAC"},
        {"free byte", "\x81", "\xEF\xBF\xBD"},
        {"cut", "12345678901234567890", "123456789012"},
        {"cut at a character", "12345678901\xE2\x82\xAC", "12345678901"},
    };
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        char out[15];
        kw_to_utf8(cases[i].from, strlen(cases[i].from), out, sizeof out);
        if (strcmp(out, cases[i].to) != 0)
            fail_msg("%s: got '%s'", cases[i].label, out);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_fold__case_accents_and_camels_go),
        cmocka_unit_test(test_fold__long_headings_are_cut),
        cmocka_unit_test(test_fold__any_bytes_become_utf8),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
