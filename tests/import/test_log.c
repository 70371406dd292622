/* SPDX-License-Identifier: GPL-3.0-or-later */
/* One session in many dialects: whatever the logger's habits, the numbers that
 * a verdict on the engine is built on must be the same. */
#include "support/check.h"

#include "core/text.h"
#include "support/log_file.h"
#include "support/scratch.h"

#include <string.h>
#include <zlib.h>

enum { ROWS = 12, TEXT_SIZE = 4096 };

/* How the session is written. What is left out is as in RFC 4180.
 *
 * before     lines above the heading.
 * heading    time, RPM, EGT.
 * units      the row below, NULL for none.
 * tail       at the end of every row, the heading's too.
 * between    a line in the middle of the data.
 * step       of the time column for each row (0.1 s).
 * no_end     the last line is not ended. */
struct dialect {
    const char *label;
    const char *before;
    const char *heading[3];
    const char *units[3];
    const char *delimiter;
    char point;
    const char *end;
    const char *quote;
    const char *tail;
    const char *between;
    int step;
    bool no_end;
};

static const char *or_else(const char *text, const char *otherwise)
{
    return text != NULL ? text : otherwise;
}

static void put_row(char *out, const struct dialect *d, const char *const *cell)
{
    const char *quote = or_else(d->quote, "");
    for (size_t i = 0; i < 3; i++) {
        const size_t n = strlen(out);
        snprintf(out + n, TEXT_SIZE - n, "%s%s%s%s",
                 i == 0 ? "" : or_else(d->delimiter, ","), quote, cell[i],
                 quote);
    }
    const size_t n = strlen(out);
    snprintf(out + n, TEXT_SIZE - n, "%s%s", or_else(d->tail, ""),
             or_else(d->end, "\n"));
}

static void put_line(char *out, const char *line)
{
    const size_t n = strlen(out);
    snprintf(out + n, TEXT_SIZE - n, "%s", line);
}

static void write_dialect(const struct dialect *d, char *out)
{
    static const char *const plain[] = {"Time (s)", "RPM", "EGT (C)"};
    out[0] = '\0';
    put_line(out, or_else(d->before, ""));
    put_row(out, d, d->heading[0] != NULL ? d->heading : plain);
    if (d->units[0] != NULL)
        put_row(out, d, d->units);
    for (int i = 0; i < ROWS; i++) {
        char cells[3][24];
        const char *const cell[] = {cells[0], cells[1], cells[2]};
        const char point = d->point == '\0' ? '.' : d->point;
        if (d->step > 0)
            snprintf(cells[0], sizeof cells[0], "%d", i * d->step);
        else
            snprintf(cells[0], sizeof cells[0], "%d%c%d", i / 10, point,
                     i % 10);
        snprintf(cells[1], sizeof cells[1], "%d", 6000 + 50 * i);
        snprintf(cells[2], sizeof cells[2], "%d%c5", 400 + i, point);
        if (i == ROWS / 2)
            put_line(out, or_else(d->between, ""));
        put_row(out, d, cell);
    }
    if (d->no_end)
        out[strlen(out) - strlen(or_else(d->end, "\n"))] = '\0';
}

static void check_session(const char *label, const struct kw_log *log)
{
    const struct kw_channel *rpm = kw_log_channel(log, KW_ROLE_RPM, 0);
    const struct kw_channel *egt = kw_log_channel(log, KW_ROLE_EGT, 0);
    log_check_sound(label, log);
    check_true(label, log->data_rows == ROWS);
    check_true(label, log->rows_used == ROWS);
    check_true(label, rpm != NULL && egt != NULL);
    check_near(label, log->sample_rate_hz, 10.0, 1e-6);
    check_near(label, log->duration_s, 0.1 * (ROWS - 1), 1e-9);
    for (int i = 0; i < ROWS; i++) {
        check_near(label, log->time_s[i], 0.1 * i, 1e-9);
        check_near(label, rpm->values[i], 6000.0 + 50.0 * i, 0.0);
        check_near(label, egt->values[i], 400.5 + i, 1e-9);
    }
}

