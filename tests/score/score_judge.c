/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Judges one review against the labels of its log, see score_result.h. */
#include "score_result.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

const char *const SCORE_KIND[SCORE_KINDS] = {
    "rich",         "air_leak",    "chain_jump", "seizure",
    "exhaust_leak", "clutch_worn", "open_probe"};

/* The class of lean episodes that the targets speak of. */
static const double WANTED_PERCENT = 6.0;
static const double WANTED_LEAN_S = 6.0;

/* A finding and its label may miss one another by so much and still be meant
 * (EC57 has such a window for each beat; these are ours). */
static const double LEAN_PAD_S = 0.5;
static const double CLUTCH_PAD_S = 0.5;
static const double OTHER_PAD_S = 3.0;

static double dropout_pad_s(const struct score_labels *labels)
{
    return 0.1 + 1.0 / labels->rate_hz;
}

/* Where a result is put together. */
struct desk {
    const struct score_labels *labels;
    const struct score_review *review;
    struct score_result *result;
    FILE *text;
};

static void tell(const struct desk *desk,
                 const char *what,
                 const struct score_event *event)
{
    fprintf(desk->text, "    %s %s %.2f to %.2f s, size %.4g", what,
            event->kind != NULL ? event->kind : "", event->start_s,
            event->end_s, event->strength);
    if (isfinite(event->confidence))
        fprintf(desk->text, ", confidence %.2f", event->confidence);
    fputc('\n', desk->text);
    desk->result->faults += 1.0;
}

static bool is_wanted(enum score_field field, const struct score_event *label)
{
    if (label->optional)
        return false;
    return field != SCORE_LEAN ||
           (label->strength >= WANTED_PERCENT &&
            label->end_s - label->start_s >= WANTED_LEAN_S);
}

/* One label: found or missed, with its errors. Clutch: the second error is that
 * of the duration. */
static void note_label(const struct desk *desk,
                       enum score_field field,
                       const struct score_event *label,
                       const struct score_event *finding,
                       bool touched)
{
    static const char *const MISSED[] = {"missed lean", "missed clutch start",
                                         "missed drop-out"};
    if (label->optional)
        return;
    struct score_outcome outcome = {.field = field,
                                    .strength = label->strength,
                                    .for_s = label->end_s - label->start_s,
                                    .kind = label->kind,
                                    .found = finding != NULL,
                                    .touched = touched,
                                    .wanted = is_wanted(field, label)};
    if (label->spark_cut)
        outcome.kind = "spark_cut";
    outcome.of_wanted_fault =
        label->strength >= WANTED_PERCENT && label->fault_s >= WANTED_LEAN_S;
    if (finding != NULL) {
        outcome.start_error_s = fabs(finding->start_s - label->start_s);
        outcome.end_error_s = fabs(finding->end_s - label->end_s);
        if (field == SCORE_CLUTCH)
            outcome.end_error_s =
                fabs(finding->end_s - finding->start_s - outcome.for_s);
        outcome.cause_right =
            label->kind == NULL ||
            (finding->kind != NULL && strcmp(label->kind, finding->kind) == 0);
        if (!outcome.cause_right)
            tell(desk, "wrong cause for", label);
    } else if (outcome.wanted) {
        tell(desk, MISSED[field], label);
    }
    desk->result->outcome[desk->result->n_outcomes++] = outcome;
}

static void note_claim(const struct desk *desk,
                       enum score_field field,
                       const struct score_event *finding,
                       enum score_fate fate,
                       bool touches)
{
    static const char *const FALSE[] = {"false lean", "false clutch start",
                                        "false drop-out"};
    desk->result->claim[desk->result->n_claims++] =
        (struct score_claim){.field = field,
                             .confidence = finding->confidence,
                             .right = fate == SCORE_RIGHT,
                             .excused = fate == SCORE_EXCUSED,
                             .touches = touches};
    if (fate == SCORE_FALSE) {
        tell(desk, FALSE[field], finding);
        if (field != SCORE_CLUTCH)
            desk->result->false_findings += 1.0;
    }
}

static void judge_field(const struct desk *desk,
                        enum score_field field,
                        const struct score_events *labels,
                        const struct score_events *findings,
                        double pad_s)
{
    struct score_matching matching = score_match(labels, findings, pad_s);
    for (size_t i = 0; i < labels->n; i++) {
        const int j = matching.finding_of[i];
        note_label(desk, field, &labels->items[i],
                   j == SCORE_NONE ? NULL : &findings->items[j],
                   matching.touched[i]);
    }
    for (size_t j = 0; j < findings->n; j++)
        note_claim(desk, field, &findings->items[j], matching.fate[j],
                   matching.touches[j]);
    score_matching_free(&matching);
}

/* One kind of the other faults: a log has it or not, found or not. Several
 * findings of a kind that is there are not false; time matters little. */
