#include "report/estimates.h"

#include <math.h>

int cw_error_decimals(double standard_error) {
    if (!isfinite(standard_error) || standard_error <= 0) return 3;
    return (int)fmin(fmax(1 - floor(log10(standard_error)), 0), 6);
}

struct cw_estimate cw_estimate_kmh(struct cw_estimate e) {
    return (struct cw_estimate){e.value * CW_KMH_PER_MS, e.standard_error * CW_KMH_PER_MS,
                                e.low * CW_KMH_PER_MS, e.high * CW_KMH_PER_MS,
                                e.noise_standard_error * CW_KMH_PER_MS};
}

struct cw_estimate cw_estimate_where(bool known, struct cw_estimate estimate) {
    const struct cw_estimate unknown = {NAN, NAN, NAN, NAN, 0};
    return known ? estimate : unknown;
}

struct cw_estimate cw_estimate_of_noise(struct cw_estimate estimate) {
    double part = estimate.noise_standard_error / estimate.standard_error, value = estimate.value;
    if (!(part > 0)) part = NAN;
    if (part > 1) part = 1;
    return (struct cw_estimate){value, estimate.noise_standard_error,
                                value - part * (value - estimate.low),
                                value + part * (estimate.high - value), 0};
}

void cw_table_add_estimate(struct cw_table *table, struct cw_estimate estimate) {
    cw_table_add_range(table, estimate, true);
}

void cw_table_add_range(struct cw_table *table, struct cw_estimate estimate, bool told) {
    int decimals = cw_error_decimals(estimate.standard_error);
    cw_table_add_number(table, told ? estimate.value : NAN, decimals);
    cw_table_add_number(table, told ? estimate.standard_error : NAN, decimals);
    cw_table_add_number(table, estimate.low, decimals);
    cw_table_add_number(table, estimate.high, decimals);
}

void cw_estimate_add(struct cw_text *out, struct cw_estimate estimate, const char *unit,
                     const struct cw_signs *sign) {
    int decimals = cw_error_decimals(estimate.standard_error);
    cw_text_add(out, "%.*f %s %.*f%s%s (95 %%: %.*f to %.*f)", decimals, estimate.value,
                sign->plus_minus, decimals, estimate.standard_error, *unit ? " " : "", unit,
                decimals, estimate.low, decimals, estimate.high);
}

void cw_csv_add_estimate(struct cw_csv *csv, struct cw_estimate estimate) {
    cw_csv_add_number(csv, estimate.value);
    cw_csv_add_number(csv, estimate.standard_error);
    cw_csv_add_number(csv, estimate.low);
    cw_csv_add_number(csv, estimate.high);
}

void cw_table_add_p(struct cw_table *table, double p) {
    if (p < 0.001)
        cw_table_add(table, "<0.001");
    else
        cw_table_add_number(table, p, 3);
}
