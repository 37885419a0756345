/* What to ride: what an outing that is still to be ridden would tell, how many runs it takes and in
 * which order, and how fast the rider will be going.
 *
 * Nothing here has a formula of its own for what a fit will give. The runs are coasted as they are
 * expected (physics/descent.h), sampled as the recorder would, and fitted by the equations of all
 * fits, the noise given (fit/held.h); what the comparison would then say is asked of its own model
 * (compare/run_model.h), over the ways in which runs may scatter (plan/promise.h). */
#ifndef CW_PLAN_PLAN_H
#define CW_PLAN_PLAN_H

#include <stdbool.h>
#include <stddef.h>

#include "analysis/analysis.h"
#include "base/error.h"
#include "base/public.h"
#include "simulate/options.h"

CW_PUBLIC_BEGIN

/* What records the runs, and with that how it errs. */
enum cw_plan_recorder {
    CW_PLAN_WHEEL,     /* speed from a wheel, cadence, barometric heights, positions */
    CW_PLAN_POSITIONS, /* positions and barometric heights, nothing else */
    CW_PLAN_PHONE,     /* positions and heights from satellites */
    CW_PLAN_MAP,       /* positions and a map's heights */
    CW_PLAN_LEVEL,     /* as wheel, on a road known to be level */
    CW_PLAN_RECORDERS
};

/* The i-th kind's name and what it is, both constant; false behind the last. */
bool cw_plan_recorder_word(size_t i, const char **name, const char **meaning);
/* By its name; false where there is none. */
bool cw_plan_recorder_named(const char *name, enum cw_plan_recorder *recorder);

/* The numbers that a plan is asked for by, one list for what they are called, their ranges, the
 * command line and its manual: field, key (its unit at its end), what stands for one, lowest,
 * highest, meaning. First what is guessed of the rider, then the day. */
#define CW_PLAN_GUESSES(X)                                                                         \
    X(cda_m2, "cda", "M2", 0.05, 2, "a guess at CdA")                                              \
    X(crr, "crr", "N", 0, 0.05, "a guess at Crr")                                                  \
    X(mass_kg, "mass-kg", "N", 23, 450, "rider, bicycle and all that is carried")                  \
    X(difference_percent, "difference-percent", "N", 0.1, 50,                                      \
      "the difference in CdA that is to be found")
#define CW_PLAN_DAY(X)                                                                             \
    X(day.gust_sd_ms, "gust-sd-ms", "N", 0, 5,                                                     \
      "sd of the wind within a run, as it lasts some 20 s (default 0.15; without --like)")         \
    X(day.run_wind_sd_ms, "run-wind-sd-ms", "N", 0, 5,                                             \
      "sd by which winds differ from run to run (default 0; without --like); on an ordinary "      \
      "day 0.3 to 0.7")                                                                            \
    X(day.cda_scatter_percent, "cda-scatter-percent", "N", 0, 20,                                  \
      "sd by which the rider's CdA differs from run to run (default 0; without --like)")           \
    X(day.temperature_c, "temperature-c", "N", -40, 50, "of the air (default 12; without --like)") \
    X(day.pressure_hpa, "pressure-hpa", "N", 600, 1100,                                            \
      "of the air on the hill (default 960; without --like)")                                      \
    X(day.interval_s, "interval-s", "N", 0.1, 60,                                                  \
      "time between two samples (default 1; without --like)")                                      \
    X(day.climb_speed_ms, "climb-speed-ms", "N", 0.5, 10,                                          \
      "speed of the ride back up (default 3.5)")                                                   \
    X(day.top_wait_s, "top-wait-s", "N", 0, 3600,                                                  \
      "at the top, to change setups (default 45; as --like had it)")                               \
    X(day.bottom_wait_s, "bottom-wait-s", "N", 0, 3600, "at the bottom (default 20)")

struct cw_plan_options {
    /* Of it count the road's segments, the air, the gusts and winds that differ from run to run,
     * the scatter of CdA, start speed, climb, waits, interval, and the setups' names; the order is
     * what is planned. */
    struct cw_simulate_options day;
    enum cw_plan_recorder recorder; /* where there is no outing to be like */
    /* An earlier outing, fitted, whose noise, winds, recorder and air are expected again; and one
     * whose road is to be ridden, of which the segments are then not looked at. NULL: none. Both
     * are borrowed and must outlive the plan. */
    const struct cw_analysed *like, *road;
    double cda_m2, crr, mass_kg; /* NaN: as the outing `like` has them */
    bool start_speed_given;      /* else the mean entry speed of `like`, where there is one */
    double difference_percent;   /* of CdA, that is to be found; NaN: none, runs is given */
    size_t runs;                 /* of each setup; 0: as many as find the difference */
    unsigned long seed;          /* of the order of more than two setups */
    size_t threads;              /* at most so many at once; 0 and 1: the caller's alone */
};
struct cw_plan_options cw_plan_options_default(void);

/* Sets "KEY" to "VALUE": a number of the lists above, start-speed-ms, runs (2 and more, of each
 * setup), seed, recorder (by its name), setups (names with commas between them), or road, of
 * segments. CW_E_ARGUMENT, saying what to give: "setups is "a": give ...". */
enum cw_status cw_plan_set(struct cw_plan_options *options, const char *key, const char *value,
                           struct cw_error *error);

