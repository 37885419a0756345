/* What an outing is made up from: the road, the setups and their truth, the air, what the rider
 * does, and the errors of the device. */
#ifndef CW_SIMULATE_OPTIONS_H
#define CW_SIMULATE_OPTIONS_H

#include <stdbool.h>
#include <stddef.h>

#include "base/error.h"
#include "base/public.h"
#include "outing/outing.h"
#include "recording/format.h"

CW_PUBLIC_BEGIN

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
    char name[CW_SIMULATE_NAME_MAX];  /* no blanks, commas, semicolons or brackets */
    char tyres[CW_SIMULATE_NAME_MAX]; /* the same */
    double cda_m2, crr, load_kg;
    double start_more_ms; /* its runs begin by so much faster than start_speed_ms */
};

enum cw_simulate_speed {
    CW_SIMULATE_SPEED_NONE,
    CW_SIMULATE_SPEED_WHEEL,   /* along the road */
    CW_SIMULATE_SPEED_DOPPLER, /* from satellites: horizontal */
    CW_SIMULATE_SPEED_OWN      /* the device's own: made of its positions, smoothed, so late */
};

/* The numbers of the options, one list for the fields, their defaults and ranges, and the command
 * line: field (its unit in the name), default, lowest, highest, meaning. */
#define CW_SIMULATE_NUMBERS(X)                                                                     \
    X(transition_m, "transition-m", 30, 1, 500,                                                    \
      "length over which one slope goes over into the next")                                       \
    X(height_m, "height-m", 500, -400, 5000, "height of the road's top")                           \
    X(latitude_deg, "latitude-deg", 46.5, -80, 80, "latitude of the road's top")                   \
    X(longitude_deg, "longitude-deg", -33, -180, 180,                                              \
      "longitude of the top; by default on the open sea")                                          \
    X(heading_deg, "heading-deg", 70, -360, 360, "heading at the top: 0 is north, 90 east")        \
    X(cda_scatter_percent, "cda-scatter-percent", 0, 0, 20, "sd of CdA from run to run")           \
    X(rider_mass_kg, "rider-mass-kg", 72, 20, 250, "the rider with clothes")                       \
    X(bike_mass_kg, "bike-mass-kg", 11, 3, 100, "the bicycle")                                     \
    X(wheel_inertia_kgm2, "wheel-inertia-kgm2", 0.14, 0, 2,                                        \
      "moment of inertia of both wheels together")                                                 \
    X(wheel_radius_m, "wheel-radius-m", 0.334, 0.1, 0.5, "radius of a wheel with its tyre")        \
    X(temperature_c, "temperature-c", 12, -40, 50, "of the air, halfway down the road")            \
    X(pressure_hpa, "pressure-hpa", 960, 600, 1100, "of the air, halfway down the road")           \
    X(humidity_percent, "humidity-percent", 65, 0, 100, "of the air")                              \
    X(lapse_k_km, "lapse-k-km", 6.5, -30, 30, "by how much the air cools, a kilometre up")         \
    X(temperature_sd_c, "temperature-sd-c", 0, 0, 15,                                              \
      "sd of the recordings' temperatures about the stated one")                                   \
    X(pressure_sd_hpa, "pressure-sd-hpa", 0, 0, 30,                                                \
      "sd of the recordings' pressures about the stated one")                                      \
    X(warming_k, "warming-k", 0, -60, 60,                                                          \
      "how much warmer the last recording is than the first, evenly and about the stated one; "    \
      "the outing file then says each one's temperature")                                          \
    X(crr_fall_percent, "crr-fall-percent", 0, 0, 10,                                              \
      "by how much Crr falls for each kelvin that a recording is warmer than the stated one")      \
    X(wind_along_ms, "wind-along-ms", 0, -10, 10, "true mean wind; + is a headwind")               \
    X(stated_wind_ms, "stated-wind-ms", 0, -10, 10, "mean wind as the outing file says it")        \
    X(gust_sd_ms, "gust-sd-ms", 0.15, 0, 5, "sd of the wind about its mean (Ornstein-Uhlenbeck)")  \
    X(gust_time_s, "gust-time-s", 20, 1, 3600, "correlation time of the gusts")                    \
    X(run_wind_sd_ms, "run-wind-sd-ms", 0, 0, 5, "sd of the part of the wind that is a run's own") \
    X(wander_wind_sd_ms, "wander-wind-sd-ms", 0, 0, 5,                                             \
      "sd of a wind that turns slowly, in clock time (Ornstein-Uhlenbeck)")                        \
    X(wander_wind_time_s, "wander-wind-time-s", 900, 60, 1e5,                                      \
      "correlation time of the wind that turns slowly")                                            \
    X(start_speed_ms, "start-speed-ms", 4, 0, 15,                                                  \
      "speed when pedalling stops; 0 is a held start from rest")                                   \
    X(push_ms2, "push-ms2", 0.8, 0.2, 3, "acceleration while pedalling off at the top")            \
    X(brake_ms2, "brake-ms2", 2.5, 0.5, 6, "deceleration at the road's end")                       \
    X(brush_share, "brush-share", 0, 0, 1,                                                         \
      "share of the runs in which the brake is touched once on the way")                           \
    X(brush_s, "brush-s", 1.5, 0.2, 20, "how long, from 2/3 to 4/3 of it at random")               \
    X(brush_ms2, "brush-ms2", 0.5, 0.01, 5,                                                        \
      "mean deceleration by it, from 2/3 to 4/3 of it at random")                                  \
    X(bend_crr, "bend-crr", 0, 0, 0.02,                                                            \
      "rolling coefficient more in a bend of 100 m radius, in others by curvature")                \
    X(climb_speed_ms, "climb-speed-ms", 3.5, 0.5, 10, "speed of the ride back up")                 \
    X(top_wait_s, "top-wait-s", 45, 0, 3600, "how long the rider waits at the top")                \
    X(bottom_wait_s, "bottom-wait-s", 20, 0, 3600, "how long the rider waits at the bottom")       \
    X(between_recordings_s, "between-recordings-s", 300, 1, 1e6,                                   \
      "from the end of a recording to the next one's beginning")                                   \
    X(interval_s, "interval-s", 1, 0.1, 60, "time between two samples")                            \
    X(interval_more_s, "interval-more-s", 0, 0, 60,                                                \
      "each interval is longer by 0 to so many whole seconds, at random")                          \
    X(hole_share, "hole-share", 0, 0, 1, "share of the runs with a hole in the recording")         \
    X(hole_s, "hole-s", 10, 1, 300, "how long, from 1/2 to 3/2 of it at random")                   \
    X(position_drift_sd_m, "position-drift-sd-m", 1.5, 0, 50,                                      \
      "sd of the positions' wander, east and north alike")                                         \
    X(position_drift_time_s, "position-drift-time-s", 100, 1, 1e5,                                 \
      "correlation time of the positions' wander")                                                 \
    X(position_sd_m, "position-sd-m", 0.2, 0, 50, "white noise of the positions")                  \
    X(position_fast_sd_m, "position-fast-sd-m", 0, 0, 50,                                          \
      "sd of the positions' error that lasts seconds, east and north alike")                       \
    X(position_fast_time_s, "position-fast-time-s", 3, 0.1, 1000, "correlation time of it")        \
    X(speed_sd_ms, "speed-sd-ms", 0.1, 0, 5, "white noise of a wheel's or Doppler speeds")         \
    X(own_speed_lag_s, "own-speed-lag-s", 2.5, 0, 60,                                              \
      "time constant of the smoothing of the device's own speed")                                  \
    X(speed_scale, "speed-scale", 1, 0.8, 1.2, "recorded over true speed and distance")            \
    X(elevation_drift_sd_m, "elevation-drift-sd-m", 0.3, 0, 100, "sd of the elevations' drift")    \
    X(elevation_drift_time_s, "elevation-drift-time-s", 200, 1, 1e5,                               \
      "correlation time of the elevations' drift")                                                 \
    X(elevation_sd_m, "elevation-sd-m", 0, 0, 100, "white noise of the elevations")                \
    X(elevation_step_m, "elevation-step-m", 0.2, 0, 10,                                            \
      "step that the elevations come in; 0 is none")                                               \
    X(elevation_lag_s, "elevation-lag-s", 0, 0, 60,                                                \
      "time constant of the device's smoothing of elevations")                                     \
    X(felt_drift_sd_m, "felt-drift-sd-m", 0, 0, 100,                                               \
      "sd of what a barometer feels beside the height, by weather or wind on its port: smoothed "  \
      "with the heights")                                                                          \
    X(felt_drift_time_s, "felt-drift-time-s", 200, 1, 1e5, "correlation time of it")               \
    X(jumps_per_hour, "jumps-per-hour", 0, 0, 3600,                                                \
      "how often what is felt of elevations jumps, up or down, and stays there")                   \
    X(jump_m, "jump-m", 1.5, 0, 100, "how far, from 2/3 to 4/3 of it at random")                   \
    X(map_sd_m, "map-sd-m", 2, 0, 100,                                                             \
      "sd of a map's elevations, with elevation terrain: the same at each pass of a place")        \
    X(map_reach_m, "map-reach-m", 60, 5, 5000, "correlation length of it, along the road")         \
    X(device_warm_c, "device-warm-c", 2, -20, 20,                                                  \
      "how much warmer than the air the device is that records a temperature")                     \
    X(note_sd_ms, "note-sd-ms", 0.1, 0, 5, "with --note-wind: sd of a note's error")               \
    X(log_step_s, "log-step-s", 60, 1, 3600, "with --air-log: its rows are means over so long")    \
    X(log_factor, "log-factor", 0.8, 0, 3, "with --air-log: logged over true wind")                \
    X(log_gust_sd_ms, "log-gust-sd-ms", 0.15, 0, 5,                                                \
      "with --air-log: sd of the sensor's own gusts, which last as those on the road")             \
    X(companion_behind_s, "companion-behind-s", 8, 3, 60,                                          \
      "with --companion: each run begins so long after the rider's")                               \
    X(companion_cda_m2, "companion-cda-m2", 0.42, 0.05, 2, "with --companion: CdA, in all runs")   \
    X(companion_crr, "companion-crr", 0.0055, 0, 0.05, "with --companion: Crr")                    \
    X(companion_mass_kg, "companion-mass-kg", 64, 20, 250,                                         \
      "with --companion: the companion with clothes")                                              \
    X(companion_bike_mass_kg, "companion-bike-mass-kg", 9, 3, 100,                                 \
      "with --companion: the companion's bicycle")                                                 \
    X(tape_sd_m, "tape-sd-m", 0.1, 0, 20, "with --tape: sd of a taped place's error")              \
    X(watch_sd_s, "watch-sd-s", 0.2, 0, 10, "with --watch: sd of a timed run's error")

