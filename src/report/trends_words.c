/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Trends of the logbook in words.
 *
 * A trend is said with its p and never as a verdict on a part: hours pass for
 * everything on the kart at once. */
#include "report/trends_words.h"

#include "core/local_time.h"
#include "report/words.h"

#include <math.h>
#include <string.h>

void kw_add_trend_value(struct kw_text *text,
                        const struct kw_trend *trend,
                        double value)
{
    if (trend->decimals == 0)
        kw_text_add_whole(text, value);
    else
        kw_text_add_number(text, value, trend->decimals);
}

/* The session by its date and its number: two of one day are told apart. */
static void add_since(struct kw_text *text, const struct kw_trend *trend)
{
    char date[KW_LOCAL_TIME_SIZE];
    if (trend->since == 0)
        return;
    const struct kw_trend_point *point = &trend->points[trend->since];
    kw_text_addf(text, ", plainly %s since the session of %s (entry %lld)",
                 trend->verdict == KW_TREND_RISING ? "higher" : "lower",
                 kw_local_time_print(date, point->at_s, false),
                 (long long)point->id);
}

/* The slope with one decimal more than the measure: an hour's share of what
 * creeps is small. p beside it, for whoever knows what it is. */
void kw_add_trend_verdict(struct kw_text *text, const struct kw_trend *trend)
{
    if (trend->verdict == KW_TREND_TOO_FEW) {
        kw_text_add(text, "too few sessions to tell");
        return;
    }
    if (trend->verdict == KW_TREND_NONE) {
        kw_text_add(text, "no clear trend");
    } else {
        kw_text_add(text, trend->verdict == KW_TREND_RISING ? "rising by "
                                                            : "falling by ");
        kw_text_add_number(text, fabs(trend->slope_per_h), trend->decimals + 1);
        kw_text_add(text, " in a running hour");
    }
    kw_text_add(text, " (p ");
    kw_add_p(text, trend->p);
    kw_text_add(text, ")");
    add_since(text, trend);
}

/* A creep has no day on which it began: it shows only once it has come far
 * enough. */
void kw_add_since_remark(struct kw_text *text, const struct kw_trends *trends)
{
    size_t told = 0;
    for (size_t i = 0; i < trends->n; i++)
        told += trends->items[i].since > 0;
    if (told > 0)
        kw_text_add(text,
                    "The session after 'since' is an estimate, mostly right "
                    "to within two sessions; what creeps slowly began "
                    "before it. 'kartwright logbook list' shows what was "
                    "changed about then.");
}

/* The same kart's EGT as read, which every session with laps tells. */
static size_t n_as_read(const struct kw_trend *trend,
                        const struct kw_trends *trends)
{
    for (size_t i = 0; i < trends->n; i++) {
        if (strcmp(trends->items[i].measure, "egt_top_c") == 0 &&
            kw_same_kart(trends->items[i].kart, trend->kart))
            return trends->items[i].n;
    }
    return 0;
}

/* Only where a number can be misread: EGT moves with the weather as much as
 * with a worn engine. */
void kw_add_trend_remark(struct kw_text *text,
                         const struct kw_trend *trend,
                         const struct kw_trends *trends)
{
    if (strcmp(trend->measure, "egt_top_c") == 0)
        kw_text_add(text, "As read, not corrected for the day's air: thick "
                          "air makes the same jet lean and hot.");
    if (strcmp(trend->measure, "egt_top_air_c") != 0)
        return;
    const size_t n_all = n_as_read(trend, trends);
    kw_text_add(text, "Corrected to standard air, 10 C for each percent of "
                      "mixture that the air alone makes (common practice, no "
                      "source); a change of jet is not taken out.");
    if (n_all > trend->n)
        kw_text_addf(text,
                     " The air is known of %zu of %zu sessions ('logbook add "
                     "--air').",
                     trend->n, n_all);
}

/* Two tyres are told apart by the names that their owner gave them. */
void kw_add_part_name(struct kw_text *text, const struct kw_part *part)
{
    kw_text_add(text, part->part);
    if (part->name != NULL)
        kw_text_addf(text, " (%s)", part->name);
}

/* A part that was on the kart from the start, or came with hours of its own,
 * changed nothing at that hour. */
bool kw_is_marked_fitting(const struct kw_part *part)
{
    return !part->registered && part->engine_hours > 0.0;
}
