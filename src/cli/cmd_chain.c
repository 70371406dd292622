/* SPDX-License-Identifier: GPL-3.0-or-later */
/* `kartwright chain`: how long, how worn, and whether it runs straight. */
#include "cli/command.h"
#include "cli/json_out.h"
#include "kartwright/trackside.h"

#include "core/number.h"

#include <math.h>
#include <stdio.h>

/* A chain this much longer is worn out: usual, common practice, no source. The
 * owner's or the maker's own limit comes first. */
static const double USUAL_WEAR_LIMIT_PERCENT = 2.0;

/* Sprocket sizes shown beside the one that is fitted. */
enum { NEIGHBOURS = 2 };

/* Three questions in one command, each with words of its own; NAN where one is
 * not asked. */
struct chain_words {
    double engine_teeth;
    double axle_teeth;
    double centres_mm;
    double pitch_mm;
    double length_mm;
    double over_links;
    double wear_limit_percent;
    double gap_near_mm;
    double gap_far_mm;
    double apart_mm;
    bool explain;
    const char *json;
};

/* NAN where it was not asked for. */
struct chain_answer {
    double links_exact;
    double links;
    double centres_mm;
    double travel_mm[2 * NEIGHBOURS + 1];
    double wear_percent;
    struct kw_alignment alignment;
};

/* ---- working out --------------------------------------------------------- */

/* How far the engine mount must move for the sprockets beside this one, with
 * the same chain: NAN where the chain does not go round. This is what a change
 * of sprocket at the track comes down to: does the mount's slot reach, or is
 * another chain needed? */
static void work_out_travel(const struct chain_words *words,
                            struct chain_answer *answer)
{
    for (int i = -NEIGHBOURS; i <= NEIGHBOURS; i++) {
        const double centres_pitches = kw_chain_centres(
            words->engine_teeth, words->axle_teeth + i, answer->links);
        answer->travel_mm[i + NEIGHBOURS] =
            centres_pitches * words->pitch_mm - answer->centres_mm;
    }
}

/* Links from the distance, then the distance from whole links: the shafts move,
 * the chain does not stretch. */
static enum kw_status work_out_length(const struct chain_words *words,
                                      struct chain_answer *answer,
                                      struct kw_error *error)
{
    if (isnan(words->centres_mm))
        return KW_OK;
    /* Fewer teeth do not carry a chain, on either shaft. */
    if (!(words->engine_teeth >= KW_FEWEST_ENGINE_TEETH) ||
        !(words->axle_teeth >= KW_FEWEST_ENGINE_TEETH))
        return refuse_usage(error, "the length needs both sprockets",
                            "add --engine-teeth and --axle-teeth");
    if (fmod(words->engine_teeth, 1.0) != 0.0 ||
        fmod(words->axle_teeth, 1.0) != 0.0)
        return refuse_usage(error, "teeth come whole",
                            "count them, as --engine-teeth 11 --axle-teeth 78");
    /* The shafts must stand further apart than the sprockets' own radii. A
     * sprocket of N teeth has a radius of about N / (2 pi) pitches. */
    const double pi = 3.14159265358979323846;
    const double centres_pitches = words->centres_mm / words->pitch_mm;
    if (!(centres_pitches >
          (words->engine_teeth + words->axle_teeth) / (2.0 * pi)))
        return refuse_usage(
            error, "the sprockets would touch",
            "give the distance between the shafts in millimetres");
    answer->links_exact =
        kw_chain_links(words->engine_teeth, words->axle_teeth, centres_pitches);
    /* Inner and outer links take turns, so a closed chain has an even number of
     * them; a cranked link would be the weak one. */
    answer->links = kw_chain_even_links(answer->links_exact);
    /* The shafts move so that the even number fits: the exact number was for
     * the distance that was asked. */
    answer->centres_mm = kw_chain_centres(words->engine_teeth,
                                          words->axle_teeth, answer->links) *
                         words->pitch_mm;
    work_out_travel(words, answer);
    return KW_OK;
}

