/* A run as the fit sees it: a basis motion to linearise about, and what was recorded. */
#ifndef CW_FIT_RUN_DATA_H
#define CW_FIT_RUN_DATA_H

#include <stdbool.h>
#include <stddef.h>

#include "base/error.h"
#include "physics/forces.h"
#include "runs/run.h"

enum { CW_BEFORE = 16 };

/* What a run's even course is broken by. */
enum cw_break {
    CW_BREAK_LOSS, /* energy, as metres of height: lost, or won where below 0 */
    CW_BREAK_JUMP, /* of the heights as recorded, up where above 0 */
    CW_BREAKS
};

struct cw_run_data {
    size_t n;         /* grid points: the samples, and points between samples over 1 s apart */
    double *time_s;   /* from the run's first sample */
    double *speed_ms; /* of the basis motion */
    double *s_m;      /* along the road, as its rider counts */
    double *curve_1m; /* how much the road bends there, 1/m; 0 unless set */
    /* Observations; NaN where there is none. */
    double *speed_seen_ms;
    double *position_seen_m;
    double *height_seen_m; /* corrected for the air's temperature where it is barometric */
    /* Where the last grid point was by a tape (fit/tape.h), along the road as its rider counts, and
     * its standard uncertainty, 0 where there is none. */
    double tape_m, tape_sd_m;
    /* What may have come between one grid point and the next beside all that is modelled, as an sd
     * in metres, and what it seems to have been; 0 but where fit/breaks.h found something. */
    double *break_sd_m[CW_BREAKS], *break_m[CW_BREAKS];
    /* How far behind the run's first place the rider was 1, 2, ... s before it: what smoothed
     * heights begin with. 0 where nothing is known: standing. */
    double before_m[CW_BEFORE];
    double height_step_m;      /* the heights come in steps of this; 0 if not */
    struct cw_bicycle bicycle; /* its CdA and Crr are what is looked for, and not set */
    struct cw_surroundings surroundings;
    double temperature_c; /* of the air, and so of the tyres */
    double warmer_k;      /* than the outing's runs are on the mean; 0 where all are alike */
    size_t run;           /* index into the runs found */
    size_t road;          /* index of its road */
    bool reversed; /* rides it the other way: the road counts mirror_m - s_m where it counts s_m */
    double mirror_m;
    size_t recording; /* index of its recording, whose the speed's scale is */
    size_t device;    /* index of what recorded it, whose the heights' lag is */
    size_t tyres;     /* index of its set of tyres */
    size_t setup;
};

/* Grid of a run from its samples' times, the basis motion's speeds and road positions (n each,
 * rising times), and the raw observations at the samples. Points are put between samples further
 * apart than a second, by the cubic that keeps both ends' position and speed. Free with
 * cw_run_data_free. */
enum cw_status cw_run_data_make(size_t n, const double *time_s, const double *speed_ms,
                                const double *s_m, const double *speed_seen_ms,
                                const double *position_seen_m, const double *height_seen_m,
                                struct cw_run_data *data, struct cw_error *error);
void cw_run_data_free(struct cw_run_data *data);

/* Grid point j's place as the road counts. */
static inline double cw_run_data_place(const struct cw_run_data *data, size_t j) {
    return data->reversed ? data->mirror_m - data->s_m[j] : data->s_m[j];
}
/* Whether it rides the main road, the way that pictures and times are of. */
static inline bool cw_run_data_is_main(const struct cw_run_data *data) {
    return data->road == CW_ROAD_MAIN && !data->reversed;
}
/* The headwind of a run in a wind that is a headwind to who rides the road its own way. */
static inline double cw_run_data_headwind(const struct cw_run_data *data, double wind_along_ms) {
    return data->reversed ? -wind_along_ms : wind_along_ms;
}

#endif
