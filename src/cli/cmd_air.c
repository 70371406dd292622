/* SPDX-License-Identifier: GPL-3.0-or-later */
/* `kartwright air`: how thick the air is today, and the jet that goes with it.
 */
#include "cli/command.h"
#include "cli/json_out.h"
#include "cli/known_good.h"
#include "kartwright/trackside.h"

#include "core/number.h"
#include "core/text.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

/* Sea-level pressure stays within about this of the standard (common practice,
 * no source): a "station" value near 1013 hPa high up is of the other kind. */
static const double USUAL_WEATHER_PA = 4500.0;

/* The two kinds differ by less than the weather below this height. */
static const double HEIGHT_THAT_MATTERS_M = 300.0;

static const double PA_A_HPA = 100.0;

/* A change of mixture is printed with one decimal: below half of it there is
 * none to see. */
static const double SMALLEST_CHANGE_PERCENT = 0.05;

/* The words of the command as they were given. NAN and NULL mean "not given": 0
 * C, 0 % and sea level are real values. */
struct air_words {
    const char *temp;
    const char *pressure;
    double humidity_percent;
    double elevation_m;
    const char *pressure_is;
    const char *then;
    double main_jet;
    const char *jet_number;
    double jet_step;
    const char *book;
    bool explain;
    const char *json;
};

/* What was worked out.
 *
 * warning  a pressure that looks like the other kind, or NULL.
 * has_jet  a known-good day and its jet were given: then, jet.
 * good     the day that the logbook gave, log_name "" for none. */
struct air_answer {
    struct kw_air today;
    struct kw_air then;
    struct kw_jet jet;
    bool has_then;
    bool has_jet;
    const char *warning;
    struct known_good good;
};

/* ---- reading the words --------------------------------------------------- */

/* Turns a barometer's reading into the pressure at the kart. The two kinds are
 * 12 hPa apart for each 100 m, which is a jet size: it must be said which. */
static enum kw_status to_station(const struct air_words *words,
                                 struct kw_air *air,
                                 const char **warning,
                                 struct kw_error *error)
{
    /* Neither was said: the reading is the one at the kart, as a barometer in
     * the paddock shows it. */
    if (isnan(words->elevation_m) && words->pressure_is == NULL)
        return KW_OK;
    if (words->pressure_is == NULL)
        return refuse_usage(
            error, "which pressure is it, at the kart or at sea level",
            "add --pressure-is station (a barometer at the track) or "
            "--pressure-is sea-level (a weather report)");
    const bool sea_level = strcmp(words->pressure_is, "sea-level") == 0;
    if (!sea_level && strcmp(words->pressure_is, "station") != 0)
        return refuse_usage(
            error, "no such kind of pressure",
            "write --pressure-is station or --pressure-is sea-level");
    if (isnan(words->elevation_m)) {
        return sea_level
                   ? refuse_usage(error, "sea-level pressure needs the height",
                                  "add --elevation with the track's metres")
                   : KW_OK;
    }
    /* The standard atmosphere of ISO 2533 gives what either kind would read on
     * an average day. */
    const double standard_pa = kw_standard_pressure_pa(words->elevation_m);
    const double sea_pa = kw_standard_pressure_pa(0.0);
    if (isnan(standard_pa))
        return refuse_usage(error, "impossible elevation",
                            "give the track's height in metres, -500 to 11000");
    /* The reading is near what the other kind would show and far from its own:
     * said, not mended, for a deep low is possible. */
    const double other_pa = sea_level ? standard_pa : sea_pa;
    const double own_pa = sea_level ? sea_pa : standard_pa;
    if (words->elevation_m > HEIGHT_THAT_MATTERS_M &&
        fabs(air->pressure_pa - other_pa) < USUAL_WEATHER_PA &&
        fabs(air->pressure_pa - own_pa) > USUAL_WEATHER_PA)
        *warning = sea_level ? "this looks like the pressure at the track"
                             : "this looks like a sea-level pressure";
    /* Only now, so that the warning speaks of the reading as it was given. */
    if (sea_level)
        air->pressure_pa =
            kw_station_pressure_pa(air->pressure_pa, words->elevation_m);
    return KW_OK;
}

