#include "stats/least_squares.h"

#include <float.h>
#include <math.h>
#include <stdbool.h>
#include <stdlib.h>

static enum cw_status check_input(size_t n, size_t p, const double *design, const double *response,
                                  const double *weight, struct cw_error *error) {
    if (p == 0 || n < p)
        return cw_error_set(error, CW_E_ARGUMENT, NULL, 0,
                            "least squares: %zu observations cannot give %zu unknowns", n, p);
    for (size_t i = 0; i < n * p; i++)
        if (!isfinite(design[i]))
            return cw_error_set(error, CW_E_ARGUMENT, NULL, 0,
                                "least squares: observation %zu has no number for unknown %zu",
                                i / p + 1, i % p + 1);
    for (size_t i = 0; i < n; i++) {
        if (!isfinite(response[i]))
            return cw_error_set(error, CW_E_ARGUMENT, NULL, 0,
                                "least squares: observation %zu is not a number", i + 1);
        if (weight && !(weight[i] > 0 && isfinite(weight[i])))
            return cw_error_set(error, CW_E_ARGUMENT, NULL, 0,
                                "least squares: the weight of observation %zu is not above 0",
                                i + 1);
    }
    return CW_OK;
}

/* From the residuals themselves, which lose less to rounding than |y|^2 - |U'y|^2. */
static double sum_of_squares(const double *design, const double *response, const double *weight,
                             const struct cw_least_squares *fit) {
    double sum = 0;
    for (size_t i = 0; i < fit->n; i++) {
        double residual = response[i];
        for (size_t j = 0; j < fit->p; j++)
            residual -= design[i * fit->p + j] * fit->coefficient[j];
        sum += (weight ? weight[i] : 1) * residual * residual;
    }
    return sum;
}

static bool all_finite(const struct cw_least_squares *fit) {
    if (!isfinite(fit->chi_square)) return false;
    for (size_t j = 0; j < fit->p; j++)
        if (!isfinite(fit->coefficient[j])) return false;
    for (size_t j = 0; j < fit->p * fit->p; j++)
        if (!isfinite(fit->covariance[j])) return false;
    return true;
}

static void set_unknown(struct cw_least_squares *fit) {
    for (size_t j = 0; j < fit->p; j++) fit->coefficient[j] = NAN;
    for (size_t j = 0; j < fit->p * fit->p; j++) fit->covariance[j] = NAN;
    fit->chi_square = fit->residual_sd = NAN;
}

/* Singular values of an n x p design W, whose columns stand one after the other. */
struct singular {
    double *u;     /* p columns of n: W v, each as long as its singular value */
    double *v;     /* p columns of p: orthonormal */
    double *value; /* p */
    double *unit;  /* p: what each column of the design was divided by */
};

static double dot(size_t n, const double *a, const double *b) {
    double sum = 0;
    for (size_t i = 0; i < n; i++) sum += a[i] * b[i];
    return sum;
}

static void rotate(size_t n, double *a, double *b, double cosine, double sine) {
    for (size_t i = 0; i < n; i++) {
        double x = a[i], y = b[i];
        a[i] = cosine * x - sine * y;
        b[i] = sine * x + cosine * y;
    }
}

/* Columns in units (powers of two, which round nothing) that bring their sizes together. */
static void balance(size_t n, size_t p, const double *design, const double *weight,
                    struct singular *w) {
    for (size_t j = 0; j < p; j++) {
        double size = 0;
        for (size_t i = 0; i < n; i++) {
            w->u[j * n + i] = design[i * p + j] * (weight ? sqrt(weight[i]) : 1);
            size += fabs(w->u[j * n + i]);
        }
        int power = 0;
        if (size > 0 && isfinite(size)) frexp(size, &power);
        w->unit[j] = ldexp(1, power);
        for (size_t i = 0; i < n; i++) w->u[j * n + i] = ldexp(w->u[j * n + i], -power);
    }
}

/* Turns pairs of columns until all are at right angles (Hestenes 1958; Golub & Van Loan, section
 * 8.6.3). False where that does not end, or leaves the range of numbers. */
