/* SPDX-License-Identifier: GPL-3.0-or-later */
/* kartwright-score-compare: measures what `compare` claims on simulated pairs
 * of sessions of one kart on one track, driven twice.
 *
 *     kartwright-score-compare [--pairs N] [--first I] [--percent P]
 *                              [--laps N] [--least N] [--other-loggers SHARE]
 *                              [--differ WHAT] [--list FILE]
 *
 * --pairs    how many must count; 200.
 * --first    number of the first pair, 0.
 * --percent  by how much the mixture of the second session is leaner (negative:
 *            richer); 0, the default, changes nothing.
 * --laps     flying laps that each side drives; 0, the default, draws 4 to 12
 *            for each side.
 * --least    pairs in which a side is left with fewer usable laps do not count;
 *            1, the default, counts all.
 * --other-loggers  share of pairs whose second session has another logger, of
 *            another rate, resolution and set of channels; 0.
 * --differ   track, probe or gearing: the second session has another one.
 * --list     one row for each measure of each pair.
 *
 * Seeds start at 50 million: none of them is in the sets of kartwright-sim. */
#include "core/number.h"
#include "kartwright/compare.h"

#include "sim/sim_dialect.h"
#include "sim/sim_draw.h"
#include "sim/sim_random.h"
#include "sim/sim_sensor.h"
#include "sim/sim_trace.h"

#include <gsl/gsl_errno.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

static const unsigned long FIRST_SEED = 50000000UL;
static const double MOST_SEEDS = 4.0;
enum { STREAM_PAIR = 40, STREAM_DRIVE = 41, STREAM_LOGGER = 42 };

struct words {
    double pairs;
    double first;
    double percent;
    double laps;
    double least;
    double other_loggers;
    const char *differ;
    const char *list;
};

/* Sums over all pairs.
 *
 * n_pairs     compared; those without laps on a side are not counted.
 * n_false     with a clear change anywhere.
 * n_measures, n_covered  measures, and intervals that hold 0.
 * n_heat, n_found, n_wrong  pairs with EGT bands, with a change of EGT found in
 *             the true direction, and in the wrong one.
 * n_noticed   pairs that were said to differ in what --differ names; without it
 *             in anything but the logger. */
struct score {
    size_t n_pairs;
    size_t n_false;
    size_t n_measures;
    size_t n_covered;
    size_t n_heat;
    size_t n_found;
    size_t n_wrong;
    size_t n_used;
    size_t n_noticed;
};

static void fail(const char *what)
{
    fprintf(stderr, "kartwright-score-compare: %s\n", what);
    exit(EXIT_FAILURE);
}

/* ---- the pair ------------------------------------------------------------ */

/* One kart on one track; benches and yards have no laps. */
static void draw_kart(struct sim_session *session, unsigned long seed)
{
    sim_draw(session, seed, SIM_SCORE);
    session->plan.n_faults = 0;
    session->plan.whole_session = NULL;
}

/* The drive of one side: its own laps, events and luck. */
static void draw_drive(struct sim_session *session,
                       unsigned long seed,
                       double laps)
{
    const double pit_m = session->plan.pit_m;
    struct sim_random random = sim_random_open(seed, STREAM_DRIVE, 0.0);
    struct sim_guess guess = sim_guess_lap(session);
    session->plan = (struct sim_plan){.place = SIM_ON_TRACK};
    sim_draw_plan(session, &random, &guess);
    struct sim_plan *plan = &session->plan;
    plan->pit_m = pit_m;
    plan->laps =
        (int)(laps > 0.0 ? laps : 4.0 + (double)sim_pick(&random, 9)) + 1;
    plan->drive_m = plan->laps * session->track.length_m;
    size_t kept = 0;
    for (size_t i = 0; i < plan->n_events; i++) {
        if (plan->event[i].at_m <
            plan->pit_m + (plan->laps - 0.5) * session->track.length_m)
            plan->event[kept++] = plan->event[i];
    }
    plan->n_events = kept;
    session->seed = seed;
    sim_random_close(&random);
}

/* The track of another session, its pits and all. */
static void change_track(struct sim_session *session, unsigned long seed)
{
    struct sim_session other;
    draw_kart(&other, seed);
    if (other.plan.place == SIM_ON_TRACK) {
        const struct sim_track track = session->track;
        session->track = other.track;
        session->plan.pit_m = other.plan.pit_m;
        other.track = track;
    }
    sim_session_free(&other);
}

/* A sheath twice as thick; two teeth in a hundred. */
static void change(struct sim_session *session,
                   const char *differ,
                   unsigned long seed)
{
    if (strcmp(differ, "track") == 0)
        change_track(session, seed);
    if (strcmp(differ, "probe") == 0)
        session->exhaust.probe_s *= 3.5;
    if (strcmp(differ, "gearing") == 0)
        session->kart.axle_teeth += (int)ceil(0.02 * session->kart.axle_teeth);
}

