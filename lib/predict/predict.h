/* What a bicycle does on another road, on another day: times, speeds and distances, how sure they
 * are, and what would be different with something else changed.
 *
 *     struct cw_predict_road road;
 *     struct cw_predict_options options = cw_predict_options_default();
 *     struct cw_prediction prediction;
 *     if (cw_predict_road_of_slopes("750:-10", &road, &error) >= 0 &&
 *         cw_predict_set_all(&options.base, "cda=0.35+-0.01 crr=0.005 mass-kg=83", &error) >= 0) {
 *         options.road = &road;
 *         if (cw_predict(&options, &prediction, &error) >= 0) ...
 *
 * The ride is integrated from the forces (physics/descent.h). An input's uncertainty is carried
 * through by moving it by one standard uncertainty either way (JCGM 100:2008, GUM, 5.1.3 note 2),
 * in a prediction and in what is changed beside it alike, so that in their difference what both
 * share cancels. CdA and Crr of an outing come with the covariance of its fit: of both, of the
 * setups among each other, and of the causes that are off in all runs alike (the masses say), which
 * move the prediction too. Such a number is the mean of its setup; a single ride scatters about it
 * with the wind and the rider. */
#ifndef CW_PREDICT_PREDICT_H
#define CW_PREDICT_PREDICT_H

#include <stdbool.h>
#include <stddef.h>

#include "analysis/analysis.h"
#include "base/error.h"
#include "base/estimate.h"
#include "base/public.h"
#include "predict/road.h"

CW_PUBLIC_BEGIN

/* The numbers that a prediction is made from, one list for what they are called, their ranges, the
 * command line, its --with and its manual: name, key (its unit at its end), lowest, highest,
 * meaning. */
#define CW_PREDICT_NUMBERS(X)                                                                      \
    X(CDA_GIVEN, "cda", 0, 5, "drag area, m2")                                                     \
    X(CRR_GIVEN, "crr", 0, 0.2, "rolling coefficient")                                             \
    X(MASS_GIVEN, "mass-kg", 5, 500, "all that moves: rider, bicycle, what they carry")            \
    X(LOAD, "load-kg", -200, 300, "so much more than that")                                        \
    X(DENSITY_GIVEN, "density", 0.1, 3,                                                            \
      "of the air all along the road, kg/m3; without it from the four below")                      \
    X(TEMPERATURE, "temperature-c", -40, 50,                                                       \
      "of the air at the road's mean height, and so of the tyres")                                 \
    X(PRESSURE, "pressure-hpa", 300, 1100, "of the air there, not reduced to sea level")           \
    X(HUMIDITY, "humidity-percent", 0, 100, "of the air")                                          \
    X(ALTITUDE, "altitude-m", -400, 9000,                                                          \
      "has the temperature and pressure of the standard atmosphere, where they are not given; "    \
      "changed, it changes both by as much as there")                                              \
    X(WIND, "wind-along-ms", -40, 40, "along the road; + is a headwind")                           \
    X(START_SPEED, "start-speed-ms", 0, 40, "0 is a held start")                                   \
    X(POWER, "power-w", 0, 3000,                                                                   \
      "at the wheel, all the way; the chain takes some 2.4 % of what the legs give")               \
    X(INERTIA, "wheel-inertia-kgm2", 0, 2, "moment of inertia of both wheels together")            \
    X(RADIUS, "wheel-radius-m", 0.1, 0.5, "radius of a wheel with its tyre")                       \
    X(GRAVITY, "gravity-ms2", 9.7, 9.9, "of the place")

/* What may be asked beside, likewise: field of the options, key, what stands for one. */
#define CW_PREDICT_ASKED(X)                                                                        \
    X(worth_kg, "worth-kg", "KG", 0.001, 300, "what change of CdA makes the same time as KG more") \
    X(wanted_time_s, "time-s", "S", 0.1, 86400, "what CdA takes S seconds")

enum cw_predict_number_name {
#define CW_PREDICT_NUMBER_ENUM(name, key, low, high, meaning) CW_PREDICT_##name,
    CW_PREDICT_NUMBERS(CW_PREDICT_NUMBER_ENUM)
#undef CW_PREDICT_NUMBER_ENUM
        CW_PREDICT_NUMBER_NAMES
};

struct cw_predict_number {
    double value, sd; /* sd: its standard uncertainty. NaN: not given */
};

/* What is given of a ride, or changed for another one beside it. */
struct cw_predict_case {
    char label[128]; /* what it is called; "" of the first */
    char setup[128]; /* of the outing, by name; "" where none is named */
    struct cw_predict_number number[CW_PREDICT_NUMBER_NAMES];
};
/* With nothing given. */
struct cw_predict_case cw_predict_case_none(void);

/* Sets "KEY" to "VALUE" or "VALUE+-UNCERTAINTY" (a standard uncertainty, ± for +- too), or `setup`
 * to a name. A key may be cut short where only one begins so, and have _ for -. CW_E_ARGUMENT,
 * saying what to give. */
enum cw_status cw_predict_set(struct cw_predict_case *of, const char *key, const char *value,
                              struct cw_error *error);
/* All of "KEY=VALUE,KEY=VALUE", with commas or blanks; its label becomes that text. */
enum cw_status cw_predict_set_all(struct cw_predict_case *of, const char *settings,
                                  struct cw_error *error);

