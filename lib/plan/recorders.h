/* What is known of the noise before a run is ridden: as the fit finds it, and how well so many runs
 * let it be known. */
#ifndef CW_PLAN_RECORDERS_H
#define CW_PLAN_RECORDERS_H

#include "fit/fit.h"
#include "fit/reml.h"
#include "outing/outing.h"
#include "plan/plan.h"

/* How long gusts last that are taken to blow, s: as the simulator's do. */
#define CW_PLAN_GUST_TIME_S 20

/* Of all below, one device: CW_NOISE_PARAMETERS numbers and its lag. */
struct cw_plan_noise {
    struct cw_reml found; /* n and parameter: as the fit will take it */
    /* What a second of a run tells of the parameters (a precision matrix), and what is known of
     * them beforehand; 0 where a parameter is not looked for. */
    double told[CW_REML_MOST][CW_REML_MOST], before[CW_REML_MOST];
    double gust_sd_ms, gust_time_s; /* as they blow; NaN: as they were found, no more is known */
};

enum cw_elevation cw_plan_elevation(enum cw_plan_recorder recorder);
bool cw_plan_has_speed(enum cw_plan_recorder recorder);

/* Of a kind of recorder, in gusts of that sd. */
void cw_plan_noise_usual(enum cw_plan_recorder recorder, double gust_sd_ms,
                         struct cw_plan_noise *noise);
/* As an outing was found to have it. CW_E_NUMERIC, CW_E_MEMORY. */
enum cw_status cw_plan_noise_like(const struct cw_fit *fit, struct cw_plan_noise *noise,
                                  struct cw_error *error);

/* The road's roughness is that, m; or what a perfectly even road's is taken for, if that is more.
 */
void cw_plan_noise_rough(struct cw_plan_noise *noise, double roughness_m);

/* Sets held->covariance to what runs of so many seconds together let the noise be known to; the
 * rest is found's. CW_E_NUMERIC, CW_E_MEMORY. */
enum cw_status cw_plan_noise_known(const struct cw_plan_noise *noise, double seconds,
                                   struct cw_reml *held, struct cw_error *error);

#endif
