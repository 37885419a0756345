#include "compare/order.h"

#include <math.h>

static const double much = 0.8, second_per_hour = 3600;

/* Sums over the runs of two setups on one outing, with times from its first run. */
struct sums {
    double n[2], time_h[2], square_h2;
};

static struct sums sums_of(const struct cw_run_among *runs, size_t n, size_t outing, size_t setup,
                           size_t reference) {
    struct sums s = {0};
    double start_s = NAN;
    for (size_t i = 0; i < n; i++) {
        bool is_setup = runs[i].setup == setup;
        if (runs[i].outing != outing || (!is_setup && runs[i].setup != reference)) continue;
        if (isnan(start_s)) start_s = runs[i].time_s;
        double hours = (runs[i].time_s - start_s) / second_per_hour;
        s.n[is_setup] += 1;
        s.time_h[is_setup] += hours;
        s.square_h2 += hours * hours;
    }
    return s;
}

double cw_order_hours_later(const struct cw_run_among *runs, size_t n, size_t setup,
                            size_t reference) {
    double hours = 0, outings = 0;
    for (size_t i = 0; i < n; i++) {
        size_t first = 0;
        while (runs[first].outing != runs[i].outing) first++;
        if (first != i) continue; /* an outing once */
        struct sums s = sums_of(runs, n, runs[i].outing, setup, reference);
        if (!(s.n[0] > 0) || !(s.n[1] > 0)) continue;
        double all = s.n[0] + s.n[1], mean = (s.time_h[0] + s.time_h[1]) / all;
        double later = s.time_h[1] / s.n[1] - s.time_h[0] / s.n[0];
        double spread = s.square_h2 / all - mean * mean, part = s.n[1] / all;
        double correlation = later * sqrt(part * (1 - part) / spread);
        if (!(fabs(correlation) >= much) || later * hours < 0) return NAN;
        hours += later;
        outings++;
    }
    return outings > 0 ? hours / outings : NAN;
}
