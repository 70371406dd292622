/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Searching a heading for the words of heading_words.c and for a unit.
 *
 * Headings are folded first (no case, no accents, no punctuation), so that
 * "Temp. échappement [°C]" and "temp echappement" are one. Each phrase of the
 * table says how surely it means its role; a unit of the right kind adds to
 * that, and the surest wins. */
#include "import/headings.h"

#include "import/fold.h"
#include "import/heading_units.h"
#include "import/heading_words.h"

#include <string.h>

/* A second clock: the logger's own comes first. */
static const char *const second_clock[] = {"gps", "utc", "local"};

/* What a reading was or may yet be, which loses against the reading itself. */
static const char *const lesser_words[] = {
    "peak*", "highest", "raw", "spitze*", "pic", "pico", "picco"};

/* A time that runs down. "EGT left" is a probe. */
static const char *const countdown_words[] = {
    "left", "remain*", "rest*", "restant*", "countdown", "rimanent*"};

/* Words that make "lap" the time of a lap, which is no role. */
static const char *const lap_time_words[] = {
    "time",       "zeit",   "temps", "tempo", "tiempo", "chrono",
    "rundenzeit", "zeiten", "czas",  "cas",   "tid",    "tijd",
};

/* Words that make engine speed the speed of the driven axle. */
static const char *const axle_words[] = {
    "axle",  "wheel", "achs*", "hinterachs*", "rad*",   "essieu",
    "axe",   "roue*", "eje",   "rueda",       "assale", "asse",
    "ruota", "eixo",  "roda",  "rear",
};

/* Words that make a reading something that is none, and why. A unit of the
 * right kind beside a word that is about the form of the numbers outweighs
 * it. */
struct no_reading {
    const char *word;
    bool form;
    const char *why;
};

static const struct no_reading no_readings[] = {
    {"rate", false, "a rate of change is no reading"},
    {"trend", false, "a rate of change is no reading"},
    {"gradient", false, "a rate of change is no reading"},
    {"slope", false, "a rate of change is no reading"},
    {"adc", true, "numbers of a converter are no temperature"},
    {"counts", true, "numbers of a converter are no temperature"},
    {"raw", true, "raw numbers are no temperature"},
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
    N_LESSER_WORDS = sizeof lesser_words / sizeof lesser_words[0],
    N_COUNTDOWN_WORDS = sizeof countdown_words / sizeof countdown_words[0],
    N_SECOND_CLOCK = sizeof second_clock / sizeof second_clock[0],
    MOST_WORDS = 24 /* words of a heading that are looked at */
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
    LEAST_TIME_WORD = 6
};

/* ---- matching ------------------------------------------------------------ */

/* A heading as words, pointing into `folded`. */
struct words {
    char folded[KW_FOLDED_SIZE];
    const char *at[MOST_WORDS];
    size_t length[MOST_WORDS];
    size_t n;
};

static bool is_letter(char c)
{
    return c >= 'a' && c <= 'z';
}

static bool is_digit(char c)
{
    return c >= '0' && c <= '9';
}

/* The "min" of 1/min and min-1 is part of a unit and no smallest value. "min"
 * alone is a spoiler: "RPM min" is a summary and no trace. Without this
 * "Drehzahl 1/min" would be spoiled by its unit. */
static bool is_in_unit(const char *folded, const char *first, const char *end)
{
    if (end - first != 3 || memcmp(first, "min", 3) != 0)
        return false;
    return (first > folded && first[-1] == '/') || *end == '^' ||
           (*end == '-' && end[1] == '1');
}

/* Bytes of a bracket at p that holds nothing but a unit of that quantity (NONE
 * for any), 0 for another. */
static size_t unit_bracket(const char *p, enum kw_quantity quantity)
{
    if (*p == '\0' || strchr("([{<", *p) == NULL)
        return 0;
    /* The kind of bracket is not matched: what stands open at the end of a cut
     * heading is read too. */
    const size_t length = strcspn(p + 1, ")]}>");
    return kw_unit_in(p + 1, length, quantity) != NULL ? length + 1 : 0;
}

