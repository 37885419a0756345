/* How good the fit is: made-up outings with known truth, fitted; bias and how many intervals hold.
 * usage: study_fit CASE|all N [FIRST-SEED] [-v|-vv|--check]
 * --check: the status tells whether they are as they should be. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

#include "fit/workings.h"
#include "outings.h"
#include "stats/student.h"
#include "tally.h"

struct results {
    size_t outings, found, unidentified;
    struct tally alone_cda, alone_crr, together_cda, mean_cda, crr, difference, lag;
    double noise[CW_NOISE_PARAMETERS];
    double seconds;
};

static void add(const struct study_outing *o, struct results *r, int verbose) {
    const struct cw_fit *fit = &o->made.of->fit;
    size_t n = fit->workings->information.n, nt = fit->n_tyres;
    double value[64], contrast[64] = {0}, level[64] = {0}, *cov = malloc(n * n * sizeof *cov);
    size_t per[2] = {0, 0};
    double log_value[CW_NOISE_PARAMETERS], truth[64];
    struct cw_error error;
    cw_information_solve(&fit->workings->information, value, cov, &error);
    for (size_t i = 0; i < fit->n_runs; i++) per[fit->runs[i].setup]++;
    double expected = 0, mean_truth = 0;
    for (size_t i = 0; i < fit->n_runs; i++) {
        const struct cw_fit_run *run = &fit->runs[i];
        const struct cw_simulated_run *t = made_truth(&o->made, run->run);
        truth[i] = t->cda_m2;
        double cda = t->cda_m2, crr = t->crr;
        if (run->identifiable) {
            tally_add(&r->alone_cda, run->alone_cda_m2.value / cda - 1,
                      run->alone_cda_m2.standard_error / cda,
                      tally_inside(&run->alone_cda_m2, cda));
            tally_add(&r->alone_crr, run->alone_crr.value - crr, run->alone_crr.standard_error,
                      tally_inside(&run->alone_crr, crr));
        } else {
            r->unidentified++;
        }
        tally_add(&r->together_cda, run->together_cda_m2.value / cda - 1,
                  run->together_cda_m2.standard_error / cda,
                  tally_inside(&run->together_cda_m2, cda));
        contrast[nt + i] = (run->setup ? 1.0 : -1.0) / (double)per[run->setup];
        level[nt + i] = 1.0 / (double)fit->n_runs;
        expected += contrast[nt + i] * o->options.setups[run->setup].cda_m2;
        mean_truth += level[nt + i] * o->options.setups[run->setup].cda_m2;
        if (!i)
            tally_add(&r->crr, fit->crr[0].value - crr, fit->crr[0].standard_error,
                      tally_inside(&fit->crr[0], crr));
    }
    double d = 0, vd = 0, m = 0, vm = 0, df, dfm;
    for (size_t i = 0; i < n; i++) {
        d += contrast[i] * value[i];
        m += level[i] * value[i];
        for (size_t j = 0; j < n; j++) {
            vd += contrast[i] * cov[i * n + j] * contrast[j];
            vm += level[i] * cov[i * n + j] * level[j];
        }
    }
    df = cw_fit_df(fit, contrast);
    dfm = cw_fit_df(fit, level);
    double c0 = o->options.setups[0].cda_m2;
    tally_add(&r->difference, (d - expected) / c0, sqrt(vd) / c0,
              fabs(d - expected) < cw_t_quantile(0.975, df) * sqrt(vd));
    tally_add(&r->mean_cda, (m - mean_truth) / c0, sqrt(vm) / c0,
              fabs(m - mean_truth) < cw_t_quantile(0.975, dfm) * sqrt(vm));
    double lag = fit->recorders[0].lag_s - o->options.elevation_lag_s;
    tally_add(&r->lag, lag, fit->recorders[0].lag_error_s,
              fabs(lag) < 2 * fit->recorders[0].lag_error_s);
    cw_noise_to_log(&fit->noise, log_value);
    for (size_t k = 0; k < CW_NOISE_PARAMETERS; k++) r->noise[k] += log_value[k];
    if (verbose)
        printf("seed %lu: difference %+.2f %% (%.2f, df %.1f) level %+.2f %% (%.2f, df %.1f) crr "
               "%.5f lag "
               "%.2f (%.2f) scale %.4f; gust %.3f %.0f s drift %.2f white %.3f speed %.3f wander "
               "%.2f pos %.2f rough %.4f evals %zu\n",
               o->options.seed, 100 * (d - expected) / c0, 100 * sqrt(vd) / c0, df,
               100 * (m - mean_truth) / c0, 100 * sqrt(vm) / c0, dfm, fit->crr[0].value,
               fit->recorders[0].lag_s, fit->recorders[0].lag_error_s, fit->recorders[0].scale,
               fit->noise.gust_sd_ms, fit->noise.gust_time_s, fit->noise.drift_sd_m,
               fit->noise.elevation_sd_m, fit->noise.speed_sd_ms, fit->noise.wander_sd_m,
               fit->noise.position_sd_m, fit->noise.roughness_m, fit->workings->evaluations);
    if (verbose > 1)
        for (size_t i = 0; i < fit->n_runs; i++)
            printf("   run %zu true %.4f alone %.4f (%.4f) crr %.5f (%.5f) corr %.4f together %.4f "
                   "(%.4f)\n",
                   i + 1, truth[i], fit->runs[i].alone_cda_m2.value,
                   fit->runs[i].alone_cda_m2.standard_error, fit->runs[i].alone_crr.value,
                   fit->runs[i].alone_crr.standard_error, fit->runs[i].correlation,
                   fit->runs[i].together_cda_m2.value, fit->runs[i].together_cda_m2.standard_error);
    free(cov);
}

static double now(void) {
    struct timespec t;
    clock_gettime(CLOCK_MONOTONIC, &t);
    return (double)t.tv_sec + 1e-9 * (double)t.tv_nsec;
}

/* Bias of 0.5 % of CdA, or 1 % of Crr, is what the fit is allowed. */
static bool judge(const struct results *r) {
    size_t n = r->difference.n;
    bool all[] = {
        tally_sound("CdA alone", &r->alone_cda, n, 0.005),
        tally_sound("Crr alone", &r->alone_crr, n, 5e-5),
        tally_sound("CdA together", &r->together_cda, n, 0.005),
        tally_sound("CdA level", &r->mean_cda, n, 0.005),
        tally_sound("Crr together", &r->crr, n, 5e-5),
        tally_sound("difference", &r->difference, n, 0.005),
    };
    bool sound = true;
    for (size_t i = 0; i < sizeof all / sizeof *all; i++) sound &= all[i];
    if (r->found + 2 < r->outings || n + 2 < r->outings) {
        printf("NOT SOUND: of %zu outings %zu were found and %zu fitted\n", r->outings, r->found,
               n);
        sound = false;
    }
    return sound;
}

