/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Ratio, speeds and neighbouring sprockets, narrow enough for a telephone. */
#include "cli/gearing_out.h"

#include "core/number.h"

#include <math.h>
#include <stdio.h>

/* Sprockets shown beside the ones that are fitted. One tooth in front is worth
 * seven behind (78/11), so three behind and one in front cover what a person
 * would try next. */
enum { ENGINE_NEIGHBOURS = 1, AXLE_NEIGHBOURS = 3 };

/* The log and the teeth agree within this: a tyre's growth and its pressure are
 * a percent or so. Common practice, no source. */
static const double AGREES_WITHIN = 0.02;

/* A speed in the other unit is off by this; tyre and teeth together are known
 * within the share. The share is common practice, no source. */
static const double KM_A_MILE = 1.609344;
static const double LIKE_A_UNIT = 0.06;

/* A target further away than this is a guess, since the kart would come to the
 * end of the straight at another speed. Common practice, no source. */
static const double FAR_TARGET = 0.05;

/* ---- the table ----------------------------------------------------------- */

/* One other pair of sprockets: its speed at the same RPM, and the RPM that it
 * asks for the same speed, as a change in percent. */
struct row {
    double engine_teeth;
    double axle_teeth;
    double ratio;
    double speed_kmh;
    double rpm_change_percent;
};

/* The tyre cancels in the change of RPM, so that it is known without its
 * size. */
static struct row row_for(const struct gearing_answer *answer,
                          int engine,
                          int axle)
{
    struct kw_gearing other = answer->gearing;
    other.engine_teeth += engine;
    other.axle_teeth += axle;
    /* At the same speed RPM goes with the ratio alone. */
    const double ratio = kw_gearing_ratio(&other);
    return (struct row){
        .engine_teeth = other.engine_teeth,
        .axle_teeth = other.axle_teeth,
        .ratio = ratio,
        .speed_kmh = KMH_A_M_S * kw_gearing_speed_m_s(&other, answer->rpm),
        .rpm_change_percent =
            100.0 * (ratio / kw_gearing_ratio(&answer->gearing) - 1.0),
    };
}

static void print_row(const struct row *row, bool fitted)
{
    char engine[KW_NUMBER_SIZE];
    char axle[KW_NUMBER_SIZE];
    char ratio[KW_NUMBER_SIZE];
    char speed[KW_NUMBER_SIZE];
    /* The sign is shown for more too, but not for a change that prints as
     * 0.0. */
    char change[KW_NUMBER_SIZE + 1] = "+";
    const bool more = row->rpm_change_percent > 0.05;
    kw_number_print(change + more, row->rpm_change_percent, 1);
    printf("  %2s/%-3s %6s", kw_number_print(engine, row->engine_teeth, 0),
           kw_number_print(axle, row->axle_teeth, 0),
           kw_number_print(ratio, row->ratio, 3));
    if (!isnan(row->speed_kmh))
        printf(" %8s", kw_number_print(speed, row->speed_kmh, 1));
    printf(" %9s%s\n", change, fitted ? "  fitted" : "");
}

/* A column of dashes would only ask what it is for: without tyre and RPM there
 * are no speeds. The whole row of axle teeth with the engine sprocket that is
 * fitted, then the engine's neighbours: an axle sprocket is the quicker change.
 */
static void print_table(const struct gearing_answer *answer)
{
    char rpm[KW_NUMBER_SIZE];
    if (isnan(answer->speed_kmh))
        puts("\n  teeth   ratio  RPM, % at\n"
             "                 same km/h");
    else
        printf("\n  teeth   ratio  km/h at  RPM, %% at\n"
               "                 %8s same km/h\n",
               kw_number_print_whole(rpm, answer->rpm));
    for (int axle = -AXLE_NEIGHBOURS; axle <= AXLE_NEIGHBOURS; axle++) {
        const struct row row = row_for(answer, 0, axle);
        print_row(&row, axle == 0);
    }
    for (int engine = -ENGINE_NEIGHBOURS; engine <= ENGINE_NEIGHBOURS;
         engine++) {
        const struct row row = row_for(answer, engine, 0);
        if (engine != 0)
            print_row(&row, false);
    }
}

/* ---- printing ------------------------------------------------------------ */

/* The ratio of the log as a share of that of the teeth. */
static double seen_over_stated(const struct gearing_answer *answer)
{
    return answer->seen.ratio / kw_gearing_ratio(&answer->gearing);
}

