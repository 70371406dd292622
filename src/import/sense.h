/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Readings that no kart gives in the unit in which they were taken. */
#ifndef KARTWRIGHT_IMPORT_SENSE_H
#define KARTWRIGHT_IMPORT_SENSE_H

#include "core/text.h"
#include "core/units.h"
#include "kartwright/log.h"

#include <stdbool.h>

/* A channel as the file has it.
 *
 * unit     in which values[n] are taken; NULL for none.
 * lesser   its heading says something less than the reading.
 * scratch  scratch[n]. */
struct kw_readings {
    enum kw_role role;
    const struct kw_unit *unit;
    bool lesser;
    const double *values;
    size_t n;
    double *scratch;
};

/* Says in `what` where most of the higher readings are beyond what there is,
 * as "2,993 km/h is no speed of a kart", or no lap is so numbered; leaves it
 * empty where they are not. */
void kw_find_nonsense(const struct kw_readings *readings, struct kw_text *what);

#endif
