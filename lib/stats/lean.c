#include "stats/lean.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/wide.h"

/* Fewer values are as soon done whole. */
enum { FEWEST = 48, RANK_MOST = 64 };
static const double told_to = 1e-11; /* of the mean of a matrix' diagonal */

/* ---- a diagonal and a low rank ---- */

/* The row or column of what is left that belongs to `at`, in those that are free: where it is
 * farthest from 0, n where there is none. */
static size_t farthest(const double *a, size_t n, const double *u, const double *v, size_t rank,
                       size_t at, const char *taken, double *line) {
    size_t best = n;
    memcpy(line, a + at * n, n * sizeof *line); /* a is symmetric */
    for (size_t k = 0; k < rank; k++) {
        double factor = u[k * n + at];
        for (size_t j = 0; j < n; j++) line[j] -= factor * v[k * n + j];
    }
    for (size_t j = 0; j < n; j++)
        if (!taken[j] && j != at && (best == n || fabs(line[j]) > fabs(line[best]))) best = j;
    return best;
}

/* Adaptive cross approximation (Bebendorf 2000, Numer. Math. 86:565), which never looks at a
 * diagonal: a row and a column of different values each, and what is taken of either is not taken
 * again. Puts into shared what of the diagonal goes with the rest of the matrix, for all that were
 * not taken, here or before (taken: 1 here, 2 before). False where the rank is above `most`. */
static bool cross(const double *a, size_t n, double within, size_t most, char *taken, double *u,
                  double *shared) {
    double *v = u + most * n, *row = v + most * n, *column = row + n;
    size_t rank = 0, start = 0;
    for (size_t idle = 0; idle < 4 && rank < most; start++) {
        size_t i = start * 7919 % n, j = n, next; /* a prime: here and there */
        for (size_t tried = 0; tried < n && taken[i]; tried++) i = (i + 1) % n;
        if (taken[i]) return false;
        for (int turn = 0; turn < 4; turn++) {
            j = farthest(a, n, u, v, rank, i, taken, row);
            if (j == n) return false;
            next = farthest(a, n, v, u, rank, j, taken, column);
            if (next == n) return false;
            if (!(fabs(column[next]) > fabs(row[j]))) break;
            i = next;
        }
        farthest(a, n, u, v, rank, i, taken, row);
        double pivot = row[j];
        if (!(fabs(pivot) > within)) {
            idle++;
            continue;
        }
        idle = 0;
        for (size_t k = 0; k < n; k++) {
            u[rank * n + k] = column[k] / pivot;
            v[rank * n + k] = row[k];
        }
        taken[i] = taken[j] = 1;
        rank++;
    }
    for (size_t i = 0; i < n; i++)
        if (taken[i] != 1) {
            shared[i] = 0;
            for (size_t k = 0; k < rank; k++) shared[i] += u[k * n + i] * v[k * n + i];
        }
    return rank < most;
}

/* a = H S H' with another diagonal, by pivots as large as there are. */
static bool factor_signed(const double *a, size_t n, const double *shared, double within,
                          size_t most, double *h, double *sign, size_t *rank, double *left) {
    memcpy(left, shared, n * sizeof *left);
    for (*rank = 0; *rank <= most; (*rank)++) {
        size_t p = 0;
        for (size_t i = 1; i < n; i++)
            if (fabs(left[i]) > fabs(left[p])) p = i;
        if (!(fabs(left[p]) > within)) return true;
        if (*rank == most) return false;
        double *own = h + *rank * n, scale = sqrt(fabs(left[p]));
        memcpy(own, a + p * n, n * sizeof *own);
        own[p] = shared[p];
        for (size_t k = 0; k < *rank; k++) {
            double factor = sign[k] * h[k * n + p];
            for (size_t i = 0; i < n; i++) own[i] -= factor * h[k * n + i];
        }
        own[p] = left[p];
        sign[*rank] = left[p] > 0 ? 1 : -1;
        for (size_t i = 0; i < n; i++) {
            own[i] /= scale * sign[*rank];
            left[i] -= sign[*rank] * own[i] * own[i];
        }
        left[p] = 0;
    }
    return false;
}

/* The farthest that a is off D + H S H' off its diagonal. */
static double farthest_off(const double *a, size_t n, const double *h, const double *sign,
                           size_t rank, double *line) {
    double most = 0;
    for (size_t i = 0; i < n; i++) {
        memcpy(line, a + i * n, i * sizeof *line);
        for (size_t k = 0; k < rank; k++) {
            double factor = sign[k] * h[k * n + i];
            for (size_t j = 0; j < i; j++) line[j] -= factor * h[k * n + j];
        }
        for (size_t j = 0; j < i; j++)
            if (!(fabs(line[j]) <= most)) most = isnan(line[j]) ? INFINITY : fabs(line[j]);
    }
    return most;
}