static void judge_kind(const struct desk *desk, size_t k)
{
    struct score_result *result = desk->result;
    const struct score_events *labels = &desk->labels->others;
    const struct score_events *findings = &desk->review->findings;
    const bool rich = strcmp(SCORE_KIND[k], "rich") == 0 &&
                      strcmp(desk->labels->whole_session, "rich") == 0;
    for (size_t j = 0; j < findings->n; j++) {
        bool excused = rich;
        if (strcmp(findings->items[j].kind, SCORE_KIND[k]) != 0)
            continue;
        for (size_t i = 0; i < labels->n; i++)
            excused = excused ||
                      (strcmp(labels->items[i].kind, SCORE_KIND[k]) == 0 &&
                       score_overlap_s(&labels->items[i], &findings->items[j],
                                       OTHER_PAD_S) > 0.0);
        if (excused)
            continue;
        result->kind_false[k] += 1.0;
        result->false_findings += 1.0;
        tell(desk, "false", &findings->items[j]);
    }
    for (size_t i = 0; i < labels->n; i++) {
        const struct score_event *label = &labels->items[i];
        if (label->optional || strcmp(label->kind, SCORE_KIND[k]) != 0)
            continue;
        bool found = false;
        for (size_t j = 0; j < findings->n; j++)
            found = found ||
                    (strcmp(findings->items[j].kind, SCORE_KIND[k]) == 0 &&
                     score_overlap_s(label, &findings->items[j], OTHER_PAD_S) >
                         0.0);
        result->kind_labels[k] += 1.0;
        result->kind_found[k] += found ? 1.0 : 0.0;
        if (!found)
            tell(desk, "missed", label);
    }
}

/* Single boundaries that are far off are listed: they tell more than the count
 * about what went wrong. */
static void judge_laps(const struct desk *desk)
{
    struct score_result *result = desk->result;
    result->laps = score_laps_judge(desk->labels, &desk->review->laps);
    result->found_laps = desk->review->laps.n_flying;
    if (!result->laps.exact) {
        fprintf(desk->text, "    laps: %zu found, %zu driven\n",
                result->found_laps, desk->labels->laps.n_flying);
        result->faults += 1.0;
    }
    for (size_t i = 0; i < result->laps.n_errors; i++)
        if (result->laps.error_s[i] > 0.5) {
            fprintf(desk->text, "    boundary at %.2f s is %.2f s off\n",
                    desk->review->laps.boundary_s[i], result->laps.error_s[i]);
            result->faults += 0.2;
        }
}

static void judge_all(const struct desk *desk)
{
    const struct score_labels *labels = desk->labels;
    const struct score_review *review = desk->review;
    judge_laps(desk);
    judge_field(desk, SCORE_LEAN, &labels->lean, &review->lean, LEAN_PAD_S);
    judge_field(desk, SCORE_CLUTCH, &labels->clutch, &review->clutch,
                CLUTCH_PAD_S);
    judge_field(desk, SCORE_DROPOUT, &labels->dropouts, &review->dropouts,
                dropout_pad_s(labels));
    for (size_t k = 0; k < SCORE_KINDS; k++)
        judge_kind(desk, k);
}

static void allocate(struct score_result *result,
                     const struct score_review *review)
{
    const struct score_labels *labels = result->labels;
    result->outcome =
        score_allocate(labels->lean.n + labels->clutch.n + labels->dropouts.n,
                       sizeof(struct score_outcome));
    result->claim =
        score_allocate(review->lean.n + review->clutch.n + review->dropouts.n,
                       sizeof(struct score_claim));
}

/* Nothing came back: everything that is there was missed. */
static void tell_failure(FILE *text, const struct score_output *output)
{
    static const char *const WORD[] = {"answer was no review", "refused",
                                       "crashed", "timed out"};
    fprintf(text, "    %s (%d)\n", WORD[output->exit], output->status);
}

struct score_result score_judge(const struct score_labels *labels,
                                const struct score_output *output)
{
    struct score_result result = {
        .labels = labels, .exit = output->exit, .seconds = output->seconds};
    struct score_review review = {0};
    size_t size = 0;
    result.readable =
        output->exit == SCORE_REVIEWED &&
        score_review_parse(output->output, output->length, &review);
    FILE *text = open_memstream(&result.text, &size);
    if (text == NULL) {
        fprintf(stderr, "kartwright-score: out of memory\n");
        exit(EXIT_FAILURE);
    }
    if (!result.readable) {
        tell_failure(text, output);
        result.faults += 100.0;
    }
    allocate(&result, &review);
    const struct desk desk = {labels, &review, &result, text};
    judge_all(&desk);
    if (!result.readable)
        result.laps.exact = result.laps.strictly_exact = false;
    if (fclose(text) != 0) {
        fprintf(stderr, "kartwright-score: out of memory\n");
        exit(EXIT_FAILURE);
    }
    score_review_free(&review);
    return result;
}

void score_result_free(struct score_result *result)
{
    free(result->laps.error_s);
    free(result->outcome);
    free(result->claim);
    free(result->text);
    *result = (struct score_result){0};
}
