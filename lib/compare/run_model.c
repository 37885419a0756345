#include "compare/run_model.h"

#include <math.h>
#include <stdbool.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include "fit/workings.h"
#include "stats/symmetric.h"
#include "stats/tests.h"

/* A drift over an outing (tyres and air that warm, a rider who tires), of log CdA an hour. */
static const double drift_sd_per_hour = 0.01;
/* The setups explain more than this share of the runs' times: a drift passes for a difference. */
static const double most_confounded = 0.5;

void cw_run_model_free(struct cw_run_model *model) {
    cw_components_free(&model->components);
    cw_between_free(&model->between);
    free(model->design);
    *model = (struct cw_run_model){0};
}

/* The share of the times' scatter within an outing that the setups explain. */
static double confounded(const struct cw_table_of_runs *table, size_t outing) {
    double mean = 0, total = 0, within = 0;
    size_t n = 0;
    for (size_t i = 0; i < table->n; i++) {
        if (table->run[i].outing != outing) continue;
        mean += table->run[i].time_s;
        n++;
    }
    if (n < 2) return 1;
    mean /= (double)n;
    for (size_t i = 0; i < table->n; i++) {
        const struct cw_run_among *run = &table->run[i];
        if (run->outing != outing) continue;
        double own = 0;
        size_t fellows = 0;
        for (size_t j = 0; j < table->n; j++)
            if (table->run[j].outing == outing && table->run[j].setup == run->setup) {
                own += table->run[j].time_s;
                fellows++;
            }
        own /= (double)fellows;
        total += (run->time_s - mean) * (run->time_s - mean);
        within += (run->time_s - own) * (run->time_s - own);
    }
    return total > 0 ? 1 - within / total : 1;
}

static size_t outings_of(const struct cw_table_of_runs *table) {
    return table->n ? table->run[table->n - 1].outing + 1 : 0;
}

/* Hours from the middle of each outing's runs. */
static void lay_hours(const struct cw_table_of_runs *table, double *hours) {
    for (size_t o = 0; o < outings_of(table); o++) {
        double mean = 0;
        size_t runs = 0;
        for (size_t i = 0; i < table->n; i++) {
            if (table->run[i].outing != o) continue;
            mean += table->run[i].time_s;
            runs++;
        }
        for (size_t i = 0; i < table->n; i++)
            if (table->run[i].outing == o)
                hours[i] = (table->run[i].time_s - mean / (double)runs) / 3600;
    }
}

static void warn_of_drift(const struct cw_table_of_runs *table, struct cw_warnings *warnings) {
    for (size_t o = 0; o < outings_of(table) && table->n_setups > 1; o++) {
        size_t runs = 0;
        for (size_t i = 0; i < table->n; i++) runs += table->run[i].outing == o;
        if (runs > 3 && confounded(table, o) > most_confounded)
            cw_warning_add(warnings, CW_COMPARE_NO_DRIFT, 0,
                           "the order of the runs cannot tell a drift over the outing from the "
                           "setups; what one may make is in the interval; mix the setups (A B B "
                           "A)");
    }
}

/* Sets the part of the covariance that is known: systematic causes and drifts. */
static void lay_fixed(const struct cw_table_of_runs *table, const double *hours, double *fixed) {
    size_t n = table->n;
    for (size_t i = 0; i < n; i++)
        for (size_t j = 0; j <= i; j++) {
            double part = table->covariance[i * n + j] - table->noise[i * n + j];
            if (table->run[i].outing == table->run[j].outing)
                part += drift_sd_per_hour * drift_sd_per_hour * hours[i] * hours[j];
            fixed[i * n + j] = fixed[j * n + i] = part;
        }
}

