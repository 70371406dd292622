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

/* ---- words --------------------------------------------------------------- */

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
    const bool is_rpm = strncmp(measure->unit, "rpm", 3) == 0;
    add_amount(text, measure->difference, decimals);
    if (measure->unit[0] != '\0')
        kw_text_addf(text, " %s%s", is_rpm ? "RPM" : "",
                     is_rpm ? measure->unit + 3 : measure->unit);
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
static void add_heat(struct kw_text *text, const struct kw_heat_change *heat)
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
        if (first) {
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

/* The sentence about lap time and laps.
 *
 * begins  no heat was told before it. */
static void add_lap_time(struct kw_text *text,
                         const struct kw_comparison *comparison,
                         bool begins)
{
    const struct kw_measure *time =
        kw_measure_named(comparison, "lap_time_s", NAN);
    const char *gap = begins ? "" : "; ";
    if (time != NULL && kw_is_clear_change(time)) {
        kw_text_addf(text, "%s lap takes ", begins ? "A" : "; a");
        add_change(text, time, 2, "more", "less");
    } else if (time != NULL && time->verdict == KW_NO_CLEAR_CHANGE) {
        kw_text_addf(text, "%s%so clear change in lap time", gap,
                     begins ? "N" : "n");
        if (isfinite(time->smallest)) {
            kw_text_add(text, " (");
            kw_text_add_number(text, ceil(10.0 * time->smallest) / 10.0, 1);
            kw_text_add(text, " s would have shown)");
        }
    }
    /* In the order in which the logs were named. */
    kw_text_addf(text, "%sLaps compared: %zu before, %zu after. ",
                 begins && time == NULL ? "" : ". ",
                 comparison->sides[KW_BEFORE].n_used,
                 comparison->sides[KW_AFTER].n_used);
}

/* ---- the other changes --------------------------------------------------- */

/* What a change beside heat and lap time is about: one sentence for each. */
enum topic { OF_ENGINE, OF_CLUTCH, OF_LIMIT, OF_PEAK, OF_NOTHING };

static enum topic topic_of(const struct kw_measure *measure)
{
    if (strncmp(measure->name, "rpm_", 4) == 0)
        return OF_ENGINE;
    if (strncmp(measure->name, "clutch_", 7) == 0)
        return OF_CLUTCH;
    if (strcmp(measure->name, "egt_peak_c") == 0)
        return OF_PEAK;
    return strcmp(measure->name, "over_limit_s") == 0 ? OF_LIMIT : OF_NOTHING;
}

/* The clear change of a topic with the smallest p. How long a start takes is
 * felt on the track; the RPM held in it is not, and gives way. */
static const struct kw_measure *change_of(const struct kw_measures *measures,
                                          enum topic topic)
{
    const struct kw_measure *best = NULL;
    for (size_t i = 0; i < measures->n; i++) {
        const struct kw_measure *measure = &measures->items[i];
        if (!kw_is_clear_change(measure) || topic_of(measure) != topic)
            continue;
        if (strcmp(measure->name, "clutch_engagement_s") == 0)
            return measure;
        if (best == NULL || measure->p < best->p)
            best = measure;
    }
    return best;
}

/* Words for a measure beside heat and lap time. */
static const char *plain_name(const struct kw_measure *measure)
{
    static const char *const names[][2] = {
        {"egt_peak_c", "The highest EGT of a lap"},
        {"rpm_max", "The highest RPM of a lap"},
        {"rpm_min", "The lowest RPM of a lap"},
        {"rpm_gain_rpm_s", "Pull"},
        {"over_limit_s", "Time over the EGT limit on a lap"},
        {"clutch_engagement_s", "A start through the clutch"},
        {"clutch_hold_rpm", "The RPM that the clutch holds at a start"}};
    for (size_t i = 0; i < sizeof names / sizeof names[0]; i++) {
        if (strcmp(names[i][0], measure->name) == 0)
            return names[i][1];
    }
    return measure->name;
}

/* "Pull (11,000 to 12,000 RPM): 75 RPM/s less (48 to 103), 11 %." The surest of
 * its topic: a list of five is a table, and that stands below. */
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
    if (!isnan(other->rpm_from) && other->mean[KW_BEFORE] > 0.0) {
        kw_text_add(text, ", ");
        kw_text_add_whole(
            text, fabs(100.0 * other->difference / other->mean[KW_BEFORE]));
        kw_text_add(text, " %");
    }
    kw_text_add(text, ". ");
}

/* What is ill comes in laps, not in means: "Drop-outs: on 5 of 9 laps before,
 * on none of 10 after." Told whatever the test says, which few laps seldom
 * pass. */
static void add_ills(struct kw_text *text,
                     const struct kw_comparison *comparison,
                     const char *name,
                     const char *words)
{
    const struct kw_measure *measure = kw_measure_named(comparison, name, NAN);
    const size_t ill[KW_N_SIDES] = {
        kw_count_ill_laps(comparison, name, KW_BEFORE),
        kw_count_ill_laps(comparison, name, KW_AFTER)};
    if (measure == NULL || ill[KW_BEFORE] + ill[KW_AFTER] == 0)
        return;
    kw_text_add(text, words);
    for (int side = 0; side < KW_N_SIDES; side++) {
        kw_text_add(text, side == KW_BEFORE ? ": on " : ", on ");
        if (ill[side] > 0)
            kw_text_addf(text, "%zu", ill[side]);
        else
            kw_text_add(text, "none");
        kw_text_addf(text, " of %zu laps %s", measure->n[side],
                     side == KW_BEFORE ? "before" : "after");
    }
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

/* ---- the decision -------------------------------------------------------- */

/* Two sides that cannot be compared at all; NULL where they can. */
static const char *hopeless(const struct kw_differences *found)
{
    if (found->same)
        return "The same log stands on both sides, so this can show no change: "
               "name the log of the other session.";
    if (found->idle[KW_AFTER])
        return "The kart was not driven after the change, the engine only "
               "idled: there is nothing to compare.";
    if (found->idle[KW_BEFORE])
        return "The kart was not driven before the change, the engine only "
               "idled: there is nothing to compare.";
    if (found->kart)
        return "These look like two different karts or engines: do not decide "
               "on "
               "this.";
    return NULL;
}

/* What speaks against deciding on this comparison. */
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
        return "The gearing or the tyres seem to differ, and that alone moves "
               "heat and RPM: do not decide on the mixture by this. ";
    return NULL;
}

