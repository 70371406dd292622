/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Targets and groups, see score_report.h. */
#include "score_report.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

static const unsigned long BOOTSTRAP_SEED = 20;

/* One line of the table of targets: with a place, and with RPM alone. NAN =
 * no target, for information. */
static const struct {
    const char *name;
    enum score_metric metric;
    double target_place, target_rpm;
    bool less_is_better;
} TARGET[] = {
    {"flying laps counted exactly", SCORE_LAPS_EXACT, 1.0, 0.98, false},
    {"  by the true line", SCORE_LAPS_STRICT, NAN, NAN, false},
    {"lap boundary, 95th percentile, s", SCORE_BOUNDARY_P95_S, 0.02, 0.10,
     true},
    {"lean: sensitivity", SCORE_LEAN_SE, 0.97, 0.95, false},
    {"lean: positive predictivity", SCORE_LEAN_PP, 0.97, 0.95, false},
    {"  sensitivity, any overlap", SCORE_LEAN_SE_ANY, NAN, NAN, false},
    {"  predictivity, any overlap", SCORE_LEAN_PP_ANY, NAN, NAN, false},
    {"  stretches of such faults", SCORE_LEAN_SE_PARTS, NAN, NAN, false},
    {"lean start, median error, s", SCORE_LEAN_START_S, 0.4, 0.5, true},
    {"lean end, median error, s", SCORE_LEAN_END_S, 0.4, 0.5, true},
    {"clutch engagements found", SCORE_CLUTCH_SE, 1.0, 0.98, false},
    {"  of those told, real", SCORE_CLUTCH_PP, NAN, NAN, false},
    {"clutch duration, median error, s", SCORE_CLUTCH_DURATION_S, 0.05, 0.15,
     true},
    {"drop-outs: sensitivity", SCORE_DROPOUT_SE, 0.97, 0.95, false},
    {"drop-outs: positive predictivity", SCORE_DROPOUT_PP, 0.97, 0.95, false},
    {"  sensitivity, any overlap", SCORE_DROPOUT_SE_ANY, NAN, NAN, false},
    {"  predictivity, any overlap", SCORE_DROPOUT_PP_ANY, NAN, NAN, false},
    {"drop-outs: cause right", SCORE_DROPOUT_CAUSE, 0.97, 0.95, false},
    {"false findings per healthy hour", SCORE_FALSE_PER_H, 0.1, 0.2, true}};

enum { N_TARGETS = sizeof TARGET / sizeof TARGET[0] };

typedef bool (*score_filter)(const struct score_labels *labels,
                             const void *key);

static struct score_sample only(const struct score_sample *all,
                                score_filter filter,
                                const void *key)
{
    struct score_sample some = {score_allocate(all->n, sizeof *some.items), 0};
    for (size_t i = 0; i < all->n; i++)
        if (filter(all->items[i]->labels, key))
            some.items[some.n++] = all->items[i];
    return some;
}

static bool has_place(const struct score_labels *labels, const void *key)
{
    const bool *wanted = key;
    return (strcmp(labels->channels, "rpm_egt") != 0) == *wanted;
}

static void put_value(const struct score_pen *pen, double value)
{
    if (isfinite(value))
        fprintf(pen->out, "%.3f", value);
    else
        fputs("-", pen->out);
}

static void put_target_cell(const struct score_pen *pen,
                            size_t row,
                            const struct score_sample *sample,
                            double target)
{
    const struct score_interval interval =
        score_bootstrap(TARGET[row].metric, sample, BOOTSTRAP_SEED);
    char text[96], goal[24] = "";
    if (isfinite(target))
        snprintf(goal, sizeof goal, "%.2f", target);
    const bool met = TARGET[row].less_is_better ? interval.value <= target
                                                : interval.value >= target;
    const char *mark = !isfinite(target) || !isfinite(interval.value) ? ""
                       : met                                          ? "met"
                             : "MISSED";
    if (isfinite(interval.value))
        snprintf(text, sizeof text, "%.3f [%.3f %.3f] n %zu", interval.value,
                 interval.low, interval.high,
                 score_metric_n(TARGET[row].metric, sample));
    else
        snprintf(text, sizeof text, "-");
    fprintf(pen->out, pen->markdown ? "| %s | %s %s " : "  %-31s %5s %-6s",
            text, goal, mark);
}

