/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Thinning: a peak that burnt a piston must be on the plot, however long the
 * log is. */
#include "support/check.h"

#include "core/array.h"
#include "report/thin.h"

#include <stdlib.h>
#include <string.h>

enum { LONG_LOG = 720000 };

static size_t count_lines(const char *text)
{
    size_t n = 0;
    for (; *text != '\0'; text++)
        n += *text == '\n';
    return n;
}

static struct kw_curve curve_of(const double *x, const double *y, size_t n)
{
    return (struct kw_curve){x, y, {0, n}, x[0], x[n - 1], 500, 3, 1};
}

/* Ten hours at 20 Hz, one sample of them hot and one cold. */
static void test_thin__ten_hours_keep_their_one_peak(void **state)
{
    (void)state;
    double *x = kw_array_new(LONG_LOG, sizeof *x, NULL);
    double *y = kw_array_new(LONG_LOG, sizeof *y, NULL);
    assert_non_null(x);
    assert_non_null(y);
    for (size_t i = 0; i < LONG_LOG; i++) {
        x[i] = (double)i / 20.0;
        y[i] = 600.0 + (double)(i % 7);
    }
    y[123457] = 777.7;
    y[654321] = 111.1;
    struct kw_text data = {0};
    const struct kw_curve curve = curve_of(x, y, LONG_LOG);
    const size_t n = kw_thin_add(&data, &curve);
    assert_true(n <= 2 * 501);
    assert_non_null(strstr(data.bytes, " 777.7\n"));
    assert_non_null(strstr(data.bytes, " 111.1\n"));
    assert_int_equal(count_lines(data.bytes), n);
    kw_text_free(&data);
    free(x);
    free(y);
}

static void test_thin__short_log_is_kept_as_it_is(void **state)
{
    (void)state;
    static const double x[] = {0.0, 0.5, 1.0};
    static const double y[] = {1.0, 2.0, 3.0};
    struct kw_text data = {0};
    const struct kw_curve curve = curve_of(x, y, 3);
    assert_int_equal(kw_thin_add(&data, &curve), 3);
    assert_string_equal(data.bytes, "0.000 1.0\n0.500 2.0\n1.000 3.0\n");
    kw_text_free(&data);
}

/* A gap is never bridged: a line across it would be an invention. */
static void test_thin__gap_breaks_the_line_and_one_missing_does_not(
    void **state)
{
    (void)state;
    double x[100];
    double y[100];
    for (size_t i = 0; i < 100; i++) {
        x[i] = (double)i;
        y[i] = i >= 40 && i < 60 ? NAN : 5.0;
    }
    y[20] = NAN;
    struct kw_text data = {0};
    const struct kw_curve curve = curve_of(x, y, 100);
    assert_int_equal(kw_thin_add(&data, &curve), 79);
    assert_int_equal(count_lines(data.bytes), 80);
    assert_non_null(strstr(data.bytes, "39.000 5.0\n\n60.000 5.0\n"));
    kw_text_free(&data);
}

static void test_thin__nothing_known_gives_nothing(void **state)
{
    (void)state;
    static const double x[] = {0.0, 1.0};
    static const double y[] = {NAN, NAN};
    struct kw_text data = {0};
    const struct kw_curve curve = curve_of(x, y, 2);
    double low = 0.0;
    double high = 0.0;
    assert_int_equal(kw_thin_add(&data, &curve), 0);
    kw_range_of(y, (struct kw_span){0, 2}, &low, &high);
    assert_true(isnan(low));
    assert_true(isnan(high));
    kw_text_free(&data);
}

static void test_thin__span_holds_samples_from_and_before(void **state)
{
    (void)state;
    double time_s[] = {0.0, 1.0, 2.0, 3.0};
    const struct kw_session session = {.n_samples = 4, .time_s = time_s};
    static const struct {
        double from_s, to_s;
        size_t from, to;
    } rows[] = {{0.0, 2.0, 0, 2},
                {0.5, 2.5, 1, 3},
                {-5.0, 9.0, 0, 4},
                {3.5, 9.0, 4, 4},
                {2.0, 1.0, 2, 2}};
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        const struct kw_span span =
            kw_span_between(&session, rows[i].from_s, rows[i].to_s);
        assert_int_equal(span.from, rows[i].from);
        assert_int_equal(span.to, rows[i].to);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_thin__ten_hours_keep_their_one_peak),
        cmocka_unit_test(test_thin__short_log_is_kept_as_it_is),
        cmocka_unit_test(
            test_thin__gap_breaks_the_line_and_one_missing_does_not),
        cmocka_unit_test(test_thin__nothing_known_gives_nothing),
        cmocka_unit_test(test_thin__span_holds_samples_from_and_before),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
