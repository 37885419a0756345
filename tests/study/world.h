/* Made-up outings of a world that is not the library's: ridden in small steps on nature.h, recorded
 * by a device with the faults of ordinary ones, and written as files that the command line reads.
 * The library's own generator and its fit share one author's ideas of what errors are; these are
 * meant to be different, and what is true of each run is known all the same. */
#ifndef CW_STUDY_WORLD_H
#define CW_STUDY_WORLD_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>

#include "nature.h"

/* The numbers of a world, each a range from which is drawn evenly: once for an outing unless the
 * meaning says otherwise. Field and name, lowest, highest, meaning. */
#define WORLD_NUMBERS(X)                                                                           \
    X(cda_m2, 0.36, 0.36, "of setup a")                                                            \
    X(difference_percent, 0, 0, "what setup b has more")                                           \
    X(scatter_percent, 0, 0, "sd of CdA from run to run")                                          \
    X(crr, 0.005, 0.005, "of setup a")                                                             \
    X(tyres_percent, 10, 10, "what setup b has more where tyres=other")                            \
    X(load_kg, 0, 0, "on setup b")                                                                 \
    X(rider_kg, 70.5, 70.5, "with clothes")                                                        \
    X(bike_kg, 9.5, 9.5, "")                                                                       \
    X(wheel_inertia_kgm2, 0.14, 0.14, "both wheels")                                               \
    X(wheel_radius_m, 0.334, 0.334, "")                                                            \
    X(length_m, 950, 1050, "of the road")                                                          \
    X(height_m, 250, 250, "of its middle")                                                         \
    X(slope_percent, -5, -5, "dh/dx; at the start where it changes")                               \
    X(end_slope_percent, -1.5, -1.5, "at the end of a road that flattens or rolls out")            \
    X(drop_m, 150, 150, "of a road that rolls out: so far it falls")                               \
    X(variation_percent, 0.6, 0.6, "sd of the slope about that")                                   \
    X(bends_deg, 20, 20, "sd of the heading")                                                      \
    X(bend_loss, 0, 0, "rolling coefficient more in a bend of 80 m radius and less")               \
    X(coast_m, 0, 0, "a run coasts so far; 0: to the road's end or a standstill")                  \
    X(start_ms, 3, 4, "each run: speed when pedalling stops")                                      \
    X(push_ms2, 0.6, 0.9, "each run: acceleration up to it")                                       \
    X(slow_ms, 0, 0, "a rider who has become slower than that brakes")                             \
    X(brake_ms2, 2, 3, "each run: braking at its end")                                             \
    X(brush_share, 0, 0, "of runs in which the brake is touched once on the way")                  \
    X(brush_s, 1, 2, "each time: how long")                                                        \
    X(brush_ms2, 0.3, 0.8, "each time: how much")                                                  \
    X(back_ms, 3.3, 3.8, "each time: speed of riding back")                                        \
    X(wait_s, 20, 40, "each time: standing about")                                                 \
    X(temperature_c, 12, 12, "of the air, as the outing file says it")                             \
    X(temperature_sd_c, 0, 0, "of the days about that")                                            \
    X(warming_k, 0, 0,                                                                             \
      "how much warmer the air gets in warming_s, half of it before it is as said")                \
    X(warming_s, 10800, 10800, "from the start of the first recording")                            \
    X(crr_fall_percent, 0, 0, "of every Crr, a kelvin that it is warmer than said")                \
    X(lapse_k_km, 6.5, 6.5, "fall of the temperature with height")                                 \
    X(said_lapse_sd_k_km, 0, 0, "how sure the outing file is of it; 0: it does not say")           \
    X(pressure_hpa, 990, 990, "at the middle of the road, as the outing file says it")             \
    X(pressure_sd_hpa, 0, 0, "of the days about that")                                             \
    X(humidity_percent, 70, 70, "")                                                                \
    X(wind_ms, 0, 0, "steady, along the road; + is against who rides down")                        \
    X(run_wind_sd_ms, 0, 0, "of the runs' mean winds")                                             \
    X(wander_wind_sd_ms, 0, 0, "sd of a wind that turns slowly")                                   \
    X(wander_wind_s, 600, 1200, "correlation time of it")                                          \
    X(gust_sd_ms, 0.15, 0.15, "sd of the gusts")                                                   \
    X(gust_s, 10, 10, "correlation time of them")                                                  \
    X(hairpins, 0, 0, "turns of 180 degrees, right and left, evenly along the road")               \
    X(hairpin_m, 15, 15, "their radius")                                                           \
    X(hairpin_ms, 7, 8, "each one: as fast as the rider goes into it, by the brake")               \
    X(hairpin_brake_ms2, 1.5, 2.5, "each one: how hard that is braked")                            \
    X(cross_wind_ms, 0, 0, "with wind=land: steady, from the right of who rides down")             \
    X(said_wind_ms, 0, 0, "as the outing file says it")                                            \
    X(said_wind_sd_ms, 0.2, 0.2, "how sure it is of that")                                         \
    X(said_height_sd_m, 0, 0,                                                                      \
      "how sure it is of heights said to be level or a map's; 0: not said")                        \
    X(interval_s, 1, 1, "each sample: time since the one before")                                  \
    X(hole_share, 0, 0, "of runs with a hole in the recording")                                    \
    X(hole_s, 5, 15, "each hole: how long")                                                        \
    X(wander_sd_m, 1, 2, "of positions, east and north alike: slow")                               \
    X(wander_s, 60, 60, "correlation time of it")                                                  \
    X(fast_sd_m, 0.3, 0.5, "of positions: fast")                                                   \
    X(fast_s, 3, 3, "correlation time of it")                                                      \
    X(speed_sd_ms, 0.1, 0.1, "white noise of a wheel's or Doppler speed")                          \
    X(distance_sd_m, 0.1, 0.1, "white noise of a wheel's or Doppler distance")                     \
    X(own_mean_s, 2, 3, "the device's own speed is the way between positions so far apart")        \
    X(own_late_s, 1, 1.5, "and is late by this, beside half of that")                              \
    X(cadence_hold_s, 0, 0, "how long the sensor shows the last stroke")                           \
    X(drift_sd_m, 0.3, 0.3, "of heights")                                                          \
    X(drift_s, 200, 200, "correlation time of it")                                                 \
    X(height_sd_m, 0, 0, "white noise of heights")                                                 \
    X(height_lag_s, 0, 0, "the device's smoothing of heights: time constant")                      \
    X(height_step_m, 0.2, 0.2, "heights come in steps of this")                                    \
    X(jumps_per_hour, 0, 0, "heights jump, up or down, and stay there")                            \
    X(jump_m, 1, 2, "each jump")                                                                   \
    X(map_sd_m, 2, 2, "error of heights from a map, which belongs to the place")                   \
    X(map_reach_m, 60, 60, "correlation length of it, along the road")                             \
    X(device_warm_c, 1, 3, "each recording: how much warmer than the air the device is")           \
    X(note_sd_ms, 0.1, 0.1, "error of a run's noted mean wind")                                    \
    X(said_note_sd_ms, 0, 0, "as the outing file says it; 0: the true one")                        \
    X(note_factor, 1, 1, "noted over true wind")                                                   \
    X(note_offset_sd_ms, 0, 0, "of what all notes of an outing are off")                           \
    X(note_missing_share, 0, 0, "of runs without a note")                                          \
    X(log_step_s, 60, 60, "the log's rows are means over so long")                                 \
    X(log_factor, 0.8, 0.8, "logged over true wind")                                               \
    X(log_gust_sd_ms, 0.15, 0.15, "gusts at the sensor, its own; they last as those on the road")  \
    X(log_offset_sd_ms, 0, 0, "of what all of a log is off")                                       \
    X(companion_behind_s, 8, 8, "each run: how long after the rider the companion starts")         \
    X(companion_missing_share, 0, 0, "of runs without the companion")                              \
    X(companion_clock_s, 0, 0, "how far the clock of the companion's recorder is ahead")           \
    X(companion_cda_m2, 0.34, 0.44, "")                                                            \
    X(companion_crr, 0.004, 0.006, "with companion_tyres=other")                                   \
    X(companion_rider_kg, 58, 78, "with clothes")                                                  \
    X(companion_bike_kg, 8, 11, "")                                                                \
    X(wake_percent, 20, 20, "drag that a companion saves who is near behind the rider")            \
    X(wake_reach_m, 30, 30, "nearer than that")                                                    \
    X(tape_sd_m, 0.1, 0.1, "error of a taped run-out")                                             \
    X(said_tape_sd_m, 0, 0, "as the outing file says it; 0: the true one")                         \
    X(watch_sd_s, 0.2, 0.2, "error of a time by stopwatch")                                        \
    X(said_watch_sd_s, 0, 0, "as the outing file says it; 0: the true one")                        \
    X(swap_share, 0, 0, "of what is taped or timed: two digits change places")

