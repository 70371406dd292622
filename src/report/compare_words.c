/* SPDX-License-Identifier: GPL-3.0-or-later */
/* How the report of a comparison names and rounds things.
 *
 * In one place, so that terminal, page and plots call a measure alike and round
 * it alike. */
#include "report/compare_words.h"

#include "report/words.h"

#include <math.h>
#include <string.h>

/* As many as a reading carries: a tenth of a degree, a hundredth of a second,
 * whole revolutions. */
int kw_measure_decimals(const struct kw_measure *measure)
{
    if (strcmp(measure->unit, "C") == 0)
        return 1;
    if (strcmp(measure->unit, "s") == 0)
        return 2;
    return measure->unit[0] == '\0' ? 2 : 0;
}

void kw_add_measured(struct kw_text *text,
                     const struct kw_measure *measure,
                     double value)
{
    const int decimals = kw_measure_decimals(measure);
    if (decimals == 0)
        kw_text_add_whole(text, value);
    else
        kw_text_add_number(text, value, decimals);
}

void kw_add_compared_logs(struct kw_text *text,
                          const struct kw_comparison_source *source)
{
    for (int side = 0; side < KW_N_SIDES; side++) {
        const struct kw_compare_sessions *sessions = source->sessions[side];
        kw_text_add(text, side == KW_BEFORE ? "" : " and ");
        kw_text_add(text, kw_file_name_of(sessions->reviews[0].log.path));
        if (sessions->n > 1)
            kw_text_addf(text, " (and %zu more)", sessions->n - 1);
    }
}

const char kw_measures_note[] =
    "EGT in a range of RPM is under load, with the probe's lag taken out: it "
    "may be above the highest reading of the lap.";

/* The names of the contract and what a person calls them. The first are never
 * changed, since scripts read them. */
static const char *const titles[][2] = {
    {"egt_c", "EGT"},
    {"egt_peak_c", "EGT, highest of the lap"},
    {"egt_mean_c", "EGT, mean of the lap"},
    {"over_limit_s", "time over the EGT limit"},
    {"lean_seconds_per_lap", "lean seconds on a lap"},
    {"lap_time_s", "lap time"},
    {"rpm_max", "highest of the lap"},
    {"rpm_min", "lowest of the lap"},
    {"rpm_gain_rpm_s", "pull"},
    {"dropouts_per_lap", "drop-outs on a lap"},
    {"clutch_engagement_s", "start through the clutch"},
    {"clutch_hold_rpm", "held at the start"}};

/* "rpm" in a file is "RPM" to a person, as everywhere. */
static void add_unit(struct kw_text *text, const char *unit)
{
    const bool is_rpm = strncmp(unit, "rpm", 3) == 0;
    if (unit[0] != '\0')
        kw_text_addf(text, ", %s%s", is_rpm ? "RPM" : "",
                     is_rpm ? unit + 3 : unit);
}

/* A measure of a band says which RPM it is about. A name that is not in the
 * table is shown as it is: better than nothing. */
void kw_add_measure_title(struct kw_text *text,
                          const struct kw_measure *measure)
{
    const char *title = measure->name;
    for (size_t i = 0; i < sizeof titles / sizeof titles[0]; i++) {
        if (strcmp(titles[i][0], measure->name) == 0)
            title = titles[i][1];
    }
    kw_text_add(text, title);
    if (!isnan(measure->rpm_from)) {
        kw_text_add(text, ", ");
        kw_text_add_whole(text, measure->rpm_from);
        kw_text_add(text, " to ");
        kw_text_add_whole(text, measure->rpm_to);
        kw_text_add(text, " RPM");
    }
    add_unit(text, measure->unit);
}

/* Completes "EGT, 12,000 to 13,000 RPM: ...". */
const char *kw_say_change(enum kw_change change)
{
    static const char *const words[] = {[KW_NO_CLEAR_CHANGE] =
                                            "no clear change",
                                        [KW_ROSE] = "rose",
                                        [KW_FELL] = "fell",
                                        [KW_TOO_FEW_LAPS] = "too few laps"};
    const size_t n = sizeof words / sizeof words[0];
    return (size_t)change < n ? words[change] : "";
}

/* "lap 3" is one lap only while there is one log. */
static bool has_many_logs(const struct kw_compare_side *side)
{
    for (size_t i = 0; i < side->n_laps; i++) {
        if (side->laps[i].log > 0)
            return true;
    }
    return false;
}

/* All laps left out for one reason, "laps 2 and 4 (still warming up)"; nothing
 * where there is none. */
static void add_reason(struct kw_text *text,
                       const struct kw_compare_side *side,
                       enum kw_lap_use use,
                       bool *first)
{
    const bool many = has_many_logs(side);
    size_t n = 0;
    for (size_t i = 0; i < side->n_laps; i++)
        n += side->laps[i].use == use ? 1U : 0U;
    if (n == 0)
        return;
    kw_text_addf(text, "%s lap%s", *first ? ":" : ",", n > 1 ? "s" : "");
    *first = false;
    size_t told = 0;
    for (size_t i = 0; i < side->n_laps; i++) {
        const struct kw_compared_lap *lap = &side->laps[i];
        if (lap->use != use)
            continue;
        kw_text_addf(text, "%s %zu",
                     told == 0       ? ""
                     : told + 1 == n ? " and"
                                     : ",",
                     lap->number);
        told++;
        if (many)
            kw_text_addf(text, " of log %zu", lap->log + 1);
    }
    kw_text_addf(text, " (%s)", kw_lap_use_words(use));
}

/* The count first, then each reason once, behind its laps. */
void kw_add_laps_used(struct kw_text *text, const struct kw_compare_side *side)
{
    bool first = true;
    kw_text_addf(text, "%zu lap%s used, %zu left out", side->n_used,
                 side->n_used == 1 ? "" : "s", side->n_left_out);
    for (int use = KW_LAP_USED + 1; use < KW_N_LAP_USES; use++)
        add_reason(text, side, (enum kw_lap_use)use, &first);
}
