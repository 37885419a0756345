/* Where a made run truly was, and when. */
#ifndef TRUE_PLACE_H
#define TRUE_PLACE_H

#include "made.h"

/* Hermite's cubic between the descent's states: right to some 1e-6 m at steps of 0.5 s. */
static inline double timed_true_place(const struct cw_simulated_run *run, double time_s) {
    const struct cw_descent *d = &run->descent;
    double t = time_s - run->start_s;
    size_t i = 0;
    while (i + 2 < d->n && d->time_s[i + 1] < t) i++;
    double h = d->time_s[i + 1] - d->time_s[i], u = (t - d->time_s[i]) / h, w = 1 - u;
    return d->s_m[i] * w * w * (1 + 2 * u) + d->s_m[i + 1] * u * u * (1 + 2 * w) +
           h * u * w * (d->speed_ms[i] * w - d->speed_ms[i + 1] * u);
}

static inline double timed_true_time(const struct cw_simulated_run *run, double s_m) {
    double low = run->start_s, high = run->end_s;
    for (int k = 0; k < 60; k++) {
        double middle = 0.5 * (low + high);
        if (timed_true_place(run, middle) < s_m)
            low = middle;
        else
            high = middle;
    }
    return 0.5 * (low + high);
}

#endif
