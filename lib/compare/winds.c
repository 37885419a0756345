#include "compare/winds.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "fit/workings.h"
#include "stats/symmetric.h"
#include "stats/tests.h"

static size_t rider_of(const struct cw_table_of_runs *table, const struct cw_fit *const *fits,
                       size_t i) {
    const struct cw_run_among *run = &table->run[i];
    const struct cw_fit *fit = fits[run->outing];
    return cw_outing_rider_of(fit->of.outing, fit->workings->ways.at[run->index].recording);
}

/* A run's wind is the outing's and what it has beside; the outing's is as sure as the file says, or
 * as runs either way tell it. */
static void tell_runs(const struct cw_table_of_runs *table, const struct cw_fit *const *fits,
                      const struct cw_run_model *model) {
    for (size_t i = 0; i < table->n; i++) {
        struct cw_run_among *run = &table->run[i];
        const struct cw_fit *fit = fits[run->outing];
        const struct cw_outing *outing = fit->of.outing;
        const struct cw_run *found = &fit->of.runs->at[fit->runs[run->index].run];
        double mean = fit->wind_told ? fit->wind_along_ms.value : outing->wind_along_ms;
        double error =
            fit->wind_told ? fit->wind_along_ms.standard_error : outing->wind_uncertainty_ms;
        double t = cw_t_quantile(0.975, fmax(1, (double)model->n - (double)model->p));
        double noise = model->wind_sd_ms[i], beside = model->wind_beside_ms[i],
               half = hypot(t * noise, cw_t_quantile(0.975, INFINITY) * error);
        double wind = mean + model->wind_ms[i];
        run->wind_along_ms =
            (struct cw_estimate){wind, hypot(noise, error), wind - half, wind + half, beside};
        run->wind_noted_ms = found->noted.wind_ms;
        run->wind_logged_ms = found->logged.wind_ms;
    }
}

/* The winds' variance where what runs scatter by is taken to be wind: nothing tells one from the
 * other unless somebody saw the wind. */
static double wind_variance(const struct cw_run_model *model) {
    double by = 0;
    for (size_t i = 0; i < model->n; i++) by += fabs(model->between.by[i]) / (double)model->n;
    return pow(model->theta[CW_BETWEEN_WIND], 2) + pow(model->theta[CW_BETWEEN_OWN] / by, 2);
}

/* The standard error of a contrast of setups where the runs' winds are known to error_ms each;
 * INFINITY: as the model's winds are without anybody else's. NaN where it cannot be solved. */
static enum cw_status error_with(const struct cw_table_of_runs *table,
                                 const struct cw_run_model *model, double error_ms, size_t setup,
                                 size_t reference, double *result, struct cw_error *error) {
    size_t n = model->n, p = model->p, one = model->drag[setup], other = model->drag[reference];
    double square = wind_variance(model);
    const double *by = model->between.by, *alike = model->between.alike;
    double *block = malloc((2 * n * n + n * p + p * p) * sizeof *block);
    *result = NAN;
    if (!block) return cw_error_memory(error);
    double *v = block, *own = v + n * n, *x = own + n * n, *a = x + n * p;
    double error2 = error_ms * error_ms;
    for (size_t at = 0; at < n * n; at++)
        own[at] = square * alike[at] + (at % (n + 1) ? 0 : error2);
    /* S - S (S + e2 I)^-1 S = e2 I - e2^2 (S + e2 I)^-1 */
    bool known = isfinite(error_ms) && cw_cholesky_inverse(n, own);
    for (size_t i = 0; i < n; i++)
        for (size_t j = 0; j < n; j++) {
            size_t at = i * n + j;
            double wind =
                known ? (i == j ? error2 : 0) - error2 * error2 * own[at] : square * alike[at];
            v[at] = model->noise2 * table->noise[at] + by[i] * by[j] * wind +
                    table->covariance[at] - table->noise[at];
        }
    if (!cw_cholesky_factor(n, v)) goto cleanup;
    memcpy(x, model->design, n * p * sizeof *x);
    cw_cholesky_whiten(n, v, p, x);
    for (size_t k = 0; k < p; k++)
        for (size_t l = 0; l < p; l++) {
            a[k * p + l] = 0;
            for (size_t i = 0; i < n; i++) a[k * p + l] += x[i * p + k] * x[i * p + l];
        }
    if (cw_cholesky_inverse(p, a))
        *result = sqrt(a[one * p + one] + a[other * p + other] - 2 * a[one * p + other]);
cleanup:
    free(block);
    return CW_OK;
}

/* What a companion's runs tell of the wind: as far as noise like that of one's own runs lets. */
static double companion_ms(const struct cw_table_of_runs *table, const struct cw_run_model *model) {
    double variance = 0, by = 0, n = (double)model->n;
    for (size_t i = 0; i < model->n; i++) {
        double shared = 0;
        for (size_t j = 0; j < model->n; j++) shared += table->noise[i * model->n + j] / n;
        variance += model->noise2 * fmax(0, table->noise[i * model->n + i] - shared) / n;
        by += fabs(model->between.by[i]) / n;
    }
    return sqrt(variance) / by;
}

