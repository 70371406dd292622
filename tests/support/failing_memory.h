/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Memory that runs out when a test says so. The test is linked with
 * --wrap=malloc and the like (see the Makefile), so that the library's
 * allocations come here; SQLite, which is no part of the library, is given the
 * same memory by its own door. */
#ifndef KARTWRIGHT_TESTS_FAILING_MEMORY_H
#define KARTWRIGHT_TESTS_FAILING_MEMORY_H

/* So many allocations still succeed, then none. */
void memory_fails_after(long n);

/* None fails from here on. */
void memory_holds(void);

/* Sends SQLite's allocations here; before its first use. */
void memory_of_sqlite(void);

#endif
