#include "stats/power.h"

#include <math.h>
#include <stdbool.h>

#include <gsl/gsl_cdf.h>
#include <gsl/gsl_integration.h>
#include <gsl/gsl_sf_gamma.h>

#include "stats/root.h"
#include "stats/tests.h"

#define DF_MAX 1e7
#define RUNS_MAX 1e6
#define TWO_PI 6.28318530717958647692

struct noncentral_t {
    double t, df, noncentrality;
    double top; /* density of s at 1 */
};

/* Density of s times P(Z > t s - noncentrality). The density is
 * 2 a^a / Gamma(a) s^(2a - 1) exp(-a s2), a = df / 2, written about s = 1 so that no digits are
 * lost where df is large. */
static double integrand(double s, void *parameters) {
    const struct noncentral_t *at = parameters;
    double exponent = (at->df - 1) * log(s) - 0.5 * at->df * (s - 1) * (s + 1);
    return at->top * exp(exponent) * gsl_cdf_ugaussian_Q(at->t * s - at->noncentrality);
}

/* By Gauss-Kronrod rules, halving what they don't settle, while there are pieces left to make. Not
 * by GSL's adaptive routines, whose failing ends the program under its default error handler. */
static double integral(const gsl_function *function, double from, double to, int *pieces,
                       double *bound) {
    double value, error, unused[2], middle = (from + to) / 2;
    gsl_integration_qk31(function, from, to, &value, &error, &unused[0], &unused[1]);
    if (error <= 1e-13 || *pieces == 0 || middle <= from || middle >= to) {
        *bound += error;
        return value;
    }
    --*pieces;
    double left = integral(function, from, middle, pieces, bound);
    return left + integral(function, middle, to, pieces, bound);
}

enum cw_status cw_noncentral_t_above(double t, double df, double noncentrality, double *probability,
                                     struct cw_error *error) {
    *probability = NAN;
    if (!(df >= 1 && df <= DF_MAX && isfinite(t) && isfinite(noncentrality)))
        return cw_error_set(error, CW_E_ARGUMENT, NULL, 0,
                            "noncentral t: t %g, %g degrees of freedom, noncentrality %g", t, df,
                            noncentrality);
    /* a^a / Gamma(a) by what is left of Gamma beside Stirling's formula. */
    double top = 2 * sqrt(0.5 * df / TWO_PI) / gsl_sf_gammastar(0.5 * df);
    struct noncentral_t at = {t, df, noncentrality, top};
    gsl_function function = {integrand, &at};
    double low = fmax(0, 1 - 9 / sqrt(df)), high = 1 + 9 / sqrt(df);
    /* P(Z > ...) goes from 1 to 0 about s = noncentrality / t, however narrowly: a piece of its
     * own, lest all points of a wide one miss it. */
    double turn = t == 0 ? low : noncentrality / t, width = t == 0 ? 0 : fabs(9 / t);
    double first = fmin(fmax(turn - width, low), high), last = fmin(fmax(turn + width, low), high);
    double value = 0, bound = 0;
    int pieces = 400;
    if (first > low) value += integral(&function, low, first, &pieces, &bound);
    if (last > first) value += integral(&function, first, last, &pieces, &bound);
    if (high > last) value += integral(&function, last, high, &pieces, &bound);
    if (!isfinite(value) || !(bound <= 1e-9))
        return cw_error_set(error, CW_E_NUMERIC, NULL, 0,
                            "noncentral t: the integral did not converge (t %g, %g degrees of "
                            "freedom, noncentrality %g)",
                            t, df, noncentrality);
    *probability = fmin(1, fmax(0, value));
    return CW_OK;
}

static bool level_ok(double level) {
    return level > 0 && level < 1;
}

static bool power_ok(double power, double level) {
    return power > level / 2 && power < 1;
}

enum cw_status cw_power_of(double noncentrality, double df, double level, double *power,
                           struct cw_error *error) {
    *power = NAN;
    if (!level_ok(level))
        return cw_error_set(error, CW_E_ARGUMENT, NULL, 0, "power: a level of %g", level);
    return cw_noncentral_t_above(cw_t_quantile(1 - level / 2, df), df, fabs(noncentrality), power,
                                 error);
}

/* A power that is looked for, and what became of the search. */
struct wanted {
    double df, level, power;
    enum cw_power_plan plan;
    double difference, sd;
    enum cw_status status;
    struct cw_error *error;
};

