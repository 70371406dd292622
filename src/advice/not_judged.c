/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What a log could not tell. A verdict without this list would promise more
 * than two or three channels can give.
 *
 * Each question is a small function and a sentence beside it. The order is that
 * of how much it takes away from the verdict, since a screen shows the first
 * few; the sentence says what was not judged first, and then why. */
#include "advice/advice.h"

#include "core/array.h"
#include "core/notices.h"
#include "core/robust.h"
#include "core/text.h"

#include <math.h>
#include <stdlib.h>

/* Below 10, which the sentence names, a drop-out of a tenth of a second falls
 * between two readings; a little under for the sake of jitter and rounding, or
 * a logger set to 10 would be asked to be set to 10. */
static const double RATE_FOR_SHORT_DROPOUTS_HZ = 9.5;

/* Colder than the reference by so much is no weather: at 10 C for each percent
 * of fuel that is 5 %, twice what air does from one race day to the next
 * (common practice, no source). */
static const double MUCH_COLDER_C = 50.0;

/* Usual tops are 550 to 650 C. An exhaust that passes this for a twentieth of
 * the log is in another unit, or in danger (common practice, no source). */
static const double MUCH_HOTTER_C = 800.0;
static const double HOT_SHARE = 0.95;

/* Readings set aside for less than this are spikes, or a moment in which hardly
 * anything could happen. Common practice, no source. */
static const double LONG_UNWATCHED_S = 5.0;

/* Everything that the questions below look at. */
struct known {
    const struct kw_review *review;
    const struct kw_review_options *options;
};

/* None in the log, or none that could be trusted. */
static bool has_no_egt(const struct known *known)
{
    return known->review->session.egt_c == NULL;
}

static bool reference_has_no_egt(const struct known *known)
{
    return !has_no_egt(known) && known->options->reference != NULL &&
           !known->review->reference_is_of_another &&
           known->options->reference->egt_c == NULL;
}

/* What works at other RPM is another kart, or another engine. */
static bool reference_is_of_another(const struct known *known)
{
    return known->review->reference_is_of_another;
}

/* No finding, for it may be the probe; but no clean bill of health either. */
static bool is_colder_than_reference(const struct known *known)
{
    return known->review->above_reference_c <= -MUCH_COLDER_C;
}

/* One that was compared. */
static bool has_reference(const struct known *known)
{
    return known->options->reference != NULL && !reference_has_no_egt(known) &&
           !reference_is_of_another(known);
}

static bool states_no_limit(const struct known *known)
{
    const struct kw_profile *profile = known->options->profile;
    return profile == NULL || isnan(profile->egt_limit_c);
}

/* Inside one session only changes stand out: a jet that is wrong all day needs
 * a limit or a good day to compare with. */
static bool has_nothing_to_hold_egt_against(const struct known *known)
{
    return !has_no_egt(known) && !has_reference(known) &&
           states_no_limit(known);
}

/* The reference may have been as wrong as this session is: no log shows that of
 * itself, and the logbook took it for want of a better one. */
static bool has_only_an_unproven_reference(const struct known *known)
{
    return !has_no_egt(known) && has_reference(known) &&
           known->options->reference_is_unproven && states_no_limit(known);
}

/* A push start, or a log that begins on the track: no slip to time. */
static bool has_no_start(const struct known *known)
{
    return kw_events_count(&known->review->events, KW_CLUTCH_ENGAGEMENT) == 0;
}

/* How high this engine idles and where its clutch takes hold when all is well
 * is not in a log in which both are as they are. */
static bool has_nothing_to_hold_starts_against(const struct known *known)
{
    const struct kw_profile *profile = known->options->profile;
    const bool no_idle = (known->options->reference == NULL ||
                          known->options->reference_is_unproven ||
                          reference_is_of_another(known)) &&
                         (profile == NULL || isnan(profile->idle_rpm));
    return !has_no_start(known) &&
           (no_idle || profile == NULL || isnan(profile->clutch_rpm));
}

/* Either tells how fast the axle turns beside the engine. */
static bool has_no_speed(const struct known *known)
{
    return known->review->session.speed_m_s == NULL &&
           known->review->session.axle_rpm == NULL;
}

/* Good enough for starts, but not for slip in a pull. */
static bool has_only_fixes(const struct known *known)
{
    return !has_no_speed(known) && known->review->session.speed_is_derived;
}

