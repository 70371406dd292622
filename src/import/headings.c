/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Searching a heading for the words of heading_words.c and for a unit.
 *
 * Headings are folded first (no case, no accents, no punctuation), so that
 * "Temp. échappement [°C]" and "temp echappement" are one. Each phrase of the
 * table says how surely it means its role; a unit of the right kind adds to
 * that, and the surest wins. */
#include "import/headings.h"

#include "import/fold.h"
#include "import/heading_words.h"

#include <string.h>

/* A second clock: the logger's own comes first. */
static const char *const second_clock[] = {"gps", "utc", "local"};

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

/* "temps" and "tempo" are times. Hence no star behind "temp". */
static const char *const temperature_words[] = {"temp", "temperat*",
                                                "*temperatur", "teplota"};

enum {
    N_AXLE_WORDS = sizeof axle_words / sizeof axle_words[0],
    N_TEMPERATURE_WORDS =
        sizeof temperature_words / sizeof temperature_words[0],
    N_LAP_TIME_WORDS = sizeof lap_time_words / sizeof lap_time_words[0],
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
    /* of a phrase for the time; "sec" and "ms" are rather units */
    LEAST_TIME_WORD = 6
};

/* ---- matching -------------------------------------------------------------
 */

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

static const struct kw_unit *unit_in(const char *text,
                                     size_t length,
                                     enum kw_quantity quantity);

/* Bytes of a bracket at p that holds nothing but a unit of that quantity (NONE
 * for any), 0 for another. */
