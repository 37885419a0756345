#include "timed/gates.h"

#include <math.h>
#include <stdlib.h>

static int rising(const void *a, const void *b) {
    double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

/* Runs that roll over all of from..to; 0 where that leaves a setup less than half of its runs. */
static size_t crossing_both(size_t n, const struct cw_gate_reach *reaches, double from_m,
                            double to_m) {
    size_t both = 0;
    for (size_t i = 0; i < n; i++) {
        size_t own = 0, own_both = 0;
        for (size_t j = 0; j < n; j++) {
            if (reaches[j].setup != reaches[i].setup) continue;
            own++;
            own_both += reaches[j].from_m <= from_m && reaches[j].to_m >= to_m;
        }
        if (2 * own_both < own) return 0;
        both += reaches[i].from_m <= from_m && reaches[i].to_m >= to_m;
    }
    return both;
}

enum cw_status cw_gates_choose(size_t n, const struct cw_gate_reach *reaches, size_t n_gates,
                               double *gates_m, struct cw_error *error) {
    if (n == 0 || n_gates < 2 || n_gates > CW_GATES_MAX)
        return cw_error_set(error, CW_E_ARGUMENT, NULL, 0, "%zu gates for %zu runs", n_gates, n);
    double *from_m = malloc(2 * n * sizeof *from_m);
    if (!from_m) return cw_error_memory(error);
    double *to_m = from_m + n, best = 0, first_m = NAN, last_m = NAN;
    for (size_t i = 0; i < n; i++) {
        from_m[i] = reaches[i].from_m;
        to_m[i] = reaches[i].to_m;
    }
    qsort(from_m, n, sizeof *from_m, rising);
    qsort(to_m, n, sizeof *to_m, rising);
    size_t most = n / 5; /* runs that may be left out; of many, not every number is tried */
    size_t step = most / 16 + 1;
    for (size_t late = 0; late <= most; late += step)
        for (size_t early = 0; early + late <= most; early += step) {
            double a = ceil(from_m[n - 1 - late]), b = floor(to_m[early]);
            double runs = (double)n; /* as many as there can be: is it worth counting? */
            if (!(b - a >= CW_GATES_LEAST_M) || runs * runs * (b - a) <= best) continue;
            runs = (double)crossing_both(n, reaches, a, b);
            if (runs * runs * (b - a) <= best) continue;
            best = runs * runs * (b - a);
            first_m = a;
            last_m = b;
        }
    free(from_m);
    if (!(best > 0))
        return cw_error_set(error, CW_E_DATA, NULL, 0,
                            "the runs have no %g m of road in common to be timed over",
                            CW_GATES_LEAST_M);
    for (size_t g = 0; g < n_gates; g++)
        gates_m[g] = rint(first_m + (last_m - first_m) * (double)g / (double)(n_gates - 1));
    return CW_OK;
}

/* Hermite's cubic over a step of h seconds from place 0, and its two derivatives. */
static double place(double u, double h, double way_m, double v0, double v1) {
    double w = 1 - u;
    return way_m * u * u * (1 + 2 * w) + h * u * w * (v0 * w - v1 * u);
}

static double speed(double u, double h, double way_m, double v0, double v1) {
    return 6 * u * (1 - u) * way_m / h + v0 * (1 - u) * (1 - 3 * u) + v1 * u * (3 * u - 2);
}

static double acceleration(double u, double h, double way_m, double v0, double v1) {
    return (6 * (1 - 2 * u) * way_m / h + v0 * (6 * u - 4) + v1 * (6 * u - 2)) / h;
}

bool cw_gate_pass(const struct cw_gate_track *track, double gate_m,
                  struct cw_gate_passage *passage) {
    *passage = (struct cw_gate_passage){NAN, NAN, NAN, 0, NAN};
    if (track->n < 2 || !(track->s_m[0] <= gate_m && gate_m <= track->s_m[track->n - 1]))
        return false;
    size_t low = 0, high = track->n - 1; /* s[low] <= gate <= s[high] */
    while (high - low > 1) {
        size_t middle = low + (high - low) / 2;
        if (track->s_m[middle] <= gate_m)
            low = middle;
        else
            high = middle;
    }
    double h = track->time_s[high] - track->time_s[low];
    double way_m = track->s_m[high] - track->s_m[low], rest_m = gate_m - track->s_m[low];
    double v0 = track->speed_ms[low], v1 = track->speed_ms[high];
    if (!(h > 0 && isfinite(v0) && isfinite(v1))) return false;
    double a = 0, b = 1;
    for (int i = 0; i < 50; i++) { /* halving: sure, and 1e-15 of an interval */
        double middle = 0.5 * (a + b);
        if (place(middle, h, way_m, v0, v1) <= rest_m)
            a = middle;
        else
            b = middle;
    }
    passage->fraction = 0.5 * (a + b);
    passage->before = low;
    passage->time_s = track->time_s[low] + passage->fraction * h;
    passage->speed_ms = speed(passage->fraction, h, way_m, v0, v1);
    passage->acceleration_ms2 = acceleration(passage->fraction, h, way_m, v0, v1);
    return true;
}
