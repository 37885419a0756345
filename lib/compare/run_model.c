#include "compare/run_model.h"

#include <math.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include "stats/random_effects.h"
#include "stats/symmetric.h"
#include "stats/tests.h"

/* A drift is fitted where the setups explain at most this share of the runs' times. */
static const double most_confounded = 0.5;
/* Below this share a drift moves no setup against another. */
static const double balanced = 0.01;
/* Beyond what a drift leaves, so many degrees of freedom are wanted. */
static const size_t least_df = 3;

void cw_run_model_free(struct cw_run_model *model) {
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

/* Setups, then a drift in hours about the outing's middle for each outing that allows it. */
static void lay_design(const struct cw_table_of_runs *table, struct cw_run_model *model,
                       struct cw_warnings *warnings) {
    size_t n = table->n, s = model->n_setups, most_p = s + outings_of(table);
    double *design = model->design; /* laid n x most_p, then packed to n x p */
    model->p = s;
    for (size_t i = 0; i < n; i++) design[i * most_p + table->run[i].setup] = 1;
    for (size_t o = 0; o < outings_of(table); o++) {
        double mean = 0;
        size_t runs = 0;
        for (size_t i = 0; i < n; i++) {
            if (table->run[i].outing != o) continue;
            mean += table->run[i].time_s;
            runs++;
        }
        if (runs < 3) continue;
        if (confounded(table, o) > most_confounded) {
            if (s > 1)
                cw_warning_add(warnings, CW_COMPARE_NO_DRIFT, 0,
                               "the order of the runs cannot tell a drift over the outing from the "
                               "setups: none is taken off; mix the setups (A B B A)");
            continue;
        }
        if (n < model->p + 1 + least_df) {
            if (s > 1 && confounded(table, o) > balanced)
                cw_warning_add(warnings, CW_COMPARE_NO_DRIFT, 0,
                               "there are too few runs to tell a drift over the outing from "
                               "chance: none is taken off; make more runs, in an order such as "
                               "A B B A");
            continue;
        }
        mean /= (double)runs;
        for (size_t i = 0; i < n; i++)
            if (table->run[i].outing == o)
                design[i * most_p + model->p] = (table->run[i].time_s - mean) / 3600;
        model->p++;
        model->n_drifts++;
    }
    for (size_t i = 0; i < n; i++)
        memmove(design + i * model->p, design + i * most_p, model->p * sizeof *design);
}

/* weight = (X'V^-1 X)^-1 X'V^-1 and what follows from it, with V = covariance + tau2. */
static enum cw_status solve(const struct cw_table_of_runs *table, struct cw_run_model *model,
                            struct cw_error *error) {
    size_t n = model->n, p = model->p;
    const double *x = model->design;
    double *inverse = model->inverse, *unscaled = model->unscaled;
    double *vx = calloc(n * p, sizeof *vx); /* V^-1 X */
    if (!vx) return cw_error_memory(error);
    memcpy(inverse, table->covariance, n * n * sizeof *inverse);
    for (size_t i = 0; i < n; i++) inverse[i * n + i] += model->tau2;
    bool solved = cw_cholesky_inverse(n, inverse);
    for (size_t i = 0; i < n && solved; i++)
        for (size_t j = 0; j < n; j++)
            for (size_t k = 0; k < p; k++) vx[i * p + k] += inverse[i * n + j] * x[j * p + k];
    memset(unscaled, 0, p * p * sizeof *unscaled);
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
        model->coefficient[k] = 0;
        for (size_t i = 0; i < n; i++)
            model->coefficient[k] += model->weight[k * n + i] * table->log_cda[i];
    }
    for (size_t i = 0; i < n; i++) {
        model->residual[i] = table->log_cda[i];
        for (size_t k = 0; k < p; k++) model->residual[i] -= x[i * p + k] * model->coefficient[k];
    }
    /* P = V^-1 (I - X weight); P y / sqrt(diag P) over the scale without the run itself. */
    double *py = model->t;
    for (size_t i = 0; i < n; i++) {
        py[i] = 0;
        for (size_t j = 0; j < n; j++) py[i] += inverse[i * n + j] * model->residual[j];
        quadratic += py[i] * model->residual[i];
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

enum cw_status cw_run_model_fit(const struct cw_table_of_runs *table, struct cw_run_model *model,
                                struct cw_warnings *warnings, struct cw_error *error) {
    size_t n = table->n, s = table->n_setups, most_p = s + outings_of(table);
    *model = (struct cw_run_model){.n = n, .n_setups = s};
    double *block =
        calloc(2 * n * most_p + most_p + 2 * n + most_p * most_p + n * n, sizeof *block);
    if (!block) return cw_error_memory(error);
    model->design = block;
    model->weight = block + n * most_p;
    model->coefficient = block + 2 * n * most_p;
    model->log_cda = model->coefficient; /* the setups' come first */
    model->residual = model->coefficient + most_p;
    model->t = model->residual + n;
    model->unscaled = model->t + n;
    model->inverse = model->unscaled + most_p * most_p;
    lay_design(table, model, warnings);
    struct cw_effects_data data = {.n = n,
                                   .p = model->p,
                                   .value = table->log_cda,
                                   .design = model->design,
                                   .covariance = table->covariance};
    struct cw_random_effects effects;
    enum cw_status status;
    bool scatter = n > model->p;
    status = scatter ? cw_random_effects_fit(&data, CW_BETWEEN_REML, &effects, error) : CW_OK;
    if (status == CW_NOT_IDENTIFIABLE)
        status = cw_error_set(error, CW_E_DATA, NULL, 0, "the setups cannot be told apart");
    if (status < 0) goto cleanup;
    if (scatter) {
        model->scale = effects.scale;
        model->df = effects.df;
        model->tau2 = effects.tau2;
        model->tau2_low = effects.tau2_low;
        model->tau2_high = effects.tau2_high;
        cw_random_effects_free(&effects);
    } else {
        model->scale = 1;
        model->tau2_low = 0;
        model->tau2_high = NAN;
        cw_warning_add(warnings, CW_COMPARE_FEW_RUNS, 0,
                       "one run a setup: what scatters from run to run is not known, and the "
                       "intervals rest on the noise within the runs alone; repeat each setup");
    }
    status = solve(table, model, error);
    if (status >= 0 && model->n_drifts) {
        size_t k = s;
        model->drift_percent_per_hour =
            cw_estimate_make(100 * model->coefficient[k],
                             100 * sqrt(model->scale * model->unscaled[k * model->p + k]),
                             cw_t_quantile(0.975, model->df));
    }
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
        double *contrast = calloc(fit->information.n, sizeof *contrast), variance = 0;
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

enum cw_status cw_run_model_level(const struct cw_run_model *model,
                                  const struct cw_table_of_runs *table,
                                  const struct cw_fit *const *fits, size_t n_outings, size_t setup,
                                  struct cw_estimate *cda_m2, struct cw_error *error) {
    size_t n = model->n;
    const double *w = model->weight + setup * n;
    double variance = 0, df;
    for (size_t i = 0; i < n; i++) {
        variance += w[i] * w[i] * model->tau2;
        for (size_t j = 0; j < n; j++) variance += w[i] * table->noise[i * n + j] * w[j];
    }
    enum cw_status status = noise_df(table, fits, n_outings, w, &df, error);
    if (status < 0) return status;
    double c = exp(model->log_cda[setup]);
    *cda_m2 = cw_estimate_make(c, c * sqrt(variance), cw_t_quantile(0.975, fmax(df, 1)));
    return CW_OK;
}

/* weight . a . weight, a being n x n. */
static double quadratic_form(const double *a, const double *weight, size_t n) {
    double sum = 0;
    for (size_t i = 0; i < n; i++)
        for (size_t j = 0; j < n; j++) sum += weight[i] * a[i * n + j] * weight[j];
    return sum;
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
    *crr = (struct cw_estimate){NAN, NAN, NAN, NAN};
    *correlation = NAN;
    if (fit->crr_given) return CW_OK;
    double *c = calloc(3 * n, sizeof *c), value, variance, with_cda = 0, level = 0, df;
    if (!c) return cw_error_memory(error);
    double *k = c + n, *mk = c + 2 * n;
    const double *w = model->weight + setup * n;
    enum cw_status status =
        cw_table_of_runs_crr(table, fits, outing, tyres, &value, &variance, c, error);
    if (status < 0) goto cleanup;
    for (size_t i = 0; i < n; i++)
        for (size_t j = 0; j < n; j++) k[i] += model->inverse[i * n + j] * c[j];
    for (size_t i = 0; i < n; i++) { /* k (I - X weight) */
        mk[i] = k[i];
        for (size_t a = 0; a < p; a++)
            for (size_t j = 0; j < n; j++)
                mk[i] -= k[j] * model->design[j * p + a] * model->weight[a * n + i];
        value -= mk[i] * table->log_cda[i];
    }
    for (size_t i = 0; i < n; i++) {
        variance -= 2 * mk[i] * c[i];
        with_cda += w[i] * c[i];
        for (size_t j = 0; j < n; j++) {
            double noise = table->noise[i * n + j] + (i == j ? model->tau2 : 0);
            variance += mk[i] * noise * mk[j];
            with_cda -= mk[i] * noise * w[j];
            level += w[i] * noise * w[j];
        }
    }
    double *x = calloc(fit->information.n, sizeof *x);
    if (!x) {
        status = cw_error_memory(error);
        goto cleanup;
    }
    x[tyres] = 1;
    df = cw_fit_df(fit, x);
    free(x);
    if (model->df > 0) df = fmin(df, model->df);
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
        weight[i] = model->weight[setup * model->n + i] - model->weight[reference * model->n + i];
}

/* The scatter of the runs says how large the noise really is (Knapp-Hartung's scale), but nothing
 * of what shifts a whole outing: that stands beside it as it is stated. */
enum cw_status cw_run_model_difference(const struct cw_run_model *model,
                                       const struct cw_table_of_runs *table,
                                       const struct cw_fit *const *fits, size_t setup,
                                       size_t reference, struct cw_run_difference *difference,
                                       struct cw_error *error) {
    size_t n = model->n;
    double *weight = malloc(n * sizeof *weight), noise_only = model->df, squares = 0;
    if (!weight) return cw_error_memory(error);
    cw_run_model_weights(model, setup, reference, weight);
    for (size_t i = 0; i < n; i++) squares += weight[i] * weight[i];
    double noise = quadratic_form(table->noise, weight, n);
    double systematic = fmax(0, quadratic_form(table->covariance, weight, n) - noise);
    noise = model->scale * (noise + squares * model->tau2);
    enum cw_status status = CW_OK;
    if (!(model->df > 0))
        status = noise_df(table, fits, outings_of(table), weight, &noise_only, error);
    free(weight);
    if (status < 0) return status;
    const double part[] = {sqrt(noise), sqrt(systematic)},
                 part_df[] = {fmax(noise_only, 1), INFINITY};
    double value = model->log_cda[setup] - model->log_cda[reference];
    double standard_error = hypot(part[0], part[1]), df = cw_satterthwaite_df(2, part, part_df);
    *difference = (struct cw_run_difference){
        .log_ratio = cw_estimate_make(value, standard_error, cw_t_quantile(0.975, df)),
        .noise = part[0],
        .df = df,
        .p_value = cw_t_p_value(value / standard_error, df),
    };
    return CW_OK;
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
        const struct cw_run_data *data = &fit->joint.data[run->index];
        const double *gust = fit->runs[run->index].gust_ms;
        for (size_t j = 0; j < data->n; j++) {
            if (j && fabs(gust[j]) <= fabs(run->worst_ms)) continue;
            run->worst_ms = gust[j];
            run->worst_m = data->s_m[j];
        }
    }
}

double cw_log_cda_by_wind(const struct cw_fit *fit) {
    for (size_t c = 0; c < fit->budget.n; c++) {
        const struct cw_cause *cause = &fit->budget.causes[c];
        if (cause->kind != CW_CAUSE_WIND || !(cause->uncertainty > 0)) continue;
        double sum = 0;
        for (size_t i = 0; i < fit->n_runs; i++)
            sum += cause->effect[fit->n_tyres + i] / fit->joint.cda_m2[i];
        return -sum / (double)fit->n_runs / cause->uncertainty;
    }
    return NAN;
}
