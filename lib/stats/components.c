#include "stats/components.h"

#include <math.h>
#include <stdbool.h>
#include <stdlib.h>
#include <string.h>

#include "stats/student.h"
#include "stats/symmetric.h"

/* Points of a theta: 0, then a geometric series from some part of what the data scatter by, or of
 * the prior, to beyond both. */
enum { SCATTER_POINTS = 12, STATED_POINTS = 7, POINTS_MOST = SCATTER_POINTS };
/* Of the scatters' prior. */
static const double scatter_df = 0.5;

struct grid {
    size_t n;
    double theta[POINTS_MOST], log_prior[POINTS_MOST]; /* the prior with the point's share */
};

/* Puts L of a = L L' into a; *log_det: of a. */
static bool factor(double *a, size_t n, double *log_det) {
    *log_det = 0;
    if (!cw_cholesky_factor(n, a)) return false;
    for (size_t i = 0; i < n; i++) *log_det += 2 * log(a[i * n + i]);
    return true;
}

/* ---- the grid ---- */

/* Half of the way to either neighbour, as the trapezoidal rule weighs a point. */
static double share(const double *x, size_t n, size_t i) {
    double left = i > 0 ? x[i] - x[i - 1] : 0, right = i + 1 < n ? x[i + 1] - x[i] : 0;
    return 0.5 * (left + right);
}

static void scatter_grid(double usual, double spread, struct grid *grid) {
    double low = 0.2 * fmin(usual, fmax(spread, 1e-3 * usual)),
           high = fmax(40 * usual, 12 * spread);
    grid->n = SCATTER_POINTS;
    grid->theta[0] = 0;
    for (size_t i = 1; i < grid->n; i++)
        grid->theta[i] = low * pow(high / low, (double)(i - 1) / (double)(grid->n - 2));
    for (size_t i = 0; i < grid->n; i++) grid->log_prior[i] = log(share(grid->theta, grid->n, i));
}

/* The joint prior of the scatters at a point, but for the points' shares. */
static double scatter_prior(const struct cw_components_data *data, const double *theta) {
    double squares = 0, n = 0;
    for (size_t k = 0; k < data->n_components; k++) {
        if (data->component[k].prior != CW_COMPONENT_SCATTER) continue;
        squares += pow(theta[k] / data->component[k].parameter, 2);
        n += 1;
    }
    return n > 0 ? -0.5 * (scatter_df + n) * log1p(squares) : 0;
}

static void stated_grid(double df, struct grid *grid) {
    /* Of theta^2, whose logarithm has an sd of about sqrt(2 / df): from -2.2 to 3.8 of those, for
     * it leans that way. */
    double step = sqrt(2 / fmax(df, 2)), u[STATED_POINTS];
    grid->n = STATED_POINTS;
    for (size_t i = 0; i < grid->n; i++) u[i] = ((double)i - 2.2) * step;
    for (size_t i = 0; i < grid->n; i++) {
        double square = exp(u[i]);
        grid->theta[i] = sqrt(square);
        grid->log_prior[i] = log(share(u, grid->n, i)) - 0.5 * df * (u[i] + 1 / square);
    }
}

/* Root mean square of what ordinary least squares leaves, as a measure of the data's scatter. */
static double spread_of(const struct cw_components_data *d, double *scratch) {
    size_t n = d->n, p = d->p;
    double *a = scratch, *b = scratch + p * p, log_det, sum = 0;
    memset(a, 0, p * p * sizeof *a);
    memset(b, 0, p * sizeof *b);
    for (size_t i = 0; i < n; i++)
        for (size_t k = 0; k < p; k++) {
            b[k] += d->design[i * p + k] * d->value[i];
            for (size_t l = 0; l < p; l++)
                a[k * p + l] += d->design[i * p + k] * d->design[i * p + l];
        }
    if (n <= p || !factor(a, p, &log_det)) return 0;
    cw_cholesky_whiten(p, a, 1, b);
    for (size_t i = 0; i < n; i++) sum += d->value[i] * d->value[i];
    for (size_t k = 0; k < p; k++) sum -= b[k] * b[k];
    return sqrt(fmax(sum, 0) / (double)(n - p));
}

/* The largest of M's diagonal: what a unit of theta does to a value. */
static double size_of(const double *matrix, size_t n) {
    double most = 0;
    for (size_t i = 0; i < n; i++) most = fmax(most, matrix[i * n + i]);
    return sqrt(most);
}

/* ---- a point ---- */

