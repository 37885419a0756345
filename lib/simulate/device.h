/* What a device makes of a true ride: samples with the errors of its sensors. */
#ifndef CW_SIMULATE_DEVICE_H
#define CW_SIMULATE_DEVICE_H

#include "base/error.h"
#include "recording/recording.h"
#include "simulate/course.h"
#include "simulate/day.h"
#include "simulate/faults.h"
#include "simulate/options.h"
#include "simulate/ride.h"

/* What was there to be recorded. */
struct cw_device_scene {
    const struct cw_course *course;
    const struct cw_ride *ride;
    const struct cw_simulated_run *runs; /* options->n_order */
    const struct cw_faults *faults;
    const struct cw_day *days; /* by recording */
};

/* Appends the samples of the whole ride to recordings[0 .. cw_simulate_recordings(options)), which
 * are empty. */
enum cw_status cw_device_record(const struct cw_simulate_options *options,
                                const struct cw_device_scene *scene,
                                struct cw_recording *recordings, struct cw_error *error);

#endif