/* Without a ratio in the log nothing speaks against the teeth. */
static bool agrees(const struct gearing_answer *answer)
{
    return !(fabs(seen_over_stated(answer) - 1.0) > AGREES_WITHIN);
}

/* This catches the wrong sprocket written into the profile, which would make
 * every speed of the review wrong. What slips turns the engine too fast and
 * never too slow. */
static void print_causes(const struct gearing_answer *answer)
{
    const double share = seen_over_stated(answer);
    if (share > 1.0)
        puts("That is above what the teeth say: other\n"
             "teeth, a worn tyre, a slipping clutch, or\n"
             "a speed sensor that is set wrong.");
    else
        puts("That is below what the teeth say: other\n"
             "teeth, a larger tyre, or a speed sensor\n"
             "that is set wrong. No slip does that.");
    if (fabs(share / KM_A_MILE - 1.0) < LIKE_A_UNIT)
        puts("It would fit if the speed were in mph:\n"
             "see 'kartwright columns'.");
    else if (fabs(share * KM_A_MILE - 1.0) < LIKE_A_UNIT)
        puts("It would fit if a speed in mph were in\n"
             "km/h: see 'kartwright columns'.");
    puts("Count the teeth and measure the tyre once\n"
         "round.");
}

static void print_ratio_seen(const struct gearing_answer *answer)
{
    char seen[KW_NUMBER_SIZE];
    /* One buffer for each number: printf() reads them all after the last was
     * written. */
    char low[KW_NUMBER_SIZE];
    char high[KW_NUMBER_SIZE];
    if (isnan(answer->seen.ratio)) {
        /* Without a speed RPM alone cannot say how fast the axle turns. */
        puts("Ratio in the log: not known (it needs a\n"
             "speed in the log, and the tyre).");
        return;
    }
    printf("Ratio in the log: %s",
           kw_number_print(seen, answer->seen.ratio, 3));
    /* With too few laps there is a ratio but no range. */
    if (!isnan(answer->seen.ratio_low))
        printf(" (%s to %s)", kw_number_print(low, answer->seen.ratio_low, 3),
               kw_number_print(high, answer->seen.ratio_high, 3));
    putchar('\n');
    if (!agrees(answer))
        print_causes(answer);
}

/* Flying laps only: the out lap is driven to warm the tyres, not to peak
 * RPM. */
static void print_laps_seen(const struct gearing_answer *answer)
{
    char peak[KW_NUMBER_SIZE];
    char time[KW_NUMBER_SIZE];
    char above[KW_NUMBER_SIZE];
    /* A log without laps may still show the ratio. */
    if (answer->seen.n_laps == 0) {
        puts("No flying laps in the log.");
        return;
    }
    printf("\n  lap    time, s  peak RPM%s\n",
           isnan(answer->target_rpm) ? "" : "  s above target");
    for (size_t i = 0; i < answer->seen.n_laps; i++) {
        const struct kw_lap_gearing *lap = &answer->seen.laps[i];
        printf("  %3zu %10s %9s", lap->number,
               kw_number_print(time, lap->time_s, 2),
               kw_number_print_whole(peak, lap->peak_rpm));
        if (!isnan(answer->target_rpm))
            printf(" %11s", kw_number_print(above, lap->above_s, 1));
        putchar('\n');
    }
    printf("Middle of the peaks: %s RPM.\n",
           kw_number_print_whole(peak, answer->seen.peak_rpm));
}

/* From teeth that the log speaks against no other teeth can be worked out, but
 * by how much they have to differ from those of the log. */
static void print_share_of_teeth(const struct gearing_answer *answer)
{
    char target[KW_NUMBER_SIZE];
    char percent[KW_NUMBER_SIZE];
    const double more = answer->target_rpm / answer->seen.peak_rpm - 1.0;
    printf("For %s RPM: %s %% %s axle teeth than in\n"
           "the log. How many that is, the count tells.\n",
           kw_number_print_whole(target, answer->target_rpm),
           kw_number_print(percent, 100.0 * fabs(more), 1),
           more < 0.0 ? "fewer" : "more");
}

/* Whole teeth only; which way to round is the person's choice, so the exact
 * number stands beside it. */
