/* An outing: one test session at one place, as its file says it. */
#ifndef CW_OUTING_OUTING_H
#define CW_OUTING_OUTING_H

#include <stdbool.h>
#include <stddef.h>

#include "base/error.h"
#include "base/public.h"
#include "physics/forces.h"

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

/* A rider and the bicycle ridden. Owned by its outing. */
struct cw_rider {
    char *name; /* NULL: the outing's own */
    double mass_kg, mass_uncertainty_kg;
    double bike_mass_kg, bike_mass_uncertainty_kg;
    double wheel_inertia_kgm2, wheel_radius_m;
};

/* Owned by its outing, texts and all. */
/* A pound-force a square inch: 6.894757 kPa (NIST SP 811, appendix B.8). */
#define CW_KPA_PER_PSI 6.894757
/* The pound of 1959, and the conventional inch of mercury (NIST SP 811, appendix B.8). */
#define CW_KG_PER_LB 0.45359237
#define CW_HPA_PER_INHG 33.86389

struct cw_setup {
    char *name;
    char *description;   /* "" if none */
    double load_kg;      /* 0 if none */
    char *tyres;         /* "all" if the file names none */
    double pressure_kpa; /* of them; NaN where it is not given */
    char *drag;          /* a name: setups that share it have one CdA; "" if the file names none */
    size_t rider;        /* whose it is: 0 the outing's own, else companions[rider - 1] */
};

/* NaN: the standard atmosphere at the recorded height. */
#define CW_LAPSE_ERROR_K_KM 3.0 /* common practice, no source */

struct cw_air {
    double temperature_c, pressure_hpa, humidity_percent;
    double temperature_uncertainty_c, pressure_uncertainty_hpa, humidity_uncertainty_percent;
    double lapse_k_km, lapse_uncertainty_k_km; /* NaN: the standard atmosphere's, to
                                                * CW_LAPSE_ERROR_K_KM */
    double pressure_sea_level_hpa; /* given in place of pressure_hpa; NaN or 0 where it is not */
};

/* Nothing said of it. */
#define CW_AIR_UNSAID ((struct cw_air){NAN, NAN, NAN, NAN, NAN, NAN, NAN, NAN, NAN})

/* A recording's own air; NaN, and its uncertainty too: the outing's. */
struct cw_own_air {
    size_t recording; /* index */
    struct cw_air air;
};

/* What stands in a file in the order of the runs' setups or the like, with its line for messages: 0
 * where the file gives none. */
struct cw_setup_order {
    size_t n, *setup; /* indices */
    long line;
};
struct cw_run_numbers {
    size_t n;
    long *number; /* as `coastwise runs` prints them */
    long line;
};

/* A recording with a rider, a setup, an order or runs to leave out of its own. */
struct cw_own_recording {
    size_t recording; /* index */
    size_t rider;     /* as a setup's */
    size_t setup;     /* of all its runs; CW_NO_SETUP where its order says it, or [runs] does */
    struct cw_setup_order order;
    struct cw_run_numbers skip;
};

/* What was noted at each of the runs that [runs] counts, in their order. */
struct cw_notes {
    size_t n;
    double *value; /* NaN where nothing was noted */
    long line;
    double uncertainty; /* of one of them */
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
    char *air_log; /* path, resolved likewise, of the air as logged beside the road; NULL */
    long air_log_line;
    bool utc_offset_given;
    double utc_offset_s; /* of clock times in texts; 0 where not given */
    struct cw_rider rider;
    size_t n_companions;
    struct cw_rider *companions;
    size_t n_own_recordings; /* [recording RECORDING] */
    struct cw_own_recording *own_recordings;
    struct cw_air air;
    size_t n_own_air; /* recordings that had other air: [air RECORDING] */
    struct cw_own_air *own_air;
    double wind_along_ms, wind_uncertainty_ms;
    bool wind_given;
    size_t n_setups; /* at least 1: where the file declares none, there is one called "all" */
    struct cw_setup *setups;
    double crr, crr_uncertainty; /* NaN: to be fitted */
    /* One for each run kept that no recording's own section labels, in time order. Where there is
     * none: with one setup every run is of that setup, with several the runs have no setup yet. */
    struct cw_setup_order order;
    struct cw_run_numbers skip;
    /* Beside the runs that `order` counts: mean wind along the road, + as wind_along_ms has it; the
     * place of standing still, from any one mark, + further along; time between any two marks. */
    struct cw_notes wind_ms, runout_m, time_s;
    bool starts_at_mark; /* every run began standing at one mark */
    size_t n_defaults;
    char **defaults; /* a sentence for each default used, with its value and unit */
};

void cw_outing_free(struct cw_outing *outing);

/* The first of the same rider's setups that is said to have the same drag as this one; itself where
 * nothing is said. CW_NO_SETUP stays what it is. */
size_t cw_outing_drag_of(const struct cw_outing *outing, size_t setup);
/* A rider by the number that setups and recordings give. */
const struct cw_rider *cw_outing_rider(const struct cw_outing *outing, size_t rider);
/* What a recording's own section says; NULL where it has none. */
const struct cw_own_recording *cw_outing_own_recording(const struct cw_outing *outing,
                                                       size_t recording);
/* The rider of a recording. */
size_t cw_outing_rider_of(const struct cw_outing *outing, size_t recording);
/* A rider's bicycle as it coasts in a setup (CW_NO_SETUP: without a load), its mass that of all
 * that moves; CdA and Crr are left 0. */
struct cw_bicycle cw_outing_bicycle(const struct cw_outing *outing, size_t rider, size_t setup);

/* The pressure of tyres by their name, kPa; NaN where no setup on them gives it. */
double cw_outing_pressure_kpa(const struct cw_outing *outing, const char *tyres);

CW_PUBLIC_END

#endif
