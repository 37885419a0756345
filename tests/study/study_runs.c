/* How often the runs of a made-up outing are found, all of them and nothing else.
 *
 * usage: study_runs [OUTINGS]     (200 by default)
 *
 * For each kind of outing and each seed: an outing of 8 runs is made up and its runs are looked
 * for. A run is found when a kept stretch covers at least 3/4 of the true coast and reaches at most
 * 8 s past its ends; any other kept stretch is false. Printed are the outings where all was right,
 * the runs missed and false in all outings, and how far starts and ends lie from the truth; and how
 * much of the pushing before and of the braking after lies within the runs, for a second of it
 * spoils a fit: the part of the starts over 0.5 s early, and of the ends over 0.5 s late, and the
 * 95 % quantile of each. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>

#include "runs/runs.h"
#include "simulate/simulate.h"

struct kind {
    const char *name;
    bool cadence, irregular;
    enum cw_simulate_speed speed;
    const char *road;
    double start_speed_ms, gust_sd_ms, elevation_step_m;
};

struct tally {
    int outings, perfect, runs, missed, strange;
    double start_sum, start_worst, end_sum, end_worst;
    size_t n; /* of the following: seconds a start is early, an end late, of each run found */
    double *early_s, *late_s;
};

/* What is within reach of a sample at 1 Hz is no error. */
#define SHARP_S 0.5

static void count_outing(const struct cw_simulated *made, const struct cw_runs *runs,
                         struct tally *tally) {
    bool found[CW_SIMULATE_RUNS_MAX] = {false};
    int strange = 0, missed = 0;
    for (size_t i = 0; i < runs->n; i++) {
        const struct cw_run *run = &runs->at[i];
        double end_s = run->start_s + run->duration_s;
        bool known = false;
        for (size_t k = 0; run->kept && k < made->n_runs; k++) {
            const struct cw_simulated_run *truth = &made->runs[k];
            double start_off = run->start_s - truth->start_s, end_off = end_s - truth->end_s;
            if (found[k] || start_off < -8.0 || end_off > 8.0 ||
                run->duration_s < 0.75 * (truth->end_s - truth->start_s))
                continue;
            found[k] = known = true;
            tally->start_sum += start_off;
            tally->end_sum += end_off;
            tally->start_worst = fmax(tally->start_worst, fabs(start_off));
            tally->end_worst = fmax(tally->end_worst, fabs(end_off));
            tally->early_s[tally->n] = -start_off;
            tally->late_s[tally->n++] = end_off;
            break;
        }
        strange += run->kept && !known;
    }
    for (size_t k = 0; k < made->n_runs; k++) missed += !found[k];
    tally->outings++;
    tally->runs += (int)made->n_runs;
    tally->missed += missed;
    tally->strange += strange;
    tally->perfect += missed == 0 && strange == 0;
}

