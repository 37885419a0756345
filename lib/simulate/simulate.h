/* A made-up outing with known truth: what studies measure the fit against, and what a newcomer
 * can play with before going out.
 *
 * The descents are integrated with physics/descent, not with any discretisation of the fit. The
 * errors of the recording are of the sizes that ordinary devices show. Each kind of noise has its
 * own stream of random numbers, so that switching one off leaves the others the same. */
#ifndef CW_SIMULATE_SIMULATE_H
#define CW_SIMULATE_SIMULATE_H

#include <stdbool.h>
#include <stddef.h>

#include "base/error.h"
#include "outing/outing.h"
#include "physics/descent.h"
#include "recording/recording.h"

#define CW_SIMULATE_SEGMENTS_MAX 32
#define CW_SIMULATE_SETUPS_MAX 12
#define CW_SIMULATE_RUNS_MAX 400
#define CW_SIMULATE_NAME_MAX 64

/* A piece of the road. Its slope goes over into the next one's smoothly, and it turns smoothly. */
struct cw_simulate_segment {
    double length_m;      /* along the road, 5..20000 */
    double slope_percent; /* dh/dx; negative is down; -30..30 */
    double turn_deg;      /* change of heading over the segment; + is to the right */
};

struct cw_simulate_setup {
    char name[CW_SIMULATE_NAME_MAX];
    char tyres[CW_SIMULATE_NAME_MAX]; /* "all" by default */
    double cda_m2, crr, load_kg;
};

enum cw_simulate_speed {
    CW_SIMULATE_SPEED_NONE,
    CW_SIMULATE_SPEED_WHEEL,  /* along the road */
    CW_SIMULATE_SPEED_DOPPLER /* from satellites: horizontal */
};

struct cw_simulate_options {
    unsigned long seed;
    char name[CW_SIMULATE_NAME_MAX]; /* of the outing */

    /* The road; a run coasts from its top to its end, or to a standstill before. */
    size_t n_segments;
    struct cw_simulate_segment segments[CW_SIMULATE_SEGMENTS_MAX];
    double transition_m; /* length over which one slope goes over into the next */
    double latitude_deg, longitude_deg, height_m; /* of the road's top */
    double heading_deg;                           /* at the top; 0 is north, 90 east */

    size_t n_setups;
    struct cw_simulate_setup setups[CW_SIMULATE_SETUPS_MAX];
    size_t n_order; /* runs */
    size_t order[CW_SIMULATE_RUNS_MAX];
    double cda_scatter_percent; /* sd of CdA from run to run */

    double rider_mass_kg, bike_mass_kg;
    double wheel_inertia_kgm2, wheel_radius_m;

    double temperature_c, pressure_hpa, humidity_percent; /* halfway down the road */
    double wind_along_ms; /* the true mean, + is a headwind; the outing file says stated_wind_ms */
    double stated_wind_ms;
    double gust_sd_ms, gust_time_s; /* Ornstein-Uhlenbeck, about the mean */

    double start_speed_ms;      /* when pedalling stops; 0: a held start from rest */
    double push_ms2, brake_ms2; /* pedalling off at the top, braking at the bottom */
    double climb_speed_ms;      /* back up */
    double top_wait_s, bottom_wait_s;
    size_t n_recordings; /* the runs are shared out among them in equal numbers */
    double start_s;      /* Unix time */

    enum cw_format format;
    bool gzip;
    double interval_s;
    bool irregular; /* each interval 1 to 4 times interval_s, at random */
    bool positions;
    double position_drift_sd_m, position_drift_time_s, position_sd_m; /* east and north alike */
    enum cw_simulate_speed speed;
    double speed_sd_ms, speed_scale; /* recorded over true speed and distance; 1 by default */
    bool distance;                   /* as the wheel counts it */
    bool cadence;
    enum cw_elevation elevation;
    double elevation_drift_sd_m, elevation_drift_time_s, elevation_sd_m;
    double elevation_step_m;
    double elevation_lag_s; /* time constant of the device's smoothing */
};

/* Eight runs of about a kilometre at -6 %, two setups in ABBA ABBA, light gusts, 1 Hz TCX with
 * wheel speed, cadence and barometric elevations. */
struct cw_simulate_options cw_simulate_options_default(void);
/* Sets the road: "straight" (1 km at -6 %), "flattening", "dip", "steep" (750 m at -10 %).
 * CW_E_ARGUMENT for any other name. */
enum cw_status cw_simulate_road(struct cw_simulate_options *options, const char *name,
                                struct cw_error *error);
/* The names of these roads, in words for a message. */
const char *cw_simulate_road_names(void);
/* Sets elevation and the errors usual for its kind: barometric drift 0.3 m over 200 s in steps of
 * 0.2 m; satellite drift 3 m over 100 s, 0.4 m of noise, steps of 0.1 m; surveyed none. */
void cw_simulate_elevation(struct cw_simulate_options *options, enum cw_elevation elevation);

/* The truth of a run, states every 0.5 s. */
struct cw_simulated_run {
    size_t setup, recording;
    double mass_kg, cda_m2, crr;
    double start_s, end_s;     /* Unix time; the coast alone */
    struct cw_descent descent; /* s from where the coast begins */
    double *gust_ms;           /* descent.n: headwind over the mean */
    double *height_m;          /* descent.n: true height */
};

struct cw_simulated {
    size_t n_recordings;
    struct cw_recording *recordings; /* as a reader would give them; line is 0 */
    struct cw_outing outing;         /* as its file would be read */
    size_t n_runs;
    struct cw_simulated_run *runs;
    double density_kgm3, gravity_ms2;
    double barometric_scale; /* true over indicated height, halfway down */
    double length_m, drop_m; /* of the road */
};

/* Makes the outing. CW_E_ARGUMENT with what is out of range; CW_E_DATA when a run cannot be ridden
 * (the start speed is 0 and the slope sets nothing rolling, or it takes over 15 minutes). Free
 * with cw_simulated_free, also after an error. */
enum cw_status cw_simulate(const struct cw_simulate_options *options,
                           struct cw_simulated *simulated, struct cw_error *error);
void cw_simulated_free(struct cw_simulated *simulated);

/* Writes the recordings, outing.ini and truth.json into directory, which is made if it is not
 * there. Each file appears whole or not at all. CW_E_WRITE. */
enum cw_status cw_simulate_write(const struct cw_simulate_options *options,
                                 const struct cw_simulated *simulated, const char *directory,
                                 struct cw_error *error);

#endif
