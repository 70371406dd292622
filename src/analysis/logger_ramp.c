/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Lines that all begin a set time behind each other can be told from anything
 * an engine does: they fit RPM where they begin at the right moment, and begun
 * half a line later they do not. What an engine does is fitted by both alike,
 * however smooth and however coarsely it is written.
 *
 * The lines are a spline of the first degree: its knots, the readings, are what
 * fits best, by least squares. Which line length the logger has is asked where
 * RPM bends most; when the lines begin, anew every few seconds, since the
 * clocks of a logger and of its sensors are two. */
#include "analysis/logger_ramp.h"

#include "analysis/rpm_readings.h"
#include "core/array.h"

#include <math.h>
#include <stdlib.h>

/* Lines of so long are tried, each longer than the one before by so much: over
 * a window of WINDOW_S the worst guess is a tenth of a line off. Shorter ones
 * hide no edge, and over longer ones a loss of half a second is one reading.
 * Common practice, no source. */
static const double SHORTEST_LINE_S = 0.1;
static const double LONGEST_LINE_S = 0.42;
static const double LINE_FACTOR = 1.01;
/* With fewer rows to a line anything is one (common practice, no source). */
static const double FEWEST_ROWS = 3.0;

/* So much is fitted at a time, or as many rows with no long hole between.
 * Common practice, no source. */
static const double WINDOW_S = 3.0;
static const double LONGEST_WINDOW_S = 3.9;
/* As many as shortest lines, by OTHER_LENGTH less, are in the longest. */
enum { MOST_KNOTS = 50 };

/* Windows that are asked, and fewer tell nothing. Common practice, no source.
 */
enum { MOST_WINDOWS = 8, FEWEST_WINDOWS = 3 };
/* They bend by more than the rounding of readings, which makes up two of its
 * steps (common practice, no source). */
static const double LEAST_BEND_STEPS = 3.0;
/* A change that is less is a rounding in the conversion of units (common
 * practice, no source). */
static const double ROUNDING_RPM = 0.01;
/* Over so long, or from row to row (common practice, no source). */
static const double BEND_S = 0.05;

/* Moments at which lines may begin. */
enum { MOMENTS = 20 };

/* Begun at the right moment lines are off by this share of what they are off
 * half a line later, at most, and by this share of that of lines that are
 * longer or shorter by so much. Loggers that draw lines were told in 69 made
 * sessions by up to 0.19 and up to 0.47; of 1,248 without lines three showed
 * less than 0.2, from 0.15 on, and those 0.65 and more. */
static const double MOST_SHARE = 0.2;
static const double MOST_OF_OTHER = 0.5;
static const double OTHER_LENGTH = 1.15;

/* A row that is so little into a line, in lines, shows the reading that it
 * begins with: rows and MOMENTS are known no better. */
static const double BEGUN = 0.08;

/* A knot that is told by less than the weight of so many rows is not known: one
 * half a line away has a quarter (common practice, no source). */
static const double LEAST_WEIGHT = 0.25;

/* Rows for each knot that it is 0: only of those without rows anything is
 * seen of it. */
static const double RIDGE = 1e-9;

/* RPM without what is missing. */
struct readings {
    double *time_s;
    double *rpm;
    size_t n;
    double step_s;
};

/* Readings in a row. */
struct window {
    const double *time_s;
    const double *rpm;
    size_t n;
};

/* Lines that fit a window.
 *
 * rpm     at each knot.
 * weight  by how many rows it is told.
 * off     root mean square of what they are off. */
struct lines {
    double first_s;
    double line_s;
    double rpm[MOST_KNOTS];
    double weight[MOST_KNOTS];
    double off;
};

static size_t window_rows(const struct readings *all)
{
    return (size_t)(WINDOW_S / all->step_s);
}

/* False where there is a hole in it. */
static bool take_window(const struct readings *all,
                        size_t from,
                        struct window *out)
{
    *out =
        (struct window){all->time_s + from, all->rpm + from, window_rows(all)};
    return out->time_s[out->n - 1] - out->time_s[0] <= LONGEST_WINDOW_S;
}

/* Solves the normal equations, which have three diagonals, from the first knot
 * to the last and back; next[k] is what knot k shares with the next one. */
static void solve(struct lines *lines, const double *next, double *rpm)
{
    double pivot[MOST_KNOTS];
    for (size_t k = 0; k < MOST_KNOTS; k++) {
        pivot[k] = lines->weight[k] + RIDGE;
        if (k == 0)
            continue;
        const double share = next[k - 1] / pivot[k - 1];
        pivot[k] -= share * next[k - 1];
        rpm[k] -= share * rpm[k - 1];
    }
    for (size_t k = MOST_KNOTS; k-- > 0;) {
        const double behind = k + 1 < MOST_KNOTS ? next[k] * rpm[k + 1] : 0.0;
        rpm[k] = (rpm[k] - behind) / pivot[k];
    }
}

