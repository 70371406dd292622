/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The kart profile. A limit that is misspelt and silently not used may cost an
 * engine: what is not understood is refused with its line. */
#include "support/check.h"

#include "core/file.h"
#include "kartwright/profile.h"
#include "support/scratch.h"

#include <stdio.h>
#include <string.h>

static enum kw_status read_text(const void *folder,
                                const char *text,
                                struct kw_profile *profile,
                                struct kw_error *error)
{
    char path[SCRATCH_PATH_SIZE];
    scratch_write(folder, "kart.ini", text);
    return kw_profile_read(scratch_path(path, folder, "kart.ini"), profile,
                           error);
}

/* The profile that the contract shows. */
static const char whole[] =
    "[kart]\n"
    "name = Number 7\n"
    "mass_kg = 165                 ; kart and driver, ready to race\n"
    "tyre_circumference_mm = 850   ; driven wheels\n"
    "engine_teeth = 11\n"
    "axle_teeth = 78\n"
    "\n"
    "[engine]\n"
    "idle_rpm = 2200\n"
    "max_rpm = 15500\n"
    "clutch_rpm = 4300             ; where the clutch starts to take load\n"
    "egt_limit_c = 660.5           ; the owner's own limit\n"
    "probe_lag_s = 1.5\n"
    "\n"
    "[line]\n"
    "a = 51.00010, 3.00020\n"
    "b = -51.00030,-3.00021\n"
    "\n"
    "[columns]\n"
    "rpm = Motor 2\n"
    "egt = \"Sensor 4\"\n"
    "egt = Sensor 5\n";

static void check_whole(const struct kw_profile *profile)
{
    assert_string_equal(profile->name, "Number 7");
    check_near("mass", profile->mass_kg, 165.0, 0.0);
    check_near("tyre", profile->tyre_circumference_m, 0.85, 1e-12);
    check_near("gearing", kw_profile_gearing(profile), 78.0 / 11.0, 1e-12);
    check_near("idle", profile->idle_rpm, 2200.0, 0.0);
    check_near("max", profile->max_rpm, 15500.0, 0.0);
    check_near("clutch", profile->clutch_rpm, 4300.0, 0.0);
    check_near("limit", profile->egt_limit_c, 660.5, 0.0);
    check_near("lag", profile->probe_lag_s, 1.5, 0.0);
    check_near("a lat", profile->line_lat_deg[0], 51.0001, 0.0);
    check_near("a lon", profile->line_lon_deg[0], 3.0002, 0.0);
    check_near("b lat", profile->line_lat_deg[1], -51.0003, 0.0);
    check_near("b lon", profile->line_lon_deg[1], -3.00021, 0.0);
    assert_int_equal(profile->n_columns, 3);
    assert_int_equal(profile->columns[0].role, KW_ROLE_RPM);
    assert_string_equal(profile->columns[0].heading, "Motor 2");
    assert_int_equal(profile->columns[1].role, KW_ROLE_EGT);
    assert_string_equal(profile->columns[1].heading, "Sensor 4");
    assert_string_equal(profile->columns[2].heading, "Sensor 5");
}

static void test_profile__every_key_is_read(void **state)
{
    struct kw_profile profile;
    assert_int_equal(read_text(*state, whole, &profile, NULL), KW_OK);
    check_whole(&profile);
    kw_profile_free(&profile);
    kw_profile_free(&profile);
}

/* Editors on other systems save CR LF and a UTF-8 mark. */
static void test_profile__windows_file_is_the_same(void **state)
{
    char text[2 * sizeof whole + 4] = "\xEF\xBB\xBF";
    struct kw_profile profile;
    size_t n = 3;
    for (const char *p = whole; *p != '\0'; p++) {
        if (*p == '\n')
            text[n++] = '\r';
        text[n++] = *p;
    }
    assert_int_equal(read_text(*state, text, &profile, NULL), KW_OK);
    check_whole(&profile);
    kw_profile_free(&profile);
}

static void test_profile__empty_file_states_nothing(void **state)
{
    struct kw_profile profile;
    assert_int_equal(
        read_text(*state, "; nothing yet\n[kart]\n", &profile, NULL), KW_OK);
    assert_null(profile.name);
    assert_true(isnan(profile.egt_limit_c));
    assert_true(isnan(kw_profile_gearing(&profile)));
    assert_true(isnan(profile.line_lat_deg[0]));
    assert_int_equal(profile.n_columns, 0);
    kw_profile_free(&profile);
}

struct refusal {
    const char *text;
    size_t line;
    const char *what;
    const char *todo;
};

static const char by_the_manual[] =
    "see 'man kartwright-review' for the keys of a profile";
static const char as_a_line[] = "write one key = value on each line";

