#include "stats/random_effects.h"

#include <float.h>
#include <math.h>
#include <stdbool.h>
#include <stdlib.h>
#include <string.h>

#include "stats/chi_square.h"
#include "stats/least_squares.h"
#include "stats/symmetric.h"
#include "stats/tests.h"

/* z_i^2 and l_i of the header. */
struct contrasts {
    size_t count; /* n - p */
    double *square;
    double *eigenvalue; /* above 0 */
};

/* --- the between-unit variance ------------------------------------------------------------- */

static double q_at(const struct contrasts *z, double tau2) {
    double sum = 0;
    for (size_t i = 0; i < z->count; i++) sum += z->square[i] / (z->eigenvalue[i] + tau2);
    return sum;
}

static double precision_sum(const struct contrasts *z) {
    double sum = 0;
    for (size_t i = 0; i < z->count; i++) sum += 1 / z->eigenvalue[i];
    return sum;
}

/* Minus twice the restricted log-likelihood, but for a constant. */
static double reml_deviance(const struct contrasts *z, double tau2) {
    double sum = q_at(z, tau2);
    for (size_t i = 0; i < z->count; i++) sum += log(z->eigenvalue[i] + tau2);
    return sum;
}

/* Slope of the restricted log-likelihood, times two. */
static double reml_slope(const struct contrasts *z, double tau2) {
    double sum = 0;
    for (size_t i = 0; i < z->count; i++) {
        double variance = z->eigenvalue[i] + tau2;
        sum += (z->square[i] / variance - 1) / variance;
    }
    return sum;
}

/* The likelihood can have more than one top, so the range is searched before the best is refined.
 * Above the largest z^2 - l every term of the slope is negative: the top lies below. */
static double tau2_reml(const struct contrasts *z) {
    double limit = 0, smallest = INFINITY;
    for (size_t i = 0; i < z->count; i++) {
        limit = fmax(limit, z->square[i] - z->eigenvalue[i]);
        smallest = fmin(smallest, z->eigenvalue[i]);
    }
    if (limit == 0) return 0;

    enum { STEPS = 400 };
    double first = fmin(1e-4 * smallest, 1e-3 * limit);
    double ratio = pow(limit / first, 1.0 / STEPS);
    double best = 0, least = reml_deviance(z, 0), low = 0, high = first;
    for (int k = 0; k <= STEPS; k++) {
        double tau2 = first * pow(ratio, k), deviance = reml_deviance(z, tau2);
        if (deviance < least) {
            best = tau2;
            least = deviance;
            low = k > 0 ? tau2 / ratio : 0;
            high = tau2 * ratio;
        }
    }
    if (best == 0 && reml_slope(z, 0) <= 0) return 0;
    while (high - low > 4 * DBL_EPSILON * high) {
        double middle = (low + high) / 2;
        if (middle <= low || middle >= high) break;
        if (reml_slope(z, middle) > 0)
            low = middle;
        else
            high = middle;
    }
    return (low + high) / 2;
}

static double tau2_dersimonian_laird(const struct contrasts *z) {
    return fmax(0, (q_at(z, 0) - (double)z->count) / precision_sum(z));
}

/* The tau2 at which Q, which falls as tau2 grows, is down to target; 0 if it starts below. */
static double tau2_where_q_is(const struct contrasts *z, double target) {
    if (q_at(z, 0) <= target) return 0;
    double low = 0, high = 0;
    for (size_t i = 0; i < z->count; i++) high += z->square[i] / target;
    while (high - low > 4 * DBL_EPSILON * high) {
        double middle = (low + high) / 2;
        if (middle <= low || middle >= high) break;
        if (q_at(z, middle) > target)
            low = middle;
        else
            high = middle;
    }
    return (low + high) / 2;
}

static void describe_scatter(const struct contrasts *z, enum cw_between between,
                             struct cw_random_effects *fit) {
    double df = (double)z->count;
    if (between == CW_BETWEEN_REML) fit->tau2 = tau2_reml(z);
    if (between == CW_BETWEEN_DERSIMONIAN_LAIRD) fit->tau2 = tau2_dersimonian_laird(z);
    fit->tau2_low = tau2_where_q_is(z, cw_chi_square_quantile(0.975, df));
    fit->tau2_high = tau2_where_q_is(z, cw_chi_square_quantile(0.025, df));
    fit->q = q_at(z, 0);
    fit->q_p_value = cw_chi_square_above(fit->q, df);
    fit->i2 = fit->tau2 / (fit->tau2 + df / precision_sum(z));
}

/* --- the linear algebra -------------------------------------------------------------------- */