static void read_session(const void *folder,
                         const char *label,
                         const char *bytes,
                         size_t length)
{
    struct kw_log log;
    struct kw_error error = {0};
    log_write(folder, bytes, length);
    if (log_read(folder, NULL, &log, &error) != KW_OK)
        fail_msg("%s: refused: %s: %s", label, error.what, error.todo);
    check_session(label, &log);
    kw_log_free(&log);
}

static const struct dialect dialects[] = {
    {.label = "RFC 4180 with CR LF", .end = "\r\n"},
    {.label = "LF"},
    {.label = "CR alone", .end = "\r"},
    {.label = "last line not ended", .no_end = true},
    {.label = "CR LF, last line not ended", .end = "\r\n", .no_end = true},
    {.label = "UTF-8 mark", .before = "\xEF\xBB\xBF"},
    {.label = "quoted", .quote = "\""},
    {.label = "semicolon", .delimiter = ";"},
    {.label = "semicolon, decimal comma", .delimiter = ";", .point = ','},
    {.label = "tab", .delimiter = "\t"},
    {.label = "tab, decimal comma", .delimiter = "\t", .point = ','},
    {.label = "bar", .delimiter = "|"},
    {.label = "comma, quoted decimal comma", .quote = "\"", .point = ','},
    {.label = "blanks round the fields", .delimiter = " ; "},
    {.label = "delimiter named first",
     .before = "sep=;\n",
     .delimiter = ";",
     .point = ','},
    {.label = "comma at the end of each line", .tail = ","},
    {.label = "blank line at the top", .before = "\n\n"},
    {.label = "notes with a colon",
     .before = "Invented log\nDriver: A. Nobody\nKart: 7\n\n"},
    {.label = "notes in two fields",
     .before = "Driver,A. Nobody\nDate,2026-06-14\nLaps,9\n\n"},
    {.label = "notes with numbers",
     .before = "Session,3,12\nDate,14.06.2026,12:00:00\n"},
    {.label = "comment lines",
     .before = "# invented\n# rate 10 Hz\n",
     .between = "# a comment, with a comma\n"},
    {.label = "heading as a comment", .before = "# "},
    {.label = "blank line in the middle", .between = "\n"},
    {.label = "line of delimiters in the middle", .between = ",,\n"},
    {.label = "heading repeated", .between = "Time (s),RPM,EGT (C)\n"},
    {.label = "row of units",
     .heading = {"Time", "RPM", "EGT"},
     .units = {"s", "1/min",
               "\xC2\xB0"
               "C"}},
    {.label = "row of units in brackets",
     .heading = {"Time", "RPM", "EGT"},
     .units = {"[s]", "[rpm]", "[degC]"}},
    {.label = "row of units with a blank",
     .heading = {"Time", "RPM", "EGT"},
     .units = {"ms", "", "C"},
     .step = 100},
    {.label = "heading and units repeated",
     .heading = {"Time", "RPM", "EGT"},
     .units = {"s", "rpm", "C"},
     .between = "Time,RPM,EGT\ns,rpm,C\n"},
    {.label = "milliseconds stated",
     .heading = {"Time (ms)", "RPM", "EGT"},
     .step = 100},
    {.label = "milliseconds by their steps",
     .heading = {"Time", "RPM", "EGT"},
     .step = 100},
    {.label = "microseconds by their steps",
     .heading = {"Time", "RPM", "EGT"},
     .step = 100000},
    {.label = "German, Latin-1",
     .heading = {"Zeit [s]", "Drehzahl [U/min]",
                 "Abgastemp. [\xB0"
                 "C]"},
     .delimiter = ";",
     .point = ','},
    {.label = "French",
     .heading = {"Temps (s)", "R\xC3\xA9gime moteur (tr/min)",
                 "Temp. \xC3\xA9"
                 "chappement"},
     .delimiter = ";",
     .point = ','},
    {.label = "Spanish",
     .heading = {"Tiempo", "R\xC3\xA9gimen motor", "Temp. escape"},
     .delimiter = ";"},
    {.label = "Italian",
     .heading = {"Tempo (s)", "Giri motore", "Temp. gas di scarico"},
     .delimiter = "\t",
     .point = ','},
    {.label = "Portuguese",
     .heading = {"Tempo", "Rota\xC3\xA7\xC3\xA3o", "Temp. escape"}},
};

