/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Seasons made by hand, through the library's own front door. */
#include "support/season.h"

#include "support/check.h"
#include "support/scratch.h"

#include <string.h>

static void must(const char *what,
                 enum kw_status status,
                 const struct kw_error *error)
{
    if (status != KW_OK)
        fail_msg("%s: %s: %s", what, error->what, error->todo);
}

void season_begin(struct season *season, const void *folder)
{
    struct kw_error error = {0};
    *season = (struct season){0};
    scratch_path(season->path, folder, "season.db");
    must("open",
         kw_logbook_open(season->path, KW_LOGBOOK_WRITE, &season->book, &error),
         &error);
}

void season_end(struct season *season)
{
    kw_logbook_close(season->book);
    season->book = NULL;
}

double season_day(double days)
{
    return SEASON_START_S + days * DAY_S;
}

static struct kw_new_entry entry_on(const struct season *season, double days)
{
    return (struct kw_new_entry){.at_s = season_day(days),
                                 .source = KW_DATE_GIVEN,
                                 .written_s = season_day(days),
                                 .kart = season->kart};
}

static int64_t add_in(struct season *season,
                      double days,
                      struct kw_review *review,
                      const struct kw_air *air)
{
    const struct kw_new_entry entry = entry_on(season, days);
    struct kw_new_session session = {.review = review,
                                     .log_name = "made-up.csv",
                                     .log_bytes = 1000,
                                     .air = air};
    struct kw_added added;
    struct kw_error error = {0};
    season->n_logs++;
    memcpy(session.log_sha256, &season->n_logs, sizeof season->n_logs);
    must("add",
         kw_logbook_add_session(season->book, &entry, &session, &added, &error),
         &error);
    assert_false(added.already);
    return added.id;
}

static int64_t add(struct season *season, double days, struct kw_review *review)
{
    return add_in(season, days, review, NULL);
}

int64_t season_session_at_heat(struct season *season,
                               double days,
                               double egt_c,
                               const struct kw_air *air)
{
    char verdict[] = "Nothing stands out.";
    struct kw_lap lap = {.number = 1,
                         .kind = KW_LAP_FLYING,
                         .end_s = 50.0,
                         .rpm_max = 14000.0,
                         .egt_max_c = egt_c};
    struct kw_review review = {.running = {.seconds = 900.0, .starts = 1},
                               .verdict_text = verdict,
                               .laps = {.items = &lap, .n = 1, .capacity = 1}};
    return add_in(season, days, &review, air);
}

int64_t season_session(struct season *season, double days, double running_s)
{
    char verdict[] = "Nothing stands out.";
    struct kw_review review = {.running = {.seconds = running_s, .starts = 1},
                               .verdict_text = verdict};
    return add(season, days, &review);
}

int64_t season_session_on_stand(struct season *season, double days)
{
    char verdict[] = "This log cannot say.";
    struct kw_review review = {.running = {.seconds = 300.0, .starts = 1},
                               .verdict = KW_VERDICT_NOT_KNOWN,
                               .verdict_text = verdict};
    return add(season, days, &review);
}

int64_t season_session_with(struct season *season,
                            double days,
                            const char *finding,
                            enum kw_urgency urgency)
{
    char verdict[] = "See to the points below.";
    char part[128];
    char why[] = "Seen 3 times.";
    char check[] = "1. Look at it.";
    char caution[] = "Engine off and cold.";
    snprintf(part, sizeof part, "%s", finding);
    struct kw_suggestion suggestion = {.rank = 1,
                                       .urgency = urgency,
                                       .part = part,
                                       .why = why,
                                       .check = check,
                                       .caution = caution};
    struct kw_review review = {
        .running = {.seconds = 900.0, .starts = 1},
        .verdict_text = verdict,
        .suggestions = {.items = &suggestion, .n = 1, .capacity = 1}};
    return add(season, days, &review);
}

int64_t season_fit(struct season *season,
                   double days,
                   const char *part,
                   double life_h)
{
    const struct kw_new_entry entry = entry_on(season, days);
    const struct kw_new_part new_part = {
        .part = part, .life_h = life_h, .life_days = NAN};
    struct kw_fitted fitted;
    struct kw_error error = {0};
    must("fit",
         kw_logbook_fit(season->book, &entry, &new_part, &fitted, &error),
         &error);
    return fitted.id;
}

int64_t season_remove(struct season *season, double days, int64_t part_id)
{
    const struct kw_new_entry entry = entry_on(season, days);
    struct kw_error error = {0};
    int64_t id = 0;
    must("remove",
         kw_logbook_remove(season->book, &entry, part_id, &id, &error), &error);
    return id;
}

int64_t season_watch(struct season *season,
                     double days,
                     const char *text,
                     bool make_do)
{
    struct kw_new_entry entry = entry_on(season, days);
    const struct kw_new_watch watch = {.make_do = make_do};
    struct kw_error error = {0};
    int64_t id = 0;
    entry.text = text;
    must("watch", kw_logbook_watch(season->book, &entry, &watch, &id, &error),
         &error);
    return id;
}

int64_t season_close(struct season *season,
                     double days,
                     int64_t target,
                     const char *note)
{
    struct kw_new_entry entry = entry_on(season, days);
    struct kw_error error = {0};
    int64_t id = 0;
    entry.text = note;
    must("close",
         kw_logbook_close_item(season->book, &entry, target, &id, &error),
         &error);
    return id;
}

double season_hours(struct season *season, int64_t part_id)
{
    struct kw_parts parts;
    struct kw_error error = {0};
    double hours = -1.0;
    must("parts", kw_logbook_parts(season->book, &parts, &error), &error);
    for (size_t i = 0; i < parts.n; i++) {
        if (parts.items[i].id == part_id)
            hours = kw_part_hours(&parts.items[i]);
    }
    kw_parts_free(&parts);
    if (hours < 0.0)
        fail_msg("no part %d", (int)part_id);
    return hours;
}

struct kw_dues season_due(struct season *season, double days)
{
    struct kw_dues dues;
    struct kw_error error = {0};
    must("due", kw_logbook_due(season->book, season_day(days), &dues, &error),
         &error);
    return dues;
}

const struct kw_due *due_of(const struct kw_dues *dues, int64_t id)
{
    for (size_t i = 0; i < dues->n; i++) {
        if (dues->items[i].id == id)
            return &dues->items[i];
    }
    return NULL;
}