void score_put_targets(const struct score_pen *pen,
                       const struct score_sample *all)
{
    const bool yes = true, no = false;
    struct score_sample place = only(all, has_place, &yes);
    struct score_sample rpm = only(all, has_place, &no);
    if (pen->markdown)
        fputs("| | with lap column, position or speed | target | time, RPM "
              "and EGT alone | target |\n| --- | --- | --- | --- | --- |\n",
              pen->out);
    else
        fprintf(pen->out, "%-33s  %-46s%s (%zu and %zu sessions)\n", "",
                "lap column, position or speed", "time, RPM and EGT alone",
                place.n, rpm.n);
    for (size_t i = 0; i < N_TARGETS; i++) {
        fprintf(pen->out, pen->markdown ? "| %s " : "%-33s", TARGET[i].name);
        put_target_cell(pen, i, &place, TARGET[i].target_place);
        put_target_cell(pen, i, &rpm, TARGET[i].target_rpm);
        fputs(pen->markdown ? "|\n" : "\n", pen->out);
    }
    free(place.items);
    free(rpm.items);
}

static bool is_group(const struct score_labels *labels, const void *key)
{
    return strcmp(labels->group, key) == 0;
}

static bool is_channel(const struct score_labels *labels, const void *key)
{
    return strcmp(labels->channels, key) == 0;
}

static bool is_rate(const struct score_labels *labels, const void *key)
{
    const double *band = key;
    return labels->rate_hz >= band[0] && labels->rate_hz < band[1];
}

/* Position logs by how well the place is known. */
static bool is_fix(const struct score_labels *labels, const void *key)
{
    const double *band = key;
    return strcmp(labels->channels, "position") == 0 &&
           labels->fix_m >= band[0] && labels->fix_m < band[1];
}

static const enum score_metric COLUMN[] = {
    SCORE_LAPS_EXACT,     SCORE_BOUNDARY_P95_S, SCORE_LEAN_SE_ANY,
    SCORE_LEAN_PP_ANY,    SCORE_CLUTCH_SE,      SCORE_CLUTCH_DURATION_S,
    SCORE_DROPOUT_SE_ANY, SCORE_DROPOUT_PP_ANY, SCORE_DROPOUT_CAUSE,
    SCORE_FALSE_PER_H};

static void put_group(const struct score_pen *pen,
                      const char *name,
                      struct score_sample some)
{
    if (some.n > 0) {
        fprintf(pen->out, pen->markdown ? "| %s | %zu " : "%-14s%5zu", name,
                some.n);
        for (size_t i = 0; i < sizeof COLUMN / sizeof COLUMN[0]; i++) {
            fputs(pen->markdown ? "| " : "\t", pen->out);
            put_value(pen, score_metric(COLUMN[i], &some));
            fputs(pen->markdown ? " " : "", pen->out);
        }
        fputs(pen->markdown ? "|\n" : "\n", pen->out);
    }
    free(some.items);
}

void score_put_groups(const struct score_pen *pen,
                      const struct score_sample *all)
{
    static const char *const GROUP[] = {"two_stroke", "four_stroke", "learner",
                                        "bench", "yard"};
    static const char *const CHANNEL[] = {"column", "position", "speed",
                                          "rpm_egt"};
    static const double BAND[][2] = {
        {0, 9.9}, {9.9, 19.9}, {19.9, 49.9}, {49.9, 1e9}};
    static const char *const BAND_NAME[] = {"below 10 Hz", "10 to 19 Hz",
                                            "20 to 49 Hz", "50 Hz and up"};
    static const double FIX_M[][2] = {{0, 0.3}, {0.3, 0.8}, {0.8, 1e9}};
    static const char *const FIX_NAME[] = {"fix to 0.3 m", "fix to 0.8 m",
                                           "fix worse"};
    if (pen->markdown)
        fputs("| | n | laps | boundary s | lean Se | lean +P | clutch | "
              "clutch s | drop-out Se | drop-out +P | cause | false/h |\n"
              "| --- | --- | --- | --- | --- | --- | --- | --- | --- | --- | "
              "--- | --- |\n",
              pen->out);
    else
        fputs("                  n\tlaps\tbound s\tlean Se\tlean +P\tclutch\t"
              "cl. s\tdrop Se\tdrop +P\tcause\tfalse/h\n",
              pen->out);
    for (size_t i = 0; i < 5; i++)
        put_group(pen, GROUP[i], only(all, is_group, GROUP[i]));
    for (size_t i = 0; i < 4; i++)
        put_group(pen, CHANNEL[i], only(all, is_channel, CHANNEL[i]));
    for (size_t i = 0; i < 4; i++)
        put_group(pen, BAND_NAME[i], only(all, is_rate, BAND[i]));
    for (size_t i = 0; i < 3; i++)
        put_group(pen, FIX_NAME[i], only(all, is_fix, FIX_M[i]));
}