static enum cw_status make_between(const struct cw_table_of_runs *table,
                                   const struct cw_fit *const *fits, struct cw_between *between,
                                   struct cw_error *error) {
    struct cw_between_run *runs = calloc(table->n, sizeof *runs);
    if (!runs) return cw_error_memory(error);
    for (size_t i = 0; i < table->n; i++) {
        const struct cw_run_among *run = &table->run[i];
        const struct cw_fit *fit = fits[run->outing];
        const struct cw_fit_way *way = &fit->workings->ways.at[run->index];
        runs[i] = (struct cw_between_run){.by_wind = way->by_wind,
                                          .setup = fit->runs[run->index].setup,
                                          .road = way->road,
                                          .reversed = way->reversed,
                                          .run = &fit->of.runs->at[fit->runs[run->index].run],
                                          .outing = run->outing,
                                          .note_sd_ms = fit->of.outing->wind_ms.uncertainty};
    }
    enum cw_status status = cw_between_make(runs, table->n, between, error);
    free(runs);
    return status;
}

/* weight = (X'V^-1 X)^-1 X'V^-1 and what follows from it, with V = random + systematic. */
static enum cw_status solve(const struct cw_table_of_runs *table, struct cw_run_model *model,
                            struct cw_error *error) {
    size_t n = model->n, p = model->p;
    const double *x = model->design;
    double *inverse = model->inverse;
    double *vx = calloc(n * p + p * p + p + n, sizeof *vx); /* V^-1 X */
    if (!vx) return cw_error_memory(error);
    double *unscaled = vx + n * p, *there = unscaled + p * p, *left = there + p;
    for (size_t i = 0; i < n * n; i++)
        inverse[i] = model->random[i] + table->covariance[i] - table->noise[i];
    bool solved = cw_cholesky_inverse(n, inverse);
    for (size_t i = 0; i < n && solved; i++)
        for (size_t j = 0; j < n; j++)
            for (size_t k = 0; k < p; k++) vx[i * p + k] += inverse[i * n + j] * x[j * p + k];
    for (size_t i = 0; i < n && solved; i++)
        for (size_t k = 0; k < p; k++)
            for (size_t l = 0; l < p; l++) unscaled[k * p + l] += x[i * p + k] * vx[i * p + l];
    if (!solved || !cw_cholesky_inverse(p, unscaled)) {
        free(vx);
        return cw_error_set(error, CW_E_NUMERIC, NULL, 0, "the setups' means cannot be solved for");
    }
    for (size_t k = 0; k < p; k++)
        for (size_t i = 0; i < n; i++) {
            double sum = 0;
            for (size_t l = 0; l < p; l++) sum += unscaled[k * p + l] * vx[i * p + l];
            model->weight[k * n + i] = sum;
        }
    double quadratic = 0;
    for (size_t k = 0; k < p; k++) {
        for (size_t i = 0; i < n; i++) there[k] += model->weight[k * n + i] * model->value[i];
        model->log_cda[k] = 0;
        for (size_t i = 0; i < model->components.n_points; i++)
            model->log_cda[k] +=
                model->components.weight[i] * model->components.coefficient[i * p + k];
    }
    for (size_t i = 0; i < n; i++) {
        model->residual[i] = left[i] = model->value[i];
        for (size_t k = 0; k < p; k++) {
            model->residual[i] -= x[i * p + k] * model->log_cda[k];
            left[i] -= x[i * p + k] * there[k];
        }
    }
    /* P = V^-1 (I - X weight); P y / sqrt(diag P) over the scale without the run itself. */
    double *py = model->t;
    for (size_t i = 0; i < n; i++) {
        py[i] = 0;
        for (size_t j = 0; j < n; j++) py[i] += inverse[i * n + j] * left[j];
        quadratic += py[i] * left[i];
    }
    for (size_t i = 0; i < n; i++) {
        double pii = inverse[i * n + i];
        for (size_t k = 0; k < p; k++) pii -= vx[i * p + k] * model->weight[k * n + i];
        double own = py[i] * py[i] / pii;
        double df = (double)n - (double)p - 1;
        py[i] = df >= 1 && pii > 0 ? py[i] / sqrt(pii) / sqrt((quadratic - own) / df) : NAN;
    }
    free(vx);
    return CW_OK;
}

