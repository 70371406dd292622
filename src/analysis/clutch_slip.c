/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A clutch that slips: it holds the engine higher than it should, or higher at
 * each start; or it lets go again when the kart pulls out of a slow corner. The
 * starts are those that were found before: it comes after clutch.c. */
#include "analysis/detectors.h"

#include "analysis/clutch_start.h"
#include "core/array.h"
#include "core/robust.h"
#include "core/text.h"
#include "signal/slope.h"

#include <math.h>
#include <stdlib.h>

/* Shoes press with what centrifugal force leaves of the spring's: nothing at
 * the RPM where they take hold, the spring's own force at 1.41 times that. With
 * much lining to spare a clutch carries the engine's torque at 1.1 times, with
 * little at 1.4, and up to 1.6 where the owner states at which RPM it first
 * drags (common practice, no source). One that is worn holds high for longer as
 * well: from the first share on it is doubted if one start took so long, from
 * the second whatever it took, from the third hardly. */
static const double HOLDS_HIGH = 1.45;
static const double HOLDS_TOO_HIGH = 1.6;
static const double HOLDS_FAR_TOO_HIGH = 1.8;
static const double HOLDS_LONG_S = 4.0;
/* Starts of one session: a lining that gets hot holds higher each time. */
enum { FEWEST_STARTS = 3, FEWEST_FLARES = 3 };
static const double ROSE_SHARE = 0.08;

/* A flare: engine over axle by this share and by so many of its own scatter,
 * for so long, under load, well above where the clutch should have locked. */
static const double FLARE_SLIP = 0.08;
static const double FLARE_SCATTERS = 5.0;
static const double FLARE_S = 0.5;
static const double LONGEST_FLARE_S = 6.0;
static const double LOCKED_ABOVE_HOLD = 1.15;
/* A speed comes in steps and with noise; a flare is longer than this. */
static const double SMOOTH_S = 0.3;

/* How sure: a hold against the profile, which may be that of another clutch,
 * from doubted to hardly; a hold that rose; flares (common practice, no
 * source). */
static const double SURE_BY_HOLD = 0.7;
static const double SURER_BY_HOLD = 0.25;
static const double SURE_BY_RISE = 0.7;
static const double SURE_BY_FLARES = 0.75;

/* What the three searches below have in common once they found something. */
struct slip {
    double start_s;
    double end_s;
    enum kw_urgency severity;
    double confidence;
};

/* Told as one event that spans all of what was seen: one glazed lining is one
 * thing to look at, not three. */
static enum kw_status tell(const struct kw_scene *scene,
                           const struct slip *slip,
                           struct kw_text *text,
                           struct kw_events *found,
                           struct kw_error *error)
{
    const struct kw_event event = {
        .kind = KW_CLUTCH_SLIP,
        .start_s = slip->start_s,
        .end_s = slip->end_s,
        .lap = kw_lap_at(scene->laps, slip->start_s),
        .severity = slip->severity,
        .confidence = slip->confidence,
    };
    return kw_events_tell(found, &event, text, error);
}

/* Median hold of all the starts; NAN without any. */
static double median_hold_rpm(const struct kw_starts *starts, double *scratch)
{
    for (size_t i = 0; i < starts->n; i++)
        scratch[i] = starts->items[i].hold_rpm;
    return kw_median(scratch, starts->n, scratch);
}

static double longest_s(const struct kw_starts *starts)
{
    double longest = 0.0;
    for (size_t i = 0; i < starts->n; i++)
        longest =
            fmax(longest, starts->items[i].locked_s - starts->items[i].start_s);
    return longest;
}

