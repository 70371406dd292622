/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What to do about a comparison.
 *
 * Richer first when in doubt: a rich engine is slow, a lean one may seize. */
#include "compare/advise.h"

#include "compare/heat_change.h"
#include "compare/summary.h"
#include "core/text.h"

#include <math.h>
#include <string.h>

/* In the order of enum kw_heat_region. */
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
    air->seen_percent = apart ? NAN
                              : -kw_mean_heat_change_c(&comparison->measures) /
                                    KW_EGT_C_PER_PERCENT;
    air->left_percent = air->seen_percent - air->air_percent;
}

/* Hotter regions before cooler ones: the former may cost a piston. */
static void add_region_advice(struct kw_text *text,
                              const struct kw_heat_change *heat,
                              const struct kw_air_share *air)
{
    if (kw_air_hides_leaner(heat, air)) {
        kw_text_add(text,
                    "It runs cooler because the air is thinner. Do not go "
                    "leaner, and go richer before a day that is colder "
                    "or has more pressure. ");
        return;
    }
    if (kw_is_all_one_way(heat)) {
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
                     kw_heat_region_name(region), region_parts[region]);
    }
    for (int region = KW_HEAT_TOP; region >= KW_HEAT_LOW; region--) {
        const struct kw_measure *clear = heat->clear[region];
        if (clear == NULL || clear->verdict != KW_FELL)
            continue;
        kw_text_addf(text,
                     "The %s runs cooler, which mostly means richer: keep it, "
                     "and go leaner by %s only if plug and lap time ask for "
                     "it. ",
                     kw_heat_region_name(region), region_parts[region]);
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

/* What was ill and is not any more may be mended, or may not have come yet.
 *
 * returns  whether there is anything to tell. */
static bool add_ills_advice(struct kw_text *text,
                            const struct kw_comparison *comparison)
{
    static const struct {
        const char *name;
        const char *still;
        const char *gone;
    } ills[] = {
        {"dropouts_per_lap",
         "There are drop-outs after the change: read the review of that "
         "log before the next run. ",
         "No drop-out is left after the change. "},
        {"lean_seconds_per_lap",
         "It ran lean for a while after the change: richer before the "
         "next run, and read the review of that log. ",
         "No lean lap is left after the change. "}};
    bool any = false;
    bool gone = false;
    for (size_t i = 0; i < sizeof ills / sizeof ills[0]; i++) {
        const size_t after =
            kw_count_ill_laps(comparison, ills[i].name, KW_AFTER);
        const bool ended =
            after == 0 &&
            kw_count_ill_laps(comparison, ills[i].name, KW_BEFORE) > 0;
        if (after > 0 || ended)
            kw_text_add(text, ended ? ills[i].gone : ills[i].still);
        any = any || after > 0;
        gone = gone || ended;
    }
    if (gone)
        kw_text_add(text, "A mended fault looks like that: look at the next "
                          "session too before you trust it. ");
    return any || gone;
}

/* Any measure by that name, in whatever band, that went this way. */
static bool went(const struct kw_comparison *comparison,
                 const char *name,
                 enum kw_change way)
{
    for (size_t i = 0; i < comparison->measures.n; i++) {
        const struct kw_measure *measure = &comparison->measures.items[i];
        if (measure->verdict == way && strcmp(measure->name, name) == 0)
            return true;
    }
    return false;
}

/* What a clear change beside EGT in the bands asks for; false where there is
 * none. A change without words stands in the table. */
static bool add_other_advice(struct kw_text *text,
                             const struct kw_comparison *comparison)
{
    /* They say it better, and where. */
    const bool bands = went(comparison, "egt_c", KW_ROSE) ||
                       went(comparison, "egt_c", KW_FELL);
    static const struct {
        const char *name;
        enum kw_change way;
        const char *words;
    } others[] = {
        {"egt_peak_c", KW_ROSE,
         "The highest EGT of a lap rose: richer first when in doubt, and watch "
         "it in the next session. "},
        {"rpm_gain_rpm_s", KW_FELL,
         "The engine pulls less. Look at what was changed, then whether the "
         "brake drags, the chain runs free, and air filter and exhaust are "
         "clear (engine off and cold). Wind and tyres do it too. "},
        {"rpm_gain_rpm_s", KW_ROSE,
         "The engine pulls better: keep it if the next session shows it "
         "again. Wind and tyres do it too. "},
        {"clutch_engagement_s", KW_ROSE,
         "Starts through the clutch take longer: look at lining and drum for "
         "wear, glaze and chain lubricant (engine off and cold). "},
        {"clutch_engagement_s", KW_FELL,
         "Starts through the clutch are over sooner. "},
        {"lap_time_s", KW_ROSE,
         "Laps are slower: driver, tyres and track do that as well as a "
         "part. "},
        {"lap_time_s", KW_FELL,
         "Laps are quicker: driver, tyres and track do that as well as a "
         "part. "}};
    for (size_t i = 0; i < sizeof others / sizeof others[0]; i++) {
        const enum kw_change back =
            others[i].way == KW_ROSE ? KW_FELL : KW_ROSE;
        /* More in one band and less in another is no better and no worse. */
        if (went(comparison, others[i].name, others[i].way) &&
            !went(comparison, others[i].name, back) &&
            !(bands && strcmp(others[i].name, "egt_peak_c") == 0))
            kw_text_add(text, others[i].words);
    }
    for (size_t i = 0; i < comparison->measures.n; i++) {
        if (kw_is_clear_change(&comparison->measures.items[i]))
            return true;
    }
    return false;
}

static const char how_many_laps[] =
    "Drive at least 3 clean laps after a warm-up lap or two, 6 on each side if "
    "you can. ";

/* Where nothing can be compared: which logs to take instead. */
static void add_way_out(struct kw_text *text,
                        const struct kw_differences *found)
{
    if (found->same)
        kw_text_add(text, "Name the log from before the change with --before "
                          "and the one from behind it with --after.");
    else if (found->kart)
        kw_text_add(text, "Compare logs of one kart on one track that differ "
                          "by the one change only.");
    else
        kw_text_addf(text, "%sThen compare again.", how_many_laps);
}

/* What speaks against the comparison, as work. */
static void add_doubts(struct kw_text *text, const struct kw_differences *found)
{
    if (found->order)
        kw_text_add(text, "Swap the two sides and compare again. ");
    else if (found->gearing && !found->track && !found->probe)
        kw_text_add(text, "If the gearing is what you changed, judge it by lap "
                          "time. For all else compare logs with the same "
                          "gearing and tyres. ");
    else if (found->track || found->probe)
        kw_text_add(text, "Compare again with logs that differ by the one "
                          "change only: same track, gearing and probe. ");
}

/* From what is wrong with the comparison to what to turn; the plug is the last
 * word. */
static void write_suggestion(struct kw_text *text,
                             const struct kw_comparison *comparison,
                             const struct kw_heat_change *heat,
                             const struct kw_differences *found)
{
    const bool few = comparison->sides[KW_BEFORE].n_used < KW_FEWEST_LAPS ||
                     comparison->sides[KW_AFTER].n_used < KW_FEWEST_LAPS;
    const bool apart =
        found->order || found->track || found->probe || found->gearing;
    if (kw_is_hopeless(found)) {
        add_way_out(text, found);
        return;
    }
    add_doubts(text, found);
    add_limit_advice(text, comparison);
    bool told = add_ills_advice(text, comparison) || heat->first != NULL;
    if (few)
        kw_text_add(text, how_many_laps);
    else if (heat->first != NULL && !apart) {
        if (found->doubtful)
            kw_text_add(text, "Before you turn anything, make sure that the "
                              "EGT probe is the same one, in the same place "
                              "and clean. ");
        add_region_advice(text, heat, &comparison->air);
    }
    if (!few && !apart)
        told = add_other_advice(text, comparison) || told;
    if (!few && !apart && !told && heat->lead != NULL)
        kw_text_add(text, "These laps cannot tell whether the change did "
                          "anything. More laps show smaller changes: half the "
                          "size takes four times the laps. ");
    if (kw_has_egt(comparison))
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
    kw_summarise_change(&summary, comparison, &heat, found);
    write_suggestion(&suggestion, comparison, &heat, found);
    comparison->summary = kw_text_take(&summary, error);
    comparison->suggestion = kw_text_take(&suggestion, error);
    kw_text_free(&summary);
    kw_text_free(&suggestion);
    return comparison->summary == NULL || comparison->suggestion == NULL
               ? KW_NO_MEMORY
               : KW_OK;
}
