#include "fit/workings.h"

#include <math.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include "fit/breaks.h"
#include "fit/crew.h"
#include "fit/heights.h"
#include "fit/held.h"
#include "fit/search.h"
#include "fit/smooth.h"
#include "fit/summary.h"
#include "fit/widen.h"
#include "stats/student.h"

/* By how much a parameter's logarithm, or a lag in seconds, is moved to see what depends on it. */
static const double move_by = 0.2;

/* Whether a road was ridden both ways, so that the runs tell the wind along it. */
static bool both_ways(const struct cw_run_data *data, size_t n) {
    for (size_t i = 0; i < n; i++)
        for (size_t j = 0; data[i].reversed && j < n; j++)
            if (!data[j].reversed && data[j].road == data[i].road) return true;
    return false;
}

/* Where runs tell the wind, what the outing's file says of it is no more than where to begin. */
static const double wind_sd_ms = 3;
/* Of what bends cost: a fifth of a g to the side then costs 0.004 of Crr. Common practice, no
 * source.
 */
static const double bends_sd = 0.1;

/* By how much a run's mean wind differs from the outing's on a day that people ride on. Common
 * practice, no source. */
static const double own_wind_ms = 0.7;

static struct cw_joint_priors joint_priors(const struct cw_outing *outing, bool both_ways) {
    const struct cw_heights_prior *heights = cw_heights_prior(outing->elevation);
    return (struct cw_joint_priors){
        .offset_sd_m = heights->offset_sd_m,
        .shift_sd_m = 20,
        .scale_sd = 0.005,
        .bends = {0, bends_sd},
        .wind = {outing->wind_along_ms, both_ways ? wind_sd_ms : 0},
        .own_wind_ms = own_wind_ms,
        .mapped = heights->mapped,
        .cda_m2 = {0.35, 0.3},
    };
}

/* The numbers that a summary's solutions take: those of all runs together, then each alone. */
static size_t summary_values(const struct cw_joint *joint, const struct cw_summary *summary) {
    return summary->together.n + (summary->alone ? joint->n_runs * (joint->n_tyres + 1) : 0);
}

static enum cw_status summary_solve(const struct cw_joint *joint, const struct cw_summary *summary,
                                    double *value, struct cw_error *error) {
    enum cw_status status = cw_information_solve(&summary->together, value, NULL, error);
    value += summary->together.n;
    for (size_t i = 0; summary->alone && i < joint->n_runs && status >= 0; i++)
        status =
            cw_information_solve(&summary->alone[i], value + i * (joint->n_tyres + 1), NULL, error);
    return status;
}

/* The summary at the parameters, loosened by what is not known of the lags. subset: NULL, or all
 * runs by their numbers, with the wind as it was found. */
static enum cw_status summarise(struct cw_joint *joint, const size_t *subset,
                                const double *parameter,
                                double covariance[CW_REML_MOST][CW_REML_MOST],
                                struct cw_summary *summary, struct cw_error *error) {
    double *by_lag = NULL, *value[2] = {NULL, NULL};
    struct cw_noise noise = cw_noise_from_log(parameter);
    const double *lag = parameter + CW_NOISE_PARAMETERS;
    struct cw_summary there = {0};
    size_t n = summary_values(joint, summary), nt = joint->n_tyres;
    cw_joint_set_lags(joint, lag);
    enum cw_status status = cw_joint_evaluate(joint, subset, joint->n_runs, &noise, NULL,
                                              &summary->together, summary->alone, error);
    if (status >= 0) status = cw_summary_alloc(joint, summary->alone, &there, error);
    if (status < 0) return status;
    by_lag = malloc(3 * n * sizeof *by_lag);
    if (!by_lag) {
        status = cw_error_memory(error);
        goto cleanup;
    }
    value[0] = by_lag + n;
    value[1] = by_lag + 2 * n;
    for (size_t d = 0; d < joint->n_devices && status >= 0; d++) {
        double variance = covariance[CW_NOISE_PARAMETERS + d][CW_NOISE_PARAMETERS + d];
        if (!(variance > 0)) continue;
        double step = fmin(0.5, fmax(0.05, sqrt(variance)));
        double moved[CW_REML_MOST];
        for (int side = 0; side < 2 && status >= 0; side++) {
            memcpy(moved, lag, joint->n_devices * sizeof *moved);
            moved[d] += side ? step : -step;
            cw_joint_set_lags(joint, moved);
            status = cw_joint_evaluate(joint, subset, joint->n_runs, &noise, NULL, &there.together,
                                       there.alone, error);
            if (status >= 0) status = summary_solve(joint, &there, value[side], error);
        }
        if (status < 0) break;
        for (size_t i = 0; i < n; i++) by_lag[i] = (value[1][i] - value[0][i]) / (2 * step);
        status = cw_information_loosen(&summary->together, by_lag, variance, error);
        for (size_t i = 0; summary->alone && i < joint->n_runs && status >= 0; i++)
            if (joint->data[i].device == d)
                status = cw_information_loosen(&summary->alone[i],
                                               by_lag + summary->together.n + i * (nt + 1),
                                               variance, error);
    }
    cw_joint_set_lags(joint, lag);
cleanup:
    cw_summary_free(&there);
    free(by_lag);
    return status;
}

