/* The numbers of the noise that are looked for, by name: one list for all that goes through them.
 */
#ifndef CW_FIT_NOISE_NUMBERS_H
#define CW_FIT_NOISE_NUMBERS_H

#include "fit/noise.h"

/* As parameters of the search (REML) they are logarithms. */
enum cw_noise_parameter {
    CW_NOISE_GUST_SD,
    CW_NOISE_GUST_TIME,
    CW_NOISE_DRIFT_SD,
    CW_NOISE_ELEVATION_SD,
    CW_NOISE_SPEED_SD,
    CW_NOISE_WANDER_SD,
    CW_NOISE_JITTER_SD,
    CW_NOISE_CREEP_SD,
    CW_NOISE_POSITION_SD,
    CW_NOISE_ROUGHNESS,
    CW_NOISE_MAP_SD,
    CW_NOISE_MAP_LENGTH,
    CW_NOISE_PARAMETERS
};

/* Its place in noise. */
double *cw_noise_number(struct cw_noise *noise, enum cw_noise_parameter parameter);

/* The noise with one of them larger by a part of itself. */
struct cw_noise cw_noise_moved(const struct cw_noise *noise, enum cw_noise_parameter parameter,
                               double part);

#endif
