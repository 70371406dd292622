/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Logs that cannot be reviewed: one line that says where, what, and what to do,
 * to the letter. The person has twenty minutes between two runs. */
#include "support/check.h"

#include "support/log_file.h"
#include "support/scratch.h"

#include <string.h>
#include <sys/stat.h>
#include <unistd.h>
#include <zlib.h>

/* column  HEADING of a stated rpm column, NULL for none. */
struct refusal {
    const char *label;
    const char *text;
    const char *column;
    size_t line;
    const char *what;
    const char *todo;
};

static const struct refusal refusals[] = {
    {"nothing", "", NULL, 0, "the file is empty",
     "export the session from the logger again"},
    {"blank lines", "\n\r\n\n", NULL, 0, "the file is empty",
     "export the session from the logger again"},
    {"heading alone", "Time,RPM,EGT\n", NULL, 0, "no rows of numbers found",
     "export the session as a CSV table with a heading row"},
    {"a letter", "Dear driver,\nthank you for the race.\n", NULL, 0,
     "no rows of numbers found",
     "export the session as a CSV table with a heading row"},
    {"other data",
     "\x7F"
     "ELF\x02\x01\x01 \x03>\x01\n\x05\x06\x07",
     NULL, 0, "this is not a text file",
     "export the session from the logger as CSV"},
    {"formula that failed", "Time,RPM,EGT\n0.0,#VALUE!,1\n0.1,#VALUE!,1\n",
     NULL, 1, "column 'RPM' holds no number: line 2 has '#VALUE!'",
     "export it as plain numbers, or name another one with --column "
     "rpm=HEADING"},
    {"the same, named", "Time,RPM,EGT\n0.0,#VALUE!,1\n0.1,#VALUE!,1\n", "RPM",
     1, "column 'RPM' holds no number: line 2 has '#VALUE!'",
     "export it as plain numbers, or name another one with --column "
     "rpm=HEADING"},
    {"column too narrow", "Time,RPM,EGT\n####,1,1\n####,1,1\n", NULL, 1,
     "column 'Time' holds no time: line 2 has '####'",
     "export it as seconds or hh:mm:ss.sss, or name another one with --column "
     "time=HEADING"},
    {"list of laps", "Lap,Lap time,Max RPM\n1,47.1,15000\n2,47.2,15010\n", NULL,
     1, "no RPM column in what looks like a list of laps",
     "export the readings themselves, or name it with --column rpm=HEADING; "
     "the "
     "columns are 'Lap', 'Lap time', 'Max RPM'"},
    {"workbook", "PK\x03\x04,1,2\n,1,2\n", NULL, 0,
     "this is an Excel workbook or another packed file",
     "open it and save the sheet as CSV"},
    {"old workbook", "\xD0\xCF\x11\xE0\xA1\xB1", NULL, 0,
     "this is an old Excel workbook", "open it and save the sheet as CSV"},
    {"web page", "\n<HTML><td>Time</td><td>1</td>\n", NULL, 0,
     "this is a web page", "export the session from the logger as CSV"},
    {"JSON", "{\"time\":[0,1],\"rpm\":[1,2]}\n", NULL, 0, "this is JSON",
     "export the session from the logger as CSV"},
    {"decimal commas between commas",
     "Time,RPM,EGT\n0,0,1976,269,7\n0,1,1980,270,2\n", NULL, 2,
     "the row has 5 fields, the heading above it 3",
     "if the numbers have decimal commas, export with semicolons between the "
     "fields or with decimal points"},
    {"language not known, no unit for the lap",
     "Aika;Kierros;Kierrokset\ns;-;rpm\n0,1;1;2000\n0,2;1;2000\n", NULL, 1,
     "no time column",
     "name it with --column time=HEADING, or state the rate with --rate HZ; "
     "the columns are 'Aika', 'Kierros', 'Kierrokset'"},
    {"language not known, row of units",
     "Aika;Kierrokset;Nopeus\ns;rpm;km/h\n0,1;2000;1\n0,2;2000;2\n", NULL, 1,
     "no time column",
     "name it with --column time=HEADING, or state the rate with --rate HZ; "
     "the "
     "columns are 'Aika', 'Kierrokset', 'Nopeus'"},
    {"no heading", "0.0,6000,600\n0.1,6000,600\n", NULL, 1,
     "no heading row above the numbers",
     "add a first line that names the columns, such as time,rpm,egt"},
    {"no RPM", "Kart 7\nTime,EGT\n0.0,600\n0.1,600\n", NULL, 2, "no RPM column",
     "name it with --column rpm=HEADING; the columns are 'Time', 'EGT'"},
    {"no time", "RPM,EGT\n6000,600\n6000,600\n", NULL, 1, "no time column",
     "name it with --column time=HEADING, or state the rate with --rate HZ; "
     "the columns are 'RPM', 'EGT'"},
    {"two RPM", "Time,RPM 1,RPM 2\n0.0,1,1\n0.1,1,1\n", NULL, 1,
     "columns 'RPM 1' and 'RPM 2' could both be rpm",
     "say which with --column rpm=\"RPM 1\""},
    {"the same twice", "Time,RPM,RPM\n0.0,1,1\n0.1,1,1\n", NULL, 1,
     "columns 'RPM' and 'RPM' could both be rpm",
     "rename one of them in the file"},
    {"two times", "Time 1,Time 2,RPM\n0.0,1,1\n0.1,1,1\n", NULL, 1,
     "columns 'Time 1' and 'Time 2' could both be time",
     "say which with --column time=\"Time 1\""},
    {"stated column missing", "Time,RPM\n0.0,1\n0.1,1\n", "Motor", 1,
     "no column for rpm is called 'Motor'",
     "write it as the file has it; the columns are 'Time', 'RPM'"},
    {"quote never closed",
     "Time,RPM\n0.0,6000\n0.1,\"6000\n0.2,6000\n0.3,6000\n", NULL, 3,
     "a quote opens here and is never closed",
     "delete the \" or add the missing one"},
    {"quote in a late field, never closed",
     "\"of two\nlines\",\"Time\n0.0,6000\n0.1,6000\n", NULL, 2,
     "a quote opens here and is never closed",
     "delete the \" or add the missing one"},
    {"each channel with its time",
     "Time,RPM,Time,EGT\n0.0,1,0.0,1\n0.04,1,0.08,1\n0.08,1,0.16,1\n", NULL, 1,
     "columns 'Time' and 'Time' run at different rates: each channel has a "
     "time "
     "of its own",
     "export all channels with one common time"},
    {"unit of time not understood", "Time [1/128 s],RPM\n0,1\n64,1\n", NULL, 1,
     "the unit of the time column 'Time [1/128 s]' is not understood",
     "export the time in s or ms, or as hh:mm:ss.sss"},
    {"newest row first", "Time,RPM\n0.3,1\n0.2,1\n0.1,1\n0.0,1\n", NULL, 2,
     "time goes back in 3 of 4 rows",
     "sort the table by time, oldest row first"},
    {"rounded by a spreadsheet",
     "Time,RPM\n1.78E+09,1\n1.78E+09,1\n1.78E+09,1\n", NULL, 2,
     "all rows have the same time",
     "export it with all its digits, or as hh:mm:ss.sss"},
    {"hours without a unit", "Time,RPM\n14.00001,1\n14.00002,1\n14.00003,1\n",
     NULL, 0,
     "the time column gives far more rows each second than any logger writes",
     "write its unit in its heading, such as [s], [min], [h] or [days]"},
    {"a number in front of each row",
     "Time,RPM,EGT\n1,0.0,6000,600\n2,0.1,6000,600\n3,0.2,6000,600\n", NULL, 2,
     "no row below the heading can be read: it names 3 columns, the rows have "
     "4 "
     "fields",
     "if each row has its number in front, write a name for it in front of the "
     "heading, such as No."},
    {"parted by blanks", "Time RPM\n0.0 6000\n0.1 6000\n0.2 6000\n", NULL, 0,
     "the fields are parted by blanks",
     "replace the blanks between them by commas or tabs, also in the line that "
     "names the columns"},
    {"all rows bad", "Time,RPM,EGT\n1,2\n2,3\n3,4\n4,5\n", NULL, 2,
     "no row below the heading can be read",
     "compare the rows with the heading: the same number of fields, a time in "
     "each"},
};

