/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Starting gnuplot and watching it. No shell takes part: the words go to it as
 * they are, and they are our own.
 *
 * fork(), then exec: a pipe that closes at exec tells a missing program from a
 * failing one. Its words come through a second pipe, and each word restarts
 * the clock of its silence. A child that is silent for too long is killed with
 * its whole group, so that a wrapper script leaves nothing running. */
#include "report/gnuplot.h"

#include "core/array.h"

#include <errno.h>
#include <fcntl.h>
#include <poll.h>
#include <signal.h>
#include <stdlib.h>
#include <string.h>
#include <sys/types.h>
#include <sys/wait.h>
#include <time.h>
#include <unistd.h>

/* What gnuplot says beyond so many bytes is lost: the first words name the
 * cause. LOOK_EVERY_MS is how late an interrupt or a silence is noticed at
 * most. */
enum { MOST_SAID = 16384, LOOK_EVERY_MS = 50, NOT_STARTED = 127 };

/* Two share the work: most of the time goes into the PNGs, and most machines
 * have two cores. */
enum { N_CHILDREN = 2 };

/* One gnuplot at work.
 *
 * hears    the end of the pipe that its words come out of; -1 once it closed.
 * said     those words.
 * heard_s  when it last said something, or was started.
 * ended    it has been waited for; status is good.
 * silenced we ended it. */
struct child {
    pid_t pid;
    int hears;
    struct kw_text said;
    double heard_s;
    bool ended;
    bool silenced;
    int status;
};

/* A clock that nobody sets: the silence of a child must not grow by an hour
 * when summer time ends. */
static double now_s(void)
{
    struct timespec now;
    if (clock_gettime(CLOCK_MONOTONIC, &now) != 0)
        return 0.0;
    return (double)now.tv_sec + (double)now.tv_nsec / 1e9;
}

/* ---- starting ------------------------------------------------------------ */

/* "gnuplot -d session.gp heat.gp ...": -d keeps the settings of this machine's
 * user out of the plots. Child c draws plots c, c + N_CHILDREN and so on.
 *
 * names    "session.gp" and so on, in one text, each closed with a zero.
 * returns  NULL when memory is short; the caller frees it with free(). */
static char **make_words(const char *program,
                         struct kw_text *names,
                         size_t n_plots,
                         size_t c,
                         struct kw_error *error)
{
    static char no_user_settings[] = "-d";
    char **words = kw_array_new(n_plots + 3, sizeof *words, error);
    if (words == NULL)
        return NULL;
    /* execvp() takes char *const[] for history's sake and changes nothing. */
    memcpy(&words[0], &program, sizeof words[0]);
    words[1] = no_user_settings;
    size_t n = 2;
    char *name = names->bytes;
    for (size_t i = 0; i < n_plots; i++) {
        if (i % N_CHILDREN == c)
            words[n++] = name;
        name += strlen(name) + 1;
    }
    return words;
}

/* In the child, after fork(): only calls that are safe there. Never returns. */
static void become_gnuplot(const char *folder,
                           char **words,
                           int says,
                           int tells_errno)
{
    sigset_t none;
    const int nothing = open("/dev/null", O_RDONLY);
    sigemptyset(&none);
    /* A group of its own: what it may have started is ended with it. */
    if (nothing >= 0 && setpgid(0, 0) == 0 && chdir(folder) == 0 &&
        dup2(nothing, STDIN_FILENO) >= 0 && dup2(says, STDOUT_FILENO) >= 0 &&
        dup2(says, STDERR_FILENO) >= 0 &&
        sigprocmask(SIG_SETMASK, &none, NULL) == 0)
        execvp(words[0], words);
    const int failed = errno;
    const ssize_t told = write(tells_errno, &failed, sizeof failed);
    _exit(told == (ssize_t)sizeof failed ? NOT_STARTED : NOT_STARTED - 1);
}

/* Our own pipe ends must not live on in gnuplot: then they would never
 * close. */
static bool close_at_exec(const int ends[2])
{
    return fcntl(ends[0], F_SETFD, FD_CLOEXEC) == 0 &&
           fcntl(ends[1], F_SETFD, FD_CLOEXEC) == 0;
}

