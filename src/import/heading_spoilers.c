/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Words that name another quantity than those we know: "oil" makes a
 * temperature one of the oil. Common practice, no source. */
#include "import/heading_spoilers.h"

/* words     all must be in the heading; see kw_words_have().
 * quantity  KW_QUANTITY_NONE for all roles, else for those that hold this:
 *           "head" is a place for a temperature and nonsense for a speed. */
struct spoiler {
    const char *words;
    enum kw_quantity quantity;
};

static const struct spoiler spoilers[] = {
    {"status", KW_QUANTITY_NONE},
    {"error*", KW_QUANTITY_NONE},
    {"fehler*", KW_QUANTITY_NONE},
    {"sector*", KW_QUANTITY_NONE},
    {"sektor*", KW_QUANTITY_NONE},
    {"secteur", KW_QUANTITY_NONE},
    {"split*", KW_QUANTITY_NONE},
    {"press*", KW_QUANTITY_NONE},
    {"presi*", KW_QUANTITY_NONE},
    {"*druck", KW_QUANTITY_NONE},
    {"altitude", KW_QUANTITY_NONE},
    {"damper*", KW_QUANTITY_NONE},
    {"susp*", KW_QUANTITY_NONE},
    {"wind*", KW_QUANTITY_NONE},
    {"vent", KW_QUANTITY_NONE},
    {"vento", KW_QUANTITY_NONE},
    {"viento", KW_QUANTITY_NONE},
    {"hohe", KW_QUANTITY_NONE},
    {"heading", KW_QUANTITY_NONE},
    {"kurs", KW_QUANTITY_NONE},
    {"course", KW_QUANTITY_NONE},
    {"sat*", KW_QUANTITY_NONE},
    {"distance", KW_QUANTITY_NONE},
    {"distanz*", KW_QUANTITY_NONE},
    {"strecke", KW_QUANTITY_NONE},
    {"brake*", KW_QUANTITY_NONE},
    {"brems*", KW_QUANTITY_NONE},
    {"frein*", KW_QUANTITY_NONE},
    {"freno*", KW_QUANTITY_NONE},
    {"steer*", KW_QUANTITY_NONE},
    {"lenk*", KW_QUANTITY_NONE},
    {"volant*", KW_QUANTITY_NONE},
    {"hdop", KW_QUANTITY_NONE},
    {"accuracy", KW_QUANTITY_NONE},
    {"shift*", KW_QUANTITY_NONE},
    {"vertical*", KW_QUANTITY_NONE},
    {"gyro*", KW_QUANTITY_NONE},
    {"giro x", KW_QUANTITY_NONE},
    {"giro y", KW_QUANTITY_NONE},
    {"giro z", KW_QUANTITY_NONE},
    {"magnetom*", KW_QUANTITY_NONE},
    {"magnetfeld*", KW_QUANTITY_NONE},
    {"field", KW_QUANTITY_NONE},
    {"yaw", KW_QUANTITY_NONE},
    {"heart", KW_QUANTITY_NONE},
    {"pulse", KW_QUANTITY_NONE},
    {"puls", KW_QUANTITY_NONE},
    {"herz*", KW_QUANTITY_NONE},
    {"length", KW_QUANTITY_NONE},
    {"level", KW_QUANTITY_NONE},
    {"niveau", KW_QUANTITY_TEMPERATURE},
    {"nivel", KW_QUANTITY_TEMPERATURE},
    {"livello", KW_QUANTITY_TEMPERATURE},
    {"progress*", KW_QUANTITY_NONE},
    {"fortschritt", KW_QUANTITY_NONE},
    {"fraction", KW_QUANTITY_NONE},
    {"flow", KW_QUANTITY_NONE},
    {"lambda", KW_QUANTITY_NONE},
    {"oil", KW_QUANTITY_TEMPERATURE},
    {"ol", KW_QUANTITY_TEMPERATURE},
    {"oel", KW_QUANTITY_TEMPERATURE},
    {"huile", KW_QUANTITY_TEMPERATURE},
    {"aceite", KW_QUANTITY_TEMPERATURE},
    {"olio", KW_QUANTITY_TEMPERATURE},
    {"oleo", KW_QUANTITY_TEMPERATURE},
    {"intake", KW_QUANTITY_TEMPERATURE},
    {"ambient*", KW_QUANTITY_TEMPERATURE},
    {"aussen*", KW_QUANTITY_TEMPERATURE},
    {"air", KW_QUANTITY_TEMPERATURE},
    {"luft*", KW_QUANTITY_TEMPERATURE},
    {"aria", KW_QUANTITY_TEMPERATURE},
    {"aire", KW_QUANTITY_TEMPERATURE},
    {"ansaug*", KW_QUANTITY_TEMPERATURE},
    {"fuel", KW_QUANTITY_TEMPERATURE},
    {"box", KW_QUANTITY_TEMPERATURE},
    {"logger", KW_QUANTITY_TEMPERATURE},
    {"internal", KW_QUANTITY_TEMPERATURE},
    {"kalt*", KW_QUANTITY_TEMPERATURE},
    {"cold", KW_QUANTITY_TEMPERATURE},
    {"tyre*", KW_QUANTITY_TEMPERATURE},
    {"tire*", KW_QUANTITY_TEMPERATURE},
    {"reifen*", KW_QUANTITY_TEMPERATURE},
    {"pneu*", KW_QUANTITY_TEMPERATURE},
    {"clutch", KW_QUANTITY_TEMPERATURE},
    {"kuppl*", KW_QUANTITY_TEMPERATURE},
    {"gear*", KW_QUANTITY_TEMPERATURE},
    {"disc", KW_QUANTITY_TEMPERATURE},
    {"valve*", KW_QUANTITY_TEMPERATURE},
    {"*ventil", KW_QUANTITY_TEMPERATURE},
    {"soupape", KW_QUANTITY_TEMPERATURE},
    {"valvula", KW_QUANTITY_TEMPERATURE},
    {"valvola", KW_QUANTITY_TEMPERATURE},
    {"flap*", KW_QUANTITY_TEMPERATURE},
    {"*klappe", KW_QUANTITY_TEMPERATURE},
    {"servo*", KW_QUANTITY_TEMPERATURE},
    {"gasket*", KW_QUANTITY_TEMPERATURE},
    {"*dichtung", KW_QUANTITY_TEMPERATURE},
    {"o2", KW_QUANTITY_TEMPERATURE},
    {"co2", KW_QUANTITY_TEMPERATURE},
    {"oxygen", KW_QUANTITY_TEMPERATURE},
    {"afr", KW_QUANTITY_TEMPERATURE},
    {"volt*", KW_QUANTITY_TEMPERATURE},
    {"ohm*", KW_QUANTITY_TEMPERATURE},
};

/* A throttle is told by its angle, nothing else is. */
static const char *const angles[] = {"angle*", "*winkel"};

enum {
    N_SPOILERS = sizeof spoilers / sizeof spoilers[0],
    N_ANGLES = sizeof angles / sizeof angles[0]
};

bool kw_is_spoiled(const struct kw_words *words, enum kw_quantity quantity)
{
    for (size_t i = 0; i < N_SPOILERS; i++) {
        const struct spoiler *spoiler = &spoilers[i];
        if ((spoiler->quantity == KW_QUANTITY_NONE ||
             spoiler->quantity == quantity) &&
            kw_words_have(words, spoiler->words))
            return true;
    }
    return quantity != KW_QUANTITY_FRACTION &&
           kw_words_have_any(words, angles, N_ANGLES);
}