/* What the winds are found to be, and of what they are known. */
static enum cw_status tell_winds(const struct cw_between *between, const double *theta,
                                 struct cw_run_model *model, struct cw_error *error) {
    size_t n = model->n, p = model->p;
    double *projected = malloc((n * n + n) * sizeof *projected);
    if (!projected) return cw_error_memory(error);
    double *py = projected + n * n;
    for (size_t i = 0; i < n; i++) {
        py[i] = 0;
        for (size_t j = 0; j < n; j++) projected[i * n + j] = model->inverse[i * n + j];
        for (size_t k = 0; k < p; k++) {
            double vx = 0;
            for (size_t l = 0; l < n; l++)
                vx += model->inverse[i * n + l] * model->design[l * p + k];
            for (size_t j = 0; j < n; j++) projected[i * n + j] -= vx * model->weight[k * n + j];
        }
        for (size_t j = 0; j < n; j++) py[i] += projected[i * n + j] * model->value[j];
    }
    enum cw_status status = cw_between_winds(between, theta, projected, py, model->wind_ms,
                                             model->wind_sd_ms, model->wind_beside_ms, error);
    free(projected);
    if (status < 0) return status;
    for (size_t who = 0; who < CW_WIND_SEEN; who++) {
        size_t k = between->factor[who];
        model->seen[who].n = between->n_seen[who];
        model->seen[who].use = between->use[who];
        if (!k) continue;
        model->seen[who].factor.median = model->components.of[k].median;
        model->seen[who].factor.low = model->components.of[k].low;
        model->seen[who].factor.high = model->components.of[k].high;
        model->seen[who].error_factor.median = model->components.of[k + 1].median;
        model->seen[who].error_factor.low = model->components.of[k + 1].low;
        model->seen[who].error_factor.high = model->components.of[k + 1].high;
    }
    return CW_OK;
}

static enum cw_status noise_df(const struct cw_table_of_runs *table,
                               const struct cw_fit *const *fits, size_t n_outings,
                               const double *weight, double *df, struct cw_error *error);

/* What is found of the outings' drifts: the best linear predictor of the first with runs to tell.
 */
static enum cw_status tell_drift(const struct cw_table_of_runs *table, struct cw_run_model *model,
                                 const double *hours, struct cw_error *error) {
    size_t n = model->n, runs = 0;
    double value = 0, known = 0, variance = drift_sd_per_hour * drift_sd_per_hour;
    for (size_t i = 0; i < n; i++) runs += table->run[i].outing == table->run[0].outing;
    if (runs < 3) return CW_OK;
    /* u' P y and u' P u, P = V^-1 (I - X weight), u = hours of that outing */
    double *left = malloc(n * sizeof *left); /* (I - X weight) u */
    if (!left) return cw_error_memory(error);
    for (size_t j = 0; j < n; j++) {
        left[j] = table->run[j].outing == table->run[0].outing ? hours[j] : 0;
        for (size_t k = 0; k < model->p; k++)
            for (size_t l = 0; l < n; l++)
                if (table->run[l].outing == table->run[0].outing)
                    left[j] -=
                        model->design[j * model->p + k] * model->weight[k * n + l] * hours[l];
    }
    for (size_t i = 0; i < n; i++) {
        double pu = 0, py = 0;
        if (table->run[i].outing != table->run[0].outing) continue;
        for (size_t j = 0; j < n; j++) {
            pu += model->inverse[i * n + j] * left[j];
            py += model->inverse[i * n + j] * model->residual[j];
        }
        value += hours[i] * py;
        known += hours[i] * pu;
    }
    free(left);
    model->n_drifts = 1;
    model->drift_percent_per_hour = cw_estimate_make(
        100 * variance * value, 100 * sqrt(fmax(variance - variance * variance * known, 0)),
        cw_t_quantile(0.975, INFINITY));
    return CW_OK;
}

