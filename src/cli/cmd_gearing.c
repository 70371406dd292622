/* SPDX-License-Identifier: GPL-3.0-or-later */
/* `kartwright gearing`: teeth, speed and RPM, from numbers or from a log. */
#include "cli/command.h"
#include "cli/gearing_out.h"
#include "cli/input.h"
#include "cli/known_good.h"

#include "kartwright/trackside.h"
#include "report/log_notices.h"
#include "report/screen.h"

#include <math.h>

/* As they were given; NAN and NULL for what was not. */
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

/* ---- working out --------------------------------------------------------- */

static bool is_within(double value, double lowest, double highest)
{
    return value >= lowest && value <= highest;
}

/* 11.5 teeth are two words that ran together, or a ratio. */
static bool is_count_within(double value, double lowest, double highest)
{
    return is_within(value, lowest, highest) && fmod(value, 1.0) == 0.0;
}

/* Wide ranges: they are to catch slips, not to judge a kart. Those of RPM and
 * speed are common practice, no source. */
static enum kw_status check_numbers(const struct gearing_words *words,
                                    struct kw_error *error)
{
    if (isnan(words->engine_teeth) || isnan(words->axle_teeth))
        return refuse_usage(error, "needs the teeth of both sprockets",
                            "add --engine-teeth 11 --axle-teeth 78, or --kart");
    if (!is_count_within(words->engine_teeth, KW_FEWEST_ENGINE_TEETH,
                         KW_MOST_ENGINE_TEETH) ||
        !is_count_within(words->axle_teeth, KW_FEWEST_AXLE_TEETH,
                         KW_MOST_AXLE_TEETH))
        return refuse_usage(error, "impossible number of teeth",
                            "give the small sprocket on the engine and the "
                            "large one on the axle, as --engine-teeth 11 "
                            "--axle-teeth 78");
    if (!isnan(words->tyre_mm) &&
        !is_within(words->tyre_mm, KW_SMALLEST_TYRE_MM, KW_LARGEST_TYRE_MM))
        return refuse_usage(error, "impossible tyre circumference",
                            "give millimetres once round, as 850");
    if (!isnan(words->rpm) && !(words->rpm > 0.0 && words->rpm < 30000.0))
        return refuse_usage(error, "impossible RPM", "give it as 15000");
    if (!isnan(words->speed_kmh) &&
        !(words->speed_kmh > 0.0 && words->speed_kmh < 400.0))
        return refuse_usage(error, "impossible speed", "give km/h, as 110");
    /* Each gives the other through the gearing; two would contradict each
     * other. */
    if (!isnan(words->rpm) && !isnan(words->speed_kmh))
        return refuse_usage(error, "--rpm and --speed ask the same question",
                            "give one of them");
    if (!isnan(words->target_rpm) && words->log == NULL)
        return refuse_usage(error, "--target-rpm needs a log",
                            "add --log LOG.csv");
    return KW_OK;
}

/* A speed that was left out, or a clock that was mended, is why a ratio is
 * missing or odd. */
static enum kw_status lay_out_notices(const struct kw_review *review,
                                      struct gearing_answer *answer,
                                      struct kw_error *error)
{
    const struct kw_text_options options = {.columns = GEARING_COLUMNS};
    const struct kw_screen screen = kw_screen_on(&answer->notices, &options);
    struct kw_notices notices = {0};
    enum kw_status status =
        kw_gather_notices(&review, 1, NULL, &notices, error);
    if (notices.n > 0)
        kw_screen_heading(&screen, "The log");
    kw_screen_notices(&screen, &notices, "see 'kartwright review'");
    if (status == KW_OK && kw_text_failed(&answer->notices))
        status = kw_fail_memory(error);
    kw_notices_free(&notices);
    return status;
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
        status = lay_out_notices(&review, answer, error);
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
        return refuse_usage(error,
                            "impossible chain pitch or distance of the shafts",
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

/* ---- the command --------------------------------------------------------- */

/* The laps that were seen are freed on every path. */
static int answer_gearing(struct gearing_words *words)
{
    struct gearing_answer answer = {
        .has_log = words->log != NULL,
        .target_rpm = words->target_rpm,
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
        status = print_json(gearing_as_json(&answer), words->json);
    else
        print_gearing(&answer, words->explain);
    kw_gearing_seen_free(&answer.seen);
    kw_text_free(&answer.notices);
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
         "length of the driven tyre, once round"},
        {"--rpm", OPTION_NUMBER, &words->rpm, "RPM", false,
         "speed at this RPM"},
        {"--speed", OPTION_NUMBER, &words->speed_kmh, "KMH", false,
         "RPM at this speed"},
        {"--log", OPTION_TEXT, &words->log, "LOG.csv", false,
         "a log: which ratio it shows, and its highest RPM"},
        {"--target-rpm", OPTION_NUMBER, &words->target_rpm, "RPM", false,
         "axle teeth that bring the log's peak there"},
        {"--kart", OPTION_TEXT, &words->input.kart, "PROFILE", false,
         "take teeth and tyre from the kart's profile"},
        {"--column", OPTION_LIST, &words->input.columns, "ROLE=HEADING", false,
         "which column of the log holds what"},
        {"--rate", OPTION_ABOVE_0, &words->input.rate_hz, "HZ", false,
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
        "gearing --engine-teeth N --axle-teeth N [OPTIONS]",
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
        .pitch_mm = KW_USUAL_PITCH_MM,
    };
    const enum parsed parsed = read_words(argc, argv, &words);
    const int result = parsed == PARSED ? answer_gearing(&words)
                                        : exit_status(parsed, KW_OK, NULL);
    words_free(&words.input.columns);
    return result;
}
