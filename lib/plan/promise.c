#include "plan/promise.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "compare/rolling.h"
#include "compare/run_model.h"
#include "compare/run_table.h"
#include "fit/workings.h"
#include "simulate/random.h"
#include "stats/root.h"
#include "stats/student.h"
#include "stats/symmetric.h"

enum { SEED = 1, STREAM_SCATTER = 901 };

/* ---- the table ---- */

struct scatter {
    size_t n, p;
    double *factor;  /* n x n: L of their covariance L L' */
    double *design;  /* n x p: L^-1 X */
    double *inverse; /* p x p: (X' V^-1 X)^-1 */
    double *value;   /* n */
    double *along;   /* p */
};

/* Runs that are put into the comparison's table and model, over and over. */
struct scattering {
    const struct cw_fit *fit;
    struct cw_compare compare;
    struct cw_table_of_runs table;
    struct cw_run_model model;
    struct cw_random random;
    struct scatter scatter;
};

/* All setups are told; each has a drag of its own, or all have one. */
static enum cw_status name_setups(const struct cw_fit *fit, size_t n_setups, bool one_drag,
                                  struct cw_compare *compare, struct cw_error *error) {
    *compare = (struct cw_compare){.n_setups = n_setups, .n_told = n_setups};
    compare->setups = calloc(n_setups, sizeof *compare->setups);
    if (!compare->setups) return cw_error_memory(error);
    for (size_t s = 0; s < n_setups; s++) {
        compare->setups[s].name = fit->of.outing->setups[s].name;
        compare->setups[s].rider = "";
        compare->setups[s].drag = one_drag ? 0 : s;
    }
    return CW_OK;
}

void cw_plan_noise_of_difference(const struct cw_fit *fit, double *sd, double *of_run) {
    size_t n = fit->n_runs, nt = fit->n_tyres, m = fit->workings->information.n;
    const double *covariance = fit->workings->covariance, *cda_m2 = fit->workings->value + nt;
    double runs[2] = {0, 0}, sum_m2[2] = {0, 0}, variance = 0;
    for (size_t i = 0; i < n; i++) {
        if (fit->runs[i].setup > 1) continue;
        runs[fit->runs[i].setup]++;
        sum_m2[fit->runs[i].setup] += cda_m2[i];
    }
    for (size_t i = 0; i < n; i++)
        for (size_t j = 0; j < n; j++) {
            size_t a = fit->runs[i].setup, b = fit->runs[j].setup;
            if (a > 1 || b > 1) continue;
            variance +=
                (a == b ? 1 : -1) * covariance[(nt + i) * m + nt + j] / (sum_m2[a] * sum_m2[b]);
        }
    *sd = sqrt(variance);
    *of_run = sqrt(variance / (1 / runs[0] + 1 / runs[1]));
}

enum cw_status cw_plan_answer(const struct cw_fit *fit, double answer[CW_REML_MOST],
                              struct cw_error *error) {
    double *contrast = calloc(fit->workings->information.n, sizeof *contrast);
    if (!contrast) return cw_error_memory(error);
    for (size_t i = 0; i < fit->n_runs; i++)
        if (fit->runs[i].setup < 2) contrast[fit->n_tyres + i] = fit->runs[i].setup ? 1 : -1;
    cw_fit_answer(fit, contrast, answer);
    free(contrast);
    return CW_OK;
}

/* ---- runs that scatter ---- */

static enum cw_status scatter_alloc(size_t n, size_t p, struct scatter *s, struct cw_error *error) {
    *s = (struct scatter){.n = n, .p = p};
    s->factor = calloc(n * n + n * p + p * p + n + p, sizeof *s->factor);
    if (!s->factor) return cw_error_memory(error);
    s->design = s->factor + n * n;
    s->inverse = s->design + n * p;
    s->value = s->inverse + p * p;
    s->along = s->value + n;
    return CW_OK;
}

/* Lays the covariance out for a truth; *sd: of the difference of the first two coefficients, NaN
 * where there is one. */
