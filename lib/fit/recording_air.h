/* The air of each recording: its own where the outing file says it, an air log's, the outing's, or
 * the outing's moved by what the devices' thermometers say of how the days differed.
 *
 * A device sits in the sun and on a warm hand: it reads some degrees too warm, and not always by as
 * much. Of one recording it therefore says little that a thermometer beside the road does not say
 * better; between days it tells what a single air for all of them cannot. */
#ifndef CW_FIT_RECORDING_AIR_H
#define CW_FIT_RECORDING_AIR_H

#include "base/error.h"
#include "fit/place.h"
#include "road/ridden.h"

/* How much too warm a device reads, C: on average, how sure that is, and how it differs from ride
 * to ride. Common practice, no source. */
extern const double cw_device_warm_c, cw_device_warm_sd_c, cw_device_own_sd_c;

/* What the devices' thermometers alone tell of the outing's temperature. */
struct cw_device_air {
    size_t n;          /* recordings that hold one over their runs; 0: nothing is told */
    double recorded_c; /* the mean of what they read */
    double temperature_c, uncertainty_c;
};
struct cw_device_air cw_device_air(const struct cw_ridden *input);

struct cw_recording_air {
    struct cw_place place;       /* with this recording's air */
    enum cw_air_source told_by;  /* the temperature */
    double own[CW_AIR_PARTS];    /* standard uncertainties that are of this recording alone: C, Pa,
                                  * humidity 0..1, K/m */
    double shared[CW_AIR_PARTS]; /* those that all recordings are off by together */
};

/* Sets air[n_recordings] about the outing's place, whose temperature is set too where only devices
 * tell it. Means of a device's temperature are over the runs kept. */
void cw_recording_air_make(const struct cw_ridden *input, struct cw_place *place,
                           struct cw_recording_air *air);

/* The place at the time of one run: what an air log has of that time is the run's own. */
struct cw_place cw_recording_air_of_run(const struct cw_ridden *input,
                                        const struct cw_recording_air *air,
                                        const struct cw_run *run);

/* Relative standard uncertainty of the density at the place's height where its air is off by those
 * parts (JCGM 100:2008, eq. 10; the sensitivities by difference). */
double cw_air_parts_error(const struct cw_place *place, const double part[CW_AIR_PARTS]);

#endif
