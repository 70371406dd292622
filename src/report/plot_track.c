/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The path on the ground, coloured by EGT (by RPM where the log has no EGT):
 * where on the track it gets hot.
 *
 * Data: the dots of the path, coolest first, and the two ends of the
 * start/finish line. Metres east and north of the first position: no map is
 * needed, and a page that is sent on does not say where on earth it was. */
#include "report/review_plots.h"

#include "core/array.h"
#include "report/script.h"

#include <math.h>
#include <stdlib.h>

/* Dots that a page still draws at once. */
enum { MOST_DOTS = 2500 };

/* One in so many dots may be below the scale of colours. */
enum { COOL_SHARE = 20 };

/* Room for the path, and for what stands around it. */
enum { WIDTH_PX = 380, AROUND_PX = 110 };

/* Share of its length that is left free at each end of the track, for the line
 * across it. */
static const double TRACK_MARGIN = 0.05;

/* A dot of the path.
 *
 * on_lap  within a flying lap: these set the scale of colours. */
struct dot {
    double x_m;
    double y_m;
    double value;
    bool on_lap;
};

/* Order for qsort(); the values are finite. */
static int by_value(const void *a, const void *b)
{
    const double x = ((const struct dot *)a)->value;
    const double y = ((const struct dot *)b)->value;
    return (x > y) - (x < y);
}

/* Flying laps only: on the way to the grid the exhaust is still cold. */
static bool is_on_lap(const struct kw_laps *laps, double time_s)
{
    for (size_t i = 0; i < laps->n; i++) {
        if (laps->items[i].kind == KW_LAP_FLYING &&
            time_s >= laps->items[i].start_s && time_s < laps->items[i].end_s)
            return true;
    }
    return false;
}

/* Of each few samples in a row the one with the highest value, so that no peak
 * is lost.
 *
 * returns  dots, n of them; the caller frees them; NULL when memory is short.
 */
static struct dot *gather(const struct kw_review *review,
                          const double *values,
                          size_t *n,
                          struct kw_error *error)
{
    const struct kw_session *session = &review->session;
    const size_t each = session->n_samples / MOST_DOTS + 1;
    struct dot *dots =
        kw_array_new(session->n_samples / each + 1, sizeof *dots, error);
    *n = 0;
    size_t last_chunk = 0;
    for (size_t i = 0; dots != NULL && i < session->n_samples; i++) {
        const struct dot dot = {session->x_m[i], session->y_m[i], values[i],
                                is_on_lap(&review->laps, session->time_s[i])};
        if (!isfinite(dot.x_m + dot.y_m + dot.value))
            continue;
        const size_t chunk = i / each + 1;
        if (chunk != last_chunk)
            dots[(*n)++] = dot;
        else if (dot.value > dots[*n - 1].value)
            dots[*n - 1] = dot;
        last_chunk = chunk;
    }
    return dots;
}

/* In the order in which they are to be drawn. */
static void put_dots(struct kw_plot *plot, const struct dot *dots, size_t n)
{
    kw_script_block(plot, "east m, north m, value");
    for (size_t i = 0; i < n; i++) {
        kw_text_add_number(&plot->data, dots[i].x_m, 1);
        kw_text_add(&plot->data, " ");
        kw_text_add_number(&plot->data, dots[i].y_m, 1);
        kw_text_add(&plot->data, " ");
        kw_text_add_number(&plot->data, dots[i].value, 1);
        kw_text_add(&plot->data, "\n");
    }
}

/* The start/finish line, where laps were told by it. */
static bool put_line(struct kw_plot *plot, const struct kw_laps *laps)
{
    const bool known = laps->method == KW_LAPS_BY_POSITION &&
                       isfinite(laps->line_x_m[0] + laps->line_y_m[0] +
                                laps->line_x_m[1] + laps->line_y_m[1]);
    kw_script_block(plot, "start/finish line: east m, north m");
    if (!known)
        kw_script_no_point(plot, 2);
    for (size_t i = 0; known && i < 2; i++) {
        kw_text_add_number(&plot->data, laps->line_x_m[i], 1);
        kw_text_add(&plot->data, " ");
        kw_text_add_number(&plot->data, laps->line_y_m[i], 1);
        kw_text_add(&plot->data, "\n");
    }
    return known;
}

/* The ends of the track, as two dots. */
static void find_ends(const struct dot *dots,
                      size_t n,
                      struct dot *low,
                      struct dot *high)
{
    *low = *high = dots[0];
    for (size_t i = 1; i < n; i++) {
        low->x_m = fmin(low->x_m, dots[i].x_m);
        low->y_m = fmin(low->y_m, dots[i].y_m);
        high->x_m = fmax(high->x_m, dots[i].x_m);
        high->y_m = fmax(high->y_m, dots[i].y_m);
    }
}