/* c' C c, C being n x n. */
static double quadratic(const double *matrix, const double *c, size_t n) {
    double sum = 0;
    for (size_t i = 0; i < n; i++) {
        double row = 0;
        if (c[i] == 0) continue;
        for (size_t j = 0; j < n; j++) row += matrix[i * n + j] * c[j];
        sum += c[i] * row;
    }
    return sum;
}

static double satterthwaite(double variance, const double *gradient, size_t n,
                            const double covariance[CW_REML_MOST][CW_REML_MOST]) {
    double spread = 0;
    for (size_t a = 0; a < n; a++)
        for (size_t b = 0; b < n; b++) spread += gradient[a] * covariance[a][b] * gradient[b];
    return spread > 0 ? fmax(1, 2 * variance * variance / spread) : INFINITY;
}

double cw_fit_df(const struct cw_fit *fit, const double *contrast) {
    size_t n = fit->workings->information.n;
    double gradient[CW_REML_MOST] = {0}, held = quadratic(fit->workings->held, contrast, n);
    for (size_t k = 0; k < CW_NOISE_PARAMETERS; k++)
        if (fit->workings->move[k] != 0)
            gradient[k] = (quadratic(fit->workings->moved + k * n * n, contrast, n) - held) /
                          fit->workings->move[k];
    return satterthwaite(quadratic(fit->workings->covariance, contrast, n), gradient,
                         fit->workings->n_noise, fit->workings->noise_covariance);
}

bool cw_cda_known(const struct cw_estimate *cda_m2) {
    return cda_m2->value > 0.02 &&
           cda_m2->high - cda_m2->low < fmin(cda_m2->value, CW_USUAL_CDA_M2);
}

/* The same of a Crr: to 0.005 either way, which is all of what tyres have. */
static bool crr_known(const struct cw_estimate *crr) {
    return crr->high - crr->low < 0.01;
}

/* How the variances of a run's CdA and Crr, by itself, depend on the noise, lags held. */
struct alone_answer {
    double held[2], gradient[2][CW_REML_MOST];
};

static enum cw_status alone_variances(const struct cw_fit *fit, const struct cw_summary *summary,
                                      size_t i, double variance[2], struct cw_error *error) {
    size_t nt = fit->n_tyres, n = nt + 1, at[2] = {nt, fit->runs[i].tyres}; /* CdA, Crr */
    double *covariance = malloc(n * n * sizeof *covariance);
    if (!covariance) return cw_error_memory(error);
    enum cw_status status = cw_information_solve(&summary->alone[i], NULL, covariance, error);
    for (int k = 0; k < 2; k++) variance[k] = covariance[at[k] * n + at[k]];
    free(covariance);
    return status;
}

