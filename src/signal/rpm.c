/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Glitches of the RPM reading.
 *
 * The pickup sees a spark too many or too few, and one reading is halved or
 * doubled; no engine does that. Longer losses of the signal are findings, and
 * stay. The two are told apart by how long they last and by nothing else, so
 * that the drop-out detector gets all that could be one. */
#include "signal/rpm.h"

#include "core/array.h"
#include "core/notices.h"
#include "core/robust.h"
#include "core/text.h"
#include "signal/spike.h"

#include <math.h>
#include <stdlib.h>

/* Slowest logger whose single odd reading is taken for a glitch; a little under
 * 20 Hz for the sake of jitter. */
static const double SLOWEST_HZ = 19.5;
/* What counts as odd: a departure that neither noise nor, in so short a time, a
 * turning engine explains. 5 % of the highest RPM is 15,000 rpm/s for 0.05 s on
 * a two-stroke, three times hard braking. A halved or doubled reading is off by
 * 50 % or more. Common practice, no source. */
static const double ODD_SHARE_OF_TOP = 0.05;
static const double ODD_NOISES = 8.0;

/* Most readings that a glitch can have. */
static size_t most_readings(double rate_hz)
{
    if (rate_hz < SLOWEST_HZ)
        return 0;
    /* n readings last n steps, which must be less than KW_GLITCH_S. */
    const double most = ceil(KW_GLITCH_S * rate_hz - 1e-6) - 1.0;
    return most > 1.0 ? (size_t)most : 1;
}

/* One notice for all of them: a list of fifty times helps nobody. */
static enum kw_status tell(struct kw_session *s,
                           size_t n,
                           double first_s,
                           struct kw_error *error)
{
    struct kw_text text = {0};
    kw_text_add(&text, "RPM: ");
    kw_text_add_whole(&text, (double)n);
    kw_text_addf(&text, " glitch%s shorter than 0.05 s set aside, ",
                 n == 1 ? "" : "es");
    kw_text_add(&text, n == 1 ? "at " : "the first at ");
    kw_text_add_number(&text, first_s, 1);
    kw_text_add(&text, " s");
    return kw_notices_tell(&s->notices, 0, &text, error);
}

/* Clears what is marked; a run of marked readings is one glitch. */
static enum kw_status clear_marked(struct kw_session *s,
                                   const size_t *at,
                                   const bool *odd,
                                   size_t n,
                                   struct kw_error *error)
{
    size_t glitches = 0;
    double first_s = NAN;
    for (size_t i = 0; i < n; i++) {
        if (!odd[i])
            continue;
        if (glitches == 0)
            first_s = s->time_s[at[i]];
        if (i == 0 || !odd[i - 1])
            glitches++;
        /* Missing and not mended: a reading between its neighbours would be a
         * guess that later looks like a measurement. rpm_raw keeps what was
         * logged. */
        s->rpm[at[i]] = NAN;
    }
    return glitches > 0 ? tell(s, glitches, first_s, error) : KW_OK;
}

/* Between its good neighbours a glitch is alone. Where the readings beside it
 * disagree as well, or the run is longer than a glitch, the signal itself is
 * off, and that is for the detector of drop-outs. */
static void keep_glitches(const double *values,
                          size_t n,
                          const struct kw_spike_rule *rule,
                          bool *odd)
{
    for (size_t from = 0; from < n; from++) {
        if (!odd[from])
            continue;
        size_t to = from;
        while (to < n && odd[to])
            to++;
        const bool alone = to - from <= rule->half &&
                           (from == 0 || to == n ||
                            fabs(values[to] - values[from - 1]) <= rule->above);
        for (size_t i = from; i < to && !alone; i++)
            odd[i] = false;
        from = to - 1;
    }
}

/* How often RPM is read: a sensor that is written in rows of its own is slower
 * than the rows. */
static double readings_hz(const struct kw_session *session,
                          const size_t *at,
                          size_t n,
                          double *scratch)
{
    for (size_t i = 1; i < n; i++)
        scratch[i - 1] = session->time_s[at[i]] - session->time_s[at[i - 1]];
    return n > 1 ? 1.0 / kw_median(scratch, n - 1, scratch) : session->rate_hz;
}

/* The median is taken over the readings there are: a blank is no neighbour. */
enum kw_status kw_set_glitches_aside(struct kw_session *session,
                                     struct kw_error *error)
{
    const size_t n = session->n_samples;
    if (most_readings(session->rate_hz) == 0)
        return KW_OK;
    enum kw_status status = KW_NO_MEMORY;
    double *values = kw_array_new(n, sizeof *values, error);
    double *scratch = kw_array_new(n, sizeof *scratch, error);
    size_t *at = kw_array_new(n, sizeof *at, error);
    bool *odd = kw_array_new(n, sizeof *odd, error);
    if (values == NULL || scratch == NULL || at == NULL || odd == NULL)
        goto done;
    size_t kept = 0;
    for (size_t i = 0; i < n; i++) {
        if (isnan(session->rpm[i]))
            continue;
        at[kept] = i;
        values[kept++] = session->rpm[i];
    }
    const size_t half = most_readings(readings_hz(session, at, kept, scratch));
    const double top_rpm = kw_quantile_of_sample(values, kept, 0.99, scratch);
    const double noise_rpm = kw_noise_sd(values, kept, scratch);
    const double limit_rpm =
        fmax(ODD_SHARE_OF_TOP * top_rpm, ODD_NOISES * noise_rpm);
    const struct kw_spike_rule rule = {half, limit_rpm, limit_rpm};
    status = kw_mark_spikes(values, kept, &rule, odd, error);
    if (status == KW_OK) {
        keep_glitches(values, kept, &rule, odd);
        status = clear_marked(session, at, odd, kept, error);
    }
done:
    free(values);
    free(scratch);
    free(at);
    free(odd);
    return status;
}