/* Where a time is, in lines from the first knot. */
static double place_of(const struct lines *lines, double time_s)
{
    return (time_s - lines->first_s) / lines->line_s;
}

/* Lines that begin at first_s, no later than the window, and line_s apart. */
static void fit(const struct window *window,
                double first_s,
                double line_s,
                struct lines *out)
{
    double next[MOST_KNOTS] = {0.0};
    double sum = 0.0;
    *out = (struct lines){.first_s = first_s, .line_s = line_s};
    for (size_t i = 0; i < window->n; i++) {
        const double place = place_of(out, window->time_s[i]);
        const size_t k = (size_t)place;
        const double to = place - (double)k;
        const double from = 1.0 - to;
        out->weight[k] += from * from;
        out->weight[k + 1] += to * to;
        next[k] += from * to;
        out->rpm[k] += from * window->rpm[i];
        out->rpm[k + 1] += to * window->rpm[i];
    }
    solve(out, next, out->rpm);
    for (size_t i = 0; i < window->n; i++) {
        const double place = place_of(out, window->time_s[i]);
        const size_t k = (size_t)place;
        const double to = place - (double)k;
        const double off_rpm =
            window->rpm[i] - (1.0 - to) * out->rpm[k] - to * out->rpm[k + 1];
        sum += off_rpm * off_rpm;
    }
    out->off = sqrt(sum / (double)window->n);
}

/* Lines begun at the best of some moments.
 *
 * every    1 for all moments, 2 for every second one.
 * returns  how far they are off, as a share of those begun half a line later;
 *          1 where nothing is off. */
static double best_moment(const struct window *window,
                          double line_s,
                          size_t every,
                          struct lines *best)
{
    double off[MOMENTS];
    struct lines lines;
    size_t best_at = 0;
    for (size_t m = 0; m < MOMENTS; m += every) {
        const double into = (double)m / MOMENTS;
        fit(window, window->time_s[0] - into * line_s, line_s, &lines);
        off[m] = lines.off;
        if (m > 0 && !(off[m] < off[best_at]))
            continue;
        best_at = m;
        *best = lines;
    }
    const double other = off[(best_at + MOMENTS / 2) % MOMENTS];
    return other > 0.0 ? off[best_at] / other : 1.0;
}

/* ---- how long the lines are ---------------------------------------------- */

/* How much RPM bends in a window, over so many rows: the third greatest bend,
 * so that one odd reading is none. */
static double bend_of(const struct window *window, size_t stride)
{
    double most[3] = {0.0, 0.0, 0.0};
    for (size_t i = 2 * stride; i < window->n; i++) {
        double bend = fabs(window->rpm[i] - 2.0 * window->rpm[i - stride] +
                           window->rpm[i - 2 * stride]);
        for (size_t k = 0; k < 3; k++) {
            const double lower = fmin(most[k], bend);
            most[k] = fmax(most[k], bend);
            bend = lower;
        }
    }
    return most[2];
}

/* The windows that bend most, the most first.
 *
 * stride     rows that bends are taken over.
 * least_rpm  that a window bends. */
struct bent {
    size_t stride;
    double least_rpm;
    struct window windows[MOST_WINDOWS];
    double bends[MOST_WINDOWS];
    size_t n;
};

static void keep_if_bent(const struct window *window, struct bent *bent)
{
    const double bend = bend_of(window, bent->stride);
    size_t k = bent->n;
    if (!(bend > bent->least_rpm))
        return;
    while (k > 0 && bend > bent->bends[k - 1])
        k--;
    if (k == MOST_WINDOWS)
        return;
    bent->n += bent->n < MOST_WINDOWS ? 1 : 0;
    for (size_t j = bent->n - 1; j > k; j--) {
        bent->windows[j] = bent->windows[j - 1];
        bent->bends[j] = bent->bends[j - 1];
    }
    bent->windows[k] = *window;
    bent->bends[k] = bend;
}

/* The share of lines of one length, over the windows (geometric mean). */
static double share_of(const struct bent *bent, double line_s)
{
    double sum = 0.0;
    struct lines lines;
    for (size_t k = 0; k < bent->n; k++)
        sum += log(best_moment(&bent->windows[k], line_s, 2, &lines));
    return exp(sum / (double)bent->n);
}

