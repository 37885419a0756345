#include "fit/ground.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* Of the mean second difference, m, where knots are 15 m apart: slopes that change by some 4 % a
 * kilometre one way. Common practice, no source. */
static const double bend_m = 0.01;

const double cw_ground_alike_m = 30;

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

/* Adds that the sum of factor times unknowns (n of them), which is off now, is N(0, variance). */
static void add_row(struct cw_equations *e, size_t n, const size_t *unknown, const double *factor,
                    double off, double variance, double *log_det) {
    size_t data = e->n - 1;
    double precision = 1 / variance;
    for (size_t a = 0; a < n; a++) {
        for (size_t b = a; b < n; b++)
            *cw_equations_at(e, unknown[a], unknown[b]) += precision * factor[a] * factor[b];
        *cw_equations_at(e, unknown[a], data) += precision * factor[a] * off;
    }
    *cw_equations_at(e, data, data) += precision * off * off;
    *log_det += log(variance);
}

/* The map's error at coefficient i, and how it goes on from there. */
static void add_map(const struct cw_ground *ground, const struct cw_profile *profile,
                    const struct cw_noise *noise, const struct cw_ground_place *place, size_t i,
                    struct cw_equations *e, double *log_det) {
    if (i < ground->first || i >= ground->first + ground->n) return;
    double keep = exp(-profile->spacing_m / noise->map_length_m),
           variance = noise->map_sd_m * noise->map_sd_m,
           off = profile->coefficient_m[i] - ground->height_m[i - ground->first];
    size_t at = place->at + i - place->from;
    if (i == ground->first) add_row(e, 1, &at, (const double[]){1}, off, variance, log_det);
    if (i + 1 == ground->first + ground->n) return;
    double then = profile->coefficient_m[i + 1] - ground->height_m[i + 1 - ground->first];
    add_row(e, 2, (const size_t[]){at, at + 1}, (const double[]){-keep, 1}, then - keep * off,
            variance * (1 - keep * keep), log_det);
}

/* The second difference of the coefficients that begins at i: the first one, and how each goes on
 * from the one before, as cw_ground_alike_m has it. */
static void add_smooth(const struct cw_profile *profile, const struct cw_noise *noise,
                       const struct cw_ground_place *place, size_t i, struct cw_equations *e,
                       double *log_det) {
    const double *c = profile->coefficient_m + i;
    double keep = exp(-profile->spacing_m / cw_ground_alike_m),
           variance = noise->roughness_m * noise->roughness_m,
           here = i + 2 < profile->n ? c[0] - 2 * c[1] + c[2] : 0;
    size_t at = place->at + i - place->from;
    if (i == 0)
        add_row(e, 4, (const size_t[]){at, at + 1, at + 2, place->bend},
                (const double[]){1, -2, 1, -1}, here, variance, log_det);
    if (i + 3 < profile->n)
        add_row(e, 5, (const size_t[]){at, at + 1, at + 2, at + 3, place->bend},
                (const double[]){-keep, 1 + 2 * keep, -2 - keep, 1, keep - 1},
                c[1] - 2 * c[2] + c[3] - keep * here, variance * (1 - keep * keep), log_det);
}

void cw_ground_add(const struct cw_ground *ground, const struct cw_profile *profile,
                   const struct cw_noise *noise, const struct cw_ground_place *place,
                   struct cw_equations *e, double *log_det) {
    for (size_t i = place->from; i < place->to; i++) {
        size_t at = place->at + i - place->from;
        add_smooth(profile, noise, place, i, e, log_det);
        add_map(ground, profile, noise, place, i, e, log_det);
        /* Level and tilt of a profile that no recorder saw are free but for this trifle. */
        *cw_equations_at(e, at, at) += 1e-9;
    }
}

void cw_ground_add_bend(size_t bend, struct cw_equations *e, double *log_det) {
    cw_equations_add_prior(e, bend, 0, (struct cw_prior){0, bend_m});
    *log_det += log(bend_m * bend_m);
}
