/* SPDX-License-Identifier: GPL-3.0-or-later */
/* One list for all roles: "Max RPM", "EGT max" and "Velocita massima" say the
 * same of three readings. English, German, French, Spanish, Italian and
 * Portuguese; common practice, no source. A word that is missing is mended by a
 * new row here, and a row in tests/import/test_heading_qualifiers.c. */
#include "import/heading_qualifiers.h"

#include <string.h>

/* What a word says of the reading. */
enum quality {
    EXTREME,
    LEAST,
    BEST,
    PEAK,
    MEAN,
    FORECAST,
    TARGET,
    LIMIT,
    DIFFERENCE,
    GAP,
    CHANGE,
    REMAINING,
    LEFT,
    TOTAL,
    LAST,
    CHARGE,
    VOLTS,
    RAW
};

#define ROLE(name) (1U << KW_ROLE_##name)
#define ALL_ROLES ((1U << KW_N_ROLES) - 1U)
#define TURNING (ROLE(RPM) | ROLE(AXLE_RPM))
#define HEAT (ROLE(EGT) | ROLE(WATER_TEMP) | ROLE(HEAD_TEMP))

/* What follows from each, for which roles.
 *
 * derives      never the reading itself.
 * lessens      taken only where no plainer heading is there; the values may
 *              speak against it later. "Laps total" may be the laps so far.
 * unit_speaks  a unit of the role outweighs the word: "charge voltage [V]".
 * why          for the person, where it derives. */
struct effect {
    unsigned derives;
    unsigned lessens;
    bool unit_speaks;
    const char *why;
};

static const struct effect effects[] = {
    [EXTREME] = {ALL_ROLES, 0, false,
                 "a highest or lowest value is no reading"},
    /* "Zeit_min" is in minutes. */
    [LEAST] = {ALL_ROLES & ~ROLE(TIME), ROLE(TIME), false,
               "a highest or lowest value is no reading"},
    [BEST] = {ALL_ROLES, 0, false, "the best value is no reading"},
    [PEAK] = {0, ALL_ROLES, false, ""},
    [MEAN] = {ALL_ROLES, 0, false, "a mean is no reading"},
    [FORECAST] = {ALL_ROLES, 0, false,
                  "a forecast or an estimate is no reading"},
    [TARGET] = {ALL_ROLES, 0, false, "a target is no reading"},
    [LIMIT] = {ALL_ROLES, 0, false, "a limit is no reading"},
    [DIFFERENCE] = {ALL_ROLES, 0, false, "a difference is no reading"},
    /* A time since the start is a difference of times too. */
    [GAP] = {ALL_ROLES & ~ROLE(TIME), ROLE(TIME), false,
             "a difference is no reading"},
    [CHANGE] = {TURNING | HEAT | ROLE(SPEED) | ROLE(THROTTLE), 0, false,
                "a rate of change is no reading"},
    [REMAINING] = {TURNING | ROLE(SPEED), ROLE(TIME) | ROLE(LAP), false,
                   "what remains is no reading"},
    /* "EGT left" is a probe. */
    [LEFT] = {0, ROLE(TIME) | ROLE(LAP), false, ""},
    [TOTAL] = {TURNING, ROLE(LAP), false, "a total is no reading"},
    [LAST] = {0, ROLE(LAP), false, ""},
    [CHARGE] = {ROLE(BATTERY_V), 0, true, "its charge is no voltage"},
    [VOLTS] = {0, ROLE(THROTTLE), false, ""},
    [RAW] = {0, ALL_ROLES, false, ""},
};

/* words  all must be in the heading; see kw_words_have(). */
struct qualifier {
    enum quality quality;
    const char *words;
};

