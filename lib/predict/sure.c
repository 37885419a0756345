#include "predict/sure.h"

#include <math.h>

#include "stats/student.h"

/* Inputs of an outing, and the causes of its budget that they are. */
static const struct {
    size_t input;
    enum cw_cause_kind kind;
} tied[] = {
    {CW_PREDICT_MASS_GIVEN, CW_CAUSE_MASS},         {CW_PREDICT_SETUP_LOAD, CW_CAUSE_LOAD},
    {CW_PREDICT_TEMPERATURE, CW_CAUSE_TEMPERATURE}, {CW_PREDICT_PRESSURE, CW_CAUSE_PRESSURE},
    {CW_PREDICT_HUMIDITY, CW_CAUSE_HUMIDITY},       {CW_PREDICT_INERTIA, CW_CAUSE_INERTIA},
    {CW_PREDICT_SCALE, CW_CAUSE_HEIGHT_SCALE},      {CW_PREDICT_CRR_FALL, CW_CAUSE_WARM},
};

/* What input i does by an error of its own. */
static double own(const struct cw_predict_ride *ride, size_t i, size_t q) {
    return ride->input[i].tied ? 0 : ride->by_input[i][q];
}

/* The variance by inputs that no fit knows of. */
static double by_given(const struct cw_predict_ride *ride, const struct cw_predict_ride *base,
                       size_t q) {
    double variance = 0;
    for (size_t i = 0; i < CW_PREDICT_INPUTS; i++) {
        double by = own(ride, i, q), other = base ? own(base, i, q) : 0;
        if (base && ride->input[i].owner == base->input[i].owner)
            variance += (by - other) * (by - other);
        else
            variance += by * by + other * other;
    }
    return variance;
}

/* How far a cause of the fit's moves a ride by CdA and Crr. */
static double by_fit(const struct cw_predict_ride *ride, const struct cw_setups_together *together,
                     enum cw_cause_kind kind, size_t q) {
    double log_cda, crr, sum = 0;
    cw_setups_together_cause(together, ride->setup, kind, &log_cda, &crr, NULL);
    if (ride->cda_fitted) sum += ride->by_log_cda[q] * log_cda;
    if (ride->crr_fitted) sum += ride->by_crr[q] * crr;
    return sum;
}

/* What the causes' own moves add to the variance that has them in CdA and Crr already: where they
 * add e to what is there as f, (f + e)2 - f2. */
static double by_causes(const struct cw_predict_ride *ride, const struct cw_predict_ride *base,
                        const struct cw_setups_together *together, size_t q) {
    double variance = 0;
    for (size_t k = 0; k < sizeof tied / sizeof *tied; k++) {
        size_t i = tied[k].input;
        double direct = ride->input[i].tied ? ride->by_input[i][q] : 0,
               fitted = by_fit(ride, together, tied[k].kind, q);
        if (base) {
            direct -= base->input[i].tied ? base->by_input[i][q] : 0;
            fitted -= by_fit(base, together, tied[k].kind, q);
        }
        variance += (2 * fitted + direct) * direct;
    }
    return variance;
}

enum cw_status cw_predict_estimate(const struct cw_predict_ride *ride,
                                   const struct cw_predict_ride *base,
                                   const struct cw_setups_together *together, size_t q,
                                   struct cw_estimate *estimate, struct cw_error *error) {
    double value = ride->quantity[q] - (base ? base->quantity[q] : 0);
    double variance = by_given(ride, base, q), df = INFINITY;
    *estimate = (struct cw_estimate){NAN, NAN, NAN, NAN, 0};
    if (!isfinite(value)) return CW_OK;
    if (together) {
        struct cw_rolling_weights weights = {{0}, {0}};
        struct cw_estimate line;
        if (ride->cda_fitted) weights.log_cda[0] = ride->by_log_cda[q];
        if (ride->crr_fitted) weights.crr[0] = ride->by_crr[q];
        if (base && base->cda_fitted) weights.log_cda[1] = -base->by_log_cda[q];
        if (base && base->crr_fitted) weights.crr[1] = -base->by_crr[q];
        if (!isfinite(weights.log_cda[0] + weights.log_cda[1] + weights.crr[0] + weights.crr[1])) {
            estimate->value = value;
            return CW_OK;
        }
        enum cw_status status =
            cw_rolling_contrast(&together->rolling, ride->setup, base ? base->setup : ride->setup,
                                &weights, &line, &df, NULL, error);
        if (status < 0) return status;
        double fit = line.standard_error * line.standard_error;
        variance += fit + by_causes(ride, base, together, q);
        /* Where the causes cancel there is at least the rounding left. */
        variance = fmax(variance, 1e-12 * fit);
        /* Welch & Satterthwaite: what is given is as sure as it says. */
        if (fit > 0) df = fmax(1, df * (variance / fit) * (variance / fit));
    }
    *estimate = cw_estimate_make(value, sqrt(variance), cw_t_quantile(0.975, df));
    if (!(variance > 0)) estimate->low = estimate->high = value;
    /* Of what is measured from nothing there is no less than that. */
    if (!base && q != CW_PREDICT_WORTH_CDA && q != CW_PREDICT_CRR && q != CW_PREDICT_FLAT_POWER &&
        q != CW_PREDICT_FLAT_POWER_MPH)
        estimate->low = fmax(0, estimate->low);
    return CW_OK;
}
