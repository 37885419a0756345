/* What a mixture of normal distributions says: quantiles, and the t that is most like it. */
#include <math.h>
#include <stdlib.h>

#include "stats/components.h"
#include "stats/root.h"
#include "stats/student.h"

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

struct level {
    const struct mixture *mixture;
    double level;
};

static double above_level(double x, void *state) {
    const struct level *level = state;
    return below(level->mixture, x) - level->level;
}

static double quantile(const struct mixture *m, double at) {
    struct level level = {m, at};
    double low = INFINITY, high = -INFINITY;
    for (size_t i = 0; i < m->n; i++) {
        low = fmin(low, m->mean[i] - 9 * m->sd[i]);
        high = fmax(high, m->mean[i] + 9 * m->sd[i]);
    }
    return cw_root(above_level, &level, low, high, 1e-12);
}

static double above_ratio(double log_df, void *ratio) {
    double df = exp(log_df);
    return cw_t_quantile(0.975, df) / cw_t_quantile(0.75, df) - *(double *)ratio;
}

/* The degrees of freedom, 1 to 1e6, whose 97.5 % quantile is so many times the 75 % one: 12.7 at
 * 1, 2.9 for a normal distribution, falling in between. */
static double df_of_ratio(double ratio) {
    double low = 0, high = log(1e6);
    if (!(above_ratio(low, &ratio) > 0)) return 1;
    if (!(above_ratio(high, &ratio) < 0)) return 1e6;
    return exp(cw_root(above_ratio, &ratio, low, high, 1e-12));
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
