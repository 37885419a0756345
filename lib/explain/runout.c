#include "explain/runout.h"

#include <math.h>

#include "fit/workings.h"

static const double least_m = 25;

double cw_runout_end_m(const struct cw_timed *timed) {
    double shortest_m = INFINITY, longest_m = 0;
    for (size_t k = 0; k < timed->n; k++) {
        double runout_m = timed->runs[k].runout_m.value;
        if (!isfinite(runout_m)) continue;
        shortest_m = fmin(shortest_m, runout_m);
        longest_m = fmax(longest_m, runout_m);
    }
    double end_m = shortest_m - fmax(least_m, longest_m - shortest_m);
    return end_m >= CW_GATES_LEAST_M && isfinite(end_m) ? timed->gates_m[0] + end_m : NAN;
}

void cw_runout_set_even(const struct cw_timed *timed, struct cw_explained_road *road) {
    const struct cw_profile *profile = &road->fit->workings->ways.profile;
    double longest_m = 0;
    for (size_t k = 0; k < timed->n; k++)
        longest_m = fmax(longest_m, timed->runs[k].runout_m.value); /* fmax leaves out NaN */
    double to_m = road->from_m + longest_m;
    road->even_slope = NAN;
    if (!(to_m > road->end_m)) return;
    road->even_slope =
        (cw_profile_height(profile, to_m) - cw_profile_height(profile, road->end_m)) /
        (to_m - road->end_m);
}

enum cw_status cw_runout_stretch_make(const struct cw_explained_road *road,
                                      const struct cw_timed *timed, const struct cw_timed *at_end,
                                      const struct cw_explained_run *runs, size_t n,
                                      struct cw_runout_stretch *stretch, struct cw_error *error) {
    struct cw_explained_road last = *road;
    double products = 0, squares = 0, rests = 0, used = 0;
    *stretch = (struct cw_runout_stretch){1, 0, NAN};
    last.from_m = last.to_m = road->end_m;
    last.dip_m = NAN;
    last.stretch = 1;
    for (int rest = 0; rest < 2; rest++) {
        double by = rest ? products / squares : 0;
        for (size_t k = 0; k < n; k++) {
            struct cw_explained_state state = runs[k].state;
            double more[CW_EXPLAINED];
            state.of[CW_PART_START] = at_end->runs[runs[k].timed].exit_speed_ms.value;
            double rolled_m =
                timed->runs[runs[k].timed].runout_m.value - (road->end_m - road->from_m);
            if (!isfinite(state.of[CW_PART_START]) || !isfinite(rolled_m)) continue;
            enum cw_status status = cw_explained_coast(&last, &state, more, error);
            if (status < 0) return status;
            double by_model_m = more[CW_EXPLAINED_RUNOUT];
            if (!isfinite(by_model_m)) continue;
            if (rest) {
                rests += pow(rolled_m - by * by_model_m, 2);
            } else {
                products += rolled_m * by_model_m;
                squares += by_model_m * by_model_m;
                used++;
            }
        }
        if (used < 2) return CW_OK;
    }
    *stretch = (struct cw_runout_stretch){products / squares, sqrt(rests / (used - 1) / squares),
                                          used - 1};
    return CW_OK;
}
