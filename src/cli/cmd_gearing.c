/* SPDX-License-Identifier: GPL-3.0-or-later */
/* `kartwright gearing`: teeth, speed and RPM, from numbers or from a log. */
#include "cli/command.h"
#include "cli/input.h"
#include "cli/json_out.h"
#include "cli/known_good.h"
#include "kartwright/trackside.h"

#include "core/number.h"

#include <math.h>
#include <stdio.h>

/* The border of units is here: the library knows metres per second only. */
static const double KMH_A_M_S = 3.6;
static const double USUAL_PITCH_MM = 7.775; /* common practice, no source */

/* Sprockets shown beside the ones that are fitted. One tooth in front is worth
 * seven behind (78/11), so three behind and one in front cover what a person
 * would try next. */
enum { ENGINE_NEIGHBOURS = 1, AXLE_NEIGHBOURS = 3 };

/* The log and the teeth agree within this: a tyre's growth and its pressure are
 * a percent or so. Common practice, no source. */
static const double AGREES_WITHIN = 0.02;

/* A target further away than this is a guess, since the kart would come to the
 * end of the straight at another speed. Common practice, no source. */
static const double FAR_TARGET = 0.05;

struct gearing_words {
    struct input_words input;
    double engine_teeth;
    double axle_teeth;
    double tyre_mm;
    double rpm;
    double speed_kmh;
    const char *log;
    double target_rpm;
    double centres_mm;
    double pitch_mm;
    const char *book;
    bool explain;
    const char *json;
};

/* NAN for what was not asked or cannot be known.
 *
 * rpm, speed_kmh  the pair that the table is for. */
struct gearing_answer {
    struct kw_gearing gearing;
    double rpm;
    double speed_kmh;
    struct kw_gearing_seen seen;
    double axle_teeth_for_target;
    double links_exact;
    double links;
    double centres_mm;
};

static enum kw_status usage(struct kw_error *error,
                            const char *what,
                            const char *todo)
{
    return kw_fail(error, KW_BAD_USAGE, NULL, 0, what, todo);
}

/* ---- working out ------------------------------------------------------------
 */

/* Wide ranges: they are to catch millimetres given as metres and words that
 * were swapped, not to judge a kart. Common practice, no source. */
static enum kw_status check_numbers(const struct gearing_words *words,
                                    struct kw_error *error)
{
    if (!(words->engine_teeth >= 5.0 && words->engine_teeth <= 60.0) ||
        !(words->axle_teeth >= 10.0 && words->axle_teeth <= 150.0))
        return usage(error, "needs the teeth of both sprockets",
                     "add --engine-teeth 11 --axle-teeth 78, or --kart");
    if (!isnan(words->tyre_mm) &&
        !(words->tyre_mm >= 400.0 && words->tyre_mm <= 2000.0))
        return usage(error, "impossible tyre circumference",
                     "give millimetres once round, as 850");
    if (!isnan(words->rpm) && !(words->rpm > 0.0 && words->rpm < 30000.0))
        return usage(error, "impossible RPM", "give it as 15000");
    if (!isnan(words->speed_kmh) &&
        !(words->speed_kmh > 0.0 && words->speed_kmh < 400.0))
        return usage(error, "impossible speed", "give km/h, as 110");
    /* Each gives the other through the gearing; two would contradict each
     * other. */
    if (!isnan(words->rpm) && !isnan(words->speed_kmh))
        return usage(error, "--rpm and --speed ask the same question",
                     "give one of them");
    if (!isnan(words->target_rpm) && words->log == NULL)
        return usage(error, "--target-rpm needs a log", "add --log LOG.csv");
    return KW_OK;
}

/* A whole review: it knows the laps, and where the clutch is locked. RPM over
 * axle speed says the ratio only there. */
