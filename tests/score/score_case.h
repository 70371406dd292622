/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What the scorer compares: the labels of a log, and the review of it.
 *
 * Both come from JSON: labels from the simulator (tests/sim/README.md), reviews
 * from `kartwright review --json -`. Missing lists are empty, missing numbers
 * NAN.
 */
#ifndef SCORE_CASE_H
#define SCORE_CASE_H

#include <stdbool.h>
#include <stddef.h>

#include <jansson.h>

/* One event of either side. kind points into static text. */
struct score_event {
    double start_s, end_s;
    double strength;   /* percent lean, or depth in RPM */
    double fault_s;    /* hot seconds of a lean label's whole fault */
    double confidence; /* of a finding; NAN = not said */
    const char *kind;  /* cause of a drop-out, kind of another fault */
    bool optional;     /* label only: need not be found */
    bool spark_cut;    /* label only: the engine misses, the signal is true */
};

struct score_events {
    struct score_event *items;
    size_t n;
};

struct score_laps {
    double *boundary_s; /* starts and ends of flying laps, each once */
    size_t n_boundaries;
    size_t n_flying;
};

/* Time and metres, rising. */
struct score_progress {
    double *time_s;
    double *metres;
    size_t n;
};

struct score_labels {
    char name[512]; /* path of the label file without ending */
    char group[32];
    char channels[32];
    double rate_hz;
    double fix_hz; /* how often position or speed are new */
    double fix_m;  /* noise and drift of a position */
    bool healthy;
    bool has_profile;
    bool line_known;
    double running_s;
    double track_m; /* NAN = no laps */
    char whole_session[8];
    char arguments[4][32];
    size_t n_arguments;
    struct score_laps laps;
    struct score_progress progress;
    struct score_events lean, clutch, dropouts, others;
};

struct score_review {
    struct score_laps laps;
    struct score_events lean, clutch, dropouts, findings;
};

/* false when the file is no label file; says so on standard error. `stem` is
 * the path without ".json". Free with score_labels_free() in either case. */
bool score_labels_read(const char *stem, struct score_labels *labels);
void score_labels_free(struct score_labels *labels);

/* false when the text is no review. Free with score_review_free(). */
bool score_review_parse(const char *text,
                        size_t length,
                        struct score_review *review);
void score_review_free(struct score_review *review);

/* The label's word for a finding's kind, NULL for what is no fault. */
const char *score_fault_kind(const char *finding_kind);

/* Memory for a test program: ends it with a message when there is none. */
void *score_allocate(size_t n, size_t size);

#endif
