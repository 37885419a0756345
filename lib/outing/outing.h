/* An outing: one test session at one place, as its file says it. */
#ifndef CW_OUTING_OUTING_H
#define CW_OUTING_OUTING_H

#include <stdbool.h>
#include <stddef.h>

#include "base/error.h"
#include "base/public.h"

CW_PUBLIC_BEGIN

/* Where an outing's heights come from, and with that how they err. */
enum cw_elevation {
    CW_ELEVATION_BAROMETRIC, /* a pressure sensor: smoothed, late, drifting with the weather */
    CW_ELEVATION_SATELLITE,  /* drifting by metres within minutes */
    CW_ELEVATION_SURVEYED,   /* by instrument: right to centimetres */
    CW_ELEVATION_TERRAIN,    /* from a map: wrong by metres, and the same at each pass of a place */
    CW_ELEVATION_LEVEL /* a hall, a track, a towpath: known to be level, none recorded needed */
};
/* "barometric", "satellite", "surveyed", "terrain", "level"; NULL for any other number. Constants.
 */
const char *cw_elevation_text(enum cw_elevation elevation);

#define CW_OUTING_SETUPS_MAX 100
#define CW_OUTING_ITEMS_MAX 10000 /* of any list */

/* In place of an index into the setups: none. */
#define CW_NO_SETUP ((size_t)-1)

/* Owned by its outing, texts and all. */
struct cw_setup {
    char *name;
    char *description; /* "" if none */
    double load_kg;    /* 0 if none */
    char *tyres;       /* "all" if the file names none */
};

/* NaN: the standard atmosphere at the recorded height. */
struct cw_air {
    double temperature_c, pressure_hpa, humidity_percent;
    double temperature_uncertainty_c, pressure_uncertainty_hpa, humidity_uncertainty_percent;
};

/* A recording's own air; NaN, and its uncertainty too: the outing's. */
struct cw_own_air {
    size_t recording; /* index */
    struct cw_air air;
};

/* Owns all it points to; free with cw_outing_free. Whoever makes one up allocates likewise. */
struct cw_outing {
    char *file;
    char *name;
    size_t n_recordings;
    char **recordings; /* paths, resolved against the outing file's folder */
    enum cw_elevation elevation;
    bool elevation_given;           /* false: told from the data; barometric until it is, or where
                                     * it is not */
    double elevation_uncertainty_m; /* sd of a level road's heights or of a map's; NaN for other
                                     * kinds, and for a map of which the file says none */
    double rider_mass_kg, rider_mass_uncertainty_kg;
    double bike_mass_kg, bike_mass_uncertainty_kg;
    double wheel_inertia_kgm2, wheel_radius_m;
    struct cw_air air;
    size_t n_own_air; /* recordings that had other air: [air RECORDING] */
    struct cw_own_air *own_air;
    double wind_along_ms, wind_uncertainty_ms;
    size_t n_setups; /* at least 1: where the file declares none, there is one called "all" */
    struct cw_setup *setups;
    double crr, crr_uncertainty; /* NaN: to be fitted */
    size_t n_order;
    size_t *order;   /* index into setups, one for each run kept, in time order; n_order is 0
                      * where the file gives none: with one setup every run is of that setup,
                      * with several the runs have no setup yet */
    long order_line; /* line of `order`, for messages; 0 if absent */
    size_t n_skip;
    long *skip;     /* run numbers as `coastwise runs` prints them */
    long skip_line; /* as order_line */
    size_t n_defaults;
    char **defaults; /* a sentence for each default used, with its value and unit */
};

void cw_outing_free(struct cw_outing *outing);

CW_PUBLIC_END

#endif
