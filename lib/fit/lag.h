/* How a recorder's heights lag: smoothed by a filter of the first order, as a barometer's are, so
 * that what it shows goes to what it feels by shown' = (felt - shown) / time. On a height that
 * rises evenly it is late by the filter's time; on one that bends it is not merely late, and that
 * is worth a percent and more of CdA. */
#ifndef CW_FIT_LAG_H
#define CW_FIT_LAG_H

/* shown after a step = keep shown + here felt + there felt after it. The three sum to 1. */
struct cw_lag_step {
    double keep, here, there;
};

/* Exact for a felt height that goes straight over the step of step_s (over 0). time_s 0 or less: no
 * filter, shown is what is felt. */
struct cw_lag_step cw_lag_step_make(double step_s, double time_s);

#endif
