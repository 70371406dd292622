/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The table of faults, and the way from an event to its row.
 *
 * The checks of a row go from cheap and likely to dear and rare: a beginner
 * stops at the first that is bad, and most evenings end at step 1 or 2. Steps
 * are numbered "1. ", "2. ": the report parts the text there. Urgency follows
 * what can happen next: what seizes engines or sends a kart off the track comes
 * before the next run, what costs a race before the race. All of it is common
 * practice, no source. */
#include "advice/fault.h"

#include <assert.h>

/* ---- the table: for racers to read and correct --------------------------- */

/* What most cautions begin with; one wording, so that it is known at a glance
 * and never forgotten in a row. */
#define COLD "Engine off and cold. "
#define FUEL "Keep fuel away from heat and sparks, wear gloves and glasses. "
#define RICHER "When in doubt, richer first. "

static const struct kw_fault_row rows[KW_N_FAULTS] = {
    /* Heat and RPM falling against the throttle: the piston grows until it
     * rubs. Once is enough. */
    [KW_FAULT_SEIZURE] =
        {.part = "piston, ring and cylinder",
         .check =
             "1. Turn the engine by hand with the plug out: it must turn "
             "evenly, with no rough spot. "
             "2. Take the exhaust off and look at the piston through the port: "
             "grey smears or deep scratches are bad, an even brown film is "
             "good. "
             "3. Read the plug: white or with metal specks means too hot. "
             "4. Find out why it ran hot before it runs again: oil in the "
             "fuel, jet, air leak, fuel supply.",
         .caution =
             COLD "Do not start it to try. A locked engine locks the axle and "
                  "throws the kart off the track. Wear limits are on the "
                  "maker's sheet; a licensed engine builder decides.",
         .one = KW_BEFORE_NEXT_RUN,
         .repeated = KW_BEFORE_NEXT_RUN,
         .many = 1},
    /* Less fuel arrives than the engine burns on a long pull: it goes lean
     * where it is loaded most. */
    [KW_FAULT_FUEL_SUPPLY] =
        {.part = "fuel line, filter and tank vent",
         .check = "1. Tank vent: blow through it, air must pass freely. "
                  "2. Fuel filter: clean, and its arrow points with the flow; "
                  "replace it if in doubt, it is cheap. "
                  "3. Fuel line: soft, no kink, no flat spot, no air bubbles; "
                  "bend it, hairline cracks are bad. "
                  "4. Fuel pump: diaphragm flat and supple, pulse hose tight. "
                  "5. Carburettor inlet: screen and needle seat clean.",
         .caution = COLD FUEL
         "A starved engine runs lean and can seize. Put a tray under the line "
         "before you pull it off, never suck at it, wipe up what runs out, and "
         "look for leaks before starting.",
         .one = KW_BEFORE_NEXT_RACE,
         .repeated = KW_BEFORE_NEXT_RUN,
         .many = 2},
    /* At full throttle the main jet meters nearly all of the fuel. */
    [KW_FAULT_LEAN_TOP] =
        {.part = "main jet or high-speed screw",
         .check =
             "1. Main jet: hold it to the light, the bore must be round and "
             "clean. "
             "2. Air screw, carburettor and manifold clamps: nothing loose. "
             "3. Plug: white is lean, light brown is right. "
             "4. Fit the next richer main jet (or open the high-speed screw a "
             "little) and compare a short run.",
         .caution = COLD FUEL RICHER
         "A lean top end seizes pistons. Jet and screw limits are on the "
         "maker's sheet.",
         .one = KW_BEFORE_NEXT_RACE,
         .repeated = KW_BEFORE_NEXT_RUN,
         .many = 3},
    /* At part throttle the needle in its jet meters it. */
    [KW_FAULT_LEAN_MIDDLE] =
        {.part = "needle and its clip",
         .check =
             "1. Needle: straight, its clip firm in the groove it should be in "
             "(write down which). "
             "2. Carburettor and manifold clamps: nothing loose, no oily "
             "streaks at the joints. "
             "3. Move the clip one groove towards the needle's point: that "
             "lifts "
             "the needle, which is richer. Compare a short run. "
             "On a diaphragm carburettor open the low-speed screw a little.",
         .caution =
             COLD FUEL RICHER "Settings and limits are on the maker's sheet.",
         .one = KW_BEFORE_NEXT_RACE,
         .repeated = KW_BEFORE_NEXT_RUN,
         .many = 3},
    /* With the slide nearly shut the pilot jet does, and air drawn in past a
     * loose joint counts most. */
    [KW_FAULT_LEAN_LOW] =
        {.part = "pilot jet or low-speed screw",
         .check = "1. Pilot jet: bore clean, seen against the light. "
                  "2. Carburettor and manifold clamps: nothing loose. "
                  "3. Reeds: no chips or cracks, they close flat. "
                  "4. Go one pilot size richer (or open the low-speed screw a "
                  "little) and compare a short run.",
         .caution =
             COLD FUEL RICHER "Settings and limits are on the maker's sheet.",
         .one = KW_BEFORE_NEXT_RACE,
         .repeated = KW_BEFORE_NEXT_RUN,
         .many = 3},
    /* A jet does not heal itself for some laps: what comes and goes is dirt,
     * water, or fuel that is not there in a bend. */
    [KW_FAULT_LEAN_PASSING] =
        {.part = "debris in the jets, fuel level, filter",
         .check =
             "1. Fuel: enough in the tank for the whole session? Low fuel "
             "sloshes away from the pick-up. "
             "2. Float bowl and jets: empty and look for dirt or water; blow "
             "the jets through, never poke them. "
             "3. Fuel filter and line: clean, no kink, arrow with the flow. "
             "4. Carburettor and manifold clamps: nothing loose.",
         .caution = COLD FUEL RICHER
         "If it comes back on the next run, stop and look again.",
         .one = KW_BEFORE_NEXT_RACE,
         .repeated = KW_BEFORE_NEXT_RUN,
         .many = 3},
    /* RPM that vanishes and returns faster than any mass could: electricity,
     * shaken by kerbs. */
    [KW_FAULT_CONNECTION] =
        {.part = "ignition and battery connections",
         .check =
             "1. Battery: clamps tight, tray not moving, leads not chafed. "
             "2. Ground wire: bare bright metal under the ring, screw tight. "
             "3. Kill switch and its plug: shake them. "
             "4. Pickup lead of the logger and the plug cap: firm on the "
             "cable, no cracks. "
             "5. With a meter on ohms, wiggle each wire: the reading must not "
             "jump.",
         .caution = COLD
         "Disconnect the battery before working on its leads; the ignition "
         "gives painful shocks. A kart that cuts out among others is a "
         "danger to them too. Tie wires clear of heat and chain.",
         .one = KW_BEFORE_NEXT_RACE,
         .repeated = KW_BEFORE_NEXT_RUN,
         .many = 3},
    /* Neither clearly a wire nor clearly fuel: the cheaper half of both. */
    [KW_FAULT_UNCLEAR_DROPOUT] =
        {.part = "wiring first, then fuel supply",
         .check =
             "1. Wires: battery, ground, kill switch, pickup lead and plug "
             "cap; wiggle each. "
             "2. Fuel: tank vent, filter, line without kinks. "
             "3. Ask the driver: did the engine hesitate, or only the reading?",
         .caution = COLD FUEL "The log alone cannot tell which it was.",
         .one = KW_WATCH,
         .repeated = KW_BEFORE_NEXT_RACE,
         .many = 3},
    /* Air that passes the carburettor brings no fuel and no oil; it shows most
     * at idle, when the carburettor itself lets little pass. */
    [KW_FAULT_AIR_LEAK] =
        {.part = "carburettor and manifold clamps, reed block",
         .check =
             "1. Clamps of carburettor and manifold: tight; look for oily "
             "streaks. "
             "2. Throttle cable: free, closes fully, a little slack. "
             "3. Reeds: no chips or cracks. "
             "4. Reed block and manifold gaskets: whole. "
             "5. If the idle is still too high or slow to come down: crank "
             "seals, with a pressure test.",
         .caution = COLD
         "Do not spray fuel or cleaner on a running engine to find a leak. "
         "A pressure test is work for an engine builder.",
         .one = KW_BEFORE_NEXT_RACE,
         .repeated = KW_BEFORE_NEXT_RUN,
         .many = 4},
    /* Slip turns power into heat, which glazes the lining, which slips more. */
    [KW_FAULT_CLUTCH] =
        {.part = "clutch drum and lining",
         .check =
             "1. Drum and lining: dry and clean; chain lubricant makes it "
             "slip. Clean with brake cleaner and a cloth. "
             "2. Lining: measure it against the maker's wear limit; shiny and "
             "hard is glazed. "
             "3. Drum: blue colour or cracks mean it was too hot. "
             "4. Bearing greased lightly; shims and washers back in the same "
             "order and the same way round (take a photo first).",
         .caution =
             COLD "A slipping clutch gets hot enough to burn. Use cleaner with "
                  "gloves and glasses, in fresh air, away from sparks. Keep "
                  "hands off clutch and chain while the engine runs.",
         .one = KW_WATCH,
         .repeated = KW_BEFORE_NEXT_RACE,
         .many = 3},
    /* A tooth that is jumped was hooked, or the chain long or slack. */
    [KW_FAULT_CHAIN] =
        {.part = "chain and sprockets",
         .check =
             "1. Chain tension: as the maker's sheet says, checked at several "
             "turns of the axle. "
             "2. Teeth: hooked or rounded teeth are worn, front and rear. "
             "3. Sprockets in line: lay a straight edge along the teeth. "
             "4. Chain: no stiff link, not stretched beyond its limit.",
         .caution = COLD "Turn the axle by hand only, fingers away from the "
                         "teeth. A chain that comes off can block the axle.",
         .one = KW_WATCH,
         .repeated = KW_BEFORE_NEXT_RUN,
         .many = 2},
    /* Costs speed and a wet plug, no engine: never urgent. */
    [KW_FAULT_RICH] =
        {.part = "jet or screw too rich, air filter",
         .check =
             "1. Plug: wet or black is rich. "
             "2. Air filter: clean and dry. "
             "3. Choke, if it has one: off, its flap fully open. "
             "4. If all is well, go one step leaner with the part for the RPM "
             "that was too cold (top: main jet; middle: needle; low: pilot "
             "jet), and compare a short run.",
         .caution = COLD FUEL RICHER
         "Rich is slow but safe: there is no hurry to lean it out.",
         .one = KW_WATCH,
         .repeated = KW_WATCH,
         .many = 3},
    /* Fresh air at the probe cools it: a lean engine may hide behind a leak. */
    [KW_FAULT_EXHAUST_LEAK] =
        {.part = "exhaust springs, gasket and probe fitting",
         .check = "1. Springs: all there, none stretched or broken. "
                  "2. Gasket at the header: no black streaks. "
                  "3. Probe: fitting tight, tip in the gas, lead not chafed. "
                  "4. Header: no crack at the welds.",
         .caution =
             COLD "The header burns long after a run. Use a spring puller and "
                  "wear glasses: a spring that slips flies far.",
         .one = KW_WATCH,
         .repeated = KW_BEFORE_NEXT_RACE,
         .many = 2},
    /* The engine may be well, but nobody is watching it. */
    [KW_FAULT_PROBE] =
        {.part = "EGT probe and its lead",
         .check =
             "1. Lead: not chafed or burnt, clear of the pipe and the chain. "
             "2. Plug at the logger: clean, firm. "
             "3. Probe: fitting tight, sheath not burnt through. "
             "4. Swap in another probe if you have one, and compare.",
         .caution =
             COLD "Without EGT the engine runs unwatched: fit one main jet "
                  "richer than usual (or open the high-speed screw a "
                  "little) until the probe reads again.",
         .one = KW_WATCH,
         .repeated = KW_BEFORE_NEXT_RACE,
         .many = 2},
};

