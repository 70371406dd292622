/* SPDX-License-Identifier: GPL-3.0-or-later */
/* kartwright-score: reviews labelled logs and says how right the reviews are.
 *
 * Exit status: 0 scored; 1 something could not be read; 2 wrong words.
 */
#include "score_report.h"

#include <dirent.h>
#include <errno.h>
#include <stdlib.h>
#include <string.h>

#include <gsl/gsl_errno.h>

static const char USAGE[] =
    "usage: kartwright-score --review PROGRAM --dir DIR [--dir DIR ...]\n"
    "           [--jobs N] [--timeout S] [--table md] [--list [N]]\n"
    "           [--strength-data FILE]\n";

enum { MAX_FOLDERS = 16 };

struct words {
    struct score_runner runner;
    const char *folder[MAX_FOLDERS];
    size_t n_folders;
    bool markdown;
    size_t list;
    const char *strength_data;
};

static int refuse(const char *what, const char *value)
{
    fprintf(stderr, "kartwright-score: %s: %s\n%s", what, value, USAGE);
    return 2;
}

/* A whole number of 1 to a million, 0 = it is none. */
static size_t count_of(const char *text)
{
    char *end = NULL;
    const unsigned long n = text == NULL ? 0 : strtoul(text, &end, 10);
    if (n == 0 || n > 1000000 || *end != '\0')
        return 0;
    return (size_t)n;
}

/* Takes one word that has a value; 0 when it was understood. */
static int take_word(struct words *words, const char *word, const char *value)
{
    if (strcmp(word, "--review") == 0)
        words->runner.program = value;
    else if (strcmp(word, "--dir") == 0 && words->n_folders < MAX_FOLDERS)
        words->folder[words->n_folders++] = value;
    else if (strcmp(word, "--jobs") == 0)
        words->runner.jobs = (int)count_of(value);
    else if (strcmp(word, "--timeout") == 0)
        words->runner.timeout_s = (double)count_of(value);
    else if (strcmp(word, "--table") == 0)
        words->markdown = strcmp(value, "md") == 0;
    else if (strcmp(word, "--strength-data") == 0)
        words->strength_data = value;
    else
        return refuse("unknown word", word);
    return 0;
}

static int read_words(int argc, char **argv, struct words *words)
{
    for (int i = 1; i < argc; i++) {
        if (strcmp(argv[i], "--list") == 0) {
            const size_t n = count_of(i + 1 < argc ? argv[i + 1] : NULL);
            words->list = n > 0 ? n : 20;
            i += n > 0 ? 1 : 0;
            continue;
        }
        if (i + 1 == argc)
            return refuse("word without value", argv[i]);
        const int status = take_word(words, argv[i], argv[i + 1]);
        if (status != 0)
            return status;
        i++;
    }
    if (words->runner.program == NULL || words->n_folders == 0)
        return refuse("needs", "--review and --dir");
    if (words->runner.jobs < 1 || words->runner.timeout_s < 1.0)
        return refuse("not a number of 1 and more", "--jobs or --timeout");
    return 0;
}

/* Names of all label files; grows as needed. */
struct stems {
    char (*items)[512];
    size_t n, room;
};

static bool add_stem(struct stems *stems, const char *folder, const char *name)
{
    const size_t length = strlen(name);
    if (length < 6 || strcmp(name + length - 5, ".json") != 0)
        return true;
    if (stems->n == stems->room) {
        const size_t room = 2 * stems->room + 64;
        void *more = realloc(stems->items, room * sizeof *stems->items);
        if (more == NULL)
            return false;
        stems->items = more;
        stems->room = room;
    }
    const int written = snprintf(stems->items[stems->n], sizeof stems->items[0],
                                 "%s/%.*s", folder, (int)(length - 5), name);
    if (written < 0 || (size_t)written >= sizeof stems->items[0])
        return false;
    stems->n++;
    return true;
}

static bool list_folder(struct stems *stems, const char *folder)
{
    DIR *directory = opendir(folder);
    if (directory == NULL) {
        fprintf(stderr, "kartwright-score: %s: %s\n", folder, strerror(errno));
        return false;
    }
    bool good = true;
    const struct dirent *entry = readdir(directory);
    while (entry != NULL && good) {
        good = add_stem(stems, folder, entry->d_name);
        entry = readdir(directory);
    }
    return closedir(directory) == 0 && good;
}

static int by_name(const void *a, const void *b)
{
    return strcmp(a, b);
}

static bool put_strength_data(const char *path, const struct score_sample *all)
{
    FILE *out = fopen(path, "w");
    if (out == NULL) {
        fprintf(stderr, "kartwright-score: %s: %s\n", path, strerror(errno));
        return false;
    }
    score_put_strength_data(out, all);
    return fclose(out) == 0;
}

static bool put_all(const struct words *words, const struct score_sample *all)
{
    const struct score_pen pen = {stdout, words->markdown};
    score_put_ends(&pen, all);
    fputc('\n', stdout);
    score_put_targets(&pen, all);
    fputc('\n', stdout);
    score_put_groups(&pen, all);
    fputc('\n', stdout);
    score_put_strength(&pen, all);
    fputc('\n', stdout);
    score_put_kinds(&pen, all);
    fputc('\n', stdout);
    score_put_confidence(&pen, all);
    if (words->list > 0) {
        fputc('\n', stdout);
        score_put_list(&pen, all, words->list);
    }
    return words->strength_data == NULL ||
           put_strength_data(words->strength_data, all);
}

/* Reads the labels of all stems; those that are none are left out. */
static size_t read_labels(const struct stems *stems,
                          struct score_labels *labels)
{
    size_t n = 0;
    for (size_t i = 0; i < stems->n; i++) {
        if (score_labels_read(stems->items[i], &labels[n]))
            n++;
        else
            score_labels_free(&labels[n]);
    }
    return n;
}

static bool score(const struct words *words, const struct stems *stems)
{
    struct score_labels *labels =
        score_allocate(stems->n, sizeof(struct score_labels));
    const size_t n = read_labels(stems, labels);
    struct score_output *outputs =
        score_allocate(n, sizeof(struct score_output));
    struct score_result *results =
        score_allocate(n, sizeof(struct score_result));
    struct score_sample all = {score_allocate(n, sizeof *all.items), n};
    score_run_all(&words->runner, labels, n, outputs);
    for (size_t i = 0; i < n; i++) {
        results[i] = score_judge(&labels[i], &outputs[i]);
        all.items[i] = &results[i];
        free(outputs[i].output);
    }
    const bool good = put_all(words, &all);
    for (size_t i = 0; i < n; i++) {
        score_result_free(&results[i]);
        score_labels_free(&labels[i]);
    }
    free(all.items);
    free(results);
    free(outputs);
    free(labels);
    return good && n == stems->n;
}

int main(int argc, char **argv)
{
    struct words words = {.runner = {.jobs = 1, .timeout_s = 60.0}};
    gsl_set_error_handler_off();
    const int status = read_words(argc, argv, &words);
    if (status != 0)
        return status;
    struct stems stems = {0};
    bool good = true;
    for (size_t i = 0; i < words.n_folders && good; i++)
        good = list_folder(&stems, words.folder[i]);
    if (good && stems.n > 0)
        qsort(stems.items, stems.n, sizeof *stems.items, by_name);
    good = good && score(&words, &stems);
    free(stems.items);
    if (fclose(stdout) != 0)
        good = false;
    return good ? 0 : 1;
}
