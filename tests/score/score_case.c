/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Reads labels and reviews, see score_case.h. */
#include "score_case.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

void *score_allocate(size_t n, size_t size)
{
    void *memory = calloc(n > 0 ? n : 1, size);
    if (memory == NULL) {
        fprintf(stderr, "kartwright-score: out of memory\n");
        exit(EXIT_FAILURE);
    }
    return memory;
}

static double number_of(const json_t *object, const char *key)
{
    const json_t *value = json_object_get(object, key);
    return json_is_number(value) ? json_number_value(value) : NAN;
}

static const char *text_of(const json_t *object, const char *key)
{
    const char *text = json_string_value(json_object_get(object, key));
    return text != NULL ? text : "";
}

static void copy_text(char *out, size_t room, const char *text)
{
    snprintf(out, room, "%s", text);
}

/* Kinds and causes: the words of labels and of reviews, and what they share. */
static const struct {
    const char *word, *kind;
} KIND[] = {{"loose_connection", "loose_connection"},
            {"fuel_restriction", "fuel_restriction"},
            {"unclear", "unclear"},
            {"rich", "rich"},
            {"air_leak", "air_leak"},
            {"chain_jump", "chain_jump"},
            {"seizure", "seizure"},
            {"seizure_onset", "seizure"},
            {"exhaust_leak", "exhaust_leak"},
            {"clutch_worn", "clutch_worn"},
            {"clutch_slip", "clutch_worn"},
            {"open_probe", "open_probe"},
            {"probe_open", "open_probe"},
            {"probe_fault", "open_probe"}};

const char *score_fault_kind(const char *finding_kind)
{
    for (size_t i = 0; i < sizeof KIND / sizeof KIND[0]; i++)
        if (strcmp(KIND[i].word, finding_kind) == 0)
            return KIND[i].kind;
    return NULL;
}

/* Names of the fields that differ from list to list. */
struct shape {
    const char *list, *end, *kind, *strength;
};

static struct score_events read_events(const json_t *root,
                                       const struct shape *shape)
{
    const json_t *list = json_object_get(root, shape->list);
    const size_t n = json_array_size(list);
    struct score_events events = {
        .items = score_allocate(n, sizeof(struct score_event))};
    for (size_t i = 0; i < n; i++) {
        const json_t *item = json_array_get(list, i);
        const json_t *scorable = json_object_get(item, "scorable");
        struct score_event event = {
            .start_s = number_of(item, "start_s"),
            .end_s = number_of(item, shape->end),
            .strength = number_of(item, shape->strength),
            .fault_s = number_of(item, "fault_s"),
            .confidence = number_of(item, "confidence"),
            .optional = scorable != NULL && !json_is_true(scorable),
            .spark_cut = json_is_true(json_object_get(item, "spark_cut"))};
        if (shape->kind != NULL)
            event.kind = score_fault_kind(text_of(item, shape->kind));
        if (isfinite(event.start_s) && isfinite(event.end_s) &&
            (shape->kind == NULL || event.kind != NULL))
            events.items[events.n++] = event;
    }
    return events;
}

static struct score_laps read_laps(const json_t *list)
{
    const size_t n = json_array_size(list);
    struct score_laps laps = {.boundary_s =
                                  score_allocate(2 * n, sizeof(double))};
    for (size_t i = 0; i < n; i++) {
        const json_t *lap = json_array_get(list, i);
        const double start_s = number_of(lap, "start_s");
        const double end_s = number_of(lap, "end_s");
        if (strcmp(text_of(lap, "kind"), "flying") != 0 || !(end_s > start_s))
            continue;
        laps.n_flying++;
        const size_t k = laps.n_boundaries;
        if (k == 0 || fabs(laps.boundary_s[k - 1] - start_s) > 1e-6)
            laps.boundary_s[laps.n_boundaries++] = start_s;
        laps.boundary_s[laps.n_boundaries++] = end_s;
    }
    return laps;
}

static struct score_progress read_progress(const json_t *list)
{
    const size_t n = json_array_size(list);
    struct score_progress progress = {
        .time_s = score_allocate(n, sizeof(double)),
        .metres = score_allocate(n, sizeof(double)),
        .n = n};
    for (size_t i = 0; i < n; i++) {
        const json_t *pair = json_array_get(list, i);
        progress.time_s[i] = json_number_value(json_array_get(pair, 0));
        progress.metres[i] = json_number_value(json_array_get(pair, 1));
    }
    return progress;
}