static const struct refusal refusals[] = {
    {"[kart]\nmas_kg = 165\n", 2, "unknown key '[kart] mas_kg'",
     "did you mean mass_kg under [kart]?"},
    {"[kart]\n\nidle_rpm = 2000\n", 3, "unknown key '[kart] idle_rpm'",
     "did you mean idle_rpm under [engine]?"},
    {"[engine]\negt_limit = 660\n", 2, "unknown key '[engine] egt_limit'",
     "did you mean egt_limit_c under [engine]?"},
    {"[tyres]\npressure = 1\n", 2, "unknown key '[tyres] pressure'",
     by_the_manual},
    {"[engine]\negt_limit_c = 660,5\n", 2, "impossible value '660,5'",
     "give egt_limit_c a number from 200 to 1000, with a decimal point"},
    {"[engine]\nmax_rpm = -3\n", 2, "impossible value '-3'",
     "give max_rpm a number from 1500 to 25000"},
    {"[engine]\nprobe_lag_s = nan\n", 2, "impossible value 'nan'",
     "give probe_lag_s a number from 0.01 to 20"},
    {"[kart]\nmass_kg = 165 kg\n", 2, "impossible value '165 kg'",
     "give mass_kg a number from 40 to 400"},
    {"[kart]\nmass_kg =\n", 2, "impossible value ''",
     "give mass_kg a number from 40 to 400"},
    {"[line]\na = 51,0001, 3.0002\n", 2, "no position: '51,0001, 3.0002'",
     "write latitude and longitude as 51.00010, 3.00020"},
    {"[line]\na = 91.0, 3.0\n", 2, "no position: '91.0, 3.0'",
     "write latitude and longitude as 51.00010, 3.00020"},
    {"[line]\na = 51.0001, 3.0002\n", 2,
     "the start/finish line has one end only",
     "give both a and b under [line]"},
    {"[line]\nb = 51.0001, 3.0002\n\na = 51.0001, 3.0002\n", 4,
     "both ends of the start/finish line are one point",
     "give one point on each side of the track"},
    {"[kart]\nengine_teeth = 11.5\n", 2, "impossible value '11.5'",
     "give engine_teeth a whole number from 5 to 60"},
    {"[engine]\nidle_rpm = 2200\nclutch_rpm = 2000\n", 3,
     "clutch_rpm is not above idle_rpm",
     "set right whichever is wrong under [engine]"},
    {"[engine]\nmax_rpm = 4300\nclutch_rpm = 4300\n", 3,
     "max_rpm is not above clutch_rpm",
     "set right whichever is wrong under [engine]"},
    {"[columns]\nmotor = RPM\n", 2, "no such role: 'motor'",
     "write a role such as time, rpm, egt or speed"},
    {"[kart]\nname = 7\nlimit 660\n[engine]\nlimit = 1\n", 3,
     "neither a [section] nor key = value", as_a_line},
    {"[kart\nname = 7\n", 1, "neither a [section] nor key = value", as_a_line},
    {"[kart]\nmas_kg = 1\nlimit 660\n", 2, "unknown key '[kart] mas_kg'",
     "did you mean mass_kg under [kart]?"},
};

static void check_refusal(const void *folder, const struct refusal *r)
{
    struct kw_profile profile;
    struct kw_error error = {0};
    check_true(r->text,
               read_text(folder, r->text, &profile, &error) == KW_BAD_INPUT);
    if (error.line != r->line || strcmp(error.what, r->what) != 0 ||
        strcmp(error.todo, r->todo) != 0)
        fail_msg("%s: got %zu: %s: %s", r->text, error.line, error.what,
                 error.todo);
    check_true(r->text, profile.name == NULL && profile.n_columns == 0);
    check_true(r->text, isnan(profile.mass_kg));
}

static void test_profile__what_is_not_understood_is_refused(void **state)
{
    for (size_t i = 0; i < sizeof refusals / sizeof refusals[0]; i++)
        check_refusal(*state, &refusals[i]);
}

/* Of two values one would be used and the other not, in silence. */
static void test_profile__key_given_twice_is_refused(void **state)
{
    static const char one_of_them[] = "leave one of them out";
    static const struct refusal twice[] = {
        {"[kart]\nmass_kg = 165\n\nmass_kg = 170\n", 4,
         "given twice: 'mass_kg'", one_of_them},
        {"[kart]\nname = 7\nname = 8\n", 3, "given twice: 'name'", one_of_them},
        {"[line]\na = 51, 3\na = 51, 3\n", 3, "given twice: 'a'", one_of_them},
        {"[columns]\nrpm = A\negt = B\negt = C\nrpm = D\n", 5,
         "given twice: 'rpm'", one_of_them},
    };
    for (size_t i = 0; i < sizeof twice / sizeof twice[0]; i++)
        check_refusal(*state, &twice[i]);
}

