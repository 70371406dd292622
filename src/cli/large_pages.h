/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Memory in large pages, for arrays that are as long as a log. */
#ifndef KARTWRIGHT_CLI_LARGE_PAGES_H
#define KARTWRIGHT_CLI_LARGE_PAGES_H

#include <stdbool.h>

/* Asks the system for large pages below all that is allocated from now on. Only
 * a program may ask: a library would change its host's memory.
 *
 * returns  false where this system cannot; the program then is slower, and
 *          nothing else. */
bool use_large_pages(void);

#endif