static void test_log__dialects_give_the_same_session(void **state)
{
    char text[TEXT_SIZE];
    for (size_t i = 0; i < sizeof dialects / sizeof dialects[0]; i++) {
        write_dialect(&dialects[i], text);
        read_session(*state, dialects[i].label, text, strlen(text));
    }
}

/* Spreadsheets save "Unicode text" as UTF-16, with and without its mark. */
static void test_log__utf16_is_read_in_both_orders(void **state)
{
    static const struct dialect plain = {
        .label = "",
        .heading = {"Zeit [s]", "Drehzahl", "Abgastemp."},
        .delimiter = "\t",
        .end = "\r\n"};
    char text[TEXT_SIZE];
    write_dialect(&plain, text);
    for (int big = 0; big < 2; big++) {
        for (int mark = 0; mark < 2; mark++) {
            char wide[2 * TEXT_SIZE + 2] = {0};
            size_t n = 0;
            if (mark == 1) {
                wide[n++] = big == 1 ? '\xFE' : '\xFF';
                wide[n++] = big == 1 ? '\xFF' : '\xFE';
            }
            for (size_t i = 0; text[i] != '\0'; i++, n += 2)
                wide[n + (size_t)big] = text[i];
            read_session(*state, "UTF-16", wide, n);
        }
    }
}

static void test_log__gzip_is_told_by_its_content(void **state)
{
    char text[TEXT_SIZE];
    char path[SCRATCH_PATH_SIZE];
    struct kw_log log;
    write_dialect(&dialects[0], text);
    gzFile file = gzopen(scratch_path(path, *state, "log.csv"), "wb");
    assert_non_null(file);
    assert_int_equal(gzwrite(file, text, (unsigned)strlen(text)),
                     (int)strlen(text));
    assert_int_equal(gzclose(file), Z_OK);
    assert_int_equal(log_read(*state, NULL, &log, NULL), KW_OK);
    check_session("gzip", &log);
    kw_log_free(&log);
}

struct value_case {
    const char *label;
    const char *text;
    enum kw_role role;
    double first;
    const char *unit;
};

#define CELSIUS_SIGN                                                           \
    "\xC2\xB0"                                                                 \
    "C"