/* Bytes of a substance's formula that p begins with; 0 for none. */
static size_t formula_at(const char *p)
{
    static const char *const formulas[] = {"h2o", "co2", "o2"};
    for (size_t i = 0; i < sizeof formulas / sizeof formulas[0]; i++) {
        const size_t length = strlen(formulas[i]);
        if (strncmp(p, formulas[i], length) == 0)
            return length;
    }
    return 0;
}

/* Words are runs of letters, of digits, or single signs like '#'; "h2o" stays
 * one. Units between brackets, of that quantity or any, are no words: "(min)"
 * is no smallest value. */
static void split(const char *heading,
                  enum kw_quantity unit,
                  struct words *words)
{
    kw_fold(heading, words->folded);
    words->n = 0;
    for (const char *p = words->folded; *p != '\0' && words->n < MOST_WORDS;) {
        /* Else it would fall apart into h, 2 and o, and say nothing of
         * water. */
        const size_t formula = formula_at(p);
        if (formula > 0) {
            words->at[words->n] = p;
            words->length[words->n++] = formula;
            p += formula;
            continue;
        }
        const size_t skipped = unit_bracket(p, unit);
        p += skipped;
        const char *first = p;
        if (skipped > 0)
            continue;
        if (is_letter(*p)) {
            while (is_letter(*p))
                p++;
        } else if (is_digit(*p)) {
            /* Digits are words, so that "EGT1" and "EGT 1" are the same. */
            while (is_digit(*p))
                p++;
        } else if (*p++ != '#') {
            continue;
        }
        if (is_in_unit(words->folded, first, p))
            continue;
        words->at[words->n] = first;
        words->length[words->n++] = (size_t)(p - first);
    }
}

/* Compares a word with a pattern of `length` letters and stars: what stands
 * before a star must begin the word, what stands behind it must end it. */
static bool word_is(const char *word,
                    size_t word_length,
                    const char *pattern,
                    size_t length)
{
    const char *star = memchr(pattern, '*', length);
    if (star == NULL)
        return word_length == length && memcmp(word, pattern, length) == 0;
    const size_t head = (size_t)(star - pattern);
    const size_t tail = length - head - 1;
    /* "temp*" has nothing behind its star; "*temperatur" has nothing before it;
     * "*abgas*" has both. */
    const char *end = memchr(star + 1, '*', tail);
    if (word_length < head || memcmp(word, pattern, head) != 0)
        return false;
    word += head;
    word_length -= head;
    if (end == NULL)
        return word_length >= tail &&
               memcmp(word + word_length - tail, star + 1, tail) == 0;
    /* A second star ends the pattern: the part between may stand anywhere. */
    const size_t middle = (size_t)(end - star) - 1;
    for (size_t i = 0; i + middle <= word_length; i++) {
        if (memcmp(word + i, star + 1, middle) == 0)
            return true;
    }
    return false;
}

/* Order does not matter: "Temp. Abgas" and "Abgastemp." mean the same. */
static bool has_word(const struct words *words,
                     const char *pattern,
                     size_t length)
{
    for (size_t i = 0; i < words->n; i++) {
        if (word_is(words->at[i], words->length[i], pattern, length))
            return true;
    }
    return false;
}

/* Are all words of the phrase in the heading? A letter alone says something
 * only where nothing but a unit stands beside it: "t [s]", not "T1". */
static bool has_phrase(const struct words *words, const char *phrase)
{
    if (phrase[1] == '\0' && words->n != 1)
        return false;
    for (const char *p = phrase; *p != '\0'; p += strspn(p, " ")) {
        const size_t length = strcspn(p, " ");
        if (!has_word(words, p, length))
            return false;
        p += length;
    }
    return true;
}

static bool has_any(const struct words *words,
                    const char *const *list,
                    size_t n)
{
    for (size_t i = 0; i < n; i++) {
        if (has_word(words, list[i], strlen(list[i])))
            return true;
    }
    return false;
}

/* ---- the whole heading --------------------------------------------------- */

/* A spoiler ends the matter: "max RPM" is no engine speed however well the
 * rest fits. A temperature is no other quantity's value. */
