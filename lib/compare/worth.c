#include "compare/worth.h"

#include <math.h>
#include <stdbool.h>
#include <stdint.h>
#include <string.h>

#include "compare/elsewhere.h"
#include "fit/workings.h"
#include "stats/student.h"

#define KMH_PER_MPH 1.609344 /* the international mile, 1959 */
enum { SUM = 1, SPEEDS = 2 * CW_FORCES };
/* Those in km/h, then those in mph. */
static const double speed_kmh[SPEEDS] = {
    20, CW_SUM_KMH, 40, 12 * KMH_PER_MPH, CW_SUM_MPH *KMH_PER_MPH, 25 * KMH_PER_MPH};

static const struct cw_estimate unknown = {NAN, NAN, NAN, NAN, 0};

/* What is worked out of a setup. */
enum { TIME, STOP, FORCE, QUANTITIES = FORCE + SPEEDS };

static size_t outing_setup(const struct cw_outing *outing, const char *name) {
    for (size_t s = 0; s < outing->n_setups; s++)
        if (!strcmp(outing->setups[s].name, name)) return s;
    return SIZE_MAX;
}

/* What a setup is in an outing: its bicycle, on its tyres as they were fitted there. */
static struct cw_bicycle bicycle_of(const struct cw_fit *fit, const char *name, double cda) {
    const struct cw_outing *outing = fit->of.outing;
    size_t setup = outing_setup(outing, name);
    struct cw_bicycle bicycle = cw_outing_bicycle(outing, outing->setups[setup].rider, setup);
    bicycle.cda_m2 = cda;
    bicycle.crr = 0.005;
    for (size_t t = 0; t < fit->n_tyres; t++)
        if (!strcmp(fit->tyres[t], outing->setups[setup].tyres))
            bicycle.crr = fmax(0, fit->workings->ways.crr[t]);
    return bicycle;
}

/* Where setups are set against each other. */
struct place {
    const struct cw_fit *fit;
    struct cw_mean_run mean;
    bool has_road; /* until a setup does not come to its end */
};

static void work_out(struct place *place, const struct cw_bicycle *bicycle,
                     double quantity[QUANTITIES]) {
    const struct cw_fit *fit = place->fit;
    struct cw_error unused;
    quantity[TIME] = quantity[STOP] = NAN;
    if (place->has_road &&
        cw_mean_run_coast(&place->mean, bicycle, &quantity[TIME], &quantity[STOP], &unused) < 0)
        place->has_road = false;
    for (size_t k = 0; k < SPEEDS; k++) {
        double v = speed_kmh[k] / 3.6;
        quantity[FORCE + k] =
            cw_flat_power_w(bicycle, fit->place.density_kgm3, fit->place.gravity_ms2, v);
    }
}

static struct cw_force *force_at(struct cw_comparison *comparison, size_t k) {
    return k < CW_FORCES ? &comparison->force[k] : &comparison->force_mph[k - CW_FORCES];
}

static void set_unknown(struct cw_comparison *comparison) {
    comparison->time_over_road_s = comparison->runout_m = comparison->watts_at_40kmh = unknown;
    comparison->time_by_air_s = 0;
    comparison->time_by_clock_s = comparison->time_watched_s = comparison->runout_taped_m = unknown;
    for (size_t k = 0; k < SPEEDS; k++)
        *force_at(comparison, k) = (struct cw_force){speed_kmh[k], unknown, unknown};
}

static struct cw_estimate scaled(struct cw_estimate estimate, double by) {
    return (struct cw_estimate){estimate.value * by, estimate.standard_error * by,
                                estimate.low * by, estimate.high * by, 0};
}

/* How much longer the mean run takes in the air of one setup's runs than in that of another's. */
static double time_by_air(const struct place *place, const struct cw_bicycle *bicycle,
                          const char *setup, const char *reference) {
    const struct cw_fit *fit = place->fit;
    const struct cw_fit_ways *ways = &fit->workings->ways;
    const size_t of[2] = {outing_setup(fit->of.outing, reference),
                          outing_setup(fit->of.outing, setup)};
    double time_s[2], unused;
    if (!place->has_road || !ways->warms) return 0;
    for (int k = 0; k < 2; k++) {
        struct cw_mean_run there = place->mean;
        struct cw_bicycle with = *bicycle;
        double n = 0, density = 0, share = 0;
        for (size_t i = 0; i < fit->n_runs; i++) {
            if (fit->runs[i].setup != of[k] || !cw_fit_way_is_main(&ways->at[i])) continue;
            density += ways->at[i].air_density_kgm3;
            share += ways->at[i].crr_share;
            n++;
        }
        if (!(n > 0)) return 0;
        there.surroundings.density_kgm3 = density / n;
        with.crr *= share / n;
        if (cw_mean_run_coast(&there, &with, &time_s[k], &unused, NULL) < 0) return 0;
    }
    return time_s[1] - time_s[0];
}

