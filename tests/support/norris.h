/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Data set Norris of the NIST Statistical Reference Datasets, linear least
 * squares (public domain, itl.nist.gov/div898/strd/lls/lls.shtml): readings of
 * ozone by two instruments, with a fit certified to 15 digits. */
#ifndef KARTWRIGHT_TESTS_NORRIS_H
#define KARTWRIGHT_TESTS_NORRIS_H

struct pair {
    double x;
    double y;
};

static const struct pair norris[] = {
    {0.2, 0.1},     {337.4, 338.8}, {118.2, 118.1}, {884.6, 888.0},
    {10.1, 9.2},    {226.5, 228.1}, {666.3, 668.5}, {996.3, 998.5},
    {448.6, 449.1}, {777.0, 778.9}, {558.2, 559.2}, {0.4, 0.3},
    {0.6, 0.1},     {775.5, 778.1}, {666.9, 668.8}, {338.0, 339.3},
    {447.5, 448.9}, {11.6, 10.8},   {556.0, 557.7}, {228.1, 228.3},
    {995.8, 998.0}, {887.6, 888.8}, {120.2, 119.6}, {0.3, 0.3},
    {0.3, 0.6},     {556.8, 557.6}, {339.1, 339.3}, {887.2, 888.0},
    {999.0, 998.5}, {779.0, 778.9}, {11.1, 10.2},   {118.3, 117.6},
    {229.2, 228.9}, {669.1, 668.4}, {448.9, 449.2}, {0.5, 0.2}};

enum { N_NORRIS = sizeof norris / sizeof norris[0] };

#endif
