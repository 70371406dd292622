/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Thinning for plots: one pass, two points for each pixel column.
 *
 * Lowest and highest, in the order in which they came: what is drawn covers
 * the same pixels as the whole curve would. Taking every n-th sample would be
 * shorter and would lose the one reading that matters. */
#include "report/thin.h"

#include <math.h>

/* A line is broken where more than this is missing. */
static const double BREAK_COLUMNS = 1.5;
static const double BREAK_SAMPLES = 3.5;

/* Where the writing stands.
 *
 * low, high   samples with the lowest and the highest value of the column.
 * column      the one being gathered; empty while n = 0.
 * last_x      of the last point written.
 * break_x     a longer way in x breaks the line. */
struct pen {
    struct kw_text *data;
    const struct kw_curve *curve;
    size_t low;
    size_t high;
    double column;
    size_t n;
    double last_x;
    double break_x;
    size_t written;
};

/* Looks at the last two bytes only. */
void kw_thin_break(struct kw_text *data)
{
    const size_t n = data->length;
    if (n >= 2 && data->bytes[n - 1] == '\n' && data->bytes[n - 2] == '\n')
        return;
    kw_text_add(data, "\n");
}

/* One line "x y", after a break where the way to it is too long. */
static void put_point(struct pen *pen, size_t i)
{
    const struct kw_curve *curve = pen->curve;
    if (pen->written > 0 && fabs(curve->x[i] - pen->last_x) > pen->break_x)
        kw_thin_break(pen->data);
    kw_text_add_number(pen->data, curve->x[i], curve->x_decimals);
    kw_text_add(pen->data, " ");
    kw_text_add_number(pen->data, curve->y[i], curve->y_decimals);
    kw_text_add(pen->data, "\n");
    pen->last_x = curve->x[i];
    pen->written++;
}

/* In the order of time, so that the line runs as the values did. */
static void put_column(struct pen *pen)
{
    if (pen->n == 0)
        return;
    const size_t first = pen->low < pen->high ? pen->low : pen->high;
    const size_t last = pen->low < pen->high ? pen->high : pen->low;
    put_point(pen, first);
    if (last != first)
        put_point(pen, last);
    pen->n = 0;
}

/* Adds a sample to the column at work, and writes that column when a new one
 * begins. */
static void gather(struct pen *pen, size_t i, double column)
{
    const double *y = pen->curve->y;
    if (pen->n > 0 && column > pen->column)
        put_column(pen);
    if (pen->n == 0) {
        pen->low = i;
        pen->high = i;
        pen->column = column;
    }
    if (y[i] < y[pen->low])
        pen->low = i;
    if (y[i] > y[pen->high])
        pen->high = i;
    pen->n++;
}

/* One pass, whatever the length; samples with an unknown x or y are passed
 * over. */
size_t kw_thin_add(struct kw_text *data, const struct kw_curve *curve)
{
    const double width = curve->x_to - curve->x_from;
    const size_t n = curve->span.to - curve->span.from;
    if (n == 0 || !(width > 0.0))
        return 0;
    const double column_x = width / (double)curve->columns;
    const bool all = n <= curve->columns;
    struct pen pen = {.data = data, .curve = curve};
    pen.break_x =
        fmax(BREAK_COLUMNS * column_x, BREAK_SAMPLES * width / (double)n);
    for (size_t i = curve->span.from; i < curve->span.to; i++) {
        if (!isfinite(curve->x[i]) || !isfinite(curve->y[i]))
            continue;
        if (all)
            put_point(&pen, i);
        else
            gather(&pen, i, floor((curve->x[i] - curve->x_from) / column_x));
    }
    put_column(&pen);
    return pen.written;
}

/* The first sample that is not before time_s. */
static size_t first_from(const struct kw_session *session, double time_s)
{
    size_t low = 0;
    size_t high = session->n_samples;
    while (low < high) {
        const size_t middle = low + (high - low) / 2;
        if (session->time_s[middle] < time_s)
            low = middle + 1;
        else
            high = middle;
    }
    return low;
}

/* Two searches in rising time: cheap also in a log of ten hours. */
struct kw_span kw_span_between(const struct kw_session *session,
                               double from_s,
                               double to_s)
{
    struct kw_span span = {first_from(session, from_s),
                           first_from(session, to_s)};
    if (span.to < span.from)
        span.to = span.from;
    return span;
}

/* The comparisons are written so that the first known value wins over NAN. */
void kw_range_of(const double *values,
                 struct kw_span span,
                 double *lowest,
                 double *highest)
{
    *lowest = NAN;
    *highest = NAN;
    for (size_t i = span.from; values != NULL && i < span.to; i++) {
        if (!isfinite(values[i]))
            continue;
        if (!(*lowest <= values[i]))
            *lowest = values[i];
        if (!(*highest >= values[i]))
            *highest = values[i];
    }
}