static enum cw_status check_data(const struct cw_effects_data *data, enum cw_between between,
                                 struct cw_error *error) {
    size_t n = data->n, p = data->p;
    if (p == 0) return cw_error_set(error, CW_E_ARGUMENT, NULL, 0, "no unknowns to estimate");
    if (between == CW_BETWEEN_NONE ? n < p : n <= p)
        return cw_error_set(error, CW_E_DATA, NULL, 0,
                            "%zu values for %zu unknowns leave nothing to judge the scatter by", n,
                            p);
    for (size_t i = 0; i < n * p; i++)
        if (!isfinite(data->design[i]))
            return cw_error_set(error, CW_E_ARGUMENT, NULL, 0, "the design of value %zu has a gap",
                                i / p + 1);
    for (size_t i = 0; i < n; i++) {
        if (!isfinite(data->value[i]))
            return cw_error_set(error, CW_E_ARGUMENT, NULL, 0, "value %zu is not a number", i + 1);
        double variance = data->covariance ? data->covariance[i * n + i] : data->variance[i];
        if (!(variance > 0 && isfinite(variance)))
            return cw_error_set(error, CW_E_ARGUMENT, NULL, 0,
                                "the variance of value %zu is not above 0", i + 1);
    }
    for (size_t i = 0; data->covariance && i < n; i++)
        for (size_t j = 0; j < i; j++) {
            double a = data->covariance[i * n + j], b = data->covariance[j * n + i];
            double size = sqrt(data->covariance[i * n + i] * data->covariance[j * n + j]);
            if (!(fabs(a - b) <= 1e-9 * size))
                return cw_error_set(error, CW_E_ARGUMENT, NULL, 0,
                                    "the covariance of values %zu and %zu is not symmetric", j + 1,
                                    i + 1);
        }
    return CW_OK;
}

/* V = S + tau2 I. */
static void set_covariance(const struct cw_effects_data *data, double tau2, double *v) {
    size_t n = data->n;
    for (size_t i = 0; i < n; i++)
        for (size_t j = 0; j < n; j++) {
            double s =
                data->covariance ? data->covariance[i * n + j] : (i == j ? data->variance[i] : 0);
            v[i * n + j] = i == j ? s + tau2 : s;
        }
}

/* Generalised least squares as ordinary least squares of what the Cholesky factor of V whitens. */
static enum cw_status whiten_and_fit(const struct cw_effects_data *data, double tau2,
                                     struct cw_least_squares *gls, struct cw_error *error) {
    size_t n = data->n, p = data->p;
    enum cw_status status = CW_OK;
    double *v = malloc(n * n * sizeof *v);
    double *design = malloc(n * p * sizeof *design);
    double *value = malloc(n * sizeof *value);
    double *weight = malloc(n * sizeof *weight);
    if (!v || !design || !value || !weight) {
        status = cw_error_memory(error);
        goto cleanup;
    }
    memcpy(design, data->design, n * p * sizeof *design);
    memcpy(value, data->value, n * sizeof *value);
    for (size_t i = 0; i < n; i++) weight[i] = 1;
    set_covariance(data, tau2, v);
    if (!cw_cholesky_factor(n, v)) {
        status = cw_error_set(error, CW_E_ARGUMENT, NULL, 0,
                              "the covariance of the values is not positive definite");
        goto cleanup;
    }
    cw_cholesky_whiten(n, v, p, design);
    cw_cholesky_whiten(n, v, 1, value);
    status = cw_least_squares_fit(n, p, design, value, weight, gls, error);

cleanup:
    free(v);
    free(design);
    free(value);
    free(weight);
    return status;
}

/* The mirror I - v v' / half that sends column (m numbers) onto its first axis; v takes the place
 * of column. False where there is nothing to send. */
static bool make_mirror(size_t m, double *column, double *half) {
    double size = 0, square = 0;
    for (size_t i = 0; i < m; i++) size = fmax(size, fabs(column[i]));
    if (size == 0) return false;
    for (size_t i = 0; i < m; i++) {
        column[i] /= size;
        square += column[i] * column[i];
    }
    double length = sqrt(square);
    *half = length * (length + fabs(column[0]));
    column[0] += copysign(length, column[0]);
    return true;
}

/* Mirrors the m numbers of x that stand `apart` from each other. */
static void mirror(size_t m, const double *v, double half, double *x, size_t apart) {
    double along = 0;
    for (size_t i = 0; i < m; i++) along += v[i] * x[i * apart];
    for (size_t i = 0; i < m; i++) x[i * apart] -= along / half * v[i];
}

/* Mirrors that make X upper triangular turn y and S with it: beyond the first p axes, which X
 * reaches, lie the contrasts. */
