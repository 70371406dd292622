/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The comparison as a sentence or two: heat, lap time, what else changed, the
 * air, and on which side of the doubt to stay.
 *
 * Richer first when in doubt: a rich engine is slow, a lean one may seize. */
#include "compare/summary.h"

#include <math.h>
#include <string.h>

/* Percent of mixture that nobody can set a jet by: from a bore of 1.42 mm to
 * one of 1.43 mm it is 1.4 % of area. */
static const double NEXT_TO_NOTHING = 0.5;

/* ---- words ------------------------------------------------------------------
 */

/* Small numbers keep a decimal, or they would read 0. */
static void add_amount(struct kw_text *text, double value, int decimals)
{
    const double size = fabs(value);
    if (decimals == 0 && size >= 2.0)
        kw_text_add_whole(text, size);
    else
        kw_text_add_number(text, size, decimals == 0 ? 1 : decimals);
}

/* "17 C cooler (13 to 21)" */
static void add_change(struct kw_text *text,
                       const struct kw_measure *measure,
                       int decimals,
                       const char *more,
                       const char *less)
{
    const bool rose = measure->difference > 0.0;
    const double near = rose ? measure->low : measure->high;
    const double far = rose ? measure->high : measure->low;
    add_amount(text, measure->difference, decimals);
    if (measure->unit[0] != '\0')
        kw_text_addf(text, " %s",
                     strcmp(measure->unit, "rpm") == 0 ? "RPM" : measure->unit);
    kw_text_addf(text, " %s (", rose ? more : less);
    add_amount(text, near, decimals);
    kw_text_add(text, " to ");
    add_amount(text, far, decimals);
    kw_text_add(text, ")");
}

/* Small shares keep a decimal: 0.4 % is not "0 %", and 1.4 % not "1 %". */
static void add_percent(struct kw_text *text, double percent)
{
    static const double small = 1.5;
    kw_text_add_number(text, fabs(percent), fabs(percent) < small ? 1 : 0);
    kw_text_addf(text, " %% %s", percent > 0.0 ? "richer" : "leaner");
}

/* "Top end is 17 C cooler (13 to 21), about 2 % richer, mid range 9 C cooler (6
 * to 12)" */
static void add_heat(struct kw_text *text,
                     const struct kw_heat_change *heat,
                     bool probe_differs)
{
    bool first = true;
    for (int region = KW_HEAT_TOP; region >= KW_HEAT_LOW; region--) {
        const struct kw_measure *clear = heat->clear[region];
        if (clear == NULL)
            continue;
        if (first) {
            kw_text_add(text, region == KW_HEAT_TOP      ? "Top end is "
                              : region == KW_HEAT_MIDDLE ? "Mid range is "
                                                         : "Low end is ");
        } else {
            kw_text_addf(text, ", %s ", kw_heat_region_name(region));
        }
        add_change(text, clear, 0, "hotter", "cooler");
        if (first && !probe_differs) {
            kw_text_add(text, ", about ");
            add_percent(text, -clear->difference / KW_EGT_C_PER_PERCENT);
        }
        first = false;
        if (kw_is_all_one_way(heat)) {
            kw_text_add(text, ", and so it is lower down");
            return;
        }
    }
}

/* What these laps could have shown and did not. */
static void add_no_heat(struct kw_text *text, const struct kw_measure *lead)
{
    kw_text_add(text, "No clear change in EGT under load");
    if (!isfinite(lead->smallest))
        return;
    kw_text_add(text, " (at the top end ");
    kw_text_add_number(text, ceil(lead->smallest), 0);
    kw_text_add(text, " C would have shown)");
}

/* The sentence about lap time and laps. */
static void add_lap_time(struct kw_text *text,
                         const struct kw_comparison *comparison)
{
    const struct kw_measure *time =
        kw_measure_named(comparison, "lap_time_s", NAN);
    if (time != NULL && kw_is_clear_change(time)) {
        kw_text_add(text, "; a lap takes ");
        add_change(text, time, 2, "more", "less");
    } else if (time != NULL && time->verdict == KW_NO_CLEAR_CHANGE) {
        kw_text_add(text, "; no clear change in lap time");
    }
    /* In the order in which the logs were named. */
    kw_text_addf(text, " (laps: %zu before, %zu after). ",
                 comparison->sides[KW_BEFORE].n_used,
                 comparison->sides[KW_AFTER].n_used);
}

/* The clear change with the smallest p beside heat and lap time. */
static const struct kw_measure *other_change(const struct kw_measures *measures)
{
    const struct kw_measure *best = NULL;
    for (size_t i = 0; i < measures->n; i++) {
        const struct kw_measure *measure = &measures->items[i];
        if (!kw_is_clear_change(measure) || measure->unit[0] == 'C' ||
            strcmp(measure->name, "lap_time_s") == 0)
            continue;
        if (best == NULL || measure->p < best->p)
            best = measure;
    }
    return best;
}

/* Words for a measure beside heat and lap time. */
static const char *plain_name(const struct kw_measure *measure)
{
    static const char *const names[][2] = {
        {"rpm_max", "The highest RPM of a lap"},
        {"rpm_min", "The lowest RPM of a lap"},
        {"rpm_gain_rpm_s", "RPM gained each second of a pull"},
        {"over_limit_s", "Time over the EGT limit on a lap"},
        {"lean_seconds_per_lap", "Lean seconds on a lap"},
        {"dropouts_per_lap", "Drop-outs on a lap"},
        {"clutch_engagement_s", "A start through the clutch"},
        {"clutch_hold_rpm", "The RPM that the clutch holds at a start"}};
    for (size_t i = 0; i < sizeof names / sizeof names[0]; i++) {
        if (strcmp(names[i][0], measure->name) == 0)
            return names[i][1];
    }
    return measure->name;
}

