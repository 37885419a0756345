/* How runs are coasted: each integrated from the forces in the wind of its time and the air of its
 * day. */
#ifndef CW_SIMULATE_COAST_H
#define CW_SIMULATE_COAST_H

#include <stddef.h>

#include "base/error.h"
#include "simulate/course.h"
#include "simulate/day.h"
#include "simulate/options.h"
#include "simulate/random.h"
#include "simulate/run.h"
#include "simulate/wind.h"

struct cw_coaster {
    const struct cw_simulate_options *options;
    const struct cw_course *course;
    const struct cw_day *days; /* by recording */
    struct cw_simulated_run *runs;
    struct cw_wind wind;
    struct cw_random scatter, brush;
};

/* What is handed in must outlive the coaster. The breeze is cw_wind_open's. Close with
 * cw_coaster_close, also after an error. */
enum cw_status cw_coaster_open(const struct cw_simulate_options *options,
                               const struct cw_course *course, const struct cw_day *days,
                               struct cw_breeze *breeze, struct cw_simulated_run *runs,
                               struct cw_coaster *coaster, struct cw_error *error);
void cw_coaster_close(struct cw_coaster *coaster);

/* Coasts a run, whose recording and way are set, from clock_s on: fills what is true of it but for
 * when it starts and ends. Runs come in order, each once. CW_E_DATA where it cannot be ridden.
 * coaster is a struct cw_coaster: this is what a ride calls (simulate/ride.h). */
enum cw_status cw_coaster_coast(size_t number, double clock_s, void *coaster,
                                struct cw_error *error);

#endif