/* Powers that runs are reckoned for. */
enum { CW_PLAN_POWERS = 2 };
/* 0.8 and 0.9: the k-th, from 0. */
double cw_plan_power(size_t k);
/* More runs of a setup than anybody rides in a day: what takes more is not worth going for. */
#define CW_PLAN_RUNS_MOST 20

/* What a comparison of two setups can be expected to say; of errors, the middle of what is possible
 * where an earlier outing leaves that open. */
struct cw_plan_promise {
    double error_percent;          /* sd by which the difference will be off */
    double standard_error_percent; /* as it will be printed, on the mean */
    double half_percent;           /* half its 95 % interval, on the mean */
    double power; /* the chance that the difference is found; NaN: none was given */
    double smallest_percent[CW_PLAN_POWERS]; /* difference that is found with that power */
};

struct cw_plan_runs {
    double runs;  /* of each setup; NaN: more than a million */
    bool asked;   /* worked out run by run; else reckoned on from fewer */
    double power; /* that so many have; as asked for where reckoned on */
};

struct cw_plan_run {
    size_t setup;
    double start_s; /* from the outing's beginning to where the coast begins */
};

/* A part of the road, a quarter of it. */
struct cw_plan_part {
    double from_m, to_m;
    double share; /* of what a run tells of a difference between setups, 0 to 1 */
};
enum { CW_PLAN_PARTS = 4 };

/* Another speed to begin with. */
struct cw_plan_start {
    double speed_ms, time_s, top_speed_ms;
    double error_percent; /* what the noise within runs leaves of a difference, of the base */
    bool rolls;           /* else it does not get going, and the rest is NaN */
};
enum { CW_PLAN_STARTS = 4 };

/* What as many runs tell of two sets of tyres, were the setups on them: half the 95 % interval of
 * their difference in Crr. Where the setups are said to have the same drag it is the smaller. */
struct cw_plan_tyres {
    double half_crr, half_crr_one_drag;
};
/* The slope at which a road would best go on for that. */
#define CW_PLAN_ROLLOUT_SLOPE 0.005

/* Winds that differ from run to run, by an sd, and what they ask for. */
struct cw_plan_wind {
    double sd_ms, error_percent; /* of one run */
    double runs;                 /* of each setup, about, for 80 %; NaN: no end */
};
enum { CW_PLAN_WINDS = 6 };

/* Why it is not to be ridden so; a set of bits. */
enum cw_plan_danger {
    CW_PLAN_FAST = 1 << 0,     /* faster than CW_PLAN_FAST_MS */
    CW_PLAN_STEEP = 1 << 1,    /* steeper than CW_PLAN_STEEP_SLOPE */
    CW_PLAN_NO_BRAKES = 1 << 2 /* the slope takes all that brakes have */
};
#define CW_PLAN_FAST_MS (60 / 3.6)
#define CW_PLAN_STEEP_SLOPE 0.12

/* Owns its arrays and the names in setup. */
struct cw_plan {
    struct cw_plan_options options; /* with what it left open settled */
    /* The road, and a run in still air. */
    double length_m, drop_m, steepest; /* dh/dx, below 0 downhill */
    double time_s, top_speed_ms, top_at_m, end_speed_ms;
    double stopping_distance_m; /* from the top speed, on the slope there; infinite: none */
    bool stands_still;          /* before the road's end, at runout_m */
    double runout_m;
    double safe_m; /* where it has 60 km/h, of a road that is too fast; NaN */
    unsigned dangers;
    /* One run: of its CdA by itself, as a standard error; and beside its fellows. */
    double alone_percent, together_percent;
    bool alone_told;
    double correlation, alone_crr_error; /* of CdA and Crr of that run by itself */
    double crr_error;                    /* of the tyres, by all runs planned */
    bool crr_told;
    struct cw_plan_tyres tyres, /* on this road */
        tyres_on;               /* and if it went on at CW_PLAN_ROLLOUT_SLOPE to a standstill; NaN
                                 * where the run comes to one anyway */
    double wind_percent_per_ms; /* what an unknown headwind of 1 m/s makes of a run's CdA */
    struct cw_plan_runs needed[CW_PLAN_POWERS];
    size_t runs; /* of each setup, that are planned */
    size_t n_order;
    struct cw_plan_run *order;
    double minutes; /* on the hill */
    bool by_seed;   /* the order is drawn */
    struct cw_plan_promise promise;
    struct cw_plan_part parts[CW_PLAN_PARTS];
    struct cw_plan_start starts[CW_PLAN_STARTS];
    struct cw_plan_wind winds[CW_PLAN_WINDS];
    double wind_planned_ms; /* sd by which winds are taken to differ from run to run */
    double wind_twice_ms,
        wind_limit_ms; /* twice the runs; more than CW_PLAN_RUNS_MOST. NaN: none
                        * was asked for a difference, or even still air takes it */
};

/* Makes the plan. CW_E_ARGUMENT: a number out of range, or one that is missing; CW_E_DATA: the road
 * sets nothing rolling, the run does not end, or `like` or `road` has no runs. Free with
 * cw_plan_free, also after an error. */
enum cw_status cw_plan_make(const struct cw_plan_options *options, struct cw_plan *plan,
                            struct cw_error *error);
void cw_plan_free(struct cw_plan *plan);

CW_PUBLIC_END

#endif
