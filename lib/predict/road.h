/* The road that a prediction is of: slopes as given, the way of a recording, or the road that an
 * outing's runs share. */
#ifndef CW_PREDICT_ROAD_H
#define CW_PREDICT_ROAD_H

#include <stdbool.h>
#include <stddef.h>

#include "analysis/analysis.h"
#include "base/error.h"
#include "base/public.h"

CW_PUBLIC_BEGIN

enum cw_predict_road_kind {
    CW_PREDICT_SLOPES, /* a list of them, which meet at corners */
    CW_PREDICT_RUN,    /* along a run of a recording */
    CW_PREDICT_WHOLE,  /* all the way of a recording */
    CW_PREDICT_OUTING  /* of an outing, as its mean run goes */
};

/* A stretch of one slope. */
struct cw_predict_stretch {
    double end_m, sine; /* dh/ds, the sine of the slope's angle */
};

struct cw_profile; /* fit/profile.h */

/* Distances are along the road from its start. */
struct cw_predict_road {
    enum cw_predict_road_kind kind;
    char name[256];                       /* as it was given: the slopes, or the file */
    long run;                             /* CW_PREDICT_RUN: its number */
    double length_m;                      /* the way that is timed */
    double known_m;                       /* as far as heights are known, at least length_m */
    size_t n_stretches;                   /* 0 where a profile says the heights */
    struct cw_predict_stretch *stretches; /* owned */
    const struct cw_profile *profile;     /* borrowed, or the same as own_profile */
    struct cw_profile *own_profile;       /* owned; NULL */
    double profile_start_m;               /* where on the profile the road starts */
    double start_height_m;                /* 0 of slopes */
    double middle_height_m, latitude_deg; /* NaN of slopes, and where not recorded */
    double air_height_m;                  /* of its heights: where the air is that is said of it */
    double lowest_m;                      /* where it is lowest, the first time */
    double steepest_sine;  /* down: of its stretches, or of some 100 m of a profile */
    double entry_speed_ms; /* at which its run or runs began; 0 of slopes */
    /* Of recorded heights: a relative standard uncertainty of their differences, and one of the
     * whole drop, m. Of an outing's road the first is by its budget; a ride with that outing's own
     * CdA has it from there, and most of it cancels. */
    double scale_sd, tilt_sd_m;
};

/* A road of slopes, as `coastwise simulate --road` has it: METRES:PERCENT[:DEGREES],... (what it
 * turns by plays no part), or one of its names. CW_E_ARGUMENT, saying what to give. */
enum cw_status cw_predict_road_of_slopes(const char *text, struct cw_predict_road *road,
                                         struct cw_error *error);
/* Along a run of recordings whose runs were found: that of the number given; with 0 the longest
 * that was kept. CW_E_DATA where there is none. */
enum cw_status cw_predict_road_of_run(const struct cw_analysed *of, long number,
                                      struct cw_predict_road *road, struct cw_error *error);
/* All the way of the first recording, whose runs need not have been looked for:
 * cw_motion_make is all that it takes. */
enum cw_status cw_predict_road_of_way(const struct cw_recording *recording,
                                      const struct cw_motion *motion, struct cw_predict_road *road,
                                      struct cw_error *error);
/* The road that most runs of an outing share, from their mean start to where all still roll. The
 * outing's fit is borrowed. CW_E_DATA where it has no such road. */
enum cw_status cw_predict_road_of_outing(const struct cw_analysed *of, struct cw_predict_road *road,
                                         struct cw_error *error);
/* Also after an error. */
void cw_predict_road_free(struct cw_predict_road *road);

/* "slopes", "run", "recording", "outing"; constants. */
const char *cw_predict_road_kind_text(enum cw_predict_road_kind kind);
/* From its start to length_m, m; below 0 where it rises. */
double cw_predict_road_drop(const struct cw_predict_road *road);
/* dh/ds and the height, m, at a place on the road. At a corner: of what lies before it. */
double cw_predict_road_sine(const struct cw_predict_road *road, double s_m);
double cw_predict_road_height(const struct cw_predict_road *road, double s_m);

CW_PUBLIC_END

#endif
