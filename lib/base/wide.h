/* Loops over columns of numbers, four at a time. */
#ifndef CW_BASE_WIDE_H
#define CW_BASE_WIDE_H

#include <stddef.h>

/* Before a function: it is compiled once for any processor and once for those with registers of
 * four doubles, and which one runs is settled as the program starts. Sums are taken in the same
 * order by both, so that the results are the same to the last bit. Where compiler or system have no
 * such thing (lib/meson.build asks), it is compiled once. For static functions: of others every
 * clone would be shown by the shared library. */
#ifdef CW_CLONES
#define CW_WIDE __attribute__((target_clones("avx2", "default")))
#else
#define CW_WIDE
#endif

/* Four doubles that lie side by side, at any address. */
typedef double cw_four __attribute__((vector_size(32), aligned(8), may_alias));

enum { CW_FOUR = 4 };

/* The least multiple of four that holds n. */
static inline size_t cw_fours(size_t n) {
    return (n + CW_FOUR - 1) / CW_FOUR * CW_FOUR;
}

#endif