enum cw_status cw_run_model_fit(const struct cw_table_of_runs *table,
                                const struct cw_fit *const *fits, bool with_seen,
                                struct cw_run_model *model, struct cw_warnings *warnings,
                                struct cw_error *error) {
    size_t n = table->n, p = table->n_drags;
    *model = (struct cw_run_model){.n = n, .p = p, .drag = table->drag};
    double *block = calloc(2 * n * p + p + 7 * n + 3 * n * n, sizeof *block), df;
    double unused, *theta = model->theta;
    struct cw_between *between = &model->between;
    if (!block) return cw_error_memory(error);
    model->design = block;
    model->weight = block + n * p;
    model->log_cda = block + 2 * n * p;
    model->residual = model->log_cda + p;
    model->t = model->residual + n;
    model->value = model->t + n;
    model->wind_ms = model->value + n;
    model->wind_sd_ms = model->wind_ms + n;
    model->wind_beside_ms = model->wind_sd_ms + n;
    model->random = model->wind_beside_ms + n;
    model->inverse = model->random + n * n;
    double *hours = model->inverse + n * n, *fixed = hours + n;
    for (size_t i = 0; i < n; i++) model->design[i * p + table->drag[table->run[i].setup]] = 1;
    lay_hours(table, hours);
    lay_fixed(table, hours, fixed);
    warn_of_drift(table, warnings);
    /* The noise's size is asked for once: of the difference between the first two drags, or of the
     * one drag's mean. */
    size_t of[2] = {0, 0};
    for (size_t i = 0; i < n; i++)
        if (table->drag[table->run[i].setup] < 2) of[table->drag[table->run[i].setup]]++;
    for (size_t i = 0; i < n; i++) {
        size_t drag = table->drag[table->run[i].setup];
        model->residual[i] = drag == 0 ? 1 / (double)of[0] : drag == 1 ? -1 / (double)of[1] : 0;
    }
    enum cw_status status = noise_df(table, fits, outings_of(table), model->residual, &df, error);
    if (status < 0) goto cleanup;
    bool repeated = n > p;
    struct cw_components_data *data = &model->data;
    *data = (struct cw_components_data){
        .n = n, .p = p, .value = table->log_cda, .design = model->design, .fixed = fixed};
    status = make_between(table, fits, between, error);
    if (status >= 0)
        status =
            cw_between_fit(between, table->noise, df, with_seen, data, &model->components, error);
    if (status == CW_NOT_IDENTIFIABLE)
        status = cw_error_set(error, CW_E_DATA, NULL, 0, "the setups cannot be told apart");
    if (status < 0) goto cleanup;
    if (!repeated)
        cw_warning_add(warnings, CW_COMPARE_FEW_RUNS, 0,
                       "one run a setup: what scatters from run to run is not known, and the "
                       "intervals rest on the noise within the runs alone; repeat each setup");
    cw_between_middle(&model->components, theta);
    model->noise2 = theta[CW_BETWEEN_NOISE] * theta[CW_BETWEEN_NOISE];
    if (!cw_components_at(data, theta, model->random, model->value, &unused)) {
        status = cw_error_set(error, CW_E_NUMERIC, NULL, 0, "the winds cannot be solved for");
        goto cleanup;
    }
    for (size_t at = 0; at < n * n; at++)
        model->random[at] -= table->covariance[at] - table->noise[at];
    status = solve(table, model, error);
    if (status >= 0 && repeated) status = tell_drift(table, model, hours, error);
    if (status >= 0 && repeated) status = tell_winds(between, theta, model, error);
cleanup:
    if (status < 0) cw_run_model_free(model);
    return status;
}

/* Satterthwaite's degrees of freedom of a combination of the table's runs, from the noise of each
 * outing's fit; the variances of outings add. */
