/* How good predictions are: of outings whose masses, air, wind and wheels are off from what the
 * outing file says by as much as it says they may be, the times of their setups on other roads,
 * and the differences.
 * --check: the status tells whether all is as it should be (tally.h).
 * usage: study_predict CASE N [FIRST-SEED] [-v|--check] */
#include <math.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "made.h"
#include "outings.h"
#include "predict/predict.h"
#include "simulate/settings.h"
#include "tally.h"

static const char *const roads[] = {"750:-10", "2000:-4", "400:-5,500:4", "3000:-6"};
enum { ROADS = sizeof roads / sizeof *roads };

/* A standard normal number of a seed and a kind (splitmix64, S. Vigna, public domain; Box & Muller
 * 1958, Ann. Math. Stat. 29:610). */
static double normal(unsigned long seed, unsigned kind) {
    double even[2];
    for (unsigned k = 0; k < 2; k++) {
        unsigned long long z = (seed * 64 + kind * 2 + k + 1) * 0x9e3779b97f4a7c15ull;
        z = (z ^ (z >> 30)) * 0xbf58476d1ce4e5b9ull;
        z = (z ^ (z >> 27)) * 0x94d049bb133111ebull;
        even[k] = ((double)((z ^ (z >> 31)) >> 11) + 0.5) / 9007199254740992.0;
    }
    return sqrt(-2 * log(even[0])) * cos(6.283185307179586 * even[1]);
}

/* What the file says. */
struct stated {
    struct cw_rider rider;
    struct cw_air air;
    double wind_ms;
};

/* The truth of what the file says otherwise. */
static void part_from_file(const struct stated *stated, struct cw_simulate_options *options) {
    unsigned long seed = options->seed;
    options->rider_mass_kg += stated->rider.mass_uncertainty_kg * normal(seed, 0);
    options->bike_mass_kg += stated->rider.bike_mass_uncertainty_kg * normal(seed, 1);
    options->temperature_c += stated->air.temperature_uncertainty_c * normal(seed, 2);
    options->pressure_hpa += stated->air.pressure_uncertainty_hpa * normal(seed, 3);
    options->wind_along_ms += stated->wind_ms * normal(seed, 4);
    options->wheel_inertia_kgm2 *= 1 + 0.1 * normal(seed, 5);
}

static enum cw_status state(const struct cw_simulate_options *options, struct stated *stated,
                            struct cw_error *error) {
    struct made made;
    enum cw_status status = made_begin(&made, options, error);
    if (status >= 0) {
        stated->rider = made.of->outing.rider;
        stated->air = made.of->outing.air;
        stated->wind_ms = made.of->outing.wind_uncertainty_ms;
    }
    made_free(&made);
    return status;
}

struct results {
    size_t outings, predicted;
    struct tally time[ROADS], difference[ROADS], load[ROADS];
};

static void set(struct cw_predict_case *of, size_t i, double value) {
    of->number[i].value = value;
}

/* The time of a setup in truth, with so much more load. */
static double true_time(const struct cw_predict_road *road,
                        const struct cw_simulate_options *options, double gravity_ms2, size_t s,
                        double load_kg) {
    const struct cw_simulate_setup *setup = &options->setups[s];
    struct cw_predict_options of = cw_predict_options_default();
    struct cw_prediction prediction;
    of.road = road;
    set(&of.base, CW_PREDICT_CDA_GIVEN, setup->cda_m2);
    set(&of.base, CW_PREDICT_CRR_GIVEN, setup->crr);
    set(&of.base, CW_PREDICT_MASS_GIVEN,
        options->rider_mass_kg + options->bike_mass_kg + setup->load_kg);
    set(&of.base, CW_PREDICT_LOAD, load_kg);
    set(&of.base, CW_PREDICT_TEMPERATURE, options->temperature_c);
    set(&of.base, CW_PREDICT_PRESSURE, options->pressure_hpa);
    set(&of.base, CW_PREDICT_HUMIDITY, options->humidity_percent);
    set(&of.base, CW_PREDICT_INERTIA, options->wheel_inertia_kgm2);
    set(&of.base, CW_PREDICT_RADIUS, options->wheel_radius_m);
    set(&of.base, CW_PREDICT_GRAVITY, gravity_ms2);
    double value = NAN;
    if (cw_predict(&of, &prediction, NULL) >= 0) {
        const struct cw_estimate *told = prediction.at[0].of;
        value = prediction.at[0].end == CW_PREDICT_ARRIVES ? told[CW_PREDICT_TIME].value
                                                           : told[CW_PREDICT_RUNOUT].value;
        cw_prediction_free(&prediction);
    }
    return value;
}

static void add(struct tally *tally, const struct cw_estimate *e, double truth) {
    tally_add(tally, e->value - truth, e->standard_error, tally_inside(e, truth));
}

