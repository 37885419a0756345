#include "stats/symmetric.h"

#include <math.h>
#include <stdlib.h>

#include <gsl/gsl_eigen.h>

#include "base/wide.h"

enum { ROWS = 2, COLUMNS = 4 };

/* sum[r][c] = of n products of row r of a and row c of b, rows being so far apart. */
CW_WIDE static void products(const double *restrict a, const double *restrict b, size_t apart,
                             size_t n, double sum[ROWS][COLUMNS]) {
    cw_four part[ROWS][COLUMNS] = {{{0}}};
    size_t fours = n / CW_FOUR * CW_FOUR;
    for (size_t k = 0; k < fours; k += CW_FOUR)
        for (size_t c = 0; c < COLUMNS; c++) {
            cw_four other = *(const cw_four *)(b + c * apart + k);
            for (size_t r = 0; r < ROWS; r++)
                part[r][c] += *(const cw_four *)(a + r * apart + k) * other;
        }
    for (size_t r = 0; r < ROWS; r++)
        for (size_t c = 0; c < COLUMNS; c++) {
            sum[r][c] = part[r][c][0] + part[r][c][1] + part[r][c][2] + part[r][c][3];
            for (size_t k = fours; k < n; k++) sum[r][c] += a[r * apart + k] * b[c * apart + k];
        }
}

/* Elements of row i from column `from` up to `to`, those before being done. */
static bool factor_row(size_t n, double *a, size_t i, size_t from, size_t to, size_t done) {
    double *row = a + i * n;
    for (size_t j = from; j < to; j++) {
        const double *other = a + j * n;
        double sum = row[j];
        for (size_t k = done; k < j; k++) sum -= row[k] * other[k];
        if (j < i) {
            row[j] = sum / other[j];
        } else {
            if (!(sum > 0 && isfinite(sum))) return false;
            row[j] = sqrt(sum);
        }
    }
    return true;
}

/* Row by row; of two rows and four columns at once what all columns before these have in common. */
bool cw_cholesky_factor(size_t n, double *a) {
    for (size_t i = 0; i < n; i += ROWS) {
        size_t rows = i + ROWS <= n ? ROWS : n - i, j = 0;
        for (; rows == ROWS && j + COLUMNS <= i; j += COLUMNS) {
            double sum[ROWS][COLUMNS];
            products(a + i * n, a + j * n, n, j, sum);
            for (size_t r = 0; r < ROWS; r++) {
                for (size_t c = 0; c < COLUMNS; c++) a[(i + r) * n + j + c] -= sum[r][c];
                factor_row(n, a, i + r, j, j + COLUMNS, j);
            }
        }
        for (size_t r = 0; r < rows; r++)
            if (!factor_row(n, a, i + r, j, i + r + 1, 0)) return false;
    }
    return true;
}

CW_WIDE static void whiten_by(size_t n, const double *a, size_t m, double *b) {
    for (size_t i = 0; i < n; i++) {
        double *row = b + i * m;
        for (size_t k = 0; k < i; k++)
            for (size_t c = 0; c < m; c++) row[c] -= a[i * n + k] * b[k * m + c];
        for (size_t c = 0; c < m; c++) row[c] /= a[i * n + i];
    }
}

void cw_cholesky_whiten(size_t n, const double *a, size_t m, double *b) {
    whiten_by(n, a, m, b);
}

CW_WIDE static void invert(size_t n, double *a) {
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

void cw_cholesky_invert(size_t n, double *a) {
    invert(n, a);
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
