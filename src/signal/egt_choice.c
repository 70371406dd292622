/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Which of several EGT probes to believe, and what to tell of the one taken.
 *
 * A kart has one exhaust; a second probe is a spare, or sits farther down the
 * pipe. Mixing the two would mix two levels of temperature, so one is taken for
 * the whole session and the detectors never know of the other. */
#include "signal/egt.h"

#include "core/array.h"
#include "core/notices.h"
#include "core/text.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* A later probe must have this many times the readings of the first to be
 * preferred: a few spikes more are no reason. */
static const double CLEARLY_MORE = 1.05;

/* After "EGT: set aside 12 readings" and before where they are: the fault in
 * words that say what to look at. */
static const char *const fault_words[KW_N_EGT_FAULTS] = {
    [KW_EGT_BEYOND] = "outside -40 to 1100 C, as an open probe reads",
    [KW_EGT_SPIKE] = "far from the readings around",
    [KW_EGT_OPEN] = "at one fixed value, as an open probe reads",
    [KW_EGT_ASTRAY] = "too sudden for a probe to follow",
    [KW_EGT_STUCK] = "unmoved while the engine worked",
    [KW_EGT_COLD] =
        "below 100 C while the engine worked, as a loose probe reads",
};

/* How many, why, and where the person finds the first. Times are the session's,
 * as in the report, so that the person finds the place on the plot. */
static enum kw_status tell_fault(struct kw_session *s,
                                 const struct kw_egt_verdict *verdict,
                                 enum kw_egt_fault fault,
                                 struct kw_error *error)
{
    const size_t n = verdict->readings[fault];
    struct kw_text text = {0};
    kw_text_add(&text, "EGT: set aside ");
    kw_text_add_whole(&text, (double)n);
    kw_text_addf(&text, " reading%s %s, ", n == 1 ? "" : "s",
                 fault_words[fault]);
    kw_text_add(&text, n == 1 ? "at " : "the first at ");
    kw_text_add_number(&text, verdict->first_s[fault], 1);
    kw_text_add(&text, " s");
    return kw_notices_tell(&s->notices, 0, &text, error);
}

/* One line for each kind of fault, and one for the choice of a later probe. */
static enum kw_status tell(struct kw_session *s,
                           const struct kw_egt_verdict *verdict,
                           struct kw_error *error)
{
    enum kw_status status = KW_OK;
    for (int i = 0; status == KW_OK && i < KW_N_EGT_FAULTS; i++) {
        if (verdict->readings[i] > 0)
            status = tell_fault(s, verdict, (enum kw_egt_fault)i, error);
    }
    if (status == KW_OK && s->egt_probe > 0) {
        struct kw_text text = {0};
        kw_text_addf(&text,
                     "EGT: probe %zu is used, it has most readings to "
                     "trust",
                     /* People count probes from one. */
                     s->egt_probe + 1);
        status = kw_notices_tell(&s->notices, 0, &text, error);
    }
    return status;
}

/* One probe's raw and cleaned readings. */
struct candidate {
    double *raw_c;
    double *clean_c;
    size_t probe;
    struct kw_egt_verdict verdict;
};

static void candidate_free(struct candidate *c)
{
    free(c->raw_c);
    free(c->clean_c);
    *c = (struct candidate){0};
}

/* Cleans one channel on a copy, whole or not at all. */
static enum kw_status try_probe(const struct kw_session *session,
                                const struct kw_channel *channel,
                                struct candidate *out,
                                struct kw_error *error)
{
    const size_t n = session->n_samples;
    *out = (struct candidate){.probe = channel->probe};
    out->raw_c = kw_array_new(n, sizeof *out->raw_c, error);
    out->clean_c = kw_array_new(n, sizeof *out->clean_c, error);
    enum kw_status status = KW_NO_MEMORY;
    if (out->raw_c != NULL && out->clean_c != NULL) {
        for (size_t i = 0; i < n; i++)
            out->raw_c[i] =
                isfinite(channel->values[i]) ? channel->values[i] : NAN;
        memcpy(out->clean_c, out->raw_c, n * sizeof *out->raw_c);
        status = kw_clean_egt(session, out->clean_c, &out->verdict, error);
    }
    if (status != KW_OK)
        candidate_free(out);
    return status;
}

static bool has_reading(const struct kw_session *session, const double *values)
{
    for (size_t i = 0; i < session->n_samples; i++) {
        if (!isnan(values[i]))
            return true;
    }
    return false;
}

/* All that a probe has left counts, not how clean it looks: a probe that failed
 * halfway can still be the better one of two. */
enum kw_status kw_choose_egt(struct kw_session *session,
                             const struct kw_log *log,
                             struct kw_error *error)
{
    struct candidate best = {0};
    for (size_t i = 0; i < log->n_channels; i++) {
        const struct kw_channel *channel = &log->channels[i];
        if (channel->role != KW_ROLE_EGT || channel->values == NULL)
            continue;
        struct candidate next;
        if (try_probe(session, channel, &next, error) != KW_OK) {
            candidate_free(&best);
            return KW_NO_MEMORY;
        }
        /* Of equals the first: it is the one that the person put first. */
        const bool better =
            best.raw_c == NULL || (double)next.verdict.left >
                                      CLEARLY_MORE * (double)best.verdict.left;
        candidate_free(better ? &best : &next);
        if (better)
            best = next;
    }
    if (best.raw_c == NULL || !has_reading(session, best.raw_c)) {
        candidate_free(&best);
        return KW_OK;
    }
    session->egt_raw_c = best.raw_c;
    session->egt_probe = best.probe;
    /* A probe of which nothing is left is shown as it was logged, and judged by
     * nobody. */
    if (best.verdict.left > 0)
        session->egt_c = best.clean_c;
    else
        free(best.clean_c);
    return tell(session, &best.verdict, error);
}
