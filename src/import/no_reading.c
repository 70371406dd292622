/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Numbers that stand for no reading.
 *
 * An open input or a sensor that does not answer gives the end of a converter's
 * scale, or a number that the logger's maker chose. Both are repeated to the
 * last digit, which no measurement so far from all others is: a spike differs
 * from the next one, and an engine passes through all that lies between. */
#include "import/no_reading.h"

#include "core/robust.h"

#include <math.h>

/* Fewer may be the same by chance: two spikes cut off at one level. This and
 * all that follows: common practice, no source. */
static const size_t FEWEST_REPEATS = 3;
/* The others must be enough to show what is usual, and at least a third of the
 * readings. */
static const size_t FEWEST_OTHERS = 10;
static const double SHARE_OF_OTHERS = 0.33;
/* The range that the others hold, without single wild readings. */
static const double NEARLY_NONE = 0.01;
static const double NEARLY_ALL = 0.99;
/* So far beyond that range, as a share of it, and in numbers of the file. An
 * exhaust climbs to its top, and an engine turns its fastest, by way of all
 * readings below. */
static const double FAR_SHARE = 0.5;
/* As many of the others may stand in that empty stretch, for each repeat. */
static const double STRAYS = 0.25;
/* Wild readings that are passed over on the way in from each end. */
static const size_t MOST_SPIKES = 8;

/* The least distance in numbers of the file, whatever its unit; 0 for a role of
 * which nothing is known. A standing kart has hardly any range of its own. */
static double least_distance(enum kw_role role)
{
    switch (role) {
    case KW_ROLE_RPM:
    case KW_ROLE_AXLE_RPM:
        return 3000.0;
    case KW_ROLE_EGT:
        return 250.0;
    case KW_ROLE_WATER_TEMP:
    case KW_ROLE_HEAD_TEMP:
    case KW_ROLE_SPEED:
        return 100.0;
    default:
        return 0.0;
    }
}

bool kw_is_stand_in(const struct kw_stand_ins *stand_ins, double value)
{
    for (size_t i = 0; i < stand_ins->n; i++) {
        /* As the file has it: equal text gives equal numbers. */
        if (!(value < stand_ins->value[i]) && !(value > stand_ins->value[i]))
            return true;
    }
    return false;
}

/* The readings at hand, those known as stand-ins and single spikes taken out.
 *
 * sign  1 to look at the high end, -1 at the low one: values times sign. */
struct column {
    const double *values;
    double *scratch;
    size_t n;
    double sign;
    double below; /* only what is less is looked at */
};

/* Those below the level that is looked at.
 *
 * returns  how many; they stand in the scratch array. */
static size_t others(const struct column *column,
                     const struct kw_stand_ins *known,
                     double level)
{
    size_t kept = 0;
    for (size_t i = 0; i < column->n; i++) {
        const double value = column->sign * column->values[i];
        if (value < level && !kw_is_stand_in(known, column->values[i]))
            column->scratch[kept++] = value;
    }
    return kept;
}

/* Highest reading of those at hand, and how often it is there. */
static size_t highest(const struct column *column, double *level)
{
    size_t repeats = 0;
    *level = -INFINITY;
    for (size_t i = 0; i < column->n; i++) {
        const double value = column->sign * column->values[i];
        if (!(value >= *level) || !(value < column->below))
            continue;
        repeats = value > *level ? 1 : repeats + 1;
        *level = value;
    }
    return repeats;
}

/* How many of the others are above a limit. */
static size_t above(const struct column *column, size_t n, double limit)
{
    size_t n_above = 0;
    for (size_t i = 0; i < n; i++)
        n_above += column->scratch[i] > limit;
    return n_above;
}

/* Does `level` stand alone, far above all others? */
static bool stands_apart(const struct column *column,
                         const struct kw_stand_ins *known,
                         double level,
                         size_t repeats,
                         double least)
{
    const size_t n = others(column, known, level);
    if (n < FEWEST_OTHERS ||
        (double)n < SHARE_OF_OTHERS * (double)(n + repeats))
        return false;
    const double most_strays = STRAYS * (double)repeats;
    /* Too many are nearer than the least distance in all sound columns: they
     * need no range. */
    if ((double)above(column, n, level - least) > most_strays)
        return false;
    const double high =
        kw_quantile(column->scratch, n, NEARLY_ALL, column->scratch);
    const double low =
        kw_quantile(column->scratch, n, NEARLY_NONE, column->scratch);
    const double far = fmax(FAR_SHARE * (high - low), least);
    return level - high >= far &&
           (double)above(column, n, level - far) <= most_strays;
}

/* From one end inwards, as long as what is met there is a spike or stands
 * apart. */
static void look_from_end(struct column *column,
                          double least,
                          struct kw_stand_ins *found)
{
    column->below = INFINITY;
    for (size_t spikes = 0; spikes <= MOST_SPIKES;) {
        double level = 0.0;
        const size_t repeats = highest(column, &level);
        if (repeats == 0)
            return;
        column->below = level;
        if (repeats < FEWEST_REPEATS) {
            spikes++;
            continue;
        }
        if (found->n == KW_MOST_STAND_INS ||
            !stands_apart(column, found, level, repeats, least))
            return;
        found->value[found->n++] = column->sign * level;
    }
}

/* Nothing turns or drives at less than nothing: where one single number below 0
 * comes again and again, it is none. Several are the noise of a sensor around
 * its zero. */
static void look_below_zero(const struct column *column,
                            struct kw_stand_ins *found)
{
    double negative = 0.0;
    size_t repeats = 0;
    for (size_t i = 0; i < column->n; i++) {
        const double value = column->values[i];
        if (!(value < 0.0) || kw_is_stand_in(found, value))
            continue;
        if (repeats > 0 && (value < negative || value > negative))
            return;
        negative = value;
        repeats++;
    }
    if (repeats >= FEWEST_REPEATS && column->n - repeats >= FEWEST_OTHERS &&
        found->n < KW_MOST_STAND_INS)
        found->value[found->n++] = negative;
}

/* For these a number below 0 can only stand for "no reading". */
static bool is_never_negative(enum kw_role role)
{
    return role == KW_ROLE_RPM || role == KW_ROLE_AXLE_RPM ||
           role == KW_ROLE_SPEED;
}

/* From the top end, and for what can be negative from the bottom end too: below
 * 0 an engine speed is none anyway. */
struct kw_stand_ins kw_find_stand_ins(enum kw_role role,
                                      const double *values,
                                      size_t n,
                                      double *scratch)
{
    struct kw_stand_ins found = {.n = 0};
    struct column column = {
        .values = values, .scratch = scratch, .n = n, .sign = 1.0};
    const double least = least_distance(role);
    if (!(least > 0.0))
        return found;
    look_from_end(&column, least, &found);
    if (is_never_negative(role)) {
        /* An engine or a kart at rest reads 0, however fast the rest is. */
        look_below_zero(&column, &found);
    } else {
        column.sign = -1.0;
        look_from_end(&column, least, &found);
    }
    return found;
}