/* All three are needed: thick air may be cold, dry or low down. */
static enum kw_status read_today(const struct air_words *words,
                                 struct air_answer *answer,
                                 struct kw_error *error)
{
    struct kw_air *today = &answer->today;
    if (words->temp == NULL || words->pressure == NULL ||
        isnan(words->humidity_percent))
        return refuse_usage(error, "needs --temp, --pressure and --humidity",
                            "see 'kartwright air --help'");
    if (!kw_humidity_is_possible(words->humidity_percent))
        return refuse_usage(error, "impossible relative humidity",
                            "give 0 to 100 percent, as 55");
    today->humidity = words->humidity_percent / 100.0;
    enum kw_status status = kw_temp_parse(words->temp, &today->temp_c, error);
    if (status == KW_OK)
        status = kw_pressure_parse(words->pressure, &today->pressure_pa, error);
    if (status == KW_OK)
        status = to_station(words, today, &answer->warning, error);
    return status;
}

/* What was typed comes before what the book says. The book's pressure was noted
 * at the kart. */
static enum kw_status read_book(const struct air_words *words,
                                struct air_answer *answer,
                                struct kw_error *error)
{
    if (words->book == NULL)
        return KW_OK;
    const enum kw_status status =
        read_known_good(words->book, &answer->good, error);
    if (status != KW_OK)
        return status;
    if (isnan(answer->good.air.temp_c) && words->then == NULL)
        return kw_fail(error, KW_BAD_INPUT, NULL, 0,
                       "the logbook has no session with its air in which "
                       "nothing was found",
                       "add a session with --air, or give --then");
    if (words->then == NULL) {
        answer->then = answer->good.air;
        answer->has_then = true;
    }
    return KW_OK;
}

static bool jet_is_typed(const struct air_words *words)
{
    return !isnan(words->main_jet) || words->book == NULL;
}

/* What was typed comes before what the book says. */
static double known_jet(const struct air_words *words,
                        const struct air_answer *answer)
{
    return jet_is_typed(words) ? words->main_jet : answer->good.main_jet;
}

static enum kw_status read_jet(const struct air_words *words,
                               struct air_answer *answer,
                               struct kw_error *error)
{
    struct kw_jet_options options = {
        .known_good = known_jet(words, answer),
        /* Most makers number jets by the bore in hundredths of a millimetre;
         * some by flow (common practice, no source). The flow goes with the
         * square of the bore, so by the bore the number
         * changes half as much. */
        .number = KW_JET_BY_DIAMETER,
        .step = words->jet_step,
    };
    if (isnan(options.known_good))
        return KW_OK;
    /* A jet is right for one air. Without it the number says nothing about
     * today. */
    if (!answer->has_then)
        return refuse_usage(error,
                            "--main-jet needs the air of the day it was right",
                            "add --then \"T=18 P=1015 RH=60\"");
    if (words->jet_number != NULL && strcmp(words->jet_number, "flow") == 0)
        options.number = KW_JET_BY_FLOW;
    else if (words->jet_number != NULL &&
             strcmp(words->jet_number, "diameter") != 0)
        return refuse_usage(error, "no such jet number",
                            "write --jet-number diameter or --jet-number flow");
    /* The library rounds to the richer size: too rich costs a few tenths, too
     * lean a piston. */
    answer->has_jet = true;
    return kw_jet_for_air(&answer->then, &answer->today, &options, &answer->jet,
                          error);
}

/* The book fills in what was not typed; typed air is never replaced. */
static enum kw_status work_out(const struct air_words *words,
                               struct air_answer *answer,
                               struct kw_error *error)
{
    enum kw_status status = read_today(words, answer, error);
    if (status == KW_OK && words->then != NULL) {
        /* One warning is enough: it would be the same mistake twice. */
        const char *ignored = NULL;
        answer->has_then = true;
        status = kw_air_parse(words->then, &answer->then, error);
        /* The known-good day was read from the same barometer. */
        if (status == KW_OK)
            status = to_station(words, &answer->then, &ignored, error);
    }
    if (status == KW_OK)
        status = read_book(words, answer, error);
    return status == KW_OK ? read_jet(words, answer, error) : status;
}

/* ---- printing ------------------------------------------------------------ */

/* Names in one column, 40 columns in all: it is read on a phone at the
 * track. */
static void line(const char *name, double value, int decimals, const char *unit)
{
    char number[KW_NUMBER_SIZE];
    printf("  %-19s %s%s%s\n", name, kw_number_print(number, value, decimals),
           unit[0] == '\0' ? "" : " ", unit);
}

/* Most jets have whole numbers; some come in halves. */
static int size_decimals(double size)
{
    return fabs(size - round(size)) < 0.05 ? 0 : 1;
}

/* The range beside the number: a barometer is read to a hectopascal and a
 * half. */