static enum cw_status fit_alone(struct cw_fit *fit, const struct cw_information *information,
                                const struct alone_answer *answer, size_t index,
                                struct cw_error *error) {
    struct cw_fit_run *run = &fit->runs[index];
    size_t nt = fit->n_tyres, n = nt + 1, at[2] = {nt, run->tyres};
    double *covariance = malloc((n * n + n) * sizeof *covariance), *value;
    if (!covariance) return cw_error_memory(error);
    value = covariance + n * n;
    enum cw_status status = cw_information_solve(information, value, covariance, error);
    if (status < 0) goto cleanup;
    struct cw_estimate *estimate[2] = {&run->alone_cda_m2, &run->alone_crr};
    const double as_ridden[2] = {1, cw_joint_own_crr(&fit->workings->joint, index, 1)};
    for (int i = 0; i < 2; i++) {
        double variance = covariance[at[i] * n + at[i]];
        double df = satterthwaite(variance, answer->gradient[i], fit->workings->n_noise,
                                  fit->workings->noise_covariance);
        *estimate[i] = cw_estimate_make(as_ridden[i] * value[at[i]], as_ridden[i] * sqrt(variance),
                                        cw_t_quantile(0.975, df));
    }
    run->correlation = as_ridden[1] * covariance[at[0] * n + at[1]] /
                       (run->alone_cda_m2.standard_error * run->alone_crr.standard_error);
    run->identifiable = cw_cda_known(&run->alone_cda_m2);
    run->crr_known = run->identifiable && crr_known(&run->alone_crr);
cleanup:
    free(covariance);
    return status;
}

/* The runs' values and covariance for print: with the wind as all runs tell it. In what compares
 * runs it is left open, for it is their differences that tell it. */
static enum cw_status with_wind_known(struct cw_fit *fit, const double *parameter, double *value,
                                      double *covariance, struct cw_error *error) {
    struct cw_joint *joint = &fit->workings->joint;
    struct cw_summary there = {0};
    size_t *all = malloc(joint->n_runs * sizeof *all);
    enum cw_status status = all ? CW_OK : cw_error_memory(error);
    if (status >= 0) status = cw_summary_alloc(joint, false, &there, error);
    for (size_t i = 0; status >= 0 && i < joint->n_runs; i++) all[i] = i;
    if (status >= 0)
        status = summarise(joint, all, parameter, fit->workings->noise_covariance, &there, error);
    if (status >= 0) status = cw_information_solve(&there.together, value, covariance, error);
    cw_summary_free(&there);
    free(all);
    return status;
}

/* Covariances with the lags held, and with one noise parameter moved after the other: of all runs
 * together, and of each alone. */
static enum cw_status fit_moved(struct cw_fit *fit, const struct cw_reml *reml,
                                struct alone_answer *answer, struct cw_error *error) {
    struct cw_joint *joint = &fit->workings->joint;
    size_t n = joint->n_tyres + joint->n_runs;
    double parameter[CW_REML_MOST], known[CW_REML_MOST][CW_REML_MOST] = {{0}};
    struct cw_summary there = {0};
    /* Of so many runs the noise is known too well for a run's own variances to tell. */
    enum cw_status status =
        cw_summary_alloc(joint, joint->n_runs == cw_search_runs(joint), &there, error);
    if (status < 0) return status;
    memcpy(parameter, reml->parameter, sizeof parameter);
    status = summarise(joint, NULL, parameter, known, &there, error);
    if (status >= 0)
        status = cw_information_solve_usual(&there.together, NULL, fit->workings->held, error);
    for (size_t i = 0; there.alone && i < joint->n_runs && status >= 0; i++)
        status = alone_variances(fit, &there, i, answer[i].held, error);
    for (size_t k = 0; k < CW_NOISE_PARAMETERS && status >= 0; k++) {
        double move = fit->workings->move[k];
        if (move == 0) continue;
        parameter[k] += move;
        status = summarise(joint, NULL, parameter, known, &there, error);
        parameter[k] = reml->parameter[k];
        if (status >= 0)
            status = cw_information_solve_usual(&there.together, NULL,
                                                fit->workings->moved + k * n * n, error);
        for (size_t i = 0; there.alone && i < joint->n_runs && status >= 0; i++) {
            double variance[2];
            status = alone_variances(fit, &there, i, variance, error);
            for (int c = 0; c < 2 && status >= 0; c++)
                answer[i].gradient[c][k] = (variance[c] - answer[i].held[c]) / move;
        }
    }
    cw_summary_free(&there);
    return status;
}

