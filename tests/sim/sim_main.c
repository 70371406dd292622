/* SPDX-License-Identifier: GPL-3.0-or-later */
/* kartwright-sim: writes labelled, simulated logs. See README.md beside it. */
#include "sim_json.h"
#include "sim_scenario.h"
#include "sim_trace.h"

#include <errno.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

#include <gsl/gsl_errno.h>

static const char USAGE[] =
    "usage: kartwright-sim --set develop|choose|score --count N [--first I] "
    "--out DIR\n"
    "       kartwright-sim --scenario NAME [--seed N] [--name STEM] --out DIR\n"
    "       kartwright-sim --list\n";

struct words {
    const char *set, *scenario, *out, *name;
    unsigned long count, first, seed;
    bool list;
};

static int refuse(const char *what, const char *value)
{
    fprintf(stderr, "kartwright-sim: %s: %s\n%s", what, value, USAGE);
    return 2;
}

static bool read_number(const char *text, unsigned long *number)
{
    char *end = NULL;
    errno = 0;
    *number = strtoul(text, &end, 10);
    return errno == 0 && end != text && *end == '\0' && text[0] != '-';
}

static int read_words(int argc, char **argv, struct words *words)
{
    for (int i = 1; i < argc; i++) {
        const char *word = argv[i];
        if (strcmp(word, "--list") == 0) {
            words->list = true;
            continue;
        }
        if (i + 1 == argc)
            return refuse("word without value", word);
        const char *value = argv[++i];
        bool good = true;
        if (strcmp(word, "--set") == 0)
            words->set = value;
        else if (strcmp(word, "--scenario") == 0)
            words->scenario = value;
        else if (strcmp(word, "--out") == 0)
            words->out = value;
        else if (strcmp(word, "--name") == 0)
            words->name = value;
        else if (strcmp(word, "--count") == 0)
            good = read_number(value, &words->count);
        else if (strcmp(word, "--first") == 0)
            good = read_number(value, &words->first);
        else if (strcmp(word, "--seed") == 0)
            good = read_number(value, &words->seed);
        else
            return refuse("unknown word", word);
        if (!good)
            return refuse("not a number", value);
    }
    return 0;
}

static void join_path(char *path,
                      size_t room,
                      const char *folder,
                      const char *stem,
                      const char *ending)
{
    const int n = snprintf(path, room, "%s/%s%s", folder, stem, ending);
    if (n < 0 || (size_t)n >= room) {
        fprintf(stderr, "kartwright-sim: %s: path is too long\n", folder);
        exit(EXIT_FAILURE);
    }
}

/* Drives, measures, labels and writes one session. */
static void produce(const struct sim_session *session,
                    const struct sim_dialect *dialect,
                    const char *folder,
                    const char *stem)
{
    char path[4096];
    struct sim_trace trace = sim_run(session);
    struct sim_rows rows = sim_measure(session, &trace);
    struct sim_labels *labels = sim_allocate(1, sizeof *labels);
    sim_label(session, &trace, &rows, labels);
    const struct sim_product product = {session, dialect, &trace, labels, stem};
    join_path(path, sizeof path, folder, stem, ".csv");
    sim_log_write(session, dialect, &rows, path);
    join_path(path, sizeof path, folder, stem, ".json");
    sim_labels_write(&product, path);
    join_path(path, sizeof path, folder, stem, ".ini");
    if (session->logger.has_profile)
        sim_profile_write(&product, path);
    free(labels);
    sim_rows_free(&rows);
    sim_trace_free(&trace);
}

/* The sets have seeds of their own, a million apart. */
static int produce_set(const struct words *words)
{
    static const char *const NAME[] = {"develop", "choose", "score"};
    size_t set = 0;
    while (set < 3 && strcmp(words->set, NAME[set]) != 0)
        set++;
    if (set == 3)
        return refuse("unknown set", words->set);
    for (unsigned long i = words->first; i < words->first + words->count; i++) {
        char stem[32];
        struct sim_session session;
        snprintf(stem, sizeof stem, "%04lu", i);
        sim_draw(&session, 1000000UL * (set + 1) + i, (enum sim_set)set);
        const struct sim_dialect dialect = sim_draw_dialect(&session);
        produce(&session, &dialect, words->out, stem);
        sim_session_free(&session);
    }
    return 0;
}

static int produce_scenario(const struct words *words)
{
    struct sim_session session;
    struct sim_dialect dialect;
    if (!sim_scenario_draw(words->scenario, words->seed, &session, &dialect))
        return refuse("unknown scenario", words->scenario);
    produce(&session, &dialect, words->out,
            words->name != NULL ? words->name : words->scenario);
    sim_session_free(&session);
    return 0;
}

int main(int argc, char **argv)
{
    struct words words = {.first = 1, .seed = 1};
    gsl_set_error_handler_off();
    const int status = read_words(argc, argv, &words);
    if (status != 0)
        return status;
    if (words.list) {
        sim_scenario_list(stdout);
        return fclose(stdout) == 0 ? 0 : 1;
    }
    if (words.out == NULL || (words.set == NULL) == (words.scenario == NULL))
        return refuse("needs", "--out and one of --set and --scenario");
    if (mkdir(words.out, 0777) != 0 && errno != EEXIST) {
        fprintf(stderr, "kartwright-sim: %s: %s\n", words.out, strerror(errno));
        return 1;
    }
    return words.set != NULL ? produce_set(&words) : produce_scenario(&words);
}