static enum cw_status find_contrasts(const struct cw_effects_data *data, struct contrasts *z,
                                     struct cw_error *error) {
    size_t n = data->n, p = data->p, m = n - p;
    enum cw_status status = CW_OK;
    double *x = malloc(n * p * sizeof *x), *y = malloc(n * sizeof *y), *v = malloc(n * sizeof *v);
    double *s = malloc(n * n * sizeof *s), *axes = malloc(m * m * sizeof *axes);
    z->square = calloc(m, sizeof *z->square);
    z->eigenvalue = calloc(m, sizeof *z->eigenvalue);
    if (!x || !y || !v || !s || !axes || !z->square || !z->eigenvalue) {
        status = cw_error_memory(error);
        goto cleanup;
    }
    z->count = m;
    memcpy(x, data->design, n * p * sizeof *x);
    memcpy(y, data->value, n * sizeof *y);
    set_covariance(data, 0, s);
    for (size_t k = 0; k < p; k++) {
        double half;
        for (size_t i = k; i < n; i++) v[i] = x[i * p + k];
        if (!make_mirror(n - k, v + k, &half)) continue;
        for (size_t j = k; j < p; j++) mirror(n - k, v + k, half, x + k * p + j, p);
        mirror(n - k, v + k, half, y + k, 1);
        for (size_t i = 0; i < n; i++) mirror(n - k, v + k, half, s + i * n + k, 1);
        for (size_t j = 0; j < n; j++) mirror(n - k, v + k, half, s + k * n + j, n);
    }
    for (size_t i = 0; i < m; i++) memmove(s + i * m, s + (p + i) * n + p, m * sizeof *s);
    status = cw_symmetric_axes(m, s, z->eigenvalue, axes, error);
    if (status < 0) goto cleanup;

    /* Eigenvalues are found to within rounding of the largest: smaller ones are nothing else. */
    double floor = 0;
    for (size_t i = 0; i < m; i++) floor = fmax(floor, (double)n * DBL_EPSILON * z->eigenvalue[i]);
    for (size_t i = 0; i < m; i++) {
        double turned = 0;
        for (size_t j = 0; j < m; j++) turned += axes[j * m + i] * y[p + j];
        z->square[i] = turned * turned;
        if (!isfinite(z->square[i]) || !(z->eigenvalue[i] > floor)) {
            status = cw_error_set(error, CW_E_NUMERIC, NULL, 0,
                                  "the values or their errors differ too widely in size");
            goto cleanup;
        }
    }

cleanup:
    free(x);
    free(y);
    free(v);
    free(s);
    free(axes);
    return status;
}

/* Whether what X leaves over is more than the rounding of the values. */
static bool values_scatter(const struct cw_effects_data *data, const struct contrasts *z) {
    double scatter = 0, size = 0;
    for (size_t i = 0; i < z->count; i++) scatter += z->square[i];
    for (size_t i = 0; i < data->n; i++) size += data->value[i] * data->value[i];
    return sqrt(scatter) > 10 * DBL_EPSILON * sqrt(size);
}

/* --- the fit ------------------------------------------------------------------------------- */

enum cw_status cw_random_effects_fit(const struct cw_effects_data *data, enum cw_between between,
                                     struct cw_random_effects *fit, struct cw_error *error) {
    *fit = (struct cw_random_effects){.n = data->n, .p = data->p};
    struct contrasts z = {0};
    struct cw_least_squares gls = {0};
    enum cw_status status = check_data(data, between, error);
    if (status != CW_OK) goto cleanup;

    /* With tau2 = 0 first: that says whether S and X are sound before K is made from them. */
    status = whiten_and_fit(data, 0, &gls, error);
    if (status == CW_OK && data->n > data->p) {
        status = find_contrasts(data, &z, error);
        if (status == CW_OK && between != CW_BETWEEN_NONE && !values_scatter(data, &z))
            status = cw_error_set(error, CW_E_DATA, NULL, 0,
                                  "the values do not scatter, so nothing says how sure they are");
        if (status != CW_OK) goto cleanup;
        describe_scatter(&z, between, fit);
        if (fit->tau2 > 0) {
            cw_least_squares_free(&gls);
            status = whiten_and_fit(data, fit->tau2, &gls, error);
        }
    } else {
        fit->tau2_low = fit->tau2_high = fit->q = fit->q_p_value = fit->i2 = NAN;
    }
    if (status < 0) goto cleanup;
    if (status == CW_NOT_IDENTIFIABLE) fit->tau2 = NAN;

    fit->coefficient = gls.coefficient;
    fit->covariance = gls.covariance;
    fit->condition = gls.condition;
    gls.coefficient = gls.covariance = NULL;
    fit->df = between == CW_BETWEEN_NONE ? INFINITY : gls.df;
    fit->scale = between == CW_BETWEEN_NONE ? 1 : gls.chi_square / gls.df;

cleanup:
    cw_least_squares_free(&gls);
    free(z.square);
    free(z.eigenvalue);
    if (status < 0) cw_random_effects_free(fit);
    return status;
}

void cw_random_effects_free(struct cw_random_effects *fit) {
    free(fit->coefficient);
    free(fit->covariance);
    *fit = (struct cw_random_effects){0};
}

void cw_random_effects_contrast(const struct cw_random_effects *fit, const double *weight,
                                struct cw_contrast *contrast) {
    double value = 0, variance = 0;
    for (size_t i = 0; i < fit->p; i++) {
        value += weight[i] * fit->coefficient[i];
        for (size_t j = 0; j < fit->p; j++)
            variance += weight[i] * fit->covariance[i * fit->p + j] * weight[j];
    }
    double standard_error = sqrt(fit->scale * variance);
    double quantile = cw_t_quantile(0.975, fit->df);
    contrast->estimate = cw_estimate_make(value, standard_error, quantile);
    contrast->df = fit->df;
    contrast->t = value / standard_error;
    contrast->p_value = cw_t_p_value(contrast->t, fit->df);
    double reach = quantile * sqrt(standard_error * standard_error + fit->tau2);
    contrast->predicted_low = value - reach;
    contrast->predicted_high = value + reach;
}
