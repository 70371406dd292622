/* SPDX-License-Identifier: GPL-3.0-or-later */
/* One suggestion for each cause that the events point to, ranked by how soon it
 * has to be done, and the verdict that follows from them.
 *
 * What a review says has to be done in one evening, so forty events of one
 * loose clamp are one line. Doubt counts: what is more likely wrong than right
 * is worth a look and never a spanner. */
#include "advice/advice.h"
#include "advice/fault.h"
#include "advice/lap_list.h"

#include "core/array.h"
#include "core/text.h"

#include <math.h>
#include <stdlib.h>

/* Below this confidence an event alone asks for no more than a look: more
 * likely wrong than not would send people to dismantle healthy engines. */
static const double CONFIDENT_ENOUGH = 0.5;

/* Lean on at least this share of the flying laps, against the owner's limit or
 * a reference, is lean throughout: no lap is left that was right. Common
 * practice, no source. */
static const double SHARE_THROUGHOUT = 0.75;

/* Less running, or less of it under load, shows no fault however bad: a lap
 * takes longer, and a probe needs some pulls to warm up. A kart that is pushed
 * goes no faster than a run. Common practice, no source. */
static const double SHORTEST_JUDGED_S = 30.0;
static const double SHORTEST_WORK_S = 5.0;
static const double PUSHED_M_S = 6.0;
/* A session with fewer laps to compare that ran for less than this, two or
 * three laps of most tracks, shows strong faults only (common practice, no
 * source). */
static const double SHORT_S = 120.0;
enum { FEWEST_LAPS = 2 };

/* A free engine is at its top speed within a second, and then the hand lets go:
 * a blip. Pulls that drive a kart last longer. Common practice, no source. */
static const double SHORTEST_PULL_S = 1.5;

/* What the events say about one fault.
 *
 * n          events that point to it.
 * confident  of these, how many with confidence enough.
 * strongest  the one to quote: the most severe, then the most confident. */
struct case_file {
    enum kw_fault fault;
    size_t n;
    size_t confident;
    const struct kw_event *strongest;
    enum kw_urgency urgency;
};

/* Danger before certainty: the sentence that is quoted must be the one that
 * explains the urgency. */
static bool stronger(const struct kw_event *a, const struct kw_event *b)
{
    if (a->severity != b->severity)
        return a->severity > b->severity;
    return a->confidence > b->confidence;
}

/* Doubtful events are counted, since the sentence says how often something was
 * seen, but they make nothing urgent. */
static void count_event(struct case_file *file, const struct kw_event *event)
{
    file->n++;
    file->confident += event->confidence >= CONFIDENT_ENOUGH;
    if (file->strongest == NULL || stronger(event, file->strongest))
        file->strongest = event;
}

/* The table's urgency for one or many; a detector that saw danger in a single
 * event moves it up; doubt holds it down. */
static enum kw_urgency urgency_of(const struct case_file *file)
{
    const struct kw_fault_row *row = kw_fault_row(file->fault);
    if (file->confident == 0)
        return KW_WATCH;
    const enum kw_urgency table =
        file->confident >= row->many ? row->repeated : row->one;
    const enum kw_urgency seen = file->strongest->severity;
    return seen > table ? seen : table;
}

/* ---- sentences ----------------------------------------------------------- */

/* Flying laps on which something holds, as for struct kw_lap_list.
 *
 * is_on  NULL for all of them. */
static size_t count_flying(const struct kw_laps *laps,
                           bool (*is_on)(const struct kw_lap *lap,
                                         const void *what),
                           const void *what)
{
    size_t n = 0;
    for (size_t i = 0; i < laps->n; i++) {
        const struct kw_lap *lap = &laps->items[i];
        n += lap->kind == KW_LAP_FLYING && (is_on == NULL || is_on(lap, what));
    }
    return n;
}

/* A fault and the review it was seen in. */
struct fault_in {
    const struct kw_review *review;
    enum kw_fault fault;
};