/* Against the profile. */
static enum kw_status look_at_height(const struct kw_scene *scene,
                                     const struct kw_starts *starts,
                                     double hold_rpm,
                                     struct kw_events *found,
                                     struct kw_error *error)
{
    /* Without a stated RPM there is nothing to hold it against: the comparison
     * is false for NAN. */
    const double clutch_rpm = scene->profile->clutch_rpm;
    const double share = hold_rpm / clutch_rpm;
    const double high =
        longest_s(starts) >= HOLDS_LONG_S ? HOLDS_HIGH : HOLDS_TOO_HIGH;
    if (!(share > high))
        return KW_OK;
    struct kw_text text = {0};
    kw_text_addf(&text, "The clutch held the engine at ");
    kw_text_add_whole(&text, hold_rpm);
    kw_text_addf(&text,
                 " RPM at %zu start%s. The profile says that it takes hold at ",
                 starts->n, starts->n == 1 ? "" : "s");
    kw_text_add_whole(&text, clutch_rpm);
    kw_text_add(&text, "; a sound one holds up to 1.4 times that.");
    if (share <= HOLDS_TOO_HIGH) {
        kw_text_add(&text, " One start took ");
        kw_text_add_number(&text, longest_s(starts), 1);
        kw_text_add(&text, " s.");
    }
    const double surely =
        fmin((share - high) / (HOLDS_FAR_TOO_HIGH - high), 1.0);
    const struct slip slip = {
        .start_s = starts->items[0].start_s,
        .end_s = starts->items[starts->n - 1].locked_s,
        .severity = share > HOLDS_FAR_TOO_HIGH ? KW_BEFORE_NEXT_RACE : KW_WATCH,
        .confidence = SURE_BY_HOLD + SURER_BY_HOLD * surely};
    return tell(scene, &slip, &text, found, error);
}

/* Start after start within the session. */
static enum kw_status look_at_rise(const struct kw_scene *scene,
                                   const struct kw_starts *starts,
                                   struct kw_events *found,
                                   struct kw_error *error)
{
    if (starts->n < FEWEST_STARTS)
        return KW_OK;
    /* Each must be higher than the one before: chance does that to three starts
     * once in six times, and to the 8 % that are asked for below far more
     * seldom. */
    for (size_t i = 1; i < starts->n; i++) {
        if (starts->items[i].hold_rpm < starts->items[i - 1].hold_rpm)
            return KW_OK;
    }
    const double first_rpm = starts->items[0].hold_rpm;
    const double last_rpm = starts->items[starts->n - 1].hold_rpm;
    if (!(last_rpm > (1.0 + ROSE_SHARE) * first_rpm))
        return KW_OK;
    struct kw_text text = {0};
    kw_text_addf(&text,
                 "Over %zu starts the clutch held higher each time: from ",
                 starts->n);
    kw_text_add_whole(&text, first_rpm);
    kw_text_add(&text, " to ");
    kw_text_add_whole(&text, last_rpm);
    kw_text_add(&text, " RPM.");
    const struct slip slip = {.start_s = starts->items[0].start_s,
                              .end_s = starts->items[starts->n - 1].locked_s,
                              .severity = KW_WATCH,
                              .confidence = SURE_BY_RISE};
    return tell(scene, &slip, &text, found, error);
}

/* What the search for flares works on. */
struct flares {
    const struct kw_session *session;
    const double *load;
    const double *axle_rpm;
    double least_rpm;
    double least_slip;
    size_t n;
    double first_s;
    double last_s;
    double worst;
};

/* Under load only. With the foot off, engine braking may turn it round, and
 * over a bump the wheels leave the ground. */
static bool slips(const struct flares *f, size_t i)
{
    return kw_under_load(f->load[i]) && f->axle_rpm[i] > f->least_rpm &&
           f->session->rpm[i] > (1.0 + f->least_slip) * f->axle_rpm[i];
}

/* Longer than the longest flare is no flare but a wrong ratio: the sprockets
 * were changed and the profile was not. */
static void find_flares(struct flares *f)
{
    const double *time_s = f->session->time_s;
    const size_t n = f->session->n_samples;
    for (size_t from = 0; from < n;) {
        size_t to = from;
        double worst = 0.0;
        for (; to < n && slips(f, to); to++)
            worst = fmax(worst, f->session->rpm[to] / f->axle_rpm[to] - 1.0);
        const double for_s = to > from ? time_s[to - 1] - time_s[from] : 0.0;
        if (for_s >= FLARE_S && for_s <= LONGEST_FLARE_S) {
            f->first_s = f->n == 0 ? time_s[from] : f->first_s;
            f->last_s = time_s[to - 1];
            f->worst = fmax(f->worst, worst);
            f->n++;
        }
        from = to > from ? to : from + 1;
    }
}

