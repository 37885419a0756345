#include "fit/information.h"

#include <math.h>
#include <stdlib.h>

#include "stats/symmetric.h"

enum cw_status cw_information_alloc(size_t n_tyres, size_t n_runs,
                                    struct cw_information *information, struct cw_error *error) {
    size_t n = n_tyres + n_runs;
    *information = (struct cw_information){.n_tyres = n_tyres, .n_runs = n_runs, .n = n};
    information->matrix = calloc(n * n, sizeof *information->matrix);
    information->vector = calloc(n, sizeof *information->vector);
    if (!information->matrix || !information->vector) {
        cw_information_free(information);
        return cw_error_memory(error);
    }
    return CW_OK;
}

void cw_information_free(struct cw_information *information) {
    free(information->matrix);
    free(information->vector);
    *information = (struct cw_information){0};
}

/* x is about usual, each to +- widest; and the mean of the runs' CdA to +- level_sd too. */
struct prior {
    double crr, crr_sd, cda_m2, cda_sd_m2, level_sd_m2;
};

static const struct prior wide = {0, 0.1, 0, 3, INFINITY},
                          usual = {CW_USUAL_CRR, CW_USUAL_CRR_SD, CW_USUAL_CDA_M2, 3,
                                   CW_USUAL_CDA_SD_M2};

/* factor: of the information with the prior, both in units of the prior's widest. */
static void solve_for(const struct cw_information *information, const struct prior *prior,
                      const double *factor, const double *unit, double *value) {
    size_t n = information->n, nt = information->n_tyres;
    for (size_t i = 0; i < n; i++) {
        value[i] = information->vector[i];
        for (size_t j = 0; j < n; j++)
            value[i] -= information->matrix[i * n + j] * (j < nt ? prior->crr : prior->cda_m2);
        value[i] *= unit[i];
    }
    cw_cholesky_solve(n, factor, value);
    for (size_t i = 0; i < n; i++)
        value[i] = (i < nt ? prior->crr : prior->cda_m2) + unit[i] * value[i];
}

static enum cw_status solve(const struct cw_information *information, const struct prior *prior,
                            double *value, double *covariance, struct cw_error *error) {
    size_t n = information->n, nt = information->n_tyres;
    /* Crr is some hundredth of CdA: both are taken in units of their widest, for a better pivot. */
    double *scaled = malloc(n * n * sizeof *scaled), *unit = malloc(n * sizeof *unit);
    double level = prior->cda_sd_m2 / prior->level_sd_m2 / (double)information->n_runs;
    enum cw_status status = CW_OK;
    if (!scaled || !unit) {
        status = cw_error_memory(error);
        goto cleanup;
    }
    for (size_t i = 0; i < n; i++) unit[i] = i < nt ? prior->crr_sd : prior->cda_sd_m2;
    for (size_t i = 0; i < n; i++)
        for (size_t j = 0; j < n; j++)
            scaled[i * n + j] = information->matrix[i * n + j] * unit[i] * unit[j] +
                                (i == j ? 1 : 0) + (i < nt || j < nt ? 0 : level * level);
    if (!cw_cholesky_factor(n, scaled)) {
        status = cw_error_set(error, CW_E_NUMERIC, NULL, 0, "Crr and CdA cannot be solved for");
        goto cleanup;
    }
    if (value) solve_for(information, prior, scaled, unit, value);
    if (!covariance) goto cleanup;
    cw_cholesky_invert(n, scaled);
    for (size_t i = 0; i < n; i++)
        for (size_t j = 0; j < n; j++)
            covariance[i * n + j] = scaled[i * n + j] * unit[i] * unit[j];
cleanup:
    free(scaled);
    free(unit);
    return status;
}

enum cw_status cw_information_solve(const struct cw_information *information, double *value,
                                    double *covariance, struct cw_error *error) {
    return solve(information, &wide, value, covariance, error);
}

enum cw_status cw_information_solve_usual(const struct cw_information *information, double *value,
                                          double *covariance, struct cw_error *error) {
    return solve(information, &usual, value, covariance, error);
}

/* With u = J g, the covariance C + variance g g' has the inverse J - u u' / (1/variance + g'u)
 * (Sherman & Morrison 1950); the estimate itself does not move, so b follows J. */
enum cw_status cw_information_loosen(struct cw_information *information, const double *by_parameter,
                                     double variance, struct cw_error *error) {
    size_t n = information->n;
    double *value = malloc(n * sizeof *value), *u = calloc(n, sizeof *u);
    enum cw_status status = CW_OK;
    if (!value || !u) {
        status = cw_error_memory(error);
        goto cleanup;
    }
    status = cw_information_solve(information, value, NULL, error);
    if (status < 0 || !(variance > 0)) goto cleanup;
    double gu = 0, uv = 0;
    for (size_t i = 0; i < n; i++) {
        for (size_t j = 0; j < n; j++) u[i] += information->matrix[i * n + j] * by_parameter[j];
        gu += by_parameter[i] * u[i];
        uv += u[i] * value[i];
    }
    double factor = 1 / (1 / variance + gu);
    for (size_t i = 0; i < n; i++) {
        for (size_t j = 0; j < n; j++) information->matrix[i * n + j] -= factor * u[i] * u[j];
        information->vector[i] -= factor * u[i] * uv;
    }
cleanup:
    free(value);
    free(u);
    return status;
}
