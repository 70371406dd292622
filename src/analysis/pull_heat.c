/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The heat at the beginning of a pull, and heat that begins later. */
#include "analysis/pull_heat.h"

#include "analysis/load.h"

#include <math.h>

/* The gas needs a moment to come through; what follows for a second is how the
 * pull begins. Common practice, no source. */
static const double COMES_THROUGH_S = 0.3;
static const double FIRST_S = 1.3;

/* Hunger was told so often in this session, and this heat begins so long after
 * the pull; the pull began with less than this share of it. Of hot stretches
 * beside restrictions in simulated sessions nine in ten that are hunger do so,
 * and one in ten of those that are not. */
enum { FEWEST_HUNGRY = 2 };
static const double LATE_S = 1.5;
static const double COOL_SHARE = 0.6;
/* Of the heat itself: 2.5 % of fuel at 10 C for each (common practice, no
 * source). */
static const double HOT_C = 25.0;

size_t kw_pull_begin(const struct kw_scene *scene, size_t i)
{
    while (i > 0 && kw_under_load(scene->load[i - 1]))
        i--;
    return i;
}

double kw_mean_excess_c(const struct kw_scene *scene, size_t from, size_t to)
{
    double sum_c = 0.0;
    double n = 0.0;
    for (size_t i = from; i < to; i++) {
        const double excess_c = scene->session->gas_c[i] - scene->expected_c[i];
        if (!isnan(excess_c)) {
            sum_c += excess_c;
            n += 1.0;
        }
    }
    return n > 0.0 ? sum_c / n : NAN;
}

double kw_first_excess_c(const struct kw_scene *scene, size_t pull, size_t to)
{
    const double *time_s = scene->session->time_s;
    size_t from = pull;
    while (from < to && time_s[from] - time_s[pull] < COMES_THROUGH_S)
        from++;
    size_t end = from;
    while (end < to && time_s[end] - time_s[pull] < FIRST_S)
        end++;
    return kw_mean_excess_c(scene, from, end);
}

static size_t count_hungry(const struct kw_events *events)
{
    size_t n = 0;
    for (size_t i = 0; events != NULL && i < events->n; i++) {
        const struct kw_event *event = &events->items[i];
        n += event->kind == KW_DROPOUT &&
                     event->detail.dropout.cause == KW_CAUSE_FUEL_RESTRICTION
                 ? 1
                 : 0;
    }
    return n;
}

bool kw_is_heat_of_hunger(const struct kw_scene *scene, size_t from, size_t to)
{
    const double *time_s = scene->session->time_s;
    const size_t middle = from + (to - from) / 2;
    if (count_hungry(scene->events) < FEWEST_HUNGRY)
        return false;
    const size_t pull = kw_pull_begin(scene, middle);
    const double heat_c = kw_mean_excess_c(scene, from, to);
    return pull <= from && time_s[from] - time_s[pull] >= LATE_S &&
           kw_pull_begin(scene, to) <= from && heat_c >= HOT_C &&
           kw_first_excess_c(scene, pull, from) < COOL_SHARE * heat_c;
}