/* Events that are no fault (a start) have no row: ask for none of them. */
const struct kw_fault_row *kw_fault_row(enum kw_fault fault)
{
    assert(fault < KW_N_FAULTS);
    return &rows[fault];
}

/* ---- from event to fault ------------------------------------------------- */

/* A jet is wrong on every lap, debris on some: from half of the flying laps on,
 * the same region being lean speaks for the jet. Common practice, no source. */
static const double SHARE_OF_LAPS_FOR_A_JET = 0.5;

/* Fewer flying laps than this tell nothing about "every lap": one bad lap of
 * two is half of them. */
enum { FEWEST_LAPS_TO_TELL = 3 };

/* The region names the part to turn to, so each counts for itself. */
static bool same_region(const struct kw_event *a, const struct kw_event *b)
{
    return a->kind == KW_LEAN && b->kind == KW_LEAN &&
           a->detail.lean.region == b->detail.lean.region;
}

/* On how many laps this region was lean; an event counts for each lap that it
 * touches. */
static size_t laps_lean_like(const struct kw_event *event,
                             const struct kw_events *events,
                             const struct kw_laps *laps)
{
    size_t n = 0;
    for (size_t i = 0; i < laps->n; i++) {
        const struct kw_lap *lap = &laps->items[i];
        bool lean = false;
        for (size_t k = 0; k < events->n && !lean; k++) {
            const struct kw_event *other = &events->items[k];
            lean = lap->kind == KW_LAP_FLYING && same_region(event, other) &&
                   other->start_s < lap->end_s && other->end_s > lap->start_s;
        }
        n += lean;
    }
    return n;
}