static int by_value(const void *a, const void *b) {
    double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

static void print_beyond(const char *what, double *beyond_s, size_t n) {
    if (n == 0) return;
    size_t over = 0;
    for (size_t i = 0; i < n; i++) over += beyond_s[i] > SHARP_S;
    qsort(beyond_s, n, sizeof *beyond_s, by_value);
    printf("  %s %4.1f %% (95 %%: %+4.1f s)", what, 100.0 * (double)over / (double)n,
           beyond_s[n - 1 - n / 20]);
}

static int study(const struct kind *kind, unsigned long outings) {
    struct tally tally = {0};
    size_t most = outings * CW_SIMULATE_RUNS_MAX;
    tally.early_s = malloc(most * sizeof *tally.early_s);
    tally.late_s = malloc(most * sizeof *tally.late_s);
    int failed = !tally.early_s || !tally.late_s;
    for (unsigned long seed = 1; seed <= outings && !failed; seed++) {
        struct cw_simulate_options options = cw_simulate_options_default();
        struct cw_simulated made = {0};
        struct cw_motion motion = {0};
        struct cw_runs runs = {0};
        struct cw_error error = {0};
        options.seed = seed;
        options.cadence = kind->cadence;
        options.irregular = kind->irregular;
        options.speed = kind->speed;
        options.distance = kind->speed != CW_SIMULATE_SPEED_NONE;
        options.start_speed_ms = kind->start_speed_ms;
        options.gust_sd_ms = kind->gust_sd_ms;
        options.elevation_step_m = kind->elevation_step_m;
        struct cw_runs_options standard = cw_runs_options_default();
        failed = cw_simulate_road(&options, kind->road, &error) != CW_OK ||
                 cw_simulate(&options, &made, &error) != CW_OK ||
                 cw_motion_make(&made.recordings[0], &motion, &error) != CW_OK ||
                 cw_runs_find(made.recordings, &motion, 1, &standard, &runs, &error) != CW_OK;
        if (failed)
            fprintf(stderr, "study_runs: %s\n", error.message);
        else
            count_outing(&made, &runs, &tally);
        cw_runs_free(&runs);
        cw_motion_free(&motion);
        cw_simulated_free(&made);
    }
    double found = fmax(1.0, (double)(tally.runs - tally.missed));
    printf("%-44s %4d/%d  missed %4.1f %%  false %4.1f %%  start %+4.1f s (worst %4.1f)  "
           "end %+4.1f s (worst %4.1f)",
           kind->name, tally.perfect, tally.outings, 100.0 * tally.missed / fmax(1, tally.runs),
           100.0 * tally.strange / fmax(1, tally.runs), tally.start_sum / found, tally.start_worst,
           tally.end_sum / found, tally.end_worst);
    print_beyond("early", tally.early_s, tally.n);
    print_beyond("late", tally.late_s, tally.n);
    printf("\n");
    fflush(stdout);
    free(tally.early_s);
    free(tally.late_s);
    return failed;
}

int main(int argc, char **argv) {
    static const struct kind kinds[] = {
        {"cadence, wheel speed", true, false, CW_SIMULATE_SPEED_WHEEL, "straight", 4, 0.15, 0.2},
        {"cadence, positions alone", true, false, CW_SIMULATE_SPEED_NONE, "straight", 4, 0.15, 0.2},
        {"cadence, 1-4 s", true, true, CW_SIMULATE_SPEED_WHEEL, "straight", 4, 0.15, 0.2},
        {"cadence, a dip and a rise", true, false, CW_SIMULATE_SPEED_WHEEL, "dip", 4, 0.15, 0.2},
        {"wheel speed", false, false, CW_SIMULATE_SPEED_WHEEL, "straight", 4, 0.15, 0.2},
        {"Doppler speed", false, false, CW_SIMULATE_SPEED_DOPPLER, "straight", 4, 0.15, 0.2},
        {"positions alone", false, false, CW_SIMULATE_SPEED_NONE, "straight", 4, 0.15, 0.2},
        {"wheel speed, 1-4 s", false, true, CW_SIMULATE_SPEED_WHEEL, "straight", 4, 0.15, 0.2},
        {"wheel speed, a dip and a rise", false, false, CW_SIMULATE_SPEED_WHEEL, "dip", 4, 0.15,
         0.2},
        {"wheel speed, flattening", false, false, CW_SIMULATE_SPEED_WHEEL, "flattening", 4, 0.15,
         0.2},
        {"wheel speed, steep", false, false, CW_SIMULATE_SPEED_WHEEL, "steep", 4, 0.15, 0.2},
        {"wheel speed, released from rest", false, false, CW_SIMULATE_SPEED_WHEEL, "straight", 0,
         0.15, 0.2},
        {"wheel speed, steps of 1 m, gusts 0.5 m/s", false, false, CW_SIMULATE_SPEED_WHEEL,
         "straight", 4, 0.5, 1.0},
    };
    unsigned long outings = argc > 1 ? strtoul(argv[1], NULL, 10) : 200;
    int failed = 0;
    for (size_t k = 0; k < sizeof kinds / sizeof *kinds && !failed; k++)
        failed = study(&kinds[k], outings);
    return failed ? EXIT_FAILURE : EXIT_SUCCESS;
}
