/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A logbook of many made-up sessions, to measure on.
 *
 *     kartwright-bench-book BOOK SESSIONS FILE-BYTES
 *
 * Each session has eight files of that many bytes, as many as a report has, no
 * two alike; every third has a finding, and a part is fitted every twenty. */
#include "kartwright/logbook.h"

#include <gsl/gsl_errno.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { N_FILES = 8, FINDING_EVERY = 3, FITTING_EVERY = 20, KINDS = 12 };

static const double FIRST_DAY_S = 1577836800.0; /* 2020-01-01 */
static const double DAY_S = 86400.0;

static int complain(const struct kw_error *error)
{
    fprintf(stderr, "%s: %s\n", error->what, error->todo);
    return 1;
}

static struct kw_new_entry entry_of(long i)
{
    return (struct kw_new_entry){.at_s = FIRST_DAY_S + (double)i * DAY_S / 4.0,
                                 .source = KW_DATE_GIVEN,
                                 .written_s = FIRST_DAY_S,
                                 .kart = "Number 7"};
}

static enum kw_status add_session(struct kw_logbook *book,
                                  long i,
                                  const struct kw_file_copy *files,
                                  struct kw_error *error)
{
    char part[32];
    char verdict[] = "See to the points below.";
    char words[] = "Seen 3 times, laps 4 to 6.";
    snprintf(part, sizeof part, "part %ld", i % KINDS);
    struct kw_suggestion found = {.rank = 1,
                                  .part = part,
                                  .why = words,
                                  .check = words,
                                  .caution = words};
    struct kw_lap lap = {.kind = KW_LAP_FLYING,
                         .end_s = 50.0,
                         .rpm_max = 14000.0 + (double)(i % 7),
                         .egt_max_c = 600.0 + (double)(i % 11)};
    struct kw_review review = {.running = {.seconds = 900.0, .starts = 1},
                               .verdict_text = verdict,
                               .laps = {.items = &lap, .n = 1, .capacity = 1}};
    if (i % FINDING_EVERY == 0)
        review.suggestions = (struct kw_suggestions){&found, 1, 1};
    struct kw_new_session session = {
        .review = &review, .log_name = "made-up.csv", .log_bytes = 1000};
    memcpy(session.log_sha256, &i, sizeof i);
    struct kw_new_entry entry = entry_of(i);
    struct kw_added added;
    entry.files = files;
    entry.n_files = N_FILES;
    return kw_logbook_add_session(book, &entry, &session, &added, error);
}

static enum kw_status fit_part(struct kw_logbook *book,
                               long i,
                               struct kw_error *error)
{
    char name[32];
    snprintf(name, sizeof name, "part %ld", i / FITTING_EVERY % KINDS);
    const struct kw_new_part part = {
        .part = name, .life_h = 8.0, .life_days = NAN};
    const struct kw_new_entry entry = entry_of(i);
    struct kw_fitted fitted;
    return kw_logbook_fit(book, &entry, &part, &fitted, error);
}

static enum kw_status fill(struct kw_logbook *book,
                           long n,
                           size_t n_bytes,
                           struct kw_error *error)
{
    static const char *const names[N_FILES] = {
        "clutch.png",  "heat.png",    "index.html", "laps.png",
        "review.json", "session.png", "track.png",  "trend.png"};
    char *bytes = calloc(n_bytes, 1);
    enum kw_status status = bytes == NULL ? KW_NO_MEMORY : KW_OK;
    struct kw_file_copy files[N_FILES];
    for (long i = 0; i < n && status == KW_OK; i++) {
        for (int k = 0; k < N_FILES; k++)
            files[k] = (struct kw_file_copy){names[k], bytes, n_bytes};
        /* The same bytes would be kept once: each file starts elsewhere. */
        for (int k = 0; k < N_FILES; k++)
            files[k].n_bytes = n_bytes - (size_t)k;
        memcpy(bytes, &i, sizeof i);
        status = add_session(book, i, files, error);
        if (status == KW_OK && i % FITTING_EVERY == 0)
            status = fit_part(book, i, error);
    }
    free(bytes);
    return status;
}

int main(int argc, char **argv)
{
    struct kw_logbook *book = NULL;
    struct kw_error error = {0};
    gsl_set_error_handler_off();
    const long n = argc == 4 ? strtol(argv[2], NULL, 10) : 0;
    const long n_bytes = argc == 4 ? strtol(argv[3], NULL, 10) : 0;
    if (n < 1 || n_bytes < 64) {
        fputs("usage: kartwright-bench-book BOOK SESSIONS FILE-BYTES\n",
              stderr);
        return 2;
    }
    enum kw_status status =
        kw_logbook_open(argv[1], KW_LOGBOOK_WRITE, &book, &error);
    if (status == KW_OK)
        status = fill(book, n, (size_t)n_bytes, &error);
    kw_logbook_close(book);
    return status == KW_OK ? 0 : complain(&error);
}
