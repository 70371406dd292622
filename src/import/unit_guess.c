/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Guessing units, each guess with the reason that is shown to the person. All
 * limits here are common practice, no source.
 *
 * Sizes tell units apart where physics leaves a gap between them: no exhaust is
 * 950 C hot for a twentieth of the session, no engine turns 40 times a minute
 * under load. */
#include "import/unit_guess.h"

#include "core/robust.h"
#include "import/no_reading.h"

#include <math.h>

/* Nothing in a two-stroke's exhaust, water or head reads more in C. The sheath
 * of a probe would not stand it for long. The same engines in F show 1,000 to
 * 1,250. */
static const double HOTTEST_EXHAUST_C = 950.0;
/* No engine that lives runs its exhaust above this all day: it may be K. */
static const double HOTTEST_SOUND_C = 800.0;
/* A probe that is off the pipe stays below, and so do the millivolts of type K
 * (55 at its end, from memory); these rise by more than half their least number
 * as the exhaust heats. */
static const double HOTTEST_COLD_C = 60.0;
static const double FOLLOWS = 1.5;
/* So many tenths of a degree, C or F, are no exhaust yet: fewer were logged
 * before the engine ran. Above the other number no sound exhaust reads in
 * F (HOTTEST_SOUND_C in F). */
static const double HOTTEST_COLD_TENTHS = 300.0;
static const double HOTTEST_SOUND_F = 1472.0;
static const double NEARLY_NONE = 0.05;
/* No air that a kart is driven in is so cold, in K; and hardly a reading is
 * colder than the air. */
static const double COLDEST_AIR_K = 230.0;
static const double HARDLY_ANY = 0.01;
/* So many readings alike are no exhaust that holds its heat. */
static const size_t FEWEST_STILL = 100;
static const double HOTTEST_WATER_C = 135.0;
static const double HOTTEST_HEAD_C = 260.0;

/* What never passes this stood, engine or kart, in any unit: there is nothing
 * to ask. */
static const double STANDS = 1.0;

/* Engine speeds below this are written in thousands. No engine here turns at
 * 40,000, and none that runs turns at 40. */
static const double SLOWEST_TOP_RPM = 40.0;
/* No engine of a kart at work stays below, and hardly one that idles does; tens
 * of turns look like this. */
static const double SLOWEST_IDLE_RPM = 1700.0;
/* Up to this an engine may idle all day, or work and be logged in tens: at work
 * the nearly largest number is this many times that of the lower quarter. */
static const double SLOWEST_AT_WORK_RPM = 2400.0;
static const double VARIES = 1.3;
static const double LOWER_QUARTER = 0.25;
/* Where each turn is counted twice, by a wire round a lead that sparks at every
 * stroke, all engines look like this, and hardly one that turns so fast. */
static const double FASTEST_ENGINE_RPM = 24000.0;

/* Shares of readings for is_at_work(). */
static const double UPPER_RPM = 0.75;
static const double MOST_RPM = 0.95;

/* A kart that never passes this number is logged in m/s. 36 km/h are 10 m/s;
 * and no kart does 36 m/s (130 km/h) on a club's track for more than a
 * moment. */
static const double SLOWEST_TOP_KMH = 36.0;

/* Between the hardest that a kart corners in g and the softest in m/s2. */
static const double HARDEST_G = 4.5;

/* A level that few values pass. Of an exhaust in F every fifth reading under
 * way does; a chafed wire's spikes, one in twenty at most, do not make
 * Fahrenheit of Celsius. */
static const double NEARLY_ALL = 0.99;
static const double NEARLY_ALL_EGT = 0.95;

/* By size, for accelerations have a sign. Missing values do not count, and
 * neither do numbers that stand for one: full scale of an open probe is no
 * temperature in any unit. */
static double nearly_largest(enum kw_role role,
                             const double *values,
                             size_t n,
                             double *scratch)
{
    const struct kw_stand_ins stand_ins =
        kw_find_stand_ins(role, values, n, scratch);
    for (size_t i = 0; i < n; i++)
        scratch[i] =
            kw_is_stand_in(&stand_ins, values[i]) ? NAN : fabs(values[i]);
    return kw_quantile(
        scratch, n, role == KW_ROLE_EGT ? NEARLY_ALL_EGT : NEARLY_ALL, scratch);
}

/* Only what cannot be C is taken as F. A water temperature in F (160 to 200) is
 * beyond any water in C, exhaust in F is beyond any exhaust in C. Both overlap
 * only where the engine never got warm. */
static struct kw_unit_choice temperature(double level, double hottest_c)
{
    if (level > hottest_c)
        return (struct kw_unit_choice){
            kw_unit_find(KW_QUANTITY_TEMPERATURE, "f"),
            "no unit, too hot for C: taken as F", true};
    return (struct kw_unit_choice){kw_unit_find(KW_QUANTITY_TEMPERATURE, "c"),
                                   "no unit: taken as C", false};
}

