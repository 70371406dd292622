/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "analysis/load.h"
#include "analysis/running.h"

#include "support/check.h"
#include "support/synthetic.h"

#include <stdlib.h>

/* Mixture is judged under load only: mistaking a lift for a pull would call a
 * cold pipe rich. */
static void test_load__agrees_with_the_throttle_that_made_the_rpm(void **state)
{
    (void)state;
    struct synthetic_options options = synthetic_defaults();
    struct synthetic made = synthetic_new(&options);
    struct kw_session session;
    struct kw_running running;
    struct kw_profile profile = {.idle_rpm = NAN};
    struct kw_pulls pulls;
    double *load = NULL;
    synthetic_session(&made, NULL, &session);
    assert_int_equal(kw_find_running(&session, &profile, &running, NULL),
                     KW_OK);
    assert_int_equal(kw_find_load(&session, &running, &load, &pulls, NULL),
                     KW_OK);
    size_t right = 0;
    for (size_t i = 0; i < made.n; i++)
        right += fabs(load[i] - made.load[i]) < 0.5 ? 1 : 0;
    check_near("share of samples told right", (double)right / (double)made.n,
               1.0, 0.05);
    /* Four each lap; the start through the clutch may count as one more. */
    assert_in_range(pulls.n, 4 * (options.laps + 2),
                    4 * (options.laps + 2) + 1);
    assert_int_equal(running.starts, 0);
    check_near("running", running.seconds, made.time_s[made.n - 1], 0.11);
    free(load);
    kw_pulls_free(&pulls);
    kw_running_free(&running);
    kw_session_free(&session);
    synthetic_free(&made);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_load__agrees_with_the_throttle_that_made_the_rpm),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