struct cw_simulate_options {
    unsigned long seed;
    char name[CW_SIMULATE_NAME_MAX]; /* of the outing */
#define CW_SIMULATE_FIELD(field, option, usual, low, high, meaning) double field;
    CW_SIMULATE_NUMBERS(CW_SIMULATE_FIELD)
#undef CW_SIMULATE_FIELD

    /* The road; a run coasts from its top to its end, or to a standstill before. */
    size_t n_segments;
    struct cw_simulate_segment segments[CW_SIMULATE_SEGMENTS_MAX];

    size_t n_setups;
    struct cw_simulate_setup setups[CW_SIMULATE_SETUPS_MAX];
    size_t n_order; /* runs */
    size_t order[CW_SIMULATE_RUNS_MAX];

    size_t n_recordings; /* the runs are shared out among them in equal numbers; 0: one a run */
    double start_s;      /* Unix time */
    enum cw_format format;
    bool gzip;
    bool irregular; /* each interval 1 to 4 times interval_s, at random */
    bool both_ways; /* every second run coasts the road from its end to its top */
    bool note_wind; /* somebody notes each run's mean wind */
    bool air_log;   /* a sensor beside the road logs it */
    bool companion; /* somebody coasts along with a recorder of the same kind and one setup */
    bool tape;      /* it is taped where runs stand still */
    bool watch;     /* runs are timed between two marks */
    bool positions, distance, cadence, device_temperature;
    enum cw_simulate_speed speed;
    enum cw_elevation elevation; /* level: none are recorded */
};

