/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The engine is the better clock: its mass lets it change its speed so fast and
 * no faster, and a driver does not let it change ten times more slowly. Limits
 * here are common practice, no source. */
#include "import/time_sense.h"

#include "core/array.h"
#include "core/fail.h"
#include "core/robust.h"
#include "core/text.h"

#include <math.h>
#include <stdlib.h>

/* Of loggers whose exports leave the unit out. */
static const double FASTEST_LOGGER_HZ = 1000.0;
/* So many rows of a session that would be over in so few seconds. */
static const size_t MANY_ROWS = 1000;
static const double SHORTEST_SESSION_S = 5.0;
static const double LONGEST_SESSION_S = 12.0 * 3600.0;

/* Readings are taken together for so long, at least so many: one by one they
 * are noisy. */
static const double STRETCH_S = 0.2;
enum { FEWEST_IN_STRETCH = 8, FEWEST_STRETCHES = 20 };
/* From one stretch to the next engines of karts change by 1,000 to 3,000 RPM/s
 * most of the time; shifting and braking are faster, and short. */
static const double FASTEST_USUAL_RPM_S = 8000.0;
/* A signal that leaps about from row to row says nothing of the clock. */
static const double SMOOTH = 3.0;

/* Under way the fastest hundredth of all changes is braking: 3,000 RPM/s at the
 * least, but for loggers that smooth. Where RPM move less they say nothing. */
static const double SLOWEST_BRAKING_RPM_S = 1000.0;
static const double NEARLY_ALL = 0.99;
static const double UNDER_WAY_RPM = 4000.0;
static const double LEAST_RANGE_RPM = 6000.0;
static const size_t FEWEST_CHANGES = 500;

/* ---- faster than any engine ---------------------------------------------- */

/* One row after the last of the stretch that begins with row `from`. */
static size_t stretch_end(const struct kw_log *log, size_t from)
{
    size_t to = from + 1;
    while (to < log->rows_used &&
           log->time_s[to] < log->time_s[from] + STRETCH_S)
        to++;
    return to;
}

/* Median RPM of some rows; NAN for too few of them, or an engine at rest. */
static double level_of(const double *rpm, size_t n, double *scratch)
{
    const size_t kept = kw_finite_copy(rpm, n, scratch);
    const double level =
        kept < FEWEST_IN_STRETCH ? NAN : kw_median(scratch, kept, scratch);
    return level > 0.0 ? level : NAN;
}

/* Does the engine change faster than any, most of the time and smoothly?
 *
 * changes, scratch  changes[n] and scratch[n] for n rows. */
static bool is_too_fast(const struct kw_log *log,
                        const double *rpm,
                        double *changes,
                        double *scratch)
{
    double before = NAN;
    size_t n = 0;
    for (size_t from = 0; from < log->rows_used;) {
        const size_t to = stretch_end(log, from);
        const double level = level_of(rpm + from, to - from, scratch);
        if (!isnan(level) && !isnan(before))
            changes[n++] = fabs(level - before);
        before = level;
        from = to;
    }
    if (n < FEWEST_STRETCHES)
        return false;
    const double usual = kw_median(changes, n, scratch);
    n = 0;
    for (size_t i = 1; i < log->rows_used; i++) {
        if (!isnan(rpm[i]) && !isnan(rpm[i - 1]))
            changes[n++] = fabs(rpm[i] - rpm[i - 1]);
    }
    return usual > FASTEST_USUAL_RPM_S * STRETCH_S && n > 0 &&
           SMOOTH * kw_median(changes, n, scratch) < usual;
}

/* ---- slower than any driver ---------------------------------------------- */

static bool is_too_slow(const struct kw_log *log,
                        const double *rpm,
                        double *changes,
                        double *scratch)
{
    size_t n = 0;
    double lowest = INFINITY;
    double highest = -INFINITY;
    for (size_t i = 1; i < log->rows_used; i++) {
        if (!(rpm[i] > UNDER_WAY_RPM) || !(rpm[i - 1] > UNDER_WAY_RPM))
            continue;
        lowest = fmin(lowest, rpm[i]);
        highest = fmax(highest, rpm[i]);
        changes[n++] =
            fabs(rpm[i] - rpm[i - 1]) / (log->time_s[i] - log->time_s[i - 1]);
    }
    return n >= FEWEST_CHANGES && highest - lowest > LEAST_RANGE_RPM &&
           kw_quantile(changes, n, NEARLY_ALL, scratch) < SLOWEST_BRAKING_RPM_S;
}

/* ---- the whole ----------------------------------------------------------- */

static const char *nonsense(const struct kw_log *log,
                            const double *rpm,
                            double *changes,
                            double *scratch)
{
    if (log->sample_rate_hz > FASTEST_LOGGER_HZ)
        return "more than a thousand rows each second";
    if (log->rows_used >= MANY_ROWS && log->duration_s < SHORTEST_SESSION_S)
        return "a session of a few seconds";
    if (log->duration_s > LONGEST_SESSION_S)
        return "a session of more than half a day";
    if (is_too_fast(log, rpm, changes, scratch))
        return "RPM that change faster than any engine's";
    if (is_too_slow(log, rpm, changes, scratch))
        return "RPM that change more slowly than any driver's";
    return NULL;
}

enum kw_status kw_time_sense_check(const struct kw_log *log,
                                   const struct kw_time_form *form,
                                   struct kw_error *error)
{
    const struct kw_channel *time = kw_log_channel(log, KW_ROLE_TIME, 0);
    const struct kw_channel *rpm = kw_log_channel(log, KW_ROLE_RPM, 0);
    if (form->why == NULL || time == NULL || rpm == NULL)
        return KW_OK;
    double *changes = kw_array_new(log->rows_used, sizeof *changes, error);
    double *scratch = kw_array_new(log->rows_used, sizeof *scratch, error);
    const char *found = NULL;
    enum kw_status status = KW_NO_MEMORY;
    if (changes != NULL && scratch != NULL) {
        found = nonsense(log, rpm->values, changes, scratch);
        status = KW_OK;
    }
    free(changes);
    free(scratch);
    if (found == NULL)
        return status;
    struct kw_text what = {0};
    kw_text_add(&what, "the time column '");
    kw_text_add_visible(&what, time->column);
    kw_text_addf(&what, "' has no unit, and taken as %s it gives %s",
                 form->unit->name, found);
    const struct kw_refusal refusal = {
        KW_BAD_INPUT, log->path, 0,
        "write its unit in its heading, such as [s], [1/10 s], [1/100 s], "
        "[ms] or [min]"};
    return kw_fail_text(error, &refusal, &what);
}
