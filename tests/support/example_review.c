/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A review made by hand, by plain formulas: shapes, not physics. */
#include "support/example_review.h"

#include "core/array.h"
#include "core/text.h"
#include "support/check.h"

#include <stdlib.h>

enum { SAMPLES = 12000, LAPS = 12 };

static const double RATE_HZ = 20.0;
static const double FIRST_LAP_S = 40.0;
static const double LAP_S = 45.0;
static const double LEAN_FROM_S = 301.2;
static const double LEAN_TO_S = 309.9;

const char hostile_heading[] = "\"; rm -rf ~ `id` $(id) </script><b> '%s "
                               "\n\x1b[31m \xe2\x80\xae\xff @";

static double *new_channel(void)
{
    double *values = kw_array_new_nan(SAMPLES, NULL);
    assert_non_null(values);
    return values;
}

static char *copy_of(const char *text)
{
    char *copy = kw_text_duplicate(text, NULL);
    assert_non_null(copy);
    return copy;
}

/* How far round the lap at a time, 0 to 1. */
static double place_at(double time_s)
{
    const double laps = (time_s - FIRST_LAP_S) / LAP_S;
    return laps - floor(laps);
}

static double rpm_at(double time_s)
{
    if (time_s < 8.0)
        return 2200.0 + 80.0 * sin(time_s * 9.0);
    const double place = place_at(time_s);
    const double corner = fabs(sin(place * 3.0 * 3.14159265));
    return 7000.0 + 7800.0 * pow(corner, 0.6) + 60.0 * sin(time_s * 3.7);
}

static double egt_at(double time_s)
{
    const double warm = 1.0 - exp(-time_s / 60.0);
    const double lean =
        time_s > LEAN_FROM_S && time_s < LEAN_TO_S + 2.0 ? 38.0 : 0.0;
    return 60.0 + warm * (430.0 + 0.011 * rpm_at(time_s - 0.9)) + lean;
}

static void fill_session(struct kw_review *review)
{
    struct kw_session *session = &review->session;
    session->n_samples = SAMPLES;
    session->rate_hz = RATE_HZ;
    session->probe_lag_s = 1.2;
    session->probe_lag_error_s = 0.2;
    session->probe_lag_origin = KW_ORIGIN_SESSION;
    session->origin_lat_deg = session->origin_lon_deg = NAN;
    double **const channels[] = {
        &session->time_s,   &session->rpm_raw,   &session->rpm,
        &session->egt_c,    &session->egt_raw_c, &session->gas_c,
        &session->x_m,      &session->y_m,       &session->speed_m_s,
        &review->load,      &review->expected_c, &review->expected_spread_c,
        &review->laps.place};
    for (size_t i = 0; i < sizeof channels / sizeof channels[0]; i++)
        *channels[i] = new_channel();
    for (size_t i = 0; i < SAMPLES; i++) {
        const double t = (double)i / RATE_HZ;
        const double angle = place_at(t) * 2.0 * 3.14159265;
        session->time_s[i] = t;
        session->rpm[i] = session->rpm_raw[i] = rpm_at(t);
        session->egt_c[i] = session->egt_raw_c[i] = egt_at(t);
        session->gas_c[i] = egt_at(t + 1.2);
        session->speed_m_s[i] = rpm_at(t) / 60.0 * 0.85 / 7.09;
        session->x_m[i] = 160.0 * cos(angle) + 30.0 * cos(3.0 * angle);
        session->y_m[i] = 90.0 * sin(angle) - 20.0 * sin(2.0 * angle);
        review->load[i] = rpm_at(t + 0.05) > rpm_at(t) ? 1.0 : 0.0;
        review->expected_c[i] =
            egt_at(t + 1.2) -
            (t > LEAN_FROM_S && t < LEAN_TO_S + 0.8 ? 38.0 : 0.0);
        review->expected_spread_c[i] = 12.0;
        review->laps.place[i] = t >= FIRST_LAP_S ? place_at(t) : NAN;
    }
    /* A drop-out of a fifth of a second. */
    for (size_t i = 4207; i < 4211; i++)
        session->rpm[i] = session->rpm_raw[i] = 0.0;
}