/* The first value of a column, in our units. */
static const struct value_case values[] = {
    {"Fahrenheit", "Time (s),RPM,EGT (F)\n0,6000,1202\n1,6000,1202\n",
     KW_ROLE_EGT, 650.0, "F"},
    {"Kelvin", "Time (s),RPM,EGT [K]\n0,6000,923.15\n1,6000,900\n", KW_ROLE_EGT,
     650.0, "K"},
    {"Fahrenheit by its size", "Time,RPM,EGT\n0,6000,1202\n0.1,6000,1202\n",
     KW_ROLE_EGT, 650.0, "F"},
    {"km/h", "Time,RPM,EGT,Speed km/h\n0,6000,600,90\n0.1,6000,600,90\n",
     KW_ROLE_SPEED, 25.0, "km/h"},
    {"mph", "Time,RPM,GPS speed (mph)\n0,6000,100\n0.1,6000,100\n",
     KW_ROLE_SPEED, 44.704, "mph"},
    {"knots", "Time,RPM,Vitesse GPS (kn)\n0,6000,36\n0.1,6000,36\n",
     KW_ROLE_SPEED, 18.52, "knots"},
    {"thousands", "Time,rpm x 1000\n0,14.92\n0.1,14.92\n", KW_ROLE_RPM, 14920.0,
     "rpm x 1000"},
    {"thousands by their size", "Time,RPM\n0,14.92\n0.1,14.92\n", KW_ROLE_RPM,
     14920.0, "rpm x 1000"},
    {"percent", "Time,RPM,TPS (%)\n0,6000,50\n0.1,6000,50\n", KW_ROLE_THROTTLE,
     0.5, "%"},
    {"fraction", "Time,RPM,TPS\n0,6000,0.5\n0.1,6000,1\n", KW_ROLE_THROTTLE,
     0.5, ""},
    {"g", "Time,RPM,G lat\n0,6000,2\n0.1,6000,1\n", KW_ROLE_ACCEL_LAT, 19.6133,
     "g"},
    {"thousands marks",
     "Zeit;Drehzahl;Abgas\n0,0;12.500,5;650,5\n0,1;12.500;650,5\n", KW_ROLE_RPM,
     12500.5, "rpm"},
    {"quoted thousands marks", "Time,RPM\n0,\"12,500\"\n0.1,\"9,500\"\n",
     KW_ROLE_RPM, 12500.0, "rpm"},
    {"apostrophe", "Time,RPM\n0,12'500\n0.1,9'500\n", KW_ROLE_RPM, 12500.0,
     "rpm"},
    {"blank that does not break",
     "Zeit;Drehzahl\n0,0;12\xC2\xA0"
     "500\n0,1;9\xE2\x80\xAF"
     "500\n",
     KW_ROLE_RPM, 12500.0, "rpm"},
    {"the same in Latin-1",
     "Zeit;Drehzahl\n0,0;12\xA0"
     "500\n0,1;9\xA0"
     "500\n",
     KW_ROLE_RPM, 12500.0, "rpm"},
    {"tens", "Time,RPM/10\n0,1250\n0.1,950\n", KW_ROLE_RPM, 12500.0,
     "rpm x 10"},
    {"exponent", "Time,RPM\n0,1.25e4\n0.1,9.5E3\n", KW_ROLE_RPM, 12500.0,
     "rpm"},
    {"unit behind the number",
     "Time,RPM,EGT\n0.0 s,6000 rpm,650 " CELSIUS_SIGN
     "\n0.1 s,6000 rpm,650 " CELSIUS_SIGN "\n",
     KW_ROLE_EGT, 650.0, "C"},
    {"hemisphere",
     "Time,RPM,Lat,Lon\n0,6000,51.5 S,3.25 W\n0.1,6000,51 S,3 W\n",
     KW_ROLE_LATITUDE, -51.5, "deg"},
    {"degrees and minutes in one",
     "Time,RPM,Lat,Lon\n0,6000,5130.0,00315.0\n0.1,6000,5130.1,00315.1\n",
     KW_ROLE_LATITUDE, 51.5, "deg"},
    {"ten millionths of a degree",
     "Time,RPM,Lat,Lon\n0,6000,515000000,-32500000\n0.1,6000,0,0\n",
     KW_ROLE_LONGITUDE, -3.25, "deg"},
    {"semicircles",
     "Time,RPM,Lat (semicircles),Lon (semicircles)\n0,6000,608592945,36318112\n"
     "0.1,6000,608592946,36318113\n",
     KW_ROLE_LATITUDE, 608592945.0 * 180.0 / 2147483648.0, "semicircles"},
    {"minutes of a degree",
     "Time,RPM,Lat (min),Lon (min)\n0,6000,3060.6,182.4\n"
     "0.1,6000,3060.6,182.4\n",
     KW_ROLE_LONGITUDE, 3.04, "minutes"},
    {"lap as words", "Time,RPM,Lap\n0,6000,Lap 3\n0.1,6000,Lap 3\n",
     KW_ROLE_LAP, 3.0, ""},
    {"marker as a word", "Time,RPM,Beacon\n0,6000,X\n0.1,6000,\n0.2,6000,\n",
     KW_ROLE_LAP_MARKER, 1.0, ""},
    {"blank is no marker", "Time,RPM,Beacon\n0,6000,\n0.1,6000,1\n0.2,6000,\n",
     KW_ROLE_LAP_MARKER, 0.0, ""},
};

