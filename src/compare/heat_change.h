/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What the EGT bands of a comparison say together: where it runs hotter, where
 * cooler. Which part that belongs to hangs on the third of the RPM range: pilot
 * jet, needle, main jet. */
#ifndef KARTWRIGHT_COMPARE_HEAT_CHANGE_H
#define KARTWRIGHT_COMPARE_HEAT_CHANGE_H

#include "kartwright/compare.h"

/* Thirds of the range from the lowest band to the highest. */
enum kw_heat_region {
    KW_HEAT_LOW,
    KW_HEAT_MIDDLE,
    KW_HEAT_TOP,
    KW_N_HEAT_REGIONS
};

/* clear    of each region the band that changed most clearly, NULL where none
 *          did.
 * n_bands, n_clear_bands  EGT bands that are shown, and that changed.
 * hotter, cooler  regions of each direction.
 * first    the clear band that is told first: the highest.
 * lead     the highest band, clear or not; NULL without EGT. */
struct kw_heat_change {
    const struct kw_measure *clear[KW_N_HEAT_REGIONS];
    size_t n_bands;
    size_t n_clear_bands;
    size_t hotter;
    size_t cooler;
    const struct kw_measure *first;
    const struct kw_measure *lead;
};

/* Points into the measures. */
struct kw_heat_change kw_read_heat_change(const struct kw_measures *measures);

/* All bands changed, and all the same way: one word for the whole range. */
bool kw_is_all_one_way(const struct kw_heat_change *heat);

/* "low end", "mid range", "top end"; constant. */
const char *kw_heat_region_name(int region);

/* Mean change over the bands, in C; NAN without EGT. */
double kw_mean_heat_change_c(const struct kw_measures *measures);

/* Rose or fell, beyond what chance gives. */
bool kw_is_clear_change(const struct kw_measure *measure);

#endif