bool cw_lean_split(size_t n, const double *a, double within, size_t most, double *diagonal,
                   double *h, double *sign, size_t *rank) {
    double *block = malloc((2 * most * n + 3 * n) * sizeof *block);
    char *taken = calloc(n ? n : 1, 1);
    bool split = block && taken;
    double *shared = block + 2 * most * n + 2 * n;
    *rank = 0;
    /* Twice, the second time for those that the first took: of a value's own share of the diagonal
     * others tell. */
    split = split && cross(a, n, 0.01 * within, most, taken, block, shared);
    if (split) {
        double *first = malloc(n * sizeof *first);
        split = first != NULL;
        for (size_t i = 0; i < n && split; i++) {
            first[i] = shared[i];
            taken[i] = taken[i] ? 2 : 0;
        }
        split = split && cross(a, n, 0.01 * within, most, taken, block, shared);
        for (size_t i = 0; i < n && split; i++)
            if (taken[i] != 2) shared[i] = first[i];
        free(first);
    }
    split = split && factor_signed(a, n, shared, 0.1 * within, most, h, sign, rank, block) &&
            farthest_off(a, n, h, sign, *rank, block) <= within;
    for (size_t i = 0; i < n && split; i++) {
        diagonal[i] = a[i * n + i];
        for (size_t k = 0; k < *rank; k++) diagonal[i] -= sign[k] * h[k * n + i] * h[k * n + i];
    }
    free(block);
    free(taken);
    return split;
}

/* ---- what is banded ---- */

struct part {
    double *band; /* of B A B', or of B D B': row by row, n x (width + 1), the diagonal last */
    size_t width;
    size_t rank;
    double *column, *sign; /* of its low rank: B H, n each */
};

struct cw_lean {
    const struct cw_components_data *data;
    struct part part[CW_COMPONENTS_MOST + 1]; /* of the components; last what is fixed */
    size_t width, rank;
    double *seen;    /* B [X y], n x (p + 1) */
    double *band;    /* K and then its factor, n x (width + 1) */
    double *columns; /* L^-1 B [W X y], n x (rank + p + 1) */
    double *square;  /* of those */
};

static const double *matrix_of(const struct cw_components_data *data, size_t k) {
    return k < data->n_components ? data->component[k].matrix : data->fixed;
}

/* What goes on to the i-th in order from the one before it. */
static double carry_at(const struct cw_components_data *data, size_t i) {
    return i && data->carry ? data->carry[i] : 0;
}

static size_t at_place(const struct cw_components_data *data, size_t i) {
    return data->order ? data->order[i] : i;
}

/* B x, in order, of n numbers in the places of the data. */
static void freed(const struct cw_components_data *data, const double *x, size_t apart, double *to,
                  size_t to_apart) {
    for (size_t i = 0; i < data->n; i++) {
        to[i * to_apart] = x[at_place(data, i) * apart];
        if (i) to[i * to_apart] -= carry_at(data, i) * x[at_place(data, i - 1) * apart];
    }
}

/* Whether B A B' (whole: n x n, in order) has a narrow band, and which. */
static bool is_narrow(const double *whole, size_t n, double within, size_t *width) {
    *width = 1;
    for (size_t i = 0; i < n; i++)
        for (size_t j = 0; j + *width < i; j++)
            if (!(fabs(whole[i * n + j]) <= within)) {
                *width = i - j;
                break;
            }
    return 4 * *width <= n;
}

static enum cw_status keep_band(const double *whole, size_t n, size_t width, struct part *part,
                                struct cw_error *error) {
    part->width = width;
    part->band = calloc(n * (width + 1), sizeof *part->band);
    if (!part->band) return cw_error_memory(error);
    for (size_t i = 0; i < n; i++)
        for (size_t j = i > width ? i - width : 0; j <= i; j++)
            part->band[i * (width + 1) + width - (i - j)] = whole[i * n + j];
    return CW_OK;
}

/* B A B' in order, of a matrix in the places of the data. */
static void free_both(const struct cw_components_data *data, const double *a, double *room,
                      double *whole) {
    size_t n = data->n;
    for (size_t j = 0; j < n; j++) freed(data, a + j * n, 1, room + j * n, 1);
    for (size_t j = 0; j < n; j++) freed(data, room + j, n, whole + j, n);
}