/* What is chosen from words: field, words in the order of the enum below, the usual one. */
#define WORLD_WORDS(X)                                                                             \
    X(road, "even flattening dip rollout", WORLD_EVEN)                                             \
    X(ways, "one both", 0)                                                                         \
    X(tyres, "same other", 0)                                                                      \
    X(said_drag, "nothing same", 0)                                                                \
    X(form, "tcx gpx", WORLD_TCX)                                                                  \
    X(positions, "no yes", 1)                                                                      \
    X(speed, "none wheel doppler own", WORLD_SPEED_WHEEL)                                          \
    X(distance, "no yes", 1)                                                                       \
    X(cadence, "no yes", 1)                                                                        \
    X(heights, "none barometric satellite map", WORLD_HEIGHTS_BAROMETRIC)                          \
    X(said_heights, "nothing barometric satellite terrain surveyed level", 1)                      \
    X(device_temperature, "no yes", 0)                                                             \
    X(days, "no yes", 0)                                                                           \
    X(wind, "road land", WORLD_WIND_ROAD)                                                          \
    X(density, "height even", 0)                                                                   \
    X(mark, "no yes", 0)                                                                           \
    X(notes, "none wind noise turned", WORLD_NOTES_NONE)                                           \
    X(log, "none along direction air", WORLD_LOG_NONE)                                             \
    X(log_air, "no yes", 0)                                                                        \
    X(companion, "no yes", 0)                                                                      \
    X(companion_tyres, "other same", 0)                                                            \
    X(tape, "no yes", 0)                                                                           \
    X(watch, "no yes", 0)