static void tell_together(struct cw_fit *fit, const double *value, const double *printed,
                          double *contrast) {
    size_t n = fit->workings->information.n, nt = fit->n_tyres;
    for (size_t i = 0; i < n; i++) {
        memset(contrast, 0, n * sizeof *contrast);
        contrast[i] = 1;
        double variance = printed[i * n + i],
               part = variance / fit->workings->covariance[i * n + i];
        double df = fmax(1, cw_fit_df(fit, contrast) * part * part);
        struct cw_estimate estimate =
            cw_estimate_make(value[i], sqrt(variance), cw_t_quantile(0.975, df));
        if (i < nt) {
            fit->crr[i] = estimate;
            fit->crr_identifiable[i] = crr_known(&estimate);
        } else {
            struct cw_fit_run *run = &fit->runs[i - nt];
            run->together_cda_m2 = estimate;
            run->together_identifiable = cw_cda_known(&estimate);
        }
    }
}

/* All runs together, and each alone. */
static enum cw_status fit_runs(struct cw_fit *fit, const struct cw_reml *reml,
                               struct cw_error *error) {
    struct cw_joint *joint = &fit->workings->joint;
    size_t n = joint->n_tyres + joint->n_runs;
    struct cw_summary found = {0};
    struct alone_answer *answer = calloc(joint->n_runs, sizeof *answer);
    double *value = calloc(2 * n + n * n, sizeof *value), *contrast, *printed;
    fit->workings->covariance =
        calloc((2 + CW_NOISE_PARAMETERS) * n * n + n, sizeof *fit->workings->covariance);
    enum cw_status status =
        value && answer && fit->workings->covariance ? CW_OK : cw_error_memory(error);
    if (status < 0) goto cleanup;
    contrast = value + n;
    printed = contrast + n;
    fit->workings->held = fit->workings->covariance + n * n;
    fit->workings->moved = fit->workings->held + n * n;
    fit->workings->value = fit->workings->moved + CW_NOISE_PARAMETERS * n * n;
    status = fit_moved(fit, reml, answer, error);
    if (status >= 0) status = cw_summary_alloc(joint, true, &found, error);
    if (status >= 0)
        status =
            summarise(joint, NULL, reml->parameter, fit->workings->noise_covariance, &found, error);
    for (size_t i = 0; i < joint->n_runs && status >= 0; i++)
        status = fit_alone(fit, &found.alone[i], &answer[i], i, error);
    if (status < 0) goto cleanup;
    fit->workings->information = found.together;
    found.together = (struct cw_information){0};
    status = cw_information_solve_usual(&fit->workings->information, fit->workings->value,
                                        fit->workings->covariance, error);
    if (status >= 0)
        status = joint->priors.wind.sd > 0
                     ? with_wind_known(fit, reml->parameter, value, printed, error)
                     : cw_information_solve(&fit->workings->information, value, printed, error);
    if (status >= 0) tell_together(fit, value, printed, contrast);
cleanup:
    cw_summary_free(&found);
    free(answer);
    free(value);
    return status;
}

/* What the runs' energies, all else taken as fitted, say of the wind along the road, and of what
 * was lost at a place. */
static enum cw_status find_disturbances(struct cw_fit *fit, struct cw_error *error) {
    const struct cw_joint_priors *priors = &fit->workings->joint.priors;
    for (size_t i = 0; i < fit->n_runs; i++) {
        struct cw_run_data *data = &fit->workings->joint.data[i];
        fit->runs[i].gust_ms = malloc(data->n * sizeof(double));
        if (!fit->runs[i].gust_ms) return cw_error_memory(error);
        enum cw_status status =
            cw_smooth_motion(&fit->workings->joint.linear[i], &fit->noise, priors->offset_sd_m,
                             priors->shift_sd_m, data, fit->runs[i].gust_ms, error);
        if (status < 0) return status;
    }
    cw_joint_linearise(&fit->workings->joint);
    for (size_t i = 0; i < fit->n_runs; i++) {
        struct cw_fit_run *run = &fit->runs[i];
        const struct cw_joint *joint = &fit->workings->joint;
        enum cw_status status =
            cw_breaks_list(joint, i, CW_BREAK_LOSS, &run->losses, &run->n_losses, error);
        if (status >= 0)
            status = cw_breaks_list(joint, i, CW_BREAK_JUMP, &run->jumps, &run->n_jumps, error);
        if (status < 0) return status;
    }
    return CW_OK;
}

