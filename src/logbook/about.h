/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Is this part about that finding, or that repair? */
#ifndef KARTWRIGHT_LOGBOOK_ABOUT_H
#define KARTWRIGHT_LOGBOOK_ABOUT_H

#include <stdbool.h>

/* "fuel filter" is about "fuel line, filter and tank vent", and about "cable
 * tie on the fuel line"; "plug" is about neither. */
bool kw_is_about(const char *part, const char *title);

#endif