static enum kw_status look_at_log(const struct gearing_words *words,
                                  const struct input *input,
                                  struct gearing_answer *answer,
                                  struct kw_error *error)
{
    struct kw_log log = {0};
    struct kw_review review = {0};
    const struct kw_review_options options = {.profile = &input->profile};
    enum kw_status status = input_read(input, words->log, &log, error);
    if (status == KW_OK)
        status = kw_review_log(&log, &options, &review, error);
    if (status == KW_OK)
        status = kw_gearing_look(&review, words->tyre_mm / 1000.0,
                                 words->target_rpm, &answer->seen, error);
    if (status == KW_OK)
        /* At the same speed at the end of the straight RPM goes with the axle
         * teeth. NAN without a target, and NAN stays. */
        answer->axle_teeth_for_target = kw_axle_teeth_for(
            words->axle_teeth, answer->seen.peak_rpm, words->target_rpm);
    kw_review_free(&review);
    kw_log_free(&log);
    return status;
}

static enum kw_status work_out_chain(const struct gearing_words *words,
                                     struct gearing_answer *answer,
                                     struct kw_error *error)
{
    if (isnan(words->centres_mm))
        return KW_OK;
    if (!(words->pitch_mm > 1.0 && words->pitch_mm < 50.0) ||
        !(words->centres_mm > 50.0 && words->centres_mm < 2000.0))
        return usage(error, "impossible chain pitch or distance of the shafts",
                     "give millimetres, as --centres 222 --pitch 7.775");
    /* The same sum as in `kartwright chain`: a change of teeth may ask for
     * another chain, and it is better known before the wheel is off. */
    answer->links_exact = kw_chain_links(words->engine_teeth, words->axle_teeth,
                                         words->centres_mm / words->pitch_mm);
    answer->links = kw_chain_even_links(answer->links_exact);
    answer->centres_mm = kw_chain_centres(words->engine_teeth,
                                          words->axle_teeth, answer->links) *
                         words->pitch_mm;
    return KW_OK;
}

/* RPM and speed of the table: what was asked, else the log's own peak. The
 * order is that of how sure the person is: what was asked comes before what was
 * seen. */
static void choose_pair(const struct gearing_words *words,
                        struct gearing_answer *answer)
{
    answer->rpm = words->rpm;
    if (isnan(answer->rpm) && !isnan(words->speed_kmh))
        answer->rpm =
            kw_gearing_rpm(&answer->gearing, words->speed_kmh / KMH_A_M_S);
    if (isnan(answer->rpm))
        answer->rpm = answer->seen.peak_rpm;
    answer->speed_kmh =
        KMH_A_M_S * kw_gearing_speed_m_s(&answer->gearing, answer->rpm);
}

/* Teeth that were neither typed nor in the profile may stand in the logbook. */
static enum kw_status take_from_book(struct gearing_words *words,
                                     struct kw_error *error)
{
    struct known_good good;
    if (words->book == NULL)
        return KW_OK;
    const enum kw_status status = read_known_good(words->book, &good, error);
    if (status == KW_OK && isnan(words->engine_teeth))
        words->engine_teeth = good.engine_teeth;
    if (status == KW_OK && isnan(words->axle_teeth))
        words->axle_teeth = good.axle_teeth;
    return status;
}

static enum kw_status work_out(struct gearing_words *words,
                               struct gearing_answer *answer,
                               struct kw_error *error)
{
    struct input input;
    enum kw_status status = input_open(&input, &words->input, error);
    if (status == KW_OK) {
        /* A word of the command wins over the profile: it is what is tried
         * today. */
        if (isnan(words->engine_teeth))
            words->engine_teeth = input.profile.engine_teeth;
        if (isnan(words->axle_teeth))
            words->axle_teeth = input.profile.axle_teeth;
        if (isnan(words->tyre_mm))
            words->tyre_mm = 1000.0 * input.profile.tyre_circumference_m;
        status = take_from_book(words, error);
    }
    if (status == KW_OK)
        status = check_numbers(words, error);
    answer->gearing = (struct kw_gearing){
        words->engine_teeth, words->axle_teeth, words->tyre_mm / 1000.0};
    if (status == KW_OK && words->log != NULL)
        status = look_at_log(words, &input, answer, error);
    if (status == KW_OK)
        status = work_out_chain(words, answer, error);
    if (status == KW_OK)
        choose_pair(words, answer);
    input_close(&input);
    return status;
}

