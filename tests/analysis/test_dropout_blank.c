/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "analysis/detectors.h"

#include "support/check.h"
#include "support/made_scene.h"

#include <math.h>
#include <string.h>

/* RPM that has no reading.
 *
 * rate_hz   of the log.
 * at_s      from here on; after the start of the fourth lap, or of the log
 *           before the kart is driven.
 * for_s     for so long.
 * each      elsewhere only two readings in so many rows.
 * pause_s   the logger then writes nothing for so long.
 * standing  the engine stands until it is over; idling, it idles.
 * no_probe  the log has no EGT; no_row, nothing at all is read meanwhile.
 * ends_s    in the last so many seconds it reads 0 instead.
 * told      the signal was lost. */
struct blank {
    const char *label;
    double rate_hz;
    double at_s;
    double for_s;
    size_t each;
    double pause_s;
    bool standing;
    bool idling;
    bool no_probe;
    bool no_row;
    double ends_s;
    bool told;
};

static const struct blank blanks[] = {
    {"blank", 20, 5.0, 0.8, 1, .told = true},
    {"at 100 Hz", 100, 5.0, 0.4, 1, .told = true},
    {"at 5 Hz", 5, 5.0, 0.6, 1, .told = true},
    {"in a bend", 20, 9.0, 3.0, 1, .told = true},
    {"ends with nothing", 20, 5.0, 0.8, 1, .ends_s = 0.1, .told = true},
    {"an engine that stands", 20, 5.0, 20.0, 1, .ends_s = 19.0, .told = false},
    {"short", 100, 5.0, 0.15, 1, .told = false},
    {"one cell at 3 Hz", 3, 5.0, 0.33, 1, .told = false},
    {"read in turn", 20, 5.0, 0.3, 6, .told = false},
    {"long, read in turn", 20, 5.0, 1.5, 4, .told = true},
    {"beside a pause", 20, 5.0, 0.15, 1, .pause_s = 5.0, .told = false},
    {"while the engine stands", 20, 0.5, 1.0, 1, .standing = true},
    {"at idle", 20, 12.0, 1.0, 1, .idling = true},
    {"nothing else to read", 20, 5.0, 0.8, 1, .no_probe = true},
    {"no row", 20, 5.0, 0.8, 1, .no_row = true},
    {"until the end", 20, 5.0, 1e4, 1, .told = false},
};

static void make_blank(struct synthetic *made,
                       const struct blank *blank,
                       double from_s)
{
    if (blank->standing)
        synthetic_stop_engine(made, 0.0, from_s + blank->for_s + 1.0);
    for (size_t i = 0; i < made->n; i++) {
        if (i % blank->each > 1)
            made->rpm[i] = NAN;
    }
    const size_t to = synthetic_at(made, from_s + blank->for_s);
    const size_t zero =
        synthetic_at(made, from_s + blank->for_s - blank->ends_s);
    for (size_t i = synthetic_at(made, from_s); i < to; i++) {
        made->rpm[i] = i < zero ? NAN : 0.0;
        if (blank->no_row)
            made->egt_c[i] = NAN;
    }
    for (size_t i = to; i < made->n; i++)
        made->time_s[i] += blank->pause_s;
}

/* What another sensor was read beside is a lost signal, and nothing else is. */
static void test_blank__lost_while_others_are_read(void **state)
{
    (void)state;
    for (size_t k = 0; k < sizeof blanks / sizeof blanks[0]; k++) {
        const struct blank *blank = &blanks[k];
        struct synthetic_options options = synthetic_defaults();
        options.rate_hz = blank->rate_hz;
        options.has_egt = !blank->no_probe;
        struct synthetic made = synthetic_new(&options);
        const double from_s =
            blank->at_s +
            (blank->standing || blank->idling ? 0.0 : made.lap_start_s[4]);
        make_blank(&made, blank, from_s);
        struct kw_events found;
        detect(kw_find_dropouts, &made, NAN, &found);
        check_near(blank->label, (double)found.n, blank->told ? 1.0 : 0.0, 0.0);
        for (size_t i = 0; i < found.n; i++) {
            const double step_s = (double)blank->each / blank->rate_hz;
            check_near(blank->label, found.items[i].start_s, from_s, step_s);
            check_near(blank->label, found.items[i].end_s,
                       from_s + blank->for_s, step_s);
            check_true(blank->label, found.items[i].detail.dropout.cause ==
                                         KW_CAUSE_LOOSE_CONNECTION);
            assert_non_null(strstr(found.items[i].evidence, "went missing"));
            check_near(blank->label, found.items[i].confidence, 0.85, 1e-9);
        }
        kw_events_free(&found);
        synthetic_free(&made);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_blank__lost_while_others_are_read),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