/* Was the lap touched by an event that points to the fault? */
static bool has_fault(const struct kw_lap *lap, const void *what)
{
    const struct fault_in *seen = what;
    const struct kw_events *events = &seen->review->events;
    for (size_t i = 0; i < events->n; i++) {
        const struct kw_event *event = &events->items[i];
        if (kw_event_is_on(event, lap) &&
            kw_fault_of(event, events, &seen->review->laps) == seen->fault)
            return true;
    }
    return false;
}

/* "Seen 3 times, laps 5, 6 and 9. " */
static void add_how_often(struct kw_text *why,
                          const struct kw_review *review,
                          const struct case_file *file)
{
    const struct fault_in seen = {review, file->fault};
    const struct kw_lap_list list = {&review->laps, has_fault, &seen};
    struct kw_text laps = {0};
    if (file->n == 1)
        kw_text_add(why, "Seen once");
    else
        kw_text_addf(why, "Seen %zu times", file->n);
    if (kw_add_lap_list(&laps, &list) > 0)
        kw_text_addf(why, ", %s", kw_text_failed(&laps) ? "" : laps.bytes);
    why->failed = why->failed || kw_text_failed(&laps);
    kw_text_free(&laps);
    kw_text_add(why, ". ");
}

/* Lean against a limit or a good day; against the session itself nothing can be
 * lean throughout. */
static bool is_lean_on(const struct kw_lap *lap, const void *what)
{
    const struct kw_review *review = what;
    for (size_t i = 0; i < review->events.n; i++) {
        const struct kw_event *event = &review->events.items[i];
        if (event->kind == KW_LEAN &&
            event->detail.lean.basis != KW_BASIS_SESSION &&
            event->start_s < lap->end_s && event->end_s > lap->start_s)
            return true;
    }
    return false;
}

/* Was the mixture lean on nearly all laps, held against something from outside
 * the session? */
static bool is_lean_throughout(const struct kw_review *review)
{
    const size_t flying = count_flying(&review->laps, NULL, NULL);
    const size_t lean = count_flying(&review->laps, is_lean_on, review);
    return flying > 0 && (double)lean >= SHARE_THROUGHOUT * (double)flying;
}

/* The lean that a jet or screw cures, on every lap alike. */
static bool is_lean_fault(enum kw_fault fault)
{
    return fault == KW_FAULT_LEAN_TOP || fault == KW_FAULT_LEAN_MIDDLE ||
           fault == KW_FAULT_LEAN_LOW;
}

static size_t laps_with(const struct kw_review *review, enum kw_fault fault)
{
    const struct fault_in seen = {review, fault};
    return count_flying(&review->laps, has_fault, &seen);
}

/* That the whole session was lean is told with the part of the range in which
 * it was so on the most laps, and on every other that has half of them: what
 * was seen on one lap is told as that. */
static bool tells_throughout(const struct kw_review *review,
                             enum kw_fault fault)
{
    static const enum kw_fault parts[] = {
        KW_FAULT_LEAN_LOW, KW_FAULT_LEAN_MIDDLE, KW_FAULT_LEAN_TOP};
    size_t most = 0;
    if (!is_lean_fault(fault) || !is_lean_throughout(review))
        return false;
    for (size_t i = 0; i < sizeof parts / sizeof parts[0]; i++) {
        const size_t lean = laps_with(review, parts[i]);
        most = lean > most ? lean : most;
    }
    const size_t lean = laps_with(review, fault);
    return lean > 0 && (lean == most ||
                        2 * lean >= count_flying(&review->laps, NULL, NULL));
}

/* "The whole session was lean: at the top end on 9 of 10 flying laps. " The
 * number of stretches would say nothing: one may last for three laps. */
static void add_throughout(struct kw_text *why,
                           const struct kw_review *review,
                           enum kw_fault fault)
{
    const size_t flying = count_flying(&review->laps, NULL, NULL);
    const size_t lean = laps_with(review, fault);
    kw_text_addf(why, "The whole session was lean: %s on ",
                 fault == KW_FAULT_LEAN_TOP      ? "at the top end"
                 : fault == KW_FAULT_LEAN_MIDDLE ? "in the middle"
                                                 : "at the low end");
    if (lean == flying)
        kw_text_add(why, "every flying lap. ");
    else
        kw_text_addf(why, "%zu of %zu flying laps. ", lean, flying);
}