static void test_log_refused__message_says_where_what_and_what_to_do(
    void **state)
{
    for (size_t i = 0; i < sizeof refusals / sizeof refusals[0]; i++) {
        const struct refusal *r = &refusals[i];
        char heading[32] = "";
        const struct kw_column_choice choice = {KW_ROLE_RPM, heading};
        const struct kw_import_options options = {
            .choices = &choice, .n_choices = r->column != NULL ? 1 : 0};
        struct kw_log log;
        struct kw_error error = {0};
        if (r->column != NULL)
            snprintf(heading, sizeof heading, "%s", r->column);
        log_write(*state, r->text, strlen(r->text));
        check_true(r->label,
                   log_read(*state, &options, &log, &error) == KW_BAD_INPUT);
        if (strcmp(error.what, r->what) != 0 ||
            strcmp(error.todo, r->todo) != 0 || error.line != r->line)
            fail_msg("%s: got line %zu: %s: %s", r->label, error.line,
                     error.what, error.todo);
        check_true(r->label, log.channels == NULL && log.notices.n == 0);
    }
}

/* The advice to name the time column must not lead to a session of a hundred
 * minutes: a count of rows is no time, unless it is called one. */
static void test_log_refused__count_of_rows_is_no_time(void **state)
{
    static const char text[] = "Sample,RPM\n0,1\n1,1\n2,1\n3,1\n";
    static const char slow[] = "Time,RPM\n0,1\n1,1\n2,1\n3,1\n";
    static const char uneven[] = "Stamp,RPM\n0,1\n1,1\n3,1\n4,1\n";
    char headings[][8] = {"Sample", "Time", "Stamp"};
    struct kw_column_choice choice = {KW_ROLE_TIME, headings[0]};
    const struct kw_import_options options = {.choices = &choice,
                                              .n_choices = 1};
    struct kw_log log;
    struct kw_error error = {0};
    log_write(*state, text, strlen(text));
    assert_int_equal(log_read(*state, &options, &log, &error), KW_BAD_INPUT);
    assert_string_equal(error.what,
                        "column 'Sample' counts the rows and is no time");
    assert_string_equal(error.todo,
                        "leave it out and state the rate with --rate HZ");
    choice.heading = headings[1];
    log_write(*state, slow, strlen(slow));
    assert_int_equal(log_read(*state, &options, &log, NULL), KW_OK);
    kw_log_free(&log);
    choice.heading = headings[2];
    log_write(*state, uneven, strlen(uneven));
    assert_int_equal(log_read(*state, &options, &log, NULL), KW_OK);
    kw_log_free(&log);
}