static const struct qualifier qualifiers[] = {
    {EXTREME, "max*"},
    {EXTREME, "massim*"},
    {EXTREME, "hochst*"},
    {EXTREME, "hoechst*"},
    {LEAST, "min"},
    {EXTREME, "mini"},
    {EXTREME, "minim*"},
    {EXTREME, "mindest*"},
    {EXTREME, "top speed"},
    {EXTREME, "top rpm"},
    {EXTREME, "top revs"},
    {EXTREME, "punta"},
    {EXTREME, "pointe"},
    {EXTREME, "ponta"},
    {BEST, "best*"},
    {BEST, "fastest"},
    {BEST, "schnellst*"},
    {BEST, "plus rapide"},
    {BEST, "mas rapid*"},
    {BEST, "mais rapid*"},
    {BEST, "piu veloce"},
    {BEST, "meilleur*"},
    {BEST, "mejor*"},
    {BEST, "miglior*"},
    {BEST, "melhor*"},
    {PEAK, "peak*"},
    {PEAK, "highest"},
    {PEAK, "spitze*"},
    {PEAK, "pic"},
    {PEAK, "pico"},
    {PEAK, "picco"},
    {MEAN, "avg"},
    {MEAN, "average"},
    {MEAN, "mean"},
    {MEAN, "mittel*"},
    {MEAN, "*mittelwert"},
    {MEAN, "mittlere*"},
    {MEAN, "durchschnitt*"},
    {MEAN, "moy*"},
    {MEAN, "media"},
    {MEAN, "medio"},
    {MEAN, "medi"},
    {MEAN, "medie"},
    {MEAN, "medias"},
    {MEAN, "medios"},
    {MEAN, "promedio"},
    {MEAN, "prom"},
    {MEAN, "median*"},
    {FORECAST, "predict*"},
    {FORECAST, "forecast*"},
    {FORECAST, "estimat*"},
    {FORECAST, "previst*"},
    {FORECAST, "prevu*"},
    {FORECAST, "vorhersage"},
    {FORECAST, "vorauss*"},
    {FORECAST, "prognos*"},
    {FORECAST, "erwartet*"},
    {FORECAST, "estimad*"},
    {FORECAST, "stimat*"},
    {FORECAST, "estime*"},
    {FORECAST, "esperad*"},
    {TARGET, "target*"},
    {TARGET, "setpoint"},
    {TARGET, "ideal*"},
    {TARGET, "ref"},
    {TARGET, "reference"},
    {TARGET, "soll*"},
    {TARGET, "*soll"},
    {TARGET, "*sollwert"},
    {TARGET, "zielwert"},
    {TARGET, "zieldreh*"},
    {TARGET, "zielgeschw*"},
    {TARGET, "zieltemp*"},
    {TARGET, "vorgabe*"},
    {TARGET, "cible*"},
    {TARGET, "consigne*"},
    {TARGET, "objectif*"},
    {TARGET, "objetivo*"},
    {TARGET, "obiettivo*"},
    {TARGET, "alvo*"},
    {TARGET, "desired*"},
    {TARGET, "demand*"},
    {TARGET, "request*"},
    {TARGET, "command*"},
    {TARGET, "cmd"},
    {TARGET, "tgt"},
    {TARGET, "preset"},
    {TARGET, "goal"},
    {TARGET, "wunsch*"},
    /* "Tempolimit", "Drehzahllimit" */
    {LIMIT, "*limit*"},
    {LIMIT, "threshold"},
    {LIMIT, "alarm*"},
    {LIMIT, "grenz*"},
    {LIMIT, "*grenze"},
    {LIMIT, "*grenzwert"},
    {LIMIT, "begrenz*"},
    {LIMIT, "schwelle*"},
    {LIMIT, "seuil"},
    {LIMIT, "umbral"},
    {LIMIT, "soglia"},
    {LIMIT, "limiar"},
    {LIMIT, "abregel*"},
    {LIMIT, "nenn*"},
    {LIMIT, "alert*"},
    {LIMIT, "lim"},
    {LIMIT, "*schwelle"},
    {LIMIT, "warn*"},
    {LIMIT, "avviso"},
    {LIMIT, "aviso"},
    {LIMIT, "avert*"},
    {LIMIT, "cut"},
    {LIMIT, "cutoff"},
    {LIMIT, "coupure"},
    {LIMIT, "corte"},
    {LIMIT, "setting*"},
    {LIMIT, "einstell*"},
    {LIMIT, "reglage"},
    {LIMIT, "ajuste"},
    {LIMIT, "regolaz*"},
    {LIMIT, "impost*"},
    {DIFFERENCE, "diff*"},
    {DIFFERENCE, "delta"},
    {GAP, "gap"},
    {GAP, "offset*"},
    {GAP, "*differenz"},
    {GAP, "abweichung*"},
    {GAP, "ecart*"},
    {GAP, "diferen*"},
    {GAP, "scarto"},
    {GAP, "distacco"},
    {CHANGE, "rate"},
    {CHANGE, "trend"},
    {CHANGE, "slope"},
    {CHANGE, "gradient*"},
    {CHANGE, "derivat*"},
    {CHANGE, "derivad*"},
    {CHANGE, "derivee*"},
    {CHANGE, "anderung*"},
    {CHANGE, "aenderung*"},
    {CHANGE, "variation*"},
    {CHANGE, "variaci*"},
    {CHANGE, "variaca*"},
    {CHANGE, "variazion*"},
    {CHANGE, "change*"},
    {CHANGE, "rise"},
    {CHANGE, "anstieg*"},
    {CHANGE, "dt"},
    {CHANGE, "*anderung"},
    {CHANGE, "*aenderung"},
    {REMAINING, "remain*"},
    {REMAINING, "rest*"},
    {REMAINING, "verbleib*"},
    {REMAINING, "rimanent*"},
    {REMAINING, "countdown"},
    {REMAINING, "to go"},
    {REMAINING, "to finish"},
    {LEFT, "left"},
    {TOTAL, "total*"},
    {TOTAL, "totaux"},
    {TOTAL, "gesamt*"},
    {LAST, "last"},
    {LAST, "previous"},
    {LAST, "letzte*"},
    {LAST, "vorige*"},
    {LAST, "dernier*"},
    {LAST, "precedent*"},
    {LAST, "ultim*"},
    {LAST, "anterior*"},
    {CHARGE, "charge"},
    {CHARGE, "niveau"},
    {CHARGE, "nivel"},
    {CHARGE, "livello"},
    {CHARGE, "ladestand"},
    {CHARGE, "ladezustand"},
    {CHARGE, "soc"},
    {CHARGE, "carga"},
    {CHARGE, "carica"},
    {CHARGE, "*stand"},
    {CHARGE, "*ladung"},
    {VOLTS, "volt*"},
    {VOLTS, "*spannung"},
    {VOLTS, "tension*"},
    {VOLTS, "tensao"},
    {RAW, "raw"},
    {RAW, "roh"},
    {RAW, "rohwert*"},
    {RAW, "rohdaten"},
    {RAW, "brut"},
    {RAW, "brute"},
    {RAW, "bruto"},
    {RAW, "bruta"},
    {RAW, "grezz*"},
};

enum { N_QUALIFIERS = sizeof qualifiers / sizeof qualifiers[0] };

enum kw_standing kw_standing_of(const struct kw_words *words,
                                enum kw_role role,
                                bool has_unit,
                                const char **why)
{
    enum kw_standing standing = KW_PLAIN;
    const unsigned bit = 1U << role;
    for (size_t i = 0; i < N_QUALIFIERS; i++) {
        const struct effect *effect = &effects[qualifiers[i].quality];
        if (((effect->derives | effect->lessens) & bit) == 0 ||
            (effect->unit_speaks && has_unit) ||
            !kw_words_have(words, qualifiers[i].words))
            continue;
        if ((effect->derives & bit) != 0) {
            *why = effect->why;
            return KW_DERIVED;
        }
        standing = KW_LESSER;
    }
    return standing;
}