static void print_target(const struct gearing_answer *answer)
{
    char target[KW_NUMBER_SIZE];
    char exact[KW_NUMBER_SIZE];
    char teeth[KW_NUMBER_SIZE];
    if (isnan(answer->axle_teeth_for_target))
        return;
    if (!agrees(answer)) {
        print_share_of_teeth(answer);
        return;
    }
    printf("For %s RPM: %s axle teeth, so %s.\n",
           kw_number_print_whole(target, answer->target_rpm),
           kw_number_print(exact, answer->axle_teeth_for_target, 1),
           kw_number_print(teeth, round(answer->axle_teeth_for_target), 0));
    if (fabs(answer->target_rpm / answer->seen.peak_rpm - 1.0) > FAR_TARGET)
        puts("That is far from what was driven: go\n"
             "there in steps, and look again.");
    /* More teeth behind mean more RPM, and this command does not know the
     * engine. */
    puts("Stay below the engine maker's limit.");
}

void print_gearing(const struct gearing_answer *answer, bool explain)
{
    char a[KW_NUMBER_SIZE];
    char b[KW_NUMBER_SIZE];
    printf("Ratio: %s\n",
           kw_number_print(a, kw_gearing_ratio(&answer->gearing), 3));
    if (!isnan(answer->speed_kmh))
        printf("%s RPM is %s km/h.\n", kw_number_print_whole(a, answer->rpm),
               kw_number_print(b, answer->speed_kmh, 1));
    if (isnan(answer->gearing.tyre_circumference_m))
        puts("Speeds need the driven tyre, once round:\n"
             "add --tyre-mm, as --tyre-mm 850.");
    else if (isnan(answer->rpm))
        puts("Speeds need an RPM, too:\n"
             "add --rpm, as --rpm 15000.");
    if (answer->has_log) {
        print_ratio_seen(answer);
        print_laps_seen(answer);
        print_target(answer);
        if (answer->notices.length > 0)
            fputs(answer->notices.bytes, stdout);
    }
    if (!isnan(answer->links))
        printf(
            "Chain: %s links, so %s; shafts %s mm apart.\n",
            kw_number_print(a, answer->links_exact, 1),
            kw_number_print(b, answer->links, 0),
            kw_number_print((char[KW_NUMBER_SIZE]){0}, answer->centres_mm, 1));
    print_table(answer);
    if (explain)
        puts("\nHow it is worked out:\n"
             "  ratio = axle teeth / engine teeth\n"
             "  speed = RPM / ratio / 60 x tyre once round,\n"
             "  clutch locked, tyre not slipping\n"
             "  ratio in the log: median of engine over axle\n"
             "  in each lap; 95 % by Student's t over laps\n"
             "  chain: see 'kartwright chain --explain'");
}

/* All pairs here, while the screen has one row and one column of them: a
 * program can choose. */
static json_t *table_as_json(const struct gearing_answer *answer)
{
    json_t *table = json_array();
    for (int engine = -ENGINE_NEIGHBOURS; engine <= ENGINE_NEIGHBOURS;
         engine++) {
        for (int axle = -AXLE_NEIGHBOURS; axle <= AXLE_NEIGHBOURS; axle++) {
            const struct row row = row_for(answer, engine, axle);
            json_t *made = json_pack(
                "{s:f, s:f, s:f, s:o, s:f}", "engine_teeth", row.engine_teeth,
                "axle_teeth", row.axle_teeth, "ratio", row.ratio, "speed_kmh",
                json_number_or_null(row.speed_kmh), "rpm_change_percent",
                row.rpm_change_percent);
            if (json_array_append_new(table, made) != 0) {
                json_decref(table);
                return NULL;
            }
        }
    }
    return table;
}

/* What is not known is null, and so is what was not asked. */
json_t *gearing_as_json(const struct gearing_answer *answer)
{
    const double teeth = agrees(answer) ? answer->axle_teeth_for_target : NAN;
    return json_pack(
        "{s:f, s:o, s:o, s:o, s:o, s:o, s:o, s:o, s:o, s:o, s:o, s:o}", "ratio",
        kw_gearing_ratio(&answer->gearing), "speed_kmh",
        json_number_or_null(answer->speed_kmh), "rpm",
        json_number_or_null(answer->rpm), "table", table_as_json(answer),
        "measured_ratio", json_number_or_null(answer->seen.ratio),
        "measured_ratio_low", json_number_or_null(answer->seen.ratio_low),
        "measured_ratio_high", json_number_or_null(answer->seen.ratio_high),
        "peak_rpm", json_number_or_null(answer->seen.peak_rpm),
        "axle_teeth_for_target",
        json_number_or_null(isnan(teeth) ? NAN : round(teeth)),
        "chain_links_exact", json_number_or_null(answer->links_exact),
        "chain_links", json_number_or_null(answer->links), "centres_mm",
        json_number_or_null(answer->centres_mm));
}
