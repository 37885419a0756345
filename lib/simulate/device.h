/* What a device makes of a true ride: samples with the errors of its sensors. */
#ifndef CW_SIMULATE_DEVICE_H
#define CW_SIMULATE_DEVICE_H

#include "base/error.h"
#include "recording/recording.h"
#include "simulate/course.h"
#include "simulate/options.h"
#include "simulate/ride.h"

/* The air as the altimeter feels it. */
struct cw_device_air {
    double pressure_pa, density_kgm3, gravity_ms2; /* at height_m */
    double height_m;
};

/* Appends the samples of the whole ride to recordings[0 .. options->n_recordings), which are
 * empty. */
enum cw_status cw_device_record(const struct cw_simulate_options *options,
                                const struct cw_course *course, const struct cw_ride *ride,
                                const struct cw_device_air *air, struct cw_recording *recordings,
                                struct cw_error *error);

#endif