static void fill_log(struct kw_review *review)
{
    static const struct kw_channel channels[] = {
        {.role = KW_ROLE_TIME, .column = "Zeit", .unit = "s"},
        {.role = KW_ROLE_RPM,
         .column = "Drehzahl",
         .unit = "rpm",
         .missing = 3},
        {.role = KW_ROLE_EGT, .column = "Abgastemp", .unit = "C"}};
    struct kw_log *log = &review->log;
    log->path = copy_of("logs/invented practice.csv");
    log->data_rows = SAMPLES + 2;
    log->rows_used = SAMPLES;
    log->rows_rejected = 2;
    log->sample_rate_hz = RATE_HZ;
    log->duration_s = (SAMPLES - 1) / RATE_HZ;
    log->start_unix_s = NAN;
    log->n_channels = sizeof channels / sizeof channels[0];
    log->channels = kw_array_new(log->n_channels, sizeof *log->channels, NULL);
    assert_non_null(log->channels);
    for (size_t i = 0; i < log->n_channels; i++) {
        log->channels[i] = channels[i];
        log->channels[i].column = copy_of(channels[i].column);
        log->channels[i].unit = copy_of(channels[i].unit);
        log->channels[i].why = copy_of("by its heading");
    }
    for (size_t line = 811; line < 817; line++)
        assert_int_equal(
            kw_notices_add(&log->notices, line,
                           "row has 5 fields, expected 6: left out", NULL),
            KW_OK);
    assert_int_equal(kw_notices_add(&review->session.notices, 0,
                                    "4 EGT readings were spikes: set aside",
                                    NULL),
                     KW_OK);
}

static void fill_laps(struct kw_review *review)
{
    struct kw_laps *laps = &review->laps;
    laps->method = KW_LAPS_BY_RPM;
    assert_int_equal(kw_array_reserve(&laps->items, &laps->capacity, LAPS + 2,
                                      sizeof *laps->items, NULL),
                     KW_OK);
    laps->line_x_m[0] = laps->line_x_m[1] = NAN;
    laps->line_y_m[0] = laps->line_y_m[1] = NAN;
    laps->items[laps->n++] = (struct kw_lap){
        1, KW_LAP_OUT, false, 8.0, FIRST_LAP_S, 14100, 2100, 601.2, 455.3};
    for (size_t i = 0; i < LAPS; i++) {
        const double start_s = FIRST_LAP_S + LAP_S * (double)i;
        laps->items[laps->n] =
            (struct kw_lap){laps->n + 1,
                            KW_LAP_FLYING,
                            i == 8,
                            start_s,
                            start_s + LAP_S,
                            14700 + 20.0 * (double)(i % 4),
                            6980,
                            630.0 + (i == 5 ? 38.0 : (double)(i % 3)),
                            560.1};
        laps->n++;
    }
    laps->items[laps->n] = (struct kw_lap){
        laps->n + 1, KW_LAP_IN, false, 580.0, 599.95, 9800, 1900, NAN, NAN};
    laps->n++;
}

static void add(struct kw_review *review, struct kw_event event)
{
    assert_int_equal(kw_events_add(&review->events, &event, NULL), KW_OK);
}

static void fill_events(struct kw_review *review)
{
    add(review,
        (struct kw_event){
            .kind = KW_LEAN,
            .start_s = LEAN_FROM_S,
            .end_s = LEAN_TO_S,
            .lap = 7,
            .severity = KW_BEFORE_NEXT_RACE,
            .confidence = 0.94,
            .evidence = "38 C hotter than this engine gives at the "
                        "same RPM and place on 11 other laps.",
            .detail.lean = {671.0, 38.04, KW_REGION_TOP, KW_BASIS_SESSION}});
    add(review,
        (struct kw_event){.kind = KW_DROPOUT,
                          .start_s = 210.35,
                          .end_s = 210.55,
                          .lap = 4,
                          .severity = KW_BEFORE_NEXT_RACE,
                          .confidence = 0.93,
                          .evidence = "RPM fell by 9,800 in 0.05 s; "
                                      "braking allows 245.",
                          .detail.dropout = {9800, KW_CAUSE_LOOSE_CONNECTION}});
    add(review, (struct kw_event){
                    .kind = KW_CLUTCH_ENGAGEMENT,
                    .start_s = 8.1,
                    .end_s = 10.0504,
                    .severity = KW_WATCH,
                    .confidence = 0.9,
                    .evidence = "slip fell to 3 %.",
                    .detail.engagement = {4310, 4870, NAN, KW_CLUTCH_BY_RPM}});
    add(review, (struct kw_event){.kind = KW_EXHAUST_LEAK,
                                  .start_s = 60.0,
                                  .end_s = 500.0,
                                  .severity = KW_WATCH,
                                  .confidence = 0.55,
                                  .evidence = "EGT erratic on all laps."});
    kw_events_sort(&review->events);
}

