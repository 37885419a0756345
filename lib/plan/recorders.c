#include "plan/recorders.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "fit/heights.h"
#include "fit/noise_search.h"
#include "fit/workings.h"
#include "stats/symmetric.h"

enum { NOISE = CW_NOISE_PARAMETERS + 1 }; /* the lag of the one device is the last */

/* As the fit finds the noise of 40 made-up outings, eight runs of some 85 s each in gusts of
 * 0.15 m/s that last 20 s (on the level 60 s): the mean, and how sure it then is, an sd of the
 * logarithm (of the lag: s). What a run can't tell apart it shares out by what is usual, so that
 * these are not what was made: gusts of 20 s are taken for such of 15 s, and a little weaker. */
static const struct kind {
    const char *name, *meaning;
    enum cw_elevation elevation;
    bool speed;
    double usual[NOISE], sd[NOISE];
    double gust_correlation; /* of its sd and time */
    double seconds;          /* of the eight runs */
} kinds[CW_PLAN_RECORDERS] = {
    [CW_PLAN_WHEEL] = {"wheel",
                       "speed from a wheel, cadence, barometric heights, positions",
                       CW_ELEVATION_BAROMETRIC,
                       true,
                       {0.126, 15.3, 0.264, 0.011, 0.0984, 1.05, 0.16, 0.0248, 0.188, 0.000909, 2,
                        50, 0.0477},
                       {0.22, 0.51, 0.08, 0.41, 0.03, 0.10, 0.33, 0.35, 0.07, 0.92, 0, 0, 0.11},
                       0.31,
                       680},
    [CW_PLAN_POSITIONS] = {"positions",
                           "positions and barometric heights, nothing else",
                           CW_ELEVATION_BAROMETRIC,
                           false,
                           {0.106, 14.1, 0.266, 0.0115, 0.1, 1.34, 0.366, 0.0475, 0.0834, 0.00107,
                            2, 50, 0.0799},
                           {0.59, 0.58, 0.09, 0.39, 0, 0.17, 0.15, 0.59, 0.42, 0.97, 0, 0, 0.13},
                           0.03,
                           680},
    [CW_PLAN_PHONE] = {"phone",
                       "positions and heights from satellites, nothing else",
                       CW_ELEVATION_SATELLITE,
                       false,
                       {0.110, 14.2, 3.54, 0.41, 0.1, 2.25, 0.392, 0.0506, 0.0951, 0.00458, 2, 50,
                        -0.0631},
                       {0.85, 0.59, 0.07, 0.06, 0, 0.11, 0.24, 0.58, 0.52, 1.00, 0, 0, 0.29},
                       0,
                       680},
    [CW_PLAN_MAP] = {"map",
                     "positions and a map's heights",
                     CW_ELEVATION_TERRAIN,
                     false,
                     {0.0978, 14.4, 0.3, 0.1, 0.1, 1.39, 0.356, 0.0473, 0.083, 0.00357, 2.01, 49,
                      0},
                     {0.72, 0.59, 0, 0, 0, 0.16, 0.16, 0.60, 0.42, 1.07, 0.16, 0.33, 0},
                     0.02,
                     680},
    [CW_PLAN_LEVEL] = {"level",
                       "speed from a wheel and cadence, on a road known to be level",
                       CW_ELEVATION_LEVEL,
                       true,
                       {0.0740, 14, 0.3, 0.1, 0.0986, 1.01, 0.151, 0.0232, 0.189, 0.00058, 0.01,
                        100, 0},
                       {0.92, 0.59, 0, 0, 0.04, 0.13, 0.40, 0.35, 0.09, 0.99, 0, 0, 0},
                       0.06,
                       480},
};
/* The gusts of those outings. */
static const double usual_gust_ms = 0.15;

bool cw_plan_recorder_word(size_t i, const char **name, const char **meaning) {
    if (i >= CW_PLAN_RECORDERS) return false;
    *name = kinds[i].name;
    *meaning = kinds[i].meaning;
    return true;
}

bool cw_plan_recorder_named(const char *name, enum cw_plan_recorder *recorder) {
    for (size_t i = 0; i < CW_PLAN_RECORDERS; i++)
        if (!strcmp(kinds[i].name, name)) {
            *recorder = (enum cw_plan_recorder)i;
            return true;
        }
    return false;
}

enum cw_elevation cw_plan_elevation(enum cw_plan_recorder recorder) {
    return kinds[recorder].elevation;
}

bool cw_plan_has_speed(enum cw_plan_recorder recorder) {
    return kinds[recorder].speed;
}

/* What is known of the parameters before anything is ridden, as precisions. */
static void know_before(enum cw_elevation elevation, double before[NOISE]) {
    struct cw_outing outing = {.elevation = elevation, .elevation_uncertainty_m = NAN};
    struct cw_reml_prior prior[NOISE];
    cw_noise_priors(&outing, prior);
    prior[CW_NOISE_PARAMETERS] = cw_heights_prior(elevation)->lag_s;
    for (size_t k = 0; k < NOISE; k++) before[k] = prior[k].sd > 0 ? pow(prior[k].sd, -2) : 0;
}

