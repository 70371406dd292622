/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Headings in six languages. The table is for racers to read and add to; how it
 * is searched stands below it. */
#include "import/headings.h"

#include "import/fold.h"

#include <string.h>

/* One way to call a column. All words must be in the heading, in any order;
 * "*" stands for any letters. Accents are
 * off. The higher score wins. */
struct phrase {
    enum kw_role role;
    int score;
    const char *words;
};

static const struct phrase phrases[] = {
    /* time */
    {KW_ROLE_TIME, 9, "timestamp"},
    {KW_ROLE_TIME, 9, "time stamp"},
    {KW_ROLE_TIME, 9, "session time"},
    {KW_ROLE_TIME, 9, "elapsed*"},
    {KW_ROLE_TIME, 9, "zeitstempel"},
    {KW_ROLE_TIME, 9, "horodatage"},
    {KW_ROLE_TIME, 9, "marca tiempo"},
    {KW_ROLE_TIME, 8, "datetime"},
    {KW_ROLE_TIME, 8, "uhrzeit"},
    {KW_ROLE_TIME, 8, "laufzeit"},
    {KW_ROLE_TIME, 8, "messzeit"},
    {KW_ROLE_TIME, 7, "time"},
    {KW_ROLE_TIME, 7, "zeit"},
    {KW_ROLE_TIME, 7, "temps"},
    {KW_ROLE_TIME, 7, "tempo"},
    {KW_ROLE_TIME, 7, "tiempo"},
    {KW_ROLE_TIME, 6, "heure"},
    {KW_ROLE_TIME, 6, "hora"},
    {KW_ROLE_TIME, 6, "ora"},
    {KW_ROLE_TIME, 6, "orario"},
    {KW_ROLE_TIME, 6, "instant*"},
    {KW_ROLE_TIME, 6, "clock"},
    {KW_ROLE_TIME, 5, "seconds"},
    {KW_ROLE_TIME, 5, "sekunden"},
    {KW_ROLE_TIME, 5, "secondes"},
    {KW_ROLE_TIME, 5, "segundos"},
    {KW_ROLE_TIME, 5, "secondi"},
    {KW_ROLE_TIME, 5, "millis*"},
    {KW_ROLE_TIME, 4, "sec"},
    {KW_ROLE_TIME, 4, "secs"},
    {KW_ROLE_TIME, 4, "sek"},
    {KW_ROLE_TIME, 4, "ms"},
    {KW_ROLE_TIME, 4, "t"},
    /* engine speed */
    {KW_ROLE_RPM, 9, "engine speed"},
    {KW_ROLE_RPM, 9, "engine rpm"},
    {KW_ROLE_RPM, 9, "engine rev*"},
    {KW_ROLE_RPM, 9, "motor speed"},
    {KW_ROLE_RPM, 9, "motordrehzahl"},
    {KW_ROLE_RPM, 9, "motor* drehzahl"},
    {KW_ROLE_RPM, 9, "regime moteur"},
    {KW_ROLE_RPM, 9, "giri motore"},
    {KW_ROLE_RPM, 9, "regimen motor"},
    {KW_ROLE_RPM, 9, "rotac* motor"},
    {KW_ROLE_RPM, 9, "tours moteur"},
    {KW_ROLE_RPM, 9, "vueltas motor"},
    {KW_ROLE_RPM, 9, "velocidad* motor"},
    {KW_ROLE_RPM, 9, "vitesse moteur"},
    {KW_ROLE_RPM, 9, "vitesse rotation"},
    {KW_ROLE_RPM, 9, "velocita motore"},
    {KW_ROLE_RPM, 9, "crank* speed"},
    {KW_ROLE_RPM, 8, "rpm"},
    {KW_ROLE_RPM, 8, "rpms"},
    {KW_ROLE_RPM, 8, "drehzahl"},
    {KW_ROLE_RPM, 8, "contagiri"},
    {KW_ROLE_RPM, 8, "cuentarrevoluciones"},
    {KW_ROLE_RPM, 8, "conta rota*"},
    {KW_ROLE_RPM, 8, "compte tours"},
    {KW_ROLE_RPM, 7, "regime"},
    {KW_ROLE_RPM, 7, "regimen"},
    {KW_ROLE_RPM, 7, "giri"},
    {KW_ROLE_RPM, 7, "rotacao"},
    {KW_ROLE_RPM, 7, "rotacoes"},
    {KW_ROLE_RPM, 7, "revoluciones"},
    {KW_ROLE_RPM, 7, "revolutions"},
    {KW_ROLE_RPM, 7, "revs"},
    {KW_ROLE_RPM, 7, "umdrehung*"},
    {KW_ROLE_RPM, 6, "nmot"},
    {KW_ROLE_RPM, 6, "n mot*"},
    {KW_ROLE_RPM, 5, "tach*"},
    {KW_ROLE_RPM, 5, "upm"},
    {KW_ROLE_RPM, 4, "rev"},
    {KW_ROLE_RPM, 5, "tours"},
    /* the driven axle */
    {KW_ROLE_AXLE_RPM, 11, "axle rpm"},
    {KW_ROLE_AXLE_RPM, 11, "axle speed"},
    {KW_ROLE_AXLE_RPM, 11, "axle rev*"},
    {KW_ROLE_AXLE_RPM, 11, "achs* drehzahl"},
    {KW_ROLE_AXLE_RPM, 11, "achs*drehzahl"},
    {KW_ROLE_AXLE_RPM, 11, "hinterachs*"},
    {KW_ROLE_AXLE_RPM, 11, "rad*drehzahl"},
    {KW_ROLE_AXLE_RPM, 11, "wheel rpm"},
    {KW_ROLE_AXLE_RPM, 11, "regime essieu"},
    {KW_ROLE_AXLE_RPM, 11, "regimen eje"},
    {KW_ROLE_AXLE_RPM, 11, "giri assale"},
    {KW_ROLE_AXLE_RPM, 11, "giri asse"},
    {KW_ROLE_AXLE_RPM, 11, "rotac* eixo"},
    {KW_ROLE_AXLE_RPM, 9, "axle"},
    {KW_ROLE_AXLE_RPM, 9, "essieu"},
    {KW_ROLE_AXLE_RPM, 9, "assale"},
    {KW_ROLE_AXLE_RPM, 9, "eixo"},
    {KW_ROLE_AXLE_RPM, 9, "eje"},
    {KW_ROLE_AXLE_RPM, 9, "achse"},
    /* exhaust temperature */
    {KW_ROLE_EGT, 11, "egt*"},
    {KW_ROLE_EGT, 11, "exhaust temp*"},
    {KW_ROLE_EGT, 11, "exhaust gas"},
    {KW_ROLE_EGT, 10, "abgas*"},
    {KW_ROLE_EGT, 10, "auspuff*"},
    {KW_ROLE_EGT, 10, "kruemmer*"},
    {KW_ROLE_EGT, 10, "krummer*"},
    {KW_ROLE_EGT, 10, "*echappement"},
    {KW_ROLE_EGT, 10, "gaz* echap*"},
    {KW_ROLE_EGT, 10, "temp* gaz"},
    {KW_ROLE_EGT, 10, "escape"},
    {KW_ROLE_EGT, 10, "escapamento"},
    {KW_ROLE_EGT, 10, "scarico"},
    {KW_ROLE_EGT, 10, "gas* scarico"},
    {KW_ROLE_EGT, 9, "temp* gases"},
    {KW_ROLE_EGT, 9, "temp* gas"},
    {KW_ROLE_EGT, 8, "exhaust"},
    {KW_ROLE_EGT, 8, "header temp*"},
    {KW_ROLE_EGT, 8, "pipe temp*"},
    {KW_ROLE_EGT, 6, "exh"},
    {KW_ROLE_EGT, 4, "thermocouple*"},
    {KW_ROLE_EGT, 4, "tc"},
    /* speed over ground */
    {KW_ROLE_SPEED, 10, "gps speed"},
    {KW_ROLE_SPEED, 10, "vehicle speed"},
    {KW_ROLE_SPEED, 10, "ground speed"},
    {KW_ROLE_SPEED, 10, "kart speed"},
    {KW_ROLE_SPEED, 9, "fahrgeschwindigkeit"},
    {KW_ROLE_SPEED, 8, "geschwindigkeit*"},
    {KW_ROLE_SPEED, 8, "geschw*"},
    {KW_ROLE_SPEED, 8, "vitesse"},
    {KW_ROLE_SPEED, 8, "velocidad"},
    {KW_ROLE_SPEED, 8, "velocidade"},
    {KW_ROLE_SPEED, 8, "velocita"},
    {KW_ROLE_SPEED, 8, "velocity"},
    {KW_ROLE_SPEED, 7, "speed"},
    {KW_ROLE_SPEED, 6, "speedo*"},
    {KW_ROLE_SPEED, 6, "wheel speed"},
    {KW_ROLE_SPEED, 5, "vel"},
    {KW_ROLE_SPEED, 5, "v gps"},
    {KW_ROLE_SPEED, 4, "kmh"},
    {KW_ROLE_SPEED, 4, "mph"},
    /* position */
    {KW_ROLE_LATITUDE, 9, "latitud*"},
    {KW_ROLE_LATITUDE, 9, "breitengrad"},
    {KW_ROLE_LATITUDE, 9, "geogr* breite"},
    {KW_ROLE_LATITUDE, 7, "lat"},
    {KW_ROLE_LATITUDE, 7, "breite"},
    {KW_ROLE_LONGITUDE, 9, "longitud*"},
    {KW_ROLE_LONGITUDE, 9, "langengrad"},
    {KW_ROLE_LONGITUDE, 9, "laengengrad"},
    {KW_ROLE_LONGITUDE, 9, "geogr* lange"},
    {KW_ROLE_LONGITUDE, 9, "geogr* laenge"},
    {KW_ROLE_LONGITUDE, 7, "lon"},
    {KW_ROLE_LONGITUDE, 7, "long"},
    {KW_ROLE_LONGITUDE, 7, "lng"},
    {KW_ROLE_LONGITUDE, 7, "lange"},
    {KW_ROLE_LONGITUDE, 7, "laenge"},
    /* lap number */
    {KW_ROLE_LAP, 9, "lap n*"},
    {KW_ROLE_LAP, 9, "lap #"},
    {KW_ROLE_LAP, 9, "lap count*"},
    {KW_ROLE_LAP, 9, "lap index"},
    {KW_ROLE_LAP, 9, "runden*"},
    {KW_ROLE_LAP, 9, "numero tour"},
    {KW_ROLE_LAP, 9, "n tour"},
    {KW_ROLE_LAP, 9, "no tour"},
    {KW_ROLE_LAP, 9, "numero giro"},
    {KW_ROLE_LAP, 9, "numero vuelta"},
    {KW_ROLE_LAP, 9, "numero volta"},
    {KW_ROLE_LAP, 8, "lap"},
    {KW_ROLE_LAP, 8, "runde"},
    {KW_ROLE_LAP, 8, "vuelta"},
    {KW_ROLE_LAP, 8, "giro"},
    {KW_ROLE_LAP, 8, "volta"},
    {KW_ROLE_LAP, 7, "tour"},
    {KW_ROLE_LAP, 7, "laps"},
    {KW_ROLE_LAP, 7, "voltas"},
    {KW_ROLE_LAP, 5, "vueltas"},
    /* passing the line */
    {KW_ROLE_LAP_MARKER, 12, "lap marker"},
    {KW_ROLE_LAP_MARKER, 12, "lap beacon"},
    {KW_ROLE_LAP_MARKER, 12, "lap trigger"},
    {KW_ROLE_LAP_MARKER, 12, "lap signal"},
    {KW_ROLE_LAP_MARKER, 12, "lap flag"},
    {KW_ROLE_LAP_MARKER, 12, "runden* marke*"},
    {KW_ROLE_LAP_MARKER, 12, "runden*marke*"},
    {KW_ROLE_LAP_MARKER, 12, "runden* signal"},
    {KW_ROLE_LAP_MARKER, 12, "runden*signal"},
    {KW_ROLE_LAP_MARKER, 12, "runden*trigger"},
    {KW_ROLE_LAP_MARKER, 12, "marqueur* tour"},
    {KW_ROLE_LAP_MARKER, 12, "top tour"},
    {KW_ROLE_LAP_MARKER, 12, "marca* vuelta"},
    {KW_ROLE_LAP_MARKER, 12, "marca* giro"},
    {KW_ROLE_LAP_MARKER, 12, "marca* volta"},
    {KW_ROLE_LAP_MARKER, 12, "segnale giro"},
    {KW_ROLE_LAP_MARKER, 10, "finish line"},
    {KW_ROLE_LAP_MARKER, 10, "start finish"},
    {KW_ROLE_LAP_MARKER, 10, "ziellinie"},
    {KW_ROLE_LAP_MARKER, 10, "beacon"},
    {KW_ROLE_LAP_MARKER, 10, "balise"},
    {KW_ROLE_LAP_MARKER, 10, "baliza"},
    {KW_ROLE_LAP_MARKER, 10, "traguardo"},
    {KW_ROLE_LAP_MARKER, 9, "marker"},
    {KW_ROLE_LAP_MARKER, 9, "marqueur"},
    {KW_ROLE_LAP_MARKER, 9, "marcador"},
    {KW_ROLE_LAP_MARKER, 9, "marcatore"},
    {KW_ROLE_LAP_MARKER, 7, "trigger"},
    /* water */
    {KW_ROLE_WATER_TEMP, 10, "water*"},
    {KW_ROLE_WATER_TEMP, 10, "coolant*"},
    {KW_ROLE_WATER_TEMP, 10, "wasser*"},
    {KW_ROLE_WATER_TEMP, 10, "kuhl*"},
    {KW_ROLE_WATER_TEMP, 10, "kuehl*"},
    {KW_ROLE_WATER_TEMP, 10, "eau"},
    {KW_ROLE_WATER_TEMP, 10, "agua"},
    {KW_ROLE_WATER_TEMP, 10, "acqua"},
    {KW_ROLE_WATER_TEMP, 10, "*refroidissement"},
    {KW_ROLE_WATER_TEMP, 10, "*refrigera*"},
    {KW_ROLE_WATER_TEMP, 8, "h2o"},
    {KW_ROLE_WATER_TEMP, 8, "radiator*"},
    /* cylinder head */
    {KW_ROLE_HEAD_TEMP, 10, "cylinder head"},
    {KW_ROLE_HEAD_TEMP, 10, "head temp*"},
    {KW_ROLE_HEAD_TEMP, 10, "cht*"},
    {KW_ROLE_HEAD_TEMP, 10, "zylinderkopf*"},
    {KW_ROLE_HEAD_TEMP, 10, "kopftemp*"},
    {KW_ROLE_HEAD_TEMP, 10, "kopf"},
    {KW_ROLE_HEAD_TEMP, 10, "culasse"},
    {KW_ROLE_HEAD_TEMP, 10, "culata"},
    {KW_ROLE_HEAD_TEMP, 10, "testa*"},
    {KW_ROLE_HEAD_TEMP, 10, "cabeca*"},
    {KW_ROLE_HEAD_TEMP, 10, "cabecote"},
    {KW_ROLE_HEAD_TEMP, 8, "head"},
    {KW_ROLE_HEAD_TEMP, 8, "cylinder temp*"},
    /* throttle */
    {KW_ROLE_THROTTLE, 10, "throttle*"},
    {KW_ROLE_THROTTLE, 10, "tps"},
    {KW_ROLE_THROTTLE, 10, "gaspedal*"},
    {KW_ROLE_THROTTLE, 10, "gasstellung"},
    {KW_ROLE_THROTTLE, 10, "gas pedal"},
    {KW_ROLE_THROTTLE, 10, "drossel*"},
    {KW_ROLE_THROTTLE, 10, "papillon"},
    {KW_ROLE_THROTTLE, 10, "*accelerateur"},
    {KW_ROLE_THROTTLE, 10, "acelerador"},
    {KW_ROLE_THROTTLE, 10, "acceleratore"},
    {KW_ROLE_THROTTLE, 10, "mariposa"},
    {KW_ROLE_THROTTLE, 10, "farfalla"},
    {KW_ROLE_THROTTLE, 10, "borboleta"},
    {KW_ROLE_THROTTLE, 10, "accelerator"},
    {KW_ROLE_THROTTLE, 6, "pedal*"},
    {KW_ROLE_THROTTLE, 4, "gas"},
    {KW_ROLE_THROTTLE, 4, "gaz"},
    /* acceleration */
    {KW_ROLE_ACCEL_LONG, 12, "langsbeschl*"},
    {KW_ROLE_ACCEL_LONG, 12, "laengsbeschl*"},
    {KW_ROLE_ACCEL_LONG, 12, "acc* long*"},
    {KW_ROLE_ACCEL_LONG, 12, "acel* long*"},
    {KW_ROLE_ACCEL_LONG, 12, "g long*"},
    {KW_ROLE_ACCEL_LONG, 12, "long* g"},
    {KW_ROLE_ACCEL_LONG, 12, "acc* inline"},
    {KW_ROLE_ACCEL_LONG, 12, "beschl* langs*"},
    {KW_ROLE_ACCEL_LONG, 12, "beschl* laengs*"},
    {KW_ROLE_ACCEL_LONG, 9, "acc* x"},
    {KW_ROLE_ACCEL_LONG, 9, "acel* x"},
    {KW_ROLE_ACCEL_LONG, 9, "beschl* x"},
    {KW_ROLE_ACCEL_LONG, 9, "ax"},
    {KW_ROLE_ACCEL_LONG, 9, "g x"},
    {KW_ROLE_ACCEL_LAT, 12, "querbeschl*"},
    {KW_ROLE_ACCEL_LAT, 12, "acc* lat*"},
    {KW_ROLE_ACCEL_LAT, 12, "acel* lat*"},
    {KW_ROLE_ACCEL_LAT, 12, "g lat*"},
    {KW_ROLE_ACCEL_LAT, 12, "lat* g"},
    {KW_ROLE_ACCEL_LAT, 12, "acc* trasv*"},
    {KW_ROLE_ACCEL_LAT, 12, "acc* transv*"},
    {KW_ROLE_ACCEL_LAT, 12, "acel* transv*"},
    {KW_ROLE_ACCEL_LAT, 12, "beschl* quer*"},
    {KW_ROLE_ACCEL_LAT, 9, "acc* y"},
    {KW_ROLE_ACCEL_LAT, 9, "acel* y"},
    {KW_ROLE_ACCEL_LAT, 9, "beschl* y"},
    {KW_ROLE_ACCEL_LAT, 9, "ay"},
    {KW_ROLE_ACCEL_LAT, 9, "g y"},
    /* battery */
    {KW_ROLE_BATTERY_V, 9, "batt*"},
    {KW_ROLE_BATTERY_V, 9, "bater*"},
    {KW_ROLE_BATTERY_V, 9, "vbat*"},
    {KW_ROLE_BATTERY_V, 9, "ubat*"},
    {KW_ROLE_BATTERY_V, 9, "bordspannung"},
    {KW_ROLE_BATTERY_V, 7, "voltage"},
    {KW_ROLE_BATTERY_V, 7, "*spannung"},
    {KW_ROLE_BATTERY_V, 7, "tension*"},
    {KW_ROLE_BATTERY_V, 7, "tensao"},
    {KW_ROLE_BATTERY_V, 6, "volt*"},
};

