/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Tables of headings and what they should be read as. */
#ifndef KARTWRIGHT_TESTS_HEADING_CHECK_H
#define KARTWRIGHT_TESTS_HEADING_CHECK_H

#include "support/check.h"

#include "import/headings.h"

#include <string.h>

/* unit_cell  of the units row, "" for none.
 * unit       name of the unit that is stated there, NULL for none. */
struct heading_case {
    const char *heading;
    const char *unit_cell;
    enum kw_role role;
    const char *unit;
};

static inline void check_cases(const struct heading_case *cases, size_t n)
{
    int wrong = 0;
    for (size_t i = 0; i < n; i++) {
        const struct heading_case *c = &cases[i];
        const struct kw_heading got = kw_heading_read(c->heading, c->unit_cell);
        const char *unit = got.unit == NULL ? "-" : got.unit->name;
        const char *expected = c->unit == NULL ? "-" : c->unit;
        if (got.role == c->role && strcmp(unit, expected) == 0)
            continue;
        print_error("'%s' [%s]: read as '%s' in %s, expected '%s' in %s\n",
                    c->heading, c->unit_cell, kw_role_name(got.role), unit,
                    kw_role_name(c->role), expected);
        wrong++;
    }
    assert_int_equal(wrong, 0);
}

#endif
