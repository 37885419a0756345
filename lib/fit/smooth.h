/* What a run did, given all that was recorded of it and the basis values of profile, CdA, Crr, lag
 * and scale: the likeliest motion, and breaks that the model does not know of. A fixed-interval
 * smoother by the backward recursion of Durbin & Koopman, Time Series Analysis by State Space
 * Methods, 2012, eqs. 4.44, 4.69 and 6.15 (observations taken one by one). */
#ifndef CW_FIT_SMOOTH_H
#define CW_FIT_SMOOTH_H

#include "base/error.h"
#include "fit/linear.h"
#include "fit/noise.h"

/* Moves data's basis motion (of which linear is the linearisation) to the smoothed one. gust,
 * if not NULL, takes the smoothed gust at each grid point (m/s). */
enum cw_status cw_smooth_motion(const struct cw_linear *linear, const struct cw_noise *noise,
                                double offset_sd_m, double shift_sd_m, struct cw_run_data *data,
                                double *gust, struct cw_error *error);

/* What the records say of a break on the way from one grid point to the next (metres): it was
 * pull/precision, give or take 1/sqrt(precision), were nothing known of it beforehand but that it
 * is N(0, break_sd_m^2). */
struct cw_told_break {
    double pull, precision;
};

/* Fills told for each of the run's n - 1 steps and either break, taken one at a time. */
enum cw_status cw_smooth_breaks(const struct cw_linear *linear, const struct cw_noise *noise,
                                double offset_sd_m, double shift_sd_m,
                                struct cw_told_break (*told)[CW_BREAKS], struct cw_error *error);

#endif