/* Drives, writes the log as a logger does, reads it as the program does. */
static void review_drive(const struct sim_session *session,
                         struct kw_review *review)
{
    static const struct sim_dialect dialect = {.separator = ',',
                                               .decimal = '.',
                                               .time_form = SIM_SECONDS,
                                               .units = SIM_UNITS_IN_HEADING};
    char path[] = "kartwright-score-XXXXXX";
    struct kw_error error = {0};
    struct kw_log log;
    const int file = mkstemp(path);
    if (file < 0 || close(file) != 0)
        fail("no scratch file could be made");
    struct sim_trace trace = sim_run(session);
    struct sim_rows rows = sim_measure(session, &trace);
    sim_log_write(session, &dialect, &rows, path);
    sim_rows_free(&rows);
    sim_trace_free(&trace);
    if (kw_log_read(path, NULL, &log, &error) != KW_OK ||
        kw_review_log(&log, NULL, review, &error) != KW_OK)
        fail(error.what);
    if (unlink(path) != 0)
        fail("the scratch file could not be removed");
}

/* ---- scoring ------------------------------------------------------------- */

static void list_measure(FILE *list,
                         unsigned long pair,
                         const struct kw_measure *measure)
{
    fprintf(list, "%lu,%s,%.0f,%zu,%zu,%.5g,%.5g,%.5g,%.5g,%.5g,%d", pair,
            measure->name, measure->rpm_from, measure->n[0], measure->n[1],
            measure->difference, measure->low, measure->high, measure->p,
            measure->p_adjusted, (int)measure->verdict);
    for (int side = 0; side < 2; side++) {
        fprintf(list, ",");
        for (size_t i = 0; i < measure->n[side]; i++)
            fprintf(list, " %.5g", measure->values[side][i]);
    }
    fprintf(list, "\n");
}

/* Was the difference said? Two loggers have two sample rates, and in the
 * simulator two places. */
static bool is_noticed(const struct kw_comparison *comparison,
                       const char *differ)
{
    for (size_t i = 0; i < comparison->not_alike.n; i++) {
        const char *said = comparison->not_alike.items[i].text;
        const bool of_logger = strstr(said, "sample rates") != NULL ||
                               strstr(said, "different places") != NULL;
        if (differ != NULL ? strstr(said, differ) != NULL : !of_logger)
            return true;
    }
    return false;
}

static void add_pair(struct score *score,
                     const struct kw_comparison *comparison,
                     const struct words *words)
{
    const double percent = words->percent;
    bool clear = false;
    bool heat = false;
    bool found = false;
    bool wrong = false;
    for (size_t i = 0; i < comparison->measures.n; i++) {
        const struct kw_measure *measure = &comparison->measures.items[i];
        const bool is_heat = strcmp(measure->name, "egt_c") == 0;
        const bool rose = measure->verdict == KW_ROSE;
        const bool fell = measure->verdict == KW_FELL;
        if (isnan(measure->p))
            continue;
        score->n_measures++;
        score->n_covered += measure->low <= 0.0 && measure->high >= 0.0;
        clear = clear || rose || fell;
        heat = heat || is_heat;
        found = found || (is_heat && (percent > 0.0 ? rose : fell));
        wrong = wrong || (is_heat && (percent > 0.0 ? fell : rose));
    }
    score->n_noticed += is_noticed(comparison, words->differ) ? 1U : 0U;
    score->n_pairs++;
    score->n_false += clear ? 1U : 0U;
    score->n_heat += heat ? 1U : 0U;
    score->n_found += found ? 1U : 0U;
    score->n_wrong += wrong ? 1U : 0U;
    score->n_used += comparison->sides[KW_BEFORE].n_used +
                     comparison->sides[KW_AFTER].n_used;
}

