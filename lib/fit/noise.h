/* The error model of an outing: what disturbs a run and what disturbs its recording.
 *
 * Disturbances that last are Ornstein-Uhlenbeck processes (sd, correlation time); the others are
 * white, a new draw each sample. Gusts push the bicycle: their effect accumulates along the road.
 * Everything else disturbs only what is recorded. */
#ifndef CW_FIT_NOISE_H
#define CW_FIT_NOISE_H

#include "base/public.h"

CW_PUBLIC_BEGIN

struct cw_noise {
    double gust_sd_ms, gust_time_s;    /* wind along the road about its mean, OU */
    double drift_sd_m, drift_time_s;   /* recorded height, OU */
    double elevation_sd_m;             /* recorded height, white */
    double speed_sd_ms;                /* recorded speed, white */
    double wander_sd_m, wander_time_s; /* recorded position along the road, OU */
    double jitter_sd_m, jitter_time_s; /* the same, over seconds, OU */
    /* Recorded speed, OU; what it adds up to is in the recorded position, of which wander_time_s
     * keeps hold: satellite receivers filter both together. */
    double creep_sd_ms, creep_time_s;
    double position_sd_m; /* recorded position, white */
    double roughness_m; /* of a profile: second differences of its coefficients, about their mean */
    double map_sd_m, map_length_m; /* a map's heights: OU along the road */
};

CW_PUBLIC_END

#endif