static enum cw_status noise_df(const struct cw_table_of_runs *table,
                               const struct cw_fit *const *fits, size_t n_outings,
                               const double *weight, double *df, struct cw_error *error) {
    double variances = 0, squares = 0;
    for (size_t o = 0; o < n_outings; o++) {
        const struct cw_fit *fit = fits[o];
        double *contrast = calloc(fit->workings->information.n, sizeof *contrast), variance = 0;
        if (!contrast) return cw_error_memory(error);
        for (size_t i = 0; i < table->n; i++) {
            if (table->run[i].outing != o) continue;
            contrast[fit->n_tyres + table->run[i].index] = weight[i] / table->reference_m2[i];
            for (size_t j = 0; j < table->n; j++)
                variance += weight[i] * table->noise[i * table->n + j] * weight[j];
        }
        if (variance > 0) {
            variances += variance;
            squares += variance * variance / cw_fit_df(fit, contrast);
        }
        free(contrast);
    }
    *df = squares > 0 ? variances * variances / squares : INFINITY;
    return CW_OK;
}

/* weight . a . weight, a being n x n. */
static double quadratic_form(const double *a, const double *weight, size_t n) {
    double sum = 0;
    for (size_t i = 0; i < n; i++)
        for (size_t j = 0; j < n; j++) sum += weight[i] * a[i * n + j] * weight[j];
    return sum;
}

/* exp of an estimate of a logarithm; the error to first order. */
static struct cw_estimate of_log(struct cw_estimate log_value) {
    double value = exp(log_value.value);
    return (struct cw_estimate){value, value * log_value.standard_error, exp(log_value.low),
                                exp(log_value.high), 0};
}

enum cw_status cw_run_model_level(const struct cw_run_model *model,
                                  const struct cw_table_of_runs *table, size_t setup,
                                  struct cw_estimate *cda_m2, struct cw_error *error) {
    const double *w = model->weight + model->drag[setup] * model->n;
    struct cw_estimate log_cda;
    double *contrast = calloc(model->p, sizeof *contrast);
    if (!contrast) return cw_error_memory(error);
    contrast[model->drag[setup]] = 1;
    enum cw_status status =
        cw_components_contrast(&model->components, contrast, &log_cda, NULL, NULL, error);
    free(contrast);
    if (status < 0) return status;
    *cda_m2 = of_log(log_cda);
    double random = quadratic_form(model->random, w, model->n),
           systematic = quadratic_form(table->covariance, w, model->n) -
                        quadratic_form(table->noise, w, model->n);
    cda_m2->noise_standard_error =
        cda_m2->standard_error * sqrt(random / (random + fmax(systematic, 0)));
    return CW_OK;
}

/* The runs' residuals y - X b tell of Crr's error what c says: crr = r - k'(y - X b), k = V^-1 c,
 * the best linear predictor (Goldberger 1962, J. Am. Stat. Assoc. 57:369). */