static bool has_no_laps(const struct known *known)
{
    return known->review->laps.method == KW_LAPS_NONE;
}

/* A drop-out that falls between two readings left no trace at all. */
static bool is_slow(const struct known *known)
{
    return known->review->session.rate_hz < RATE_FOR_SHORT_DROPOUTS_HZ;
}

/* A logger that was only switched on: silence here must not look like
 * health. */
static bool never_ran(const struct known *known)
{
    return known->review->running.spans.n == 0;
}

/* Readings that nobody looks at but the person. */
static bool has_unjudged_readings(const struct known *known)
{
    const struct kw_session *session = &known->review->session;
    return session->water_c != NULL || session->head_c != NULL ||
           session->battery_v != NULL;
}

/* NULL stands for the sentence of tell_unjudged(). */
static const struct {
    bool (*holds)(const struct known *known);
    const char *sentence;
} questions[] = {
    {never_ran, "The engine does not seem to have run in this log: there was "
                "nothing to judge."},
    {has_no_egt, "Lean or rich running: the log has no exhaust temperature "
                 "that could be used."},
    {reference_has_no_egt, "This session against the reference: that one has "
                           "no exhaust temperature that could be used."},
    {reference_is_of_another,
     "This session against the reference: the two work at hardly any RPM in "
     "common, so it was not used. Is it of this kart?"},
    {has_nothing_to_hold_egt_against,
     "A mixture that was wrong all the time: only changes within the session "
     "were judged. Give egt_limit_c in the profile, or a good session with "
     "--reference."},
    {has_only_an_unproven_reference,
     "A mixture that was wrong in both sessions: of the one in the logbook it "
     "is known only that nothing was found. Give egt_limit_c in the profile, "
     "or a session you know was right with --reference."},
    {has_unjudged_readings, NULL},
    {has_nothing_to_hold_starts_against,
     "An idle or a clutch that was wrong all the time. Give idle_rpm and "
     "clutch_rpm in the profile, as they are when all is well."},
    {has_no_laps, "Lap times and lap-by-lap changes: no laps were found."},
    {has_no_speed, "Chain jumps and clutch slip on the move: the log has no "
                   "speed. Clutch times come from the shape of the RPM trace."},
    {has_only_fixes, "Clutch slip on the move: the speed was made from the "
                     "position, which is too rough for that."},
    {is_slow, "Short drop-outs and exact clutch times: the log has fewer than "
              "10 readings a second. Set the logger to 10 or more if it can."},
    {has_no_start, "The clutch: the log shows no start from a stand-still."},
};

/* Where nothing says how hot this engine runs, a number that no kart's exhaust
 * usually shows is all there is: a question and no finding, for each probe has
 * its own place. */
static enum kw_status tell_hot(const struct known *known,
                               struct kw_review *review,
                               struct kw_error *error)
{
    const struct kw_session *session = &review->session;
    if (!has_nothing_to_hold_egt_against(known) &&
        !has_only_an_unproven_reference(known))
        return KW_OK;
    double *scratch = kw_array_new(session->n_samples, sizeof *scratch, error);
    if (scratch == NULL)
        return KW_NO_MEMORY;
    const double hot_c =
        kw_quantile(session->egt_c, session->n_samples, HOT_SHARE, scratch);
    free(scratch);
    if (!(hot_c > MUCH_HOTTER_C))
        return KW_OK;
    struct kw_text text = {0};
    kw_text_add(&text, "The mixture: the exhaust often read over ");
    kw_text_add_whole(&text, MUCH_HOTTER_C);
    kw_text_add(&text,
                " C, far more than is usual. It may be in another unit (K), "
                "the probe may be wrong, or it is far too lean. Find out which "
                "before the engine runs hard again.");
    return kw_notices_tell(&review->not_judged, 0, &text, error);
}

/* The one with a number in it; it comes first, since it speaks of the mixture
 * where a reference seemed to have settled that. */
static enum kw_status tell_colder(struct kw_review *review,
                                  struct kw_error *error)
{
    struct kw_text text = {0};
    kw_text_add(&text, "The mixture: the exhaust was ");
    kw_text_add_number(&text, -review->above_reference_c, 0);
    kw_text_add(&text,
                " C colder than in the reference at the same RPM. The probe "
                "may sit or read differently, or it runs rich, or so lean that "
                "it cools again. Look at the plug before you decide on EGT.");
    return kw_notices_tell(&review->not_judged, 0, &text, error);
}