/* ---- the table --------------------------------------------------------------
 */

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
    printf("  %2s/%-3s %6s %8s %9s%s\n",
           kw_number_print(engine, row->engine_teeth, 0),
           kw_number_print(axle, row->axle_teeth, 0),
           kw_number_print(ratio, row->ratio, 3),
           kw_number_print(speed, row->speed_kmh, 1), change,
           fitted ? "  fitted" : "");
}

/* The whole row of axle teeth with the engine sprocket that is fitted, then the
 * engine's neighbours: an axle sprocket is the quicker change. */
static void print_table(const struct gearing_answer *answer)
{
    char rpm[KW_NUMBER_SIZE];
    printf("\n  teeth   ratio  km/h at  RPM, %% at\n"
           "                 %8s same km/h\n",
           kw_number_print(rpm, answer->rpm, 0));
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

/* ---- printing ---------------------------------------------------------------
 */

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
    /* This catches the wrong sprocket written into the profile, which would
     * make every speed of the review wrong. */
    const double stated = kw_gearing_ratio(&answer->gearing);
    if (fabs(answer->seen.ratio / stated - 1.0) > AGREES_WITHIN)
        puts("That is not what the teeth say: a worn\n"
             "tyre, a wrong entry, or a slipping\n"
             "clutch. Count the teeth and measure the\n"
             "tyre once round.");
}

/* Flying laps only: the out lap is driven to warm the tyres, not to peak
 * RPM. */
static void print_laps_seen(const struct gearing_words *words,
                            const struct gearing_answer *answer)
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
           isnan(words->target_rpm) ? "" : "  s above target");
    for (size_t i = 0; i < answer->seen.n_laps; i++) {
        const struct kw_lap_gearing *lap = &answer->seen.laps[i];
        printf("  %3zu %10s %9s", lap->number,
               kw_number_print(time, lap->time_s, 2),
               kw_number_print(peak, lap->peak_rpm, 0));
        if (!isnan(words->target_rpm))
            printf(" %11s", kw_number_print(above, lap->above_s, 1));
        putchar('\n');
    }
    printf("Middle of the peaks: %s RPM.\n",
           kw_number_print(peak, answer->seen.peak_rpm, 0));
}

/* Whole teeth only; which way to round is the person's choice, so the exact
 * number stands beside it. */
static void print_target(const struct gearing_words *words,
                         const struct gearing_answer *answer)
{
    char target[KW_NUMBER_SIZE];
    char exact[KW_NUMBER_SIZE];
    char teeth[KW_NUMBER_SIZE];
    if (isnan(answer->axle_teeth_for_target))
        return;
    printf("For %s RPM: %s axle teeth, so %s.\n",
           kw_number_print(target, words->target_rpm, 0),
           kw_number_print(exact, answer->axle_teeth_for_target, 1),
           kw_number_print(teeth, round(answer->axle_teeth_for_target), 0));
    if (fabs(words->target_rpm / answer->seen.peak_rpm - 1.0) > FAR_TARGET)
        puts("That is far from what was driven: go\n"
             "there in steps, and look again.");
    /* More teeth behind mean more RPM, and this command does not know the
     * engine. */
    puts("Stay below the engine maker's limit.");
}