static bool make_orthogonal(size_t n, size_t p, struct singular *w) {
    enum { SWEEPS = 60 };
    bool turned = true;
    /* Cosine of a right angle, for all that a sum of n products can tell. */
    double right = 4 * DBL_EPSILON * sqrt((double)n);
    double norm = sqrt(dot(n * p, w->u, w->u));
    /* A column below this puts the condition above what is allowed, and near rounding it has no
     * direction that turning could end at. */
    double nothing = norm / sqrt((double)p) / CW_LEAST_SQUARES_CONDITION_MAX;
    for (size_t j = 0; j < p; j++)
        for (size_t k = 0; k < p; k++) w->v[j * p + k] = j == k;
    for (int sweep = 0; sweep < SWEEPS && turned; sweep++) {
        turned = false;
        for (size_t j = 0; j < p; j++)
            for (size_t k = j + 1; k < p; k++) {
                double *a = w->u + j * n, *b = w->u + k * n;
                double aa = dot(n, a, a), bb = dot(n, b, b), ab = dot(n, a, b);
                if (!isfinite(aa + bb)) return false;
                if (fabs(ab) <= right * sqrt(aa) * sqrt(bb)) continue;
                if (sqrt(fmin(aa, bb)) <= nothing) continue;
                double zeta = (bb - aa) / (2 * ab);
                double tangent = copysign(1 / (fabs(zeta) + hypot(1, zeta)), zeta);
                double cosine = 1 / hypot(1, tangent);
                rotate(n, a, b, cosine, cosine * tangent);
                rotate(p, w->v + j * p, w->v + k * p, cosine, cosine * tangent);
                turned = true;
            }
    }
    for (size_t j = 0; j < p; j++) {
        w->value[j] = sqrt(dot(n, w->u + j * n, w->u + j * n));
        if (!isfinite(w->value[j])) return false;
    }
    return !turned;
}

static double condition_of(size_t p, const double *value) {
    double most = 0, least = INFINITY;
    for (size_t j = 0; j < p; j++) {
        most = fmax(most, value[j]);
        least = fmin(least, value[j]);
    }
    return least > 0 ? most / least : INFINITY;
}

/* b = V S^-1 U'y and (W'W)^-1 = V S^-2 V'. */
static void solve(size_t n, size_t p, const double *response, const double *weight,
                  const struct singular *w, struct cw_least_squares *fit) {
    for (size_t k = 0; k < p; k++) {
        const double *u = w->u + k * n, *v = w->v + k * p;
        double along = 0, s = w->value[k];
        for (size_t i = 0; i < n; i++)
            along += u[i] / s * response[i] * (weight ? sqrt(weight[i]) : 1);
        for (size_t i = 0; i < p; i++) {
            double part = v[i] / s / w->unit[i];
            fit->coefficient[i] += part * along;
            for (size_t j = 0; j < p; j++)
                fit->covariance[i * p + j] += part * (v[j] / s / w->unit[j]);
        }
    }
}

enum cw_status cw_least_squares_fit(size_t n, size_t p, const double *design,
                                    const double *response, const double *weight,
                                    struct cw_least_squares *fit, struct cw_error *error) {
    *fit = (struct cw_least_squares){0};
    enum cw_status status = check_input(n, p, design, response, weight, error);
    if (status != CW_OK) return status;

    double *room = malloc((n * p + p * p + 2 * p) * sizeof *room);
    fit->coefficient = calloc(p, sizeof *fit->coefficient);
    fit->covariance = calloc(p * p, sizeof *fit->covariance);
    if (!room || !fit->coefficient || !fit->covariance) {
        status = cw_error_memory(error);
        goto cleanup;
    }
    fit->n = n;
    fit->p = p;
    fit->df = (double)(n - p);
    struct singular w = {room, room + n * p, room + n * p + p * p, room + n * p + p * p + p};
    balance(n, p, design, weight, &w);
    if (!make_orthogonal(n, p, &w)) {
        status = cw_error_set(error, CW_E_NUMERIC, NULL, 0,
                              "least squares: the singular values could not be found");
        goto cleanup;
    }
    fit->condition = condition_of(p, w.value);
    if (fit->condition > CW_LEAST_SQUARES_CONDITION_MAX) {
        set_unknown(fit);
        status = cw_error_set(error, CW_NOT_IDENTIFIABLE, NULL, 0,
                              "least squares: the %zu unknowns cannot be told apart "
                              "(condition number %.2g)",
                              p, fit->condition);
        goto cleanup;
    }
    solve(n, p, response, weight, &w, fit);
    fit->chi_square = sum_of_squares(design, response, weight, fit);
    if (!all_finite(fit)) {
        status = cw_error_set(error, CW_E_NUMERIC, NULL, 0,
                              "least squares: the result is beyond the range of numbers");
        goto cleanup;
    }
    fit->residual_sd = n > p ? sqrt(fit->chi_square / fit->df) : NAN;
    if (!weight)
        for (size_t j = 0; j < p * p; j++)
            fit->covariance[j] *= fit->residual_sd * fit->residual_sd;

cleanup:
    free(room);
    if (status < 0) cw_least_squares_free(fit);
    return status;
}

void cw_least_squares_free(struct cw_least_squares *fit) {
    free(fit->coefficient);
    free(fit->covariance);
    *fit = (struct cw_least_squares){0};
}
