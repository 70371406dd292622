/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The linker's --wrap turns each call of malloc() in the library into one of
 * __wrap_malloc(), and gives the real one the name __real_malloc(). */
#include "support/failing_memory.h"

#include "support/check.h"

#include <sqlite3.h>
#include <stdbool.h>
#include <stdlib.h>

/* How many allocations still succeed; negative: all. */
static long left = -1;

/* SQLite's own allocator, asked when none is to fail. */
static sqlite3_mem_methods usual;

void *__real_malloc(size_t size);
void *__real_calloc(size_t n, size_t size);
void *__real_realloc(void *old, size_t size);
void *__wrap_malloc(size_t size);
void *__wrap_calloc(size_t n, size_t size);
void *__wrap_realloc(void *old, size_t size);

static bool fails(void)
{
    if (left == 0)
        return true;
    if (left > 0)
        left--;
    return false;
}

void memory_fails_after(long n)
{
    left = n;
}

void memory_holds(void)
{
    left = -1;
}

void *__wrap_malloc(size_t size)
{
    return fails() ? NULL : __real_malloc(size);
}

void *__wrap_calloc(size_t n, size_t size)
{
    return fails() ? NULL : __real_calloc(n, size);
}

void *__wrap_realloc(void *old, size_t size)
{
    return fails() ? NULL : __real_realloc(old, size);
}

static void *sqlite_malloc(int size)
{
    return fails() ? NULL : usual.xMalloc(size);
}

static void *sqlite_realloc(void *old, int size)
{
    return fails() ? NULL : usual.xRealloc(old, size);
}

void memory_of_sqlite(void)
{
    if (sqlite3_config(SQLITE_CONFIG_GETMALLOC, &usual) != SQLITE_OK)
        abort();
    sqlite3_mem_methods failing = usual;
    failing.xMalloc = sqlite_malloc;
    failing.xRealloc = sqlite_realloc;
    if (sqlite3_config(SQLITE_CONFIG_MALLOC, &failing) != SQLITE_OK)
        abort();
}
