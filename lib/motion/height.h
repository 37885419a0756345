/* Heights of a recording: short gaps filled, their step and scatter, and the slope along the ride.
 */
#ifndef CW_MOTION_HEIGHT_H
#define CW_MOTION_HEIGHT_H

#include <stdbool.h>
#include <stddef.h>

#include "base/error.h"

/* Copies elevation_m, filling gaps of up to 5 s by straight lines in time; not across a gap_before.
 */
void cw_height_fill(size_t n, const double *time_s, const double *elevation_m,
                    const bool *gap_before, double *height_m);

/* The step that the heights come in, from a list of those that devices use (5 m to 0.1 m, and the
 * foot): the largest of which 95 % of the differences between neighbours are whole multiples. 0 if
 * none, or if fewer than 20 differences are not zero. */
double cw_height_step(size_t n, const double *elevation_m);

/* *sd_m: scatter (robust sd) of the heights about straight lines in time over 7 samples, but at
 * least step / sqrt(12). CW_E_MEMORY. */
enum cw_status cw_height_sd(size_t n, const double *time_s, const double *height_m,
                            const bool *gap_before, double step_m, double *sd_m,
                            struct cw_error *error);

/* dh/ds by straight lines through the heights within half_width_m along the ride on either side (at
 * least 2 samples on either side where the recording goes on). NaN where that cannot be told:
 * missing heights, or less than 5 m moved. */
void cw_height_slope(size_t n, const double *distance_m, const double *height_m,
                     const bool *gap_before, double half_width_m, double *slope);

#endif
