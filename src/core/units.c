/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The table of units: for racers to read and add to.
 *
 * Each with what takes it to ours, and with the words by which headings and
 * people call it, in six languages. */
#include "units.h"

#include <stdbool.h>
#include <string.h>

/* Value in our unit = factor * value + offset. Ours are SI but for RPM, degrees
 * C, degrees of angle and a fraction of 1. Aliases are what kw_fold() leaves of
 * a spelling, without blanks. Factors: mile 1609.344 m, nautical mile 1852 m,
 * standard gravity 9.80665 m/s2, 0 C = 273.15 K (NIST SP 811, from memory). */
static const struct kw_unit units[] = {
    {"rpm", KW_QUANTITY_ENGINE_SPEED, 1.0, 0.0,
     "rpm 1/min u/min umin upm tr/min tr/mn trmin trs/min tpm t/min giri/min "
     "g/min "
     "giri/1' min-1 min^-1 /min rev/min revs/min r/min rot/min rotacoes/min "
     "tours/min tour/min t/mn rpm/min rev/m u/m vueltas/min v/min umdr/min "
     "obr/min ot/min"},
    /* Those with a factor are also found by it: see find_scaled(). */
    {"rpm x 1000", KW_QUANTITY_ENGINE_SPEED, 1000.0, 0.0,
     "krpm ku/min k1/min ktr/min x1000 thousands thousand"},
    {"rpm x 10", KW_QUANTITY_ENGINE_SPEED, 10.0, 0.0, "x10"},
    {"rpm x 100", KW_QUANTITY_ENGINE_SPEED, 100.0, 0.0,
     "x100 hundreds hundred"},
    {"0.1 rpm", KW_QUANTITY_ENGINE_SPEED, 0.1, 0.0, ""},
    {"0.01 rpm", KW_QUANTITY_ENGINE_SPEED, 0.01, 0.0, ""},
    {"0.001 rpm", KW_QUANTITY_ENGINE_SPEED, 0.001, 0.0, ""},
    {"rev/s", KW_QUANTITY_ENGINE_SPEED, 60.0, 0.0,
     "rev/s revs/s rev/sec revs/sec rps r/s 1/s 1/sec s-1 s^-1 hz u/s umdr/s "
     "tr/s tours/s giri/s vueltas/s ot/s obr/s"},
    {"C", KW_QUANTITY_TEMPERATURE, 1.0, 0.0,
     "c degc celsius degcelsius gradc gradcelsius grad grados gradi graus deg "
     "degreesc degreec degreescelsius degreecelsius centigrade oc"},
    {"F", KW_QUANTITY_TEMPERATURE, 5.0 / 9.0, -160.0 / 9.0,
     "f degf fahrenheit degfahrenheit gradf gradfahrenheit degreesf degreef "
     "degreesfahrenheit degreefahrenheit of"},
    {"K", KW_QUANTITY_TEMPERATURE, 1.0, -273.15,
     "k kelvin kelvins degk degkelvin gradkelvin degreesk degreeskelvin"},
    {"0.1 C", KW_QUANTITY_TEMPERATURE, 0.1, 0.0, "01c 1/10c 01degc 1/10degc"},
    {"0.1 F", KW_QUANTITY_TEMPERATURE, 0.1 * 5.0 / 9.0, -160.0 / 9.0,
     "01f 1/10f 01degf 1/10degf"},
    {"km/h", KW_QUANTITY_SPEED, 1.0 / 3.6, 0.0,
     "km/h kmh kph kmph km/hr km/ora"},
    {"mph", KW_QUANTITY_SPEED, 0.44704, 0.0,
     "mph mi/h mi/hr miles/h mileshour millas/h miglia/h milhas/h meilen/h"},
    {"m/s", KW_QUANTITY_SPEED, 1.0, 0.0,
     "m/s ms-1 mps m/sec m/sek meters/second metres/second"},
    {"cm/s", KW_QUANTITY_SPEED, 1e-2, 0.0, "cm/s cm/sec cm/sek"},
    {"mm/s", KW_QUANTITY_SPEED, 1e-3, 0.0, "mm/s mm/sec mm/sek"},
    /* international foot 0.3048 m (NIST SP 811, from memory) */
    {"ft/s", KW_QUANTITY_SPEED, 0.3048, 0.0, "ft/s ft/sec feet/s feet/sec"},
    {"0.1 km/h", KW_QUANTITY_SPEED, 0.1 / 3.6, 0.0,
     "01km/h 0,1km/h 1/10km/h 01kmh 1/10kmh 01kph"},
    {"knots", KW_QUANTITY_SPEED, 1852.0 / 3600.0, 0.0,
     "knots knot kn kt kts knoten noeuds nudos nodi nos"},
    {"s", KW_QUANTITY_TIME, 1.0, 0.0,
     "s sec secs second seconds sek sekunden sekunde seconde secondes segundos "
     "segundo secondi secondo seg"},
    {"ms", KW_QUANTITY_TIME, 1e-3, 0.0,
     "ms 1/1000s 0.001s s/1000 msec msecs millis millisec milliseconds "
     "millisecond millisekunden "
     "millisecondes milisegundos millisecondi milissegundos"},
    {"us", KW_QUANTITY_TIME, 1e-6, 0.0,
     "us usec micros microseconds mikrosekunden microsecondes microsegundos"},
    {"ns", KW_QUANTITY_TIME, 1e-9, 0.0,
     "ns nsec nanos nanosec nanoseconds nanosekunden nanosecondes "
     "nanosegundos nanosecondi nanossegundos"},
    {"1/10 s", KW_QUANTITY_TIME, 0.1, 0.0, "1/10s 0.1s 0,1s 100ms s/10 ds"},
    {"1/100 s", KW_QUANTITY_TIME, 1e-2, 0.0,
     "1/100s 0.01s 0,01s 10ms s/100 cs centisec centiseconds"},
    {"min", KW_QUANTITY_TIME, 60.0, 0.0, "min mins minutes minuten minutos"},
    {"h", KW_QUANTITY_TIME, 3600.0, 0.0, "h hr hrs"},
    {"days", KW_QUANTITY_TIME, 86400.0, 0.0, "days"},
    /* a form rather than a unit: kw_time_seconds() reads it */
    {"hhmmss", KW_QUANTITY_TIME, 1.0, 0.0,
     "hhmmss hhmmss.s hhmmss.ss hhmmss.sss"},
    {"deg", KW_QUANTITY_ANGLE, 1.0, 0.0,
     "deg degree degrees grad grados gradi graus degres dd decdeg wgs84"},
    /* half a turn in 31 bits, as some receivers count (from memory) */
    {"semicircles", KW_QUANTITY_ANGLE, 180.0 / 2147483648.0, 0.0,
     "semicircles semicircle semicirc"},
    {"minutes", KW_QUANTITY_ANGLE, 1.0 / 60.0, 0.0, "min minutes arcmin"},
    {"%", KW_QUANTITY_FRACTION, 0.01, 0.0, "% percent pct prozent pc"},
    {"g", KW_QUANTITY_ACCELERATION, 9.80665, 0.0, "g gs"},
    {"m/s2", KW_QUANTITY_ACCELERATION, 1.0, 0.0,
     "m/s2 m/s^2 ms-2 m/s/s mps2 m/ss"},
    {"V", KW_QUANTITY_VOLTAGE, 1.0, 0.0, "v volt volts vdc"},
    /* No role holds these. They are known so that "speed [hz]" or "temp mm" is
     * refused as something else. */
    {"bar", KW_QUANTITY_OTHER, 1.0, 0.0,
     "bar mbar hpa kpa pa psi mm cm m km mi ft in l ml kg n nm hz khz a ma ohm "
     "kw ps hp hp/h bpm deg/s dps rad/s rad lambda afr db mg l/h"},
    {"mV", KW_QUANTITY_VOLTAGE, 1e-3, 0.0, "mv millivolt"},
};