/* Eight runs of about a kilometre at -6 %, two setups in ABBA ABBA, light gusts, 1 Hz TCX with
 * wheel speed, cadence and barometric elevations. */
struct cw_simulate_options cw_simulate_options_default(void);
/* The speed at which run number i (from 0) begins. */
double cw_simulate_start_speed(const struct cw_simulate_options *options, size_t i);
/* How many recordings there are of the rider; a companion has as many. */
size_t cw_simulate_recordings(const struct cw_simulate_options *options);
/* Sets the road: "straight" (1 km at -6 %), "flattening", "dip", "steep" (750 m at -10 %).
 * CW_E_ARGUMENT for any other name. */
enum cw_status cw_simulate_road(struct cw_simulate_options *options, const char *name,
                                struct cw_error *error);
/* Sets the order of the runs: all setups there and back again, rounds times (ABBA ABBA for two
 * setups and two rounds), as many as there is room for. */
void cw_simulate_order(struct cw_simulate_options *options, size_t rounds);
/* Sets elevation and the errors usual for its kind: barometric drift 0.3 m over 200 s in steps of
 * 0.2 m; satellite drift 3 m over 100 s, 0.4 m of noise, steps of 0.1 m; terrain (a map's, wrong by
 * map_sd_m besides) steps of 0.1 m; surveyed and level none. */
void cw_simulate_elevation(struct cw_simulate_options *options, enum cw_elevation elevation);
/* The companion's setup and tyres are called so. */
#define CW_SIMULATE_COMPANION "friend"
/* The companion's outing: the same road, days and recorder, but for chance. */
struct cw_simulate_options cw_simulate_options_companion(const struct cw_simulate_options *options);
/* CW_E_ARGUMENT naming the first option that is out of range. */
enum cw_status cw_simulate_options_check(const struct cw_simulate_options *options,
                                         struct cw_error *error);

CW_PUBLIC_END

#endif
