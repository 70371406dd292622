/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "kartwright/session.h"

#include "support/check.h"
#include "support/synthetic.h"

/* What the logger wrote is what the detectors get. */
static void test_session__healthy_log_is_kept_as_it_is(void **state)
{
    (void)state;
    struct synthetic_options options = synthetic_defaults();
    options.laps = 2;
    struct synthetic made = synthetic_new(&options);
    struct kw_session session;
    synthetic_session(&made, NULL, &session);
    assert_int_equal(session.n_samples, made.n);
    check_near("rate", session.rate_hz, 20.0, 1e-6);
    for (size_t i = 0; i < made.n; i++) {
        check_near("rpm", session.rpm[i], 10.0 * round(made.rpm[i] / 10.0),
                   1e-9);
        check_near("egt", session.egt_c[i], made.egt_c[i], 0.26);
    }
    assert_int_equal(session.gaps.n, 0);
    assert_int_equal(session.notices.n, 0);
    kw_session_free(&session);
    synthetic_free(&made);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_session__healthy_log_is_kept_as_it_is),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
