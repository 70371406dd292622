/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What the EGT bands of a comparison say together.
 *
 * Heat that changes at the top end points at the main jet, in the middle at the
 * needle, at the low end at the pilot: so the bands are read in thirds. */
#include "compare/heat_change.h"

#include <math.h>
#include <string.h>

static bool is_heat(const struct kw_measure *measure)
{
    return strcmp(measure->name, "egt_c") == 0;
}

/* Told apart from "no clear change" and "too few laps" alike. */
bool kw_is_clear_change(const struct kw_measure *measure)
{
    return measure->verdict == KW_ROSE || measure->verdict == KW_FELL;
}

/* By the middle of the band; a middle on the border belongs to the third above
 * it, whatever the last digit says. */
static enum kw_heat_region region_of(const struct kw_measure *measure,
                                     double low_rpm,
                                     double high_rpm)
{
    const double middle = 0.5 * (measure->rpm_from + measure->rpm_to);
    const double share = (middle - low_rpm) / (high_rpm - low_rpm);
    if (share > 2.0 / 3.0 - 1e-9)
        return KW_HEAT_TOP;
    return share > 1.0 / 3.0 - 1e-9 ? KW_HEAT_MIDDLE : KW_HEAT_LOW;
}

/* Of the bands of a region the surest speaks for it, by its p. */
struct kw_heat_change kw_read_heat_change(const struct kw_measures *measures)
{
    struct kw_heat_change heat = {0};
    double low_rpm = NAN;
    double high_rpm = NAN;
    for (size_t i = 0; i < measures->n; i++) {
        if (!is_heat(&measures->items[i]))
            continue;
        low_rpm = fmin(low_rpm, measures->items[i].rpm_from);
        high_rpm = fmax(high_rpm, measures->items[i].rpm_to);
        heat.lead = &measures->items[i];
        heat.n_bands++;
    }
    for (size_t i = 0; i < measures->n; i++) {
        const struct kw_measure *measure = &measures->items[i];
        if (!is_heat(measure) || !kw_is_clear_change(measure))
            continue;
        heat.n_clear_bands++;
        const enum kw_heat_region region =
            region_of(measure, low_rpm, high_rpm);
        const struct kw_measure *known = heat.clear[region];
        if (known == NULL || measure->p < known->p)
            heat.clear[region] = measure;
    }
    for (int region = KW_HEAT_TOP; region >= KW_HEAT_LOW; region--) {
        const struct kw_measure *clear = heat.clear[region];
        if (clear == NULL)
            continue;
        heat.first = heat.first == NULL ? clear : heat.first;
        heat.hotter += clear->verdict == KW_ROSE ? 1U : 0U;
        heat.cooler += clear->verdict == KW_FELL ? 1U : 0U;
    }
    return heat;
}

/* A single band says nothing of the others. */
bool kw_is_all_one_way(const struct kw_heat_change *heat)
{
    return heat->n_bands > 1 && heat->n_clear_bands == heat->n_bands &&
           (heat->hotter == 0 || heat->cooler == 0);
}

/* In the order of enum kw_heat_region. */
const char *kw_heat_region_name(int region)
{
    static const char *const names[KW_N_HEAT_REGIONS] = {"low end", "mid range",
                                                         "top end"};
    return names[region];
}

/* Each by how well it is known: weights are one over the square of the
 * interval, which makes the mean of several the surest (inverse-variance
 * weighting, from memory). */
double kw_mean_heat_change_c(const struct kw_measures *measures)
{
    double sum = 0.0;
    double weight = 0.0;
    for (size_t i = 0; i < measures->n; i++) {
        const struct kw_measure *measure = &measures->items[i];
        const double half = 0.5 * (measure->high - measure->low);
        if (!is_heat(measure) || !(half > 0.0))
            continue;
        sum += measure->difference / (half * half);
        weight += 1.0 / (half * half);
    }
    return weight > 0.0 ? sum / weight : NAN;
}
