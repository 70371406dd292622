/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Searching a heading for the words of heading_words.c and for a unit.
 *
 * Headings are folded first (no case, no accents, no punctuation), so that
 * "Temp. échappement [°C]" and "temp echappement" are one. Each phrase of the
 * table says how surely it means its role; a unit of the right kind adds to
 * that, and the surest wins. */
#include "import/headings.h"

#include "import/fold.h"
#include "import/heading_match.h"
#include "import/heading_qualifiers.h"
#include "import/heading_spoilers.h"
#include "import/heading_typos.h"
#include "import/heading_units.h"
#include "import/heading_words.h"

#include <string.h>

/* A second clock: the logger's own comes first. */
static const char *const second_clock[] = {"gps", "utc", "local"};

/* Words that make "lap" the time of a lap, which is no role. */
static const char *const lap_time_words[] = {
    "time",   "*zeit",  "*zeiten",  "temps",   "tempo", "tiempo",
    "chrono", "czas",   "cas",      "tid",     "tijd",  "duration",
    "duree",  "durata", "duracion", "duracao", "dauer",
};

/* Words that make engine speed the speed of the driven axle. */
static const char *const axle_words[] = {
    "axle",  "wheel", "achs*", "hinterachs*", "rad*",   "essieu",
    "axe",   "roue*", "eje",   "rueda",       "assale", "asse",
    "ruota", "eixo",  "roda",  "rear",        "axl",    "hinterrad*",
};

/* Words about the form of the numbers, and what such numbers are. A unit of the
 * right kind outweighs them. */
struct no_reading {
    const char *word;
    const char *why;
};

static const struct no_reading no_readings[] = {
    {"adc", "numbers of a converter are no temperature"},
    {"counts", "numbers of a converter are no temperature"},
    {"raw", "raw numbers are no temperature"},
};

/* "temps" and "tempo" are times. Hence no star behind "temp". */
static const char *const temperature_words[] = {"temp", "temperat*",
                                                "*temperatur", "teplota"};

enum {
    N_AXLE_WORDS = sizeof axle_words / sizeof axle_words[0],
    N_TEMPERATURE_WORDS =
        sizeof temperature_words / sizeof temperature_words[0],
    N_LAP_TIME_WORDS = sizeof lap_time_words / sizeof lap_time_words[0],
    N_NO_READINGS = sizeof no_readings / sizeof no_readings[0],
    N_SECOND_CLOCK = sizeof second_clock / sizeof second_clock[0]
};

/* What is added to the score of a phrase, on the scale of heading_words.h (4 to
 * 12), or stands for it. Ours; the tables of headings in the tests hold them.
 */
enum {
    UNIT_AGREES = 3,   /* the heading states a unit of the role */
    UNIT_ALONE = 4,    /* it has no words, but a unit that tells the role */
    SECOND_CLOCK = -2, /* a time by the receiver, not by the logger */
    /* It is taken where nothing else is there, for its score stays above that
     * of a date (columns.c). */
    LESSER = 3,
    /* of a phrase for the time; "sec" and "ms" are rather units */
    LEAST_TIME_WORD = 6,
    SAYS_BATTERY = 8 /* of a phrase that no other voltage has */
};

static bool is_digit(char c)
{
    return c >= '0' && c <= '9';
}

/* ---- the whole heading --------------------------------------------------- */

/* A word names another quantity; a temperature is no other quantity's value. */
static bool is_of_another(const struct kw_words *words,
                          enum kw_quantity quantity)
{
    /* "I_batt" is a current. */
    return kw_is_spoiled(words, quantity) ||
           (quantity == KW_QUANTITY_VOLTAGE && words->n > 1 &&
            words->length[0] == 1 && *words->at[0] == 'i') ||
           (quantity != KW_QUANTITY_TEMPERATURE &&
            kw_words_have_any(words, temperature_words, N_TEMPERATURE_WORDS));
}

bool kw_is_bare_temperature(const char *heading)
{
    struct kw_words words;
    kw_words_split(heading, KW_QUANTITY_NONE, &words);
    /* "Asphalttemperatur" says of what, though not to us. */
    static const char *const bare[] = {"temp", "temperat*", "teplota"};
    return words.n == 1 &&
           kw_words_have_any(&words, bare, sizeof bare / sizeof bare[0]);
}