/* What an editor or a card can make of a profile is told as what it is, with
 * the line as the person counts them. */
static void test_profile__what_is_no_text_is_refused(void **state)
{
    static const char long_name[] = "[kart]\nmass_kg = 165\nname = %0300d\n";
    static const struct {
        const char *label;
        const char *bytes;
        size_t n;
        size_t line;
        const char *what;
    } cases[] = {
        {"UTF-16, little", "\xFF\xFE[\0k\0", 6, 0, "is saved as UTF-16"},
        {"UTF-16, big", "\xFE\xFF\0[\0k", 6, 0, "is saved as UTF-16"},
        {"zero byte", "[kart]\nname = a\0b\n", 18, 2,
         "has a zero byte, which is no text"},
        {"long line", NULL, 0, 3, "the line is too long for a profile"}};
    char text[400];
    snprintf(text, sizeof text, long_name, 7);
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        struct kw_profile profile;
        struct kw_error error = {0};
        char path[SCRATCH_PATH_SIZE];
        const bool made = cases[i].bytes == NULL;
        scratch_path(path, *state, "kart.ini");
        assert_int_equal(kw_file_write(path, made ? text : cases[i].bytes,
                                       made ? strlen(text) : cases[i].n, NULL),
                         KW_OK);
        check_true(cases[i].label,
                   kw_profile_read(path, &profile, &error) == KW_BAD_INPUT);
        if (error.line != cases[i].line ||
            strcmp(error.what, cases[i].what) != 0)
            fail_msg("%s: got %zu: %s", cases[i].label, error.line, error.what);
        check_true(cases[i].label, isnan(profile.mass_kg));
    }
}

/* Else the second key would be taken for more of the name. */
static void test_profile__indented_keys_are_keys(void **state)
{
    struct kw_profile profile;
    assert_int_equal(read_text(*state,
                               "[kart]\n  name = 7\n\tmass_kg = 165\n"
                               "  ; a note\n  axle_teeth = 78",
                               &profile, NULL),
                     KW_OK);
    assert_string_equal(profile.name, "7");
    check_near("mass", profile.mass_kg, 165.0, 0.0);
    check_near("teeth", profile.axle_teeth, 78.0, 0.0);
    kw_profile_free(&profile);
}

static void test_profile__missing_file_is_refused(void **state)
{
    char path[SCRATCH_PATH_SIZE];
    struct kw_profile profile;
    struct kw_error error = {0};
    scratch_path(path, *state, "none.ini");
    assert_int_equal(kw_profile_read(path, &profile, &error), KW_IO_FAILED);
    assert_string_equal(error.file, path);
    assert_string_equal(error.what,
                        "cannot be read: no such file or directory");
    assert_string_equal(error.todo, "check its name");
    assert_int_not_equal(kw_profile_read(*state, &profile, &error), KW_OK);
}

/* A damaged profile is read, or refused with a line to look at; a number that
 * no kart has never comes through as a limit. */
static void test_profile__damaged_files_do_no_harm(void **state)
{
    uint32_t seed = 20260614;
    size_t n_read = 0;
    for (int round = 0; round < 500; round++) {
        char text[sizeof whole];
        struct kw_profile profile;
        memcpy(text, whole, sizeof whole);
        for (int k = 0; k < 4; k++) {
            seed = seed * 1664525 + 1013904223;
            const char byte = (char)(seed >> 24);
            text[(seed >> 8) % (sizeof whole - 1)] = byte == '\0' ? '=' : byte;
        }
        struct kw_error error = {0};
        const enum kw_status status = read_text(*state, text, &profile, &error);
        if (status == KW_OK) {
            assert_false(profile.mass_kg < 40.0 || profile.mass_kg > 400.0);
            assert_false(profile.egt_limit_c < 200.0 ||
                         profile.egt_limit_c > 1000.0);
            n_read++;
        } else {
            assert_int_equal(status, KW_BAD_INPUT);
            assert_int_not_equal(error.what[0], '\0');
        }
        kw_profile_free(&profile);
    }
    /* Both happen, or the damage is none or total. */
    assert_in_range(n_read, 1, 499);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        IN_SCRATCH(test_profile__every_key_is_read),
        IN_SCRATCH(test_profile__windows_file_is_the_same),
        IN_SCRATCH(test_profile__empty_file_states_nothing),
        IN_SCRATCH(test_profile__what_is_not_understood_is_refused),
        IN_SCRATCH(test_profile__key_given_twice_is_refused),
        IN_SCRATCH(test_profile__what_is_no_text_is_refused),
        IN_SCRATCH(test_profile__indented_keys_are_keys),
        IN_SCRATCH(test_profile__missing_file_is_refused),
        IN_SCRATCH(test_profile__damaged_files_do_no_harm),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
