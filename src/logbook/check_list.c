/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The round of checks, for racers to read and correct.
 *
 * Common practice, no source: what a careful club racer looks at on the evening
 * after a race day. Wear limits, torques and gaps are on the maker's sheet and
 * are not repeated here; the class rules come first. What one kart does not
 * have is skipped for good with 'kartwright logbook skip ITEM --always', and
 * what is missing here is added with 'kartwright logbook new-check'.
 */
#include "logbook/check_list.h"

#include "core/text.h"

static const struct kw_check_row rows[] = {
    {"clean", "cleaned|look", "the whole kart cleaned and looked over",
     "dirt hides cracks, leaks and loose bolts",
     "Wipe while you look: fresh bright metal, a wet spot or a missing nut is "
     "what you are after.",
     "No cleaner near heat or sparks; gloves and eye protection."},
    {"frame", "chassis|welds|weld|seat stays|stays",
     "frame, seat stays and welds: no cracks",
     "a crack grows with every kerb until something breaks off",
     "Clean the welds, take a good light, and follow each with a fingertip: a "
     "crack is a hairline, often with rust or flaked paint along it.",
     "A kart with a cracked frame, stay or steering part does not go out. Have "
     "it welded by someone who does that for a living."},
    {"bolts", "bolt|nuts|fixings|floor tray|bumper|bumpers|steering",
     "bolts, floor-tray and bumper fixings: tight, none missing",
     "vibration undoes what is not locked",
     "A spanner on each: it must not turn. Rock the steering wheel: no play in "
     "its rods and joints. Replace what is missing, and lock nuts that turn by "
     "hand.",
     "Torques are on the maker's sheet. Steering and brake keep their safety "
     "clips."},
    {"exhaust", "springs|exhaust springs|gasket|pipe|header",
     "exhaust springs and gasket: whole, no soot at the joint",
     "a leak at the header upsets the mixture and the EGT reading",
     "Springs unbroken and tight on their hooks; black streaks at the joint "
     "tell of a leak.",
     "Pipe and header cold. Pull springs with a hook, eye protection on."},
    {"chain", "chain tension", "chain: wear and tension",
     "a worn or slack chain jumps, and takes the teeth with it",
     "Turn the axle by hand to the tightest spot: slack there as the maker's "
     "sheet says, no stiff, loose or cracked link.",
     "Engine off, plug cap off, fingers away from where the chain meets the "
     "sprocket."},
    {"alignment", "align|in line|line|sprocket line",
     "front and rear sprocket: in line",
     "out of line, chain and teeth wear in a day or two",
     "A straight edge along the teeth of the rear sprocket lies flat on those "
     "of the front one too.",
     "Engine off, plug cap off."},
    {"teeth", "sprocket|sprockets", "sprocket teeth: not hooked or rounded",
     "hooked teeth let the chain jump and wear a new one quickly",
     "Look from the side: both flanks of a tooth are alike. Replace a sprocket "
     "with hooked or pointed teeth, and look at the chain again.",
     "Worn teeth are sharp: gloves."},
    {"clutch", "drum|clutch drum",
     "clutch: drum clean and dry, bearing greased lightly",
     "chain lubricant on the drum makes it slip; a dry bearing seizes",
     "Drum dry and not blue, lining not glazed, a trace of grease on the "
     "bearing alone. Shims and washers go back in the same order and the same "
     "way round: take a photo first.",
     "Engine off and cold. Never run the engine with the clutch uncovered."},
    {"reeds", "reed|reed block", "reeds: no chips, no cracks",
     "a chipped reed makes the engine hang, and lean at low RPM",
     "Take the block out and hold it to the light: petals whole to their "
     "corners, closed on their seats.",
     "Cover the open inlet with a clean rag. If a piece is missing it may be "
     "in the engine: do not run it."},
    {"air-filter", "airfilter|air filter|airbox|air box",
     "air filter: clean, seated, its box whole",
     "what gets past the filter grinds the piston and its ring",
     "Wash or replace it as its maker says; no tear, clamp tight.",
     "No fuel as a cleaner; gloves and eye protection."},
    {"fuel", "fuel line|fuel filter|tank|fuel tank",
     "fuel line and filter: no leak, no kink, arrow with the flow",
     "a hardened or kinked line starves the engine on the longest straight",
     "Bend the line: it must be soft, with no crack at its ends. Filter clean, "
     "clamps tight, tank vent open.",
     "Engine cold, no heat or sparks near. Wipe up spilt fuel at once."},
    {"throttle", "cable|throttle cable|pedal",
     "throttle cable: free, its casing whole",
     "a cable that sticks holds the throttle open",
     "Press and let go of the pedal with the wheel straight and turned: it "
     "snaps shut each time. No broken strand, no kink.",
     "A cable with one broken strand is replaced before the engine runs."},
    {"wires", "wire|wiring|leads|battery|ground",
     "wires: tied clear of heat and chain",
     "a chafed or loose wire cuts the engine out",
     "Pull gently at each connector, the battery clamp, the ground wire and "
     "the plug cap; no melted spot, no bare copper.",
     "Take the battery off before you mend a wire."},
    {"plug", "spark plug", "plug: colour, gap, cap tight",
     "its colour shows the mixture, and a loose cap cuts out",
     "Dry, and light to mid brown (common practice, no source). White, or with "
     "specks of metal: do not run the engine before you know why. The gap is "
     "on the maker's sheet.",
     "Engine cold: a hot head gives up its thread. Start the plug by hand."},
    {"brake", "brakes|brake pads|pads|brake disc|brake fluid",
     "brake: pads, disc, no leak, pedal firm", "it has to stop you every time",
     "Pads thicker than the maker's limit, disc neither loose nor cracked, no "
     "wet spot from pump to caliper, a pedal that is firm and does not sink.",
     "With a soft pedal the kart does not go out. Keep oil off disc and pads; "
     "brake fluid burns skin and eyes: gloves and eye protection."},
    {"bearings", "bearing|axle bearings|wheel bearings|hubs|axle",
     "axle and wheel bearings: free, no play",
     "a rough bearing costs speed, then an axle",
     "Spin each wheel and listen for grating; take it at top and bottom and "
     "rock it: no knock.",
     "A stand that cannot tip; fingers clear of chain and sprocket."},
    {"tyres", "tyre|tires|tire|pressures|wheels",
     "tyres: pressures, no cuts, wheel nuts tight",
     "a slow leak or a cut shows overnight",
     "Hold the pressure against what you left in them; look for cuts and for "
     "cord showing.",
     "Never above the tyre maker's highest pressure."},
};

enum { N_ROWS = sizeof rows / sizeof rows[0] };

const struct kw_check_row *kw_check_list(size_t *n)
{
    *n = N_ROWS;
    return rows;
}

const struct kw_check_row *kw_check_list_find(const char *name)
{
    for (size_t i = 0; i < N_ROWS; i++) {
        if (kw_text_same(rows[i].name, name) ||
            kw_text_is_among(rows[i].aliases, name))
            return &rows[i];
    }
    return NULL;
}
