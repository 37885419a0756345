/* A descent integrated in time by steps that adapt themselves to the error allowed. */
#ifndef CW_PHYSICS_DESCENT_H
#define CW_PHYSICS_DESCENT_H

#include <stdbool.h>
#include <stddef.h>

#include "base/error.h"
#include "base/public.h"
#include "physics/forces.h"

CW_PUBLIC_BEGIN

/* The road as the descent sees it. Functions of along-road distance s (m); state is theirs,
 * borrowed while it runs. They are also asked some way past 0 and length_m (a trial step), where
 * they must stay finite. */
struct cw_descent_road {
    double (*height_m)(double s_m, const void *state); /* asked where the air has a column */
    double (*slope_ds)(double s_m, const void *state); /* dh/ds = sin of the angle */
    const void *state;
    double length_m;
};

/* Extra headwind over the mean at time t from the start (a gust); NULL for none. */
typedef double (*cw_gust)(double time_s, const void *state);

/* What brakes besides the forces, at a time and place: m/s2 off dv/dt; NULL for none. */
typedef double (*cw_brake)(double time_s, double s_m, const void *state);

struct cw_descent_options {
    double start_speed_ms; /* 0: a held start */
    double power_w;        /* at the wheel, all the way (cw_power_acceleration); 0 by default */
    double step_s;         /* how often the states are wanted; 1 by default */
    double first_s;        /* when the first one after the start is; 0 (default): after step_s */
    double relative_error; /* allowed per step; 1e-12 by default */
    double time_limit_s;   /* 3600 by default; reaching it is CW_E_DATA */
    cw_gust gust;
    const void *gust_state;  /* handed to gust; borrowed while the descent runs */
    double gust_knot_s;      /* where the gust is made of pieces this long, no step reaches across a
                              * corner; 0 (default): the gust is smooth */
    cw_brake brake;          /* smooth in both */
    const void *brake_state; /* as gust_state */
    bool ends_only; /* no states are kept, n stays 0: nothing is allocated, CW_E_MEMORY cannot be */
};
struct cw_descent_options cw_descent_options_default(void);

struct cw_descent {
    size_t n; /* states at 0 and every step_s, and the last one at the end, which may come sooner */
    double *time_s, *s_m, *speed_ms, *acceleration_ms2; /* n each, owned */
    double end_time_s, end_s_m, end_speed_ms; /* the last state: road's end, or standstill */
    double top_time_s, top_s_m, top_speed_ms; /* when and where it was fastest, the first time */
    bool stopped;                             /* came to a standstill before the road's end */
};

/* Integrates from s = 0 to the road's end or standstill. options may be NULL. The end is found as
 * accurately as the way there. A bicycle that the slope cannot set rolling stands still from the
 * start (n = 1). CW_E_ARGUMENT: a mass, length or step that is not positive,
 * a power or a first state's time below 0; CW_E_DATA: neither end
 * within the time limit; CW_E_NUMERIC: forces that are not finite, or an error allowed that no step
 * can keep to. Free with cw_descent_free, also after an error. */
enum cw_status cw_descent_run(const struct cw_bicycle *bicycle,
                              const struct cw_surroundings *surroundings,
                              const struct cw_descent_road *road,
                              const struct cw_descent_options *options, struct cw_descent *descent,
                              struct cw_error *error);
void cw_descent_free(struct cw_descent *descent);

CW_PUBLIC_END

#endif