static bool is_spoiled(const struct words *words, enum kw_quantity quantity)
{
    for (size_t i = 0; i < kw_n_spoilers; i++) {
        const struct kw_spoiler *spoiler = &kw_spoilers[i];
        /* Some words spoil one quantity only: "head" is a place for a
         * temperature and nonsense for a speed. */
        if ((spoiler->quantity == KW_QUANTITY_NONE ||
             spoiler->quantity == quantity) &&
            has_word(words, spoiler->word, strlen(spoiler->word)))
            return true;
    }
    return quantity != KW_QUANTITY_TEMPERATURE &&
           has_any(words, temperature_words, N_TEMPERATURE_WORDS);
}

bool kw_is_bare_temperature(const char *heading)
{
    struct words words;
    split(heading, KW_QUANTITY_NONE, &words);
    return words.n == 1 &&
           has_any(&words, temperature_words, N_TEMPERATURE_WORDS);
}

/* "time" and its like in all languages, as one word. */
static bool says_time(const char *word, size_t length)
{
    for (size_t i = 0; i < kw_n_phrases; i++) {
        const struct kw_phrase *phrase = &kw_phrases[i];
        if (phrase->role == KW_ROLE_TIME && phrase->score >= LEAST_TIME_WORD &&
            word_is(word, length, phrase->words, strlen(phrase->words)))
            return true;
    }
    /* "t_rpm": beside a word it says nothing elsewhere. */
    return length == 1 && *word == 't';
}

/* Joins the words but for the first that says time.
 *
 * returns  whether there was one. */
static bool join_without_time(const struct words *words, char *rest)
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
    struct words words;
    split(heading, KW_QUANTITY_NONE, &words);
    if (!join_without_time(&words, rest))
        return false;
    /* "Time (RPM)": what is a unit elsewhere says of which channel. */
    if (rest[0] == '\0') {
        split(heading, KW_QUANTITY_TIME, &words);
        join_without_time(&words, rest);
    }
    return true;
}

static const char other_unit[] = "its unit is none that is known for it";

/* "ADC1_H2O" begins with the name of an input. */
static bool is_input(const struct words *words, const char *word)
{
    return words->n > 1 && is_digit(*words->at[1]) &&
           word_is(words->at[0], words->length[0], word, strlen(word));
}

/* What else in a heading says that its numbers are no readings; NULL for
 * nothing.
 *
 * unit  of the right kind, NULL for none. */
static const char *no_reading(const struct words *words,
                              enum kw_quantity quantity,
                              const struct kw_unit *unit)
{
    const bool temperature = quantity == KW_QUANTITY_TEMPERATURE;
    if (!temperature && quantity != KW_QUANTITY_ENGINE_SPEED &&
        quantity != KW_QUANTITY_SPEED)
        return NULL;
    for (size_t i = 0; i < N_NO_READINGS; i++) {
        const struct no_reading *one = &no_readings[i];
        if (has_word(words, one->word, strlen(one->word)) &&
            (!one->form ||
             (temperature && unit == NULL && !is_input(words, one->word))))
            return one->why;
    }
    if (temperature && unit == NULL &&
        (strstr(words->folded, "x10") != NULL ||
         strstr(words->folded, "x 10") != NULL ||
         strstr(words->folded, "*10") != NULL ||
         strstr(words->folded, "/10") != NULL))
        return "a factor in a heading can be meant two ways";
    /* "dEGT": in front of its name, for probes may be called A to D. */
    return temperature && words->n > 1 && words->length[0] == 1 &&
                   *words->at[0] == 'd' && !is_digit(*words->at[1])
               ? "a rate of change is no reading"
               : NULL;
}

static bool is_lesser(const struct kw_phrase *phrase, const struct words *words)
{
    return has_any(words, lesser_words, N_LESSER_WORDS) ||
           (phrase->role == KW_ROLE_TIME &&
            has_any(words, countdown_words, N_COUNTDOWN_WORDS));
}

/* How well a phrase fits: its score, more for a unit of the right kind, none
 * for one of another: "speed [rpm]" is no speed over ground.
 *
 * why  filled in where it does not fit for a reason that the person may not
 *      see at once. */