static void print_jet(const struct air_words *words,
                      const struct air_answer *answer)
{
    char exact[KW_NUMBER_SIZE];
    char low[KW_NUMBER_SIZE];
    char high[KW_NUMBER_SIZE];
    char known[KW_NUMBER_SIZE];
    const double jet = known_jet(words, answer);
    kw_number_print(known, jet, size_decimals(jet));
    if (jet_is_typed(words))
        printf("\nMain jet %s was right then.\n", known);
    else
        /* The book knows what was fitted, and not that it was right. */
        printf("\nMain jet %s was fitted then. If it was\n"
               "right (plug, maker's sheet):\n",
               known);
    printf("  %-19s %s (%s to %s)\n", "keeps the mixture",
           kw_number_print(exact, answer->jet.exact, 1),
           kw_number_print(low, answer->jet.low, 1),
           kw_number_print(high, answer->jet.high, 1));
    /* The size to put in, named as the richer one so that nobody rounds it the
     * other way. */
    line("fit", answer->jet.fit, size_decimals(answer->jet.fit),
         "(the richer size)");
    puts("\nA starting point only: read it against\n"
         "plug and EGT. When in doubt, richer\n"
         "first. The maker's sheet and your class\n"
         "rules come before this sum.");
}

/* Thinner air holds less oxygen while the jet passes nearly the same fuel: hot,
 * high and humid is rich. */
static void print_then(const struct air_words *words,
                       const struct air_answer *answer)
{
    const double now = kw_air_density_kg_m3(&answer->today);
    const double then = kw_air_density_kg_m3(&answer->then);
    const double change = kw_mixture_change_percent(then, now);
    struct kw_text day = {0};
    kw_text_add_visible(&day, answer->good.log_name);
    if (words->then == NULL && !kw_text_failed(&day))
        printf("\nAgainst the last session in the book in\n"
               "which nothing was found\n(%s):\n",
               day.bytes);
    else
        puts("\nAgainst the known-good day:");
    kw_text_free(&day);
    line("density then", then, 4, "kg/m3");
    /* What prints as 0.0 has no side. */
    if (fabs(change) < SMALLEST_CHANGE_PERCENT)
        puts("  the same jet runs   as rich as then");
    else
        line("the same jet runs", fabs(change), 1,
             change < 0.0 ? "% leaner" : "% richer");
    if (answer->has_jet)
        print_jet(words, answer);
}

/* The book learns of today's air with the next session that is added. */
static void print_offer(const struct air_words *words)
{
    char humidity[KW_NUMBER_SIZE];
    struct kw_text air = {0};
    kw_text_add(&air, "T=");
    kw_text_add_visible(&air, words->temp);
    kw_text_add(&air, " P=");
    kw_text_add_visible(&air, words->pressure);
    kw_text_add(&air, " RH=");
    kw_text_add(&air, kw_number_print(humidity, words->humidity_percent, 0));
    if (!kw_text_failed(&air))
        printf("\nTo remember today's air, add the next log\nwith "
               "--air \"%s\"\n",
               air.bytes);
    kw_text_free(&air);
}

/* On request only: at the track the answer counts, at home where it is from. */
static void print_formulas(void)
{
    puts("\nHow it is worked out:\n"
         "  density, vapour     CIPM-2007 (Picard et al.,\n"
         "                      Metrologia 45, 2008, 149)\n"
         "  standard air        ISO 2533: 1.225 kg/m3\n"
         "  height, sea level   ISO 2533, lowest layer\n"
         "  power               ISO 1585 (from memory)\n"
         "  jet                 fuel/air with the inverse\n"
         "                      square root of density\n"
         "                      (Heywood ch. 7, from memory)\n"
         "  range of the jet    1 C, 1.5 hPa and 5 % humidity\n"
         "                      of error in each reading");
}

static void print_answer(const struct air_words *words,
                         const struct air_answer *answer)
{
    const double density = kw_air_density_kg_m3(&answer->today);
    puts("Air at the kart:");
    line("pressure", answer->today.pressure_pa / PA_A_HPA, 1, "hPa");
    line("density", density, 4, "kg/m3");
    line("of standard air", 100.0 * density / KW_STANDARD_DENSITY_KG_M3, 1,
         "%");
    line("like a height of", kw_density_altitude_m(density), 0, "m");
    line("water vapour", kw_vapour_pressure_pa(&answer->today) / PA_A_HPA, 1,
         "hPa");
    /* Above 1 the engine gives less than on a standard day, by about that
     * factor. */
    line("power correction", kw_power_correction_iso1585(&answer->today), 3,
         "(ISO 1585)");
    if (answer->warning != NULL)
        printf("\nCheck: %s.\n", answer->warning);
    if (answer->has_then)
        print_then(words, answer);
    if (words->book != NULL)
        print_offer(words);
    if (words->explain)
        print_formulas();
}