static void read_head(const json_t *root, struct score_labels *labels)
{
    copy_text(labels->group, sizeof labels->group, text_of(root, "group"));
    copy_text(labels->channels, sizeof labels->channels,
              text_of(root, "channels"));
    copy_text(labels->whole_session, sizeof labels->whole_session,
              text_of(root, "whole_session"));
    labels->rate_hz = number_of(root, "rate_hz");
    labels->healthy = json_is_true(json_object_get(root, "healthy"));
    labels->line_known = json_is_true(json_object_get(root, "line_known"));
    labels->has_profile = json_is_string(json_object_get(root, "profile"));
    labels->track_m = number_of(root, "track_m");
    labels->running_s = number_of(json_object_get(root, "running"), "seconds");
    labels->fix_hz = number_of(json_object_get(root, "conditions"), "gps_hz");
    const json_t *conditions = json_object_get(root, "conditions");
    labels->fix_m = hypot(number_of(conditions, "gps_noise_m"),
                          number_of(conditions, "gps_drift_m"));
    const json_t *arguments = json_object_get(root, "args");
    const size_t n = json_array_size(arguments);
    for (size_t i = 0; i < n && i < 4; i++) {
        const char *word = json_string_value(json_array_get(arguments, i));
        copy_text(labels->arguments[i], sizeof labels->arguments[i],
                  word != NULL ? word : "");
        labels->n_arguments++;
    }
}

bool score_labels_read(const char *stem, struct score_labels *labels)
{
    *labels = (struct score_labels){0};
    copy_text(labels->name, sizeof labels->name, stem);
    char path[600];
    snprintf(path, sizeof path, "%s.json", stem);
    json_error_t error;
    json_t *root = json_load_file(path, 0, &error);
    if (root == NULL || !json_is_object(root)) {
        fprintf(stderr, "kartwright-score: %s: no label file\n", path);
        json_decref(root);
        return false;
    }
    read_head(root, labels);
    labels->laps = read_laps(json_object_get(root, "laps"));
    labels->progress = read_progress(json_object_get(root, "progress"));
    labels->lean = read_events(root, &(struct shape){"lean_episodes", "end_s",
                                                     NULL, "strength_percent"});
    labels->clutch =
        read_events(root, &(struct shape){"clutch_engagements", "locked_s",
                                          NULL, "hold_rpm"});
    labels->dropouts = read_events(
        root, &(struct shape){"dropouts", "end_s", "cause", "depth_rpm"});
    labels->others = read_events(
        root, &(struct shape){"other_faults", "end_s", "kind", "strength"});
    json_decref(root);
    return true;
}

void score_labels_free(struct score_labels *labels)
{
    free(labels->laps.boundary_s);
    free(labels->progress.time_s);
    free(labels->progress.metres);
    free(labels->lean.items);
    free(labels->clutch.items);
    free(labels->dropouts.items);
    free(labels->others.items);
    *labels = (struct score_labels){0};
}

bool score_review_parse(const char *text,
                        size_t length,
                        struct score_review *review)
{
    *review = (struct score_review){0};
    json_error_t error;
    json_t *root = json_loadb(text, length, 0, &error);
    if (root == NULL ||
        strcmp(text_of(root, "format"), "kartwright-review") != 0) {
        json_decref(root);
        return false;
    }
    review->laps =
        read_laps(json_object_get(json_object_get(root, "laps"), "items"));
    review->lean = read_events(
        root, &(struct shape){"lean_episodes", "end_s", NULL, "excess_c"});
    review->clutch =
        read_events(root, &(struct shape){"clutch_engagements", "locked_s",
                                          NULL, "hold_rpm"});
    review->dropouts = read_events(
        root, &(struct shape){"dropouts", "end_s", "cause", "depth_rpm"});
    review->findings = read_events(
        root, &(struct shape){"findings", "end_s", "kind", "strength"});
    json_decref(root);
    return true;
}

void score_review_free(struct score_review *review)
{
    free(review->laps.boundary_s);
    free(review->lean.items);
    free(review->clutch.items);
    free(review->dropouts.items);
    free(review->findings.items);
    *review = (struct score_review){0};
}