static bool study(const struct study_case *c, size_t n, unsigned long first, int verbose) {
    struct results r = {0};
    double begin = now();
    for (size_t i = 0; i < n; i++) {
        struct study_outing outing;
        study_outing_make(c, first + i, &outing);
        r.outings++;
        r.found += outing.found;
        if (!outing.found && verbose) printf("seed %lu: runs not found\n", first + i);
        if (outing.fitted) add(&outing, &r, verbose);
        study_outing_free(&outing);
    }
    r.seconds = now() - begin;
    printf("%s: %s\n  runs found in %.1f of 100 outings; %.0f ms an outing; %zu runs alone not "
           "identifiable\n",
           c->name, c->meaning, 100 * (double)r.found / (double)r.outings,
           1e3 * r.seconds / (double)n, r.unidentified);
    if (!r.difference.n) return false;
    tally_print("CdA alone, %", &r.alone_cda, 100);
    tally_print("Crr alone, 1e-4", &r.alone_crr, 1e4);
    tally_print("CdA together, %", &r.together_cda, 100);
    tally_print("CdA level together, %", &r.mean_cda, 100);
    tally_print("Crr together, 1e-4", &r.crr, 1e4);
    tally_print("difference, %", &r.difference, 100);
    tally_print("lag, s", &r.lag, 1);
    double k = (double)r.difference.n;
    printf("  noise: gust %.3f m/s %.1f s, drift %.3f m, white %.3f m, speed %.3f m/s, wander %.2f "
           "m, position %.2f m, roughness %.4f m\n",
           exp(r.noise[CW_NOISE_GUST_SD] / k), exp(r.noise[CW_NOISE_GUST_TIME] / k),
           exp(r.noise[CW_NOISE_DRIFT_SD] / k), exp(r.noise[CW_NOISE_ELEVATION_SD] / k),
           exp(r.noise[CW_NOISE_SPEED_SD] / k), exp(r.noise[CW_NOISE_WANDER_SD] / k),
           exp(r.noise[CW_NOISE_POSITION_SD] / k), exp(r.noise[CW_NOISE_ROUGHNESS] / k));
    bool sound = judge(&r);
    fflush(stdout);
    return sound;
}

int main(int argc, char **argv) {
    if (argc < 3) {
        fprintf(stderr, "usage: study_fit CASE|all N [FIRST-SEED] [-v|-vv|--check]\n");
        study_list_cases(stderr);
        return 2;
    }
    const char *last = argv[argc - 1];
    int verbose = !strcmp(last, "-v") ? 1 : !strcmp(last, "-vv") ? 2 : 0;
    bool check = !strcmp(last, "--check"), sound = true;
    unsigned long first = argc > 3 && argv[3][0] != '-' ? strtoul(argv[3], NULL, 10) : 1;
    size_t n = strtoul(argv[2], NULL, 10);
    struct study_case c;
    if (!strcmp(argv[1], "all")) {
        for (size_t i = 0; study_case_at(i, &c); i++) sound &= study(&c, n, first, verbose);
        return check && !sound;
    }
    if (!study_case_named(argv[1], &c)) {
        fprintf(stderr, "study_fit: no case is called '%s'\n", argv[1]);
        return 2;
    }
    sound = study(&c, n, first, verbose);
    return check && !sound;
}