/* What is told of a ride: name, key in JSON (NULL: not for programs), unit, in words. */
#define CW_PREDICT_TOLD(X)                                                                         \
    X(TIME, "time_s", "s", "time")                                                                 \
    X(MEAN_SPEED, "mean_speed_ms", "m/s", "mean speed")                                            \
    X(TOP_SPEED, "top_speed_ms", "m/s", "top speed")                                               \
    X(TOP_PLACE, "top_speed_at_m", "m", "reached at")                                              \
    X(TOP_TIME, "top_speed_at_s", "s", "reached after")                                            \
    X(END_SPEED, "end_speed_ms", "m/s", "speed at the end")                                        \
    X(TERMINAL_SPEED, "terminal_speed_ms", "m/s", "terminal speed")                                \
    X(STOPPING, "stopping_distance_m", "m", "stopping distance")                                   \
    X(RUNOUT, "runout_m", "m", "run-out")                                                          \
    X(PAST_LOWEST, "runout_past_lowest_m", "m", "past the lowest place")                           \
    X(RUNOUT_TIME, "runout_time_s", "s", "time to the stand")                                      \
    X(LEVEL_RUNOUT, "runout_on_level_m", "m", "on the level from there")                           \
    X(FLAT_SPEED, "flat_speed_ms", "m/s", "speed on the flat")                                     \
    X(FLAT_POWER, "watts_at_40kmh", "W", "power at 40 km/h on the flat")                           \
    X(FLAT_POWER_MPH, NULL, "W", "power at 25 mph on the flat")                                    \
    X(WORTH_CDA, "worth_cda_m2", "m2", "change of CdA worth that mass")                            \
    X(WANTED_CDA, "wanted_cda_m2", "m2", "CdA for that time")                                      \
    X(CDA, "cda_m2", "m2", "CdA")                                                                  \
    X(CRR, "crr", "", "Crr")                                                                       \
    X(MASS, "mass_kg", "kg", "mass")                                                               \
    X(DENSITY, "density_kgm3", "kg/m3", "air density")

enum cw_predict_quantity {
#define CW_PREDICT_QUANTITY_ENUM(name, key, unit, words) CW_PREDICT_##name,
    CW_PREDICT_TOLD(CW_PREDICT_QUANTITY_ENUM)
#undef CW_PREDICT_QUANTITY_ENUM
        CW_PREDICT_QUANTITIES
};

enum cw_predict_end {
    CW_PREDICT_ARRIVES, /* still rolling at the road's end */
    CW_PREDICT_STANDS,  /* stands still before it */
    CW_PREDICT_NEVER    /* never moves */
};
/* "still rolling at the end", "stands still on the way", "never moves"; constants. */
const char *cw_predict_end_text(enum cw_predict_end end);

/* A ride's states at every whole second, at corners of the road and at its end. Owned columns. */
struct cw_predict_trace {
    size_t n;
    double *time_s, *s_m, *height_m, *slope_ds, *speed_ms, *acceleration_ms2;
};

struct cw_predicted {
    char label[128];
    char setup[128]; /* "" where CdA and Crr are not an outing's */
    enum cw_predict_end end;
    /* What it was made from, all filled in: as given, of the outing, or as usual. */
    struct cw_predict_number number[CW_PREDICT_NUMBER_NAMES];
    bool usual[CW_PREDICT_NUMBER_NAMES]; /* neither given nor the outing's */
    double correlation;                  /* of CdA and Crr; NaN where they are not the outing's */
    /* NaN where there is none: a time without an arrival, a run-out without a stand. The difference
     * is from the first; percent is of the first's value. */
    struct cw_estimate of[CW_PREDICT_QUANTITIES], difference[CW_PREDICT_QUANTITIES];
    struct cw_predict_trace trace; /* with the estimates' values; empty where not asked for */
};

struct cw_predict_options {
    const struct cw_predict_road *road;
    /* An outing, fitted and averaged (cw_analysis_average), that CdA, Crr, masses and air of its
     * setups are taken from where they are not given; NULL: they must be. */
    const struct cw_analysed *from;
    struct cw_predict_case base;
    size_t n_with;
    const struct cw_predict_case *with; /* what is changed, each beside the base alone */
    bool trace;                         /* keep each ride's states too */
    bool no_bearings;                   /* leaves their friction out, as closed forms do */
    double worth_kg;      /* what change of CdA is worth so much more mass; 0: not asked */
    double wanted_time_s; /* what CdA that time takes; 0: not asked */
};
struct cw_predict_options cw_predict_options_default(void);

/* Beside the base the outing's other setups, each as a case of its own, but for a companion's, as
 * riders are not compared: as many as with[most] (of cw_predict_case_none) has room for. How many.
 */
size_t cw_predict_with_setups(const struct cw_predict_options *options,
                              struct cw_predict_case *with, size_t most);

struct cw_prediction {
    const struct cw_predict_road *road; /* borrowed */
    const struct cw_analysed *from;     /* likewise */
    double worth_kg, wanted_time_s;
    size_t n;                /* 1 + n_with */
    struct cw_predicted *at; /* owned; the base first */
};

/* CW_E_ARGUMENT where a number is missing or a setup's name is none of the outing's; CW_E_DATA
 * where the outing tells no CdA of it, or a ride ends neither way within a day. Free with
 * cw_prediction_free, also after an error. */
enum cw_status cw_predict(const struct cw_predict_options *options,
                          struct cw_prediction *prediction, struct cw_error *error);
void cw_prediction_free(struct cw_prediction *prediction);

CW_PUBLIC_END

#endif