/* Pins and bushes wear, and each link gets longer by a little: measured over
 * many links, pulled straight, the ruler's error is divided by their number. */
static enum kw_status work_out_wear(const struct chain_words *words,
                                    struct chain_answer *answer,
                                    struct kw_error *error)
{
    if (isnan(words->length_mm))
        return KW_OK;
    if (!(words->over_links >= 1.0))
        return refuse_usage(error, "wear needs the number of links measured",
                            "add --over-links, 20 or more for a sure reading");
    answer->wear_percent = kw_chain_wear_percent(
        words->length_mm, words->over_links, words->pitch_mm);
    /* Not shorter than a miscounted ruler makes it, and no chain stays on its
     * teeth so long: then a link was miscounted (one in twenty is 5 %). Common
     * practice, no source. */
    if (!(answer->wear_percent > -3.0 && answer->wear_percent < 15.0))
        return refuse_usage(error,
                            "that length does not belong to so many links",
                            "count the links again, and check --pitch");
    return KW_OK;
}

/* Two gaps from a straight edge: one alone cannot tell sprockets that stand
 * askew from sprockets that stand side by side. */
static enum kw_status work_out_alignment(const struct chain_words *words,
                                         struct chain_answer *answer,
                                         struct kw_error *error)
{
    if (isnan(words->gap_near_mm) && isnan(words->gap_far_mm))
        return KW_OK;
    if (isnan(words->gap_near_mm) || isnan(words->gap_far_mm) ||
        !(words->apart_mm > 0.0))
        return refuse_usage(
            error, "alignment needs two gaps and their distance",
            "add --gap-near, --gap-far and --apart, in millimetres");
    /* Two readings a tenth of a millimetre off over 180 mm are three hundredths
     * of a degree: a steel rule is good enough. */
    answer->alignment = kw_sprocket_alignment(
        words->gap_near_mm, words->gap_far_mm, words->apart_mm);
    return KW_OK;
}

/* Three questions that share their words: what is not asked costs no word. */
static enum kw_status work_out(const struct chain_words *words,
                               struct chain_answer *answer,
                               struct kw_error *error)
{
    /* From a model's chain to a motorcycle's, with room. */
    if (!(words->pitch_mm > 1.0 && words->pitch_mm < 50.0))
        return refuse_usage(error, "impossible chain pitch",
                            "give millimetres, as 7.775 or 9.525");
    if (isnan(words->centres_mm) && isnan(words->length_mm) &&
        isnan(words->gap_near_mm) && isnan(words->gap_far_mm))
        return refuse_usage(error, "nothing to work out",
                            "give --centres, --length or the gaps: see "
                            "'kartwright chain --help'");
    /* Each of the three is passed over where none of its words was given, so
     * that they can be asked together. */
    enum kw_status status = work_out_length(words, answer, error);
    if (status == KW_OK)
        status = work_out_wear(words, answer, error);
    if (status == KW_OK)
        status = work_out_alignment(words, answer, error);
    return status;
}

/* ---- printing ------------------------------------------------------------ */

/* In plain words and with the action: the person stands at the kart with a
 * spanner. */
static void print_length(const struct chain_words *words,
                         const struct chain_answer *answer)
{
    char a[KW_NUMBER_SIZE];
    char b[KW_NUMBER_SIZE];
    printf("Links: %s, so fit %s (an even number).\n",
           kw_number_print(a, answer->links_exact, 1),
           kw_number_print(b, answer->links, 0));
    printf("Shafts %s mm apart then, before slack.\n",
           kw_number_print(a, answer->centres_mm, 1));
    puts("\nThe same chain on other axle sprockets:");
    for (int i = -NEIGHBOURS; i <= NEIGHBOURS; i++) {
        const double travel = answer->travel_mm[i + NEIGHBOURS];
        printf("  %3s teeth: ", kw_number_print(a, words->axle_teeth + i, 0));
        if (isnan(travel))
            puts("the chain is too short");
        else if (i == 0)
            puts("this one");
        else
            printf("engine %s mm %s\n", kw_number_print(b, fabs(travel), 1),
                   travel > 0.0 ? "further away" : "nearer");
    }
    /* The computed distance is that of a tight chain; run so it would wear
     * bearings. */
    puts("Leave the slack that the maker's sheet asks.");
}

