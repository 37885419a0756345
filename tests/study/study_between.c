/* How honest a difference is where runs differ by more than their noise: tables of runs' log CdA
 * are made up, with noise, a scatter of their own and winds, and given to what fits these
 * (fit/between.h). No road, no recording: some thousand tables a second.
 * usage: study_between N [--check]
 * --check: the status tells whether intervals hold as often as they should. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "fit/between.h"
#include "tally.h"

enum { MOST = 16 };
static const double noise_sd = 0.0127, noise_df = 30; /* a run's; as in light air */
static const double between_s = 300, lasts_s = 70, speed_ms = 9.1;

/* A table's truth: the setups have the same drag. */
struct truth {
    const char *order;
    double scatter;           /* sd of log CdA from run to run */
    double wind_ms[2];        /* the sd of the runs' mean winds, from ... to ... */
    double wander_ms;         /* sd of a wind that turns over 10 to 20 minutes */
    double least, most_false; /* of 100 tables, for --check: intervals that hold, verdicts */
};

/* The bounds are those of what was found, less or more by what chance makes of 400 tables. */
static const struct truth truths[] = {
    {"ABBAABBA", 0, {0, 0}, 0, 96, 4},
    {"ABBAABBA", 0.01, {0, 0}, 0, 93, 7},
    {"ABBAABBA", 0.03, {0, 0}, 0, 90, 10},
    {"ABBAABBA", 0, {0.3, 0.7}, 0.2, 91, 9},
    {"ABBAABBA", 0, {0.1, 0.1}, 0.5, 93, 7},
    {"AAAABBBB", 0, {0.3, 0.7}, 0.2, 91, 9},
    {"ABBA", 0, {0, 0}, 0, 97, 3},
    {"ABBA", 0.01, {0, 0}, 0, 96, 4},
    {"ABBA", 0.03, {0, 0}, 0, 90, 10},
    {"ABBA", 0, {0.3, 0.7}, 0.2, 89, 11},
    {"ABA", 0, {0, 0}, 0, 97, 3},
    {"ABA", 0.01, {0, 0}, 0, 97, 3},
    {"ABA", 0.03, {0, 0}, 0, 93, 7},
    {"ABA", 0, {0.3, 0.7}, 0.2, 84, 16},
};

static unsigned long long state = 88172645463325252ULL;

/* Marsaglia's xorshift (2003), and Box and Muller's normal numbers. */
static double uniform(void) {
    state ^= state << 13;
    state ^= state >> 7;
    state ^= state << 17;
    return ((double)(state >> 11) + 0.5) / 9007199254740992.0;
}

static double normal(void) {
    double radius = sqrt(-2 * log(uniform()));
    return radius * cos(6.283185307179586 * uniform());
}

/* The runs' values, errors all: there is no difference. */
static void draw(const struct truth *truth, size_t n, double by, double *value) {
    double wind_ms = truth->wind_ms[0] + (truth->wind_ms[1] - truth->wind_ms[0]) * uniform();
    double keep = exp(-between_s / (600 + 600 * uniform())), wander = normal();
    for (size_t i = 0; i < n; i++) {
        if (i) wander = keep * wander + sqrt(1 - keep * keep) * normal();
        value[i] = noise_sd * normal() + truth->scatter * normal() +
                   by * (wind_ms * normal() + truth->wander_ms * wander);
    }
}

static enum cw_status one(const struct truth *truth, struct tally *tally, size_t *said,
                          double *half, struct cw_error *error) {
    size_t n = strlen(truth->order);
    double value[MOST], design[2 * MOST] = {0}, noise[MOST * MOST] = {0};
    double speed[2] = {speed_ms, speed_ms}, way[2] = {0, speed_ms * lasts_s};
    struct cw_run run[MOST];
    struct cw_run_data data[MOST];
    struct cw_between_run among[MOST];
    for (size_t i = 0; i < n; i++) {
        size_t setup = truth->order[i] == 'B';
        design[2 * i + setup] = 1;
        noise[i * n + i] = noise_sd * noise_sd;
        run[i] = (struct cw_run){.start_s = between_s * (double)i, .duration_s = lasts_s};
        run[i].noted.wind_ms = run[i].logged.wind_ms = run[i].logged.cross_ms = NAN;
        data[i] = (struct cw_run_data){.n = 2, .setup = setup, .speed_ms = speed, .s_m = way};
        among[i] = (struct cw_between_run){
            .by_wind = cw_wind_answer_of(&data[i]), .setup = setup, .run = &run[i]};
    }
    draw(truth, n, cw_between_by_wind(&data[0]), value);
    struct cw_components_data table = {.n = n, .p = 2, .value = value, .design = design};
    struct cw_components fit = {0};
    struct cw_between between;
    struct cw_estimate difference;
    double p_value = 1;
    enum cw_status status = cw_between_make(among, n, &between, error);
    if (status >= 0) status = cw_between_fit(&between, noise, noise_df, false, &table, &fit, error);
    if (status >= 0)
        status = cw_components_contrast(&fit, (const double[2]){-1, 1}, &difference, NULL, &p_value,
                                        error);
    if (status >= 0) {
        tally_add(tally, difference.value, difference.standard_error, tally_inside(&difference, 0));
        *half = 0.5 * (difference.high - difference.low);
        *said += p_value < 0.05;
    }
    cw_components_free(&fit);
    cw_between_free(&between);
    return status;
}

static int by_size(const void *a, const void *b) {
    double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

int main(int argc, char **argv) {
    size_t tables = argc > 1 ? strtoul(argv[1], NULL, 10) : 0;
    bool check = argc > 2 && !strcmp(argv[2], "--check"), sound = true;
    double *half = tables ? malloc(tables * sizeof *half) : NULL;
    if (!half) {
        fprintf(stderr, "usage: study_between N [--check]\n");
        return 2;
    }
    puts("of 100 tables; errors and half widths of the difference in %\n"
         "order      scatter  winds, m/s  wander    rms   said  holds  false  half (90 of 100)");
    for (size_t t = 0; t < sizeof truths / sizeof *truths; t++) {
        const struct truth *truth = &truths[t];
        struct tally tally = {0};
        struct cw_error error;
        size_t said = 0;
        for (size_t i = 0; i < tables; i++)
            if (one(truth, &tally, &said, &half[i], &error) < 0) {
                fprintf(stderr, "study_between: %s\n", error.message);
                free(half);
                return 4;
            }
        qsort(half, tables, sizeof *half, by_size);
        double n = (double)tables, holds = 100 * (double)tally.held / n,
               wrong = 100 * (double)said / n;
        printf("%-10s %5.1f %%  %4.1f to %.1f  %6.1f  %5.2f  %5.2f  %5.1f  %5.1f  %.2f (%.2f to "
               "%.2f)\n",
               truth->order, 100 * truth->scatter, truth->wind_ms[0], truth->wind_ms[1],
               truth->wander_ms, 100 * sqrt(tally.sum2 / n), 100 * sqrt(tally.said2 / n), holds,
               wrong, 100 * half[tables / 2], 100 * half[tables / 20],
               100 * half[tables - 1 - tables / 20]);
        sound = sound && holds >= truth->least && wrong <= truth->most_false;
    }
    free(half);
    if (check && !sound)
        puts("intervals hold less often, or verdicts are false oftener, than they should");
    return check && !sound ? 1 : 0;
}