static void print_answer(const struct gearing_words *words,
                         const struct gearing_answer *answer)
{
    char a[KW_NUMBER_SIZE];
    char b[KW_NUMBER_SIZE];
    printf("Ratio: %s\n",
           kw_number_print(a, kw_gearing_ratio(&answer->gearing), 3));
    if (!isnan(answer->speed_kmh))
        printf("%s RPM is %s km/h.\n", kw_number_print(a, answer->rpm, 0),
               kw_number_print(b, answer->speed_kmh, 1));
    if (words->log != NULL) {
        print_ratio_seen(answer);
        print_laps_seen(words, answer);
        print_target(words, answer);
    }
    if (!isnan(answer->links))
        printf(
            "Chain: %s links, so %s; shafts %s mm apart.\n",
            kw_number_print(a, answer->links_exact, 1),
            kw_number_print(b, answer->links, 0),
            kw_number_print((char[KW_NUMBER_SIZE]){0}, answer->centres_mm, 1));
    print_table(answer);
    if (words->explain)
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
static json_t *answer_as_json(const struct gearing_answer *answer)
{
    const double teeth = answer->axle_teeth_for_target;
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

/* The laps that were seen are freed on every path. */
static int answer_gearing(struct gearing_words *words)
{
    struct gearing_answer answer = {
        .rpm = NAN,
        .speed_kmh = NAN,
        .seen = {.ratio = NAN,
                 .ratio_low = NAN,
                 .ratio_high = NAN,
                 .peak_rpm = NAN},
        .axle_teeth_for_target = NAN,
        .links_exact = NAN,
        .links = NAN,
        .centres_mm = NAN,
    };
    struct kw_error error = {0};
    int status = EXIT_DONE;
    work_out(words, &answer, &error);
    if (error.status != KW_OK)
        status = print_error(&error);
    else if (words->json != NULL)
        status = print_json(answer_as_json(&answer), words->json);
    else
        print_answer(words, &answer);
    kw_gearing_seen_free(&answer.seen);
    return status;
}

/* The defaults stand in the words already; the table only says where they
 * go. */
static enum parsed read_words(int argc,
                              char **argv,
                              struct gearing_words *words)
{
    const struct option options[] = {
        {"--engine-teeth", OPTION_NUMBER, &words->engine_teeth, "N", false,
         "teeth of the engine sprocket"},
        {"--axle-teeth", OPTION_NUMBER, &words->axle_teeth, "N", false,
         "teeth of the axle sprocket"},
        {"--tyre-mm", OPTION_NUMBER, &words->tyre_mm, "MM", false,
         "driven tyre, once round"},
        {"--rpm", OPTION_NUMBER, &words->rpm, "RPM", false,
         "speed at this RPM"},
        {"--speed", OPTION_NUMBER, &words->speed_kmh, "KMH", false,
         "RPM at this speed"},
        {"--log", OPTION_TEXT, &words->log, "LOG.csv", false,
         "what this log shows of the gearing"},
        {"--target-rpm", OPTION_NUMBER, &words->target_rpm, "RPM", false,
         "axle teeth that bring the log's peak there"},
        {"--kart", OPTION_TEXT, &words->input.kart, "PROFILE", false,
         "take teeth and tyre from the kart's profile"},
        {"--column", OPTION_LIST, &words->input.columns, "ROLE=HEADING", false,
         "which column of the log holds what"},
        {"--rate", OPTION_NUMBER, &words->input.rate_hz, "HZ", false,
         "samples each second, for a log without a time column"},
        {"--centres", OPTION_NUMBER, &words->centres_mm, "MM", false,
         "distance between the shafts: gives the links"},
        {"--pitch", OPTION_NUMBER, &words->pitch_mm, "MM", false,
         "chain pitch (default 7.775)"},
        {"--book", OPTION_MAYBE, &words->book, "[FILE]", false,
         "teeth from this logbook, else the usual one"},
        {"--explain", OPTION_FLAG, &words->explain, NULL, false,
         "say how it is worked out"},
        {"--json", OPTION_TEXT, &words->json, "FILE", false,
         "write JSON to FILE, or to standard output with -"},
    };
    const struct command_words command = {
        "gearing --engine-teeth N --axle-teeth N [WORDS]",
        "Ratio, speed and neighbouring sprockets; with a log, the ratio that "
        "it shows.",
        options, sizeof options / sizeof options[0],
        "  kartwright gearing --engine-teeth 11 --axle-teeth 78 --tyre-mm 850 "
        "\\\n      --rpm 15000\n"
        "  kartwright gearing --kart my-kart.ini --log sunday.csv \\\n"
        "      --target-rpm 15200\n"};
    return parse_options(&command, argc, argv, "takes a log with --log only");
}

int cmd_gearing(int argc, char **argv)
{
    struct gearing_words words = {
        .engine_teeth = NAN,
        .axle_teeth = NAN,
        .tyre_mm = NAN,
        .rpm = NAN,
        .speed_kmh = NAN,
        .target_rpm = NAN,
        .centres_mm = NAN,
        .pitch_mm = USUAL_PITCH_MM,
    };
    const enum parsed parsed = read_words(argc, argv, &words);
    const int result = parsed == PARSED ? answer_gearing(&words)
                                        : exit_status(parsed, KW_OK, NULL);
    words_free(&words.input.columns);
    return result;
}