/* That the owner's own limit was passed is told also where something else was
 * the surer measure of lean: it is what the owner looks for. */
static void add_limit(struct kw_text *why,
                      const struct kw_review *review,
                      const struct case_file *file,
                      double limit_c)
{
    double peak_c = NAN;
    for (size_t i = 0; i < review->events.n; i++) {
        const struct kw_event *event = &review->events.items[i];
        if (event->kind == KW_LEAN &&
            kw_fault_of(event, &review->events, &review->laps) == file->fault)
            peak_c = fmax(peak_c, event->detail.lean.peak_egt_c);
    }
    if (file->strongest->kind != KW_LEAN ||
        file->strongest->detail.lean.basis == KW_BASIS_LIMIT ||
        !(peak_c > limit_c))
        return;
    kw_text_add(why, " EGT passed your limit of ");
    kw_text_add_number(why, limit_c, 0);
    kw_text_add(why, " C as well: ");
    kw_text_add_number(why, peak_c, 0);
    kw_text_add(why, " C at most.");
}

/* How often and where, then the numbers of the strongest event; where all is
 * doubtful, that too, so that nobody strips an engine for a guess. */
static char *why(const struct kw_review *review,
                 const struct case_file *file,
                 double limit_c,
                 struct kw_error *error)
{
    struct kw_text text = {0};
    if (tells_throughout(review, file->fault))
        add_throughout(&text, review, file->fault);
    else
        add_how_often(&text, review, file);
    kw_text_add(&text, file->strongest->evidence);
    add_limit(&text, review, file, limit_c);
    if (file->confident == 0)
        kw_text_add(&text, " The log leaves doubt: look, but take nothing "
                           "apart for this alone.");
    return kw_text_take(&text, error);
}

/* Counted before it is known to be whole: what was copied so far is then freed
 * with the review. */
static enum kw_status add_suggestion(struct kw_review *review,
                                     const struct case_file *file,
                                     double limit_c,
                                     struct kw_error *error)
{
    struct kw_suggestions *list = &review->suggestions;
    const struct kw_fault_row *row = kw_fault_row(file->fault);
    if (kw_array_reserve(&list->items, &list->capacity, list->n + 1,
                         sizeof *list->items, error) != KW_OK)
        return KW_NO_MEMORY;
    struct kw_suggestion *made = &list->items[list->n++];
    *made = (struct kw_suggestion){
        .rank = list->n,
        .urgency = file->urgency,
        .part = kw_text_duplicate(row->part, error),
        .why = why(review, file, limit_c, error),
        .check = kw_text_duplicate(row->check, error),
        .caution = kw_text_duplicate(row->caution, error),
    };
    const bool whole = made->part != NULL && made->why != NULL &&
                       made->check != NULL && made->caution != NULL;
    return whole ? KW_OK : KW_NO_MEMORY;
}

/* ---- ranking ------------------------------------------------------------- */

/* Soonest first; then as the table has them, which is by danger. */
static int by_urgency(const void *a, const void *b)
{
    const struct case_file *x = a;
    const struct case_file *y = b;
    if (x->urgency != y->urgency)
        return x->urgency > y->urgency ? -1 : 1;
    return (x->fault > y->fault) - (x->fault < y->fault);
}

/* Load is 0 or 1, or NAN: what is above the first is known, and above the
 * second the engine works. */
static const double LOAD_KNOWN = -1.0;
static const double UNDER_LOAD = 0.5;

/* Seconds for which values[n_samples] are above a level; 0 without any. */
static double seconds_above(const struct kw_session *session,
                            const double *values,
                            double level)
{
    size_t n = 0;
    for (size_t i = 0; values != NULL && i < session->n_samples; i++)
        n += values[i] > level ? 1 : 0;
    return n > 0 ? (double)n / session->rate_hz : 0.0;
}