/* A column with one of these is not what its other words say. */
static const char *const spoilers[] = {
    "limit*",   "limite",   "target*", "soll*",     "max*",    "min*",
    "massim*",  "avg",      "average", "mean",      "mittel*", "moy*",
    "media",    "medio",    "best*",   "diff*",     "delta",   "alarm*",
    "status",   "error*",   "fehler*", "sector*",   "sektor*", "secteur",
    "split*",   "oil",      "ol",      "oel",       "huile",   "aceite",
    "olio",     "oleo",     "intake",  "ambient*",  "aussen*", "air",
    "luft*",    "aria",     "aire",    "ansaug*",   "fuel",    "press*",
    "druck",    "altitude", "hohe",    "heading",   "kurs",    "course",
    "sat*",     "distance", "distanz", "strecke",   "brake*",  "brems*",
    "frein*",   "freno",    "steer*",  "lenk*",     "volante", "hdop",
    "accuracy", "shift*",   "ref",     "reference", "logger",  "box",
    "internal", "kalt*",    "cold",    "vertical",  "gyro*",   "yaw",
};

/* A second clock: the logger's own comes first. */
static const char *const second_clock[] = {"gps", "utc", "local"};

/* Words that make "lap" the time of a lap, which is no role. */
static const char *const lap_time_words[] = {
    "time",   "zeit",   "temps",      "tempo",
    "tiempo", "chrono", "rundenzeit", "zeiten",
};

