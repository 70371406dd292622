/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The way through the house for one log: signal, analysis, advice.
 *
 * The review owns all that it speaks of, the log included, so that a report can
 * be made from it alone. The log moves in only when everything has succeeded:
 * until then it is the caller's, who may try again with other options. */
#include "kartwright/review.h"

#include "advice/advice.h"
#include "analysis/analysis.h"
#include "analysis/lap_numbers.h"
#include "analysis/laps.h"
#include "analysis/over_rev.h"
#include "analysis/running.h"

#include <stdlib.h>

/* What could not be judged comes last: it asks what the analysis had to work
 * with. */
static enum kw_status review_session(struct kw_review *review,
                                     const struct kw_review_options *known,
                                     struct kw_error *error)
{
    enum kw_status status = kw_analyse(review, known, error);
    if (status == KW_OK)
        status = kw_tell_lap_numbers(review, error);
    if (status == KW_OK)
        status = kw_find_over_rev(review, known->profile, error);
    if (status == KW_OK)
        status = kw_advise(review, known, error);
    if (status == KW_OK)
        status = kw_say_what_was_not_judged(review, known, error);
    return status;
}

/* No profile is the same as one that states nothing, so that no stage below has
 * to ask whether there is one. */
enum kw_status kw_review_log(struct kw_log *log,
                             const struct kw_review_options *options,
                             struct kw_review *out,
                             struct kw_error *error)
{
    struct kw_review_options known = {0};
    struct kw_profile states_nothing;
    kw_profile_init(&states_nothing);
    *out = (struct kw_review){0};
    if (options != NULL)
        known = *options;
    if (known.profile == NULL)
        known.profile = &states_nothing;
    enum kw_status status =
        kw_session_from_log(log, known.profile, &out->session, error);
    if (status == KW_OK)
        status = review_session(out, &known, error);
    if (status != KW_OK) {
        kw_review_free(out);
        return status;
    }
    out->log = *log;
    *log = (struct kw_log){0};
    return KW_OK;
}

/* Texts first, then the list that holds them. */
static void free_suggestions(struct kw_suggestions *suggestions)
{
    for (size_t i = 0; i < suggestions->n; i++) {
        free(suggestions->items[i].part);
        free(suggestions->items[i].why);
        free(suggestions->items[i].check);
        free(suggestions->items[i].caution);
    }
    free(suggestions->items);
    *suggestions = (struct kw_suggestions){0};
}

/* Every part accepts being empty: this also clears up a review that failed half
 * way. */
void kw_review_free(struct kw_review *review)
{
    kw_log_free(&review->log);
    kw_session_free(&review->session);
    kw_running_free(&review->running);
    kw_laps_free(&review->laps);
    free(review->load);
    free(review->expected_c);
    free(review->expected_spread_c);
    free(review->reference_c);
    kw_events_free(&review->events);
    free(review->verdict_text);
    free_suggestions(&review->suggestions);
    kw_notices_free(&review->not_judged);
    *review = (struct kw_review){0};
}
