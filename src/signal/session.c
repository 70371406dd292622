/* SPDX-License-Identifier: GPL-3.0-or-later */
/* From the log to the session: copies, one step of cleaning after the other.
 *
 * What can be said of one channel alone is done by the file of that channel
 * (rpm.c, egt.c, position.c, hold.c); this one holds the order in which they
 * work. The log itself is never changed: a person can always be shown what the
 * logger wrote. */
#include "kartwright/session.h"

#include "core/array.h"
#include "core/notices.h"
#include "core/robust.h"
#include "core/text.h"
#include "signal/blank_stretch.h"
#include "signal/egt.h"
#include "signal/hold.h"
#include "signal/position.h"
#include "signal/probe_lag.h"
#include "signal/rpm.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* A step counts as a gap when it is longer than so many usual ones and longer
 * than the usual one by this much: a missed row at 100 Hz, or the jitter of a
 * 1 kHz logger, hides nothing that matters. */
static const double GAP_STEPS = 2.5;
static const double GAP_EXTRA_S = 0.15;
/* Share of throttle readings at each end that may be wild. A pedal that moved
 * less than a fifth of its scale was never opened or never closed (common
 * practice, no source). */
static const double THROTTLE_OUTLIERS = 0.001;
static const double SMALLEST_THROTTLE_RANGE = 0.2;

enum kw_status kw_spans_add(struct kw_spans *spans,
                            size_t from,
                            size_t to,
                            struct kw_error *error)
{
    enum kw_status status =
        kw_array_reserve(&spans->items, &spans->capacity, spans->n + 1,
                         sizeof *spans->items, error);
    if (status == KW_OK)
        spans->items[spans->n++] = (struct kw_span){from, to};
    return status;
}

void kw_spans_free(struct kw_spans *spans)
{
    free(spans->items);
    *spans = (struct kw_spans){0};
}

/* Signal reads the log by its plain struct: it needs no function of the import
 * room. */
static const struct kw_channel *find_channel(const struct kw_log *log,
                                             enum kw_role role,
                                             size_t probe)
{
    for (size_t i = 0; i < log->n_channels; i++) {
        const struct kw_channel *channel = &log->channels[i];
        if (channel->role == role && channel->probe == probe &&
            channel->values != NULL)
            return channel;
    }
    return NULL;
}

/* A copy with everything that is no number as NAN. */
static double *copy_values(const double *values,
                           size_t n,
                           struct kw_error *error)
{
    double *copy = kw_array_new(n, sizeof *copy, error);
    for (size_t i = 0; copy != NULL && i < n; i++)
        copy[i] = isfinite(values[i]) ? values[i] : NAN;
    return copy;
}

/* *out stays NULL where the log has no such channel or nothing in it. */
static enum kw_status copy_channel(const struct kw_log *log,
                                   enum kw_role role,
                                   double **out,
                                   struct kw_error *error)
{
    const struct kw_channel *channel = find_channel(log, role, 0);
    if (channel == NULL)
        return KW_OK;
    for (size_t i = 0; i < log->rows_used; i++) {
        if (!isfinite(channel->values[i]))
            continue;
        *out = copy_values(channel->values, log->rows_used, error);
        return *out != NULL ? KW_OK : KW_NO_MEMORY;
    }
    return KW_OK;
}

/* Channels that are taken as they were logged. */
static enum kw_status copy_plain_channels(const struct kw_log *log,
                                          struct kw_session *s,
                                          struct kw_error *error)
{
    /* RPM twice: as logged, and to be cleaned. */
    const struct {
        enum kw_role role;
        double **to;
    } plain[] = {
        {KW_ROLE_RPM, &s->rpm_raw},
        {KW_ROLE_RPM, &s->rpm},
        {KW_ROLE_SPEED, &s->speed_m_s},
        {KW_ROLE_AXLE_RPM, &s->axle_rpm},
        {KW_ROLE_LAP, &s->lap_number},
        {KW_ROLE_LAP_MARKER, &s->lap_marker},
        {KW_ROLE_THROTTLE, &s->throttle},
        {KW_ROLE_ACCEL_LONG, &s->accel_long_m_s2},
        {KW_ROLE_ACCEL_LAT, &s->accel_lat_m_s2},
        {KW_ROLE_WATER_TEMP, &s->water_c},
        {KW_ROLE_HEAD_TEMP, &s->head_c},
        {KW_ROLE_BATTERY_V, &s->battery_v},
    };
    enum kw_status status = KW_OK;
    for (size_t i = 0; status == KW_OK && i < sizeof plain / sizeof plain[0];
         i++)
        status = copy_channel(log, plain[i].role, plain[i].to, error);
    return status;
}

