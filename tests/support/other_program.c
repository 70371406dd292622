/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Asking a program that is not ours. */
#include "support/other_program.h"

#include "support/check.h"

#include <sys/wait.h>
#include <unistd.h>

/* What a shell gives for a command that it does not find. */
enum { NOT_FOUND = 127 };

bool ask_program(char *const words[], char *answer, size_t size)
{
    int ends[2];
    assert_int_equal(pipe(ends), 0);
    const pid_t child = fork();
    assert_true(child >= 0);
    if (child == 0) {
        if (dup2(ends[1], STDOUT_FILENO) < 0)
            _exit(NOT_FOUND);
        close(ends[0]);
        execvp(words[0], words);
        _exit(NOT_FOUND);
    }
    close(ends[1]);
    FILE *from = fdopen(ends[0], "r");
    assert_non_null(from);
    const size_t n = fread(answer, 1, size - 1, from);
    answer[n] = '\0';
    /* Read to its end, or the program dies of a closed pipe. */
    char rest[256];
    while (fread(rest, 1, sizeof rest, from) > 0)
        continue;
    fclose(from);
    int status = 0;
    assert_int_equal(waitpid(child, &status, 0), child);
    return WIFEXITED(status) && WEXITSTATUS(status) == 0;
}