static size_t unit_bracket(const char *p, enum kw_quantity quantity)
{
    if (*p == '\0' || strchr("([{<", *p) == NULL)
        return 0;
    /* The kind of bracket is not matched: what stands open at the end of a cut
     * heading is read too. */
    const size_t length = strcspn(p + 1, ")]}>");
    return unit_in(p + 1, length, quantity) != NULL ? length + 1 : 0;
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
        if (strncmp(p, "h2o", 3) == 0) {
            words->at[words->n] = p;
            words->length[words->n++] = 3;
            p += 3;
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

/* ---- units ----------------------------------------------------------------
 */

enum kw_quantity kw_role_quantity(enum kw_role role)
{
    /* A role that is not named here holds a plain number: zero is
     * KW_QUANTITY_NONE. */
    static const enum kw_quantity quantities[KW_N_ROLES] = {
        [KW_ROLE_TIME] = KW_QUANTITY_TIME,
        [KW_ROLE_RPM] = KW_QUANTITY_ENGINE_SPEED,
        [KW_ROLE_EGT] = KW_QUANTITY_TEMPERATURE,
        [KW_ROLE_SPEED] = KW_QUANTITY_SPEED,
        [KW_ROLE_LATITUDE] = KW_QUANTITY_ANGLE,
        [KW_ROLE_LONGITUDE] = KW_QUANTITY_ANGLE,
        [KW_ROLE_WATER_TEMP] = KW_QUANTITY_TEMPERATURE,
        [KW_ROLE_HEAD_TEMP] = KW_QUANTITY_TEMPERATURE,
        [KW_ROLE_THROTTLE] = KW_QUANTITY_FRACTION,
        [KW_ROLE_AXLE_RPM] = KW_QUANTITY_ENGINE_SPEED,
        [KW_ROLE_ACCEL_LONG] = KW_QUANTITY_ACCELERATION,
        [KW_ROLE_ACCEL_LAT] = KW_QUANTITY_ACCELERATION,
        [KW_ROLE_BATTERY_V] = KW_QUANTITY_VOLTAGE,
    };
    return role < KW_N_ROLES ? quantities[role] : KW_QUANTITY_NONE;
}

/* Finds the unit in a stretch of folded text, its spaces left out. A quantity
 * of none asks for a unit of any. */
static const struct kw_unit *unit_in(const char *text,
                                     size_t length,
                                     enum kw_quantity quantity)
{
    /* "deg / s" and "deg/s" are one unit. Longer than any spelling in the
     * table; what is cut off cannot match. */
    char squeezed[32];
    size_t n = 0;
    for (size_t i = 0; i < length && n + 1 < sizeof squeezed; i++) {
        if (text[i] != ' ')
            squeezed[n++] = text[i];
    }
    squeezed[n] = '\0';
    if (n == 0)
        return NULL;
    return quantity == KW_QUANTITY_NONE ? kw_unit_find_any(squeezed)
                                        : kw_unit_find(quantity, squeezed);
}

/* A unit between brackets; NULL where there are none, or none with a unit. */
static const struct kw_unit *unit_in_brackets(const char *folded,
                                              enum kw_quantity quantity)
{
    for (const char *p = folded; *p != '\0'; p++) {
        if (strchr("([{<", *p) == NULL)
            continue;
        const size_t length = strcspn(p + 1, ")]}>");
        const struct kw_unit *unit = unit_in(p + 1, length, quantity);
        if (unit != NULL)
            return unit;
    }
    return NULL;
}

/* A unit as the last word or words: "EGT C", "speed_km/h", "Zeit / s". */
static const struct kw_unit *unit_at_end(const char *folded,
                                         enum kw_quantity quantity)
{
    const size_t length = strlen(folded);
    /* From the left, so that the longest end is tried first: of "speed km/h"
     * that is "km/h" and not "h". */
    for (size_t i = 1; i < length; i++) {
        const bool starts = folded[i - 1] == ' ' || folded[i - 1] == '/' ||
                            folded[i - 1] == '-';
        if (!starts || folded[i] == ' ')
            continue;
        const struct kw_unit *unit = unit_in(folded + i, length - i, quantity);
        if (unit != NULL)
            return unit;
    }
    return NULL;
}

/* The units row is the plainest statement, then brackets in the heading, then
 * its last words, then all of it ("rpm"). */
static const struct kw_unit *find_unit(const char *folded_heading,
                                       const char *folded_cell,
                                       enum kw_quantity quantity)
{
    /* Of the right quantity only: a time column called "RPM clock [s]" is in
     * seconds. */
    const struct kw_unit *unit = unit_in_brackets(folded_cell, quantity);
    if (unit == NULL)
        unit = unit_in(folded_cell, strlen(folded_cell), quantity);
    if (unit == NULL)
        unit = unit_in_brackets(folded_heading, quantity);
    if (unit == NULL)
        unit = unit_at_end(folded_heading, quantity);
    if (unit == NULL)
        unit = unit_in(folded_heading, strlen(folded_heading), quantity);
    return unit;
}

const struct kw_unit *kw_heading_unit(enum kw_role role,
                                      const char *heading,
                                      const char *unit_cell)
{
    const enum kw_quantity quantity = kw_role_quantity(role);
    char folded_heading[KW_FOLDED_SIZE];
    char folded_cell[KW_FOLDED_SIZE];
    if (quantity == KW_QUANTITY_NONE)
        return NULL;
    kw_fold(heading, folded_heading);
    kw_fold(unit_cell, folded_cell);
    const struct kw_unit *unit =
        find_unit(folded_heading, folded_cell, quantity);
    /* "G lat" names its unit first. */
    if (unit == NULL && quantity == KW_QUANTITY_ACCELERATION &&
        /* Racers say "G lat" and "G long" where others say "lateral
         * acceleration [g]". */
        strncmp(folded_heading, "g ", 2) == 0)
        unit = kw_unit_find(quantity, "g");
    return unit;
}

/* Also "hh:mm:ss", which is how a clock states its form. */
bool kw_is_unit_cell(const char *cell)
{
    char folded[KW_FOLDED_SIZE];
    kw_fold(cell, folded);
    return unit_in_brackets(folded, KW_QUANTITY_NONE) != NULL ||
           unit_in(folded, strlen(folded), KW_QUANTITY_NONE) != NULL ||
           strstr(folded, "hh") != NULL;
}

/* ---- the whole heading ----------------------------------------------------
 */

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

/* A unit that stands where units stand, of whatever quantity. */
static bool states_unit(const char *folded_heading, const char *folded_cell)
{
    return unit_in_brackets(folded_heading, KW_QUANTITY_NONE) != NULL ||
           unit_in_brackets(folded_cell, KW_QUANTITY_NONE) != NULL ||
           unit_in(folded_cell, strlen(folded_cell), KW_QUANTITY_NONE) != NULL;
}

/* How well a phrase fits: its score, more for a unit of the right kind, none
 * for one of another: "speed [rpm]" is no speed over ground. */
static int phrase_score(const struct kw_phrase *phrase,
                        const struct words *words,
                        const char *folded_cell)
{
    const enum kw_quantity quantity = kw_role_quantity(phrase->role);
    if (is_spoiled(words, quantity))
        return 0;
    int score = phrase->score;
    if (phrase->role == KW_ROLE_TIME &&
        has_any(words, second_clock, N_SECOND_CLOCK))
        score += SECOND_CLOCK;
    /* A unit of the right kind is the strongest sign there is, and cannot
     * mislead: the words fitted too. */
    if (quantity != KW_QUANTITY_NONE &&
        find_unit(words->folded, folded_cell, quantity) != NULL)
        return score + UNIT_AGREES;
    /* A marker has no quantity, yet some exports give it a unit. */
    if (phrase->role != KW_ROLE_LAP_MARKER &&
        states_unit(words->folded, folded_cell))
        return 0;
    return score;
}

/* Nothing but a unit: "rpm" and "km/h" say enough, "C" does not. */
static void read_unit_alone(struct kw_heading *found,
                            const struct words *words,
                            const char *folded_cell)
{
    /* A temperature could be exhaust, water or head, and taking one for the
     * other is what this program must never do. */
    static const enum kw_role telling[] = {KW_ROLE_RPM, KW_ROLE_SPEED};
    for (size_t i = 0; i < sizeof telling / sizeof telling[0]; i++) {
        const enum kw_quantity quantity = kw_role_quantity(telling[i]);
        if (is_spoiled(words, quantity) ||
            find_unit(words->folded, folded_cell, quantity) == NULL)
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
    for (size_t i = 0; i < kw_n_phrases; i++) {
        const struct kw_phrase *phrase = &kw_phrases[i];
        if (!has_phrase(words, phrase->words))
            continue;
        /* "Lap time" holds the clock within the lap or the last lap's time:
         * neither counts laps nor rises all session. */
        if (phrase->role == KW_ROLE_LAP && is_lap_time) {
            *found = (struct kw_heading){KW_N_ROLES, 0, NULL, ""};
            return;
        }
        const int score = phrase_score(phrase, words, folded_cell);
        if (score > found->score) {
            found->role = phrase->role;
            found->score = score;
            found->words = phrase->words;
        }
    }
    /* Last, for any word that is known says more than a unit. */
    if (found->score < UNIT_ALONE && !is_lap_time)
        read_unit_alone(found, words, folded_cell);
}

/* The axle has words of its own, but any engine speed beside the word wheel is
 * the axle's too. */
struct kw_heading kw_heading_read(const char *heading, const char *unit_cell)
{
    struct kw_heading found = {KW_N_ROLES, 0, NULL, ""};
    struct words words;
    char folded_cell[KW_FOLDED_SIZE];
    split(heading, KW_QUANTITY_NONE, &words);
    kw_fold(unit_cell, folded_cell);
    read_phrases(&found, &words, folded_cell);
    if (found.role == KW_ROLE_RPM && has_any(&words, axle_words, N_AXLE_WORDS))
        found.role = KW_ROLE_AXLE_RPM;
    if (found.role != KW_N_ROLES)
        found.unit = kw_heading_unit(found.role, heading, unit_cell);
    return found;
}