static void test_log__values_come_in_our_units(void **state)
{
    for (size_t i = 0; i < sizeof values / sizeof values[0]; i++) {
        const struct value_case *c = &values[i];
        struct kw_log log;
        log_from(*state, c->text, &log);
        const struct kw_channel *channel = kw_log_channel(&log, c->role, 0);
        check_true(c->label, channel != NULL);
        check_near(c->label, channel->values[0], c->first, 1e-9);
        if (strcmp(channel->unit, c->unit) != 0)
            fail_msg("%s: unit '%s'", c->label, channel->unit);
        log_check_sound(c->label, &log);
        kw_log_free(&log);
    }
}

static void test_log__every_word_for_no_reading_is_missing(void **state)
{
    static const char *const words[] = {"",     "NaN",  "nan",  "NA",   "N/A",
                                        "n.a.", "-",    "--",   "---",  "OPEN",
                                        "inf",  "-inf", "null", "#N/A", "err"};
    for (size_t i = 0; i < sizeof words / sizeof words[0]; i++) {
        char text[200];
        struct kw_log log;
        snprintf(text, sizeof text,
                 "Time,RPM,EGT\n0.0,6000,600\n0.1,%s,%s\n0.2,6000,600\n",
                 words[i], words[i]);
        log_from(*state, text, &log);
        check_true(words[i], log.rows_used == 3);
        check_true(words[i], log.notices.n == 0);
        check_true(words[i], log.channels[1].missing == 1);
        check_true(words[i], isnan(log.channels[2].values[1]));
        kw_log_free(&log);
    }
}

/* Two probes: the first stays the first, whatever stands between them. */
static void test_log__probes_keep_the_order_of_the_file(void **state)
{
    struct kw_log log;
    log_from(*state,
             "Time,EGT left,RPM,EGT right\n0,500,6000,600\n0.1,500,6000,600\n",
             &log);
    assert_string_equal(kw_log_channel(&log, KW_ROLE_EGT, 0)->column,
                        "EGT left");
    assert_string_equal(kw_log_channel(&log, KW_ROLE_EGT, 1)->column,
                        "EGT right");
    assert_null(kw_log_channel(&log, KW_ROLE_EGT, 2));
    kw_log_free(&log);
}

static void test_log__stated_rate_wins_over_the_note(void **state)
{
    static const char text[] = "Rate: 20 Hz\nRPM\n6000\n6000\n";
    const struct kw_import_options options = {.rate_hz = 10.0};
    struct kw_log log;
    log_write(*state, text, strlen(text));
    assert_int_equal(log_read(*state, &options, &log, NULL), KW_OK);
    check_near("rate", log.sample_rate_hz, 10.0, 1e-9);
    kw_log_free(&log);
}

/* The person knows better than any table of words. */
static void test_log__stated_column_overrules_the_heading(void **state)
{
    static const char text[] =
        "Time,RPM,Sensor 4\n0,1,6000\n0.1,1,6000\n0.2,1,6000\n";
    char heading[] = " sensor 4 ";
    const struct kw_column_choice choice = {KW_ROLE_RPM, heading};
    const struct kw_import_options options = {.choices = &choice,
                                              .n_choices = 1};
    struct kw_log log;
    log_write(*state, text, strlen(text));
    assert_int_equal(log_read(*state, &options, &log, NULL), KW_OK);
    assert_string_equal(kw_log_channel(&log, KW_ROLE_RPM, 0)->column,
                        "Sensor 4");
    check_near("rpm", kw_log_channel(&log, KW_ROLE_RPM, 0)->values[0], 6000.0,
               0.0);
    kw_log_free(&log);
}

/* The file has its accent behind the letter, a person types it in one. Where
 * two columns read alike, none of them is guessed. */
