#include "fit/profile.h"

#include <gsl/gsl_errno.h>
#include <gsl/gsl_linalg.h>
#include <math.h>
#include <stdlib.h>

enum cw_status cw_profile_make(double low_m, double high_m, double spacing_m,
                               struct cw_profile *profile, struct cw_error *error) {
    *profile = (struct cw_profile){0};
    if (!(high_m > low_m) || !(spacing_m > 0) || (high_m - low_m) / spacing_m > 1e5)
        return cw_error_set(error, CW_E_ARGUMENT, NULL, 0,
                            "a profile from %g m to %g m in steps of %g m is not possible", low_m,
                            high_m, spacing_m);
    size_t intervals = (size_t)ceil((high_m - low_m) / spacing_m);
    profile->start_m = low_m;
    profile->spacing_m = spacing_m;
    profile->n = intervals + 3;
    profile->coefficient_m = calloc(profile->n, sizeof *profile->coefficient_m);
    if (!profile->coefficient_m) return cw_error_memory(error);
    return CW_OK;
}

void cw_profile_free(struct cw_profile *profile) {
    free(profile->coefficient_m);
    *profile = (struct cw_profile){0};
}

size_t cw_profile_basis(const struct cw_profile *profile, double s_m, double weight[4],
                        double slope_per_m[4]) {
    double u = (s_m - profile->start_m) / profile->spacing_m;
    double last = (double)(profile->n - 4);
    double interval = floor(u);
    if (!(interval > 0)) interval = 0; /* also where s is not a number */
    if (interval > last) interval = last;
    double t = u - interval, r = 1 - t, d = 1 / profile->spacing_m;
    weight[0] = r * r * r / 6;
    weight[1] = (3 * t * t * t - 6 * t * t + 4) / 6;
    weight[2] = (3 * r * r * r - 6 * r * r + 4) / 6;
    weight[3] = t * t * t / 6;
    slope_per_m[0] = -d * r * r / 2;
    slope_per_m[1] = d * (3 * t * t - 4 * t) / 2;
    slope_per_m[2] = -d * (3 * r * r - 4 * r) / 2;
    slope_per_m[3] = d * t * t / 2;
    return (size_t)interval;
}

double cw_profile_end(const struct cw_profile *profile) {
    return profile->start_m + (double)(profile->n - 3) * profile->spacing_m;
}

static double combine(const struct cw_profile *profile, size_t first, const double weight[4]) {
    const double *c = profile->coefficient_m + first;
    return weight[0] * c[0] + weight[1] * c[1] + weight[2] * c[2] + weight[3] * c[3];
}

double cw_profile_height(const struct cw_profile *profile, double s_m) {
    double weight[4], slope[4];
    size_t first = cw_profile_basis(profile, s_m, weight, slope);
    return combine(profile, first, weight);
}

double cw_profile_slope(const struct cw_profile *profile, double s_m) {
    double weight[4], slope[4];
    size_t first = cw_profile_basis(profile, s_m, weight, slope);
    return combine(profile, first, slope);
}

enum cw_status cw_profile_fit(struct cw_profile *profile, const double *s_m, const double *height_m,
                              size_t n, double height_sd_m, double roughness_m,
                              struct cw_error *error) {
    enum { WIDTH = 4 };
    size_t m = profile->n;
    double centre = 0;
    size_t used = 0;
    for (size_t i = 0; i < n; i++) {
        if (!isfinite(height_m[i]) || !isfinite(s_m[i])) continue;
        centre += height_m[i];
        used++;
    }
    if (used < 2) return cw_error_set(error, CW_E_DATA, NULL, 0, "no elevation along the road");
    centre /= (double)used;
    gsl_matrix *band = gsl_matrix_calloc(m, WIDTH);
    gsl_vector *right = gsl_vector_calloc(m);
    enum cw_status status = CW_OK;
    if (!band || !right) {
        status = cw_error_memory(error);
        goto cleanup;
    }
    /* GSL's symmetric band form: element (row, d) holds A[row + d][row]. */
    double precision = 1 / (height_sd_m * height_sd_m);
    for (size_t i = 0; i < n; i++) {
        if (!isfinite(height_m[i]) || !isfinite(s_m[i])) continue;
        double w[4], slope[4];
        size_t first = cw_profile_basis(profile, s_m[i], w, slope);
        for (size_t a = 0; a < 4; a++) {
            for (size_t b = a; b < 4; b++)
                *gsl_matrix_ptr(band, first + a, b - a) += precision * w[a] * w[b];
            *gsl_vector_ptr(right, first + a) += precision * w[a] * (height_m[i] - centre);
        }
    }
    static const double difference[3] = {1, -2, 1};
    double smooth = 1 / (roughness_m * roughness_m);
    for (size_t i = 0; i + 2 < m; i++)
        for (size_t a = 0; a < 3; a++)
            for (size_t b = a; b < 3; b++)
                *gsl_matrix_ptr(band, i + a, b - a) += smooth * difference[a] * difference[b];
    /* A straight line through few points is still a curve: hold level and tilt ever so lightly. */
    for (size_t i = 0; i < m; i++) *gsl_matrix_ptr(band, i, 0) += 1e-8 * precision;
    gsl_vector_view solution = gsl_vector_view_array(profile->coefficient_m, m);
    gsl_error_handler_t *handler = gsl_set_error_handler_off();
    int failed = gsl_linalg_cholesky_band_decomp(band) ||
                 gsl_linalg_cholesky_band_solve(band, right, &solution.vector);
    gsl_set_error_handler(handler);
    for (size_t i = 0; i < m && !failed; i++) failed = !isfinite(profile->coefficient_m[i]);
    if (failed) {
        status = cw_error_set(error, CW_E_NUMERIC, NULL, 0, "the height profile cannot be solved");
        goto cleanup;
    }
    for (size_t i = 0; i < m; i++) profile->coefficient_m[i] += centre;
cleanup:
    gsl_matrix_free(band);
    gsl_vector_free(right);
    return status;
}