/* K are not guessed, nor the millivolts of a probe, but what looks like them is
 * asked about. */
static struct kw_unit_choice exhaust(double level, double low, size_t n)
{
    /* What never moves is no temperature, in no unit. */
    if (n >= FEWEST_STILL && level <= low)
        return (struct kw_unit_choice){
            kw_unit_find(KW_QUANTITY_TEMPERATURE, "c"), "no unit: taken as C",
            false};
    struct kw_unit_choice choice = temperature(level, HOTTEST_EXHAUST_C);
    if (level < HOTTEST_COLD_C && low > 0.0 && level > FOLLOWS * low) {
        choice.why = "no unit, too cold for an exhaust: taken as C";
        choice.asks = true;
    }
    if (level > HOTTEST_SOUND_C && !choice.asks) {
        choice.why =
            "no unit, hotter than a sound engine, may be in K: taken as C";
        choice.asks = true;
    }
    return choice;
}

/* RPM of a session by the share of readings that are below: doubled ones, where
 * a wire chafes, are fewer than a quarter. */
struct speeds {
    double upper;
    double most;
};

/* Do these make an engine at work, some of them doubled? */
static bool is_at_work(const struct speeds *speeds, double factor)
{
    return speeds->most * factor >= SLOWEST_AT_WORK_RPM &&
           speeds->most * factor <= 2.0 * FASTEST_ENGINE_RPM &&
           speeds->upper * factor <= FASTEST_ENGINE_RPM;
}

/* An engine that only idles shows hundreds, one written in thousands some tens
 * at most; an engine at rest shows neither. */
static struct kw_unit_choice engine_speed(double level, double low)
{
    if (level > STANDS && level < SLOWEST_TOP_RPM)
        return (struct kw_unit_choice){
            kw_unit_find(KW_QUANTITY_ENGINE_SPEED, "krpm"),
            "small numbers: taken as thousands", true};
    const bool slow =
        level > STANDS &&
        level < (level > VARIES * low ? SLOWEST_AT_WORK_RPM : SLOWEST_IDLE_RPM);
    const bool fast = level > FASTEST_ENGINE_RPM;
    return (struct kw_unit_choice){
        kw_unit_find(KW_QUANTITY_ENGINE_SPEED, "rpm"),
        slow   ? "too slow for an engine, may be in tens: taken as rpm"
        : fast ? "too fast for an engine of a kart, each turn counted twice "
                 "perhaps: taken as rpm"
               : NULL,
        slow || fast};
}

/* Tenths of a degree that never leave the cold, though as whole ones they would
 * be an exhaust: "0.1 C" says how finely it was logged. */
static struct kw_unit_choice judge_tenths(const struct kw_unit *unit,
                                          double level)
{
    const bool celsius = unit == kw_unit_named("0.1 C");
    if ((!celsius && unit != kw_unit_named("0.1 F")) ||
        !(level > HOTTEST_COLD_TENTHS &&
          level < (celsius ? HOTTEST_EXHAUST_C : HOTTEST_SOUND_F)))
        return (struct kw_unit_choice){unit, NULL, false};
    return (struct kw_unit_choice){
        kw_unit_named(celsius ? "C" : "F"),
        celsius ? "as tenths too cold for an exhaust: taken as C"
                : "as tenths too cold for an exhaust: taken as F",
        true};
}

/* K that begin far below any air are degrees: the letter was meant for the kind
 * of probe. Zeros are readings that are missing. */
static struct kw_unit_choice judge_kelvin(const double *values,
                                          size_t n,
                                          double *scratch)
{
    for (size_t i = 0; i < n; i++)
        scratch[i] = values[i] > 0.0 ? values[i] : NAN;
    if (!(kw_quantile(scratch, n, HARDLY_ANY, scratch) < COLDEST_AIR_K))
        return (struct kw_unit_choice){kw_unit_named("K"), NULL, false};
    return (struct kw_unit_choice){
        kw_unit_named("C"), "as K colder than any air: taken as C", true};
}

/* A factor can be meant two ways, or say no more than how finely it was logged.
 * Between these lie a hundred times and ten times: the numbers show which one
 * can be an engine. */
