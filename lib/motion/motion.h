/* Motion: along-road distance, speed and height of a whole recording, each from its best source,
 * with the error of that source as the data show it.
 *
 * speed: the device's own speed column where it has one that moves as the positions do (wheel or
 * Doppler), else its distance column, else positions. Whatever the source, `speed_ms` and
 * `distance_m` here are smooth curves consistent with each other (motion/smoother.h),
 * never raw differences; the fit uses them as the point to linearise about and the raw columns as
 * observations. */
#ifndef CW_MOTION_MOTION_H
#define CW_MOTION_MOTION_H

#include <stdbool.h>
#include <stddef.h>

#include "base/error.h"
#include "base/public.h"
#include "motion/metric.h"
#include "motion/speed.h"
#include "recording/recording.h"

CW_PUBLIC_BEGIN

/* The columns are owned and have n numbers each. */
struct cw_motion {
    size_t n; /* as many as the recording's samples */
    enum cw_speed_source source;
    double speed_sd_ms;      /* white error of the raw speed column (device), 0 if it is not used */
    double position_sd_m;    /* white error of the raw positions, point to point; 0 without them */
    double elevation_step_m; /* the step the heights come in (0.1, 0.2, 1 ...); 0 if none seen */
    double elevation_sd_m;   /* scatter of the heights about their run over some seconds, with the
                              * step's own (step / sqrt(12)); slow drift is not in it */
    struct cw_metric metric; /* origin at the first position, lifted to the middle height */
    double *speed_ms;        /* smooth; NaN where there is none */
    double *distance_m;      /* its integral along the ride from the first sample; across a gap the
                              * way that the device has counted, else straight between positions */
    double *acceleration_ms2; /* smooth, along the road; NaN where speed is */
    double *speed_error_ms;   /* sd of speed_ms as the smoother knows it; NaN where speed is */
    double *east_m, *north_m; /* raw positions in the plane; NaN where missing */
    double *height_m; /* elevation with gaps up to 5 s interpolated, else NaN; raw otherwise */
    double *slope;    /* dh/ds of height smoothed over some 30 m; NaN where unknown */
    bool *gap_before; /* a run must not reach across: gap over CW_GAP_S, break, lost position */
};

/* Allocates the columns; free with cw_motion_free, also after an error. CW_E_DATA when there is
 * neither position nor speed nor distance, or no elevation. */
enum cw_status cw_motion_make(const struct cw_recording *recording, struct cw_motion *motion,
                              struct cw_error *error);
/* The same over a road that is known to be level: recorded heights are not looked at and need not
 * be there; height_m and slope are 0 throughout, elevation_step_m and elevation_sd_m too. */
enum cw_status cw_motion_make_level(const struct cw_recording *recording, struct cw_motion *motion,
                                    struct cw_error *error);
void cw_motion_free(struct cw_motion *motion);

CW_PUBLIC_END

#endif