void cw_plan_noise_usual(enum cw_plan_recorder recorder, double gust_sd_ms,
                         struct cw_plan_noise *noise) {
    const struct kind *kind = &kinds[recorder];
    *noise = (struct cw_plan_noise){
        .found.n = NOISE, .gust_sd_ms = fmax(gust_sd_ms, 0.01), .gust_time_s = CW_PLAN_GUST_TIME_S};
    know_before(kind->elevation, noise->before);
    for (size_t k = 0; k < NOISE; k++) {
        noise->found.parameter[k] = k < CW_NOISE_PARAMETERS ? log(kind->usual[k]) : kind->usual[k];
        if (kind->sd[k] > 0)
            noise->told[k][k] = fmax(0, pow(kind->sd[k], -2) - noise->before[k]) / kind->seconds;
        else
            noise->before[k] = 0;
    }
    noise->found.parameter[CW_NOISE_GUST_SD] += log(noise->gust_sd_ms / usual_gust_ms);
    /* The two of the gusts hang together. */
    double sd = kind->sd[CW_NOISE_GUST_SD], time = kind->sd[CW_NOISE_GUST_TIME],
           with = kind->gust_correlation, left = 1 - with * with;
    noise->told[CW_NOISE_GUST_SD][CW_NOISE_GUST_SD] =
        fmax(0, 1 / (sd * sd * left) - noise->before[CW_NOISE_GUST_SD]) / kind->seconds;
    noise->told[CW_NOISE_GUST_TIME][CW_NOISE_GUST_TIME] =
        fmax(0, 1 / (time * time * left) - noise->before[CW_NOISE_GUST_TIME]) / kind->seconds;
    noise->told[CW_NOISE_GUST_SD][CW_NOISE_GUST_TIME] =
        noise->told[CW_NOISE_GUST_TIME][CW_NOISE_GUST_SD] =
            -with / (sd * time * left) / kind->seconds;
}

void cw_plan_noise_rough(struct cw_plan_noise *noise, double roughness_m) {
    noise->found.parameter[CW_NOISE_ROUGHNESS] = log(fmax(roughness_m, 0.001));
}

/* The inverse of those rows and columns that are not held; the others are 0. */
static enum cw_status invert(const double from[CW_REML_MOST][CW_REML_MOST],
                             const bool sought[NOISE], double to[CW_REML_MOST][CW_REML_MOST],
                             struct cw_error *error) {
    size_t at[NOISE] = {0}, n = 0;
    double a[NOISE * NOISE];
    for (size_t k = 0; k < NOISE; k++)
        if (sought[k]) at[n++] = k;
    for (size_t i = 0; i < n; i++)
        for (size_t j = 0; j < n; j++) a[i * n + j] = from[at[i]][at[j]];
    memset(to, 0, sizeof(double[CW_REML_MOST][CW_REML_MOST]));
    if (n && !cw_cholesky_inverse(n, a))
        return cw_error_set(error, CW_E_NUMERIC, NULL, 0,
                            "what is known of the noise cannot be solved for");
    for (size_t i = 0; i < n; i++)
        for (size_t j = 0; j < n; j++) to[at[i]][at[j]] = a[i * n + j];
    return CW_OK;
}

enum cw_status cw_plan_noise_like(const struct cw_fit *fit, struct cw_plan_noise *noise,
                                  struct cw_error *error) {
    double precision[CW_REML_MOST][CW_REML_MOST], seconds = 0;
    bool sought[NOISE];
    *noise = (struct cw_plan_noise){.found.n = NOISE, .gust_sd_ms = NAN, .gust_time_s = NAN};
    know_before(fit->of.outing->elevation, noise->before);
    cw_noise_to_log(&fit->noise, noise->found.parameter);
    noise->found.parameter[CW_NOISE_PARAMETERS] = fit->workings->joint.lag_s[0];
    for (size_t k = 0; k < NOISE; k++) {
        sought[k] = fit->workings->noise_covariance[k][k] > 0;
        if (!sought[k]) noise->before[k] = 0;
    }
    for (size_t i = 0; i < fit->n_runs; i++) {
        const struct cw_run_data *data = &fit->workings->joint.data[i];
        seconds += data->time_s[data->n - 1];
    }
    enum cw_status status = invert(fit->workings->noise_covariance, sought, precision, error);
    if (status < 0) return status;
    for (size_t i = 0; i < NOISE; i++)
        for (size_t j = 0; j < NOISE; j++)
            noise->told[i][j] = (precision[i][j] - (i == j ? noise->before[i] : 0)) / seconds;
    for (size_t k = 0; k < NOISE; k++) noise->told[k][k] = fmax(noise->told[k][k], 0);
    return CW_OK;
}

enum cw_status cw_plan_noise_known(const struct cw_plan_noise *noise, double seconds,
                                   struct cw_reml *held, struct cw_error *error) {
    double precision[CW_REML_MOST][CW_REML_MOST] = {{0}};
    bool sought[NOISE];
    for (size_t i = 0; i < NOISE; i++) {
        sought[i] = noise->before[i] > 0;
        for (size_t j = 0; j < NOISE; j++)
            precision[i][j] = seconds * noise->told[i][j] + (i == j ? noise->before[i] : 0);
    }
    *held = noise->found;
    enum cw_status status = invert(precision, sought, held->covariance, error);
    if (status >= 0) return status;
    /* What an outing said of two parameters together may not stand beside what it did not say of
     * either: each by itself then. */
    for (size_t i = 0; i < NOISE; i++)
        for (size_t j = 0; j < NOISE; j++)
            if (i != j) precision[i][j] = 0;
    return invert(precision, sought, held->covariance, error);
}