/* Two clocks of one log are none of two channels: they run alike, or count in
 * ms beside s, or started hours apart. A remark in brackets is no unit. */
static void test_log_refused__two_clocks_of_one_log_are_read(void **state)
{
    static const char *const texts[] = {
        "Time (s),Timestamp (ms),RPM\n0.0,0,1\n0.1,100,1\n0.2,200,1\n",
        "Time,Time stamp,RPM\n0.0,0,1\n0.1,100,1\n0.2,200,1\n",
        "Time,GPS time,RPM\n0.0,50000,1\n0.1,50000.2,1\n0.2,50000.4,1\n",
        "Time (1970),RPM\n0.0,1\n0.1,1\n0.2,1\n",
        "Time,GPS time,RPM\n0.0,0.0,1\n0.1,0.1,1\n0.2,0.2,1\n",
    };
    for (size_t i = 0; i < sizeof texts / sizeof texts[0]; i++) {
        struct kw_log log;
        log_from(*state, texts[i], &log);
        check_near(texts[i], log.duration_s, 0.2, 1e-9);
        kw_log_free(&log);
    }
}

static void test_log_refused__missing_file_and_folder_are_told(void **state)
{
    struct kw_log log;
    struct kw_error error = {0};
    assert_int_equal(log_read(*state, NULL, &log, &error), KW_IO_FAILED);
    assert_string_equal(error.what,
                        "cannot be read: no such file or directory");
    assert_string_equal(error.todo, "check its name");
    assert_int_equal(kw_log_read(*state, NULL, &log, &error), KW_BAD_INPUT);
    assert_string_equal(error.what, "is a folder");
    assert_string_equal(error.todo, "give the path of a CSV log in it");
    assert_string_equal(error.file, (const char *)*state);
}

