/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Sliding least squares: sums of a window that moves with the sample.
 *
 * Sums that are added to and taken from for hours lose digits, so they are made
 * afresh, about a new origin, once in a while: amortised O(n). */
#include "signal/slope.h"

#include <math.h>
#include <stdint.h>

/* Samples between two fresh starts, at least. */
enum { AFRESH_AFTER = 512 };

/* Sums over the samples from .. to - 1, time about origin_s and values about
 * origin. */
struct window {
    const struct kw_session *session;
    const double *values;
    size_t from;
    size_t to;
    double origin_s;
    double origin;
    size_t n;
    double t;
    double tt;
    double v;
    double tv;
};

/* Adds a sample (sign 1) or takes it away again (sign -1); one that is missing
 * was never counted. */
static void count(struct window *w, size_t i, double sign)
{
    /* A missing value is NAN and makes the difference NAN: one question for
     * both. */
    const double value = w->values[i] - w->origin;
    if (isnan(value))
        return;
    const double t = w->session->time_s[i] - w->origin_s;
    w->n = sign > 0.0 ? w->n + 1 : w->n - 1;
    w->t += sign * t;
    w->tt += sign * t * t;
    w->v += sign * value;
    w->tv += sign * t * value;
}

/* Origins at the centre keep the sums small, and with them the digits that are
 * lost when large sums are subtracted. */
static void start_afresh(struct window *w, size_t centre)
{
    const double value = w->values[centre];
    w->origin_s = w->session->time_s[centre];
    w->origin = isnan(value) ? 0.0 : value;
    w->n = 0;
    w->t = w->tt = w->v = w->tv = 0.0;
    for (size_t i = w->from; i < w->to; i++)
        count(w, i, 1.0);
}

/* Moves the window to centre - half_s .. centre + half_s, inside the stretch
 * first .. last - 1. */
static void move(struct window *w,
                 size_t centre,
                 double half_s,
                 const struct kw_span *in)
{
    const double *time_s = w->session->time_s;
    /* A gap is never bridged: the window starts anew behind it. */
    if (w->from < in->from) {
        w->from = w->to = in->from;
        start_afresh(w, centre);
    }
    while (w->to < in->to && time_s[w->to] <= time_s[centre] + half_s)
        count(w, w->to++, 1.0);
    while (time_s[w->from] < time_s[centre] - half_s)
        count(w, w->from++, -1.0);
}

/* The least-squares line through the window. */
static double slope_of(const struct window *w)
{
    const double n = (double)w->n;
    /* About the mean of the window, not about its origin: gaps and jitter may
     * lie to one side. */
    const double spread = w->tt - w->t * w->t / n;
    return w->n >= 2 && spread > 0.0 ? (w->tv - w->t * w->v / n) / spread : NAN;
}

/* About an origin near the values, so that their squares keep their digits. */
static double mean_of(const struct window *w)
{
    return w->n > 0 ? w->origin + w->v / (double)w->n : NAN;
}

/* One pass over the session, stretch by stretch between the gaps. */
static void slide(const struct kw_session *session,
                  const double *values,
                  double half_s,
                  double (*result)(const struct window *),
                  double *out)
{
    struct window w = {.session = session, .values = values};
    size_t gap = 0;
    /* So that the first window is made afresh. */
    size_t since = SIZE_MAX;
    for (size_t from = 0; from < session->n_samples; gap++) {
        const size_t to = gap < session->gaps.n ? session->gaps.items[gap].to
                                                : session->n_samples;
        const struct kw_span in = {from, to};
        for (size_t i = from; i < to; i++, since++) {
            move(&w, i, half_s, &in);
            if (since >= AFRESH_AFTER && since >= w.to - w.from) {
                start_afresh(&w, i);
                since = 0;
            }
            out[i] = result(&w);
        }
        from = to;
    }
}

/* Half the window: a little over one step at least, so that jitter does not
 * lose the neighbours. */
static double half_window_s(const struct kw_session *session, double window_s)
{
    return fmax(window_s / 2.0, 1.25 / session->rate_hz);
}

/* Least squares over a sliding window: sums in and out, O(n) whatever the
 * width. */
void kw_slope(const struct kw_session *session,
              const double *values,
              double window_s,
              double *out)
{
    slide(session, values, half_window_s(session, window_s), slope_of, out);
}

void kw_smooth(const struct kw_session *session,
               const double *values,
               double window_s,
               double *out)
{
    slide(session, values, half_window_s(session, window_s), mean_of, out);
}