/* A worn chain wears the teeth to its own pitch, and a new one on them wears
 * fast: hence both are looked at. */
static void print_wear(const struct chain_words *words,
                       const struct chain_answer *answer)
{
    char worn[KW_NUMBER_SIZE];
    char limit[KW_NUMBER_SIZE];
    const bool stated = !isnan(words->wear_limit_percent);
    const double limit_percent =
        stated ? words->wear_limit_percent : USUAL_WEAR_LIMIT_PERCENT;
    const bool worn_out = answer->wear_percent >= limit_percent;
    kw_number_print(limit, limit_percent, 1);
    printf("Wear: %s %% longer than new",
           kw_number_print(worn, answer->wear_percent, 1));
    if (stated) {
        printf(" (your limit %s %%).\n%s\n", limit,
               worn_out ? "Replace it, and look at the teeth too."
                        : "Still within the limit.");
        return;
    }
    /* A usual figure is no limit of this chain. */
    printf(".\n%s the %s %% at which many replace it%s\n"
           "That is common practice with no source: the\n"
           "maker's figure comes first (--wear-limit).\n",
           worn_out ? "Past" : "Below", limit,
           worn_out ? ";\nlook at the teeth too." : ".");
}

static void print_alignment(const struct chain_answer *answer)
{
    char angle[KW_NUMBER_SIZE];
    char offset[KW_NUMBER_SIZE];
    printf("Sprockets: %s degrees to each other,\n%s mm beside each other.\n",
           kw_number_print(angle, answer->alignment.angle_deg, 2),
           kw_number_print(offset, answer->alignment.offset_mm, 1));
    puts(
        "Aim for 0; turn the axle and measure\nagain to tell a bent sprocket.");
}

/* In the order of the work: length, wear, alignment. */
static void print_answer(const struct chain_words *words,
                         const struct chain_answer *answer)
{
    if (!isnan(answer->links))
        print_length(words, answer);
    if (!isnan(answer->wear_percent))
        print_wear(words, answer);
    if (!isnan(answer->alignment.angle_deg))
        print_alignment(answer);
    /* Every time, asked or not: fingers between chain and sprocket are how
     * people get hurt in this job. */
    puts("\nEngine off; turn the axle by hand, with\n"
         "fingers away from the teeth.");
    if (words->explain)
        puts("\nHow it is worked out:\n"
             "  L = 2C + (N1+N2)/2 + (N2-N1)^2/(4 pi^2 C)\n"
             "  handbook formula, ISO 606 / ANSI B29.1 practice\n"
             "  (Mott, Machine Elements in Mechanical Design,\n"
             "  4th ed., p. 295). A short series: on a kart it\n"
             "  puts the shafts about 0.2 mm too far apart.\n"
             "  wear limit 2 %: common practice, no source");
}

static json_t *answer_as_json(const struct chain_answer *answer)
{
    json_t *travel = json_array();
    /* NAN prints as null and as no line: a question that was not asked has no
     * answer, not the answer 0. */
    for (int i = 0; i < 2 * NEIGHBOURS + 1; i++) {
        /* It takes over the value in any case, and fails for NULL: no memory
         * for the number shows here. */
        if (json_array_append_new(
                travel, json_number_or_null(answer->travel_mm[i])) != 0) {
            json_decref(travel);
            return NULL;
        }
    }
    return json_pack(
        "{s:o, s:o, s:o, s:o, s:o, s:o, s:o}", "chain_links_exact",
        json_number_or_null(answer->links_exact), "chain_links",
        json_number_or_null(answer->links), "centres_mm",
        json_number_or_null(answer->centres_mm), "travel_mm", travel,
        "wear_percent", json_number_or_null(answer->wear_percent), "angle_deg",
        json_number_or_null(answer->alignment.angle_deg), "offset_mm",
        json_number_or_null(answer->alignment.offset_mm));
}

