#include "timed/steps.h"

#include <math.h>
#include <stdlib.h>

/* SAE J1263-2010, summary: a constant grade below 0.5 %. */
#define MOST_GRADE 0.005
/* A coast that gains speed is a descent's; by so much speeds are off. */
#define MOST_GAIN 0.05

bool cw_is_coast_down(const struct cw_run *run) {
    return fabs(run->mean_slope) <= MOST_GRADE &&
           run->top_speed_ms <= (1 + MOST_GAIN) * run->entry_speed_ms;
}

/* When the speed, straight from one sample to the next, is at speed_ms. */
static double time_at(const double *time_s, const double *v, size_t before, double speed_ms) {
    return time_s[before] + (time_s[before + 1] - time_s[before]) * (v[before] - speed_ms) /
                                (v[before] - v[before + 1]);
}

double cw_step_time(const struct cw_ridden *input, const struct cw_run *run, double speed_ms) {
    const double *v = input->motions[run->recording].speed_ms;
    const double *time_s = input->recordings[run->recording].samples.time_s;
    size_t first = run->first, last = run->last;
    if (!(v[first] >= speed_ms) || !(v[last] < speed_ms)) return NAN;
    while (v[first + 1] >= speed_ms) first++;
    while (v[last - 1] < speed_ms) last--;
    return 0.5 * (time_at(time_s, v, first, speed_ms) + time_at(time_s, v, last - 1, speed_ms));
}

static bool is_on_road(const struct cw_run *run, const struct cw_timed *timed) {
    return run->kept && run->road == timed->road;
}

static double step_of(const struct cw_ridden *input, const struct cw_run *run, double from_ms,
                      double to_ms) {
    return cw_step_time(input, run, to_ms) - cw_step_time(input, run, from_ms);
}

/* The next run of a setup that goes that way, from *at on; NULL: none is left. */
static const struct cw_run *next_of(const struct cw_ridden *input, const struct cw_timed *timed,
                                    size_t setup, bool reversed, size_t *at) {
    while (*at < input->runs->n) {
        const struct cw_run *run = &input->runs->at[(*at)++];
        if (is_on_road(run, timed) && run->setup == setup && run->reversed == reversed) return run;
    }
    return NULL;
}

/* The times of a setup's runs, or pairs, from one speed to the next. */
static size_t times_of(const struct cw_ridden *input, const struct cw_timed *timed, size_t setup,
                       bool pairs, double from_ms, double to_ms, double *times) {
    size_t n = 0, there_at = 0, back_at = 0;
    const struct cw_run *there, *back;
    while ((there = next_of(input, timed, setup, false, &there_at))) {
        double time_s = step_of(input, there, from_ms, to_ms);
        if (pairs) {
            if (!(back = next_of(input, timed, setup, true, &back_at))) break;
            time_s = cw_timing_pair(time_s, step_of(input, back, from_ms, to_ms));
        }
        if (time_s > 0) times[n++] = time_s;
    }
    return n;
}

enum cw_status cw_timed_steps_make(const struct cw_ridden *input, struct cw_timed *timed,
                                   struct cw_error *error) {
    size_t runs = 0, coast_downs = 0, steps = 0;
    bool pairs = false;
    double top_ms = 0;
    for (size_t i = 0; i < input->runs->n; i++) {
        const struct cw_run *run = &input->runs->at[i];
        if (!is_on_road(run, timed)) continue;
        runs++;
        coast_downs += cw_is_coast_down(run);
        pairs = pairs || run->reversed;
        top_ms = fmax(top_ms, run->top_speed_ms);
    }
    if (2 * coast_downs < runs) return CW_OK;
    steps = (size_t)(top_ms / CW_STEP_MS);
    timed->steps = calloc(steps * timed->n_setups + 1, sizeof *timed->steps);
    double *times = malloc((runs + 1) * sizeof *times);
    if (!timed->steps || !times) {
        free(times);
        return cw_error_memory(error);
    }
    for (size_t s = 0; s < timed->n_setups; s++)
        for (size_t k = steps; k > 1; k--) {
            struct cw_timed_step step = {.setup = timed->setups[s].setup,
                                         .from_ms = (double)k * CW_STEP_MS,
                                         .to_ms = (double)(k - 1) * CW_STEP_MS,
                                         .pairs = pairs,
                                         .force_precision = NAN};
            size_t n = times_of(input, timed, step.setup, pairs, step.from_ms, step.to_ms, times);
            if (cw_timing_mean(n, times, &step.timing, NULL) == CW_OK)
                timed->steps[timed->n_steps++] = step;
        }
    free(times);
    return CW_OK;
}