/* "time" and its like in all languages, as one word. */
static bool says_time(const char *word, size_t length)
{
    for (size_t i = 0; i < kw_n_phrases(); i++) {
        const struct kw_phrase *phrase = kw_phrase(i);
        if (phrase->role == KW_ROLE_TIME && phrase->score >= LEAST_TIME_WORD &&
            kw_word_is(word, length, phrase->words, strlen(phrase->words)))
            return true;
    }
    /* "t_rpm": beside a word it says nothing elsewhere. */
    return length == 1 && *word == 't';
}

/* Joins the words but for the first that says time.
 *
 * returns  whether there was one. */
static bool join_without_time(const struct kw_words *words, char *rest)
{
    bool dropped = false;
    size_t n = 0;
    for (size_t i = 0; i < words->n; i++) {
        if (!dropped && says_time(words->at[i], words->length[i])) {
            dropped = true;
            continue;
        }
        /* Blanks that were not in the heading: "egt1" becomes "egt 1". */
        if (n + words->length[i] + 2 > KW_FOLDED_SIZE)
            break;
        if (n > 0)
            rest[n++] = ' ';
        memcpy(rest + n, words->at[i], words->length[i]);
        n += words->length[i];
    }
    rest[n] = '\0';
    return dropped;
}

bool kw_heading_without_time(const char *heading, char *rest)
{
    struct kw_words words;
    kw_words_split(heading, KW_QUANTITY_NONE, &words);
    if (!join_without_time(&words, rest))
        return false;
    /* "Time (RPM)": what is a unit elsewhere says of which channel. */
    if (rest[0] == '\0') {
        kw_words_split(heading, KW_QUANTITY_TIME, &words);
        join_without_time(&words, rest);
    }
    return true;
}

static const char other_unit[] = "its unit is none that is known for it";
/* "RPM [Hz]" */
static const char hertz[] =
    "Hz or 1/s may be turns or readings a second, so write rps or rpm";

/* "dEGT", "dTime": in front of its name, for probes may be called A to D. */
static bool is_step(const struct kw_words *words)
{
    return words->n > 1 && words->length[0] == 1 && *words->at[0] == 'd' &&
           !is_digit(*words->at[1]);
}

/* "ADC1_H2O" begins with the name of an input. */
static bool is_input(const struct kw_words *words, const char *word)
{
    return words->n > 1 && is_digit(*words->at[1]) &&
           kw_word_is(words->at[0], words->length[0], word, strlen(word));
}

/* What else in a heading says that its numbers are no readings; NULL for
 * nothing.
 *
 * unit  of the right kind, NULL for none. */
static const char *no_reading(const struct kw_words *words,
                              enum kw_quantity quantity,
                              const struct kw_unit *unit)
{
    if (quantity != KW_QUANTITY_TEMPERATURE)
        return NULL;
    for (size_t i = 0; unit == NULL && i < N_NO_READINGS; i++) {
        const struct no_reading *one = &no_readings[i];
        if (kw_words_have_word(words, one->word, strlen(one->word)) &&
            !is_input(words, one->word))
            return one->why;
    }
    if (unit == NULL && (strstr(words->folded, "x10") != NULL ||
                         strstr(words->folded, "x 10") != NULL ||
                         strstr(words->folded, "*10") != NULL ||
                         strstr(words->folded, "/10") != NULL))
        return "a factor in a heading can be meant two ways";
    return is_step(words) ? "a rate of change is no reading" : NULL;
}

/* A voltage without a word for the battery. */
static bool is_any_voltage(const struct kw_phrase *phrase)
{
    return phrase->role == KW_ROLE_BATTERY_V && phrase->score < SAYS_BATTERY;
}

/* How well a phrase fits.
 *
 * score   0 where it does not.
 * lesser  only where no plainer heading is there.
 * why     why it does not fit, where the person may not see it at once; NULL
 *         for no reason. */
struct fit {
    int score;
    bool lesser;
    const char *why;
};

