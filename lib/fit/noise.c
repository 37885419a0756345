#include "fit/noise_search.h"

#include <math.h>

#include "fit/heights.h"

/* Times that the data of an outing cannot settle are fixed; what a wrong one would change, the
 * standard deviation that goes with it takes up, since runs are not much longer than they are. */
static const double drift_time_s = 150, wander_time_s = 60, jitter_time_s = 3, creep_time_s = 4;

static struct cw_reml_prior log_normal(double median, double log_sd, double low, double high) {
    return (struct cw_reml_prior){log(median), log_sd, log(low), log(high), 0};
}

static struct cw_reml_prior held(double value) {
    return (struct cw_reml_prior){log(value), 0, log(value), log(value), 0};
}

void cw_noise_priors(const struct cw_outing *outing,
                     struct cw_reml_prior prior[CW_NOISE_PARAMETERS]) {
    const struct cw_heights_prior *heights = cw_heights_prior(outing->elevation);
    prior[CW_NOISE_GUST_SD] = log_normal(0.1, 1.5, 0.005, 1.5);
    /* Who rides meets what of the air's eddies stands before them; what lasts longer than a run is
     * the run's own wind. Eight runs hardly tell it, so the median counts. */
    prior[CW_NOISE_GUST_TIME] = log_normal(14, 0.6, 2, 80);
    prior[CW_NOISE_DRIFT_SD] = log_normal(heights->drift_sd_m, 1.0, 0.01, 20);
    prior[CW_NOISE_ELEVATION_SD] = log_normal(heights->white_sd_m, 1.0, 0.005, 5);
    prior[CW_NOISE_SPEED_SD] = log_normal(0.1, 1.0, 0.005, 1.5);
    prior[CW_NOISE_WANDER_SD] = log_normal(1.5, 1.0, 0.1, 20);
    prior[CW_NOISE_JITTER_SD] = log_normal(0.3, 1.0, 0.01, 5);
    prior[CW_NOISE_CREEP_SD] = log_normal(0.05, 0.7, 0.002, 0.3);
    prior[CW_NOISE_POSITION_SD] = log_normal(0.1, 1.0, 0.01, 5);
    prior[CW_NOISE_ROUGHNESS] = log_normal(0.05, 3, 1e-4, 2);
    prior[CW_NOISE_MAP_SD] = log_normal(2, 1, 0.01, 50);
    prior[CW_NOISE_MAP_LENGTH] = log_normal(50, 0.5, 10, 300);
    /* As it was said; of a level road over the length of a bump. */
    if (isfinite(outing->elevation_uncertainty_m))
        prior[CW_NOISE_MAP_SD] = held(fmax(outing->elevation_uncertainty_m, 1e-3));
    if (outing->elevation == CW_ELEVATION_LEVEL) prior[CW_NOISE_MAP_LENGTH] = held(100);
}

double *cw_noise_number(struct cw_noise *noise, enum cw_noise_parameter parameter) {
    double *const number[CW_NOISE_PARAMETERS] = {
        [CW_NOISE_GUST_SD] = &noise->gust_sd_ms,
        [CW_NOISE_GUST_TIME] = &noise->gust_time_s,
        [CW_NOISE_DRIFT_SD] = &noise->drift_sd_m,
        [CW_NOISE_ELEVATION_SD] = &noise->elevation_sd_m,
        [CW_NOISE_SPEED_SD] = &noise->speed_sd_ms,
        [CW_NOISE_WANDER_SD] = &noise->wander_sd_m,
        [CW_NOISE_JITTER_SD] = &noise->jitter_sd_m,
        [CW_NOISE_CREEP_SD] = &noise->creep_sd_ms,
        [CW_NOISE_POSITION_SD] = &noise->position_sd_m,
        [CW_NOISE_ROUGHNESS] = &noise->roughness_m,
        [CW_NOISE_MAP_SD] = &noise->map_sd_m,
        [CW_NOISE_MAP_LENGTH] = &noise->map_length_m,
    };
    return number[parameter];
}

struct cw_noise cw_noise_moved(const struct cw_noise *noise, enum cw_noise_parameter parameter,
                               double part) {
    struct cw_noise moved = *noise;
    *cw_noise_number(&moved, parameter) *= 1 + part;
    return moved;
}

struct cw_noise cw_noise_from_log(const double log_value[CW_NOISE_PARAMETERS]) {
    struct cw_noise noise = {.drift_time_s = drift_time_s,
                             .wander_time_s = wander_time_s,
                             .jitter_time_s = jitter_time_s,
                             .creep_time_s = creep_time_s};
    for (enum cw_noise_parameter k = 0; k < CW_NOISE_PARAMETERS; k++)
        *cw_noise_number(&noise, k) = exp(log_value[k]);
    return noise;
}

void cw_noise_to_log(const struct cw_noise *noise, double log_value[CW_NOISE_PARAMETERS]) {
    struct cw_noise copy = *noise;
    for (enum cw_noise_parameter k = 0; k < CW_NOISE_PARAMETERS; k++)
        log_value[k] = log(*cw_noise_number(&copy, k));
}
