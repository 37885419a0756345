#include "fit/moments.h"

#include <string.h>

#include "base/wide.h"

CW_WIDE static void add(const double *restrict row, size_t p, size_t n, double *restrict moment,
                        double *restrict room) {
    double own = 1;
    memset(room, 0, n * sizeof *room);
    for (size_t k = 0; k < n; k++)
        if (row[k] != 0 && k != p)
            for (size_t j = 0; j < n; j++) room[j] += row[k] * moment[k * n + j];
    for (size_t j = 0; j < n; j++) {
        double both = -room[j] / row[p];
        moment[p * n + j] = moment[j * n + p] = both;
        if (j != p) own -= row[j] * both;
    }
    moment[p * n + p] = own / row[p];
}

void cw_moments_add(const double *row, size_t p, size_t n, double *moment, double *room) {
    add(row, p, n, moment, room);
}

void cw_moments_add_all(const struct cw_equations *rows, size_t count, double *moment,
                        double *room) {
    size_t n = rows->n;
    double *row = room + n;
    for (size_t p = count; p-- > 0;) {
        memset(row, 0, p * sizeof *row);
        memcpy(row + p, rows->a + p * n + p, (n - p) * sizeof *row);
        add(row, p, n, moment, room);
    }
}