static int phrase_score(const struct kw_phrase *phrase,
                        const struct words *words,
                        const char *folded_cell,
                        const char **why)
{
    const enum kw_quantity quantity = kw_role_quantity(phrase->role);
    const struct kw_unit *unit =
        quantity != KW_QUANTITY_NONE
            ? kw_find_stated_unit(words->folded, folded_cell, quantity)
            : NULL;
    if (is_spoiled(words, quantity))
        return 0;
    *why = no_reading(words, quantity, unit);
    if (*why != NULL)
        return 0;
    int score = phrase->score;
    if (phrase->role == KW_ROLE_TIME &&
        has_any(words, second_clock, N_SECOND_CLOCK))
        score += SECOND_CLOCK;
    /* A unit of the right kind is the strongest sign there is, and cannot
     * mislead: the words fitted too. */
    if (unit != NULL && !kw_unit_is_doubtful(unit, words->folded))
        return is_lesser(phrase, words) ? LESSER : score + UNIT_AGREES;
    /* A marker has no quantity, yet some exports give it a unit. */
    if (phrase->role != KW_ROLE_LAP_MARKER &&
        (unit != NULL ||
         kw_states_other_unit(words->folded, folded_cell, quantity))) {
        *why = other_unit;
        return 0;
    }
    return score > LESSER && is_lesser(phrase, words) ? LESSER : score;
}

static const struct kw_heading nothing = {.role = KW_N_ROLES,
                                          .words = "",
                                          .denied = KW_N_ROLES,
                                          .why = ""};

/* Nothing but a unit: "rpm" and "km/h" say enough, "C" does not. */
static void read_unit_alone(struct kw_heading *found,
                            const struct words *words,
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
        bool tells = unit != NULL && !is_spoiled(words, quantity);
        for (size_t k = 0; tells && k < sizeof silent / sizeof silent[0]; k++)
            tells = strcmp(unit->name, silent[k]) != 0;
        if (!tells)
            continue;
        found->role = telling[i];
        found->score = UNIT_ALONE;
        found->words = "its unit";
        return;
    }
}

/* The phrase that fits best. */
static void read_phrases(struct kw_heading *found,
                         const struct words *words,
                         const char *folded_cell)
{
    const bool is_lap_time = has_any(words, lap_time_words, N_LAP_TIME_WORDS);
    bool is_reading = true;
    for (size_t i = 0; i < kw_n_phrases; i++) {
        const struct kw_phrase *phrase = &kw_phrases[i];
        if (!has_phrase(words, phrase->words))
            continue;
        /* "Lap time" holds the clock within the lap or the last lap's time:
         * neither counts laps nor rises all session. */
        if (phrase->role == KW_ROLE_LAP && is_lap_time) {
            *found = nothing;
            return;
        }
        const char *why = NULL;
        const int score = phrase_score(phrase, words, folded_cell, &why);
        if (why != NULL) {
            found->denied = phrase->role;
            found->why = why;
            is_reading = is_reading && why == other_unit;
        }
        if (score > found->score) {
            found->role = phrase->role;
            found->score = score;
            found->words = phrase->words;
        }
    }
    /* Last, for any word that is known says more than a unit. */
    if (found->score < UNIT_ALONE && is_reading && !is_lap_time)
        read_unit_alone(found, words, folded_cell);
}

/* Words that the matched phrase and a unit do not account for: "RPM" is plainer
 * than "RPM raw 2". */
static size_t count_strangers(const struct words *words,
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
            known = word_is(words->at[i], words->length[i], p, length);
            p += length;
        }
        n += !known;
    }
    return n;
}

/* The axle has words of its own, but any engine speed beside the word wheel is
 * the axle's too. */
struct kw_heading kw_heading_read(const char *heading, const char *unit_cell)
{
    struct kw_heading found = nothing;
    struct words words;
    char folded_cell[KW_FOLDED_SIZE];
    split(heading, KW_QUANTITY_NONE, &words);
    kw_fold(unit_cell, folded_cell);
    read_phrases(&found, &words, folded_cell);
    if (found.role == KW_ROLE_RPM && has_any(&words, axle_words, N_AXLE_WORDS))
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
