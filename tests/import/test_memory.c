/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The n-th allocation fails, for n = 0, 1, 2 ...: nothing leaks, nothing
 * crashes, and no half-read log is taken for a whole one. The linker sends the
 * library's allocations here (see the Makefile). */
#include "support/check.h"

#include "kartwright/profile.h"
#include "support/failing_memory.h"
#include "support/log_file.h"
#include "support/scratch.h"

#include <string.h>

static const char text[] =
    "Invented log\nRate: 10 Hz\n\n"
    "Time;RPM;EGT;Lat;Lon;Aux;RPM 2 logged;EGT Zeit\n"
    "ms;rpm;;;;;;ms\n"
    "0;6000;400,5;5130,5;00315,5;1;;0\n100;6100;x;5130,5;00315,5;1;;100\n"
    "200;6200\n100;6200;402,5;5130,5;00315,5;1;;200\n"
    "300;6200;402,5;5130,5;00315,5;1;;300\n";

static void test_memory__log_is_whole_or_refused(void **state)
{
    enum kw_status status = KW_NO_MEMORY;
    long n = 0;
    log_write(*state, text, strlen(text));
    for (; status != KW_OK; n++) {
        struct kw_log log;
        struct kw_error error = {0};
        memory_fails_after(n);
        status = log_read(*state, NULL, &log, &error);
        memory_holds();
        if (status == KW_OK) {
            log_check_sound("whole", &log);
            assert_int_equal(log.rows_used, 3);
            assert_int_equal(log.rows_rejected, 2);
            check_near("time", log.time_s[2], 0.3, 1e-9);
            check_near("latitude", log.channels[3].values[0],
                       51.0 + 30.5 / 60.0, 1e-9);
            check_near("egt", log.channels[2].values[2], 402.5, 1e-9);
        } else {
            assert_int_equal(status, KW_NO_MEMORY);
            assert_string_equal(error.what, "out of memory");
            assert_null(log.channels);
            assert_null(log.notices.items);
        }
        kw_log_free(&log);
    }
    assert_true(n > 100);
}

static void test_memory__refusal_stays_a_refusal(void **state)
{
    static const char no_rpm[] = "Time,Aux\n0,1\n1,1\n";
    enum kw_status status = KW_NO_MEMORY;
    log_write(*state, no_rpm, strlen(no_rpm));
    for (long n = 0; status == KW_NO_MEMORY; n++) {
        struct kw_log log;
        struct kw_error error = {0};
        memory_fails_after(n);
        status = log_read(*state, NULL, &log, &error);
        memory_holds();
    }
    assert_int_equal(status, KW_BAD_INPUT);
}

static void test_memory__profile_is_whole_or_refused(void **state)
{
    static const char ini[] = "[kart]\nname = Number 7\nmass_kg = 165\n"
                              "[columns]\nrpm = Motor 2\n";
    char path[SCRATCH_PATH_SIZE];
    enum kw_status status = KW_NO_MEMORY;
    scratch_write(*state, "kart.ini", ini);
    scratch_path(path, *state, "kart.ini");
    for (long n = 0; status != KW_OK; n++) {
        struct kw_profile profile;
        memory_fails_after(n);
        status = kw_profile_read(path, &profile, NULL);
        memory_holds();
        if (status == KW_OK)
            assert_string_equal(profile.columns[0].heading, "Motor 2");
        else
            assert_null(profile.name);
        kw_profile_free(&profile);
        assert_true(n < 100);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        IN_SCRATCH(test_memory__log_is_whole_or_refused),
        IN_SCRATCH(test_memory__refusal_stays_a_refusal),
        IN_SCRATCH(test_memory__profile_is_whole_or_refused),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