/* Seconds for which pulls went on that had outlasted a blip. */
static double seconds_pulling(const struct kw_review *review)
{
    const struct kw_session *session = &review->session;
    size_t n = 0;
    size_t pull = 0;
    for (size_t i = 0; review->load != NULL && i < session->n_samples; i++) {
        pull = review->load[i] > UNDER_LOAD ? pull + 1 : 0;
        if ((double)pull >= SHORTEST_PULL_S * session->rate_hz)
            n++;
    }
    return (double)n / session->rate_hz;
}

/* RPM alone, without a lap and without a change from which load could be told,
 * is what an engine leaves that idles on its stand. */
static bool shows_no_work(const struct kw_review *review, double driven_s)
{
    return seconds_above(&review->session, review->load, LOAD_KNOWN) <
               SHORTEST_WORK_S &&
           review->laps.n == 0 && driven_s < SHORTEST_JUDGED_S;
}

/* To the bit, all session long: no engine that starts, drives and stops gives
 * that, but a lead that is off or a channel that hangs. */
static bool rpm_never_moves(const struct kw_session *session)
{
    double lowest = NAN;
    double highest = NAN;
    for (size_t i = 0; i < session->n_samples; i++) {
        lowest = fmin(lowest, session->rpm[i]);
        highest = fmax(highest, session->rpm[i]);
    }
    return lowest >= highest;
}

/* Why a log without findings says nothing about the engine; NULL where it does.
 * A logger switched on in the paddock must not sound like a healthy session. */
static const char *why_not_known(const struct kw_review *review)
{
    const struct kw_session *session = &review->session;
    const double driven_s =
        seconds_above(session, session->speed_m_s, PUSHED_M_S);
    if (!(review->running.seconds > 0.0))
        return driven_s > SHORTEST_JUDGED_S
                   ? "RPM shows no running though the kart drives. Check the "
                     "logger's RPM lead"
                   : "the engine did not run in it";
    if (review->running.seconds < SHORTEST_JUDGED_S)
        return "the engine ran in it for less than half a minute";
    if (shows_no_work(review, driven_s))
        return "nothing in it shows the engine at work. It may only have idled";
    if (rpm_never_moves(session))
        return "RPM never moves in it, so nothing could be judged. Check the "
               "logger's RPM lead";
    if (seconds_above(session, review->load, LOAD_KNOWN) > SHORTEST_WORK_S &&
        seconds_above(session, review->load, UNDER_LOAD) < SHORTEST_WORK_S)
        return "the engine was never at work in it";
    if (review->laps.n == 0 && driven_s < SHORTEST_JUDGED_S &&
        seconds_above(session, review->load, UNDER_LOAD) > SHORTEST_WORK_S &&
        seconds_pulling(review) < SHORTEST_WORK_S)
        return "the throttle was only blipped in it, and the kart not driven";
    return NULL;
}

/* Nothing found is good news only where the log could have shown something. */
static enum kw_verdict verdict_of(const struct kw_review *review)
{
    /* Suggestions are ranked, so the first one decides. */
    if (review->suggestions.n > 0) {
        const enum kw_urgency most = review->suggestions.items[0].urgency;
        return most == KW_BEFORE_NEXT_RUN    ? KW_DO_NOT_RUN
               : most == KW_BEFORE_NEXT_RACE ? KW_MEND_BEFORE_RACE
                                             : KW_KEEP_WATCHING;
    }
    return why_not_known(review) != NULL ? KW_VERDICT_NOT_KNOWN
                                         : KW_NOTHING_STANDS_OUT;
}

/* "point below." or "2 points below.": all that must be seen to before the
 * engine runs, which are the first ones. */
static void add_points(struct kw_text *text,
                       const struct kw_suggestions *suggestions)
{
    size_t n = 0;
    for (size_t i = 0; i < suggestions->n; i++)
        n += suggestions->items[i].urgency == KW_BEFORE_NEXT_RUN;
    if (n > 1)
        kw_text_addf(text, "%zu points below.", n);
    else
        kw_text_add(text, "point below.");
}

/* What was found after one lap on a cold pipe is found; what was not means
 * little.
 *
 * returns  whether it says so. */