static int answer_chain(const struct chain_words *words)
{
    struct chain_answer answer = {
        .links_exact = NAN,
        .links = NAN,
        .centres_mm = NAN,
        .wear_percent = NAN,
        .alignment = {NAN, NAN},
    };
    struct kw_error error = {0};
    for (int i = 0; i < 2 * NEIGHBOURS + 1; i++)
        answer.travel_mm[i] = NAN;
    work_out(words, &answer, &error);
    if (error.status != KW_OK)
        return print_error(&error);
    if (words->json != NULL)
        return print_json(answer_as_json(&answer), words->json);
    print_answer(words, &answer);
    return EXIT_DONE;
}

int cmd_chain(int argc, char **argv)
{
    struct chain_words words = {
        .engine_teeth = NAN,
        .axle_teeth = NAN,
        .centres_mm = NAN,
        .pitch_mm = KW_USUAL_PITCH_MM,
        .length_mm = NAN,
        .over_links = NAN,
        .wear_limit_percent = NAN,
        .gap_near_mm = NAN,
        .gap_far_mm = NAN,
        .apart_mm = NAN,
    };
    const struct option options[] = {
        {"--engine-teeth", OPTION_NUMBER, &words.engine_teeth, "N", false,
         "teeth of the engine sprocket"},
        {"--axle-teeth", OPTION_NUMBER, &words.axle_teeth, "N", false,
         "teeth of the axle sprocket"},
        {"--centres", OPTION_NUMBER, &words.centres_mm, "MM", false,
         "distance between the shafts: gives the links"},
        {"--pitch", OPTION_NUMBER, &words.pitch_mm, "MM", false,
         "chain pitch (default 7.775)"},
        {"--length", OPTION_NUMBER, &words.length_mm, "MM", false,
         "a length measured, pulled straight: gives the wear"},
        {"--over-links", OPTION_NUMBER, &words.over_links, "N", false,
         "links in that length"},
        {"--wear-limit", OPTION_NUMBER, &words.wear_limit_percent, "P", false,
         "your own limit in percent; many take 2"},
        {"--gap-near", OPTION_NUMBER, &words.gap_near_mm, "MM", false,
         "gap from a straight edge to the engine sprocket"},
        {"--gap-far", OPTION_NUMBER, &words.gap_far_mm, "MM", false,
         "the same at the far side of that sprocket"},
        {"--apart", OPTION_NUMBER, &words.apart_mm, "MM", false,
         "distance between the two gaps"},
        {"--explain", OPTION_FLAG, &words.explain, NULL, false,
         "name the formulas and their sources"},
        {"--json", OPTION_TEXT, &words.json, "FILE", false,
         "write JSON to FILE, or to standard output with -"},
    };
    const struct command_words command = {
        "chain [OPTIONS]",
        "How many links a chain needs, how worn it is, and whether it runs "
        "straight.",
        options, sizeof options / sizeof options[0],
        "  kartwright chain --engine-teeth 11 --axle-teeth 78 --centres 222\n"
        "  kartwright chain --length 157 --over-links 20\n"
        "  kartwright chain --gap-near 0.5 --gap-far 1.5 --apart 40\n"};
    const enum parsed parsed =
        parse_options(&command, argc, argv, "takes no file");
    return parsed == PARSED ? answer_chain(&words)
                            : exit_status(parsed, KW_OK, NULL);
}
