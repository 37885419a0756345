#include "fit/widen.h"

#include <math.h>
#include <stdlib.h>

#include "fit/workings.h"
#include "stats/student.h"

/* What of a run its CdA hangs on: its setup, or the first of those that are said to have its drag.
 */
static size_t drag_of(const struct cw_fit *fit, size_t run) {
    return cw_outing_drag_of(fit->of.outing, fit->runs[run].setup);
}

/* The mean CdA of run i's drag over all its runs, by the precision of their noise: what a
 * logarithm is taken about. */
static double drag_mean(const struct cw_fit *fit, size_t i) {
    const double *covariance = fit->workings->covariance,
                 *cda_m2 = fit->workings->value + fit->n_tyres;
    size_t nt = fit->n_tyres, m = fit->workings->information.n;
    double sum = 0, weight = 0;
    for (size_t k = 0; k < fit->n_runs; k++) {
        if (drag_of(fit, k) != drag_of(fit, i)) continue;
        double w = 1 / covariance[(nt + k) * m + nt + k];
        sum += w * cda_m2[k];
        weight += w;
    }
    return sum / weight;
}

/* What the runs say of how tyres answer to the temperature, by: what each run's value is off by
 * where that is a standard uncertainty more than was taken. */
static enum cw_status tell_warm(struct cw_fit *fit, const struct cw_components_data *data,
                                const double *by, struct cw_error *error) {
    double theta[CW_COMPONENTS_MOST], z, sd;
    cw_between_middle(&fit->workings->between, theta);
    enum cw_status status = cw_components_predict(data, theta, by, &z, &sd, error);
    if (status >= 0)
        fit->crr_fall_1k = cw_estimate_make(CW_CRR_FALL_1K + CW_CRR_FALL_SD_1K * z,
                                            CW_CRR_FALL_SD_1K * sd, cw_t_quantile(0.975, INFINITY));
    return status;
}

/* Finds how the runs differ beyond their noise, those of one drag (or of no setup) being taken to
 * be of one CdA. */
static enum cw_status find_between(struct cw_fit *fit, struct cw_error *error) {
    size_t n = fit->n_runs, nt = fit->n_tyres, m = fit->workings->information.n, p = 0;
    struct cw_between between = {0};
    struct cw_between_run *runs = calloc(n, sizeof *runs);
    double *block = calloc(3 * n * n + 3 * n + m, sizeof *block);
    enum cw_status status = block && runs ? CW_OK : cw_error_memory(error);
    if (status < 0) goto cleanup;
    double *noise = block, *design = noise + n * n, *value = design + n * n, *mean = value + n,
           *contrast = mean + n, *by = contrast + m, *fixed = by + n;
    const double *cda_m2 = fit->workings->value + nt;
    for (size_t i = 0; i < n; i++) {
        size_t first = 0;
        mean[i] = drag_mean(fit, i);
        if (!(mean[i] > 0)) goto cleanup; /* nothing can be said of how such runs differ */
        value[i] = (cda_m2[i] - mean[i]) / mean[i];
        by[i] = -cw_budget_warm(&fit->workings->budget, nt + i) / mean[i];
        contrast[nt + i] = 1 / (double)n;
        const struct cw_run_data *data = &fit->workings->joint.data[i];
        runs[i] = (struct cw_between_run){.by_wind = cw_wind_answer_of(data),
                                          .setup = data->setup,
                                          .road = data->road,
                                          .reversed = data->reversed,
                                          .run = &fit->of.runs->at[fit->runs[i].run],
                                          .note_sd_ms = fit->of.outing->wind_ms.uncertainty};
        while (drag_of(fit, first) != drag_of(fit, i)) first++;
        p += first == i;
    }
    for (size_t i = 0, at = 0; i < n; i++) {
        size_t first = 0;
        while (drag_of(fit, first) != drag_of(fit, i)) first++;
        if (first == i) {
            for (size_t j = i; j < n; j++) design[j * p + at] = drag_of(fit, j) == drag_of(fit, i);
            at++;
        }
        for (size_t j = 0; j < n; j++)
            noise[i * n + j] =
                fit->workings->covariance[(nt + i) * m + nt + j] / (mean[i] * mean[j]);
    }
    for (size_t i = 0; i < n; i++)
        for (size_t j = 0; j < n; j++) fixed[i * n + j] = by[i] * by[j];
    struct cw_components_data data = {.n = n,
                                      .p = p,
                                      .value = value,
                                      .design = design,
                                      .fixed = fit->coldest_c < fit->warmest_c ? fixed : NULL};
    status = cw_between_make(runs, n, &between, error);
    if (status >= 0)
        status = cw_between_fit(&between, noise, cw_fit_df(fit, contrast), true, &data,
                                &fit->workings->between, error);
    if (status == CW_OK && data.fixed) status = tell_warm(fit, &data, by, error);
    if (status == CW_NOT_IDENTIFIABLE) status = CW_OK;
    for (size_t who = 0; who < CW_WIND_SEEN; who++) fit->wind_use[who] = between.use[who];
cleanup:
    cw_between_free(&between);
    free(runs);
    free(block);
    return status;
}