enum {
    N_PHRASES = sizeof phrases / sizeof phrases[0],
    N_SPOILERS = sizeof spoilers / sizeof spoilers[0],
    N_LAP_TIME_WORDS = sizeof lap_time_words / sizeof lap_time_words[0],
    MOST_WORDS = 24,
    UNIT_AGREES = 2,
    N_SECOND_CLOCK = sizeof second_clock / sizeof second_clock[0],
    UNIT_DISAGREES = -4,
    UNIT_ALONE = 4,
    SECOND_CLOCK = -2
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

/* The "min" of 1/min and min-1 is part of a unit and no smallest value. */
static bool is_in_unit(const char *folded, const char *first, const char *end)
{
    return (first > folded && first[-1] == '/') || *end == '^' ||
           (*end == '-' && end[1] == '1');
}

/* Words are runs of letters, of digits, or single signs like '#'; "h2o" stays
 * one. */
static void split(const char *heading, struct words *words)
{
    kw_fold(heading, words->folded);
    words->n = 0;
    for (const char *p = words->folded; *p != '\0' && words->n < MOST_WORDS;) {
        if (strncmp(p, "h2o", 3) == 0) {
            words->at[words->n] = p;
            words->length[words->n++] = 3;
            p += 3;
            continue;
        }
        const char *first = p;
        if (is_letter(*p)) {
            while (is_letter(*p))
                p++;
        } else if (is_digit(*p)) {
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
static bool word_is(const char *word, size_t word_length, const char *pattern,
                    size_t length)
{
    const char *star = memchr(pattern, '*', length);
    if (star == NULL)
        return word_length == length && memcmp(word, pattern, length) == 0;
    const size_t head = (size_t)(star - pattern);
    const size_t tail = length - head - 1;
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
 * only where nothing but a unit follows it: "t [s]", not "T1". */
static bool has_phrase(const struct words *words, const char *phrase)
{
    if (phrase[1] == '\0' && (words->n > 2 || words->length[0] != 1 ||
                              (words->n == 2 && is_digit(*words->at[1]))))
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

/* A unit between brackets, or the whole text where it has none. */
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

static const struct kw_unit *find_unit(const char *folded_heading,
                                       const char *folded_cell,
                                       enum kw_quantity quantity)
{
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
    return find_unit(folded_heading, folded_cell, quantity);
}

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

/* How well a phrase fits: its score, more for a unit of the right kind, less
 * for one of another. */
static int phrase_score(const struct phrase *phrase,
                        const struct words *words,
                        const char *folded_cell)
{
    const enum kw_quantity quantity = kw_role_quantity(phrase->role);
    int score = phrase->score;
    if (quantity == KW_QUANTITY_NONE)
        return score;
    if (phrase->role == KW_ROLE_TIME &&
        has_any(words, second_clock, N_SECOND_CLOCK))
        score += SECOND_CLOCK;
    if (find_unit(words->folded, folded_cell, quantity) != NULL)
        return score + UNIT_AGREES;
    const bool other =
        unit_in_brackets(words->folded, KW_QUANTITY_NONE) != NULL ||
        unit_in_brackets(folded_cell, KW_QUANTITY_NONE) != NULL ||
        unit_in(folded_cell, strlen(folded_cell), KW_QUANTITY_NONE) != NULL;
    return other ? score + UNIT_DISAGREES : score;
}

/* Nothing but a unit: "rpm" and "km/h" say enough, "C" does not. */
static void read_unit_alone(struct kw_heading *found,
                            const char *folded_heading,
                            const char *folded_cell)
{
    static const enum kw_role telling[] = {KW_ROLE_RPM, KW_ROLE_SPEED};
    for (size_t i = 0; i < sizeof telling / sizeof telling[0]; i++) {
        if (find_unit(folded_heading, folded_cell,
                      kw_role_quantity(telling[i])) == NULL)
            continue;
        found->role = telling[i];
        found->score = UNIT_ALONE;
        found->words = "its unit";
        return;
    }
}

struct kw_heading kw_heading_read(const char *heading, const char *unit_cell)
{
    struct kw_heading found = {KW_N_ROLES, 0, NULL, ""};
    struct words words;
    char folded_cell[KW_FOLDED_SIZE];
    split(heading, &words);
    kw_fold(unit_cell, folded_cell);
    if (has_any(&words, spoilers, N_SPOILERS))
        return found;
    const bool is_lap_time = has_any(&words, lap_time_words, N_LAP_TIME_WORDS);
    for (size_t i = 0; i < N_PHRASES; i++) {
        const struct phrase *phrase = &phrases[i];
        if (!has_phrase(&words, phrase->words))
            continue;
        if (phrase->role == KW_ROLE_LAP && is_lap_time) {
            found.role = KW_N_ROLES;
            break;
        }
        const int score = phrase_score(phrase, &words, folded_cell);
        if (score > found.score) {
            found.role = phrase->role;
            found.score = score;
            found.words = phrase->words;
        }
    }
    if (found.score < UNIT_ALONE && !is_lap_time)
        read_unit_alone(&found, words.folded, folded_cell);
    if (found.role == KW_N_ROLES)
        found.score = 0;
    else
        found.unit = kw_heading_unit(found.role, heading, unit_cell);
    return found;
}