static void predict(struct made *made, const struct cw_simulate_options *options, int verbose,
                    struct results *r) {
    struct cw_error error;
    for (size_t i = 0; i < ROADS; i++) {
        struct cw_predict_road road;
        struct cw_predict_options of = cw_predict_options_default();
        struct cw_predict_case with[2] = {cw_predict_case_none(), cw_predict_case_none()};
        struct cw_prediction prediction;
        snprintf(of.base.setup, sizeof of.base.setup, "%s", options->setups[0].name);
        snprintf(with[0].setup, sizeof with[0].setup, "%s", options->setups[1].name);
        set(&with[1], CW_PREDICT_LOAD, 8);
        of.from = made->of;
        of.with = with;
        of.n_with = 2;
        of.road = &road;
        if (cw_predict_road_of_slopes(roads[i], &road, &error) < 0 ||
            cw_predict(&of, &prediction, &error) < 0) {
            fprintf(stderr, "seed %lu: %s\n", options->seed, error.message);
            continue;
        }
        const struct cw_predicted *at = prediction.at;
        size_t q = at[0].end == CW_PREDICT_ARRIVES ? CW_PREDICT_TIME : CW_PREDICT_RUNOUT;
        double g = at[0].number[CW_PREDICT_GRAVITY].value,
               time = true_time(&road, options, g, 0, 0),
               other = true_time(&road, options, g, 1, 0) - time,
               heavier = true_time(&road, options, g, 0, 8) - time;
        add(&r->time[i], &at[0].of[q], time);
        add(&r->difference[i], &at[1].difference[q], other);
        add(&r->load[i], &at[2].difference[q], heavier);
        if (verbose)
            printf("seed %lu, %s: %.2f, said %.2f +- %.2f; other setup %.2f, said %.2f +- %.2f; "
                   "8 kg %.3f, said %.3f +- %.3f\n",
                   options->seed, roads[i], time, at[0].of[q].value, at[0].of[q].standard_error,
                   other, at[1].difference[q].value, at[1].difference[q].standard_error, heavier,
                   at[2].difference[q].value, at[2].difference[q].standard_error);
        cw_prediction_free(&prediction);
        cw_predict_road_free(&road);
    }
    r->predicted++;
}

static void study_one(const struct study_case *c, unsigned long seed, int verbose,
                      struct results *r) {
    struct cw_simulate_options options = cw_simulate_options_default();
    struct made made = {0};
    struct stated stated;
    struct cw_error error;
    options.seed = seed;
    r->outings++;
    if (cw_simulate_set_all(&options, "setups=cape:0.42,jacket:0.4074", &error) ||
        cw_simulate_set_all(&options, c->settings, &error) || state(&options, &stated, &error) < 0)
        goto failed;
    part_from_file(&stated, &options);
    if (made_begin(&made, &options, &error) < 0) goto failed;
    made.of->outing.rider = stated.rider;
    made.of->outing.air = stated.air;
    if (made_find(&made, NULL, &error) < 0 || cw_analysis_fit(&made.analysis, &error) < 0 ||
        cw_analysis_average(&made.analysis, &error) < 0)
        goto failed;
    predict(&made, &options, verbose, r);
    made_free(&made);
    return;
failed:
    fprintf(stderr, "seed %lu: %s\n", seed, error.message);
    made_free(&made);
}

int main(int argc, char **argv) {
    struct results r = {0};
    struct study_case c;
    bool sound = true;
    if (argc < 3 || !study_case_named(argv[1], &c)) {
        fprintf(stderr, "usage: study_predict CASE N [FIRST-SEED] [-v|--check]\n");
        study_list_cases(stderr);
        return 2;
    }
    bool verbose = !strcmp(argv[argc - 1], "-v"), check = !strcmp(argv[argc - 1], "--check");
    unsigned long first = argc > 3 && argv[3][0] != '-' ? strtoul(argv[3], NULL, 10) : 1;
    size_t n = strtoul(argv[2], NULL, 10);
    for (size_t i = 0; i < n; i++) study_one(&c, first + i, verbose, &r);
    printf("%s: %s; predicted %zu of %zu\n", c.name, c.meaning, r.predicted, r.outings);
    for (size_t i = 0; i < ROADS; i++) {
        printf("%s\n", roads[i]);
        tally_print("time or run-out", &r.time[i], 1);
        tally_print("with the other setup", &r.difference[i], 1);
        tally_print("with 8 kg more", &r.load[i], 1);
        sound &= tally_sound("time or run-out", &r.time[i], r.predicted, 0);
        sound &= tally_sound("with the other setup", &r.difference[i], r.predicted, 0);
        sound &= tally_sound("with 8 kg more", &r.load[i], r.predicted, 0);
    }
    return check && !(sound && r.predicted == r.outings);
}
