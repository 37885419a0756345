/* The wind along the road about its mean: gusts within a run, a part that is the run's own, and a
 * wander in clock time, which neighbouring runs share. */
#ifndef CW_SIMULATE_WIND_H
#define CW_SIMULATE_WIND_H

#include <stdbool.h>
#include <stddef.h>

#include "base/error.h"
#include "simulate/breeze.h"
#include "simulate/options.h"
#include "simulate/random.h"

/* All zero before cw_wind_open and after cw_wind_close. */
struct cw_wind {
    const struct cw_simulate_options *options; /* must outlive the wind */
    struct cw_random own, wandering;
    struct cw_drift wander;
    double *wander_ms;            /* of the run that is under way, where series has its points */
    double own_ms;                /* of that run */
    struct cw_breeze *breeze;     /* what all this comes to, without gusts */
    bool met;                     /* the breeze is there already: only gusts are made */
    double clock_s;               /* of wander.value */
    struct cw_gust_series series; /* against who rides down the road, from the run's beginning on */
};

/* limit_s: how long a run may take. An empty breeze, which must outlive the wind, is filled as runs
 * are made; one that has something in it is met as it is. Close with cw_wind_close, also after an
 * error. */
enum cw_status cw_wind_open(const struct cw_simulate_options *options, double step_s,
                            double limit_s, struct cw_breeze *breeze, struct cw_wind *wind,
                            struct cw_error *error);
void cw_wind_close(struct cw_wind *wind);
/* The series of the run of that number (from 0), which begins at clock_s; runs come in the order of
 * the clock, each once. */
enum cw_status cw_wind_begin(struct cw_wind *wind, size_t number, double clock_s,
                             struct cw_error *error);
/* The run took so long; the wander goes on from there. */
enum cw_status cw_wind_end(struct cw_wind *wind, double duration_s, struct cw_error *error);

#endif