/* Out of a slow corner a sound clutch is locked and stays so. With the axle's
 * speed smoothed, what the engine runs ahead by is slip. A speed that was made
 * from fixes comes later than a pull, and is no witness. */
static enum kw_status look_at_flares(const struct kw_scene *scene,
                                     const struct kw_drive *drive,
                                     double hold_rpm,
                                     struct kw_events *found,
                                     struct kw_error *error)
{
    if (drive->axle_rpm == NULL || scene->load == NULL || isnan(hold_rpm) ||
        scene->session->speed_is_derived)
        return KW_OK;
    double *axle_rpm = kw_array_new_nan(scene->session->n_samples, error);
    if (axle_rpm == NULL)
        return KW_NO_MEMORY;
    kw_smooth(scene->session, drive->axle_rpm, SMOOTH_S, axle_rpm);
    struct flares f = {.session = scene->session,
                       .load = scene->load,
                       .axle_rpm = axle_rpm,
                       .least_rpm = LOCKED_ABOVE_HOLD * hold_rpm,
                       .least_slip =
                           fmax(FLARE_SLIP, FLARE_SCATTERS * drive->scatter)};
    find_flares(&f);
    free(axle_rpm);
    if (f.n < FEWEST_FLARES)
        return KW_OK;
    struct kw_text text = {0};
    kw_text_addf(&text,
                 "Under load and above the speed where the clutch should have "
                 "locked the engine ran ahead of the axle %zu times, by up to ",
                 f.n);
    kw_text_add_number(&text, 100.0 * f.worst, 0);
    kw_text_add(&text, " %.");
    const struct slip slip = {.start_s = f.first_s,
                              .end_s = f.last_s,
                              .severity = KW_BEFORE_NEXT_RACE,
                              .confidence = SURE_BY_FLARES};
    return tell(scene, &slip, &text, found, error);
}

/* From the slow signs to the quick one. Each may speak: a worn lining holds
 * high and flares too, and the suggestion counts them as one. */
static enum kw_status look_at_all(const struct kw_scene *scene,
                                  const struct kw_drive *drive,
                                  const struct kw_starts *starts,
                                  struct kw_events *found,
                                  struct kw_error *error)
{
    double *scratch = kw_array_new(starts->n, sizeof *scratch, error);
    if (scratch == NULL)
        return KW_NO_MEMORY;
    const double hold_rpm = median_hold_rpm(starts, scratch);
    free(scratch);
    enum kw_status status =
        look_at_height(scene, starts, hold_rpm, found, error);
    if (status == KW_OK)
        status = look_at_rise(scene, starts, found, error);
    if (status == KW_OK)
        status = look_at_flares(scene, drive, hold_rpm, found, error);
    return status;
}

/* The starts that were found before, as kw_find_starts() gives them. */
static enum kw_status take_starts(const struct kw_events *events,
                                  struct kw_starts *out,
                                  struct kw_error *error)
{
    for (size_t i = 0; i < events->n; i++) {
        const struct kw_event *event = &events->items[i];
        if (event->kind != KW_CLUTCH_ENGAGEMENT)
            continue;
        if (kw_array_reserve(&out->items, &out->capacity, out->n + 1,
                             sizeof *out->items, error) != KW_OK)
            return KW_NO_MEMORY;
        out->items[out->n++] =
            (struct kw_start){.start_s = event->start_s,
                              .locked_s = event->end_s,
                              .start_rpm = event->detail.engagement.start_rpm,
                              .hold_rpm = event->detail.engagement.hold_rpm};
    }
    return KW_OK;
}

/* Reads the starts from the events before it and not from the trace again: what
 * was told as a start is what is judged. */
enum kw_status kw_find_clutch_slip(const struct kw_scene *scene,
                                   struct kw_events *found,
                                   struct kw_error *error)
{
    struct kw_drive own;
    const struct kw_drive *drive;
    struct kw_starts starts = {0};
    enum kw_status status = kw_borrow_drive(scene, &own, &drive, error);
    if (status == KW_OK)
        status = take_starts(scene->events, &starts, error);
    if (status == KW_OK && starts.n > 0)
        status = look_at_all(scene, drive, &starts, found, error);
    kw_starts_free(&starts);
    kw_drive_free(&own);
    return status;
}