static void add_suggestion(struct kw_review *review,
                           enum kw_urgency urgency,
                           const char *part,
                           const char *why)
{
    struct kw_suggestions *list = &review->suggestions;
    assert_int_equal(kw_array_reserve(&list->items, &list->capacity,
                                      list->n + 1, sizeof *list->items, NULL),
                     KW_OK);
    list->items[list->n++] = (struct kw_suggestion){
        list->n,
        urgency,
        copy_of(part),
        copy_of(why),
        copy_of("1. Tank vent: blow through it, air must pass freely. 2. Fuel "
                "filter: clean, and its arrow points with the flow; replace it "
                "if in doubt, it is cheap. 3. Fuel line: soft, no kink."),
        copy_of("Engine off and cold. Keep fuel away from heat and sparks.")};
}

void example_review(struct kw_review *review)
{
    *review = (struct kw_review){0};
    fill_session(review);
    fill_log(review);
    fill_laps(review);
    fill_events(review);
    review->running.seconds = 588.4;
    review->running.starts = 1;
    add_suggestion(review, KW_BEFORE_NEXT_RACE, "main jet or high-speed screw",
                   "Seen once, lap 7. 38 C hotter than this engine gives at "
                   "the same RPM and place on 11 other laps.");
    add_suggestion(review, KW_BEFORE_NEXT_RACE,
                   "ignition and battery connections",
                   "Seen once, lap 4. RPM fell by 9,800 in 0.05 s; braking "
                   "allows 245.");
    review->suggestions.items[1].rank = 2;
    review->suggestions.items[0].rank = 1;
    review->verdict = KW_MEND_BEFORE_RACE;
    review->verdict_text =
        copy_of("Nothing in this log forbids another run, but see to the "
                "points below before the next race.");
    assert_int_equal(kw_notices_add(&review->not_judged, 0,
                                    "Chain jumps: the log has no speed.", NULL),
                     KW_OK);
}

static void drop(double **values)
{
    free(*values);
    *values = NULL;
}

void bare_review(struct kw_review *review)
{
    example_review(review);
    kw_events_free(&review->events);
    for (size_t i = 0; i < review->suggestions.n; i++) {
        free(review->suggestions.items[i].part);
        free(review->suggestions.items[i].why);
        free(review->suggestions.items[i].check);
        free(review->suggestions.items[i].caution);
    }
    review->suggestions.n = 0;
    review->laps.n = 0;
    review->laps.method = KW_LAPS_NONE;
    drop(&review->laps.place);
    drop(&review->session.egt_c);
    drop(&review->session.egt_raw_c);
    drop(&review->session.gas_c);
    drop(&review->session.x_m);
    drop(&review->session.y_m);
    drop(&review->session.speed_m_s);
    drop(&review->expected_c);
    drop(&review->expected_spread_c);
    review->verdict = KW_NOTHING_STANDS_OUT;
    free(review->verdict_text);
    review->verdict_text = NULL;
}

void make_hostile(struct kw_review *review)
{
    free(review->log.path);
    review->log.path = copy_of(hostile_heading);
    for (size_t i = 0; i < review->log.n_channels; i++) {
        free(review->log.channels[i].column);
        review->log.channels[i].column = copy_of(hostile_heading);
    }
    assert_int_equal(
        kw_notices_add(&review->log.notices, 3, hostile_heading, NULL), KW_OK);
    free(review->suggestions.items[0].why);
    review->suggestions.items[0].why = copy_of(hostile_heading);
    free(review->events.items[0].evidence);
    review->events.items[0].evidence = copy_of(hostile_heading);
}
