/* How good the comparison is: the error of the percent difference against the best possible, how
 * many intervals hold, how many verdicts are wrong.
 * usage: study_compare CASE|all N [FIRST-SEED] [-v] */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "compare/compare.h"
#include "outings.h"
#include "tally.h"

struct results {
    size_t outings, compared, decided, wrong;
    struct tally difference, level[2], crr, crr_difference;
    double bound2, crr_bound2, crr_difference_bound2; /* sums of the squared best possible errors */
    double *half; /* half the widths of the intervals of the difference, percent */
};

static void add(const struct study_outing *o, struct results *r, int verbose) {
    const struct cw_fit *fit = &o->made.of->fit;
    struct cw_compare_options options = cw_compare_options_default();
    struct cw_compare compare;
    struct cw_error error;
    if (cw_compare_setups(&fit, 1, &options, &compare, &error) < 0) {
        fprintf(stderr, "seed %lu: not compared: %s\n", o->options.seed, error.message);
        return;
    }
    r->compared++;
    const struct cw_comparison *c = &compare.comparisons[0];
    double cda[2] = {o->options.setups[0].cda_m2, o->options.setups[1].cda_m2};
    double truth = 100 * (cda[1] / cda[0] - 1), bound = study_bound_percent(o);
    tally_add(&r->difference, c->percent.value - truth, c->percent.standard_error,
              tally_inside(&c->percent, truth));
    r->half[r->compared - 1] = (c->percent.high - c->percent.low) / 2;
    r->bound2 += bound * bound;
    for (int s = 0; s < 2; s++) {
        const struct cw_estimate *e = &compare.setups[s].cda_m2;
        tally_add(&r->level[s], e->value / cda[s] - 1, e->standard_error / cda[s],
                  tally_inside(e, cda[s]));
    }
    double crr = o->options.setups[0].crr, least = study_bound_crr(o);
    r->crr_bound2 += least * least;
    tally_add(&r->crr, o->made.of->fit.crr[0].value - crr, o->made.of->fit.crr[0].standard_error,
              tally_inside(&o->made.of->fit.crr[0], crr));
    if (c->rolling.compared) {
        double between = o->options.setups[1].crr - crr, best = study_bound_crr_difference(o);
        tally_add(&r->crr_difference, c->rolling.crr.value - between, c->rolling.crr.standard_error,
                  tally_inside(&c->rolling.crr, between));
        r->crr_difference_bound2 += best * best;
    }
    r->decided += c->verdict != CW_VERDICT_UNDECIDED;
    r->wrong += (c->verdict == CW_VERDICT_LOWER && !(truth < 0)) ||
                (c->verdict == CW_VERDICT_HIGHER && !(truth > 0));
    if (verbose)
        printf("seed %lu: %+.2f %% (%.2f to %.2f, se %.2f, df %.1f, p %.3f) bound %.2f detect %.2f "
               "scatter %.2f drift %.2f (%.2f) time %.2f s watts %.2f wind %.2f systematic %.2f / "
               "%.3f level %.4f (%.4f)\n",
               o->options.seed, c->percent.value, c->percent.low, c->percent.high,
               c->percent.standard_error, c->df, c->p_value, bound, c->smallest_detectable_percent,
               compare.scatter_percent, compare.drift_percent_per_hour.value,
               compare.drift_percent_per_hour.standard_error, c->time_over_road_s.value,
               c->watts_at_40kmh.value, c->wind_to_explain_ms, compare.systematic_percent,
               compare.systematic_difference_percent, compare.setups[0].cda_m2.value,
               compare.setups[0].cda_m2.standard_error);
    cw_compare_free(&compare);
}

static int by_value(const void *a, const void *b) {
    double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

static void study(const struct study_case *c, size_t n, unsigned long first, int verbose) {
    struct results r = {.half = malloc(n * sizeof *r.half)};
    if (n && !r.half) abort();
    for (size_t i = 0; i < n; i++) {
        struct study_outing outing;
        study_outing_make(c, first + i, &outing);
        r.outings++;
        if (outing.fitted) add(&outing, &r, verbose);
        study_outing_free(&outing);
    }
    printf("%s: %s\n", c->name, c->meaning);
    if (!r.compared) {
        free(r.half);
        return;
    }
    double k = (double)r.compared, rms = sqrt(r.difference.sum2 / k), best = sqrt(r.bound2 / k);
    qsort(r.half, r.compared, sizeof *r.half, by_value);
    tally_print("difference, %", &r.difference, 1);
    if (isfinite(best)) printf("  best possible %.3f %%, ratio %.3f\n", best, rms / best);
    printf("  half width %.2f (median); decided %.1f, wrong %.1f of 100; compared %zu of %zu\n",
           r.half[r.compared / 2], 100 * (double)r.decided / k, 100 * (double)r.wrong / k,
           r.compared, r.outings);
    if (r.crr_difference.n) {
        double of = (double)r.crr_difference.n, least = sqrt(r.crr_difference_bound2 / of);
        tally_print("Crr difference, 1e-4", &r.crr_difference, 1e4);
        printf("  best possible %.3f, ratio %.3f\n", 1e4 * least,
               sqrt(r.crr_difference.sum2 / of) / least);
    }
    tally_print("CdA of the first setup, %", &r.level[0], 100);
    tally_print("Crr, 1e-4", &r.crr, 1e4);
    double least = sqrt(r.crr_bound2 / k);
    if (isfinite(least))
        printf("  best possible %.3f, ratio %.3f\n", 1e4 * least, sqrt(r.crr.sum2 / k) / least);
    fflush(stdout);
    free(r.half);
}

int main(int argc, char **argv) {
    if (argc < 3) {
        fprintf(stderr, "usage: study_compare CASE|all N [FIRST-SEED] [-v]\n");
        study_list_cases(stderr);
        return 2;
    }
    int verbose = !strcmp(argv[argc - 1], "-v");
    unsigned long first = argc > 3 && argv[3][0] != '-' ? strtoul(argv[3], NULL, 10) : 1;
    size_t n = strtoul(argv[2], NULL, 10);
    struct study_case c;
    if (!strcmp(argv[1], "all")) {
        for (size_t i = 0; study_case_at(i, &c); i++) study(&c, n, first, verbose);
        return 0;
    }
    if (!study_case_named(argv[1], &c)) {
        fprintf(stderr, "study_compare: no case is called '%s'\n", argv[1]);
        return 2;
    }
    study(&c, n, first, verbose);
    return 0;
}
