/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "analysis/lap_classes.h"

#include "support/check.h"
#include "support/scatter.h"

#include <math.h>
#include <stdbool.h>

enum { PIECE = 150, MOST_PIECES = 24 };

/* Pieces that repeat, but that each m-th has something of its own.
 *
 * own      how much of it.
 * stop     how far its pace falls below the others' in one place.
 * noise    of each value. */
struct track {
    size_t n_pieces;
    size_t m;
    double own;
    double noise;
    double stop;
};

static double chance_of(const struct track *track, size_t m)
{
    static const double turn = 2.0 * 3.14159265358979323846;
    double values[PIECE * MOST_PIECES];
    const size_t n = track->n_pieces * PIECE;
    for (size_t i = 0; i < n; i++) {
        const double place = (double)(i % PIECE) / PIECE;
        const bool odd = i / PIECE % track->m == 0;
        values[i] = sin(turn * place) + 0.6 * sin(3.0 * turn * place) +
                    (odd ? track->own * sin(2.0 * turn * place) : 0.0) -
                    (odd && fabs(place - 0.4) < 0.04 ? track->stop : 0.0) +
                    track->noise * scatter(i);
    }
    const struct kw_pieced_series series = {values, n, PIECE};
    double chance = 0.0;
    assert_int_equal(kw_chance_of_classes(&series, m, &chance, NULL), KW_OK);
    return chance;
}

/* Half a lap taken for a lap would double the count of laps. */
static void test_lap_classes__halves_that_differ_are_no_laps(void **state)
{
    (void)state;
    check_true("clearly",
               chance_of(&(struct track){16, 2, 0.3, 0.2, 0.0}, 2) < 1e-9);
    check_true("a little, through noise",
               chance_of(&(struct track){20, 2, 0.3, 0.5, 0.0}, 2) < 0.001);
    check_true("few laps",
               chance_of(&(struct track){8, 2, 0.3, 0.2, 0.0}, 2) < 0.001);
    check_true("thirds",
               chance_of(&(struct track){21, 3, 0.3, 0.2, 0.0}, 3) < 0.001);
}

/* And laps taken for halves would halve it. */
static void test_lap_classes__laps_that_are_alike_are_of_one_class(void **state)
{
    (void)state;
    check_true("in pairs",
               chance_of(&(struct track){16, 2, 0.0, 0.3, 0.0}, 2) > 0.01);
    check_true("in threes",
               chance_of(&(struct track){21, 3, 0.0, 0.3, 0.0}, 3) > 0.01);
}

/* A stop for a practice start at the end of every third lap makes no lap of
 * three; the other half of a track may differ in one bend alone. */
static void test_lap_classes__stop_every_third_lap_is_no_class(void **state)
{
    (void)state;
    check_true("a stop each third",
               chance_of(&(struct track){21, 3, 0.0, 0.3, 1.0}, 3) > 0.01);
    check_true("each fourth",
               chance_of(&(struct track){20, 4, 0.0, 0.3, 1.0}, 4) > 0.01);
    check_true("another bend in each second",
               chance_of(&(struct track){16, 2, 0.0, 0.3, 1.0}, 2) < 0.001);
}

/* Pulls and brakings of five bends, each longer than the last. */
static double pace_at(double turns)
{
    const double place = turns - floor(turns);
    const double bends = 4.0 * place * place + place;
    const double in_bend = bends - floor(bends);
    return fmin(in_bend, 4.0 * (1.0 - in_bend)) - 0.4;
}

/* Brakings and pulls as sharp as a kart's, in pieces that are no whole number
 * of values long: whole steps lie on every second piece a little early and on
 * those between a little late. */
static void test_lap_classes__pieces_lie_between_the_steps(void **state)
{
    (void)state;
    enum { N = 6 * PIECE, EACH = 8 };
    for (double period = PIECE - 30.0; period < PIECE - 29.0; period += 0.1) {
        double values[N];
        for (size_t i = 0; i < N; i++) {
            values[i] = 0.01 * scatter(i);
            for (size_t k = 0; k < EACH; k++)
                values[i] +=
                    pace_at(((double)i + (double)k / EACH) / period) / EACH;
        }
        const struct kw_pieced_series series = {values, N, period};
        double chance = 0.0;
        assert_int_equal(kw_chance_of_classes(&series, 2, &chance, NULL),
                         KW_OK);
        check_true("one kind", chance > 0.01);
    }
}

/* Two laps have no scatter to hold their difference against. */
static void test_lap_classes__few_pieces_tell_nothing(void **state)
{
    (void)state;
    for (size_t n = 1; n <= 3; n++)
        assert_true(isnan(chance_of(&(struct track){n, 2, 0.5, 0.1, 0.0}, 2)));
    assert_true(isnan(chance_of(&(struct track){8, 2, 0.5, 0.1, 0.0}, 8)));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_lap_classes__halves_that_differ_are_no_laps),
        cmocka_unit_test(
            test_lap_classes__laps_that_are_alike_are_of_one_class),
        cmocka_unit_test(test_lap_classes__stop_every_third_lap_is_no_class),
        cmocka_unit_test(test_lap_classes__pieces_lie_between_the_steps),
        cmocka_unit_test(test_lap_classes__few_pieces_tell_nothing),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