/* The density of each run's air, on the mean over its way. */
static void tell_densities(struct cw_fit *fit) {
    for (size_t i = 0; i < fit->n_runs; i++) {
        const struct cw_linear *linear = &fit->workings->joint.linear[i];
        double mean = 0;
        for (size_t j = 0; j < linear->n; j++) mean += linear->air[j] / (double)linear->n;
        fit->runs[i].density_kgm3 = mean * linear->data->surroundings.density_kgm3;
    }
}

/* Of a recording of which no run was kept: the first. */
static size_t device_of(const struct cw_joint *joint, size_t recording) {
    for (size_t i = 0; i < joint->n_runs; i++)
        if (joint->data[i].recording == recording) return joint->data[i].device;
    return 0;
}

/* Makes room for what a fit of prepared runs holds, and says what is known of them beforehand. */
static enum cw_status begin(const struct cw_ridden *input, const struct cw_prepared *prepared,
                            struct cw_fit *fit, struct cw_error *error) {
    size_t nt = prepared->n_tyres;
    fit->place = prepared->place;
    fit->n_runs = prepared->n;
    fit->n_tyres = nt;
    fit->n_recorders = input->n_recordings;
    fit->crr_given = isfinite(input->outing->crr);
    fit->temperature_c = fit->coldest_c = fit->warmest_c = prepared->temperature_c;
    fit->workings = calloc(1, sizeof *fit->workings);
    fit->runs = calloc(prepared->n, sizeof *fit->runs);
    fit->crr = calloc(nt, sizeof *fit->crr);
    fit->crr_at_20c = calloc(nt, sizeof *fit->crr_at_20c);
    fit->crr_identifiable = calloc(nt, sizeof *fit->crr_identifiable);
    fit->recorders = calloc(fit->n_recorders, sizeof *fit->recorders);
    if (!fit->workings || !fit->runs || !fit->crr || !fit->crr_at_20c || !fit->crr_identifiable ||
        !fit->recorders)
        return cw_error_memory(error);
    for (size_t i = 0; i < prepared->n; i++) {
        const struct cw_run_data *data = &prepared->data[i];
        fit->coldest_c = fmin(fit->coldest_c, data->temperature_c);
        fit->warmest_c = fmax(fit->warmest_c, data->temperature_c);
        fit->runs[i] = (struct cw_fit_run){.run = data->run,
                                           .setup = data->setup,
                                           .tyres = data->tyres,
                                           .mass_kg = data->bicycle.mass_kg,
                                           .density_kgm3 = NAN};
    }
    return CW_OK;
}

/* The joint equations of prepared runs, linearised; what was prepared passes to the fit. */
static enum cw_status make_joint(const struct cw_ridden *input, struct cw_prepared *prepared,
                                 struct cw_fit *fit, struct cw_error *error) {
    const struct cw_outing *outing = input->outing;
    size_t nt = prepared->n_tyres;
    struct cw_crr_prior *crr_prior = malloc(nt * sizeof *crr_prior);
    if (!crr_prior) return cw_error_memory(error);
    for (size_t t = 0; t < nt; t++) {
        /* An exactly known Crr is still held with an error, or the equations would be singular. */
        double sd = fmax(outing->crr_uncertainty, 1e-6);
        crr_prior[t] = fit->crr_given
                           ? (struct cw_crr_prior){{outing->crr, isfinite(sd) ? sd : 1e-6}, true}
                           : (struct cw_crr_prior){{0.005, 0.01}, false};
    }
    fit->tyres = prepared->tyres;
    fit->workings->roads = prepared->roads;
    fit->n_roads = prepared->n_roads;
    fit->workings->air = prepared->air;
    prepared->tyres = NULL;
    prepared->roads = NULL;
    prepared->air = NULL;
    struct cw_run_data *data = prepared->data;
    struct cw_joint_priors priors = joint_priors(outing, both_ways(data, prepared->n));
    prepared->data = NULL;
    enum cw_status status =
        cw_joint_make(data, prepared->n, prepared->n_roads, input->n_recordings, nt, &priors,
                      crr_prior, CW_PROFILE_SPACING_M, &fit->workings->joint, error);
    free(crr_prior);
    if (status >= 0) status = cw_crew_hire(&fit->workings->joint, input->threads, error);
    if (status >= 0) cw_joint_linearise(&fit->workings->joint);
    return status;
}

