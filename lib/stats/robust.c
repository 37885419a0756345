#include "stats/robust.h"

#include <math.h>
#include <stdint.h>

static void swap(double *a, double *b) {
    double held = *a;
    *a = *b;
    *b = held;
}

/* Puts the value of that rank, from 0, where it would stand if all were sorted, those below it
 * before it and those above it behind it (Hoare 1961, Comm. ACM 4:321; what is as large as the
 * pivot stands in the middle). The pivots are taken anywhere, so that no order of the values is a
 * bad one. */
static void select_rank(double *values, size_t n, size_t rank) {
    uint32_t anywhere = 1;
    for (size_t first = 0, last = n; last - first > 1;) {
        anywhere = anywhere * 1664525u + 1013904223u;
        double pivot = values[first + anywhere % (last - first)];
        size_t low = first, high = last;
        for (size_t i = first; i < high;) {
            if (values[i] < pivot)
                swap(&values[i++], &values[low++]);
            else if (values[i] > pivot)
                swap(&values[i], &values[--high]);
            else
                i++;
        }
        if (rank < low)
            last = low;
        else if (rank >= high)
            first = high;
        else
            return;
    }
}

double cw_quantile(double *values, size_t n, double part) {
    if (n == 0) return NAN;
    double place = part * (double)(n - 1);
    size_t below = (size_t)place;
    select_rank(values, n, below);
    if (below + 1 >= n) return values[n - 1];
    double above = values[below + 1];
    for (size_t i = below + 2; i < n; i++) above = fmin(above, values[i]);
    return values[below] + (place - (double)below) * (above - values[below]);
}

double cw_median(double *values, size_t n) {
    return cw_quantile(values, n, 0.5);
}
