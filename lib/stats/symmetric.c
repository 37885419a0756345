#include "stats/symmetric.h"

#include <math.h>
#include <stdlib.h>

#include <gsl/gsl_eigen.h>

bool cw_cholesky_factor(size_t n, double *a) {
    for (size_t i = 0; i < n; i++) {
        double *row = a + i * n;
        for (size_t j = 0; j < i; j++) {
            const double *other = a + j * n;
            double sum = row[j];
            for (size_t k = 0; k < j; k++) sum -= row[k] * other[k];
            row[j] = sum / other[j];
        }
        double pivot = row[i];
        for (size_t k = 0; k < i; k++) pivot -= row[k] * row[k];
        if (!(pivot > 0 && isfinite(pivot))) return false;
        row[i] = sqrt(pivot);
    }
    return true;
}

void cw_cholesky_whiten(size_t n, const double *a, size_t m, double *b) {
    for (size_t i = 0; i < n; i++) {
        double *row = b + i * m;
        for (size_t k = 0; k < i; k++)
            for (size_t c = 0; c < m; c++) row[c] -= a[i * n + k] * b[k * m + c];
        for (size_t c = 0; c < m; c++) row[c] /= a[i * n + i];
    }
}

void cw_cholesky_invert(size_t n, double *a) {
    /* L^-1 in the place of L, row by row from those above. */
    for (size_t i = 0; i < n; i++) {
        double *row = a + i * n, scale = 1 / row[i];
        for (size_t k = 0; k < i; k++) {
            double factor = row[k];
            row[k] = 0;
            for (size_t j = 0; j <= k; j++) row[j] -= factor * a[k * n + j];
        }
        row[i] = 1;
        for (size_t j = 0; j <= i; j++) row[j] *= scale;
    }
    /* a^-1 = L^-1' L^-1, to which each row of L^-1 adds its products, its own last. */
    for (size_t k = 0; k < n; k++) {
        const double *row = a + k * n;
        for (size_t i = 0; i < k; i++)
            for (size_t j = 0; j <= i; j++) a[i * n + j] += row[i] * row[j];
        for (size_t j = 0; j <= k; j++) a[k * n + j] *= a[k * n + k];
    }
    for (size_t i = 0; i < n; i++)
        for (size_t j = 0; j < i; j++) a[j * n + i] = a[i * n + j];
}

bool cw_cholesky_inverse(size_t n, double *a) {
    if (!cw_cholesky_factor(n, a)) return false;
    cw_cholesky_invert(n, a);
    return true;
}

enum cw_status cw_symmetric_axes(size_t n, double *a, double *value, double *axes,
                                 struct cw_error *error) {
    if (n == 0) return CW_OK;
    /* Its iteration does not end on what is not a number. */
    for (size_t i = 0; i < n * n; i++)
        if (!isfinite(a[i]))
            return cw_error_set(error, CW_E_NUMERIC, NULL, 0,
                                "a matrix whose axes are wanted is not finite");
    /* Not GSL's own allocation, which ends the program where memory runs out. */
    double *room = malloc(4 * n * sizeof *room);
    if (!room) return cw_error_memory(error);
    gsl_eigen_symmv_workspace work = {
        .size = n, .d = room, .sd = room + n, .gc = room + 2 * n, .gs = room + 3 * n};
    gsl_matrix_view matrix = gsl_matrix_view_array(a, n, n);
    gsl_matrix_view columns = gsl_matrix_view_array(axes, n, n);
    gsl_vector_view values = gsl_vector_view_array(value, n);
    gsl_eigen_symmv(&matrix.matrix, &values.vector, &columns.matrix, &work);
    free(room);
    return CW_OK;
}