static bool add_short(struct kw_text *text, const struct kw_review *review)
{
    const double seconds = review->running.seconds;
    if (review->verdict != KW_NOTHING_STANDS_OUT || !(seconds < SHORT_S) ||
        count_flying(&review->laps, NULL, NULL) >= FEWEST_LAPS)
        return false;
    kw_text_add(text, " But it is short: ");
    kw_text_add_whole(text, seconds);
    kw_text_add(text, " s of running show strong faults only.");
    return true;
}

/* The owner's own limit: no finding, but "nothing stands out" alone would be
 * untrue.
 *
 * but  it speaks against the sentence before it. */
static void add_over_rev(struct kw_text *text,
                         bool but,
                         const struct kw_over_rev *over)
{
    if (over->times == 0)
        return;
    kw_text_add(text, but ? " But RPM went up to " : " RPM went up to ");
    kw_text_add_whole(text, over->highest_rpm);
    kw_text_add(text, ", above your limit of ");
    kw_text_add_whole(text, over->limit_rpm);
    kw_text_add(text, ".");
}

/* A session without EGT never sounds like a clean bill of health: what was not
 * measured is said in the verdict itself, where nobody can miss it. */
static enum kw_status say_verdict(struct kw_review *review,
                                  struct kw_error *error)
{
    static const char *const sentences[] = {
        [KW_NOTHING_STANDS_OUT] =
            "Nothing stands out in this log that speaks against running the "
            "engine again.",
        [KW_KEEP_WATCHING] = "Safe to run again as far as this log shows, with "
                             "something to keep an eye on.",
        [KW_MEND_BEFORE_RACE] = "Nothing in this log forbids another run, but "
                                "see to the points below before the next race.",
        [KW_DO_NOT_RUN] = "Do not run the engine again before you have looked "
                          "at the first ",
        [KW_VERDICT_NOT_KNOWN] = "This log cannot say whether the engine is "
                                 "fit to run again: ",
    };
    struct kw_text text = {0};
    review->verdict = verdict_of(review);
    kw_text_add(&text, sentences[review->verdict]);
    if (review->verdict == KW_VERDICT_NOT_KNOWN)
        kw_text_addf(&text, "%s.", why_not_known(review));
    if (review->verdict == KW_DO_NOT_RUN)
        add_points(&text, &review->suggestions);
    if (review->verdict != KW_VERDICT_NOT_KNOWN &&
        review->session.egt_c == NULL)
        kw_text_add(&text, " The mixture could not be judged: there is no "
                           "usable exhaust temperature.");
    const bool is_short = add_short(&text, review);
    add_over_rev(&text, !is_short && review->verdict == KW_NOTHING_STANDS_OUT,
                 &review->over_rev);
    review->verdict_text = kw_text_take(&text, error);
    return review->verdict_text == NULL ? KW_NO_MEMORY : KW_OK;
}

/* One case for each fault: forty events of one loose clamp are one evening's
 * work and one suggestion. */
enum kw_status kw_advise(struct kw_review *review,
                         const struct kw_review_options *options,
                         struct kw_error *error)
{
    const struct kw_profile *profile =
        options == NULL ? NULL : options->profile;
    const double limit_c = profile == NULL ? NAN : profile->egt_limit_c;
    struct case_file files[KW_N_FAULTS] = {0};
    for (size_t i = 0; i < KW_N_FAULTS; i++)
        files[i].fault = (enum kw_fault)i;
    for (size_t i = 0; i < review->events.n; i++) {
        const struct kw_event *event = &review->events.items[i];
        const enum kw_fault fault =
            kw_fault_of(event, &review->events, &review->laps);
        if (fault != KW_N_FAULTS)
            count_event(&files[fault], event);
    }
    for (size_t i = 0; i < KW_N_FAULTS; i++)
        files[i].urgency = files[i].n > 0 ? urgency_of(&files[i]) : KW_WATCH;
    /* Cases without events sort among the others and are passed over. */
    qsort(files, KW_N_FAULTS, sizeof files[0], by_urgency);
    for (size_t i = 0; i < KW_N_FAULTS; i++) {
        if (files[i].n > 0 &&
            add_suggestion(review, &files[i], limit_c, error) != KW_OK)
            return KW_NO_MEMORY;
    }
    return say_verdict(review, error);
}