/* Both ends are closed by a later exec. */
static bool open_pipe(int ends[2])
{
    if (pipe(ends) != 0)
        return false;
    if (close_at_exec(ends))
        return true;
    close(ends[0]);
    close(ends[1]);
    return false;
}

/* The pipe closes by itself when execvp() succeeds; else an errno comes. */
static int wait_for_exec(int hears)
{
    int failed = 0;
    ssize_t n;
    do
        n = read(hears, &failed, sizeof failed);
    while (n < 0 && errno == EINTR);
    return n == (ssize_t)sizeof failed ? failed : 0;
}

/* returns  0 or an errno: ENOENT when there is no such program. */
static int start(struct child *child, const char *folder, char **words)
{
    int said[2];
    int told[2];
    if (!open_pipe(said))
        return errno;
    if (!open_pipe(told)) {
        const int failed = errno;
        close(said[0]);
        close(said[1]);
        return failed;
    }
    child->pid = fork();
    int failed = child->pid < 0 ? errno : 0;
    if (child->pid == 0)
        become_gnuplot(folder, words, said[1], told[1]);
    close(said[1]);
    close(told[1]);
    if (failed == 0)
        failed = wait_for_exec(told[0]);
    close(told[0]);
    child->hears = said[0];
    child->heard_s = now_s();
    if (failed == 0)
        return 0;
    close(said[0]);
    child->hears = -1;
    child->ended = true;
    if (child->pid > 0)
        (void)waitpid(child->pid, &child->status, 0);
    return failed;
}

/* ---- watching ------------------------------------------------------------ */

/* Takes what is there; closes the ear when the other side is gone. */
static void listen_to(struct child *child)
{
    char words[1024];
    const ssize_t n = read(child->hears, words, sizeof words);
    if (n < 0 && errno == EINTR)
        return;
    if (n <= 0) {
        close(child->hears);
        child->hears = -1;
        return;
    }
    child->heard_s = now_s();
    if (child->said.length < MOST_SAID)
        kw_text_add_bytes(&child->said, words, (size_t)n);
}

/* Ends the whole group, so that what it may have started goes too. */
static void stop(struct child *child)
{
    if (!child->ended)
        (void)kill(-child->pid, SIGKILL);
}

/* Ends a child that was silent for too long, and takes note of one that is
 * done. */
static void look_after(struct child *child, double silence_s)
{
    if (child->ended)
        return;
    if (!child->silenced && now_s() - child->heard_s > silence_s) {
        child->silenced = true;
        stop(child);
    }
    /* A host program that ignores its children's end leaves none to wait
     * for. */
    const pid_t ended = waitpid(child->pid, &child->status, WNOHANG);
    if (ended == child->pid || (ended < 0 && errno == ECHILD))
        child->ended = true;
}

/* A signal that the caller holds back (see kw_review_write_folder()). */
static bool user_interrupts(void)
{
    sigset_t waiting;
    return sigpending(&waiting) == 0 && (sigismember(&waiting, SIGINT) == 1 ||
                                         sigismember(&waiting, SIGTERM) == 1 ||
                                         sigismember(&waiting, SIGHUP) == 1);
}

/* returns  false when the user interrupted. */
static bool watch(struct child children[N_CHILDREN], double silence_s)
{
    for (;;) {
        struct pollfd ears[N_CHILDREN];
        bool all_ended = true;
        bool all_closed = true;
        for (size_t i = 0; i < N_CHILDREN; i++) {
            ears[i] = (struct pollfd){children[i].hears, POLLIN, 0};
            all_ended = all_ended && children[i].ended;
            all_closed = all_closed && children[i].hears < 0;
        }
        if (all_ended)
            return true;
        if (user_interrupts())
            return false;
        /* A process that closed its words is about to end: look again soon. */
        const int heard =
            poll(ears, N_CHILDREN, all_closed ? 1 : LOOK_EVERY_MS);
        for (size_t i = 0; i < N_CHILDREN; i++) {
            if (heard > 0 && ears[i].revents != 0)
                listen_to(&children[i]);
            look_after(&children[i], silence_s);
        }
    }
}