enum { WORLD_EVEN, WORLD_FLATTENING, WORLD_DIP, WORLD_ROLLOUT };
enum { WORLD_TCX, WORLD_GPX };
enum { WORLD_SPEED_NONE, WORLD_SPEED_WHEEL, WORLD_SPEED_DOPPLER, WORLD_SPEED_OWN };
enum { WORLD_HEIGHTS_NONE, WORLD_HEIGHTS_BAROMETRIC, WORLD_HEIGHTS_SATELLITE, WORLD_HEIGHTS_MAP };
/* The wind blows along the road whatever its bends, or over the land, and bends turn it. */
enum { WORLD_WIND_ROAD, WORLD_WIND_LAND };
/* The air that is ridden through is as dense as it is at each height, or as at the road's middle.
 */
enum { WORLD_DENSITY_HEIGHT, WORLD_DENSITY_EVEN };
enum { WORLD_NOTES_NONE, WORLD_NOTES_WIND, WORLD_NOTES_NOISE, WORLD_NOTES_TURNED };
enum { WORLD_LOG_NONE, WORLD_LOG_ALONG, WORLD_LOG_DIRECTION, WORLD_LOG_AIR };

#define WORLD_RUNS_MAX 64
#define WORLD_HAIRPINS_MAX 32
/* Setups: a, b, and the companion's. */
enum { WORLD_A, WORLD_B, WORLD_FRIEND, WORLD_SETUPS };

struct world_range {
    double low, high;
};

struct world {
    const char *name;
#define WORLD_FIELD(field, low, high, meaning) struct world_range field;
    WORLD_NUMBERS(WORLD_FIELD)
#undef WORLD_FIELD
#define WORLD_FIELD(field, words, usual) int field;
    WORLD_WORDS(WORLD_FIELD)
#undef WORLD_FIELD
    char order[WORLD_RUNS_MAX + 1]; /* a letter a run: A or B */
};

/* A world by its name; false if there is none of that name. */
bool world_named(const char *name, struct world *world);
/* Takes settings over, "name=value name=value ...": a number, a range as 1..2, a word, or
 * order=ABBA. On false, wrong (64 bytes) holds the one that is not understood. */
bool world_set(struct world *world, const char *settings, char *wrong);
/* Names of worlds and what they are; names, values and meanings of settings. */
void world_list(FILE *to);
const char *world_meaning(const char *name);
/* The name of the i-th world; NULL after the last. */
const char *world_name(size_t i);

enum { WORLD_TRACE_PER_S = 10 };

/* Where somebody was, ten times a second; each recording is of one trace. */
struct world_moment {
    double s_m, speed_ms;
    double side_m;   /* of the road's middle, to the right looking down it */
    double ridden_m; /* along the road, whatever the direction */
    double level_m;  /* the same, horizontally */
    double cadence_rpm;
    double wander_ms; /* the wind that turns slowly; in the rider's traces */
};

