/* The air of each recording: where recordings are of different days, each has its own. */
#ifndef CW_SIMULATE_DAY_H
#define CW_SIMULATE_DAY_H

#include "base/error.h"
#include "physics/air.h"
#include "simulate/options.h"

struct cw_day {
    double temperature_c, humidity_percent;
    double pressure_pa, density_kgm3, gravity_ms2; /* at height_m */
    double height_m;
    struct cw_air_column column; /* the air above and below */
};

/* The air as the outing file says it, halfway down the road. */
struct cw_day cw_day_stated(const struct cw_simulate_options *options, double height_m);
/* days[0 .. cw_simulate_recordings(options)), which the caller has allocated: about that. */
enum cw_status cw_days_fill(const struct cw_simulate_options *options, double height_m,
                            struct cw_day *days, struct cw_error *error);

#endif
