#include "stats/spline.h"

#include <math.h>
#include <stdlib.h>

void cw_spline_free(struct cw_spline *spline) {
    free(spline->value);
    *spline = (struct cw_spline){0};
}

/* Of Green & Silverman: column j of Q has the three numbers of q about point j + 1; R and Q'W^-1 Q
 * are banded, so (R + smooth^4 Q'W^-1 Q) bend = Q'y is solved by L D L' of two lower bands. */
enum cw_status cw_spline_make(size_t n, const double *x, const double *y, double smooth,
                              struct cw_spline *spline, struct cw_error *error) {
    *spline = (struct cw_spline){.n = n, .x = x};
    double *block = calloc(9 * n, sizeof *block);
    if (!block) return cw_error_memory(error);
    spline->value = block;
    spline->bend = block + n;
    double *q = block + 2 * n, *share = q + 3 * n, *d = share + n, *one = d + n, *two = one + n;
    for (size_t i = 0; i + 1 < n; i++) {
        double step = x[i + 1] - x[i];
        if (!(step > 0))
            return cw_error_set(error, CW_E_NUMERIC, NULL, 0, "a spline's points must increase");
        share[i] += 0.5 * step;
        share[i + 1] += 0.5 * step;
    }
    size_t m = n > 2 ? n - 2 : 0;
    double *bend = spline->bend + 1, penalty = pow(smooth, 4);
    for (size_t j = 0; j < m; j++) {
        double before = x[j + 1] - x[j], after = x[j + 2] - x[j + 1];
        q[3 * j] = 1 / before;
        q[3 * j + 1] = -1 / before - 1 / after;
        q[3 * j + 2] = 1 / after;
        bend[j] = q[3 * j] * y[j] + q[3 * j + 1] * y[j + 1] + q[3 * j + 2] * y[j + 2];
    }
    for (size_t j = 0; j < m; j++) {
        const double *own = q + 3 * j;
        d[j] = (x[j + 2] - x[j]) / 3;
        for (size_t k = 0; k < 3; k++) d[j] += penalty * own[k] * own[k] / share[j + k];
        if (j + 1 < m)
            one[j] = (x[j + 2] - x[j + 1]) / 6 +
                     penalty * (own[1] * own[3] / share[j + 1] + own[2] * own[4] / share[j + 2]);
        if (j + 2 < m) two[j] = penalty * own[2] * own[6] / share[j + 2];
    }
    for (size_t j = 0; j < m; j++) {
        if (j + 1 < m) {
            double part = one[j] / d[j];
            d[j + 1] -= part * one[j];
            bend[j + 1] -= part * bend[j];
            if (j + 2 < m) {
                one[j + 1] -= part * two[j];
                double far = two[j] / d[j];
                d[j + 2] -= far * two[j];
                bend[j + 2] -= far * bend[j];
            }
        }
    }
    for (size_t j = m; j-- > 0;) {
        bend[j] /= d[j];
        if (j + 1 < m) bend[j] -= one[j] / d[j] * bend[j + 1];
        if (j + 2 < m) bend[j] -= two[j] / d[j] * bend[j + 2];
    }
    for (size_t i = 0; i < n; i++) spline->value[i] = y[i];
    for (size_t j = 0; j < m; j++)
        for (size_t k = 0; k < 3; k++)
            spline->value[j + k] -= penalty * q[3 * j + k] * bend[j] / share[j + k];
    return CW_OK;
}

double cw_spline_at(const struct cw_spline *spline, double x) {
    const double *at = spline->x, *value = spline->value, *bend = spline->bend;
    size_t low = 0, high = spline->n - 1;
    while (high - low > 1) {
        size_t middle = low + (high - low) / 2;
        if (at[middle] <= x)
            low = middle;
        else
            high = middle;
    }
    double step = at[high] - at[low], left = x - at[low], right = at[high] - x;
    double straight = (left * value[high] + right * value[low]) / step;
    if (left < 0) /* beyond an end: on with the slope there */
        return value[low] +
               left * ((value[high] - value[low]) / step - step / 6 * (2 * bend[low] + bend[high]));
    if (right < 0)
        return value[high] - right * ((value[high] - value[low]) / step +
                                      step / 6 * (2 * bend[high] + bend[low]));
    return straight -
           left * right / 6 * ((1 + left / step) * bend[high] + (1 + right / step) * bend[low]);
}