/* Takes a matrix apart; *lean: whether it can be. room: twice n x n. */
static enum cw_status take_apart(const struct cw_components_data *data, const double *a,
                                 double *room, struct part *part, bool *lean,
                                 struct cw_error *error) {
    size_t n = data->n, width, most = n / 4 < RANK_MOST ? n / 4 : RANK_MOST;
    double within = 0, *whole = room + n * n;
    for (size_t i = 0; i < n; i++) within += told_to * a[i * n + i] / (double)n;
    free_both(data, a, room, whole);
    *lean = is_narrow(whole, n, within, &width);
    if (*lean) return keep_band(whole, n, width, part, error);
    double *h = malloc((n * most + most + n) * sizeof *h);
    if (!h) return cw_error_memory(error);
    part->sign = h + n * most;
    double *diagonal = part->sign + most;
    *lean = cw_lean_split(n, a, within, most, diagonal, h, part->sign, &part->rank);
    enum cw_status status = CW_OK;
    if (*lean) {
        for (size_t k = 0; k < part->rank; k++) {
            memcpy(room, h + k * n, n * sizeof *room);
            freed(data, room, 1, h + k * n, 1);
        }
        memset(whole, 0, n * n * sizeof *whole);
        for (size_t i = 0; i < n; i++) {
            double carry = carry_at(data, i), own = diagonal[at_place(data, i)],
                   before = i ? diagonal[at_place(data, i - 1)] : 0;
            whole[i * n + i] = own + carry * carry * before;
            if (i) whole[i * n + i - 1] = -carry * before;
        }
        status = keep_band(whole, n, 1, part, error);
    }
    part->column = h;
    return status;
}

void cw_lean_free(struct cw_lean *lean) {
    if (!lean) return;
    for (size_t k = 0; k <= CW_COMPONENTS_MOST; k++) {
        free(lean->part[k].band);
        free(lean->part[k].column); /* and the signs behind it */
    }
    free(lean->seen);
    free(lean->band);
    free(lean->columns);
    free(lean->square);
    free(lean);
}

static enum cw_status make_room(struct cw_lean *lean, struct cw_error *error) {
    const struct cw_components_data *data = lean->data;
    size_t n = data->n, p = data->p, m = lean->rank + p + 1;
    lean->seen = malloc(n * (p + 1) * sizeof *lean->seen);
    lean->band = malloc(n * (lean->width + 1) * sizeof *lean->band);
    lean->columns = malloc(n * m * sizeof *lean->columns);
    lean->square = malloc(m * m * sizeof *lean->square);
    if (!lean->seen || !lean->band || !lean->columns || !lean->square)
        return cw_error_memory(error);
    for (size_t k = 0; k < p; k++) freed(data, data->design + k, p, lean->seen + k, p + 1);
    freed(data, data->value, 1, lean->seen + p, p + 1);
    return CW_OK;
}

enum cw_status cw_lean_make(const struct cw_components_data *data, struct cw_lean **result,
                            struct cw_error *error) {
    size_t n = data->n;
    bool fits = n >= FEWEST && !data->beside.at;
    *result = NULL;
    if (!fits) return CW_OK;
    struct cw_lean *lean = calloc(1, sizeof *lean);
    double *room = malloc(2 * n * n * sizeof *room);
    enum cw_status status = lean && room ? CW_OK : cw_error_memory(error);
    for (size_t k = 0; k <= data->n_components && fits && status >= 0; k++) {
        const double *a = matrix_of(data, k);
        if (!a) continue;
        struct part *part = &lean->part[k];
        status = take_apart(data, a, room, part, &fits, error);
        if (part->width > lean->width) lean->width = part->width;
        lean->rank += part->rank;
    }
    fits = fits && status >= 0 && 4 * lean->rank <= n;
    if (fits) {
        lean->data = data;
        status = make_room(lean, error);
    }
    free(room);
    if (fits && status >= 0)
        *result = lean;
    else
        cw_lean_free(lean);
    return status;
}

/* ---- at a point ---- */

static double scale_of(const struct cw_lean *lean, const double *theta, size_t k) {
    return k < lean->data->n_components ? theta[k] : 1;
}

