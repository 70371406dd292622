/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The rate of a log without a time column, as a note above it states it: read a
 * hundred times too small, a sound session is told to be full of faults. */
#include "support/check.h"

#include "support/log_file.h"
#include "support/scratch.h"

#include <stdio.h>
#include <string.h>

struct rate_case {
    const char *label;
    const char *note;
    double rate_hz;
};

/* Without a time column the rate stands in a note above the table. */
static void test_rate_note__is_read_in_any_language(void **state)
{
    static const struct rate_case cases[] = {
        {"English", "Sample rate: 20 Hz", 20.0},
        {"in fields", "Sample rate;20;Hz", 20.0},
        {"in brackets", "Sample rate (Hz);20", 20.0},
        {"German", "Abtastrate: 12,5 Hz", 12.5},
        {"French",
         "Fr\xC3\xA9quence d'\xC3\xA9"
         "chantillonnage = 50Hz",
         50.0},
        {"Spanish", "Frecuencia de muestreo: 100 Hz", 100.0},
        {"Italian", "Frequenza di campionamento [Hz]: 10", 10.0},
        {"Portuguese", "# Taxa de amostragem: 25 hz", 25.0},
        {"interval", "Sample interval: 0.04 s", 25.0},
        {"interval in ms", "Abtastintervall;40;ms", 25.0},
        {"interval with a comma", "Intervalo = 0,05 s", 20.0},
        {"interval in fields", "Interval,50,ms", 20.0},
        /* Taken for a decimal mark it would make a session a hundred times as
         * long. */
        {"parted by another mark", "Sampling frequency,20 Hz", 20.0},
        {"in fields of another mark", "Frequency,20,Hz", 20.0},
        {"behind a number", "Session,3,20 Hz", 20.0},
        {"behind two words", "Ring, lap 3: rate, 20 Hz", 20.0},
        {"dots before it", "Rate....20 Hz", 20.0},
        {"a point alone before it", "Rate .5 Hz", 0.5},
        {"tabs", "Frequency\t20\tHz", 20.0},
        {"decimal comma in a field", "Rate;20,0;Hz", 20.0},
    };
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        char text[200];
        struct kw_log log;
        snprintf(text, sizeof text,
                 "%s\nRPM;EGT\n6000;600\n6000;600\n6000;600\n", cases[i].note);
        log_from(*state, text, &log);
        check_near(cases[i].label, log.sample_rate_hz, cases[i].rate_hz, 1e-9);
        check_near(cases[i].label, log.duration_s, 2.0 / cases[i].rate_hz,
                   1e-9);
        kw_log_free(&log);
    }
}

/* The same above a table with commas: the note is parted where the table is. */
static void test_rate_note__above_commas_is_read(void **state)
{
    static const struct rate_case cases[] = {
        {"plain", "Rate,20 Hz", 20.0},
        {"in fields", "Rate,20,Hz", 20.0},
        {"behind a number", "Kart 7,20 Hz", 20.0},
        {"behind a date", "14.06.2026,20 Hz", 20.0},
        {"behind a time", "Start 10:20,20 Hz", 20.0},
        {"quoted decimal comma", "Rate,\"12,5 Hz\"", 12.5},
        {"decimal comma behind a semicolon", "Rate;12,5 Hz", 12.5},
        {"decimal comma behind a colon", "Rate: 12,5 Hz", 12.5},
        {"three fields of another mark", "Rate;25;Hz", 25.0},
    };
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        char text[200];
        struct kw_log log;
        snprintf(text, sizeof text, "%s\nRPM,EGT,Lap\n6000,600,1\n6000,600,1\n",
                 cases[i].note);
        log_from(*state, text, &log);
        check_near(cases[i].label, log.sample_rate_hz, cases[i].rate_hz, 1e-9);
        kw_log_free(&log);
    }
}

static void test_rate_note__is_told(void **state)
{
    struct kw_log log;
    log_from(*state, "Ring\nRate: 20 Hz\nRPM\n6000\n6000\n", &log);
    const struct kw_notice *notice =
        log_notice(&log, "no time column: time is counted by this note, at "
                         "20.00 rows each second");
    assert_non_null(notice);
    assert_int_equal(notice->line, 2);
    kw_log_free(&log);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        IN_SCRATCH(test_rate_note__is_read_in_any_language),
        IN_SCRATCH(test_rate_note__above_commas_is_read),
        IN_SCRATCH(test_rate_note__is_told),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
