/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Laps that the logger counted itself: a column that changes at the line.
 *
 * A lap-number column holds until the line and then changes; a marker column
 * leaves its usual value for a moment at the line, or counts. Where in the step
 * between two rows the line was passed is not known: the middle is nearest. */
#include "analysis/lap_passings.h"

#include "core/array.h"
#include "core/robust.h"

#include <math.h>
#include <stdlib.h>

/* A change that is taken back within this time was no passing. */
static const double SETTLE_S = 0.5;
/* A number that first appears after this time was blank before the line. */
static const double BLANK_S = 5.0;
/* One beacon is not passed twice within this time. */
static const double DEAD_S = 4.0;
/* Laps shorter than this, in the middle of them, are no laps of a kart: the
 * column means something else. */
static const double SHORTEST_LAP_S = 8.0;
/* Numbers are whole: half a step tells them apart. */
static const double SAME_NUMBER = 0.5;
/* A column with more passings than this share of its samples is no marker. */
static const double MOST_SHARE = 0.2;

static bool same(double a, double b)
{
    return fabs(a - b) < SAME_NUMBER;
}

/* The middle of the step that ends at sample i. */
static double middle_s(const struct kw_session *session, size_t i)
{
    return i > 0 ? 0.5 * (session->time_s[i - 1] + session->time_s[i])
                 : session->time_s[0];
}

/* true when the value of sample i is still there, or has moved on but not back
 * to the old one, after SETTLE_S. */
static bool holds(const struct kw_session *session,
                  const double *values,
                  size_t i,
                  double old)
{
    for (size_t k = i; k < session->n_samples; k++) {
        if (!isnan(values[k]) && same(values[k], old))
            return false;
        if (session->time_s[k] - session->time_s[i] > SETTLE_S)
            break;
    }
    return true;
}

/* Each lasting change of the value is one passing. */
static enum kw_status by_changes(const struct kw_session *session,
                                 const double *values,
                                 struct kw_passings *out,
                                 struct kw_error *error)
{
    double now = NAN;
    enum kw_status status = KW_OK;
    for (size_t i = 0; status == KW_OK && i < session->n_samples; i++) {
        if (isnan(values[i]) || same(values[i], now))
            continue;
        const bool first = isnan(now);
        if (!first && !holds(session, values, i, now))
            continue;
        now = values[i];
        if (!first || session->time_s[i] > BLANK_S)
            status = kw_passings_add(out, middle_s(session, i), error);
    }
    return status;
}

/* Each departure from the usual value is one passing. */
static enum kw_status by_pulses(const struct kw_session *session,
                                const double *values,
                                double usual,
                                struct kw_passings *out,
                                struct kw_error *error)
{
    bool away = true;
    double last_s = -INFINITY;
    enum kw_status status = KW_OK;
    for (size_t i = 0; status == KW_OK && i < session->n_samples; i++) {
        const bool now = !isnan(values[i]) && !same(values[i], usual);
        if (now && !away && session->time_s[i] - last_s > DEAD_S) {
            status = kw_passings_add(out, middle_s(session, i), error);
            last_s = session->time_s[i];
        }
        away = now;
    }
    return status;
}

/* The value that the column has most of the time. */
static double usual_value(const double *values, size_t n, double *scratch)
{
    size_t known = 0;
    for (size_t i = 0; i < n; i++)
        known += isnan(values[i]) ? 0 : 1;
    if (2 * known < n)
        return 0.0;
    return kw_median(values, n, scratch);
}

/* A marker that counts stays at each value; one that pulses comes back. */
static bool counts_up(const double *values, size_t n)
{
    double now = NAN;
    size_t up = 0;
    size_t down = 0;
    for (size_t i = 0; i < n; i++) {
        if (isnan(values[i]))
            continue;
        up += values[i] - now > SAME_NUMBER ? 1 : 0;
        down += now - values[i] > SAME_NUMBER ? 1 : 0;
        now = values[i];
    }
    return up >= 2 && down <= 1;
}

/* A column under the right heading may hold something else: sectors, or a flag
 * that stays up. */
static bool is_plausible(const struct kw_session *session,
                         const struct kw_passings *passings,
                         double *scratch)
{
    if (passings->n == 0 ||
        (double)passings->n > MOST_SHARE * (double)session->n_samples)
        return false;
    for (size_t i = 1; i < passings->n; i++)
        scratch[i - 1] = passings->time_s[i] - passings->time_s[i - 1];
    return passings->n < 2 ||
           kw_median(scratch, passings->n - 1, scratch) >= SHORTEST_LAP_S;
}

/* The number before the marker: it changes once a lap, while a marker may be
 * high for some rows or count up. Neither is believed unseen. */
enum kw_status kw_passings_by_column(const struct kw_session *session,
                                     struct kw_passings *out,
                                     struct kw_error *error)
{
    const size_t n = session->n_samples;
    const double *marker = session->lap_marker;
    double *scratch = kw_array_new(n, sizeof *scratch, error);
    enum kw_status status = scratch != NULL ? KW_OK : KW_NO_MEMORY;
    if (status == KW_OK && session->lap_number != NULL)
        status = by_changes(session, session->lap_number, out, error);
    if (status == KW_OK && !is_plausible(session, out, scratch))
        out->n = 0;
    if (status == KW_OK && out->n == 0 && marker != NULL) {
        status = counts_up(marker, n)
                     ? by_changes(session, marker, out, error)
                     : by_pulses(session, marker,
                                 usual_value(marker, n, scratch), out, error);
        if (!is_plausible(session, out, scratch))
            out->n = 0;
    }
    free(scratch);
    return status;
}