static double power_beyond(double noncentrality, void *state) {
    struct wanted *wanted = state;
    double reached = NAN;
    wanted->status = cw_power_of(noncentrality, wanted->df, wanted->level, &reached, wanted->error);
    return wanted->status == CW_OK ? reached - wanted->power : NAN;
}

enum cw_status cw_power_noncentrality(double df, double level, double power, double *noncentrality,
                                      struct cw_error *error) {
    *noncentrality = NAN;
    if (!level_ok(level) || !power_ok(power, level))
        return cw_error_set(error, CW_E_ARGUMENT, NULL, 0, "power: a power of %g at a level of %g",
                            power, level);
    /* Power rises with the noncentrality: double until it is enough, then search between. */
    double low = 0, high = 1, reached = 0;
    enum cw_status status = cw_power_of(high, df, level, &reached, error);
    while (status == CW_OK && reached < power && high < 1e12) {
        low = high;
        high *= 2;
        status = cw_power_of(high, df, level, &reached, error);
    }
    if (status == CW_OK && reached < power)
        status = cw_error_set(error, CW_E_NUMERIC, NULL, 0, "power: %g is out of reach", power);
    struct wanted wanted = {.df = df, .level = level, .power = power, .error = error};
    if (status == CW_OK) *noncentrality = cw_root(power_beyond, &wanted, low, high, 1e-12);
    return status == CW_OK ? wanted.status : status;
}

static double df_of(enum cw_power_plan plan, double n) {
    return plan == CW_POWER_PAIRS ? n - 1 : 2 * n - 2;
}

/* Standard error of the difference for an sd of 1. */
static double error_of(enum cw_power_plan plan, double n) {
    return sqrt((plan == CW_POWER_PAIRS ? 1 : 2) / n);
}

static enum cw_status check_plan(double n, double sd, struct cw_error *error) {
    if (n >= 2 && n <= RUNS_MAX && sd > 0 && isfinite(sd)) return CW_OK;
    return cw_error_set(error, CW_E_ARGUMENT, NULL, 0, "power: %g runs with a scatter of %g", n,
                        sd);
}

enum cw_status cw_power_at(enum cw_power_plan plan, double n, double difference, double sd,
                           double level, double *power, struct cw_error *error) {
    *power = NAN;
    enum cw_status status = check_plan(n, sd, error);
    if (status != CW_OK) return status;
    return cw_power_of(difference / sd / error_of(plan, n), df_of(plan, n), level, power, error);
}

enum cw_status cw_power_smallest_difference(enum cw_power_plan plan, double n, double sd,
                                            double level, double power, double *difference,
                                            struct cw_error *error) {
    *difference = NAN;
    enum cw_status status = check_plan(n, sd, error);
    double noncentrality = NAN;
    if (status == CW_OK)
        status = cw_power_noncentrality(df_of(plan, n), level, power, &noncentrality, error);
    if (status == CW_OK) *difference = noncentrality * error_of(plan, n) * sd;
    return status;
}

static double power_beyond_of_runs(double n, void *state) {
    struct wanted *wanted = state;
    double reached = NAN;
    wanted->status = cw_power_at(wanted->plan, n, wanted->difference, wanted->sd, wanted->level,
                                 &reached, wanted->error);
    return wanted->status == CW_OK ? reached - wanted->power : NAN;
}

enum cw_status cw_power_runs(enum cw_power_plan plan, double difference, double sd, double level,
                             double power, double *n, struct cw_error *error) {
    *n = NAN;
    if (!level_ok(level) || !power_ok(power, level))
        return cw_error_set(error, CW_E_ARGUMENT, NULL, 0, "power: a power of %g at a level of %g",
                            power, level);
    double low = 2, high = 2, reached = 0;
    enum cw_status status = cw_power_at(plan, high, difference, sd, level, &reached, error);
    while (status == CW_OK && reached < power) {
        if (high >= RUNS_MAX)
            return cw_error_set(error, CW_E_DATA, NULL, 0,
                                "a difference of %g within a scatter of %g would take more than a "
                                "million runs",
                                difference, sd);
        low = high;
        high = fmin(2 * high, RUNS_MAX);
        status = cw_power_at(plan, high, difference, sd, level, &reached, error);
    }
    struct wanted wanted = {.level = level,
                            .power = power,
                            .plan = plan,
                            .difference = difference,
                            .sd = sd,
                            .error = error};
    if (status == CW_OK && high > low)
        *n = cw_root(power_beyond_of_runs, &wanted, low, high, 1e-10);
    else if (status == CW_OK)
        *n = high;
    return status == CW_OK ? wanted.status : status;
}
