/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A season in a line each: a logbook in the test's scratch folder, filled with
 * sessions, parts and findings made by hand. All functions fail the test when
 * the book refuses. */
#ifndef KARTWRIGHT_TESTS_SEASON_H
#define KARTWRIGHT_TESTS_SEASON_H

#include "kartwright/upkeep.h"

/* Start of a made-up season, and the length of a day: 2026-06-14 10:00 UTC. */
#define SEASON_START_S 1781431200.0
#define DAY_S 86400.0

/* book   open to write.
 * path   of its file.
 * n_logs  sessions so far: each gets a fingerprint of its own.
 * kart   that new entries name, or NULL. */
struct season {
    struct kw_logbook *book;
    char path[512];
    unsigned n_logs;
    const char *kart;
};

void season_begin(struct season *season, const void *folder);
void season_end(struct season *season);

/* A moment of the season: that many days after its start. */
double season_day(double days);

/* Each returns the number of the new entry.
 *
 * session   ran running_s seconds; finding is the part that was found wrong, or
 *           NULL, and urgency how soon.
 * session_on_stand  ran and was not driven: nothing could have been found.
 * fit       a new part with a life in hours, NAN for the list's. */
int64_t season_session(struct season *season, double days, double running_s);
int64_t season_session_on_stand(struct season *season, double days);
int64_t season_session_with(struct season *season,
                            double days,
                            const char *finding,
                            enum kw_urgency urgency);
/* A session of one lap with that highest EGT; air NULL where it was not
 * written down. */
int64_t season_session_at_heat(struct season *season,
                               double days,
                               double egt_c,
                               const struct kw_air *air);
int64_t season_fit(struct season *season,
                   double days,
                   const char *part,
                   double life_h);
int64_t season_remove(struct season *season, double days, int64_t part_id);
int64_t season_watch(struct season *season,
                     double days,
                     const char *text,
                     bool make_do);
int64_t season_close(struct season *season,
                     double days,
                     int64_t target,
                     const char *note);

/* Hours of one part in the book as it stands; fails when it has none such. */
double season_hours(struct season *season, int64_t part_id);

/* What is due; the caller frees it. */
struct kw_dues season_due(struct season *season, double days);

/* The item with this number, or NULL. */
const struct kw_due *due_of(const struct kw_dues *dues, int64_t id);

#endif