/* K's factor, L, in its place. */
static bool factor_band(double *band, size_t n, size_t width, double *log_det) {
    size_t row = width + 1;
    for (size_t i = 0; i < n; i++) {
        double *own = band + i * row;
        size_t first = i > width ? i - width : 0;
        for (size_t j = first; j <= i; j++) {
            const double *other = band + j * row;
            size_t from = j > width && j - width > first ? j - width : first;
            double sum = own[width - (i - j)];
            for (size_t k = from; k < j; k++) sum -= own[width - (i - k)] * other[width - (j - k)];
            if (j < i) {
                own[width - (i - j)] = sum / other[width];
            } else {
                if (!(sum > 0 && isfinite(sum))) return false;
                own[width] = sqrt(sum);
                *log_det += log(sum);
            }
        }
    }
    return true;
}

CW_WIDE static void whiten_band(const double *band, size_t n, size_t width, size_t m, double *b) {
    for (size_t i = 0; i < n; i++) {
        double *restrict row = b + i * m;
        const double *own = band + i * (width + 1);
        for (size_t j = i > width ? i - width : 0; j < i; j++) {
            double factor = own[width - (i - j)];
            const double *restrict other = b + j * m;
            for (size_t c = 0; c < m; c++) row[c] -= factor * other[c];
        }
        for (size_t c = 0; c < m; c++) row[c] /= own[width];
    }
}

/* columns' columns, the lower triangle. */
CW_WIDE static void multiply(const double *columns, size_t n, size_t m, double *square) {
    memset(square, 0, m * m * sizeof *square);
    for (size_t i = 0; i < n; i++) {
        const double *restrict row = columns + i * m;
        for (size_t a = 0; a < m; a++) {
            double *restrict to = square + a * m;
            for (size_t b = 0; b <= a; b++) to[b] += row[a] * row[b];
        }
    }
}

/* Lays K and B [W X y] out, W's columns with those of sign 1 first; returns how many they are. */
static size_t lay_out(struct cw_lean *lean, const double *theta) {
    const struct cw_components_data *data = lean->data;
    size_t n = data->n, p = data->p, row = lean->width + 1, m = lean->rank + p + 1, at = 0,
           positive = 0;
    memset(lean->band, 0, n * row * sizeof *lean->band);
    for (size_t k = 0; k <= data->n_components; k++) {
        const struct part *part = &lean->part[k];
        double scale = scale_of(lean, theta, k), square = scale * scale;
        if (!part->band || square == 0) continue;
        for (size_t i = 0; i < n; i++)
            for (size_t j = 0; j <= part->width; j++)
                lean->band[i * row + lean->width - part->width + j] +=
                    square * part->band[i * (part->width + 1) + j];
    }
    for (int sign = 1; sign >= -1; sign -= 2) {
        for (size_t k = 0; k <= data->n_components; k++) {
            const struct part *part = &lean->part[k];
            double scale = scale_of(lean, theta, k);
            for (size_t c = 0; c < part->rank; c++) {
                if (part->sign[c] * sign < 0) continue;
                for (size_t i = 0; i < n; i++)
                    lean->columns[i * m + at] = scale * part->column[c * n + i];
                at++;
            }
        }
        if (sign > 0) positive = at;
    }
    for (size_t i = 0; i < n; i++)
        memcpy(lean->columns + i * m + at, lean->seen + i * (p + 1),
               (p + 1) * sizeof *lean->columns);
    return positive;
}

bool cw_lean_products(struct cw_lean *lean, const double *theta, double *products,
                      double *log_det) {
    size_t n = lean->data->n, r = lean->rank, m = r + lean->data->p + 1, q = m - r;
    double *square = lean->square;
    size_t positive = lay_out(lean, theta);
    *log_det = 0;
    if (!factor_band(lean->band, n, lean->width, log_det)) return false;
    whiten_band(lean->band, n, lean->width, m, lean->columns);
    multiply(lean->columns, n, m, square);
    for (size_t k = 0; k < r; k++) square[k * m + k] += k < positive ? 1 : -1;
    /* V being positive definite, so is what S is 1 of, and what is left of the rest is negative. */
    for (size_t k = 0; k < r; k++) {
        double pivot = square[k * m + k];
        if (!(k < positive ? pivot > 0 : pivot < 0)) return false;
        *log_det += log(fabs(pivot));
        for (size_t a = k + 1; a < m; a++) {
            double factor = square[a * m + k] / pivot;
            for (size_t b = k + 1; b <= a; b++) square[a * m + b] -= factor * square[b * m + k];
        }
    }
    for (size_t a = 0; a < q; a++)
        for (size_t b = 0; b <= a; b++)
            products[a * q + b] = products[b * q + a] = square[(r + a) * m + r + b];
    return isfinite(*log_det);
}
