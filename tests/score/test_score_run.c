/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "score/score_run.h"
#include "support/check.h"

#include <stdlib.h>
#include <string.h>
#include <unistd.h>

/* Two programs that every system has stand for a review that answers and one
 * that refuses; there are more logs than places to run. */
static void test_score_run__status_and_output_come_back(void **state)
{
    (void)state;
    static const struct {
        const char *program;
        enum score_exit exit;
        int status;
    } cases[] = {{"/bin/echo", SCORE_REVIEWED, 0},
                 {"/bin/false", SCORE_REFUSED, 1}};
    static struct score_labels labels[5];
    struct score_output outputs[5];
    for (size_t i = 0; i < 5; i++)
        snprintf(labels[i].name, sizeof labels[i].name, "log %zu; $(x)", i);
    for (size_t c = 0; c < 2; c++) {
        score_run_all(&(struct score_runner){cases[c].program, 2, 30.0}, labels,
                      5, outputs);
        for (size_t i = 0; i < 5; i++) {
            check_true(cases[c].program, outputs[i].exit == cases[c].exit);
            check_true("status", outputs[i].status == cases[c].status);
            free(outputs[i].output);
        }
    }
}

/* The words reach the program as they are, no shell between: a name with
 * blanks and signs in it stays one word. */
static void test_score_run__name_is_one_word_whatever_is_in_it(void **state)
{
    (void)state;
    struct score_labels labels = {
        .has_profile = true, .n_arguments = 2, .arguments = {"--rate", "20"}};
    snprintf(labels.name, sizeof labels.name, "a b;$(c)");
    struct score_output output;
    score_run_all(&(struct score_runner){"/bin/echo", 1, 30.0}, &labels, 1,
                  &output);
    const char expected[] = "review --no-report --json - --rate 20 --kart "
                            "a b;$(c).ini a b;$(c).csv\n";
    check_true("length", output.length == strlen(expected));
    check_true("words", memcmp(output.output, expected, output.length) == 0);
    free(output.output);
}

/* This program, told to review, waits for ever: see main. */
static const char *own_path;

/* A review that never ends is ended, and said to have been. */
static void test_score_run__endless_review_times_out(void **state)
{
    (void)state;
    struct score_labels labels = {.name = "x"};
    struct score_output output;
    score_run_all(&(struct score_runner){own_path, 1, 0.05}, &labels, 1,
                  &output);
    check_true("timed out", output.exit == SCORE_TIMED_OUT);
    free(output.output);
}

int main(int argc, char **argv)
{
    while (argc > 1 && strcmp(argv[1], "review") == 0)
        pause();
    own_path = argv[0];
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_score_run__status_and_output_come_back),
        cmocka_unit_test(test_score_run__name_is_one_word_whatever_is_in_it),
        cmocka_unit_test(test_score_run__endless_review_times_out),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