static void widen_by(struct cw_estimate *estimate, double systematic) {
    double half = 0.5 * (estimate->high - estimate->low);
    estimate->standard_error = hypot(estimate->standard_error, systematic);
    half = hypot(half, cw_t_quantile(0.975, INFINITY) * systematic);
    estimate->low = estimate->value - half;
    estimate->high = estimate->value + half;
}

/* Adds to an estimate what stands beside its noise. */
static void add_systematic(struct cw_estimate *estimate, double systematic) {
    estimate->noise_standard_error = estimate->standard_error;
    widen_by(estimate, systematic);
}

/* The mean wind, where it was asked for: known as well as the noise within the runs has it, and as
 * winds of the runs' own, which it is the mean of, let it be. */
static void tell_wind(struct cw_fit *fit) {
    const struct cw_joint *joint = &fit->workings->joint;
    const struct cw_components *between = &fit->workings->between;
    fit->wind_told = joint->priors.wind.sd > 0;
    if (!fit->wind_told) return;
    double own = 0, n = (double)fit->n_runs;
    for (size_t i = 0; i < fit->n_runs; i++)
        for (size_t j = 0; j < fit->n_runs; j++)
            own += cw_between_alike(&fit->of.runs->at[fit->runs[i].run],
                                    &fit->of.runs->at[fit->runs[j].run]) /
                   (n * n);
    double sd = joint->wind_found.sd;
    if (between->n_components > CW_BETWEEN_WIND)
        sd = hypot(sd, between->of[CW_BETWEEN_WIND].median * sqrt(own));
    fit->wind_along_ms =
        cw_estimate_make(joint->wind_found.mean, sd, cw_t_quantile(0.975, INFINITY));
    fit->wind_along_ms.noise_standard_error = joint->wind_found.sd;
}

static void tell_bends(struct cw_fit *fit) {
    const struct cw_joint *joint = &fit->workings->joint;
    const double crr = CW_BENDS_ASIDE * CW_BENDS_ASIDE;
    fit->bends_told = joint->bends_found.sd < 0.5 * joint->priors.bends.sd;
    fit->bends_crr = cw_estimate_make(crr * joint->bends_found.mean, crr * joint->bends_found.sd,
                                      cw_t_quantile(0.975, INFINITY));
}

/* How sure the runs' mean temperature is: what recordings share, and the mean of their own. */
static double temperature_sd_c(const struct cw_fit *fit) {
    double shared = 0, own = 0, n = (double)fit->n_runs;
    for (size_t r = 0; r < fit->n_recorders; r++) {
        const struct cw_recording_air *air = &fit->workings->air[r];
        double runs = 0;
        for (size_t i = 0; i < fit->n_runs; i++)
            runs += fit->workings->joint.data[i].recording == r;
        shared += runs / n * air->shared[CW_AIR_TEMPERATURE];
        own += runs / n * runs / n * air->own[CW_AIR_TEMPERATURE] * air->own[CW_AIR_TEMPERATURE];
    }
    return sqrt(shared * shared + own);
}

/* Crr as it would have been at another temperature. */
static void tell_at_20c(struct cw_fit *fit) {
    double warmer_k = CW_CRR_AT_C - fit->temperature_c, fall = fit->crr_fall_1k.value;
    double share = cw_crr_warmer(fall, warmer_k);
    double beside = hypot(warmer_k * fit->crr_fall_1k.standard_error, fall * temperature_sd_c(fit));
    for (size_t t = 0; t < fit->n_tyres; t++) {
        const struct cw_estimate *crr = &fit->crr[t];
        fit->crr_at_20c[t] =
            (struct cw_estimate){share * crr->value, share * crr->standard_error, share * crr->low,
                                 share * crr->high, share * crr->noise_standard_error};
        widen_by(&fit->crr_at_20c[t], share * beside * crr->value);
    }
}

enum cw_status cw_fit_widen(struct cw_fit *fit, struct cw_error *error) {
    for (size_t t = 0; t < fit->n_tyres; t++)
        add_systematic(&fit->crr[t], cw_budget_of(&fit->workings->budget, t));
    for (size_t i = 0; i < fit->n_runs; i++) {
        struct cw_fit_run *run = &fit->runs[i];
        add_systematic(&run->together_cda_m2,
                       cw_budget_of(&fit->workings->budget, fit->n_tyres + i));
        add_systematic(&run->alone_cda_m2, cw_budget_of_alone(&fit->workings->budget, i, 0));
        add_systematic(&run->alone_crr, cw_budget_of_alone(&fit->workings->budget, i, 1));
    }
    fit->crr_fall_1k =
        cw_estimate_make(CW_CRR_FALL_1K, CW_CRR_FALL_SD_1K, cw_t_quantile(0.975, INFINITY));
    enum cw_status status = find_between(fit, error);
    if (status >= 0) tell_at_20c(fit);
    if (status >= 0) tell_wind(fit);
    if (status >= 0) tell_bends(fit);
    for (size_t i = 0; i < fit->n_runs && status >= 0; i++) {
        struct cw_fit_run *run = &fit->runs[i];
        const struct cw_run_data *data = &fit->workings->joint.data[i];
        status = cw_between_widen(&fit->workings->between, data, &run->together_cda_m2, error);
        if (status >= 0)
            status = cw_between_widen(&fit->workings->between, data, &run->alone_cda_m2, error);
    }
    return status;
}
