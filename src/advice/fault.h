/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What can be wrong with a kart, and what a careful beginner does about it.
 *
 * The table in fault.c is written for a racer to read and correct: one row for
 * each fault, with the parts, the checks in the order cheap and likely first,
 * and the caution. All of it is common practice, no source; the maker's sheet
 * and the class rules come first. */
#ifndef KARTWRIGHT_ADVICE_FAULT_H
#define KARTWRIGHT_ADVICE_FAULT_H

#include "kartwright/review.h"

enum kw_fault {
    KW_FAULT_SEIZURE,
    KW_FAULT_FUEL_SUPPLY,
    KW_FAULT_LEAN_TOP,
    KW_FAULT_LEAN_MIDDLE,
    KW_FAULT_LEAN_LOW,
    KW_FAULT_LEAN_PASSING,
    KW_FAULT_CONNECTION,
    KW_FAULT_UNCLEAR_DROPOUT,
    KW_FAULT_AIR_LEAK,
    KW_FAULT_CLUTCH,
    KW_FAULT_CHAIN,
    KW_FAULT_RICH,
    KW_FAULT_EXHAUST_LEAK,
    KW_FAULT_PROBE,
    KW_N_FAULTS
};

/* One row of the table.
 *
 * part      what to look at first.
 * check     numbered steps, each with how to tell good from bad.
 * caution   what can hurt, and who knows better.
 * one, repeated  how soon for a single event of middling strength, and for
 *           `many` events or more. */
struct kw_fault_row {
    const char *part;
    const char *check;
    const char *caution;
    enum kw_urgency one;
    enum kw_urgency repeated;
    size_t many;
};

/* returns  the row; never NULL for a fault of the enum. */
const struct kw_fault_row *kw_fault_row(enum kw_fault fault);

/* Which fault an event points to. The rest of the events tell a mixture that is
 * lean in one RPM region on lap after lap (a jet) from one that comes and goes
 * (debris, sloshing fuel), and heat that goes with a starved engine.
 *
 * returns  the fault, or KW_N_FAULTS for an event that is none (a healthy
 *          clutch engagement). */
enum kw_fault kw_fault_of(const struct kw_event *event,
                          const struct kw_events *events,
                          const struct kw_laps *laps);

#endif
