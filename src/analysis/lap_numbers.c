/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Laps are numbered from 1 in every review, whatever the logger does, so that
 * two logs are read alike. Who holds a finding against the logger's display has
 * to know where the two differ: a log that was cut begins at any lap, and some
 * loggers call the out lap 0. */
#include "analysis/lap_numbers.h"

#include "analysis/lap_axis.h"
#include "core/notices.h"
#include "core/text.h"

#include <math.h>

/* What the column says in the middle of a lap; NAN where it is blank there. */
static double own_number(const struct kw_session *session,
                         const struct kw_lap *lap)
{
    return session->lap_number[kw_sample_at(session->time_s, session->n_samples,
                                            0.5 * (lap->start_s + lap->end_s))];
}

/* By how much the column is ahead of ours; NAN where that is not the same for
 * all laps: a marker beside it made them, or it starts anew. */
static double ahead_by(const struct kw_review *review)
{
    double ahead = NAN;
    for (size_t i = 0; i < review->laps.n; i++) {
        const struct kw_lap *lap = &review->laps.items[i];
        const double here =
            own_number(&review->session, lap) - (double)lap->number;
        if (i > 0 && !(fabs(here - ahead) < 0.5))
            return NAN;
        ahead = here;
    }
    return ahead;
}

/* The one that a driver looks up first. */
static const struct kw_lap *fastest_lap(const struct kw_laps *laps)
{
    const struct kw_lap *fastest = &laps->items[0];
    double fastest_s = INFINITY;
    for (size_t i = 0; i < laps->n; i++) {
        const struct kw_lap *lap = &laps->items[i];
        const double time_s = lap->end_s - lap->start_s;
        if (lap->kind != KW_LAP_FLYING || lap->spoilt || !(time_s < fastest_s))
            continue;
        fastest = lap;
        fastest_s = time_s;
    }
    return fastest;
}

enum kw_status kw_tell_lap_numbers(struct kw_review *review,
                                   struct kw_error *error)
{
    const struct kw_laps *laps = &review->laps;
    if (laps->method != KW_LAPS_BY_COLUMN || laps->n == 0 ||
        review->session.lap_number == NULL)
        return KW_OK;
    const double ahead = ahead_by(review);
    if (!(fabs(ahead) > 0.5))
        return KW_OK;
    const size_t number = fastest_lap(laps)->number;
    struct kw_text text = {0};
    kw_text_add(&text, "laps are counted from 1 here, the out lap too: the "
                       "logger's lap ");
    kw_text_add_number(&text, (double)number + ahead, 0);
    kw_text_addf(&text, " is lap %zu here", number);
    return kw_notices_tell(&review->session.notices, 0, &text, error);
}