struct work {
    double *v;       /* n x n */
    double *columns; /* n x (p + 1): the design and the values, whitened */
    double *a;       /* p x p */
    double *inverse; /* p x p */
};

/* Least squares under the covariance of one point: coefficients, their covariance, and the
 * logarithm of the restricted likelihood. */
static enum cw_status solve_point(const struct cw_components_data *d, const double *theta,
                                  struct work *w, double *coefficient, double *covariance,
                                  double *log_likelihood) {
    size_t n = d->n, p = d->p, m = p + 1;
    double log_det, log_det_a, quadratic = 0;
    for (size_t i = 0; i < n * n; i++) w->v[i] = d->fixed ? d->fixed[i] : 0;
    for (size_t k = 0; k < d->n_components; k++) {
        double square = theta[k] * theta[k];
        if (square == 0) continue;
        for (size_t i = 0; i < n * n; i++) w->v[i] += square * d->component[k].matrix[i];
    }
    if (!factor(w->v, n, &log_det)) return CW_E_NUMERIC;
    for (size_t i = 0; i < n; i++) {
        memcpy(w->columns + i * m, d->design + i * p, p * sizeof *w->columns);
        w->columns[i * m + p] = d->value[i];
    }
    cw_cholesky_whiten(n, w->v, m, w->columns);
    memset(w->a, 0, p * p * sizeof *w->a);
    memset(coefficient, 0, p * sizeof *coefficient);
    for (size_t i = 0; i < n; i++) {
        const double *row = w->columns + i * m;
        for (size_t k = 0; k < p; k++) {
            coefficient[k] += row[k] * row[p];
            for (size_t l = 0; l < p; l++) w->a[k * p + l] += row[k] * row[l];
        }
        quadratic += row[p] * row[p];
    }
    if (!factor(w->a, p, &log_det_a)) return CW_NOT_IDENTIFIABLE;
    /* b = A^-1 X'V^-1 y by its factor: u = L^-1 c, b = L'^-1 u */
    cw_cholesky_whiten(p, w->a, 1, coefficient);
    for (size_t k = 0; k < p; k++) quadratic -= coefficient[k] * coefficient[k];
    memset(w->inverse, 0, p * p * sizeof *w->inverse);
    for (size_t k = 0; k < p; k++) w->inverse[k * p + k] = 1;
    cw_cholesky_whiten(p, w->a, p, w->inverse); /* L^-1 */
    for (size_t k = 0; k < p; k++)
        for (size_t l = 0; l < p; l++) {
            double sum = 0;
            for (size_t i = 0; i < p; i++) sum += w->inverse[i * p + k] * w->inverse[i * p + l];
            covariance[k * p + l] = sum;
        }
    for (size_t k = p; k-- > 0;) {
        for (size_t i = k + 1; i < p; i++) coefficient[k] -= w->a[i * p + k] * coefficient[i];
        coefficient[k] /= w->a[k * p + k];
    }
    *log_likelihood = -0.5 * (log_det + log_det_a + quadratic);
    return isfinite(*log_likelihood) ? CW_OK : CW_E_NUMERIC;
}

/* Of component k: quantiles by the points' weights, straight between the grid's values. */
static void summarise(struct cw_components *fit, size_t k, const struct grid *grid) {
    double mass[POINTS_MOST] = {0}, square = 0,
           *at[3] = {&fit->of[k].low, &fit->of[k].median, &fit->of[k].high};
    static const double level[3] = {0.025, 0.5, 0.975};
    for (size_t i = 0; i < fit->n_points; i++) {
        double theta = fit->theta[i * fit->n_components + k];
        size_t g = 0;
        while (g + 1 < grid->n && grid->theta[g] < theta) g++;
        mass[g] += fit->weight[i];
        square += fit->weight[i] * theta * theta;
    }
    fit->of[k].mean_square = square;
    for (int q = 0; q < 3; q++) {
        double sum = 0;
        size_t g = 0;
        while (g + 1 < grid->n && sum + mass[g] < level[q]) sum += mass[g++];
        /* A point stands for half the way to its neighbours. */
        double from = g > 0 ? 0.5 * (grid->theta[g - 1] + grid->theta[g]) : grid->theta[0];
        double to = g + 1 < grid->n ? 0.5 * (grid->theta[g] + grid->theta[g + 1]) : grid->theta[g];
        double part = mass[g] > 0 ? fmin(fmax((level[q] - sum) / mass[g], 0), 1) : 0;
        *at[q] = from + part * (to - from);
    }
}