enum { N_UNITS = sizeof units / sizeof units[0] };

/* The table's words stand in one text with blanks between them: it is read
 * where it stands. */
static bool is_alias(const struct kw_unit *unit, const char *text)
{
    const size_t length = strlen(text);
    for (const char *at = unit->aliases; *at != '\0';) {
        const size_t word = strcspn(at, " ");
        if (word == length && memcmp(at, text, length) == 0)
            return true;
        at += word;
        at += strspn(at, " ");
    }
    return false;
}

/* ---- engine speed in tens or tenths -------------------------------------- */

/* A factor as it is written, and the unit that it makes of rpm and of a part of
 * one: "x 10 rpm", "1/10 rpm", "0.1 rpm" (without its dot). */
static const struct scale {
    const char *times;
    const char *tenth;
    const char *up;
    const char *down;
} scales[] = {
    {"10", "01", "rpm x 10", "0.1 rpm"},
    {"100", "001", "rpm x 100", "0.01 rpm"},
    {"1000", "0001", "rpm x 1000", "0.001 rpm"},
    {"10^2", "10^-2", "rpm x 100", "0.01 rpm"},
    {"10^3", "10^-3", "rpm x 1000", "0.001 rpm"},
};

enum {
    N_SCALES = sizeof scales / sizeof scales[0],
    LONGEST_ALIAS = 32 /* more than the longest of rpm */
};

static bool is_times(char c)
{
    return c == 'x' || c == '*';
}

/* "rpm", in any language: the first row of the table. But "10 g/min" are rather
 * grams of fuel than "giri". */
