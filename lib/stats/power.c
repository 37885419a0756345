#include "stats/power.h"

#include <math.h>
#include <stdbool.h>

#include <gsl/gsl_cdf.h>
#include <gsl/gsl_errno.h>
#include <gsl/gsl_integration.h>
#include <gsl/gsl_randist.h>

#include "stats/tests.h"

#define DF_MAX 1e7
#define RUNS_MAX 1e6

struct noncentral_t {
    double t, df, noncentrality;
};

static double integrand(double s, void *parameters) {
    const struct noncentral_t *at = parameters;
    double density = 2 * at->df * s * gsl_ran_chisq_pdf(at->df * s * s, at->df);
    return density * gsl_cdf_ugaussian_Q(at->t * s - at->noncentrality);
}

enum cw_status cw_noncentral_t_above(double t, double df, double noncentrality, double *probability,
                                     struct cw_error *error) {
    *probability = NAN;
    if (!(df >= 1 && df <= DF_MAX && isfinite(t) && isfinite(noncentrality)))
        return cw_error_set(error, CW_E_ARGUMENT, NULL, 0,
                            "noncentral t: t %g, %g degrees of freedom, noncentrality %g", t, df,
                            noncentrality);
    enum { INTERVALS = 200 };
    gsl_error_handler_t *handler = gsl_set_error_handler_off();
    enum cw_status status = CW_OK;
    gsl_integration_workspace *work = gsl_integration_workspace_alloc(INTERVALS);
    if (!work) {
        status = cw_error_memory(error);
        goto cleanup;
    }
    struct noncentral_t at = {t, df, noncentrality};
    gsl_function function = {integrand, &at};
    double reach = 9 / sqrt(df), bound = 0;
    int failed = gsl_integration_qag(&function, fmax(0, 1 - reach), 1 + reach, 1e-12, 0, INTERVALS,
                                     GSL_INTEG_GAUSS31, work, probability, &bound);
    /* Asked for more digits than rounding leaves, it still gives what it has with its bound. */
    if (!isfinite(*probability) || (failed && bound > 1e-9)) {
        *probability = NAN;
        status = cw_error_set(error, CW_E_NUMERIC, NULL, 0,
                              "noncentral t: the integral did not converge (t %g, %g degrees of "
                              "freedom, noncentrality %g)",
                              t, df, noncentrality);
    } else {
        *probability = fmin(1, fmax(0, *probability));
    }

cleanup:
    gsl_integration_workspace_free(work);
    gsl_set_error_handler(handler);
    return status;
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

enum cw_status cw_power_noncentrality(double df, double level, double power, double *noncentrality,
                                      struct cw_error *error) {
    *noncentrality = NAN;
    if (!level_ok(level) || !power_ok(power, level))
        return cw_error_set(error, CW_E_ARGUMENT, NULL, 0, "power: a power of %g at a level of %g",
                            power, level);
    /* Power rises with the noncentrality: double until it is enough, then halve the interval. */
    double low = 0, high = 1, reached = 0;
    enum cw_status status = cw_power_of(high, df, level, &reached, error);
    while (status == CW_OK && reached < power && high < 1e12) {
        low = high;
        high *= 2;
        status = cw_power_of(high, df, level, &reached, error);
    }
    if (status == CW_OK && reached < power)
        status = cw_error_set(error, CW_E_NUMERIC, NULL, 0, "power: %g is out of reach", power);
    while (status == CW_OK && high - low > 1e-12 * high) {
        double middle = (low + high) / 2;
        status = cw_power_of(middle, df, level, &reached, error);
        if (reached < power)
            low = middle;
        else
            high = middle;
    }
    if (status == CW_OK) *noncentrality = (low + high) / 2;
    return status;
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
    while (status == CW_OK && high - low > 1e-10 * high) {
        double middle = (low + high) / 2;
        status = cw_power_at(plan, middle, difference, sd, level, &reached, error);
        if (reached < power)
            low = middle;
        else
            high = middle;
    }
    if (status == CW_OK) *n = (low + high) / 2;
    return status;
}