/* Its score, more for a unit of the right kind, none for one of another: "speed
 * [rpm]" is no speed over ground. */
static struct fit fit_of(const struct kw_phrase *phrase,
                         const struct kw_words *words,
                         const char *folded_cell)
{
    struct fit fit = {0, false, NULL};
    const enum kw_quantity quantity = kw_role_quantity(phrase->role);
    const struct kw_unit *unit =
        quantity != KW_QUANTITY_NONE
            ? kw_find_stated_unit(words->folded, folded_cell, quantity)
            : NULL;
    if (is_of_another(words, quantity))
        return fit;
    const enum kw_standing standing = kw_standing_of(
        words, phrase->role, unit != NULL || is_any_voltage(phrase), &fit.why);
    if (standing == KW_DERIVED)
        return fit;
    fit.why = no_reading(words, quantity, unit);
    if (fit.why != NULL)
        return fit;
    /* A letter may be the channel's too: "D: Speed". */
    fit.lesser = standing == KW_LESSER || is_step(words);
    fit.score = phrase->score;
    if (phrase->role == KW_ROLE_TIME &&
        kw_words_have_any(words, second_clock, N_SECOND_CLOCK))
        fit.score += SECOND_CLOCK;
    /* A unit of the right kind is the strongest sign there is, and cannot
     * mislead: the words fitted too. */
    if (unit != NULL &&
        !kw_unit_is_doubtful(unit, words->folded, folded_cell)) {
        fit.score = fit.lesser ? LESSER : fit.score + UNIT_AGREES;
        return fit;
    }
    /* A marker has no quantity, yet some exports give it a unit. */
    if (phrase->role != KW_ROLE_LAP_MARKER &&
        (unit != NULL ||
         kw_states_other_unit(words->folded, folded_cell, quantity)))
        return (struct fit){0, false, unit != NULL ? hertz : other_unit};
    if (fit.lesser && fit.score > LESSER)
        fit.score = LESSER;
    return fit;
}

static const struct kw_heading nothing = {.role = KW_N_ROLES,
                                          .words = "",
                                          .denied = KW_N_ROLES,
                                          .why = ""};

/* Nothing but a unit: "rpm" and "km/h" say enough, "C" does not. */
static void read_unit_alone(struct kw_heading *found,
                            const struct kw_words *words,
                            const char *folded_cell)
{
    /* A temperature could be exhaust, water or head, and taking one for the
     * other is what this program must never do. */
    static const enum kw_role telling[] = {KW_ROLE_RPM, KW_ROLE_SPEED};
    /* Dampers move by mm/s, and anything may be read so many times a second. */
    static const char *const silent[] = {"rev/s", "cm/s", "mm/s", "ft/s"};
    for (size_t i = 0; i < sizeof telling / sizeof telling[0]; i++) {
        const enum kw_quantity quantity = kw_role_quantity(telling[i]);
        const struct kw_unit *unit =
            kw_find_stated_unit(words->folded, folded_cell, quantity);
        const char *why = NULL;
        bool tells =
            unit != NULL && !is_of_another(words, quantity) &&
            kw_standing_of(words, telling[i], true, &why) != KW_DERIVED;
        for (size_t k = 0; tells && k < sizeof silent / sizeof silent[0]; k++)
            tells = strcmp(unit->name, silent[k]) != 0;
        if (!tells)
            continue;
        found->role = telling[i];
        found->score = UNIT_ALONE;
        found->lesser = false;
        found->words = "its unit";
        return;
    }
}

/* "TPS volts" and "Tension sonde eau" are what a sensor gives. */
static bool names_a_sensor(const struct kw_words *words)
{
    static const char *const sensors[] = {"sensor*", "sonde*", "sonda*"};
    if (kw_words_have_any(words, sensors, sizeof sensors / sizeof sensors[0]))
        return true;
    for (size_t i = 0; i < kw_n_phrases(); i++) {
        const struct kw_phrase *phrase = kw_phrase(i);
        if (phrase->role != KW_ROLE_BATTERY_V && phrase->role != KW_ROLE_TIME &&
            kw_words_have(words, phrase->words))
            return true;
    }
    return false;
}

