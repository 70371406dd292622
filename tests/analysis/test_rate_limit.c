/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "analysis/rate_limit.h"

#include "support/check.h"

#include <math.h>

enum { RATE_HZ = 20, N = 60 * RATE_HZ };

/* RPM that saws between 7,000 and 13,000 and falls so fast. */
static void find(double falls_rpm_s,
                 const struct kw_profile *profile,
                 struct kw_rate_limits *limits)
{
    static double time_s[N];
    static double rpm[N];
    rpm[0] = 13000.0;
    bool falls = true;
    for (size_t i = 0; i < N; i++) {
        time_s[i] = (double)i / RATE_HZ;
        if (i > 0)
            rpm[i] =
                rpm[i - 1] + (falls ? -falls_rpm_s : 1000.0) / (double)RATE_HZ;
        falls = falls ? rpm[i] > 7000.0 : rpm[i] > 13000.0;
    }
    const struct kw_session session = {
        .time_s = time_s, .rpm = rpm, .n_samples = N, .rate_hz = RATE_HZ};
    assert_int_equal(kw_find_rate_limits(&session, profile, limits, NULL),
                     KW_OK);
}

/* The trade's example: 1 g, 78/11 teeth, 0.85 m make 4,900 RPM a second; the
 * best tyres brake 1.3 times that. What the owner states widens the limit and
 * never narrows it. */
static void test_rate_limit__stated_gearing_widens_it(void **state)
{
    (void)state;
    static const double STATED_RPM_S = 1.3 * 4900.0;
    struct kw_profile profile;
    struct kw_rate_limits learned;
    struct kw_rate_limits stated;
    for (int fast = 0; fast <= 1; fast++) {
        const double falls_rpm_s = fast ? 12000.0 : 1500.0;
        kw_profile_init(&profile);
        find(falls_rpm_s, &profile, &learned);
        check_true("learned", learned.fall_rpm_s >= falls_rpm_s);
        profile.engine_teeth = 11.0;
        profile.axle_teeth = 78.0;
        profile.tyre_circumference_m = 0.85;
        find(falls_rpm_s, &profile, &stated);
        check_true("learned", (learned.fall_rpm_s > STATED_RPM_S) == fast);
        check_near("stated", stated.fall_rpm_s,
                   fmax(learned.fall_rpm_s, STATED_RPM_S), 26.0);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_rate_limit__stated_gearing_widens_it),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
