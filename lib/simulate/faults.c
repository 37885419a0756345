#include "simulate/faults.h"

#include <math.h>
#include <stdlib.h>

#include "simulate/random.h"

/* A hole keeps so far from a run's ends, where there is room for that. */
#define MARGIN_S 5

/* As many random numbers are drawn whether there is a hole or not. */
static void draw_hole(const struct cw_simulate_options *options, struct cw_random *random,
                      struct cw_simulated_run *run) {
    bool hole = cw_random_even(random, 0, 1) < options->hole_share;
    double longer = cw_random_even(random, 0.5, 1.5), place = cw_random_even(random, 0, 1);
    if (!hole) return;
    double duration_s = run->end_s - run->start_s;
    run->hole_s = fmin(longer * options->hole_s, duration_s / 2);
    double margin_s = fmin(MARGIN_S, (duration_s - run->hole_s) / 2);
    run->hole_start_s = run->start_s + margin_s + place * (duration_s - run->hole_s - 2 * margin_s);
}

static enum cw_status add_jump(struct cw_faults *faults, struct cw_jump jump) {
    if (faults->n_jumps == faults->capacity) {
        size_t capacity = faults->capacity ? 2 * faults->capacity : 16;
        struct cw_jump *grown = realloc(faults->jumps, capacity * sizeof *grown);
        if (!grown) return CW_E_MEMORY;
        faults->jumps = grown;
        faults->capacity = capacity;
    }
    faults->jumps[faults->n_jumps++] = jump;
    return CW_OK;
}

/* Jumps of one recording, whose phases begin with the first: a Poisson process in time. */
static enum cw_status draw_jumps(const struct cw_simulate_options *options,
                                 const struct cw_ride_phase *first, double end_s,
                                 struct cw_random *random, struct cw_faults *faults) {
    double rate_1s = options->jumps_per_hour / 3600, time_s = first->begin_s;
    while (rate_1s > 0) {
        time_s -= log(1 - cw_random_even(random, 0, 1)) / rate_1s;
        if (time_s >= end_s) break;
        double by_m = options->jump_m * cw_random_even(random, 2.0 / 3, 4.0 / 3);
        if (cw_random_even(random, 0, 1) < 0.5) by_m = -by_m;
        struct cw_jump jump = {first->recording, time_s, by_m};
        if (add_jump(faults, jump)) return CW_E_MEMORY;
    }
    return CW_OK;
}

static void count_jumps(const struct cw_faults *faults, double ride_start_s,
                        struct cw_simulated_run *run) {
    for (size_t i = 0; i < faults->n_jumps; i++) {
        double time_s = ride_start_s + faults->jumps[i].time_s;
        if (time_s < run->start_s || time_s > run->end_s) continue;
        run->n_jumps++;
        run->jump_m += faults->jumps[i].by_m;
    }
}

enum cw_status cw_faults_make(const struct cw_simulate_options *options, const struct cw_ride *ride,
                              struct cw_simulated_run *runs, struct cw_faults *faults,
                              struct cw_error *error) {
    *faults = (struct cw_faults){0};
    struct cw_random hole = cw_random_make(options->seed, CW_STREAM_HOLE);
    struct cw_random jump = cw_random_make(options->seed, CW_STREAM_JUMP);
    enum cw_status status = hole.state && jump.state ? CW_OK : CW_E_MEMORY;
    for (size_t first = 0, i = 0; i < ride->n && !status; i++) {
        const struct cw_ride_phase *phase = &ride->phases[i];
        if (i + 1 < ride->n && ride->phases[i + 1].recording == phase->recording) continue;
        status = draw_jumps(options, &ride->phases[first], phase->begin_s + phase->duration_s,
                            &jump, faults);
        first = i + 1;
    }
    for (size_t i = 0; i < options->n_order && !status; i++) {
        draw_hole(options, &hole, &runs[i]);
        count_jumps(faults, options->start_s, &runs[i]);
    }
    cw_random_free(&hole);
    cw_random_free(&jump);
    return status ? cw_error_memory(error) : CW_OK;
}

void cw_faults_free(struct cw_faults *faults) {
    free(faults->jumps);
    *faults = (struct cw_faults){0};
}

bool cw_faults_hole(const struct cw_simulated_run *runs, size_t n, double time_s) {
    for (size_t i = 0; i < n; i++)
        if (time_s > runs[i].hole_start_s && time_s < runs[i].hole_start_s + runs[i].hole_s)
            return true;
    return false;
}
