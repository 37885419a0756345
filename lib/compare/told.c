#include "compare/told.h"

#include <math.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include "fit/workings.h"

/* A logarithm needs a CdA that is told from nothing: by this many standard errors. */
static const double least_told = 3;

static bool is_of(const struct cw_fit *fit, size_t run, const char *setup) {
    size_t of = fit->runs[run].setup;
    return of != SIZE_MAX && !strcmp(fit->of.outing->setups[of].name, setup);
}

/* The mean CdA of a setup's runs of one outing and its variance, as the data alone have them, what
 * the runs share included; *variance is 0 where it has none, or nothing can be solved. */
static enum cw_status level_of(const struct cw_fit *fit, const char *setup, double *mean,
                               double *variance, struct cw_error *error) {
    const struct cw_information *information = &fit->workings->information;
    size_t nt = fit->n_tyres, m = information->n, runs = 0;
    double *value = malloc((m + m * m) * sizeof *value);
    if (!value) return cw_error_memory(error);
    double *covariance = value + m;
    enum cw_status status = cw_information_solve(information, value, covariance, error);
    bool solved = status == CW_OK;
    *mean = *variance = 0;
    for (size_t i = 0; i < fit->n_runs && solved; i++) {
        if (!is_of(fit, i, setup)) continue;
        runs++;
        *mean += value[nt + i];
        for (size_t j = 0; j < fit->n_runs; j++)
            if (is_of(fit, j, setup)) *variance += covariance[(nt + i) * m + nt + j];
    }
    free(value);
    if (runs) *mean /= (double)runs;
    if (runs) *variance /= (double)(runs * runs);
    return status == CW_E_MEMORY ? status : CW_OK;
}

enum cw_status cw_told_level(const struct cw_fit *const *fits, size_t n, const char *setup,
                             bool *told, double *usual_part, struct cw_error *error) {
    double sum = 0, weight = 0, mean, variance;
    for (size_t o = 0; o < n; o++) {
        enum cw_status status = level_of(fits[o], setup, &mean, &variance, error);
        if (status < 0) return status;
        if (!(variance > 0)) continue;
        sum += mean / variance;
        weight += 1 / variance;
    }
    double usual = 1 / (CW_USUAL_CDA_SD_M2 * CW_USUAL_CDA_SD_M2);
    *usual_part = usual / (usual + weight);
    *told = sum > least_told * sqrt(weight) && isfinite(sum);
    return CW_OK;
}

/* Whether runs of one outing tell the difference between two setups to a part of their CdA. */
static bool difference_told(const struct cw_fit *fit, const char *setup, const char *other) {
    size_t nt = fit->n_tyres, m = fit->workings->information.n, n[2] = {0, 0};
    double mean = 0, variance = 0;
    for (size_t i = 0; i < fit->n_runs; i++) {
        n[0] += is_of(fit, i, setup);
        n[1] += is_of(fit, i, other);
    }
    if (!n[0] || !n[1]) return false;
    for (size_t i = 0; i < fit->n_runs; i++) {
        double a = is_of(fit, i, setup)   ? 1 / (double)n[0]
                   : is_of(fit, i, other) ? -1 / (double)n[1]
                                          : 0;
        if (a > 0) mean += a * fit->workings->value[nt + i];
        for (size_t j = 0; j < fit->n_runs && a != 0; j++) {
            double b = is_of(fit, j, setup)   ? 1 / (double)n[0]
                       : is_of(fit, j, other) ? -1 / (double)n[1]
                                              : 0;
            variance += a * b * fit->workings->covariance[(nt + i) * m + nt + j];
        }
    }
    return mean > least_told * sqrt(variance);
}

bool cw_told_beside(const struct cw_fit *const *fits, size_t n, const struct cw_compare *compare,
                    size_t setup) {
    for (size_t o = 0; o < n; o++)
        for (size_t s = 0; s < compare->n_setups; s++)
            if (s != setup &&
                difference_told(fits[o], compare->setups[setup].name, compare->setups[s].name))
                return true;
    return false;
}