static void test_log__stated_column_may_have_hidden_characters(void **state)
{
    static const char apart[] =
        "Time,RPM,Re\xCC\x81gime 2\n0,1,6000\n0.1,1,6000\n";
    static const char two[] =
        "Time,Sensor(4),Sensor_4,Sensor.4\n0,1,2,3\n1,1,2,3\n";
    char heading[] = "R\xC3\xA9gime 2";
    struct kw_column_choice choice = {KW_ROLE_RPM, heading};
    const struct kw_import_options options = {.choices = &choice,
                                              .n_choices = 1};
    struct kw_log log;
    log_write(*state, apart, strlen(apart));
    assert_int_equal(log_read(*state, &options, &log, NULL), KW_OK);
    check_near("rpm", kw_log_channel(&log, KW_ROLE_RPM, 0)->values[0], 6000.0,
               0.0);
    kw_log_free(&log);
    char doubtful[] = "Sensor 4";
    choice.heading = doubtful;
    log_write(*state, two, strlen(two));
    assert_int_equal(log_read(*state, &options, &log, NULL), KW_BAD_INPUT);
}

/* Full scale is beyond any exhaust in C, and yet no F: it never moves. */
static void test_log__probe_that_never_moves_is_not_taken_as_f(void **state)
{
    enum { STILL_ROWS = 200 };
    struct kw_text text = {0};
    struct kw_log log;
    kw_text_add(&text, "Time,RPM,EGT\n");
    for (int i = 0; i < STILL_ROWS; i++)
        kw_text_addf(&text, "%d.0,6000,1023.75\n", i);
    log_from(*state, text.bytes, &log);
    kw_text_free(&text);
    for (size_t i = 0; i < log.notices.n; i++)
        assert_null(strstr(log.notices.items[i].text, "taken as F"));
    kw_log_free(&log);
}

static void test_log__one_and_two_rows_are_logs(void **state)
{
    struct kw_log log;
    log_from(*state, "Time (s),RPM\n5,6000\n", &log);
    assert_int_equal(log.rows_used, 1);
    assert_true(isnan(log.sample_rate_hz));
    check_near("one", log.duration_s, 0.0, 0.0);
    kw_log_free(&log);
    log_from(*state, "Time (s),RPM\n5,6000\n5.5,6100\n", &log);
    check_near("two", log.sample_rate_hz, 2.0, 1e-9);
    check_near("two", log.duration_s, 0.5, 1e-9);
    kw_log_free(&log);
}

/* Damaged stamps can hide that a clock is hhmmss; without them it would be
 * taken for one. The person has to see how the times were read in truth. */
static void test_log__time_is_shown_in_the_form_it_was_read_in(void **state)
{
    enum { LONG_ROWS = 300, DAMAGED_EACH = 60 };
    struct kw_text text = {0};
    kw_text_add(&text, "Time,RPM\n");
    for (int i = 0; i < LONG_ROWS; i++) {
        const bool damaged = i % DAMAGED_EACH == DAMAGED_EACH - 1;
        const int stamp = 140000 + i / 60 * 100 + i % 60;
        kw_text_addf(&text, "%d,9000\n", damaged ? 75 : stamp);
    }
    struct kw_log log;
    log_from(*state, text.bytes, &log);
    kw_text_free(&text);
    assert_string_equal(kw_log_channel(&log, KW_ROLE_TIME, 0)->unit, "s");
    check_near("as seconds", log.duration_s, 458.0, 1e-9);
    kw_log_free(&log);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        IN_SCRATCH(test_log__dialects_give_the_same_session),
        IN_SCRATCH(test_log__utf16_is_read_in_both_orders),
        IN_SCRATCH(test_log__gzip_is_told_by_its_content),
        IN_SCRATCH(test_log__values_come_in_our_units),
        IN_SCRATCH(test_log__time_is_shown_in_the_form_it_was_read_in),
        IN_SCRATCH(test_log__every_word_for_no_reading_is_missing),
        IN_SCRATCH(test_log__probes_keep_the_order_of_the_file),
        IN_SCRATCH(test_log__stated_rate_wins_over_the_note),
        IN_SCRATCH(test_log__stated_column_overrules_the_heading),
        IN_SCRATCH(test_log__probe_that_never_moves_is_not_taken_as_f),
        IN_SCRATCH(test_log__stated_column_may_have_hidden_characters),
        IN_SCRATCH(test_log__one_and_two_rows_are_logs),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
