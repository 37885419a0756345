/* Runs that are still to be ridden, as they are expected, and the fit that they will give. */
#ifndef CW_PLAN_EXPECTED_H
#define CW_PLAN_EXPECTED_H

#include <stdbool.h>
#include <stddef.h>

#include "base/error.h"
#include "fit/fit.h"
#include "fit/held.h"
#include "plan/ground.h"
#include "plan/recorders.h"
#include "runs/run.h"
#include "simulate/run.h"

/* What is expected of a day. All borrowed. */
struct cw_plan_day {
    const struct cw_simulate_options *options;
    const struct cw_plan_ground *ground;
    const struct cw_plan_noise *noise;
    struct cw_bicycle bicycle; /* with the CdA and Crr that are guessed */
    struct cw_place place;
    struct cw_outing outing; /* setups and all; of it a day owns nothing */
    bool speed;              /* is recorded */
    size_t threads;          /* at most */
    bool by_energy;          /* no cadence tells where runs begin and end */
};

/* Owns all of it; what the fit borrows is in it and in the day. Not to be copied. */
struct cw_plan_expected {
    struct cw_runs runs;
    struct cw_simulated_run *ridden; /* one a run */
    double end_s;                    /* when the ride is over, from its beginning */
    struct cw_fit fit;
};

/* A single run, in still air. CW_E_DATA where nothing rolls. Free with cw_descent_free. */
enum cw_status cw_plan_coast(const struct cw_plan_day *day, double start_speed_ms, double step_s,
                             struct cw_descent *descent, struct cw_error *error);

/* The ride in an order, one setup's index for each of n runs: when each begins, and when all is
 * over. No fit. Free with cw_plan_expected_free, also after an error. */
enum cw_status cw_plan_ride(const struct cw_plan_day *day, const size_t *order, size_t n,
                            struct cw_plan_expected *expected, struct cw_error *error);

/* What the runs then give where the recorder errs as the day says. gusts_true: in gusts as they
 * blow, and not as the fit takes them. Only of what lies from from_m to to_m of the road. tyres:
 * each setup is on tyres of its own. */
struct cw_plan_look {
    enum cw_fit_depth depth;
    const double *answer; /* as cw_fit_held has it; NULL: degrees of freedom are not asked for */
    bool gusts_true;
    double from_m, to_m;
    bool tyres;
};
enum cw_status cw_plan_expect(const struct cw_plan_day *day, const struct cw_plan_look *look,
                              struct cw_plan_expected *expected, struct cw_error *error);
void cw_plan_expected_free(struct cw_plan_expected *expected);

#endif
