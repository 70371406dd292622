/* SPDX-License-Identifier: GPL-3.0-or-later */
/* An hour at 100 Hz fills some thirty arrays of 3 MB, walked from end to end.
 * In pages of 4 kB the system is called for 25,000 of them, and takes as long
 * as the review itself where it runs on a virtual machine; in pages of 2 MB it
 * is called for some forty (Linux, "Transparent Hugepage Support"). They are to
 * be had only in one block that is marked before it is used, so the heap is
 * grown once and arrays are taken from it. */
/* None of the calls is in POSIX. */
#define _DEFAULT_SOURCE
#include "cli/large_pages.h"

#include <stdint.h>
#include <stdlib.h>
#include <sys/mman.h>
#include <unistd.h>

#if defined(MADV_HUGEPAGE) && defined(__GLIBC__)

#include <malloc.h>

enum {
    /* Address space, not memory: what is never written costs nothing. Twice
     * what an hour at 100 Hz takes. */
    HEAP_BYTES = 1 << 28,
    /* Larger arrays have a block of their own (the most that glibc takes). */
    LARGEST_IN_HEAP = 1 << 25,
    /* More than the heap has to begin with, so that it must grow. */
    MORE_THAN_THERE_IS = 1 << 20
};

bool use_large_pages(void)
{
    const uintptr_t page = (uintptr_t)sysconf(_SC_PAGESIZE);
    const uintptr_t from = ((uintptr_t)sbrk(0) + page - 1) / page * page;
    /* Memory that was freed is kept: the next array takes its place. */
    if (mallopt(M_TOP_PAD, HEAP_BYTES) == 0 ||
        mallopt(M_TRIM_THRESHOLD, HEAP_BYTES) == 0 ||
        mallopt(M_MMAP_THRESHOLD, LARGEST_IN_HEAP) == 0)
        return false;
    /* Volatile, or the compiler leaves out a block that nobody uses. */
    void *volatile block = malloc(MORE_THAN_THERE_IS);
    free(block);
    const uintptr_t to = (uintptr_t)sbrk(0);
    return to > from &&
           madvise((void *)from, (size_t)(to - from), MADV_HUGEPAGE) == 0;
}

#else

bool use_large_pages(void)
{
    return false;
}

#endif
