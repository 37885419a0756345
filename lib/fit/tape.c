#include "fit/tape.h"

#include <math.h>
#include <stdlib.h>

#include "stats/robust.h"

/* From the run's end at walking pace to the standstill it may take no longer. */
static const double standstill_s = 90;
/* A turn back is seen from this far off: who stops and then goes back seems to turn before. */
static const double turn_m = 15;

/* Fewer don't tell where the mark is. */
enum { LEAST = 3 };
/* A tape that is farther off is of another run or has digits swapped, which timed/noted.h says. */
static const double farthest_m = 6;
/* How long the error of a speed lasts that is made from positions; common practice, no source. */
static const double lasts_s = 3;

bool cw_standstill(const struct cw_ridden *input, const struct cw_run *run, size_t *at) {
    const struct cw_motion *motion = &input->motions[run->recording];
    const double *time_s = input->recordings[run->recording].samples.time_s;
    if (run->ends != CW_END_STOP && run->ends != CW_END_TURN) return false;
    size_t i = run->last;
    while (!(motion->speed_ms[i] <= CW_STANDING_MS)) {
        i++;
        if (i >= motion->n || motion->gap_before[i] || isnan(motion->speed_ms[i]) ||
            time_s[i] - time_s[run->last] > standstill_s)
            return false;
    }
    *at = i;
    return run->ends == CW_END_STOP ||
           motion->distance_m[i] - motion->distance_m[run->last] <= turn_m;
}

void cw_tape_take(const struct cw_ridden *input, size_t last, struct cw_run_data *data) {
    const struct cw_run *run = &input->runs->at[data->run];
    const struct cw_motion *motion = &input->motions[run->recording];
    const double *time_s = input->recordings[run->recording].samples.time_s;
    double variance = 0;
    size_t at;
    data->tape_sd_m = 0;
    if (!isfinite(run->noted.runout_m) || !cw_standstill(input, run, &at)) return;
    for (size_t i = last; i < at; i++) {
        double dt = time_s[i + 1] - time_s[i], error_ms = motion->speed_error_ms[i],
               whole_s = motion->source == CW_SPEED_POSITION ? fmax(dt, lasts_s) : dt;
        variance += error_ms * error_ms * dt * whole_s;
    }
    data->tape_m = run->noted.runout_m - (motion->distance_m[at] - motion->distance_m[last]);
    if (isfinite(data->tape_m) && isfinite(variance))
        data->tape_sd_m = hypot(input->outing->runout_m.uncertainty, sqrt(variance));
}

static bool same_way(const struct cw_run_data *a, const struct cw_run_data *b) {
    return a->road == b->road && a->reversed == b->reversed;
}

/* How far behind the road's start a run's mark is, by its own place. */
static double mark_of(const struct cw_run_data *data) {
    return data->s_m[data->n - 1] - data->tape_m;
}

enum cw_status cw_tape_tie(struct cw_prepared *prepared, struct cw_error *error) {
    double *marks = malloc((prepared->n + 1) * sizeof *marks);
    bool *tied = calloc(prepared->n + 1, sizeof *tied);
    enum cw_status status = marks && tied ? CW_OK : cw_error_memory(error);
    for (size_t i = 0; i < prepared->n && status >= 0; i++) {
        size_t n = 0, agree = 0;
        double sum = 0;
        for (size_t j = i; j < prepared->n; j++) {
            const struct cw_run_data *data = &prepared->data[j];
            if (!tied[j] && data->tape_sd_m > 0 && same_way(&prepared->data[i], data))
                marks[n++] = mark_of(data);
        }
        if (!n) continue;
        double middle = cw_median(marks, n);
        for (size_t k = 0; k < n; k++) {
            if (!(fabs(marks[k] - middle) <= farthest_m)) continue;
            sum += marks[k];
            agree++;
        }
        for (size_t j = i; j < prepared->n; j++) {
            struct cw_run_data *data = &prepared->data[j];
            if (tied[j] || !(data->tape_sd_m > 0) || !same_way(&prepared->data[i], data)) continue;
            tied[j] = true;
            if (agree < LEAST || !(fabs(mark_of(data) - middle) <= farthest_m)) data->tape_sd_m = 0;
            data->tape_m += sum / (double)agree;
        }
    }
    free(marks);
    free(tied);
    return status;
}
