/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The comparison in plain words, and what to do.
 *
 * Richer first when in doubt: a rich engine is slow, a lean one may seize. */
#include "compare/advise.h"

#include "compare/heat_change.h"
#include "core/text.h"

#include <math.h>
#include <string.h>

/* EGT against mixture on the rich side of the hottest one (common practice, no
 * source). */
static const double C_PER_PERCENT = 10.0;

/* Percent of mixture that nobody can set a jet by: from a bore of 1.42 mm to
 * one of 1.43 mm it is 1.4 % of area. */
static const double NEXT_TO_NOTHING = 0.5;

/* Of each side: fewer have no scatter to judge by. */
enum { FEWEST_LAPS = 3 };

/* In the order of enum kw_heat_region. */
static const char *const region_names[KW_N_HEAT_REGIONS] = {
    "low end", "mid range", "top end"};
static const char *const region_parts[KW_N_HEAT_REGIONS] = {
    "the pilot jet or low-speed screw", "the needle",
    "the main jet or high-speed screw"};

/* Heat of another track, gearing or probe tells nothing about the jet: the air
 * is told, the rest is not. */
static void share_air(struct kw_comparison *comparison,
                      const struct kw_differences *found)
{
    const bool apart = found->track || found->probe || found->gearing;
    struct kw_air_share *air = &comparison->air;
    const double then = comparison->sides[KW_BEFORE].air_density_kg_m3;
    const double now = comparison->sides[KW_AFTER].air_density_kg_m3;
    air->air_percent = kw_mixture_change_percent(then, now);
    air->seen_percent =
        apart ? NAN
              : -kw_mean_heat_change_c(&comparison->measures) / C_PER_PERCENT;
    air->left_percent = air->seen_percent - air->air_percent;
}

/* ---- words ------------------------------------------------------------------
 */

/* Small numbers keep a decimal, or they would read 0. */
static void add_amount(struct kw_text *text, double value, int decimals)
{
    const double size = fabs(value);
    kw_text_add_number(text, size, size < 2.0 && decimals == 0 ? 1 : decimals);
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
        kw_text_addf(text, " %s", measure->unit);
    kw_text_addf(text, " %s (", rose ? more : less);
    add_amount(text, near, decimals);
    kw_text_add(text, " to ");
    add_amount(text, far, decimals);
    kw_text_add(text, ")");
}

/* Small shares keep a decimal: 0.4 % is not "0 %". */
static void add_percent(struct kw_text *text, double percent)
{
    kw_text_add_number(text, fabs(percent), fabs(percent) < 1.5 ? 1 : 0);
    kw_text_addf(text, " %% %s", percent > 0.0 ? "richer" : "leaner");
}

/* Every region that has a band went the same way. */
static bool is_all_one_way(const struct kw_heat_change *heat)
{
    return heat->n_bands > 1 && heat->n_clear_bands == heat->n_bands &&
           (heat->hotter == 0 || heat->cooler == 0);
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
            kw_text_addf(text, ", %s ", region_names[region]);
        }
        add_change(text, clear, 0, "hotter", "cooler");
        if (first && !probe_differs) {
            kw_text_add(text, ", about ");
            add_percent(text, -clear->difference / C_PER_PERCENT);
        }
        first = false;
        if (is_all_one_way(heat)) {
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
    kw_text_addf(text, " (%zu against %zu laps). ",
                 comparison->sides[KW_AFTER].n_used,
                 comparison->sides[KW_BEFORE].n_used);
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
        kw_text_add_number(text, other->rpm_from, 0);
        kw_text_add(text, " to ");
        kw_text_add_number(text, other->rpm_to, 0);
        kw_text_add(text, " rpm)");
    }
    kw_text_add(text, ": ");
    add_change(text, other, strcmp(other->unit, "s") == 0 ? 2 : 0, "more",
               "less");
    kw_text_add(text, ". ");
}

/* Thick air carries more oxygen through the same jet: leaner. What the air
 * explains is taken off before the jet is blamed. */
