#include "timed/place_error.h"

#include <math.h>
#include <stdlib.h>

#include "motion/metric.h"
#include "road/line.h"
#include "stats/robust.h"

/* Farther from a run's median than this part of its own scatter is an outlier, and not counted, as
 * where the run was tied to the line. */
#define OUTLIER 4.0
#define LEAST_OUTLIER_M 1.0
/* Positions are already on the line: how far to look about them. */
#define NEAR_M 5.0

/* Mean and sd without outliers; NaN for no values. scratch is as long as values. */
static void trimmed(const double *values, size_t n, double *scratch, double *mean, double *sd) {
    double sum = 0, squares = 0, count = 0;
    for (size_t i = 0; i < n; i++) scratch[i] = values[i];
    double middle = cw_median(scratch, n);
    for (size_t i = 0; i < n; i++) scratch[i] = fabs(values[i] - middle);
    double most = fmax(OUTLIER * 1.4826 * cw_median(scratch, n), LEAST_OUTLIER_M);
    for (size_t i = 0; i < n; i++) {
        double off = values[i] - middle;
        if (!(fabs(off) <= most)) continue;
        sum += off;
        squares += off * off;
        count += 1;
    }
    *mean = count > 0 ? middle + sum / count : NAN;
    *sd = count > 0 ? sqrt(fmax(0, squares / count - sum / count * (sum / count))) : NAN;
}

/* A run's distances to the left of the line. */
static size_t left_of(const struct cw_ridden *input, const struct cw_road *road,
                      const struct cw_along *along, const struct cw_run *run, double *left_m) {
    const struct cw_samples *samples = &input->recordings[run->recording].samples;
    const struct cw_line line = {road->n, road->s_m, road->east_m, road->north_m};
    size_t seen = 0;
    for (size_t i = 0; i < along->n; i++) {
        double east_m, north_m, s_m;
        if (!isfinite(along->road_m[i])) continue;
        cw_metric_to_plane(&road->metric, samples->latitude_deg[run->first + i],
                           samples->longitude_deg[run->first + i], &east_m, &north_m);
        cw_line_project(&line, east_m, north_m, along->road_m[i], NEAR_M, NEAR_M, &s_m,
                        &left_m[seen++]);
    }
    return seen;
}

enum cw_status cw_wander_make(const struct cw_ridden *input, const struct cw_road *road,
                              const struct cw_along *along, const size_t *members, size_t n,
                              struct cw_wander *wander, struct cw_error *error) {
    *wander = (struct cw_wander){NAN, NAN, NAN};
    if (road->n < 2) return CW_OK;
    size_t most = 0;
    for (size_t k = 0; k < n; k++)
        if (along[members[k]].n > most) most = along[members[k]].n;
    double *left_m = malloc(2 * most * sizeof *left_m);
    if (!left_m) return cw_error_memory(error);
    double count = 0, mean = 0, squares = 0, within = 0, tie_sd_m = NAN;
    for (size_t k = 0; k < n; k++) {
        const struct cw_along *own = &along[members[k]];
        size_t seen = left_of(input, road, own, &input->runs->at[members[k]], left_m);
        double run_mean, run_sd;
        if (!seen) continue;
        trimmed(left_m, seen, left_m + most, &run_mean, &run_sd);
        count += 1;
        double change = run_mean - mean;
        mean += change / count;
        squares += change * (run_mean - mean);
        within += run_sd * run_sd;
        tie_sd_m = own->tie_sd_m;
    }
    free(left_m);
    if (count >= 2)
        *wander = (struct cw_wander){sqrt(squares / (count - 1)), count - 1, sqrt(within / count)};
    else if (count > 0)
        *wander = (struct cw_wander){tie_sd_m, INFINITY, tie_sd_m};
    return CW_OK;
}

struct cw_place_error cw_place_error_make(const struct cw_ridden *input, size_t index,
                                          const struct cw_wander *wander,
                                          const struct cw_start *start) {
    const struct cw_run *run = &input->runs->at[index];
    const struct cw_motion *motion = &input->motions[run->recording];
    const struct cw_samples *samples = &input->recordings[run->recording].samples;
    double start_s = samples->time_s[run->first];
    struct cw_place_error e = {.shift_m2 = wander->shift_sd_m * wander->shift_sd_m,
                               .shift_df = wander->shift_df,
                               .start_s = start_s,
                               .duration_s = samples->time_s[run->last] - start_s};
    double squares = 0, sum = 0, count = 0;
    switch (motion->source) {
    case CW_SPEED_DEVICE: /* each interval's way is wrong by its speed's error */
        for (size_t i = run->first; i < run->last; i++) {
            double dt = samples->time_s[i + 1] - samples->time_s[i];
            squares += dt * dt;
        }
        e.walk_m2ps = motion->speed_sd_ms * motion->speed_sd_ms * squares / e.duration_s;
        break;
    case CW_SPEED_POSITION: /* such a walk has a sixth of rate T about its mean over T */
        e.walk_m2ps = 6 * wander->within_sd_m * wander->within_sd_m / e.duration_s;
        break;
    case CW_SPEED_DISTANCE:
        for (size_t i = run->first; i <= run->last; i++) {
            double off = samples->distance_m[i] - samples->distance_m[run->first] -
                         (motion->distance_m[i] - motion->distance_m[run->first]);
            if (!isfinite(off)) continue;
            squares += off * off;
            sum += off;
            count += 1;
        }
        if (count > 1) e.white_m2 = fmax(0, (squares - sum * sum / count) / (count - 1));
        break;
    }
    if (start) { /* the white error is the start's, too */
        e.shift_m2 = CW_START_SD_M * CW_START_SD_M + e.white_m2;
        e.shift_df = INFINITY;
        e.start_s = start->time_s;
        e.from_start = true;
    }
    return e;
}

double cw_place_error_own(const struct cw_place_error *error, double time1_s, double time2_s) {
    double white = time1_s == time2_s ? error->white_m2 : 0;
    if (error->from_start)
        return error->walk_m2ps * (fmin(time1_s, time2_s) - error->start_s) + white;
    double t = (time1_s - error->start_s) / error->duration_s;
    double u = (time2_s - error->start_s) / error->duration_s;
    double walk =
        error->walk_m2ps * error->duration_s * (1.0 / 3 + 0.5 * (t * t + u * u) - fmax(t, u));
    return walk + white;
}