struct kw_unit_choice kw_judge_unit(enum kw_role role,
                                    const struct kw_unit *unit,
                                    const double *values,
                                    size_t n,
                                    double *scratch)
{
    const struct kw_unit *turned = kw_unit_turned(unit);
    struct kw_unit_choice choice = {unit, NULL, false};
    if (role == KW_ROLE_EGT && unit == kw_unit_named("K"))
        return judge_kelvin(values, n, scratch);
    if (role == KW_ROLE_EGT)
        return judge_tenths(unit, nearly_largest(role, values, n, scratch));
    if (role != KW_ROLE_RPM || turned == NULL)
        return choice;
    const struct speeds speeds = {kw_quantile(values, n, UPPER_RPM, scratch),
                                  kw_quantile(values, n, MOST_RPM, scratch)};
    if (is_at_work(&speeds, unit->factor))
        return choice;
    if (is_at_work(&speeds, turned->factor))
        choice = (struct kw_unit_choice){
            turned,
            turned->factor > 1.0
                ? "its factor makes no engine speed: multiplied by it"
                : "its factor makes no engine speed: divided by it",
            true};
    else if (is_at_work(&speeds, 1.0))
        choice = (struct kw_unit_choice){
            kw_unit_named("rpm"),
            "its factor makes no engine speed: taken as rpm", true};
    return choice;
}

/* mph cannot be told from km/h by size: karts do both. */
static struct kw_unit_choice speed(double level)
{
    if (level > STANDS && level < SLOWEST_TOP_KMH)
        return (struct kw_unit_choice){kw_unit_find(KW_QUANTITY_SPEED, "m/s"),
                                       "no unit, small numbers: taken as m/s",
                                       true};
    return (struct kw_unit_choice){kw_unit_find(KW_QUANTITY_SPEED, "km/h"),
                                   "no unit: taken as km/h", false};
}

/* Tyres of a kart hold about 2.5 g and kerbs add to it, in m/s2 that is 25. */
static struct kw_unit_choice acceleration(double level)
{
    if (level > HARDEST_G)
        return (struct kw_unit_choice){
            kw_unit_find(KW_QUANTITY_ACCELERATION, "m/s2"),
            "no unit, large numbers: taken as m/s2", false};
    return (struct kw_unit_choice){kw_unit_find(KW_QUANTITY_ACCELERATION, "g"),
                                   "no unit: taken as g", false};
}

/* The other units are stated, or told by something else. */
static bool goes_by_size(enum kw_role role)
{
    switch (role) {
    case KW_ROLE_RPM:
    case KW_ROLE_EGT:
    case KW_ROLE_WATER_TEMP:
    case KW_ROLE_HEAD_TEMP:
    case KW_ROLE_SPEED:
    case KW_ROLE_ACCEL_LONG:
    case KW_ROLE_ACCEL_LAT:
    case KW_ROLE_THROTTLE:
        return true;
    default:
        return false;
    }
}

struct kw_unit_choice kw_guess_unit(enum kw_role role,
                                    const double *values,
                                    size_t n,
                                    double *scratch)
{
    const double level =
        goes_by_size(role) ? nearly_largest(role, values, n, scratch) : NAN;
    switch (role) {
    case KW_ROLE_RPM:
        return engine_speed(level,
                            kw_quantile(values, n, LOWER_QUARTER, scratch));
    case KW_ROLE_AXLE_RPM:
        return (struct kw_unit_choice){
            kw_unit_find(KW_QUANTITY_ENGINE_SPEED, "rpm"), NULL, false};
    case KW_ROLE_EGT:
        return exhaust(level, kw_quantile(values, n, NEARLY_NONE, scratch), n);
    case KW_ROLE_WATER_TEMP:
        return temperature(level, HOTTEST_WATER_C);
    case KW_ROLE_HEAD_TEMP:
        return temperature(level, HOTTEST_HEAD_C);
    case KW_ROLE_SPEED:
        return speed(level);
    case KW_ROLE_ACCEL_LONG:
    case KW_ROLE_ACCEL_LAT:
        return acceleration(level);
    case KW_ROLE_THROTTLE:
        return (struct kw_unit_choice){
            /* A pedal sensor overshoots its end a little; half open is 0.5 or
             * 50. */
            level > 1.5 ? kw_unit_find(KW_QUANTITY_FRACTION, "%") : NULL,
            level > 1.5 ? "no unit: taken as %" : "no unit: taken as 0 to 1",
            false};
    case KW_ROLE_LATITUDE:
    case KW_ROLE_LONGITUDE:
        return (struct kw_unit_choice){kw_unit_find(KW_QUANTITY_ANGLE, "deg"),
                                       NULL, false};
    case KW_ROLE_BATTERY_V:
        return (struct kw_unit_choice){kw_unit_find(KW_QUANTITY_VOLTAGE, "v"),
                                       NULL, false};
    case KW_ROLE_TIME:
    case KW_ROLE_LAP:
    case KW_ROLE_LAP_MARKER:
    case KW_N_ROLES:
        break;
    }
    return (struct kw_unit_choice){NULL, NULL, false};
}