/* A gzip file that a card pulled too early has cut. */
static void test_log_refused__gzip_cut_short_is_told(void **state)
{
    char path[SCRATCH_PATH_SIZE];
    struct kw_log log;
    struct kw_error error = {0};
    struct stat about;
    gzFile file = gzopen(scratch_path(path, *state, "log.csv"), "wb");
    assert_non_null(file);
    gzputs(file, "Time,RPM\n");
    for (int i = 0; i < 3000; i++)
        gzprintf(file, "%d,%d\n", i, 6000 + i * 7919 % 9001);
    assert_int_equal(gzclose(file), Z_OK);
    assert_int_equal(stat(path, &about), 0);
    assert_int_equal(truncate(path, about.st_size / 2), 0);
    assert_int_equal(log_read(*state, NULL, &log, &error), KW_IO_FAILED);
    assert_string_equal(error.what, "the gzip file ends too early");
    assert_string_equal(error.todo, "copy the log from the logger again");
}

/* What is no gzip behind its first bytes: zlib's reason, without the name that
 * it puts in front. */
static void test_log_refused__spoilt_gzip_is_told(void **state)
{
    static const char spoilt[] = "\x1f\x8b\x07 is no method of packing";
    struct kw_log log;
    struct kw_error error = {0};
    log_write(*state, spoilt, sizeof spoilt - 1);
    assert_int_equal(log_read(*state, NULL, &log, &error), KW_IO_FAILED);
    assert_string_equal(error.what, "unknown compression method");
}

/* Many or long headings must leave room for what to do about it. */
static void test_log_refused__long_headings_are_cut(void **state)
{
    char text[8000] = "Time";
    size_t n = strlen(text);
    struct kw_log log;
    struct kw_error error = {0};
    for (int i = 0; i < 40; i++)
        n += (size_t)snprintf(text + n, sizeof text - n, ",Sensor %0100d", i);
    for (int row = 0; row < 3; row++) {
        n += (size_t)snprintf(text + n, sizeof text - n, "\n%d", row);
        for (int i = 0; i < 40; i++)
            n += (size_t)snprintf(text + n, sizeof text - n, ",1");
    }
    log_write(*state, text, n);
    assert_int_equal(log_read(*state, NULL, &log, &error), KW_BAD_INPUT);
    assert_string_equal(error.what, "no RPM column");
    assert_int_equal(strncmp(error.todo, "name it with --column rpm=HEADING; ",
                             strlen("name it with --column rpm=HEADING; ")),
                     0);
    assert_true(strlen(error.todo) < sizeof error.todo);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        IN_SCRATCH(test_log_refused__message_says_where_what_and_what_to_do),
        IN_SCRATCH(test_log_refused__count_of_rows_is_no_time),
        IN_SCRATCH(test_log_refused__two_clocks_of_one_log_are_read),
        IN_SCRATCH(test_log_refused__missing_file_and_folder_are_told),
        IN_SCRATCH(test_log_refused__gzip_cut_short_is_told),
        IN_SCRATCH(test_log_refused__spoilt_gzip_is_told),
        IN_SCRATCH(test_log_refused__long_headings_are_cut),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