static void score_pair(const struct words *words,
                       unsigned long pair,
                       FILE *list,
                       struct score *score)
{
    const unsigned long seed = FIRST_SEED + 3UL * pair;
    struct sim_session session;
    struct kw_review reviews[KW_N_SIDES];
    struct kw_comparison comparison;
    struct kw_error error = {0};
    draw_kart(&session, seed);
    if (session.plan.place != SIM_ON_TRACK) {
        sim_session_free(&session);
        return;
    }
    struct sim_random random = sim_random_open(seed, STREAM_PAIR, 0.0);
    const bool same_logger = !sim_chance(&random, words->other_loggers);
    sim_random_close(&random);
    for (unsigned long side = 0; side < KW_N_SIDES; side++) {
        if (side == KW_AFTER && words->differ != NULL)
            change(&session, words->differ, seed + 1000UL);
        draw_drive(&session, seed + 1UL + side, words->laps);
        for (size_t i = 0; side == KW_AFTER && i < 5; i++)
            session.exhaust.map_percent[i] += words->percent;
        if (side == KW_AFTER && !same_logger) {
            random = sim_random_open(seed, STREAM_LOGGER, 0.3);
            sim_draw_logger(&session, &random);
            sim_random_close(&random);
        }
        review_drive(&session, &reviews[side]);
    }
    const struct kw_compare_sessions before = {&reviews[KW_BEFORE], 1, NULL};
    const struct kw_compare_sessions after = {&reviews[KW_AFTER], 1, NULL};
    if (kw_compare(&before, &after, NULL, &comparison, &error) != KW_OK)
        fail(error.what);
    if ((double)comparison.sides[KW_BEFORE].n_used >= words->least &&
        (double)comparison.sides[KW_AFTER].n_used >= words->least)
        add_pair(score, &comparison, words);
    for (size_t i = 0; list != NULL && i < comparison.measures.n; i++)
        list_measure(list, pair, &comparison.measures.items[i]);
    for (size_t i = 0; list != NULL && i < comparison.not_alike.n; i++)
        fprintf(list, "# %lu %s\n", pair, comparison.not_alike.items[i].text);
    kw_comparison_free(&comparison);
    for (int side = 0; side < KW_N_SIDES; side++)
        kw_review_free(&reviews[side]);
    sim_session_free(&session);
}

/* "12 of 300, 4.0 %" */
static void print_share(const char *what, size_t part, size_t whole)
{
    printf("%-52s %zu of %zu", what, part, whole);
    if (whole > 0)
        printf(", %.1f %%", 100.0 * (double)part / (double)whole);
    printf("\n");
}

static void print_score(const struct score *score, const struct words *words)
{
    const double percent = words->percent;
    printf("pairs of sessions, mixture %+.1f %%: %zu, %.1f laps used a side\n",
           percent, score->n_pairs,
           score->n_pairs > 0
               ? (double)score->n_used / 2.0 / (double)score->n_pairs
               : 0.0);
    if (words->differ != NULL) {
        printf("the second with another %s\n", words->differ);
        print_share("the difference is said", score->n_noticed, score->n_pairs);
        return;
    }
    if (fabs(percent) > 0.0) {
        print_share("EGT change found in the right direction", score->n_found,
                    score->n_heat);
        print_share("EGT change found in the wrong direction", score->n_wrong,
                    score->n_heat);
        return;
    }
    print_share("comparisons with a false change anywhere (at most 5 %)",
                score->n_false, score->n_pairs);
    print_share("95 % intervals that hold the truth (94 to 97 %)",
                score->n_covered, score->n_measures);
    print_share("another track, probe or gearing suspected", score->n_noticed,
                score->n_pairs);
}

static void read_words(int argc, char **argv, struct words *words)
{
    for (int i = 1; i + 1 < argc; i += 2) {
        double number = 0.0;
        const bool good =
            kw_number_parse(argv[i + 1], strlen(argv[i + 1]), '.', &number);
        if (strcmp(argv[i], "--list") == 0)
            words->list = argv[i + 1];
        else if (strcmp(argv[i], "--differ") == 0)
            words->differ = argv[i + 1];
        else if (strcmp(argv[i], "--pairs") == 0 && good)
            words->pairs = number;
        else if (strcmp(argv[i], "--first") == 0 && good)
            words->first = number;
        else if (strcmp(argv[i], "--percent") == 0 && good)
            words->percent = number;
        else if (strcmp(argv[i], "--other-loggers") == 0 && good)
            words->other_loggers = number;
        else if (strcmp(argv[i], "--least") == 0 && good)
            words->least = number;
        else if (strcmp(argv[i], "--laps") == 0 && good)
            words->laps = number;
        else
            fail("unknown word; see the head of score_compare.c");
    }
    if (argc % 2 == 0)
        fail("a word lacks its value");
}

int main(int argc, char **argv)
{
    struct words words = {.pairs = 200, .least = 1};
    struct score score = {0};
    gsl_set_error_handler_off();
    read_words(argc, argv, &words);
    FILE *list = words.list != NULL ? fopen(words.list, "w") : NULL;
    if (words.list != NULL && list == NULL)
        fail("the list could not be opened");
    /* Some seeds are a bench, or leave too few laps: others stand in. */
    for (double i = 0.0;
         i < MOST_SEEDS * words.pairs && (double)score.n_pairs < words.pairs;
         i += 1.0)
        score_pair(&words, (unsigned long)(words.first + i), list, &score);
    print_score(&score, &words);
    if ((list != NULL && fclose(list) != 0) || fclose(stdout) != 0)
        fail("could not write");
    return EXIT_SUCCESS;
}
