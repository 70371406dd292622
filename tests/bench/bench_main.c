/* SPDX-License-Identifier: GPL-3.0-or-later */
/* How fast, as ratios taken in one run: an absolute time says little on a busy
 * machine, and nothing on another one.
 *
 *     kartwright-bench cpu RUNS -- COMMAND... -- COMMAND...
 *     kartwright-bench csv FILE
 *
 * `cpu` runs two commands by turns and prints the least processor time of the
 * first over that of the second, both times, and the first one's peak memory.
 * `csv` is the yardstick: one libcsv pass over a file with empty callbacks. */
#include <csv.h>
#include <fcntl.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/resource.h>
#include <sys/wait.h>
#include <unistd.h>

enum { MOST_RUNS = 50, BLOCK_SIZE = 1 << 16 };

static void on_field(void *field, size_t length, void *data)
{
    (void)field;
    (void)length;
    (void)data;
}

static void on_row(int end, void *data)
{
    (void)end;
    (void)data;
}

static int pass_over(const char *path)
{
    static char block[BLOCK_SIZE];
    struct csv_parser parser;
    FILE *file = fopen(path, "rb");
    if (file == NULL || csv_init(&parser, 0) != 0) {
        perror(path);
        return 1;
    }
    for (size_t n = fread(block, 1, sizeof block, file); n > 0;
         n = fread(block, 1, sizeof block, file)) {
        if (csv_parse(&parser, block, n, on_field, on_row, NULL) != n) {
            fputs("libcsv failed\n", stderr);
            return 1;
        }
    }
    csv_fini(&parser, on_field, on_row, NULL);
    csv_free(&parser);
    fclose(file);
    return 0;
}

static double seconds(const struct timeval *t)
{
    return (double)t->tv_sec + 1e-6 * (double)t->tv_usec;
}

/* Processor time of all children that ended so far, and their peak memory. */
static double spent(double *peak_mb)
{
    struct rusage usage;
    if (getrusage(RUSAGE_CHILDREN, &usage) != 0)
        return 0.0;
    *peak_mb = (double)usage.ru_maxrss / 1024.0;
    return seconds(&usage.ru_utime) + seconds(&usage.ru_stime);
}

/* Runs a command with its output thrown away.
 *
 * returns  its processor time in seconds; ends the program when it fails. */
static double run(char **command)
{
    double peak_mb = 0.0;
    const double before = spent(&peak_mb);
    const pid_t child = fork();
    if (child == 0) {
        const int nowhere = open("/dev/null", O_WRONLY);
        if (nowhere < 0 || dup2(nowhere, STDOUT_FILENO) < 0 ||
            dup2(nowhere, STDERR_FILENO) < 0)
            _exit(127);
        execvp(command[0], command);
        _exit(127);
    }
    int status = 0;
    if (child < 0 || waitpid(child, &status, 0) != child || status != 0) {
        fprintf(stderr, "%s failed\n", command[0]);
        exit(1);
    }
    return spent(&peak_mb) - before;
}

static int compare(int runs, char **first, char **second)
{
    double least[2] = {1e9, 1e9};
    double peak_mb = 0.0;
    for (int i = 0; i < runs; i++) {
        const double a = run(first);
        if (i == 0)
            spent(&peak_mb);
        const double b = run(second);
        least[0] = a < least[0] ? a : least[0];
        least[1] = b < least[1] ? b : least[1];
    }
    printf("%.2f times (%.0f ms, %.0f ms), peak %.0f MB\n", least[0] / least[1],
           1e3 * least[0], 1e3 * least[1], peak_mb);
    return 0;
}

int main(int argc, char **argv)
{
    if (argc == 3 && strcmp(argv[1], "csv") == 0)
        return pass_over(argv[2]);
    int second = 4;
    while (second < argc && strcmp(argv[second], "--") != 0)
        second++;
    if (argc < 6 || strcmp(argv[1], "cpu") != 0 || second + 1 >= argc) {
        fputs("usage: kartwright-bench cpu RUNS -- COMMAND... -- COMMAND...\n"
              "       kartwright-bench csv FILE\n",
              stderr);
        return 2;
    }
    const long runs = strtol(argv[2], NULL, 10);
    argv[second] = NULL;
    return compare(runs > 0 && runs < MOST_RUNS ? (int)runs : 5, argv + 4,
                   argv + second + 1);
}