static bool lay(const struct cw_run_model *model, const struct cw_table_of_runs *table,
                const struct cw_plan_truth *truth, struct scatter *s, double *sd) {
    const struct cw_between *between = &model->between;
    size_t n = s->n, p = s->p;
    for (size_t i = 0; i < n * n; i++)
        s->factor[i] = truth->noise * truth->noise * table->noise[i] +
                       truth->own * truth->own * between->own[i] +
                       truth->wind_ms * truth->wind_ms * between->wind[i] + model->data.fixed[i];
    for (size_t i = 0; i < n; i++)
        s->factor[i * n + i] += pow(between->by[i] * truth->own_wind_ms, 2);
    if (!cw_cholesky_factor(n, s->factor)) return false;
    memcpy(s->design, model->design, n * p * sizeof *s->design);
    cw_cholesky_whiten(n, s->factor, p, s->design);
    memset(s->inverse, 0, p * p * sizeof *s->inverse);
    for (size_t i = 0; i < n; i++)
        for (size_t k = 0; k < p; k++)
            for (size_t l = 0; l < p; l++)
                s->inverse[k * p + l] += s->design[i * p + k] * s->design[i * p + l];
    if (!cw_cholesky_inverse(p, s->inverse)) return false;
    *sd = p > 1 ? sqrt(s->inverse[0] + s->inverse[p + 1] - 2 * s->inverse[1]) : NAN;
    return true;
}

/* That part of chi-square with so many degrees of freedom below which a share of it lies (Wilson &
 * Hilferty 1931, Proc. Natl. Acad. Sci. 17:684; from memory). */
static double chi_square(double share, double df) {
    double a = 2 / (9 * df), root = 1 - a + cw_t_quantile(share, INFINITY) * sqrt(a);
    return df * pow(fmax(root, 0), 3);
}

/* Puts into value what runs scatter by about their setups' means, in a drawn direction, and in all
 * by as much as the share of chance has it. */
static void draw(struct scatter *s, double share, struct cw_random *random) {
    size_t n = s->n, p = s->p;
    double square = 0;
    for (size_t i = 0; i < n; i++) s->value[i] = cw_random_normal(random);
    for (size_t k = 0; k < p; k++) {
        s->along[k] = 0;
        for (size_t i = 0; i < n; i++)
            for (size_t l = 0; l < p; l++)
                s->along[k] += s->inverse[k * p + l] * s->design[i * p + l] * s->value[i];
    }
    for (size_t i = 0; i < n; i++) {
        for (size_t k = 0; k < p; k++) s->value[i] -= s->design[i * p + k] * s->along[k];
        square += s->value[i] * s->value[i];
    }
    double times = n > p && square > 0 ? sqrt(chi_square(share, (double)(n - p)) / square) : 0;
    for (size_t i = n; i-- > 0;) { /* L z, from below, in place */
        double sum = 0;
        for (size_t j = 0; j <= i; j++) sum += s->factor[i * n + j] * s->value[j];
        s->value[i] = times * sum;
    }
}

static enum cw_status scattering_make(const struct cw_plan_expected *expected, size_t n_setups,
                                      bool one_drag, struct scattering *s, struct cw_error *error) {
    struct cw_warnings unused = {0};
    *s = (struct scattering){.fit = &expected->fit, .random = cw_random_make(SEED, STREAM_SCATTER)};
    enum cw_status status = s->random.state ? CW_OK : cw_error_memory(error);
    if (status >= 0) status = name_setups(s->fit, n_setups, one_drag, &s->compare, error);
    if (status >= 0) status = cw_table_of_runs_make(&s->fit, 1, &s->compare, &s->table, error);
    if (status >= 0)
        status = cw_run_model_fit(&s->table, &s->fit, false, &s->model, &unused, error);
    if (status >= 0) status = scatter_alloc(s->model.n, s->model.p, &s->scatter, error);
    return status;
}

static void scattering_free(struct scattering *s) {
    free(s->scatter.factor);
    cw_random_free(&s->random);
    cw_run_model_free(&s->model);
    cw_table_of_runs_free(&s->table);
    free(s->compare.setups);
}

/* The k-th time, as a truth has it: what the model then makes of the components, and the sd of the
 * difference of drags. */
static enum cw_status scatter_as(struct scattering *s, const struct cw_plan_truth *truth, size_t k,
                                 struct cw_components *components, double *sd,
                                 struct cw_error *error) {
    struct cw_components_data data = s->model.data;
    /* Shares in an order of their own, so that they don't go with the truths'. */
    double share = ((double)(k * 5 % CW_PLAN_TRUTHS) + 0.5) / CW_PLAN_TRUTHS;
    data.value = s->scatter.value;
    if (!lay(&s->model, &s->table, truth, &s->scatter, sd))
        return cw_error_set(error, CW_E_NUMERIC, NULL, 0,
                            "how the planned runs scatter cannot be solved for");
    draw(&s->scatter, share, &s->random);
    return cw_components_fit(&data, components, error);
}