/* A probe that dies on lap 7 leaves the laps behind it unwatched. Blank fields
 * are told by a notice; here are readings that had to be set aside. */
static enum kw_status say_unwatched(struct kw_review *review,
                                    struct kw_error *error)
{
    const struct kw_session *s = &review->session;
    const struct kw_spans *runs = &review->running.spans;
    size_t n = 0;
    double first_s = NAN;
    bool usable_since = false;
    bool in_pieces = false;
    for (size_t r = 0; s->egt_c != NULL && r < runs->n; r++) {
        for (size_t i = runs->items[r].from; i < runs->items[r].to; i++) {
            if (isnan(s->egt_raw_c[i]) || !isnan(s->egt_c[i])) {
                usable_since = usable_since || (n > 0 && !isnan(s->egt_c[i]));
                continue;
            }
            in_pieces = in_pieces || usable_since;
            first_s = n++ == 0 ? s->time_s[i] : first_s;
        }
    }
    const double unwatched_s = n > 0 ? (double)n / s->rate_hz : 0.0;
    if (unwatched_s < LONG_UNWATCHED_S)
        return KW_OK;
    struct kw_text text = {0};
    kw_text_add(&text, "Lean or rich running: EGT could not be used for ");
    kw_text_add_whole(&text, unwatched_s);
    kw_text_add(&text, in_pieces ? " s in all, the first at " : " s, from ");
    kw_text_add_number(&text, first_s, 1);
    kw_text_add(&text, in_pieces ? " s." : " s on.");
    return kw_notices_tell(&review->not_judged, 0, &text, error);
}

/* Sensors that no detector looks at, with the end of their range that a person
 * would look at.
 *
 * share  the quantile of the readings that is told: one in a hundred may be
 *        wild (common practice, no source). */
static const struct unjudged {
    const char *name;
    const char *from;
    const char *unit;
    double share;
    int decimals;
} unjudged[] = {
    {"water", " up to ", " C", 0.99, 0},
    {"head", " up to ", " C", 0.99, 0},
    {"battery", " down to ", " V", 0.01, 1},
};

enum { N_UNJUDGED = sizeof unjudged / sizeof unjudged[0] };

/* Who logs the water must not think that it was watched. A limit would be an
 * invented one: each engine and battery has its own. */
static enum kw_status tell_unjudged(struct kw_review *review,
                                    struct kw_error *error)
{
    const struct kw_session *session = &review->session;
    const double *const readings[N_UNJUDGED] = {
        session->water_c, session->head_c, session->battery_v};
    const size_t n = session->n_samples;
    struct kw_text text = {0};
    double *scratch = kw_array_new(n, sizeof *scratch, error);
    if (scratch == NULL)
        return KW_NO_MEMORY;
    for (size_t i = 0; i < N_UNJUDGED; i++) {
        if (readings[i] == NULL)
            continue;
        const struct unjudged *row = &unjudged[i];
        kw_text_add(&text, text.length > 0 ? ", " : "Not judged: ");
        kw_text_add(&text, row->name);
        kw_text_add(&text, row->from);
        kw_text_add_number(&text,
                           kw_quantile(readings[i], n, row->share, scratch),
                           row->decimals);
        kw_text_add(&text, row->unit);
    }
    free(scratch);
    kw_text_add(&text, ". Hold that against the maker's sheet yourself.");
    return kw_notices_tell(&review->not_judged, 0, &text, error);
}

enum kw_status kw_say_what_was_not_judged(
    struct kw_review *review,
    const struct kw_review_options *options,
    struct kw_error *error)
{
    const struct known known = {review, options};
    if (tell_hot(&known, review, error) != KW_OK)
        return KW_NO_MEMORY;
    if (is_colder_than_reference(&known) && tell_colder(review, error) != KW_OK)
        return KW_NO_MEMORY;
    if (say_unwatched(review, error) != KW_OK)
        return KW_NO_MEMORY;
    for (size_t i = 0; i < sizeof questions / sizeof questions[0]; i++) {
        if (!questions[i].holds(&known))
            continue;
        const enum kw_status status =
            questions[i].sentence == NULL
                ? tell_unjudged(review, error)
                : kw_notices_add(&review->not_judged, 0, questions[i].sentence,
                                 error);
        if (status != KW_OK)
            return status;
    }
    return KW_OK;
}
