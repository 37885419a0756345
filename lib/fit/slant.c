#include "fit/slant.h"

#include <math.h>
#include <stdlib.h>

#include "fit/profile.h"

/* A smooth profile: noise in the heights would make every road longer than it is. */
static const double knots_m = 30, height_sd_m = 0.5, roughness_m = 0.3, step_m = 5;

enum cw_status cw_slant_make(const double *map_m, const double *height_m, size_t n,
                             struct cw_slant *slant, struct cw_error *error) {
    *slant = (struct cw_slant){.spacing_m = step_m};
    double low = INFINITY, high = -INFINITY;
    for (size_t i = 0; i < n; i++) {
        if (!isfinite(map_m[i]) || !isfinite(height_m[i])) continue;
        low = fmin(low, map_m[i]);
        high = fmax(high, map_m[i]);
    }
    if (!(high > low))
        return cw_error_set(error, CW_E_DATA, NULL, 0, "no elevation along the road");
    struct cw_profile profile;
    enum cw_status status = cw_profile_make(low, high, knots_m, &profile, error);
    if (status >= 0)
        status = cw_profile_fit(&profile, map_m, height_m, n, height_sd_m, roughness_m, error);
    if (status < 0) goto cleanup;
    slant->start_m = low;
    slant->n = (size_t)ceil((high - low) / step_m) + 1;
    slant->along_m = malloc(slant->n * sizeof *slant->along_m);
    if (!slant->along_m) {
        status = cw_error_memory(error);
        goto cleanup;
    }
    slant->along_m[0] = low;
    for (size_t i = 1; i < slant->n; i++) {
        double slope = cw_profile_slope(&profile, low + ((double)i - 0.5) * step_m);
        slant->along_m[i] = slant->along_m[i - 1] + step_m * sqrt(1 + slope * slope);
    }
cleanup:
    cw_profile_free(&profile);
    return status;
}

void cw_slant_free(struct cw_slant *slant) {
    free(slant->along_m);
    *slant = (struct cw_slant){0};
}

static size_t interval(const struct cw_slant *slant, double map_m) {
    double u = floor((map_m - slant->start_m) / slant->spacing_m);
    double last = (double)(slant->n - 2);
    return (size_t)fmin(fmax(u, 0), last);
}

double cw_slant_rate(const struct cw_slant *slant, double map_m) {
    size_t i = interval(slant, map_m);
    return (slant->along_m[i + 1] - slant->along_m[i]) / slant->spacing_m;
}

double cw_slant_along(const struct cw_slant *slant, double map_m) {
    size_t i = interval(slant, map_m);
    return slant->along_m[i] +
           (map_m - slant->start_m - (double)i * slant->spacing_m) * cw_slant_rate(slant, map_m);
}
