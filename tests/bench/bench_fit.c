/* What a fit costs: that its time grows with the samples and with the road, and no faster, how it
 * compares with finding the runs, and how much memory it takes. */
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <sys/resource.h>
#include <time.h>

#include "fit/workings.h"
#include "made.h"

static double now_s(void) {
    struct timespec t;
    clock_gettime(CLOCK_PROCESS_CPUTIME_ID, &t);
    return (double)t.tv_sec + 1e-9 * (double)t.tv_nsec;
}

static void fail(const char *what, const struct cw_error *error) {
    fprintf(stderr, "%s: %s\n", what, error->message);
    exit(1);
}

struct cost {
    size_t runs, samples, evaluations;
    double find_s, fit_s;
};

/* length_m: of a straight road; 0 for the usual one. */
static struct cost measure(double interval_s, size_t rounds, double length_m) {
    struct cw_simulate_options options = cw_simulate_options_default();
    struct made made;
    struct cw_error error;
    struct cost cost = {0};
    options.interval_s = interval_s;
    if (length_m > 0) {
        options.n_segments = 1;
        options.segments[0] =
            (struct cw_simulate_segment){.length_m = length_m, .slope_percent = -11};
    }
    cw_simulate_order(&options, rounds);
    if (made_begin(&made, &options, &error) < 0) fail("not made", &error);
    double begin = now_s();
    if (cw_analysis_find(&made.analysis, &error) < 0) fail("no runs", &error);
    cost.find_s = now_s() - begin;
    begin = now_s();
    if (cw_analysis_fit(&made.analysis, &error) < 0) fail("not fitted", &error);
    cost.fit_s = now_s() - begin;
    const struct cw_fit *fit = &made.of->fit;
    cost.runs = fit->n_runs;
    cost.evaluations = fit->workings->evaluations;
    for (size_t i = 0; i < fit->n_runs; i++) cost.samples += fit->workings->joint.data[i].n;
    made_free(&made);
    return cost;
}

static void print(const char *what, const struct cost *cost) {
    printf("%-18s %3zu runs %6zu samples: found in %.3f s, fitted in %.3f s (%.1f us a sample, %zu "
           "evaluations)\n",
           what, cost->runs, cost->samples, cost->find_s, cost->fit_s,
           1e6 * cost->fit_s / (double)cost->samples, cost->evaluations);
}

/* Time a sample of one against another, which must be no more than limit. The searches take a
 * different number of steps, which is the data's doing: it is an evaluation's time that counts. */
static bool check(const char *what, const struct cost *more, const struct cost *less,
                  double limit) {
    double ratio = more->fit_s / (double)(more->samples * more->evaluations) /
                   (less->fit_s / (double)(less->samples * less->evaluations));
    printf("%-40s %.2f (limit %.2f) %s\n", what, ratio, limit, ratio <= limit ? "" : "TOO SLOW");
    return ratio <= limit;
}

int main(void) {
    struct rusage usage;
    measure(1, 2, 0); /* so that nothing is done for the first time */
    struct cost usual = measure(1, 2, 0), fine = measure(0.25, 2, 0), many = measure(1, 25, 0),
                km = measure(1, 1, 1000), km_8 = measure(1, 1, 8000), km_16 = measure(1, 1, 16000);
    getrusage(RUSAGE_SELF, &usage);
    print("1 Hz", &usual);
    print("4 Hz", &fine);
    print("1 Hz, many runs", &many);
    print("1 km", &km);
    print("8 km", &km_8);
    print("16 km", &km_16);
    printf("memory at most %ld kB\n", usage.ru_maxrss);
    /* At 1 Hz some costs do not depend on the samples, so more of them are cheaper each. With many
     * runs each adds an unknown to the equations of the road. */
    bool good = check("4 Hz against 1 Hz, a sample", &fine, &usual, 1.3);
    good &= check("many runs against few, a sample", &many, &usual, 1.5);
    good &= check("8 km against 1 km, a sample", &km_8, &km, 1.3);
    good &= check("16 km against 1 km, a sample", &km_16, &km, 1.3);
    double floor = usual.fit_s / usual.find_s;
    printf("%-40s %.1f (limit %.0f)\n", "fit against finding the runs", floor, 25.0);
    good &= floor <= 25;
    return good ? 0 : 1;
}