/* The length that fits best from one to another; NAN for none. */
static double best_line_s(const struct bent *bent, double from_s, double to_s)
{
    double best = MOST_SHARE;
    double best_s = NAN;
    for (double line_s = from_s; line_s <= to_s; line_s *= LINE_FACTOR) {
        const double share = share_of(bent, line_s);
        if (!(share < best))
            continue;
        best = share;
        best_s = line_s;
    }
    return best_s;
}

/* Few bends in each window are fitted as well by lines of other lengths. */
static bool is_only(const struct bent *bent, double line_s)
{
    const double other = fmin(share_of(bent, line_s * OTHER_LENGTH),
                              share_of(bent, line_s / OTHER_LENGTH));
    return share_of(bent, line_s) <= MOST_OF_OTHER * other;
}

/* The step that readings are written in. */
static double smallest_change(const struct readings *all)
{
    double least_rpm = INFINITY;
    for (size_t i = 1; i < all->n; i++) {
        const double change_rpm = fabs(all->rpm[i] - all->rpm[i - 1]);
        if (change_rpm > ROUNDING_RPM)
            least_rpm = fmin(least_rpm, change_rpm);
    }
    return least_rpm;
}

/* Windows without holes. */
static void find_bent(const struct readings *all, struct bent *out)
{
    const size_t rows = window_rows(all);
    const double stride = round(BEND_S / all->step_s);
    *out = (struct bent){.stride = stride > 1.0 ? (size_t)stride : 1,
                         .least_rpm = LEAST_BEND_STEPS * smallest_change(all)};
    for (size_t i = 0; i + rows <= all->n; i += rows) {
        struct window window;
        if (take_window(all, i, &window))
            keep_if_bent(&window, out);
    }
}

/* Lines of a half or a third of the length fit too: where those of a multiple
 * of the best do, they are the logger's. */
static double longest_like(const struct bent *bent, double line_s)
{
    for (double times = floor(LONGEST_LINE_S / line_s); times > 1.0; times--) {
        const double multiple_s =
            best_line_s(bent, times * line_s / LINE_FACTOR,
                        fmin(LONGEST_LINE_S, times * line_s * LINE_FACTOR));
        if (!isnan(multiple_s))
            return multiple_s;
    }
    return line_s;
}

static double line_of(const struct readings *all)
{
    const double shortest_s = fmax(SHORTEST_LINE_S, FEWEST_ROWS * all->step_s);
    struct bent bent;
    find_bent(all, &bent);
    if (bent.n < FEWEST_WINDOWS)
        return NAN;
    const double line_s =
        longest_like(&bent, best_line_s(&bent, shortest_s, LONGEST_LINE_S));
    return !isnan(line_s) && is_only(&bent, line_s) ? line_s : NAN;
}

/* ---- the readings -------------------------------------------------------- */

/* The reading that a row's line goes to. */
static double goes_to(const struct lines *lines,
                      const struct readings *all,
                      size_t i)
{
    const double place = place_of(lines, all->time_s[i]);
    const size_t knot = (size_t)ceil(fmax(0.0, place - BEGUN));
    return lines->weight[knot] >= LEAST_WEIGHT ? fmax(0.0, lines->rpm[knot])
                                               : all->rpm[i];
}

/* Windows overlap by half, and each tells its middle: knots near the ends have
 * lines on one side only. */
static void take_knots(const struct readings *all, double line_s, double *held)
{
    const size_t rows = window_rows(all);
    for (size_t i = 0; i < all->n; i++)
        held[i] = all->rpm[i];
    for (size_t i = 0; i + rows <= all->n; i += rows / 2) {
        struct window window;
        struct lines lines;
        if (!take_window(all, i, &window))
            continue;
        best_moment(&window, line_s, 1, &lines);
        for (size_t k = i + rows / 4; k < i + rows - rows / 4; k++)
            held[k] = goes_to(&lines, all, k);
    }
}

enum kw_status kw_undo_logger_ramp(const struct kw_session *session,
                                   double *rpm,
                                   double *line_s,
                                   struct kw_error *error)
{
    const size_t n = session->n_samples;
    *line_s = NAN;
    double *store = kw_array_new(n, 3 * sizeof *store, error);
    if (store == NULL)
        return KW_NO_MEMORY;
    struct readings all = {store, store + n, 0, NAN};
    double *held = store + 2 * n;
    all.step_s =
        kw_take_rpm_readings(session, all.time_s, all.rpm, held, &all.n);
    if (FEWEST_ROWS * all.step_s <= LONGEST_LINE_S)
        *line_s = line_of(&all);
    if (!isnan(*line_s)) {
        take_knots(&all, *line_s, held);
        for (size_t i = 0, k = 0; i < n; i++)
            rpm[i] = isnan(session->rpm[i]) ? NAN : held[k++];
    }
    free(store);
    return KW_OK;
}
