/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Child processes, their pipes and their deadlines; see score_run.h. */
#include "score_run.h"

#include <errno.h>
#include <fcntl.h>
#include <poll.h>
#include <signal.h>
#include <spawn.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/wait.h>
#include <time.h>
#include <unistd.h>

extern char **environ;

enum { MAX_JOBS = 16, MAX_WORDS = 16 };

/* One place where a review runs. pid 0 = free. */
struct slot {
    pid_t pid;
    int pipe;
    size_t which;
    double started_s;
    struct score_output *output;
    size_t room;
};

static double now_s(void)
{
    struct timespec now;
    if (clock_gettime(CLOCK_MONOTONIC, &now) != 0)
        return 0.0;
    return (double)now.tv_sec + 1e-9 * (double)now.tv_nsec;
}

static void give_up(const char *what)
{
    fprintf(stderr, "kartwright-score: %s: %s\n", what, strerror(errno));
    exit(EXIT_FAILURE);
}

/* review --no-report --json - [args] [--kart ini] log */
static void list_words(const struct score_runner *runner,
                       const struct score_labels *labels,
                       char **words,
                       char *log,
                       char *profile)
{
    size_t n = 0;
    static char review[] = "review", no_report[] = "--no-report",
                json[] = "--json", dash[] = "-", kart[] = "--kart";
    words[n++] = (char *)(size_t)runner->program;
    words[n++] = review;
    words[n++] = no_report;
    words[n++] = json;
    words[n++] = dash;
    for (size_t i = 0; i < labels->n_arguments; i++)
        words[n++] = (char *)(size_t)labels->arguments[i];
    if (labels->has_profile) {
        words[n++] = kart;
        words[n++] = profile;
    }
    words[n++] = log;
    words[n] = NULL;
}

/* Only the answer is kept; what is said beside it is for people. */
static void start(const struct score_runner *runner,
                  const struct score_labels *labels,
                  struct slot *slot)
{
    char log[600], profile[600];
    char *words[MAX_WORDS];
    int ends[2];
    snprintf(log, sizeof log, "%s.csv", labels->name);
    snprintf(profile, sizeof profile, "%s.ini", labels->name);
    list_words(runner, labels, words, log, profile);
    if (pipe(ends) != 0)
        give_up("pipe");
    if (fcntl(ends[0], F_SETFD, FD_CLOEXEC) != 0)
        give_up("pipe");
    posix_spawn_file_actions_t actions;
    if (posix_spawn_file_actions_init(&actions) != 0 ||
        posix_spawn_file_actions_adddup2(&actions, ends[1], 1) != 0 ||
        posix_spawn_file_actions_addclose(&actions, ends[1]) != 0 ||
        posix_spawn_file_actions_addopen(&actions, 2, "/dev/null", O_WRONLY,
                                         0) != 0)
        give_up("spawn");
    const int status = posix_spawn(&slot->pid, runner->program, &actions, NULL,
                                   words, environ);
    if (status != 0) {
        errno = status;
        give_up(runner->program);
    }
    posix_spawn_file_actions_destroy(&actions);
    if (close(ends[1]) != 0)
        give_up("pipe");
    slot->pipe = ends[0];
    slot->started_s = now_s();
    slot->room = 0;
}

/* Fetches the child, so that none is left behind. */
static void finish(struct slot *slot)
{
    int status = 0;
    struct score_output *output = slot->output;
    while (waitpid(slot->pid, &status, 0) < 0)
        if (errno != EINTR)
            give_up("wait");
    if (close(slot->pipe) != 0)
        give_up("pipe");
    output->seconds = now_s() - slot->started_s;
    if (output->exit != SCORE_TIMED_OUT && WIFSIGNALED(status)) {
        output->exit = SCORE_CRASHED;
        output->status = WTERMSIG(status);
    } else if (output->exit != SCORE_TIMED_OUT) {
        output->status = WEXITSTATUS(status);
        output->exit = output->status == 0 ? SCORE_REVIEWED : SCORE_REFUSED;
    }
    slot->pid = 0;
}

/* Reads what is there; false at the end of the output. */
static bool drain(struct slot *slot)
{
    struct score_output *output = slot->output;
    if (slot->room < output->length + 65536) {
        slot->room = 2 * slot->room + 131072;
        char *more = realloc(output->output, slot->room);
        if (more == NULL)
            give_up("memory");
        output->output = more;
    }
    const ssize_t n = read(slot->pipe, output->output + output->length, 65536);
    if (n < 0 && errno != EINTR)
        give_up("read");
    if (n > 0)
        output->length += (size_t)n;
    return n != 0;
}

/* Waits until one child has said something, or the next deadline. */
static void serve(const struct score_runner *runner,
                  struct slot *slots,
                  int n_slots)
{
    struct pollfd polls[MAX_JOBS];
    nfds_t n = 0;
    for (int i = 0; i < n_slots; i++)
        if (slots[i].pid != 0)
            polls[n++] = (struct pollfd){.fd = slots[i].pipe, .events = POLLIN};
    if (poll(polls, n, 200) < 0 && errno != EINTR)
        give_up("poll");
    nfds_t at = 0;
    for (int i = 0; i < n_slots; i++) {
        struct slot *slot = &slots[i];
        if (slot->pid == 0)
            continue;
        const short what = polls[at++].revents;
        if (now_s() - slot->started_s > runner->timeout_s) {
            slot->output->exit = SCORE_TIMED_OUT;
            kill(slot->pid, SIGKILL);
            finish(slot);
        } else if (what != 0 && !drain(slot)) {
            finish(slot);
        }
    }
}

void score_run_all(const struct score_runner *runner,
                   const struct score_labels *labels,
                   size_t n,
                   struct score_output *outputs)
{
    struct slot slots[MAX_JOBS] = {{0}};
    const int n_slots = runner->jobs < 1          ? 1
                        : runner->jobs > MAX_JOBS ? MAX_JOBS
                                                  : runner->jobs;
    size_t next = 0;
    bool busy = true;
    while (busy) {
        busy = false;
        for (int i = 0; i < n_slots; i++) {
            if (slots[i].pid == 0 && next < n) {
                outputs[next] = (struct score_output){0};
                slots[i].output = &outputs[next];
                start(runner, &labels[next], &slots[i]);
                next++;
            }
            busy = busy || slots[i].pid != 0;
        }
        if (busy)
            serve(runner, slots, n_slots);
    }
}