/* One change beside heat and lap time, the surest: a list of five is a table,
 * and that stands below. */
static void add_other(struct kw_text *text, const struct kw_measure *other)
{
    if (other == NULL)
        return;
    kw_text_addf(text, "%s", plain_name(other));
    if (!isnan(other->rpm_from)) {
        kw_text_add(text, " (");
        kw_text_add_whole(text, other->rpm_from);
        kw_text_add(text, " to ");
        kw_text_add_whole(text, other->rpm_to);
        kw_text_add(text, " RPM)");
    }
    kw_text_add(text, ": ");
    add_change(text, other, strcmp(other->unit, "s") == 0 ? 2 : 0, "more",
               "less");
    kw_text_add(text, ". ");
}

/* Thick air carries more oxygen through the same jet: leaner. What the air
 * explains is taken off before the jet is blamed, where heat changed at all. */
static void add_air(struct kw_text *text,
                    const struct kw_air_share *air,
                    bool heat_changed)
{
    if (isnan(air->air_percent))
        return;
    /* A difference that would read 0.0 or 0.1 %: no weather station is surer.
     */
    if (fabs(air->air_percent) < 0.1)
        kw_text_add(text, "The air was as thick on both days. ");
    else {
        kw_text_add(text, "The air alone makes the mixture ");
        add_percent(text, air->air_percent);
        if (heat_changed && fabs(air->left_percent) < NEXT_TO_NOTHING) {
            kw_text_add(text, ", which explains the whole change");
        } else if (heat_changed && !isnan(air->left_percent)) {
            kw_text_add(text, "; left for the jet: ");
            add_percent(text, air->left_percent);
        }
        kw_text_add(text, ". ");
    }
}

/* ---- the decision -----------------------------------------------------------
 */

/* What speaks against deciding on this comparison at all. */
static const char *doubt(const struct kw_differences *found)
{
    if (found->order)
        return "The logs seem to be in the wrong order: swap --before and "
               "--after. What follows is as they were given. ";
    if (found->track)
        return "The two sides seem to be two different tracks, or one of them "
               "wet: do not decide on this. ";
    if (found->probe)
        return "The EGT probe or its place seems to differ: do not decide on "
               "EGT. ";
    if (found->gearing)
        return "The gearing seems to differ, and that alone moves heat and "
               "RPM: do not decide on this. ";
    return NULL;
}

/* Every branch ends on the safe side: a rich engine is slow, a lean one
 * seizes. */
static const char *decide(const struct kw_heat_change *heat,
                          const struct kw_comparison *comparison)
{
    const struct kw_measure *time =
        kw_measure_named(comparison, "lap_time_s", NAN);
    if (heat->hotter > 0 && heat->cooler > 0)
        return "Hotter in one place and cooler in another: enrich where it is "
               "hotter before the next run.";
    if (heat->hotter > 0)
        return "Safe side: go back, or richer, before the next run.";
    if (heat->cooler > 0)
        return time != NULL && time->verdict == KW_ROSE
                   ? "Safe side: keep, or half a step back."
                   : "Safe side: keep.";
    if (heat->lead == NULL)
        return "Nothing here tells about the mixture.";
    return "Safe side: keep the richer of the two.";
}

/* Each sentence leaves a space for the next one. */
static void end_after_sentence(struct kw_text *text)
{
    if (text->length > 0 && text->bytes[text->length - 1] == ' ')
        text->bytes[--text->length] = '\0';
}

bool kw_has_egt(const struct kw_comparison *comparison)
{
    return kw_measure_named(comparison, "egt_mean_c", NAN) != NULL;
}

/* What speaks against the comparison comes first: nobody reads on behind a
 * number that pleases. */
void kw_summarise_change(struct kw_text *text,
                         const struct kw_comparison *comparison,
                         const struct kw_heat_change *heat,
                         const struct kw_differences *found)
{
    const size_t n_before = comparison->sides[KW_BEFORE].n_used;
    const size_t n_after = comparison->sides[KW_AFTER].n_used;
    const char *first = doubt(found);
    if (first != NULL)
        kw_text_add(text, first);
    if (n_before < KW_FEWEST_LAPS || n_after < KW_FEWEST_LAPS) {
        kw_text_addf(text,
                     "Can't tell from this few laps: %zu that count before, "
                     "%zu after, and each side needs 3 at least. ",
                     n_before, n_after);
        kw_text_add(text, "Safe side: the richer of the two.");
        return;
    }
    if (heat->first != NULL)
        add_heat(text, heat, found->probe);
    else if (heat->lead != NULL && found->probe)
        kw_text_add(text, "EGT cannot be compared");
    else if (heat->lead != NULL)
        add_no_heat(text, heat->lead);
    else if (kw_has_egt(comparison))
        kw_text_add(text, "EGT under load cannot be compared: the two sides "
                          "pull at no RPM in common");
    else
        kw_text_add(text, "No EGT to compare");
    add_lap_time(text, comparison);
    add_other(text, other_change(&comparison->measures));
    add_air(text, &comparison->air, heat->first != NULL);
    if (first == NULL)
        kw_text_add(text, decide(heat, comparison));
    else
        end_after_sentence(text);
}