/* Takes the noise as it was found, or as it is held. */
static void take_noise(struct cw_fit *fit, const struct cw_reml *reml) {
    fit->workings->evaluations = reml->evaluations;
    fit->noise = cw_noise_from_log(reml->parameter);
    fit->workings->n_noise = reml->n;
    memcpy(fit->workings->noise_covariance, reml->covariance,
           sizeof fit->workings->noise_covariance);
    for (size_t k = 0; k < fit->workings->n_noise; k++)
        fit->workings->move[k] = fit->workings->noise_covariance[k][k] > 0 ? move_by : 0;
    for (size_t r = 0; r < fit->n_recorders; r++) {
        size_t device = device_of(&fit->workings->joint, r), k = CW_NOISE_PARAMETERS + device;
        fit->recorders[r] = (struct cw_fit_recorder){device,
                                                     reml->parameter[k],
                                                     sqrt(fit->workings->noise_covariance[k][k]),
                                                     fit->workings->joint.scale[r],
                                                     fit->workings->air[r].place.temperature_c,
                                                     fit->workings->air[r].place.density_kgm3,
                                                     fit->workings->air[r].told_by};
    }
}

/* All that is estimated, under the noise that was taken. */
static enum cw_status estimate(const struct cw_ridden *input, const struct cw_reml *reml,
                               struct cw_fit *fit, struct cw_error *error) {
    enum cw_status status = fit_runs(fit, reml, error);
    if (status < 0) return status;
    cw_joint_set_lags(&fit->workings->joint, reml->parameter + CW_NOISE_PARAMETERS);
    status = cw_budget_make(input->outing, fit->workings->air, fit->n_recorders, input->runs,
                            &fit->workings->joint, &fit->noise, &fit->workings->budget, error);
    if (status >= 0) status = cw_fit_widen(fit, error);
    return status;
}

enum cw_status cw_fit_outing(const struct cw_ridden *input, struct cw_fit *fit,
                             struct cw_error *error) {
    struct cw_prepared prepared = {0};
    struct cw_reml *reml = calloc(1, sizeof *reml);
    *fit = (struct cw_fit){.of = *input};
    enum cw_status status = reml ? CW_OK : cw_error_memory(error);
    if (status >= 0) status = cw_prepare(input, &prepared, error);
    if (status >= 0) status = begin(input, &prepared, fit, error);
    if (status >= 0) status = make_joint(input, &prepared, fit, error);
    if (status >= 0) status = cw_search(&fit->workings->joint, input->outing, reml, error);
    if (status >= 0) take_noise(fit, reml);
    if (status >= 0) status = estimate(input, reml, fit, error);
    if (status >= 0) status = find_disturbances(fit, error);
    if (status >= 0) tell_densities(fit);
    if (status >= 0) status = cw_fit_ways_make(fit, error);
    free(reml);
    cw_prepared_free(&prepared);
    if (status < 0) cw_fit_free(fit);
    return status;
}

void cw_fit_answer(const struct cw_fit *fit, const double *contrast, double *answer) {
    const struct cw_fit_workings *workings = fit->workings;
    size_t n = workings->information.n;
    double held = quadratic(workings->held, contrast, n);
    for (size_t k = 0; k < CW_NOISE_PARAMETERS; k++) {
        answer[k] = 0;
        if (workings->move[k] == 0 || !(held > 0)) continue;
        double moved = quadratic(workings->moved + k * n * n, contrast, n);
        answer[k] = (moved / held - 1) / workings->move[k];
    }
}