struct world_trace {
    double start_s; /* Unix time */
    double clock_s; /* the recorder's is ahead by this */
    bool companion; /* of whom it is */
    size_t day;     /* the rider's trace that it goes with; for that itself its own */
    struct air air; /* of its day, as it is when it is as said: world_air has it by the clock */
    size_t n, capacity;
    struct world_moment *moment;
};

/* What is true of a run. Times are Unix times. */
struct world_run {
    int setup, way; /* way: 1 is down the road, -1 back */
    size_t trace;
    double cda_m2, crr, mass_kg;
    double temperature_c;  /* when it was begun */
    double start_s, end_s; /* it coasts in between */
    double rolls_s;        /* the last moment of that at 2 m/s or more */
    double own_ms;         /* what is its own of the day's wind */
    double wind_ms;        /* mean headwind */
    double shared_ms;      /* the same without gusts, + against who rides down */
    bool brushed;
    double wake_s;                   /* so long it was in the rider's wake */
    double hole_start_s, hole_end_s; /* in the recording; NaN: none */
    /* As they were noted; NaN: not. + is against who rides down, or further down the road. */
    double noted_ms, taped_m, timed_s;
};

struct world_outing {
    struct world world;
    uint64_t seed;
    double latitude_deg, longitude_deg, height_m; /* where the road's s is 0 */
    int hairpins;
    double hairpin_m; /* their radius */
    double length_m, gravity_ms2;
    double wheel_inertia_kgm2, wheel_radius_m;
    double rider_kg[2], bike_kg[2]; /* the companion's are the second */
    double load_kg;
    double said_wind_ms, said_wind_sd_ms, said_height_sd_m, said_lapse_k_km, said_lapse_sd_k_km;
    double scatter, temperature_sd_c, pressure_sd_hpa; /* from run to run, from day to day */
    double wind_ms, cross_wind_ms, run_wind_sd_ms, wander_wind_sd_ms, gust_s;
    double note_sd_ms, tape_sd_m, watch_sd_s;       /* as the outing file says them */
    double tape_from_m, watch_m[2];                 /* marks on the road */
    double cda_m2[WORLD_SETUPS], crr[WORLD_SETUPS]; /* Crr where it is as warm as said */
    double warming_k, warming_s, crr_fall_1k;
    struct air air; /* as the outing file says it */
    struct road road;
    double heading_rad;      /* from its top to its end */
    size_t n_own, n_runs;    /* the rider's, which come first, and all */
    size_t n_days, n_traces; /* likewise */
    struct world_run run[2 * WORLD_RUNS_MAX];
    struct world_trace *trace;
};

/* Rides the outing. The same seed gives the same outing. false when there is no memory, or a rider
 * does not come to the end within an hour. Free with world_outing_free in any case. */
bool world_ride(const struct world *world, uint64_t seed, struct world_outing *outing);
void world_outing_free(struct world_outing *outing);

/* Where a hairpin, counted from 0, begins for who rides that way. */
double world_hairpin_m(const struct world_outing *outing, int hairpin, int way);

/* Where the run's rider truly was. */
struct world_moment world_at(const struct world_outing *outing, size_t run, double time_s);
/* The wind of a day that all meet, without gusts; + is against who rides down. Each run's own part
 * goes over into the next one's between them. */
double world_wind_ms(const struct world_outing *outing, size_t day, double time_s);
/* The air of a trace by the clock. */
struct air world_air(const struct world_outing *outing, size_t trace, double time_s);
/* What each Crr is of that where it is as warm as said, on the mean over the rider's runs. */
double world_crr_share(const struct world_outing *outing);
/* Seconds from one place to another with a setup in still air, entering at a speed; NaN if it does
 * not get there. */
double world_time_s(const struct world_outing *outing, int setup, int way, double from_m,
                    double to_m, double entry_ms);

/* The name of a recording's file. */
void world_recording_name(const struct world_outing *outing, size_t trace, char name[32]);
/* Writes the recordings and the log. false when that fails. */
bool world_write_recordings(const struct world_outing *outing, const char *directory);
/* Writes outing.ini; the rider's runs are those of the list, in its order. Unless it is NULL or
 * empty, skip has numbers to skip. */
bool world_write_outing(const struct world_outing *outing, const char *directory,
                        const size_t *runs, size_t n_runs, const char *skip);
/* Writes truth.json, for eyes. */
bool world_write_truth(const struct world_outing *outing, const char *directory);

#endif