enum cw_status cw_run_model_crr(const struct cw_run_model *model,
                                const struct cw_table_of_runs *table,
                                const struct cw_fit *const *fits, size_t setup,
                                struct cw_estimate *crr, double *correlation,
                                struct cw_error *error) {
    size_t n = model->n, p = model->p, first = 0;
    while (first + 1 < n && table->run[first].setup != setup) first++;
    size_t outing = table->run[first].outing;
    const struct cw_fit *fit = fits[outing];
    size_t tyres = fit->runs[table->run[first].index].tyres;
    *crr = (struct cw_estimate){NAN, NAN, NAN, NAN, 0};
    *correlation = NAN;
    if (fit->crr_given) return CW_OK;
    double *c = calloc(3 * n, sizeof *c), value, variance, with_cda = 0, level = 0, df;
    if (!c) return cw_error_memory(error);
    double *k = c + n, *mk = c + 2 * n;
    const double *w = model->weight + model->drag[setup] * n;
    enum cw_status status =
        cw_table_of_runs_crr(table, fits, outing, tyres, &value, &variance, c, error);
    if (status < 0) goto cleanup;
    /* The fits' noise is as large as the runs show it, in Crr as in CdA. */
    variance *= model->noise2;
    for (size_t i = 0; i < n; i++) c[i] *= model->noise2;
    for (size_t i = 0; i < n; i++)
        for (size_t j = 0; j < n; j++) k[i] += model->inverse[i * n + j] * c[j];
    for (size_t i = 0; i < n; i++) { /* k (I - X weight) */
        mk[i] = k[i];
        for (size_t a = 0; a < p; a++)
            for (size_t j = 0; j < n; j++)
                mk[i] -= k[j] * model->design[j * p + a] * model->weight[a * n + i];
        value -= mk[i] * model->value[i];
    }
    for (size_t i = 0; i < n; i++) {
        variance -= 2 * mk[i] * c[i];
        with_cda += w[i] * c[i];
        for (size_t j = 0; j < n; j++) {
            double noise = model->random[i * n + j];
            variance += mk[i] * noise * mk[j];
            with_cda -= mk[i] * noise * w[j];
            level += w[i] * noise * w[j];
        }
    }
    double *x = calloc(fit->workings->information.n, sizeof *x);
    if (!x) {
        status = cw_error_memory(error);
        goto cleanup;
    }
    x[tyres] = 1;
    df = cw_fit_df(fit, x);
    free(x);
    if (n > p) df = fmin(df, (double)(n - p));
    variance = fmax(variance, 0);
    *crr = cw_estimate_make(value, sqrt(variance), cw_t_quantile(0.975, df));
    *correlation = with_cda / sqrt(variance * level);
cleanup:
    free(c);
    return status;
}

void cw_run_model_weights(const struct cw_run_model *model, size_t setup, size_t reference,
                          double *weight) {
    for (size_t i = 0; i < model->n; i++)
        weight[i] = model->weight[model->drag[setup] * model->n + i] -
                    model->weight[model->drag[reference] * model->n + i];
}

enum cw_status cw_run_model_difference(const struct cw_run_model *model, size_t setup,
                                       size_t reference, struct cw_run_difference *difference,
                                       struct cw_error *error) {
    double *contrast = calloc(model->p + model->n, sizeof *contrast);
    if (!contrast) return cw_error_memory(error);
    double *weight = contrast + model->p;
    contrast[model->drag[setup]] = 1;
    contrast[model->drag[reference]] = -1;
    cw_run_model_weights(model, setup, reference, weight);
    difference->noise = sqrt(quadratic_form(model->random, weight, model->n));
    enum cw_status status =
        cw_components_contrast(&model->components, contrast, &difference->log_ratio,
                               &difference->df, &difference->p_value, error);
    free(contrast);
    return status;
}

void cw_run_model_among(const struct cw_run_model *model, const struct cw_fit *const *fits,
                        struct cw_run_among *runs) {
    for (size_t i = 0; i < model->n; i++) {
        struct cw_run_among *run = &runs[i];
        double df = (double)model->n - (double)model->p - 1;
        run->percent = 100 * expm1(model->residual[i]);
        run->t = model->t[i];
        run->p_adjusted = df >= 1 && isfinite(run->t)
                              ? fmin(1, (double)model->n * cw_t_p_value(run->t, df))
                              : NAN;
        run->outlier = run->p_adjusted < 0.05;
        const struct cw_fit *fit = fits[run->outing];
        run->worst_ms = fit->workings->ways.at[run->index].worst_ms;
        run->worst_m = fit->workings->ways.at[run->index].worst_m;
    }
}

double cw_log_cda_by_wind(const struct cw_fit *fit) {
    for (size_t c = 0; c < fit->workings->budget.n; c++) {
        const struct cw_cause *cause = &fit->workings->budget.causes[c];
        if (cause->kind != CW_CAUSE_WIND || !(cause->uncertainty > 0)) continue;
        double sum = 0;
        for (size_t i = 0; i < fit->n_runs; i++)
            sum += cause->effect[fit->n_tyres + i] / fit->workings->ways.at[i].cda_m2;
        return -sum / (double)fit->n_runs / cause->uncertainty;
    }
    return NAN;
}