/* The clock, the usual step and the gaps. The usual step is the median one, so
 * that neither a pause of the logger nor its jitter changes the rate. */
static enum kw_status copy_clock(const struct kw_log *log,
                                 struct kw_session *s,
                                 struct kw_error *error)
{
    const size_t n = log->rows_used;
    double *step_s = kw_array_new(n, sizeof *step_s, error);
    s->time_s = kw_array_new(n, sizeof *s->time_s, error);
    enum kw_status status = KW_NO_MEMORY;
    if (step_s == NULL || s->time_s == NULL)
        goto done;
    memcpy(s->time_s, log->time_s, n * sizeof *s->time_s);
    for (size_t i = 1; i < n; i++)
        step_s[i - 1] = s->time_s[i] - s->time_s[i - 1];
    const double usual_s = kw_quantile_of_sample(step_s, n - 1, 0.5, step_s);
    s->n_samples = n;
    s->rate_hz = 1.0 / usual_s;
    /* Common practice, no source. Everything downstream asks gaps before it
     * draws a line between two samples. */
    const double gap_s = fmax(GAP_STEPS * usual_s, usual_s + GAP_EXTRA_S);
    status = KW_OK;
    for (size_t i = 1; status == KW_OK && i < n; i++) {
        if (s->time_s[i] - s->time_s[i - 1] > gap_s)
            status = kw_spans_add(&s->gaps, i - 1, i, error);
    }
done:
    free(step_s);
    return status;
}

/* One notice for all long holes: what the engine did in them is not known, and
 * two runs put behind each other look like this too. */
static enum kw_status tell_long_gaps(struct kw_session *s,
                                     struct kw_error *error)
{
    size_t n = 0;
    double first_s = NAN;
    double missing_s = 0.0;
    for (size_t i = 0; i < s->gaps.n; i++) {
        const double from_s = s->time_s[s->gaps.items[i].from];
        const double gap_s = s->time_s[s->gaps.items[i].to] - from_s;
        if (!(gap_s > KW_LONG_GAP_S))
            continue;
        first_s = n++ == 0 ? from_s : first_s;
        missing_s += gap_s;
    }
    if (n == 0)
        return KW_OK;
    struct kw_text text = {0};
    kw_text_add(&text, "no rows for ");
    kw_text_add_whole(&text, missing_s);
    kw_text_add(&text, " s ");
    if (n > 1)
        kw_text_addf(&text, "in %zu gaps, the first ", n);
    kw_text_add(&text, "from ");
    kw_text_add_number(&text, first_s, 1);
    kw_text_add(&text, " s on: not counted as running. Two runs in one file?");
    return kw_notices_tell(&s->notices, 0, &text, error);
}

/* The pedal's own scale is anybody's guess: the range seen makes it 0 to 1. A
 * pedal that hardly moved shows no range, and stays as it was logged. */
static enum kw_status scale_throttle(struct kw_session *s,
                                     struct kw_error *error)
{
    if (s->throttle == NULL)
        return KW_OK;
    double *scratch = kw_array_new(s->n_samples, sizeof *scratch, error);
    if (scratch == NULL)
        return KW_NO_MEMORY;
    const double closed = kw_quantile_of_sample(s->throttle, s->n_samples,
                                                THROTTLE_OUTLIERS, scratch);
    const double open = kw_quantile_of_sample(s->throttle, s->n_samples,
                                              1.0 - THROTTLE_OUTLIERS, scratch);
    free(scratch);
    /* Stretching the noise of a resting pedal to 0 to 1 would show a driver who
     * stamps on it. */
    if (!(open - closed > SMALLEST_THROTTLE_RANGE))
        return KW_OK;
    for (size_t i = 0; i < s->n_samples; i++) {
        if (!isnan(s->throttle[i]))
            s->throttle[i] = fmin(
                fmax((s->throttle[i] - closed) / (open - closed), 0.0), 1.0);
    }
    return KW_OK;
}

/* Lines over the rows that a logger leaves blank because the sensor is slower
 * than itself. */
static enum kw_status join_blanks(const struct kw_log *log,
                                  enum kw_role role,
                                  const struct kw_session *s,
                                  double *values,
                                  struct kw_error *error)
{
    const struct kw_channel *channel = find_channel(log, role, 0);
    return channel != NULL && values != NULL
               ? kw_join_blanks(s, channel->values, values, error)
               : KW_OK;
}