/* The phrase that fits best. */
static void read_phrases(struct kw_heading *found,
                         const struct kw_words *words,
                         const char *folded_cell)
{
    const bool is_lap_time =
        kw_words_have_any(words, lap_time_words, N_LAP_TIME_WORDS);
    bool is_reading = true;
    for (size_t i = 0; i < kw_n_phrases(); i++) {
        const struct kw_phrase *phrase = kw_phrase(i);
        if (!kw_words_have(words, phrase->words) ||
            (is_any_voltage(phrase) && names_a_sensor(words)))
            continue;
        /* "Lap time" holds the clock within the lap or the last lap's time:
         * neither counts laps nor rises all session. */
        if (phrase->role == KW_ROLE_LAP && is_lap_time) {
            *found = nothing;
            return;
        }
        /* "Time to finish" is no passing of it. */
        if (phrase->role == KW_ROLE_LAP_MARKER && is_lap_time)
            continue;
        const struct fit fit = fit_of(phrase, words, folded_cell);
        if (fit.why != NULL) {
            found->denied = phrase->role;
            found->why = fit.why;
            is_reading = is_reading && fit.why == other_unit;
        }
        if (fit.score > found->score) {
            found->role = phrase->role;
            found->score = fit.score;
            found->lesser = fit.lesser;
            found->words = phrase->words;
        }
    }
    /* Last, for any word that is known says more than a unit. */
    if (found->score < UNIT_ALONE && is_reading && !is_lap_time)
        read_unit_alone(found, words, folded_cell);
}

/* Words that the matched phrase and a unit do not account for: "RPM" is plainer
 * than "RPM raw 2". */
static size_t count_strangers(const struct kw_words *words,
                              const char *phrase,
                              enum kw_quantity quantity)
{
    size_t n = 0;
    for (size_t i = 0; i < words->n; i++) {
        bool known =
            quantity != KW_QUANTITY_NONE &&
            kw_unit_in(words->at[i], words->length[i], quantity) != NULL;
        for (const char *p = phrase; !known && *p != '\0';
             p += strspn(p, " ")) {
            const size_t length = strcspn(p, " ");
            known = kw_word_is(words->at[i], words->length[i], p, length);
            p += length;
        }
        n += !known;
    }
    return n;
}

/* A heading that says nothing may be misspelt. What it says then is taken only
 * where no well-spelt heading says it, and what spoils it is asked of the words
 * as they stand there. */
static void read_misspelt(struct kw_heading *found,
                          const struct kw_words *words,
                          const char *folded_cell)
{
    struct kw_words mended = *words;
    struct kw_heading guess = nothing;
    const char *why = NULL;
    if (!kw_words_mend(&mended))
        return;
    read_phrases(&guess, &mended, folded_cell);
    if (guess.role == KW_N_ROLES ||
        is_of_another(words, kw_role_quantity(guess.role)) ||
        kw_standing_of(words, guess.role, false, &why) == KW_DERIVED)
        return;
    *found = guess;
    found->lesser = true;
    found->score = guess.score < LESSER ? guess.score : LESSER;
}

/* The axle has words of its own, but any engine speed beside the word wheel is
 * the axle's too. */
struct kw_heading kw_heading_read(const char *heading, const char *unit_cell)
{
    struct kw_heading found = nothing;
    struct kw_words words;
    char folded_cell[KW_FOLDED_SIZE];
    kw_words_split(heading, KW_QUANTITY_NONE, &words);
    kw_fold(unit_cell, folded_cell);
    read_phrases(&found, &words, folded_cell);
    if (found.role == KW_N_ROLES && found.denied == KW_N_ROLES)
        read_misspelt(&found, &words, folded_cell);
    if (found.role == KW_ROLE_RPM &&
        kw_words_have_any(&words, axle_words, N_AXLE_WORDS))
        found.role = KW_ROLE_AXLE_RPM;
    if (found.role == KW_N_ROLES)
        return found;
    found.unit = kw_heading_unit(found.role, heading, unit_cell);
    found.strangers =
        count_strangers(&words, found.words, kw_role_quantity(found.role));
    found.denied = KW_N_ROLES;
    found.why = "";
    return found;
}
