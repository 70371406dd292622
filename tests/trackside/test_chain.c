/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "kartwright/trackside.h"
#include "support/check.h"

/* R. L. Mott, Machine Elements in Mechanical Design, 4th ed., p. 295, Example
 * Problem 7-3: 17 and 65 teeth, 0.500 in pitch, 30 pitches apart: 102.9 links,
 * so 104, so 30.54 pitches or 15.272 in. */
static void test_chain__links_and_centres_are_motts(void **state)
{
    (void)state;
    const double links = kw_chain_links(17, 65, 30.0);
    check_near("links", links, 102.9, 0.05);
    check_near("more digits", links, 102.945366726, 1e-8);
    check_near("even", kw_chain_even_links(links), 102.0, 0.0);
    const double centres = kw_chain_centres(17, 65, 104);
    check_near("centres", centres, 30.54, 0.005);
    check_near("inches", centres * 0.5, 15.272, 0.0005);
}

struct kart_case {
    double engine_teeth;
    double axle_teeth;
    double links;
    double centres_mm;
};

/* The same formula worked out elsewhere for kart sprockets, pitch 7.775 mm
 * (common practice, no source). */
static const struct kart_case kart_cases[] = {
    {11, 78, 106, 223.718887173},
    {11, 80, 108, 226.904273839},
    {12, 82, 110, 228.494046219},
};

static void test_chain__kart_sprockets_fit_their_centres(void **state)
{
    (void)state;
    for (size_t i = 0; i < sizeof kart_cases / sizeof kart_cases[0]; i++) {
        const struct kart_case *c = &kart_cases[i];
        const double centres =
            kw_chain_centres(c->engine_teeth, c->axle_teeth, c->links);
        check_near("centres", centres * 7.775, c->centres_mm, 1e-6);
        check_near("back",
                   kw_chain_links(c->engine_teeth, c->axle_teeth, centres),
                   c->links, 1e-9);
    }
}

static void test_chain__too_few_links_fit_nowhere(void **state)
{
    (void)state;
    assert_true(isnan(kw_chain_centres(11, 78, 40)));
    assert_true(isnan(kw_chain_centres(11, 78, 50)));
}

static void test_chain__wear_is_the_growth_over_the_pitch(void **state)
{
    (void)state;
    check_near("new", kw_chain_wear_percent(155.5, 20, 7.775), 0.0, 1e-9);
    check_near("2 %", kw_chain_wear_percent(158.61, 20, 7.775), 2.0, 1e-9);
}

/* A straight edge with equal gaps means parallel faces beside each other. */
static void test_chain__straight_edge_tells_angle_and_offset(void **state)
{
    (void)state;
    const struct kw_alignment beside = kw_sprocket_alignment(1.0, 1.0, 200.0);
    check_near("angle", beside.angle_deg, 0.0, 1e-12);
    check_near("offset", beside.offset_mm, 1.0, 1e-12);
    const struct kw_alignment turned = kw_sprocket_alignment(0.0, 2.0, 200.0);
    check_near("angle", turned.angle_deg, 0.57294, 1e-4);
    check_near("offset", turned.offset_mm, 1.0, 1e-12);
}

/* The sum of every paddock: 78/11 and 0.85 m at 15,000. */
static void test_gearing__speed_and_rpm_go_there_and_back(void **state)
{
    (void)state;
    const struct kw_gearing gearing = {11, 78, 0.85};
    const double speed_m_s = kw_gearing_speed_m_s(&gearing, 15000);
    check_near("ratio", kw_gearing_ratio(&gearing), 7.0909, 1e-4);
    check_near("km/h", speed_m_s * 3.6, 107.885, 1e-3);
    check_near("back", kw_gearing_rpm(&gearing, speed_m_s), 15000, 1e-9);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_chain__links_and_centres_are_motts),
        cmocka_unit_test(test_chain__kart_sprockets_fit_their_centres),
        cmocka_unit_test(test_chain__too_few_links_fit_nowhere),
        cmocka_unit_test(test_chain__wear_is_the_growth_over_the_pitch),
        cmocka_unit_test(test_chain__straight_edge_tells_angle_and_offset),
        cmocka_unit_test(test_gearing__speed_and_rpm_go_there_and_back),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