/* Points that nothing will be seen of only cost time. */
static void keep_likely(struct cw_components *fit) {
    size_t p = fit->p, nc = fit->n_components, kept = 0;
    double total = 0;
    for (size_t i = 0; i < fit->n_points; i++) {
        if (fit->weight[i] < 1e-7) continue;
        total += fit->weight[i];
        fit->weight[kept] = fit->weight[i];
        memmove(fit->theta + kept * nc, fit->theta + i * nc, nc * sizeof *fit->theta);
        memmove(fit->coefficient + kept * p, fit->coefficient + i * p,
                p * sizeof *fit->coefficient);
        memmove(fit->covariance + kept * p * p, fit->covariance + i * p * p,
                p * p * sizeof *fit->covariance);
        kept++;
    }
    fit->n_points = kept;
    for (size_t i = 0; i < kept; i++) fit->weight[i] /= total;
}

enum cw_status cw_components_fit(const struct cw_components_data *data, struct cw_components *fit,
                                 struct cw_error *error) {
    size_t n = data->n, p = data->p, nc = data->n_components, points = 1;
    struct grid grid[CW_COMPONENTS_MOST];
    struct work work = {0};
    enum cw_status status = CW_OK;
    *fit = (struct cw_components){.p = p, .n_components = nc};
    if (!p || n < p || nc > CW_COMPONENTS_MOST)
        return cw_error_set(error, CW_E_ARGUMENT, NULL, 0,
                            "components: %zu values for %zu unknowns", n, p);
    double *block = malloc((n * n + n * (p + 1) + 2 * p * p + p) * sizeof *block);
    if (!block) return cw_error_memory(error);
    work = (struct work){block, block + n * n, block + n * n + n * (p + 1),
                         block + n * n + n * (p + 1) + p * p};
    double spread = spread_of(data, work.v);
    for (size_t k = 0; k < nc; k++) {
        const struct cw_component *c = &data->component[k];
        double unit = size_of(c->matrix, n);
        if (c->prior == CW_COMPONENT_STATED)
            stated_grid(c->parameter, &grid[k]);
        else
            scatter_grid(c->parameter, unit > 0 ? spread / unit : 0, &grid[k]);
        points *= grid[k].n;
    }
    fit->weight = calloc(points, sizeof *fit->weight);
    fit->theta = calloc(points * (nc ? nc : 1), sizeof *fit->theta);
    fit->coefficient = calloc(points * p, sizeof *fit->coefficient);
    fit->covariance = calloc(points * p * p, sizeof *fit->covariance);
    if (!fit->weight || !fit->theta || !fit->coefficient || !fit->covariance) {
        status = cw_error_memory(error);
        goto cleanup;
    }
    double most = -INFINITY;
    for (size_t at = 0; at < points; at++) {
        double *theta = fit->theta + fit->n_points * nc, log_prior = 0, log_likelihood = 0;
        for (size_t k = 0, rest = at; k < nc; k++) {
            size_t g = rest % grid[k].n;
            rest /= grid[k].n;
            theta[k] = grid[k].theta[g];
            log_prior += grid[k].log_prior[g];
        }
        log_prior += scatter_prior(data, theta);
        enum cw_status solved =
            solve_point(data, theta, &work, fit->coefficient + fit->n_points * p,
                        fit->covariance + fit->n_points * p * p, &log_likelihood);
        if (solved == CW_NOT_IDENTIFIABLE) {
            status = solved;
            goto cleanup;
        }
        if (solved < 0) continue; /* no covariance there: nothing stands behind a scatter of 0 */
        fit->weight[fit->n_points] = log_prior + log_likelihood;
        most = fmax(most, fit->weight[fit->n_points]);
        fit->n_points++;
    }
    if (!fit->n_points || !isfinite(most)) {
        status =
            cw_error_set(error, CW_E_NUMERIC, NULL, 0, "the runs' scatter cannot be solved for");
        goto cleanup;
    }
    double total = 0;
    for (size_t i = 0; i < fit->n_points; i++) {
        fit->weight[i] = exp(fit->weight[i] - most);
        total += fit->weight[i];
    }
    for (size_t i = 0; i < fit->n_points; i++) fit->weight[i] /= total;
    for (size_t k = 0; k < nc; k++) summarise(fit, k, &grid[k]);
    keep_likely(fit);
cleanup:
    free(block);
    if (status != CW_OK) cw_components_free(fit);
    return status;
}

