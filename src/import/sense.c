/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A wrong unit shows where it makes numbers that no kart can give: better to do
 * without them than to find a fault in them. All limits here are common
 * practice, no source. */
#include "import/sense.h"

#include "core/robust.h"

#include <math.h>

/* Twice what the fastest karts do. */
static const double FASTEST_KART_M_S = 250.0 / 3.6;
/* Not the spikes of a poor receiver. */
static const double UPPER_SPEEDS = 0.95;

/* Probes of type K end there (from memory): what is above all day long, and
 * moves, is no temperature. Stuck there it is an open probe, which is told
 * where probes are judged. */
static const double HOTTEST_PROBE_C = 1372.0;
static const double MOVES = 0.05;

/* No engine idles so slowly: a starter turns it so. Numbers of an engine at
 * rest, and thousands, stay below the other limit. */
static const double SLOWEST_RPM = 450.0;
static const double AT_REST_RPM = 40.0;
/* A chafed wire's spikes are fewer than a quarter of all readings. */
static const double FASTEST_RPM = 50000.0;
static const double UPPER_RPM = 0.75;
static const double NEARLY_ALL = 0.99;

/* Most numbers of laps are whole. */
static const double MOSTLY = 0.5;

/* Nothing on a kart is fed by more: a share in percent is. */
static const double HIGHEST_BATTERY_V = 60.0;

static double level(const struct kw_readings *readings, double share)
{
    return kw_quantile(readings->values, readings->n, share, readings->scratch);
}

static double in_our_unit(const struct kw_readings *readings, double value)
{
    return value * readings->unit->factor + readings->unit->offset;
}

/* "2,993 km/h is no speed of a kart". */
static void say(const struct kw_readings *readings,
                double value,
                const char *is_no,
                struct kw_text *what)
{
    kw_text_add_whole(what, value);
    kw_text_addf(what, " %s is no %s", readings->unit->name, is_no);
}

static void judge_exhaust(const struct kw_readings *readings,
                          struct kw_text *what)
{
    const double middle = level(readings, 0.5);
    const double spread = level(readings, 0.75) - level(readings, 0.25);
    if (in_our_unit(readings, middle) > HOTTEST_PROBE_C &&
        spread > MOVES * middle)
        say(readings, middle, "temperature of an exhaust", what);
}

static void judge_rpm(const struct kw_readings *readings, struct kw_text *what)
{
    const double most = level(readings, NEARLY_ALL);
    const double upper = level(readings, UPPER_RPM);
    const double most_rpm = in_our_unit(readings, most);
    if (most_rpm > AT_REST_RPM && most_rpm < SLOWEST_RPM)
        say(readings, most, "speed of an engine, and it never passes it", what);
    else if (in_our_unit(readings, upper) > FASTEST_RPM)
        say(readings, upper, "speed of an engine", what);
}

/* West and south are below 0. */
static void judge_position(const struct kw_readings *readings,
                           struct kw_text *what)
{
    const bool north = readings->role == KW_ROLE_LATITUDE;
    const double middle = level(readings, 0.5);
    if (fabs(in_our_unit(readings, middle)) > (north ? 90.0 : 180.0))
        say(readings, middle, north ? "latitude" : "longitude", what);
}

/* "Last lap" may be its number or its time, "Laps total" those so far or those
 * to come. */
static void judge_lap(const struct kw_readings *readings, struct kw_text *what)
{
    size_t n = 0;
    size_t whole = 0;
    size_t rises = 0;
    size_t falls = 0;
    double before = NAN;
    for (size_t i = 0; i < readings->n; i++) {
        const double value = readings->values[i];
        if (isnan(value))
            continue;
        n++;
        whole += !(floor(value) < value);
        rises += value > before;
        falls += value < before;
        before = value;
    }
    if (n > 0 && (double)whole < MOSTLY * (double)n)
        kw_text_add(what, "its numbers are not whole, as those of laps are");
    else if (n > 0 && readings->lesser && falls > rises)
        kw_text_add(what, "it counts down, which the number of a lap does not");
    else if (n > 0 && readings->lesser && rises == 0)
        kw_text_add(what, "it never changes, which the number of a lap does");
}

void kw_find_nonsense(const struct kw_readings *readings, struct kw_text *what)
{
    if (readings->role == KW_ROLE_LAP)
        judge_lap(readings, what);
    if (readings->unit == NULL)
        return;
    if (readings->role == KW_ROLE_SPEED) {
        const double upper = level(readings, UPPER_SPEEDS);
        if (in_our_unit(readings, upper) > FASTEST_KART_M_S)
            say(readings, upper, "speed of a kart", what);
    } else if (readings->role == KW_ROLE_BATTERY_V) {
        const double middle = level(readings, 0.5);
        if (in_our_unit(readings, middle) > HIGHEST_BATTERY_V)
            say(readings, middle, "voltage of a battery", what);
    } else if (readings->role == KW_ROLE_EGT) {
        judge_exhaust(readings, what);
    } else if (readings->role == KW_ROLE_RPM) {
        judge_rpm(readings, what);
    } else if (readings->role == KW_ROLE_LATITUDE ||
               readings->role == KW_ROLE_LONGITUDE) {
        judge_position(readings, what);
    }
}
