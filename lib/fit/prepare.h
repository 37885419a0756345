/* From an outing's recordings and runs to what the fit works on. */
#ifndef CW_FIT_PREPARE_H
#define CW_FIT_PREPARE_H

#include <stdbool.h>
#include <stddef.h>

#include "base/error.h"
#include "fit/noise_search.h"
#include "fit/place.h"
#include "fit/recording_air.h"
#include "fit/reml.h"
#include "fit/run_data.h"
#include "road/ridden.h"
#include "road/road.h"

/* Sets density, column and barometric scale from the other fields. */
void cw_place_settle(struct cw_place *place, enum cw_elevation elevation);

/* The pressure (Pa) that an air is said to have at height_m, where it has temperature_c: as given,
 * or as the one reduced to sea level makes it; NaN where neither is. */
double cw_place_pressure_pa(const struct cw_air *air, double height_m, double temperature_c);

/* The outing's place, from its runs kept and what its file says of the air. CW_E_DATA where no run
 * with elevations is kept and the road is not said to be level. */
enum cw_status cw_place_make(const struct cw_ridden *input, struct cw_place *place,
                             struct cw_error *error);
/* The part of a run's n samples that the fit looks at, first to last: without ends that are slower
 * than the balance says anything of, nor those that are known to some seconds only: where nothing
 * but energy tells where the run begins and ends, and where it begins out of a brake. */
void cw_prepare_part(size_t n, const double *time_s, const double *speed_ms, bool by_energy,
                     bool from_brake, size_t *first, size_t *last);

enum { CW_DEVICES_MOST = CW_REML_MOST - CW_NOISE_PARAMETERS };

struct cw_prepared {
    struct cw_place place;
    struct cw_recording_air *air; /* one a recording */
    size_t n;                     /* runs kept */
    struct cw_run_data *data;     /* n; handed on to the joint fit, which frees them */
    size_t n_roads;
    struct cw_road *roads; /* the lines on the ground */
    size_t n_devices;
    const char *devices[CW_DEVICES_MOST]; /* names, borrowed from the recordings */
    size_t n_tyres;
    const char **tyres;   /* names, borrowed from the outing; "all" where none is named */
    size_t *setup;        /* n; the setup of each run, or (size_t)-1 */
    double temperature_c; /* the mean over the runs */
};

/* CW_E_DATA when no run is kept. Free with cw_prepared_free, also after an error. */
enum cw_status cw_prepare(const struct cw_ridden *input, struct cw_prepared *prepared,
                          struct cw_error *error);
void cw_prepared_free(struct cw_prepared *prepared);

#endif
