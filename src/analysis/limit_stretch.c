/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Where the exhaust passes the owner's own limit, the probe's lag taken out.
 *
 * The limit is for what the probe reads at its place, and belongs to one engine
 * and one pipe: none is ever assumed. The lag is taken out to say when it was
 * passed, not by how much. */
#include "analysis/limit_stretch.h"

#include "core/array.h"

#include <math.h>

/* The gas above the limit for this long under load: no flicker of noise. A pull
 * between two hairpins lasts little longer, and whether the reading followed is
 * asked of the reading (lean.c). */
static const double LEAST_S = 0.4;
/* Below it for less than this in between is the same stretch. */
static const double BRIDGE_S = 1.0;
/* A limit that is passed is a fact, whatever the statistics. */
static const double EVIDENCE = 30.0;
static const double SURPRISE = 8.0;

/* Off the throttle a hot probe cools by itself, and nothing can be done
 * about it. */
static bool is_over(const struct kw_heat_grid *g, size_t i, double limit_c)
{
    return kw_under_load(g->load[i]) && g->gas_c[i] > limit_c;
}

/* The stretch that begins at a cell over the limit. */
static struct kw_hot_stretch follow(const struct kw_heat_grid *g,
                                    size_t from,
                                    double limit_c)
{
    struct kw_hot_stretch s = {.from = from, .to = from + 1};
    double below_s = 0.0;
    for (size_t i = from; i < g->n && below_s < BRIDGE_S; i++) {
        if (!is_over(g, i, limit_c)) {
            below_s += g->step_s[i];
            continue;
        }
        below_s = 0.0;
        s.to = i + 1;
        s.excess_c += (g->gas_c[i] - limit_c) * g->step_s[i];
        s.loaded_s += g->step_s[i];
    }
    if (s.loaded_s > 0.0)
        s.excess_c /= s.loaded_s;
    s.evidence = EVIDENCE;
    s.surprise = SURPRISE;
    return s;
}

/* A plain run of cells over the limit, with short dips bridged: no
 * statistics, the limit is a line that somebody drew. */
enum kw_status kw_find_limit_stretches(const struct kw_heat_grid *grid,
                                       double limit_c,
                                       struct kw_hot_stretches *out,
                                       struct kw_error *error)
{
    *out = (struct kw_hot_stretches){0};
    for (size_t i = 0; !isnan(limit_c) && i < grid->n;) {
        if (!is_over(grid, i, limit_c)) {
            i++;
            continue;
        }
        const struct kw_hot_stretch s = follow(grid, i, limit_c);
        i = s.to;
        if (s.loaded_s < LEAST_S)
            continue;
        if (kw_array_reserve(&out->items, &out->capacity, out->n + 1,
                             sizeof *out->items, error) != KW_OK)
            return KW_NO_MEMORY;
        out->items[out->n++] = s;
    }
    return KW_OK;
}