void cw_components_free(struct cw_components *fit) {
    free(fit->weight);
    free(fit->theta);
    free(fit->coefficient);
    free(fit->covariance);
    *fit = (struct cw_components){0};
}

/* ---- the mixture ---- */

struct mixture {
    size_t n;
    const double *weight;
    double *mean, *sd;
};

/* The part below x. */
static double below(const struct mixture *m, double x) {
    double sum = 0;
    for (size_t i = 0; i < m->n; i++)
        sum += m->weight[i] * 0.5 * erfc((m->mean[i] - x) / m->sd[i] / sqrt(2));
    return sum;
}

static double quantile(const struct mixture *m, double level) {
    double low = INFINITY, high = -INFINITY;
    for (size_t i = 0; i < m->n; i++) {
        low = fmin(low, m->mean[i] - 9 * m->sd[i]);
        high = fmax(high, m->mean[i] + 9 * m->sd[i]);
    }
    for (int k = 0; k < 200 && high - low > 1e-11 * fmax(fabs(low), fabs(high)); k++) {
        double middle = 0.5 * (low + high);
        if (below(m, middle) < level)
            low = middle;
        else
            high = middle;
    }
    return 0.5 * (low + high);
}

/* The degrees of freedom whose 97.5 % quantile is so many times the 75 % one: 12.7 at 1, 2.9 for a
 * normal distribution, falling in between. */
static double df_of_ratio(double ratio) {
    double low = 0, high = log(1e6);
    for (int k = 0; k < 60; k++) {
        double middle = 0.5 * (low + high), df = exp(middle);
        if (cw_t_quantile(0.975, df) / cw_t_quantile(0.75, df) > ratio)
            low = middle;
        else
            high = middle;
    }
    return exp(0.5 * (low + high));
}

enum cw_status cw_components_contrast(const struct cw_components *fit, const double *contrast,
                                      struct cw_estimate *estimate, double *df, double *p_value,
                                      struct cw_error *error) {
    size_t n = fit->n_points, p = fit->p;
    struct mixture m = {.n = n, .weight = fit->weight, .mean = malloc(2 * n * sizeof *m.mean)};
    if (!m.mean) return cw_error_memory(error);
    m.sd = m.mean + n;
    double value = 0;
    for (size_t i = 0; i < n; i++) {
        double variance = 0;
        m.mean[i] = 0;
        for (size_t k = 0; k < p; k++) {
            m.mean[i] += contrast[k] * fit->coefficient[i * p + k];
            for (size_t l = 0; l < p; l++)
                variance += contrast[k] * fit->covariance[(i * p + k) * p + l] * contrast[l];
        }
        m.sd[i] = sqrt(fmax(variance, 1e-300));
        value += m.weight[i] * m.mean[i];
    }
    double low = quantile(&m, 0.025), high = quantile(&m, 0.975);
    double middle = quantile(&m, 0.75) - quantile(&m, 0.25);
    double own_df = df_of_ratio((high - low) / middle);
    *estimate = (struct cw_estimate){value, 0.5 * (high - low) / cw_t_quantile(0.975, own_df), low,
                                     high, 0};
    if (df) *df = own_df;
    if (p_value) {
        double under = below(&m, 0);
        *p_value = fmin(1, 2 * fmin(under, 1 - under));
    }
    free(m.mean);
    return CW_OK;
}

enum cw_status cw_components_widen(const struct cw_components *fit, size_t k, double unit,
                                   struct cw_estimate *estimate, struct cw_error *error) {
    size_t n = fit->n_points;
    struct mixture m = {.n = n, .weight = fit->weight, .mean = malloc(2 * n * sizeof *m.mean)};
    if (!m.mean) return cw_error_memory(error);
    m.sd = m.mean + n;
    double own = 0.5 * (estimate->high - estimate->low) / cw_t_quantile(0.975, INFINITY);
    for (size_t i = 0; i < n; i++) {
        m.mean[i] = estimate->value;
        m.sd[i] = fmax(hypot(own, unit * fit->theta[i * fit->n_components + k]), 1e-150);
    }
    double high = quantile(&m, 0.975), middle = quantile(&m, 0.75) - quantile(&m, 0.25);
    double half = high - estimate->value, df = df_of_ratio(2 * half / middle);
    estimate->standard_error = half / cw_t_quantile(0.975, df);
    estimate->low = estimate->value - half;
    estimate->high = high;
    free(m.mean);
    return CW_OK;
}
