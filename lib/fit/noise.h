/* The error model of an outing: what disturbs a run and what disturbs its recording.
 *
 * Disturbances that last are Ornstein-Uhlenbeck processes (sd, correlation time); the others are
 * white, a new draw each sample. Gusts push the bicycle: their effect accumulates along the road.
 * Everything else disturbs only what is recorded. */
#ifndef CW_FIT_NOISE_H
#define CW_FIT_NOISE_H

#include "outing/outing.h"

struct cw_reml_prior;

struct cw_noise {
    double gust_sd_ms, gust_time_s;    /* wind along the road about its mean, OU */
    double drift_sd_m, drift_time_s;   /* recorded height, OU */
    double elevation_sd_m;             /* recorded height, white */
    double speed_sd_ms;                /* recorded speed, white */
    double wander_sd_m, wander_time_s; /* recorded position along the road, OU */
    double position_sd_m;              /* recorded position, white */
    double roughness_m;                /* of a profile: second differences of its coefficients */
};

/* The noise parameters that are estimated, by REML, as logarithms. */
enum cw_noise_parameter {
    CW_NOISE_GUST_SD,
    CW_NOISE_GUST_TIME,
    CW_NOISE_DRIFT_SD,
    CW_NOISE_ELEVATION_SD,
    CW_NOISE_SPEED_SD,
    CW_NOISE_WANDER_SD,
    CW_NOISE_POSITION_SD,
    CW_NOISE_ROUGHNESS,
    CW_NOISE_PARAMETERS
};

/* Stated weak priors of their logarithms, and hard bounds (a variance that runs to nothing or a
 * correlation time that runs away are known traps), by the source of the elevations. The medians
 * are common practice, no source. CW_NOISE_PARAMETERS of them. */
void cw_noise_priors(enum cw_elevation elevation, struct cw_reml_prior *prior);
struct cw_noise cw_noise_from_log(const double log_value[CW_NOISE_PARAMETERS]);
void cw_noise_to_log(const struct cw_noise *noise, double log_value[CW_NOISE_PARAMETERS]);

#endif