/* weight: as cw_winds_tell has it. */
static enum cw_status tell_unknown(const struct cw_run_model *model, const double *weight,
                                   struct cw_winds *winds, struct cw_error *error) {
    size_t n = model->n;
    const double *by = model->between.by;
    double level = 0, difference = 0;
    double *covariance = malloc((n * n + 2 * n) * sizeof *covariance);
    if (!covariance) return cw_error_memory(error);
    if (cw_between_winds_seen(&model->between, model->theta, covariance + n * n, covariance,
                              covariance + n * n + n)) {
        for (size_t i = 0; i < n; i++)
            for (size_t j = 0; j < n; j++) {
                double both = by[i] * by[j] * covariance[i * n + j];
                level += both;
                if (weight) difference += weight[i] * weight[j] * both;
            }
        winds->cda_percent = 100 * sqrt(fmax(level, 0)) / (double)n;
        if (weight) winds->difference_percent = 100 * sqrt(fmax(difference, 0));
    }
    free(covariance);
    return CW_OK;
}

/* Half the interval of the first comparison as its own riders' recordings alone have it. */
static enum cw_status tell_without(const struct cw_table_of_runs *table,
                                   const struct cw_fit *const *fits, struct cw_compare *compare,
                                   struct cw_error *error) {
    const struct cw_comparison *first = &compare->comparisons[0];
    struct cw_table_of_runs part = {0};
    struct cw_run_model model = {0};
    struct cw_run_difference difference;
    struct cw_warnings unused = {0};
    size_t *renumbered = malloc((table->n_setups + 1) * sizeof *renumbered);
    bool *keep = calloc(table->n + 1, sizeof *keep);
    enum cw_status status = renumbered && keep ? CW_OK : cw_error_memory(error);
    if (status < 0) goto cleanup;
    const char *rider = compare->setups[first->setup].rider;
    for (size_t i = 0; i < table->n; i++)
        keep[i] = !strcmp(compare->setups[table->run[i].setup].rider, rider);
    status = cw_table_of_runs_part(table, keep, renumbered, &part, error);
    if (status >= 0) status = cw_run_model_fit(&part, fits, false, &model, &unused, error);
    if (status >= 0)
        status = cw_run_model_difference(&model, renumbered[first->setup],
                                         renumbered[first->reference], &difference, error);
    if (status >= 0)
        compare->wind.half_percent_without =
            50 * (exp(difference.log_ratio.high) - exp(difference.log_ratio.low));
cleanup:
    free(renumbered);
    free(keep);
    cw_run_model_free(&model);
    cw_table_of_runs_free(&part);
    return status;
}

enum cw_status cw_winds_tell(const struct cw_table_of_runs *table, const struct cw_fit *const *fits,
                             const struct cw_run_model *model, const double *weight,
                             struct cw_compare *compare, struct cw_error *error) {
    struct cw_winds *wind = &compare->wind;
    double squares = 0, runs = 0;
    *wind = (struct cw_winds){.known_ms = NAN};
    wind->low_ms = INFINITY;
    wind->high_ms = -INFINITY;
    wind->cda_percent = wind->difference_percent = wind->half_percent_without = NAN;
    wind->half_percent_with_sensor = wind->half_percent_with_companion = NAN;
    for (size_t i = 0; i < table->n; i++) {
        struct cw_run_among *run = &table->run[i];
        run->wind_along_ms = (struct cw_estimate){NAN, NAN, NAN, NAN, NAN};
        run->wind_noted_ms = run->wind_logged_ms = NAN;
        run->companion = rider_of(table, fits, i) != 0;
    }
    if (model->components.n_components <= CW_BETWEEN_WIND) return CW_OK;
    tell_runs(table, fits, model);
    for (size_t i = 0; i < table->n; i++) {
        const struct cw_run_among *run = &table->run[i];
        if (run->companion) {
            wind->n_companion_runs++;
            continue;
        }
        squares += model->wind_beside_ms[i] * model->wind_beside_ms[i];
        runs++;
        wind->low_ms = fmin(wind->low_ms, run->wind_along_ms.value);
        wind->high_ms = fmax(wind->high_ms, run->wind_along_ms.value);
    }
    wind->known_ms = sqrt(squares / runs);
    for (size_t who = 0; who < CW_WIND_SEEN; who++) {
        wind->seen[who] = model->seen[who];
    }
    enum cw_status status = tell_unknown(model, weight, wind, error);
    if (status < 0 || !compare->n_comparisons || compare->comparisons[0].drag_said) return status;
    if (cw_winds_known(wind)) return tell_without(table, fits, compare, error);
    const struct cw_comparison *first = &compare->comparisons[0];
    double known_ms[] = {INFINITY, cw_wind_log_sd_ms, companion_ms(table, model)}, with[3];
    double half = 0.5 * (first->percent.high - first->percent.low);
    for (size_t k = 0; k < 3 && status >= 0; k++)
        status =
            error_with(table, model, known_ms[k], first->setup, first->reference, &with[k], error);
    if (status < 0) return status;
    wind->half_percent_with_sensor = half * with[1] / with[0];
    wind->half_percent_with_companion = half * with[2] / with[0];
    return CW_OK;
}

bool cw_winds_known(const struct cw_winds *winds) {
    bool known = winds->n_companion_runs > 0;
    for (size_t who = 0; who < CW_WIND_SEEN; who++)
        known = known || winds->seen[who].use == CW_WIND_USED;
    return known;
}

bool cw_among_seen(const struct cw_run_among *run) {
    return run->companion || isfinite(run->wind_noted_ms) || isfinite(run->wind_logged_ms);
}
