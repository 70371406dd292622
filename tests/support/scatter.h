/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Noise without a state: the same for the same number, in every run. */
#ifndef KARTWRIGHT_TESTS_SCATTER_H
#define KARTWRIGHT_TESTS_SCATTER_H

#include <stddef.h>
#include <stdint.h>

/* Between -1 and 1, mean near 0, and no part of it like another: a sine would
 * come back after some laps. */
static inline double scatter(size_t i)
{
    uint32_t mixed = (uint32_t)i * 2654435761U + 97U;
    mixed = (mixed ^ (mixed >> 15)) * 2246822519U;
    mixed = (mixed ^ (mixed >> 13)) * 3266489917U;
    return (double)(mixed ^ (mixed >> 16)) / 2147483648.0 - 1.0;
}

#endif