/* As high as the track is for its width, within reason. */
static unsigned height_px(const struct dot *low, const struct dot *high)
{
    const double width_m = fmax(high->x_m - low->x_m, 1.0);
    const double share = (high->y_m - low->y_m) / width_m;
    return (unsigned)(AROUND_PX + WIDTH_PX * fmin(fmax(share, 0.4), 1.2));
}

/* Where the scale of colours begins: warm-up and standing about would use it
 * up.
 *
 * dots  by value. */
static double coolest_of(const struct dot *dots, size_t n)
{
    size_t on_lap = 0;
    for (size_t i = 0; i < n; i++)
        on_lap += dots[i].on_lap;
    size_t passed = 0;
    for (size_t i = 0; i < n && on_lap > 0; i++) {
        passed += dots[i].on_lap;
        if (passed > on_lap / COOL_SHARE)
            return dots[i].value;
    }
    return dots[n / COOL_SHARE].value;
}

/* dots  by value. */
static void write_script(struct kw_plot *plot,
                         const struct kw_review *review,
                         const struct dot *dots,
                         size_t n,
                         bool has_line)
{
    static const enum kw_colour ink = KW_COLOUR_INK;
    struct kw_text *script = &plot->script;
    const bool has_egt = review->session.egt_c != NULL;
    struct dot low;
    struct dot high;
    find_ends(dots, n, &low, &high);
    kw_script_begin(plot, "The path on the ground, coloured.",
                    height_px(&low, &high), review->log.path);
    /* Round ends of the axes would leave a third of the picture blank. */
    kw_script_range(plot, "x", low.x_m, high.x_m, TRACK_MARGIN);
    kw_script_range(plot, "y", low.y_m, high.y_m, TRACK_MARGIN);
    kw_script_range(plot, "cb", coolest_of(dots, n), dots[n - 1].value, 0.0);
    kw_text_addf(script, "set palette defined %s\n", kw_colour_scale());
    kw_text_addf(script,
                 "set size ratio -1\nset xlabel 'east, m'\n"
                 "set ylabel 'north, m'\nset cblabel '%s'\n"
                 "set lmargin at screen 0.16\nset rmargin at screen 0.82\n"
                 "set tmargin at screen 0.93\n"
                 "set key at screen 0.16,0.99 left top horizontal Left "
                 "reverse\n"
                 "plot data index 0 using 1:2:3 with points pt 7 ps 0.5 lc "
                 "palette notitle",
                 has_egt ? "EGT, C" : "RPM");
    if (has_line)
        kw_script_add(plot,
                      ", data index 1 using 1:2 with lines lw 3 lc @ title "
                      "'start/finish line'",
                      &ink);
    kw_text_add(script, "\n");
    kw_script_end(plot);
}

/* The readings as logged, lag and all: the colour lags behind the place by the
 * probe's one or two seconds, and the words below say where heat belongs. */
enum kw_status kw_plot_track(const struct kw_review *review,
                             struct kw_plots *plots,
                             struct kw_error *error)
{
    const struct kw_session *session = &review->session;
    const bool has_egt = session->egt_c != NULL;
    const double *values = has_egt ? session->egt_c : session->rpm;
    if (session->x_m == NULL || session->y_m == NULL || values == NULL)
        return KW_OK;
    size_t n = 0;
    struct dot *dots = gather(review, values, &n, error);
    if (dots == NULL)
        return KW_NO_MEMORY;
    struct kw_plot *plot = NULL;
    enum kw_status status = KW_OK;
    if (n >= 2) {
        plot = kw_plots_add(plots, "track", "The track", error);
        status = plot == NULL ? KW_NO_MEMORY : KW_OK;
    }
    if (plot != NULL) {
        /* The hottest is drawn last, on top of cooler laps. */
        qsort(dots, n, sizeof *dots, by_value);
        put_dots(plot, dots, n);
        write_script(plot, review, dots, n, put_line(plot, &review->laps));
        kw_text_addf(&plot->explain,
                     "Where the kart went, seen from above, north up; the "
                     "lighter, the %s. The hottest lap lies on top. Look "
                     "whether heat stands at the end of the straights, where "
                     "it belongs, or elsewhere.",
                     has_egt ? "hotter the exhaust" : "higher the RPM");
        kw_text_addf(&plot->alt, "Path of the kart coloured by %s.",
                     has_egt ? "exhaust temperature" : "RPM");
        if (kw_plot_failed(plot))
            status = kw_fail_memory(error);
    }
    free(dots);
    return status;
}