/* Hands the quantities' differences over. */
static void take(const struct place *place, const struct cw_estimate difference[QUANTITIES],
                 struct cw_comparison *comparison) {
    for (size_t k = 0; k < SPEEDS; k++) {
        struct cw_force *force = force_at(comparison, k);
        force->power_w = difference[FORCE + k];
        force->force_n = scaled(difference[FORCE + k], 3.6 / speed_kmh[k]);
    }
    comparison->watts_at_40kmh = comparison->force[CW_FORCES - 1].power_w;
    if (!place->has_road) return;
    comparison->time_over_road_s = difference[TIME];
    if (isfinite(difference[STOP].low + difference[STOP].high))
        comparison->runout_m = difference[STOP];
}

/* An estimate from its values at the difference and at the ends of its interval. */
static struct cw_estimate carried(double at, double at_low, double at_high, double se_per_half) {
    struct cw_estimate e = {at, se_per_half * 0.5 * fabs(at_high - at_low), fmin(at_low, at_high),
                            fmax(at_low, at_high), 0};
    return e;
}

void cw_worth_of_drag(const struct cw_fit *fit, const struct cw_compare *compare,
                      double reference_cda, const struct cw_estimate *log_difference,
                      struct cw_comparison *comparison) {
    set_unknown(comparison);
    if (!fit) return;
    const char *setup = compare->setups[comparison->setup].name;
    struct place place = {.fit = fit};
    place.has_road = cw_mean_run_make(fit, &place.mean);
    double at[4][QUANTITIES];
    const double d[4] = {0, log_difference->value, log_difference->low, log_difference->high};
    for (int k = 0; k < 4; k++) {
        struct cw_bicycle bicycle =
            k ? bicycle_of(fit, setup, reference_cda * exp(d[k]))
              : bicycle_of(fit, compare->setups[comparison->reference].name, reference_cda);
        work_out(&place, &bicycle, at[k]);
    }
    const char *name = compare->setups[comparison->reference].name;
    struct cw_bicycle reference = bicycle_of(fit, name, reference_cda);
    comparison->time_by_air_s = time_by_air(&place, &reference, setup, name);
    double half = 0.5 * (log_difference->high - log_difference->low);
    double share = half > 0 ? log_difference->standard_error / half : 0;
    struct cw_estimate difference[QUANTITIES];
    for (int q = 0; q < QUANTITIES; q++)
        difference[q] =
            carried(at[1][q] - at[0][q], at[2][q] - at[0][q], at[3][q] - at[0][q], share);
    take(&place, difference, comparison);
}

/* A step in log CdA and in Crr by which the quantities' slopes are found. */
static const double log_cda_step = 0.01, crr_step = 1e-4;

enum cw_status cw_worth_of_both(const struct cw_fit *fit, const struct cw_compare *compare,
                                const struct cw_rolling *rolling, struct cw_comparison *comparison,
                                struct cw_error *error) {
    const size_t of[2] = {comparison->setup, comparison->reference};
    double at[2][QUANTITIES], by_cda[2][QUANTITIES], by_crr[2][QUANTITIES];
    struct place place = {.fit = fit};
    struct cw_estimate difference[QUANTITIES];
    set_unknown(comparison);
    comparison->rolling.sum_p_value = NAN;
    if (!fit) return CW_OK;
    place.has_road = cw_mean_run_make(fit, &place.mean);
    for (int k = 0; k < 2; k++) {
        const struct cw_setup_result *reference = &compare->setups[of[1]];
        double cda = reference->cda_m2.value, crr = reference->crr.value;
        if (!k) { /* the setup beside it */
            cda *= 1 + comparison->percent.value / 100;
            crr += comparison->rolling.crr.value;
        }
        struct cw_bicycle bicycle = bicycle_of(fit, compare->setups[of[k]].name, cda);
        bicycle.crr = fmax(0, crr);
        work_out(&place, &bicycle, at[k]);
        bicycle.cda_m2 *= 1 + log_cda_step;
        work_out(&place, &bicycle, by_cda[k]);
        bicycle.cda_m2 = cda;
        bicycle.crr += crr_step;
        work_out(&place, &bicycle, by_crr[k]);
    }
    for (int q = 0; q < QUANTITIES; q++) {
        struct cw_rolling_weights weights;
        double df;
        difference[q] = unknown;
        for (int k = 0; k < 2; k++) {
            double sign = k ? -1 : 1;
            weights.log_cda[k] = sign * (by_cda[k][q] - at[k][q]) / log_cda_step;
            weights.crr[k] = sign * (by_crr[k][q] - at[k][q]) / crr_step;
        }
        if (!isfinite(weights.log_cda[0] + weights.log_cda[1] + weights.crr[0] + weights.crr[1]))
            continue;
        struct cw_estimate line;
        enum cw_status status =
            cw_rolling_contrast(rolling, of[0], of[1], &weights, &line, &df, NULL, error);
        if (status < 0) return status;
        double value = at[0][q] - at[1][q];
        difference[q] =
            (struct cw_estimate){value, line.standard_error, value + line.low - line.value,
                                 value + line.high - line.value, 0};
        if (q == FORCE + SUM)
            comparison->rolling.sum_p_value = cw_t_p_value(value / line.standard_error, df);
    }
    take(&place, difference, comparison);
    return CW_OK;
}
