#include "fit/ground.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* Of the mean second difference, m, where knots are 15 m apart: slopes that change by some 4 % a
 * kilometre one way. Common practice, no source. */
static const double bend_m = 0.01;

enum cw_status cw_ground_make(const struct cw_profile *profile, double low_m, double high_m,
                              struct cw_ground *ground, struct cw_error *error) {
    double weight[4], slope[4];
    size_t first = cw_profile_weights(profile, low_m, weight, slope);
    size_t last = cw_profile_weights(profile, high_m, weight, slope) + 3;
    *ground = (struct cw_ground){.first = first, .n = last - first + 1};
    ground->height_m = malloc(ground->n * sizeof *ground->height_m);
    if (!ground->height_m) {
        *ground = (struct cw_ground){0};
        return cw_error_memory(error);
    }
    memcpy(ground->height_m, profile->coefficient_m + first, ground->n * sizeof(double));
    return CW_OK;
}

void cw_ground_free(struct cw_ground *ground) {
    free(ground->height_m);
    *ground = (struct cw_ground){0};
}

/* Adds that the sum of factor times unknowns (n of them, from first on), which is off now, is
 * N(0, 1/precision); a precision below 0 takes away. */
static void add_row(struct cw_equations *e, size_t n, const size_t *unknown, const double *factor,
                    double off, double precision) {
    size_t data = e->n - 1;
    for (size_t a = 0; a < n; a++) {
        for (size_t b = a; b < n; b++) {
            double product = precision * factor[a] * factor[b];
            *cw_equations_at(e, unknown[a], unknown[b]) += product;
        }
        *cw_equations_at(e, unknown[a], data) += precision * factor[a] * off;
    }
    *cw_equations_at(e, data, data) += precision * off * off;
}

/* Second differences d ~ N(0, roughness2 I + bend2 1 1'): by Sherman and Morrison the inverse is
 * (I - 1 1' bend2/(roughness2 + m bend2)) / roughness2, and the sum of the m differences has four
 * coefficients in it. */
static void add_smoothness(const struct cw_profile *profile, double roughness_m,
                           struct cw_equations *e, double *log_det) {
    static const double difference[3] = {1, -2, 1}, whole[4] = {1, -1, -1, 1};
    size_t n = profile->n, m = n - 2;
    const double *c = profile->coefficient_m;
    double roughness2 = roughness_m * roughness_m, bend2 = bend_m * bend_m,
           all = roughness2 + (double)m * bend2;
    for (size_t i = 0; i < m; i++)
        add_row(e, 3, (const size_t[]){i, i + 1, i + 2}, difference, c[i] - 2 * c[i + 1] + c[i + 2],
                1 / roughness2);
    if (n >= 4)
        add_row(e, 4, (const size_t[]){0, 1, n - 2, n - 1}, whole,
                c[0] - c[1] - c[n - 2] + c[n - 1], -bend2 / all / roughness2);
    *log_det += (double)(m - 1) * log(roughness2) + log(all);
}

static void add_map(const struct cw_ground *ground, const struct cw_profile *profile,
                    const struct cw_noise *noise, struct cw_equations *e, double *log_det) {
    double keep = exp(-profile->spacing_m / noise->map_length_m),
           variance = noise->map_sd_m * noise->map_sd_m, fresh = variance * (1 - keep * keep);
    const double factor[2] = {-keep, 1};
    double before = 0;
    for (size_t i = 0; i < ground->n; i++) {
        size_t at = ground->first + i;
        double off = profile->coefficient_m[at] - ground->height_m[i];
        if (i == 0)
            add_row(e, 1, &at, factor + 1, off, 1 / variance);
        else
            add_row(e, 2, (const size_t[]){at - 1, at}, factor, off - keep * before, 1 / fresh);
        before = off;
    }
    *log_det += log(variance) + (double)(ground->n - 1) * log(fresh);
}

void cw_ground_add(const struct cw_ground *ground, const struct cw_profile *profile,
                   const struct cw_noise *noise, struct cw_equations *e, double *log_det) {
    add_smoothness(profile, noise->roughness_m, e, log_det);
    if (ground->n) add_map(ground, profile, noise, e, log_det);
    /* Level and tilt of a profile that no recorder saw are free but for this trifle. */
    for (size_t i = 0; i < profile->n; i++) *cw_equations_at(e, i, i) += 1e-9;
}