static void add_air(struct kw_text *text, const struct kw_air_share *air)
{
    if (isnan(air->air_percent))
        return;
    if (fabs(air->air_percent) < 0.1)
        kw_text_add(text, "The air was as thick on both days. ");
    else {
        kw_text_add(text, "The air alone makes the mixture ");
        add_percent(text, air->air_percent);
        if (fabs(air->left_percent) < NEXT_TO_NOTHING) {
            kw_text_add(text, ", which explains the whole change");
        } else if (!isnan(air->left_percent)) {
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

/* EGT on both sides, if only the mean of the lap. */
static bool has_egt(const struct kw_comparison *comparison)
{
    return kw_measure_named(comparison, "egt_mean_c", NAN) != NULL;
}

/* What speaks against the comparison comes first: nobody reads on behind a
 * number that pleases. */
static void write_summary(struct kw_text *text,
                          const struct kw_comparison *comparison,
                          const struct kw_heat_change *heat,
                          const struct kw_differences *found)
{
    const size_t n_before = comparison->sides[KW_BEFORE].n_used;
    const size_t n_after = comparison->sides[KW_AFTER].n_used;
    const char *first = doubt(found);
    if (first != NULL)
        kw_text_add(text, first);
    if (n_before < FEWEST_LAPS || n_after < FEWEST_LAPS) {
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
    else if (has_egt(comparison))
        kw_text_add(text, "EGT under load cannot be compared: the two sides "
                          "pull at no RPM in common");
    else
        kw_text_add(text, "No EGT to compare");
    add_lap_time(text, comparison);
    add_other(text, other_change(&comparison->measures));
    add_air(text, &comparison->air);
    if (first == NULL)
        kw_text_add(text, decide(heat, comparison));
    else
        end_after_sentence(text);
}

/* ---- what to do -------------------------------------------------------------
 */

/* Hotter regions before cooler ones: the former may cost a piston. */
static void add_region_advice(struct kw_text *text,
                              const struct kw_heat_change *heat)
{
    if (is_all_one_way(heat)) {
        kw_text_add(text,
                    heat->hotter > 0
                        ? "It runs hotter over the whole RPM range, "
                          "which mostly means leaner: enrich it, the "
                          "main jet or high-speed screw first, one "
                          "step, and look again. "
                        : "It runs cooler over the whole RPM range, "
                          "which mostly means richer: keep it, and go "
                          "leaner only if plug and lap time ask for it. ");
        return;
    }
    for (int region = KW_HEAT_TOP; region >= KW_HEAT_LOW; region--) {
        const struct kw_measure *clear = heat->clear[region];
        if (clear == NULL || clear->verdict != KW_ROSE)
            continue;
        kw_text_addf(text,
                     "The %s runs hotter, which mostly means leaner: enrich it "
                     "by %s, one step, and look again. ",
                     region_names[region], region_parts[region]);
    }
    for (int region = KW_HEAT_TOP; region >= KW_HEAT_LOW; region--) {
        const struct kw_measure *clear = heat->clear[region];
        if (clear == NULL || clear->verdict != KW_FELL)
            continue;
        kw_text_addf(text,
                     "The %s runs cooler, which mostly means richer: keep it, "
                     "and go leaner by %s only if plug and lap time ask for "
                     "it. ",
                     region_names[region], region_parts[region]);
    }
}

/* The owner's own limit goes before all comparisons. */
static void add_limit_advice(struct kw_text *text,
                             const struct kw_comparison *comparison)
{
    const struct kw_measure *over =
        kw_measure_named(comparison, "over_limit_s", NAN);
    if (over == NULL || !(over->mean[KW_AFTER] > 0.0))
        return;
    kw_text_add(text, "EGT passes your own limit for ");
    kw_text_add_number(text, over->mean[KW_AFTER], 1);
    kw_text_add(text, " s on a lap after the change: enrich before the engine "
                      "runs again. ");
}

/* From what is wrong with the comparison to what to turn; the plug is the last
 * word. */
static void write_suggestion(struct kw_text *text,
                             const struct kw_comparison *comparison,
                             const struct kw_heat_change *heat,
                             const struct kw_differences *found)
{
    const bool few = comparison->sides[KW_BEFORE].n_used < FEWEST_LAPS ||
                     comparison->sides[KW_AFTER].n_used < FEWEST_LAPS;
    const bool apart =
        found->order || found->track || found->probe || found->gearing;
    if (found->order)
        kw_text_add(text, "Swap the two sides and compare again. ");
    else if (apart)
        kw_text_add(text,
                    "Compare again with logs that differ by the one change "
                    "only: same track, gearing and probe. ");
    add_limit_advice(text, comparison);
    if (few)
        kw_text_add(text, "Drive at least 3 clean laps after a warm-up lap or "
                          "two, 6 on each side if you can. ");
    else if (heat->first != NULL && !apart)
        add_region_advice(text, heat);
    else if (heat->lead != NULL && !apart)
        kw_text_add(text, "These laps do not show that the change did "
                          "anything. More laps show smaller changes: half the "
                          "size takes four times the laps. ");
    if (has_egt(comparison))
        kw_text_add(text,
                    "When in doubt, richer first. A mixture that is far too "
                    "lean runs cooler as well, so read the plug too (engine "
                    "off and cold, no fuel near heat or sparks). Jets and "
                    "screws by the maker's sheet and the class rules.");
    else
        kw_text_add(text, "Without EGT on both sides the mixture cannot be "
                          "judged: read the plug (engine off and cold).");
}

/* Read once, told twice: as a sentence and as work. */
enum kw_status kw_advise_change(struct kw_comparison *comparison,
                                const struct kw_differences *found,
                                struct kw_error *error)
{
    const struct kw_heat_change heat =
        kw_read_heat_change(&comparison->measures);
    struct kw_text summary = {0};
    struct kw_text suggestion = {0};
    share_air(comparison, found);
    write_summary(&summary, comparison, &heat, found);
    write_suggestion(&suggestion, comparison, &heat, found);
    comparison->summary = kw_text_take(&summary, error);
    comparison->suggestion = kw_text_take(&suggestion, error);
    kw_text_free(&summary);
    kw_text_free(&suggestion);
    return comparison->summary == NULL || comparison->suggestion == NULL
               ? KW_NO_MEMORY
               : KW_OK;
}
