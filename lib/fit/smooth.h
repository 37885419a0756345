/* The likeliest motion of a run, given all that was recorded of it and the basis values of profile,
 * CdA, Crr, lag and scale. */
#ifndef CW_FIT_SMOOTH_H
#define CW_FIT_SMOOTH_H

#include "base/error.h"
#include "fit/linear.h"
#include "fit/noise.h"

/* Moves data's basis motion (of which linear is the linearisation) to the smoothed one. gust,
 * if not NULL, takes the smoothed gust at each grid point (m/s). A fixed-interval smoother by the
 * backward recursion of Durbin & Koopman, Time Series Analysis by State Space Methods, 2012,
 * eqs. 4.44 and 6.15 (observations taken one by one). */
enum cw_status cw_smooth_motion(const struct cw_linear *linear, const struct cw_noise *noise,
                                double offset_sd_m, double shift_sd_m, struct cw_run_data *data,
                                double *gust, struct cw_error *error);

#endif