/* In equal air the other way than the heat went: the weather hid the jet. */
static const char *decide_by_air(const struct kw_heat_change *heat,
                                 const struct kw_air_share *air)
{
    if (isnan(air->left_percent) || heat->hotter + heat->cooler == 0)
        return NULL;
    if (kw_air_hides_leaner(heat, air))
        return "It runs cooler only because of the air: in equal air the "
               "change made it leaner. Safe side: richer before a day with "
               "thicker air.";
    if (heat->cooler == 0 && air->left_percent > NEXT_TO_NOTHING)
        return "It runs hotter only because of the air: in equal air the "
               "change made it richer. Safe side: richer still before the "
               "next run.";
    return NULL;
}

/* Every branch ends on the safe side: a rich engine is slow, a lean one
 * seizes. */
static const char *decide(const struct kw_heat_change *heat,
                          const struct kw_comparison *comparison)
{
    const struct kw_measure *time =
        kw_measure_named(comparison, "lap_time_s", NAN);
    const char *by_air = decide_by_air(heat, &comparison->air);
    if (by_air != NULL)
        return by_air;
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
    return "If a jet or a screw was changed, the safe side is the richer of "
           "the two.";
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

bool kw_air_hides_leaner(const struct kw_heat_change *heat,
                         const struct kw_air_share *air)
{
    return heat->cooler > 0 && heat->hotter == 0 &&
           air->left_percent < -NEXT_TO_NOTHING;
}

bool kw_is_hopeless(const struct kw_differences *found)
{
    return hopeless(found) != NULL;
}

size_t kw_count_ill_laps(const struct kw_comparison *comparison,
                         const char *name,
                         int side)
{
    const struct kw_measure *measure = kw_measure_named(comparison, name, NAN);
    size_t n = 0;
    for (size_t i = 0; measure != NULL && i < measure->n[side]; i++)
        n += measure->values[side][i] > 0.0 ? 1U : 0U;
    return n;
}

/* The part about heat, up to the lap time; returns false where it says nothing.
 */
static bool add_heat_part(struct kw_text *text,
                          const struct kw_comparison *comparison,
                          const struct kw_heat_change *heat,
                          const struct kw_differences *found)
{
    if (found->gearing)
        return false;
    if (heat->lead != NULL && found->probe)
        kw_text_add(text, "EGT cannot be compared");
    else if (heat->first != NULL)
        add_heat(text, heat);
    else if (heat->lead != NULL)
        add_no_heat(text, heat->lead);
    else if (kw_has_egt(comparison))
        kw_text_add(text, "EGT under load cannot be compared: the two sides "
                          "pull at no RPM in common");
    else
        kw_text_add(text, "No EGT to compare");
    return true;
}

/* What the laps tell, as far as the two sides allow. */
static void add_findings(struct kw_text *text,
                         const struct kw_comparison *comparison,
                         const struct kw_heat_change *heat,
                         const struct kw_differences *found)
{
    add_ills(text, comparison, "dropouts_per_lap", "Drop-outs");
    add_ills(text, comparison, "lean_seconds_per_lap", "Lean for a while");
    const bool told = add_heat_part(text, comparison, heat, found);
    add_lap_time(text, comparison, !told);
    if (told && !found->probe && heat->first == NULL)
        add_other(text, change_of(&comparison->measures, OF_PEAK));
    for (int topic = OF_ENGINE; topic < OF_PEAK; topic++) {
        if (topic != OF_ENGINE || !found->gearing)
            add_other(text,
                      change_of(&comparison->measures, (enum topic)topic));
    }
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
    if (kw_is_hopeless(found)) {
        kw_text_add(text, hopeless(found));
        return;
    }
    if (first != NULL)
        kw_text_add(text, first);
    if (n_before < KW_FEWEST_LAPS || n_after < KW_FEWEST_LAPS) {
        kw_text_addf(text,
                     "Can't tell from this few laps: %zu that count before, "
                     "%zu after, and each side needs 3 at least. ",
                     n_before, n_after);
        kw_text_add(text, "If a jet or a screw was changed, the safe side is "
                          "the richer of the two.");
        return;
    }
    if (!found->track)
        add_findings(text, comparison, heat, found);
    add_air(text, &comparison->air, heat->first != NULL);
    if (heat->first != NULL && found->logger && first == NULL)
        kw_text_add(text, "The two sides were logged at other rates: if it is "
                          "another logger, it may read the same heat some "
                          "degrees off. ");
    if (heat->first != NULL && found->doubtful)
        kw_text_add(text, "First make sure that it is the same EGT probe, in "
                          "the same place and clean: else its heat says "
                          "nothing. ");
    if (first == NULL)
        kw_text_add(text, decide(heat, comparison));
    else
        end_after_sentence(text);
}