/* Pascal and fractions, as in all JSON of the contract; what a person reads has
 * hPa and percent. json_pack() takes over what "o" is given and gives NULL when
 * any piece is. */
static json_t *answer_as_json(const struct air_answer *answer)
{
    const double density = kw_air_density_kg_m3(&answer->today);
    json_t *jet =
        answer->has_jet
            ? json_pack("{s:f, s:f, s:f, s:f}", "exact", answer->jet.exact,
                        "low", answer->jet.low, "high", answer->jet.high, "fit",
                        answer->jet.fit)
            : json_null();
    return json_pack(
        "{s:f, s:f, s:f, s:f, s:f, s:f, s:o, s:s?}", "density_kg_m3", density,
        "relative_density", density / KW_STANDARD_DENSITY_KG_M3,
        "density_altitude_m", kw_density_altitude_m(density),
        "vapour_pressure_pa", kw_vapour_pressure_pa(&answer->today),
        "power_correction_iso1585", kw_power_correction_iso1585(&answer->today),
        "station_pressure_pa", answer->today.pressure_pa, "main_jet", jet,
        "warning", answer->warning);
}

/* The status is kept in the error alone: both paths fill it in. */
static int answer_air(const struct air_words *words)
{
    struct air_answer answer = {0};
    struct kw_error error = {0};
    work_out(words, &answer, &error);
    if (error.status != KW_OK)
        return print_error(&error);
    if (words->json != NULL)
        return print_json(answer_as_json(&answer), words->json);
    print_answer(words, &answer);
    return EXIT_DONE;
}

int cmd_air(int argc, char **argv)
{
    /* A jet step of 1 suits jets numbered in hundredths of a millimetre; those
     * that come in twos and a half say so (common practice, no source). */
    struct air_words words = {.humidity_percent = NAN,
                              .elevation_m = NAN,
                              .main_jet = NAN,
                              .jet_step = 1.0};
    const struct option options[] = {
        {"--temp", OPTION_TEXT, &words.temp, "T", false,
         "air temperature in C, or as 75F"},
        {"--pressure", OPTION_TEXT, &words.pressure, "P", false,
         "air pressure in hPa, or as 29.92inHg, 760mmHg"},
        {"--humidity", OPTION_NUMBER, &words.humidity_percent, "RH", false,
         "relative humidity in percent"},
        {"--elevation", OPTION_NUMBER, &words.elevation_m, "M", false,
         "height of the track in metres"},
        {"--pressure-is", OPTION_TEXT, &words.pressure_is, "KIND", false,
         "station (at the track) or sea-level (weather report)"},
        {"--then", OPTION_TEXT, &words.then, "AIR", false,
         "air of a known-good day: \"T=18 P=1015 RH=60\""},
        {"--main-jet", OPTION_NUMBER, &words.main_jet, "N", false,
         "the jet that was right on that day"},
        {"--jet-number", OPTION_TEXT, &words.jet_number, "KIND", false,
         "what the number counts: diameter (default) or flow"},
        {"--jet-step", OPTION_NUMBER, &words.jet_step, "N", false,
         "from one jet size to the next (default 1)"},
        {"--book", OPTION_MAYBE, &words.book, "[FILE]", false,
         "day and jet from this logbook, else the usual one"},
        {"--explain", OPTION_FLAG, &words.explain, NULL, false,
         "name the formulas and their sources"},
        {"--json", OPTION_TEXT, &words.json, "FILE", false,
         "write JSON to FILE, or to standard output with -"},
    };
    const struct command_words command = {
        "air --temp T --pressure P --humidity RH [OPTIONS]",
        "How thick the air is, and the jet that keeps the mixture of a "
        "known-good day.",
        options, sizeof options / sizeof options[0],
        "  kartwright air --temp 24 --pressure 1008 --humidity 55\n"
        "  kartwright air --temp 24 --pressure 1008 --humidity 55 \\\n"
        "      --then \"T=18 P=1015 RH=60\" --main-jet 142\n"};
    const enum parsed parsed =
        parse_options(&command, argc, argv, "takes no file");
    return parsed == PARSED ? answer_air(&words)
                            : exit_status(parsed, KW_OK, NULL);
}
