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

void cw_cholesky_solve(size_t n, const double *a, double *b) {
    whiten_by(n, a, 1, b);
    for (size_t i = n; i-- > 0;) {
        b[i] /= a[i * n + i];
        for (size_t k = 0; k < i; k++) b[k] -= a[i * n + k] * b[i];
    }
}

/* So many rows at once, for each to be fetched that often less: where a matrix has outgrown the
 * caches, fetching it is what takes the time. */
enum { TOGETHER = 4 };

/* row -= factor x n numbers of other, of each of `rows` rows so far apart. */
CW_WIDE static void take(double *restrict row, size_t apart, size_t rows,
                         const double factor[TOGETHER], const double *restrict other, size_t n) {
    for (size_t r = 0; r < rows; r++)
        for (size_t j = 0; j < n; j++) row[r * apart + j] -= factor[r] * other[j];
}

/* L^-1 in the place of L, row by row from those above. */
static void invert_factor(size_t n, double *a) {
    double factor[TOGETHER];
    for (size_t i = 0; i < n; i += TOGETHER) {
        size_t rows = i + TOGETHER <= n ? TOGETHER : n - i;
        double *row = a + i * n;
        for (size_t k = 0; k < i; k++) {
            for (size_t r = 0; r < rows; r++) {
                factor[r] = row[r * n + k];
                row[r * n + k] = 0;
            }
            take(row, n, rows, factor, a + k * n, k + 1);
        }
        for (size_t r = 0; r < rows; r++) {
            double *own = row + r * n, scale = 1 / own[i + r];
            for (size_t k = i; k < i + r; k++) {
                factor[0] = own[k];
                own[k] = 0;
                take(own, n, 1, factor, a + k * n, k + 1);
            }
            own[i + r] = 1;
            for (size_t j = 0; j <= i + r; j++) own[j] *= scale;
        }
    }
}

/* row[j] += of each of `rows` rows its value at i times that at j, for j up to i. */
CW_WIDE static void add_row_products(double *restrict to, const double *restrict row, size_t apart,
                                     size_t rows, size_t i) {
    if (rows == TOGETHER) {
        const double *a = row, *b = a + apart, *c = b + apart, *d = c + apart;
        for (size_t j = 0; j <= i; j++) {
            double sum = to[j] + a[i] * a[j];
            sum += b[i] * b[j];
            sum += c[i] * c[j];
            to[j] = sum + d[i] * d[j];
        }
        return;
    }
    for (size_t r = 0; r < rows; r++)
        for (size_t j = 0; j <= i; j++) to[j] += row[r * apart + i] * row[r * apart + j];
}

void cw_cholesky_invert(size_t n, double *a) {
    invert_factor(n, a);
    /* a^-1 = L^-1' L^-1, to which each row of L^-1 adds its products, its own last. */
    for (size_t k = 0; k < n; k += TOGETHER) {
        size_t rows = k + TOGETHER <= n ? TOGETHER : n - k;
        const double *row = a + k * n;
        for (size_t i = 0; i < k; i++) add_row_products(a + i * n, row, n, rows, i);
        for (size_t r = 0; r < rows; r++) {
            double *own = a + (k + r) * n;
            for (size_t i = k; i < k + r; i++) add_row_products(a + i * n, own, n, 1, i);
            for (size_t j = 0; j <= k + r; j++) own[j] *= own[k + r];
        }
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
