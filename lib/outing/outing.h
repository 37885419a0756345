/* The outing file: one test session at one place. */
#ifndef CW_OUTING_OUTING_H
#define CW_OUTING_OUTING_H

#include <stdbool.h>
#include <stddef.h>

#include "base/error.h"

enum cw_elevation { CW_ELEVATION_BAROMETRIC, CW_ELEVATION_SATELLITE, CW_ELEVATION_SURVEYED };

struct cw_setup {
    char *name;
    char *description; /* "" if none */
    double load_kg;    /* 0 if none */
    char *tyres;       /* "all" if the file names none */
};

struct cw_outing {
    char *file;
    char *name;
    size_t n_recordings;
    char **recordings; /* paths, resolved against the outing file's folder */
    enum cw_elevation elevation;
    double rider_mass_kg, rider_mass_uncertainty_kg;
    double bike_mass_kg, bike_mass_uncertainty_kg;
    double wheel_inertia_kgm2, wheel_radius_m;
    double temperature_c, pressure_hpa, humidity_percent; /* NaN: standard atmosphere at height */
    double temperature_uncertainty_c, pressure_uncertainty_hpa, humidity_uncertainty_percent;
    double wind_along_ms, wind_uncertainty_ms;
    size_t n_setups;
    struct cw_setup *setups;
    double crr, crr_uncertainty; /* NaN: to be fitted */
    size_t n_order;
    size_t *order;   /* index into setups, one for each run kept, in time order */
    long order_line; /* line of `order`, for messages; 0 if absent */
    size_t n_skip;
    long *skip; /* run numbers as `coastwise runs` prints them */
    size_t n_defaults;
    char **defaults; /* a sentence for each default used, with its value and unit */
};

/* Reads an outing file. CW_E_READ or CW_E_FORMAT with file and line; unknown names suggest the
 * nearest known. Free with cw_outing_free, also after an error. */
enum cw_status cw_outing_read(const char *path, struct cw_outing *outing, struct cw_error *error);
enum cw_status cw_outing_read_memory(const char *bytes, size_t length, const char *path,
                                     struct cw_outing *outing, struct cw_error *error);
void cw_outing_free(struct cw_outing *outing);

#endif
