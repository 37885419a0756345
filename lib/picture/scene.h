/* What the pictures of an outing have in common: its runs in ride order, their setups and styles,
 * keys and names. */
#ifndef CW_PICTURE_SCENE_H
#define CW_PICTURE_SCENE_H

#include <stdbool.h>
#include <stddef.h>

#include "analysis/analysis.h"
#include "base/error.h"
#include "fit/run_data.h"
#include "picture/chart.h"

/* More runs than this are drawn as their setups' range and mean. */
#define CW_SCENE_RUNS_MOST 40

struct cw_scene_setup {
    const char *name;                     /* of the outing; "no setup" for runs that have none */
    size_t rider;                         /* whose it is, as the outing has it */
    size_t style;                         /* the same in all pictures of a report */
    size_t n;                             /* runs here */
    const struct cw_setup_result *result; /* over all outings; NULL where there is none */
    const struct cw_comparison *against;  /* the reference; NULL for the reference and without */
};

struct cw_scene_run {
    const struct cw_fit_run *fit;
    const struct cw_run_data *data;
    const struct cw_run *run;
    size_t setup; /* index into the scene's setups */
};

struct cw_scene {
    const struct cw_analysis *analysis;
    const struct cw_analysed *of;
    size_t outing_number; /* from 1 */
    size_t n;
    struct cw_scene_run *runs; /* those fitted, in time order */
    size_t n_setups;
    struct cw_scene_setup *setups; /* those that have runs here, the reference first */
    size_t road;                   /* the one that pictures of a road are of: the main one, or
                                    * where none was repeated that of the longest run */
    size_t n_on_road;              /* runs on it, its own way */
    bool many;                     /* over CW_SCENE_RUNS_MOST of all runs: draw ranges and means */
    bool many_on_road;             /* the same of those on road 0 */
};

/* CW_E_DATA when no run was fitted; CW_E_ARGUMENT for an outing that the report has not. Free with
 * cw_scene_free, also after an error. */
enum cw_status cw_scene_make(const struct cw_analysis *analysis, size_t outing,
                             struct cw_scene *scene, struct cw_error *error);
void cw_scene_free(struct cw_scene *scene);

/* Whether the run is on the scene's road, and rides it its own way. */
static inline bool cw_scene_on_road(const struct cw_scene *scene, const struct cw_run_data *data) {
    return data->road == scene->road && !data->reversed;
}

/* <g class="run" data-run="1.3" data-setup="cape">, and its end. */
void cw_scene_open_run(const struct cw_scene *scene, struct cw_chart *chart, long number,
                       const char *setup);
void cw_scene_close_run(struct cw_chart *chart);
/* "run 3, cape: " */
void cw_scene_name_run(const struct cw_scene *scene, const struct cw_scene_run *run,
                       struct cw_text *text);

/* The setups' marks (with dashes where they stand for lines) and names, in as many lines as it
 * takes; the chart's y moves on. A single setup needs no key and gets none. */
void cw_scene_key(const struct cw_scene *scene, struct cw_chart *chart, bool lines);
/* The same for one style. */
struct cw_key {
    double x;
    bool any;
};
void cw_key_add(struct cw_key *key, struct cw_chart *chart, size_t style, bool line,
                const char *name);
void cw_key_end(struct cw_key *key, struct cw_chart *chart);

/* "0.412 m²" and the like: a value with as many decimals as its error bears, its interval in
 * brackets where that is known, and a unit; m/s are shown as km/h. */
void cw_scene_add_estimate(struct cw_text *text, const struct cw_estimate *estimate,
                           const char *unit, bool signed_);

/* The comparison's i-th run where it is of this outing and its wind is found; else NULL. */
const struct cw_run_among *cw_scene_wind(const struct cw_scene *scene, size_t i);
/* Whether somebody else saw the wind of such a run: notes, an air log, a companion. */
bool cw_scene_saw_winds(const struct cw_scene *scene);

/* How many sets of tyres have a Crr that is told and a pressure that was noted. */
size_t cw_scene_pumped(const struct cw_scene *scene);

/* Up to CW_SCENE_NUMBERED_MOST lines have their run's number at their end, right of the plot: so
 * much room it takes across, and down for all of them; 0 for more runs. */
#define CW_SCENE_NUMBERED_MOST 14
double cw_scene_numbers_width(const struct cw_scene *scene);
double cw_scene_numbers_height(const struct cw_scene *scene);
/* Puts them there: x and y are values where the line of each run of the scene ends, NaN where it
 * has none. */
void cw_scene_number_ends(const struct cw_scene *scene, struct cw_chart *chart,
                          const struct cw_plot *plot, const double *x, const double *y);

/* Notes under a picture of the road: runs that are on other roads, and, where the comparison found
 * some, runs that are not like their fellows. */
void cw_scene_note_elsewhere(const struct cw_scene *scene, struct cw_chart *chart);
void cw_scene_note_outliers(const struct cw_scene *scene, struct cw_chart *chart);

/* The stretch of the road that the runs share, as cw_gates_choose has it (of more than a hundred,
 * every second, third ... is asked). CW_E_DATA where there is
 * none; both are NaN then. */
enum cw_status cw_scene_stretch(const struct cw_scene *scene, double *from_m, double *to_m,
                                struct cw_error *error);
/* A run's time, and speed, where it is at s_m; NaN where it never is. */
double cw_scene_time_at(const struct cw_run_data *data, double s_m);
double cw_scene_speed_at(const struct cw_run_data *data, double s_m);
/* The road's reach over all its runs. */
void cw_scene_reach(const struct cw_scene *scene, double *from_m, double *to_m);

#endif