/* What all runs together say of Crr and CdA, and nothing more. */
static enum cw_status tell_information(struct cw_fit *fit, const struct cw_reml *reml,
                                       const double *answer, struct cw_error *error) {
    struct cw_fit_workings *workings = fit->workings;
    struct cw_joint *joint = &workings->joint;
    struct cw_summary found = {0};
    size_t n = joint->n_tyres + joint->n_runs, square = n * n;
    workings->covariance =
        calloc((2 + CW_NOISE_PARAMETERS) * square + n, sizeof *workings->covariance);
    if (!workings->covariance) return cw_error_memory(error);
    workings->held = workings->covariance + square;
    workings->moved = workings->held + square;
    workings->value = workings->moved + CW_NOISE_PARAMETERS * square;
    enum cw_status status = cw_summary_alloc(joint, false, &found, error);
    if (status >= 0)
        status = summarise(joint, NULL, reml->parameter, workings->noise_covariance, &found, error);
    if (status >= 0)
        status = cw_information_solve_usual(&found.together, workings->value, workings->covariance,
                                            error);
    struct cw_noise noise = cw_noise_from_log(reml->parameter);
    if (status >= 0) status = cw_budget_of_winds(joint, &noise, &workings->budget, error);
    workings->information = found.together;
    found.together = (struct cw_information){0};
    cw_summary_free(&found);
    for (size_t i = 0; i < square && status >= 0; i++) {
        workings->held[i] = workings->covariance[i];
        for (size_t k = 0; k < CW_NOISE_PARAMETERS; k++)
            workings->moved[k * square + i] =
                workings->covariance[i] * (answer ? 1 + answer[k] * workings->move[k] : 1);
    }
    return status;
}

/* As often as a search moves what all is linearised about; what is expected is near at once. */
enum { HELD_ROUNDS = 2 };

enum cw_status cw_fit_held(const struct cw_ridden *input, struct cw_prepared *prepared,
                           const struct cw_reml *held, enum cw_fit_depth depth,
                           const double *answer, struct cw_fit *fit, struct cw_error *error) {
    double change;
    *fit = (struct cw_fit){.of = *input};
    enum cw_status status = begin(input, prepared, fit, error);
    if (status >= 0) status = make_joint(input, prepared, fit, error);
    if (status >= 0) {
        struct cw_noise noise = cw_noise_from_log(held->parameter);
        cw_joint_set_lags(&fit->workings->joint, held->parameter + CW_NOISE_PARAMETERS);
        for (int round = 0; round < HELD_ROUNDS && status >= 0; round++)
            status = cw_joint_advance(&fit->workings->joint, &noise, &change, error);
    }
    if (status >= 0) take_noise(fit, held);
    if (status >= 0)
        status = depth == CW_FIT_INFORMATION ? tell_information(fit, held, answer, error)
                                             : estimate(input, held, fit, error);
    if (status >= 0) status = cw_fit_ways_make(fit, error);
    cw_prepared_free(prepared);
    if (status < 0) cw_fit_free(fit);
    return status;
}

static void workings_free(struct cw_fit_workings *workings, size_t n_roads) {
    if (!workings) return;
    cw_joint_free(&workings->joint);
    cw_fit_ways_free(&workings->ways);
    cw_information_free(&workings->information);
    cw_budget_free(&workings->budget);
    cw_components_free(&workings->between);
    for (size_t i = 0; workings->roads && i < n_roads; i++) cw_road_free(&workings->roads[i]);
    free(workings->covariance);
    free(workings->roads);
    free(workings->air);
    free(workings);
}

void cw_fit_free(struct cw_fit *fit) {
    workings_free(fit->workings, fit->n_roads);
    free(fit->tyres);
    for (size_t i = 0; fit->runs && i < fit->n_runs; i++) {
        free(fit->runs[i].gust_ms);
        free(fit->runs[i].losses);
        free(fit->runs[i].jumps);
    }
    free(fit->runs);
    free(fit->crr);
    free(fit->crr_at_20c);
    free(fit->crr_identifiable);
    free(fit->recorders);
    *fit = (struct cw_fit){0};
}