/* Position needs both halves of it. */
static enum kw_status place(const struct kw_log *log,
                            struct kw_session *s,
                            struct kw_error *error)
{
    const struct kw_channel *lat = find_channel(log, KW_ROLE_LATITUDE, 0);
    const struct kw_channel *lon = find_channel(log, KW_ROLE_LONGITUDE, 0);
    if (lat == NULL || lon == NULL)
        return KW_OK;
    return kw_place_session(s, lat->values, lon->values, error);
}

/* Spikes go before the staircase of a slow sensor is smoothed, or they would
 * become ramps. The gas is the probe until its lag is known. */
static enum kw_status clean_heat(const struct kw_log *log,
                                 struct kw_session *s,
                                 struct kw_error *error)
{
    enum kw_status status = kw_choose_egt(s, log, error);
    if (status != KW_OK || s->egt_c == NULL)
        return status;
    status = kw_join_blanks(s, s->egt_raw_c, s->egt_c, error);
    if (status == KW_OK)
        status = kw_join_updates(s, s->egt_c, error);
    if (status != KW_OK)
        return status;
    s->gas_c = copy_values(s->egt_c, s->n_samples, error);
    return s->gas_c != NULL ? KW_OK : KW_NO_MEMORY;
}

/* The order matters: the clock before anything that has a window in seconds,
 * RPM before the probe that is judged by it, position after the speed that it
 * may have to stand in for, and the lag of the probe last, from clean readings
 * only. */
static enum kw_status clean(const struct kw_log *log,
                            const struct kw_profile *profile,
                            struct kw_session *s,
                            struct kw_error *error)
{
    enum kw_status status = copy_clock(log, s, error);
    if (status == KW_OK)
        status = tell_long_gaps(s, error);
    if (status == KW_OK)
        status = copy_plain_channels(log, s, error);
    /* A column of blanks is as good as none: all that follows hangs on RPM. */
    if (status == KW_OK && s->rpm == NULL)
        return kw_fail(error, KW_BAD_INPUT, log->path, 0,
                       "no reading of engine speed in the log",
                       "check the logger's RPM lead, or say which column holds "
                       "it with --column rpm=HEADING");
    if (status == KW_OK)
        status = kw_tell_blank_stretches(s, s->rpm_raw, "RPM", error);
    if (status == KW_OK)
        status = scale_throttle(s, error);
    if (status == KW_OK)
        status = kw_set_glitches_aside(s, error);
    if (status == KW_OK)
        status = join_blanks(log, KW_ROLE_AXLE_RPM, s, s->axle_rpm, error);
    if (status == KW_OK)
        status = join_blanks(log, KW_ROLE_SPEED, s, s->speed_m_s, error);
    if (status == KW_OK && s->speed_m_s != NULL)
        status = kw_join_updates(s, s->speed_m_s, error);
    if (status == KW_OK)
        status = place(log, s, error);
    if (status == KW_OK)
        status = clean_heat(log, s, error);
    if (status == KW_OK && s->egt_raw_c != NULL)
        status = kw_tell_blank_stretches(s, s->egt_raw_c, "EGT", error);
    if (status == KW_OK)
        status = kw_estimate_probe_lag(s, profile, error);
    return status;
}

/* Cleaned from a copy: the log keeps what was read, for the report to show. */
enum kw_status kw_session_from_log(const struct kw_log *log,
                                   const struct kw_profile *profile,
                                   struct kw_session *out,
                                   struct kw_error *error)
{
    *out = (struct kw_session){
        .probe_lag_s = NAN,
        .probe_lag_error_s = NAN,
        .origin_lat_deg = NAN,
        .origin_lon_deg = NAN,
    };
    enum kw_status status = KW_OK;
    if (log->rows_used < 2)
        status = kw_fail(error, KW_BAD_INPUT, log->path, 0,
                         "fewer than two rows could be read",
                         "export the session again, with all its rows");
    if (status == KW_OK)
        status = clean(log, profile, out, error);
    if (status != KW_OK)
        kw_session_free(out);
    return status;
}

/* Every array in one list, so that a new channel is freed by naming it here. */
void kw_session_free(struct kw_session *session)
{
    double *const arrays[] = {
        session->time_s,    session->rpm_raw,         session->rpm,
        session->egt_raw_c, session->egt_c,           session->gas_c,
        session->speed_m_s, session->axle_rpm,        session->x_m,
        session->y_m,       session->lap_number,      session->lap_marker,
        session->throttle,  session->accel_long_m_s2, session->accel_lat_m_s2,
        session->water_c,   session->head_c,          session->battery_v,
    };
    for (size_t i = 0; i < sizeof arrays / sizeof arrays[0]; i++)
        free(arrays[i]);
    kw_spans_free(&session->gaps);
    kw_notices_free(&session->notices);
    *session = (struct kw_session){0};
}