/* Debris or a jet? With too few laps to tell, the jet: its checks include the
 * dirt in it. */
static bool comes_and_goes(const struct kw_event *event,
                           const struct kw_events *events,
                           const struct kw_laps *laps)
{
    size_t flying = 0;
    for (size_t i = 0; i < laps->n; i++)
        flying += laps->items[i].kind == KW_LAP_FLYING;
    if (flying < FEWEST_LAPS_TO_TELL)
        return false;
    const size_t lean = laps_lean_like(event, events, laps);
    return (double)lean < SHARE_OF_LAPS_FOR_A_JET * (double)flying;
}

/* The region names the part: main jet at the top, needle in the middle, pilot
 * or low-speed screw at the low end. What comes and goes is no jet, which does
 * not change by itself. */
static enum kw_fault fault_of_lean(const struct kw_event *event,
                                   const struct kw_events *events,
                                   const struct kw_laps *laps)
{
    /* Against the owner's limit or a reference the whole session counts, so
     * that "only some laps" says nothing about debris. */
    if (event->detail.lean.basis == KW_BASIS_SESSION &&
        comes_and_goes(event, events, laps))
        return KW_FAULT_LEAN_PASSING;
    switch (event->detail.lean.region) {
    case KW_REGION_TOP:
        return KW_FAULT_LEAN_TOP;
    case KW_REGION_MIDDLE:
        return KW_FAULT_LEAN_MIDDLE;
    case KW_REGION_LOW:
        return KW_FAULT_LEAN_LOW;
    }
    return KW_FAULT_LEAN_TOP;
}