/* What it said last may still be in the pipe. */
static void finish(struct child *child)
{
    if (!child->ended) {
        stop(child);
        (void)waitpid(child->pid, &child->status, 0);
        child->ended = true;
    }
    while (child->hears >= 0) {
        struct pollfd ear = {child->hears, POLLIN, 0};
        if (poll(&ear, 1, 0) <= 0)
            break;
        listen_to(child);
    }
    if (child->hears >= 0)
        close(child->hears);
    child->hears = -1;
}

/* ---- telling ------------------------------------------------------------- */

/* The last line that it said is the message itself: before it come the command
 * and a mark under the wrong word. */
static void add_last_line(struct kw_text *trouble, const char *said)
{
    size_t end = strlen(said);
    while (end > 0 && strchr(" \r\n", said[end - 1]) != NULL)
        end--;
    size_t begin = end;
    while (begin > 0 && said[begin - 1] != '\n')
        begin--;
    kw_text_add_bytes(trouble, said + begin, end - begin);
}

/* Says why a child failed; only the first trouble is told, the others mostly
 * follow from it. */
static void tell(struct kw_text *trouble,
                 const struct child *child,
                 const struct kw_gnuplot_options *options)
{
    const bool well =
        WIFEXITED(child->status) && WEXITSTATUS(child->status) == 0;
    if (trouble->length > 0 || well)
        return;
    if (child->silenced) {
        kw_text_add(trouble, "gnuplot said nothing for ");
        kw_text_add_number(trouble, options->silence_s,
                           options->silence_s < 1.0 ? 1 : 0);
        kw_text_add(trouble, " s and was ended; run 'gnuplot session.gp' in "
                             "the report folder to see why");
        return;
    }
    kw_text_add(trouble, "gnuplot failed");
    if (child->said.length > 0) {
        kw_text_add(trouble, " and said: ");
        add_last_line(trouble, child->said.bytes);
    }
}

/* Says why no child could be started. */
static void tell_start(struct kw_text *trouble, int failed)
{
    if (trouble->length > 0)
        return;
    if (failed == ENOENT)
        kw_text_add(trouble, "gnuplot was not found: install it (on Debian: "
                             "apt install gnuplot-nox) and review again");
    else
        kw_text_addf(trouble, "gnuplot could not be started (error %d)",
                     failed);
}

/* ---- all together -------------------------------------------------------- */

/* All names in one text, each closed with a zero: one allocation, one
 * lifetime. */
static void name_scripts(struct kw_text *names, const struct kw_plots *plots)
{
    for (size_t i = 0; i < plots->n; i++) {
        kw_text_addf(names, "%s.gp", plots->items[i].name);
        kw_text_add_bytes(names, "", 1);
    }
}

/* Whatever happens, every child that was started is waited for and every pipe
 * is closed. */
enum kw_status kw_gnuplot_draw(const struct kw_gnuplot_options *options,
                               const struct kw_plots *plots,
                               struct kw_text *trouble,
                               struct kw_error *error)
{
    struct child children[N_CHILDREN];
    for (size_t c = 0; c < N_CHILDREN; c++)
        children[c] = (struct child){.hears = -1, .ended = true};
    struct kw_text names = {0};
    enum kw_status status = KW_OK;
    name_scripts(&names, plots);
    if (kw_text_failed(&names))
        status = kw_fail_memory(error);
    for (size_t c = 0; c < N_CHILDREN && c < plots->n && status == KW_OK; c++) {
        char **words = make_words(options->program, &names, plots->n, c, error);
        if (words == NULL) {
            status = KW_NO_MEMORY;
            break;
        }
        children[c].ended = false;
        const int failed = start(&children[c], options->folder, words);
        free(words);
        if (failed != 0)
            tell_start(trouble, failed);
    }
    if (status == KW_OK && !watch(children, options->silence_s))
        status = kw_fail(error, KW_IO_FAILED, NULL, 0, "interrupted",
                         "nothing was written");
    for (size_t c = 0; c < N_CHILDREN; c++) {
        finish(&children[c]);
        tell(trouble, &children[c], options);
        kw_text_free(&children[c].said);
    }
    kw_text_free(&names);
    return status;
}
