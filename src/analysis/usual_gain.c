/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A quantile of the gain in each stretch of the RPM range. */
#include "analysis/usual_gain.h"

#include "core/robust.h"

#include <math.h>

/* What the better pulls give: many may starve, so not the middle but above. RPM
 * is cut into bins, since gain shrinks towards the top end where drag grows. */
static const double GOOD_PULLS = 0.7;
enum { FEWEST_IN_BIN = 8 };

/* The table reaches a tenth beyond the top end, for downhill and a tow. */
static const double REACH = 1.1;

/* KW_GAIN_BINS for what lies outside, a doubled reading for instance. */
static size_t bin_of(const struct kw_usual_gain *gain, double rpm)
{
    const double bin = rpm / gain->bin_rpm;
    return bin >= 0.0 && bin < KW_GAIN_BINS ? (size_t)bin : KW_GAIN_BINS;
}

double kw_usual_gain_at(const struct kw_usual_gain *gain, double rpm)
{
    const size_t bin = bin_of(gain, rpm);
    return bin < KW_GAIN_BINS ? gain->rpm_s[bin] : NAN;
}

/* What is learnt from. */
struct lesson {
    const struct kw_scene *scene;
    const double *slope_rpm_s;
    const struct kw_usual_gain *gain;
};

/* The bin of a sample that teaches; KW_GAIN_BINS for one that does not. */
static size_t taught_bin(const struct lesson *lesson, size_t i)
{
    return isnan(lesson->slope_rpm_s[i])
               ? KW_GAIN_BINS
               : bin_of(lesson->gain, lesson->scene->session->rpm[i]);
}

/* Slopes of the pulls, bin behind bin: counted first, then put in their place.
 * Only what was read under load: the fall after a lift would drag it down.
 *
 * end  end[KW_GAIN_BINS + 1]: where each bin ends in `slopes`; the last holds
 *      what does not teach. */
static void sort_into_bins(const struct lesson *lesson,
                           size_t *end,
                           double *slopes)
{
    const struct kw_pulls *pulls = lesson->scene->pulls;
    size_t count[KW_GAIN_BINS + 1] = {0};
    for (size_t k = 0; k < pulls->n; k++) {
        const struct kw_span span = pulls->items[k].span;
        for (size_t i = span.from; i < span.to; i++)
            count[taught_bin(lesson, i)]++;
    }
    end[0] = 0;
    for (size_t bin = 0; bin < KW_GAIN_BINS; bin++)
        end[bin + 1] = end[bin] + count[bin];
    for (size_t k = 0; k < pulls->n; k++) {
        const struct kw_span span = pulls->items[k].span;
        for (size_t i = span.from; i < span.to; i++)
            slopes[end[taught_bin(lesson, i)]++] = lesson->slope_rpm_s[i];
    }
}

struct kw_usual_gain kw_learn_usual_gain(const struct kw_scene *scene,
                                         const double *slope_rpm_s,
                                         double top_rpm,
                                         double *scratch)
{
    struct kw_usual_gain gain = {.bin_rpm = REACH * top_rpm / KW_GAIN_BINS};
    const struct lesson lesson = {scene, slope_rpm_s, &gain};
    size_t end[KW_GAIN_BINS + 1];
    sort_into_bins(&lesson, end, scratch);
    for (size_t bin = 0, from = 0; bin < KW_GAIN_BINS; from = end[bin++]) {
        const size_t n = end[bin] - from;
        gain.rpm_s[bin] =
            n < FEWEST_IN_BIN
                ? NAN
                : kw_quantile(&scratch[from], n, GOOD_PULLS, &scratch[from]);
    }
    return gain;
}
