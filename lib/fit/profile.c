#include "fit/profile.h"

#include <math.h>
#include <stdbool.h>
#include <stdlib.h>
#include <string.h>

enum cw_status cw_profile_make(double low_m, double high_m, double spacing_m,
                               struct cw_profile *profile, struct cw_error *error) {
    *profile = (struct cw_profile){0};
    if (!(high_m > low_m) || !(spacing_m > 0) || !((high_m - low_m) / spacing_m <= 1e5))
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

enum cw_status cw_profile_mirror(const struct cw_profile *profile, double mirror_m,
                                 struct cw_profile *mirrored, struct cw_error *error) {
    if (!mirrored->n) {
        mirrored->coefficient_m = malloc(profile->n * sizeof *mirrored->coefficient_m);
        if (!mirrored->coefficient_m) return cw_error_memory(error);
    }
    mirrored->n = profile->n;
    mirrored->spacing_m = profile->spacing_m;
    mirrored->start_m = mirror_m - cw_profile_end(profile);
    for (size_t i = 0; i < profile->n; i++)
        mirrored->coefficient_m[i] = profile->coefficient_m[profile->n - 1 - i];
    return CW_OK;
}

void cw_profile_free(struct cw_profile *profile) {
    free(profile->coefficient_m);
    *profile = (struct cw_profile){0};
}

size_t cw_profile_weights(const struct cw_profile *profile, double s_m, double weight[4],
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
    size_t first = cw_profile_weights(profile, s_m, weight, slope);
    return combine(profile, first, weight);
}

double cw_profile_slope(const struct cw_profile *profile, double s_m) {
    double weight[4], slope[4];
    size_t first = cw_profile_weights(profile, s_m, weight, slope);
    return combine(profile, first, slope);
}

/* The upper band of a symmetric matrix: row i holds the elements (i, i) to (i, i + WIDTH - 1). */
enum { WIDTH = 4 };

/* Solves band x = right by Cholesky's factors, in their places; right becomes x. False where the
 * matrix is not positive definite. */
static bool solve_band(size_t m, double (*band)[WIDTH], double *right) {
    for (size_t i = 0; i < m; i++) {
        if (!(band[i][0] > 0 && isfinite(band[i][0]))) return false;
        double pivot = sqrt(band[i][0]);
        for (size_t a = 0; a < WIDTH; a++) band[i][a] /= pivot;
        right[i] /= pivot;
        for (size_t a = 1; a < WIDTH && i + a < m; a++) {
            for (size_t b = a; b < WIDTH; b++) band[i + a][b - a] -= band[i][a] * band[i][b];
            right[i + a] -= band[i][a] * right[i];
        }
    }
    for (size_t i = m; i-- > 0;) {
        for (size_t a = 1; a < WIDTH && i + a < m; a++) right[i] -= band[i][a] * right[i + a];
        right[i] /= band[i][0];
        if (!isfinite(right[i])) return false;
    }
    return true;
}

enum cw_status cw_profile_fit(struct cw_profile *profile, const double *s_m, const double *height_m,
                              size_t n, double height_sd_m, double roughness_m,
                              struct cw_error *error) {
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
    double(*band)[WIDTH] = calloc(m, sizeof *band), *right = profile->coefficient_m;
    if (!band) return cw_error_memory(error);
    memset(right, 0, m * sizeof *right);
    double precision = 1 / (height_sd_m * height_sd_m);
    for (size_t i = 0; i < n; i++) {
        if (!isfinite(height_m[i]) || !isfinite(s_m[i])) continue;
        double w[4], slope[4];
        size_t first = cw_profile_weights(profile, s_m[i], w, slope);
        for (size_t a = 0; a < 4; a++) {
            for (size_t b = a; b < 4; b++) band[first + a][b - a] += precision * w[a] * w[b];
            right[first + a] += precision * w[a] * (height_m[i] - centre);
        }
    }
    static const double difference[3] = {1, -2, 1};
    double smooth = 1 / (roughness_m * roughness_m);
    for (size_t i = 0; i + 2 < m; i++)
        for (size_t a = 0; a < 3; a++)
            for (size_t b = a; b < 3; b++)
                band[i + a][b - a] += smooth * difference[a] * difference[b];
    /* A straight line through few points is still a curve: hold level and tilt ever so lightly. */
    for (size_t i = 0; i < m; i++) band[i][0] += 1e-8 * precision;
    bool solved = solve_band(m, band, right);
    free(band);
    if (!solved)
        return cw_error_set(error, CW_E_NUMERIC, NULL, 0, "the height profile cannot be solved");
    for (size_t i = 0; i < m; i++) profile->coefficient_m[i] += centre;
    return CW_OK;
}