static bool is_rpm(const char *text)
{
    return strcmp(text, "g/min") != 0 && is_alias(&units[0], text);
}

/* What is left of a text behind a word that it begins with; NULL where it does
 * not. */
static const char *behind(const char *text, const char *word)
{
    const size_t length = strlen(word);
    return strncmp(text, word, length) == 0 ? text + length : NULL;
}

/* "x10rpm", "10rpm", "10*rpm", "1/10rpm", "01rpm". */
static const struct kw_unit *scaled_in_front(const char *text,
                                             const struct scale *scale)
{
    const char *first = text + (is_times(*text) ? 1 : 0);
    const char *part = behind(first, "1/");
    const struct {
        const char *rest;
        const char *unit;
    } ways[] = {
        {behind(first, scale->times), scale->up},
        {behind(first, scale->tenth), scale->down},
        {part != NULL ? behind(part, scale->times) : NULL, scale->down},
    };
    for (size_t i = 0; i < sizeof ways / sizeof ways[0]; i++) {
        const char *rest = ways[i].rest;
        if (rest != NULL && is_rpm(rest + (is_times(*rest) ? 1 : 0)))
            return kw_unit_named(ways[i].unit);
    }
    return NULL;
}

/* "rpmx10", "rpm*10", "rpmx01". "rpm/10" names the numbers, as a column of a
 * table is headed by what it was divided by: they are tens too. */
static const struct kw_unit *scaled_behind(const char *text,
                                           const struct scale *scale)
{
    const char *const ends[] = {scale->times, scale->tenth};
    const size_t length = strlen(text);
    char base[LONGEST_ALIAS];
    for (size_t i = 0; i < 2; i++) {
        const size_t end = strlen(ends[i]) + 1;
        if (length <= end || length - end >= sizeof base ||
            strcmp(text + length - end + 1, ends[i]) != 0)
            continue;
        memcpy(base, text, length - end);
        base[length - end] = '\0';
        const char sign = text[length - end];
        if ((is_times(sign) || (sign == '/' && i == 0)) && is_rpm(base))
            return kw_unit_named(i == 0 ? scale->up : scale->down);
    }
    return NULL;
}

/* rpm with a plain factor before or behind it. Which way it is meant is for the
 * numbers to confirm. */
static const struct kw_unit *find_scaled(const char *text)
{
    for (size_t i = 0; i < N_SCALES; i++) {
        const struct kw_unit *unit = scaled_in_front(text, &scales[i]);
        if (unit == NULL)
            unit = scaled_behind(text, &scales[i]);
        if (unit != NULL)
            return unit;
    }
    return NULL;
}

/* "RPM (/10)", "(*10)", "(10x)": beside a word that says engine speed only. */
static const struct kw_unit *find_bare_factor(const char *text)
{
    const size_t length = strlen(text);
    for (size_t i = 0; i < N_SCALES; i++) {
        const size_t digits = strlen(scales[i].times);
        if (length != digits + 1)
            continue;
        const bool front = (*text == '/' || is_times(*text)) &&
                           strcmp(text + 1, scales[i].times) == 0;
        const bool back = is_times(text[digits]) &&
                          memcmp(text, scales[i].times, digits) == 0;
        if (front || back)
            return kw_unit_named(scales[i].up);
    }
    return NULL;
}

const struct kw_unit *kw_unit_turned(const struct kw_unit *unit)
{
    for (size_t i = 0; i < N_SCALES; i++) {
        if (strcmp(unit->name, scales[i].up) == 0)
            return kw_unit_named(scales[i].down);
        if (strcmp(unit->name, scales[i].down) == 0)
            return kw_unit_named(scales[i].up);
    }
    return NULL;
}

/* ---- finding ------------------------------------------------------------- */

/* Of the quantity: "c" is a temperature for an exhaust and nothing for a
 * speed. */
const struct kw_unit *kw_unit_find(enum kw_quantity quantity, const char *text)
{
    for (size_t i = 0; i < N_UNITS; i++) {
        if (units[i].quantity == quantity && is_alias(&units[i], text))
            return &units[i];
    }
    if (quantity != KW_QUANTITY_ENGINE_SPEED)
        return NULL;
    const struct kw_unit *scaled = find_scaled(text);
    return scaled != NULL ? scaled : find_bare_factor(text);
}

/* Which one it is does not matter, for "deg" and "grad" are both an angle and a
 * temperature; that it is one does. */
const struct kw_unit *kw_unit_find_any(const char *text)
{
    for (size_t i = 0; i < N_UNITS; i++) {
        if (is_alias(&units[i], text))
            return &units[i];
    }
    return find_scaled(text);
}

const struct kw_unit *kw_unit_named(const char *name)
{
    for (size_t i = 0; i < N_UNITS; i++) {
        if (strcmp(units[i].name, name) == 0)
            return &units[i];
    }
    return NULL;
}
