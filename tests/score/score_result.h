/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What one review was worth, and the sums over many. */
#ifndef SCORE_RESULT_H
#define SCORE_RESULT_H

#include "score_match.h"
#include "score_place.h"
#include "score_run.h"

enum score_field { SCORE_LEAN, SCORE_CLUTCH, SCORE_DROPOUT, SCORE_FIELDS };

/* What happened to one label. */
struct score_outcome {
    enum score_field field;
    double strength, for_s;
    const char *kind;
    bool found, touched;
    bool wanted;          /* in the class that the targets speak of */
    bool of_wanted_fault; /* lean: its fault is, all stretches together */
    bool cause_right;
    double start_error_s, end_error_s; /* of found ones, absolute */
};

/* A finding with its confidence, right or wrong. */
struct score_claim {
    enum score_field field;
    double confidence;
    bool right, excused, touches;
};

/* Findings of the other faults, by kind of the label. */
enum { SCORE_KINDS = 7 };
extern const char *const SCORE_KIND[SCORE_KINDS];

struct score_result {
    const struct score_labels *labels;
    enum score_exit exit;
    bool readable;
    double seconds;
    struct score_lap_result laps;
    size_t found_laps;
    struct score_outcome *outcome;
    size_t n_outcomes;
    struct score_claim *claim;
    size_t n_claims;
    double kind_labels[SCORE_KINDS], kind_found[SCORE_KINDS];
    double kind_false[SCORE_KINDS];
    double false_findings; /* of any kind but clutch engagements */
    char *text;            /* what was missed or invented, a line each */
    double faults;         /* how many lines: the worst come first */
};

/* Judges one output against its labels. The result keeps `labels`. */
struct score_result score_judge(const struct score_labels *labels,
                                const struct score_output *output);
void score_result_free(struct score_result *result);

#endif