/* The detector has judged the cause; nothing is guessed here. */
static enum kw_fault fault_of_dropout(const struct kw_event *event)
{
    switch (event->detail.dropout.cause) {
    case KW_CAUSE_LOOSE_CONNECTION:
        return KW_FAULT_CONNECTION;
    case KW_CAUSE_FUEL_RESTRICTION:
        return KW_FAULT_FUEL_SUPPLY;
    case KW_CAUSE_UNCLEAR:
        return KW_FAULT_UNCLEAR_DROPOUT;
    }
    return KW_FAULT_UNCLEAR_DROPOUT;
}

/* Somewhere in the session, not at the same moment: a filter that clogs starves
 * one straight and heats the next. */
static bool fuel_is_short(const struct kw_events *events)
{
    for (size_t i = 0; i < events->n; i++) {
        if (events->items[i].kind == KW_DROPOUT &&
            events->items[i].detail.dropout.cause == KW_CAUSE_FUEL_RESTRICTION)
            return true;
    }
    return false;
}

/* Without a default on purpose: the compiler then names a kind that was added
 * and forgotten here. */
enum kw_fault kw_fault_of(const struct kw_event *event,
                          const struct kw_events *events,
                          const struct kw_laps *laps)
{
    switch (event->kind) {
    case KW_LEAN: {
        const enum kw_fault fault = fault_of_lean(event, events, laps);
        /* Heat that comes and goes beside pulls that starve has one cause. */
        return fault == KW_FAULT_LEAN_PASSING && fuel_is_short(events)
                   ? KW_FAULT_FUEL_SUPPLY
                   : fault;
    }
    case KW_DROPOUT:
        return fault_of_dropout(event);
    case KW_RICH:
        return KW_FAULT_RICH;
    case KW_AIR_LEAK:
        return KW_FAULT_AIR_LEAK;
    case KW_CLUTCH_SLIP:
        return KW_FAULT_CLUTCH;
    case KW_CHAIN_JUMP:
        return KW_FAULT_CHAIN;
    case KW_EXHAUST_LEAK:
        return KW_FAULT_EXHAUST_LEAK;
    case KW_SEIZURE_ONSET:
        return KW_FAULT_SEIZURE;
    case KW_PROBE_FAULT:
        return KW_FAULT_PROBE;
    case KW_CLUTCH_ENGAGEMENT:
    case KW_N_EVENT_KINDS:
        break;
    }
    return KW_N_FAULTS;
}