enum cw_status cw_plan_promise_make(const struct cw_plan_expected *expected, size_t n_setups,
                                    const struct cw_plan_truth truth[CW_PLAN_TRUTHS], double level,
                                    struct cw_plan_promised *promised, struct cw_error *error) {
    struct scattering s = {0};
    double *contrast = calloc(n_setups + 1, sizeof *contrast);
    enum cw_status status = contrast ? CW_OK : cw_error_memory(error);
    *promised = (struct cw_plan_promised){0};
    if (status >= 0) status = scattering_make(expected, n_setups, false, &s, error);
    if (status < 0) goto cleanup;
    contrast[0] = -1;
    contrast[1] = 1;
    for (size_t k = 0; k < CW_PLAN_TRUTHS; k++) {
        struct cw_components components = {0};
        struct cw_estimate difference;
        double df;
        status = scatter_as(&s, &truth[k], k, &components, &promised->sd[k], error);
        if (status >= 0)
            status = cw_components_contrast(&components, contrast, &difference, &df, NULL, error);
        cw_components_free(&components);
        if (status < 0) goto cleanup;
        promised->half_95[k] = 0.5 * (difference.high - difference.low);
        promised->standard_error[k] = difference.standard_error;
        promised->half[k] = level == 0.05
                                ? promised->half_95[k]
                                : cw_t_quantile(1 - level / 2, df) * difference.standard_error;
    }
    promised->n = CW_PLAN_TRUTHS;
cleanup:
    free(contrast);
    scattering_free(&s);
    return status;
}

enum cw_status cw_plan_promise_rolling(const struct cw_plan_expected *expected, size_t n_setups,
                                       const struct cw_plan_truth truth[CW_PLAN_TRUTHS],
                                       bool one_drag, double half_crr[CW_PLAN_TRUTHS],
                                       struct cw_error *error) {
    static const struct cw_rolling_weights difference = {.crr = {1, -1}};
    struct scattering s = {0};
    enum cw_status status = scattering_make(expected, n_setups, one_drag, &s, error);
    for (size_t k = 0; k < CW_PLAN_TRUTHS && status >= 0; k++) {
        struct cw_components as_expected = s.model.components;
        struct cw_rolling rolling = {0};
        struct cw_estimate crr = {0};
        double sd;
        s.model.components = (struct cw_components){0};
        status = scatter_as(&s, &truth[k], k, &s.model.components, &sd, error);
        if (status >= 0) {
            memcpy(s.table.log_cda, s.scatter.value, s.model.n * sizeof *s.table.log_cda);
            status = cw_rolling_fit(&s.table, &s.fit, &s.compare, &s.model, &rolling, error);
        }
        if (status >= 0)
            status = cw_rolling_contrast(&rolling, 1, 0, &difference, &crr, NULL, NULL, error);
        half_crr[k] = 0.5 * (crr.high - crr.low);
        cw_rolling_free(&rolling);
        cw_components_free(&s.model.components);
        s.model.components = as_expected;
    }
    scattering_free(&s);
    return status;
}

struct cw_plan_promised cw_plan_promise_scaled(const struct cw_plan_promised *promised,
                                               double times_runs) {
    struct cw_plan_promised scaled = *promised;
    double by = 1 / sqrt(times_runs);
    for (size_t k = 0; k < scaled.n; k++) {
        scaled.sd[k] *= by;
        scaled.half[k] *= by;
        scaled.half_95[k] *= by;
        scaled.standard_error[k] *= by;
    }
    return scaled;
}

double cw_plan_promise_power(const struct cw_plan_promised *p, double log_difference) {
    double sum = 0;
    for (size_t k = 0; k < p->n; k++)
        sum += 0.5 * erfc((p->half[k] - log_difference) / p->sd[k] / sqrt(2));
    return sum / (double)p->n;
}

struct wanted_power {
    const struct cw_plan_promised *promised;
    double power;
};

static double above_power(double log_difference, void *state) {
    const struct wanted_power *wanted = state;
    return cw_plan_promise_power(wanted->promised, log_difference) - wanted->power;
}

double cw_plan_promise_smallest(const struct cw_plan_promised *promised, double power) {
    struct wanted_power wanted = {promised, power};
    double high = 0;
    for (size_t k = 0; k < promised->n; k++)
        high = fmax(high, promised->half[k] + 6 * promised->sd[k]);
    return cw_root(above_power, &wanted, 0, high, 1e-10);
}
