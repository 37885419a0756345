/* The virtual elevation fitted by ordinary least squares to descents integrated by
 * physics/descent: 83 kg, CdA 0.32, Crr 0.005, rho 1.2, g 9.80665, no bearings, slope = tan(angle),
 * sampled at whole seconds (or quarters) up to 500 m.
 *
 * Wanted values: computed beforehand and independently of this library from the closed forms of
 * such descents. Where a row gives fewer digits than its tolerance asks, half of its last digit. */
#include <check.h>
#include <gsl/gsl_multifit.h>
#include <math.h>
#include <stdlib.h>

#include "fit/energy.h"
#include "physics/descent.h"

#define COUNT(array) (sizeof(array) / sizeof *(array))
enum { MOST = 400, MOST_UNKNOWNS = 4 };
static const double g_ms2 = 9.80665, rho_kgm3 = 1.2, mass_kg = 83, cda_m2 = 0.32, crr = 0.005;

/* Of p unknowns: their values and their covariance, (X'WX)^-1. */
struct least_squares {
    double coefficient[MOST_UNKNOWNS], covariance[MOST_UNKNOWNS * MOST_UNKNOWNS];
};

/* Weighted by the reciprocals of the variances, or, with NULL, all alike. */
static struct least_squares fit_rows(size_t n, size_t p, double *design, double *response,
                                     double *weight) {
    struct least_squares fit;
    double chi_square;
    gsl_multifit_linear_workspace *work = gsl_multifit_linear_alloc(n, p);
    gsl_matrix_view x = gsl_matrix_view_array(design, n, p);
    gsl_vector_view y = gsl_vector_view_array(response, n);
    gsl_vector_view b = gsl_vector_view_array(fit.coefficient, p);
    gsl_matrix_view covariance = gsl_matrix_view_array(fit.covariance, p, p);
    if (weight) {
        gsl_vector_view w = gsl_vector_view_array(weight, n);
        gsl_multifit_wlinear(&x.matrix, &w.vector, &y.vector, &b.vector, &covariance.matrix,
                             &chi_square, work);
    } else {
        gsl_multifit_linear(&x.matrix, &y.vector, &b.vector, &covariance.matrix, &chi_square, work);
    }
    gsl_multifit_linear_free(work);
    return fit;
}

struct coast {
    size_t n;
    double sine, cosine;
    double time_s[MOST], s_m[MOST], speed_ms[MOST], height_m[MOST];
};

struct how {
    double grade_percent, start_ms, length_m, step_s;
    double mass_kg, turning_kg, wind_ms, brake_n;
};

static double slope(double s_m, const void *state) {
    (void)s_m;
    return *(const double *)state;
}

static void ride(const struct how *how, struct coast *coast) {
    double mass = how->mass_kg > 0 ? how->mass_kg : mass_kg;
    coast->sine = sin(atan(how->grade_percent / 100));
    coast->cosine = sqrt(1 - coast->sine * coast->sine);
    const struct cw_bicycle bicycle = {
        .mass_kg = mass,
        .cda_m2 = cda_m2,
        .crr = crr + how->brake_n / (mass * g_ms2 * coast->cosine), /* a force that never changes */
        .wheel_inertia_kgm2 = how->turning_kg,
        .wheel_radius_m = 1,
        .frictionless_bearings = true};
    const struct cw_surroundings air = {
        .density_kgm3 = rho_kgm3, .gravity_ms2 = g_ms2, .wind_along_ms = how->wind_ms};
    const struct cw_descent_road road = {NULL, slope, &coast->sine, how->length_m};
    struct cw_descent_options options = cw_descent_options_default();
    options.start_speed_ms = how->start_ms;
    options.step_s = how->step_s > 0 ? how->step_s : 1;
    struct cw_descent descent;
    struct cw_error error;
    ck_assert_int_eq(cw_descent_run(&bicycle, &air, &road, &options, &descent, &error), CW_OK);
    coast->n = descent.n - 1; /* the last state is at the road's end, between two samples */
    ck_assert_uint_le(coast->n, MOST);
    for (size_t i = 0; i < coast->n; i++) {
        coast->time_s[i] = descent.time_s[i];
        coast->s_m[i] = descent.s_m[i];
        coast->speed_ms[i] = descent.speed_ms[i];
        coast->height_m[i] = coast->sine * descent.s_m[i];
    }
    cw_descent_free(&descent);
}

/* Appends the run's rows (-A, -X, offset of run `run` of n_runs | h + K) to design and response. */
static size_t rows(const struct coast *coast, size_t at, size_t run, size_t n_runs, double *design,
                   double *response) {
    const struct cw_bicycle bicycle = {.mass_kg = mass_kg, .frictionless_bearings = true};
    const struct cw_surroundings air = {.density_kgm3 = rho_kgm3, .gravity_ms2 = g_ms2};
    double cosine[MOST], kinetic[MOST], roll[MOST], drag[MOST], bearing[MOST];
    size_t p = 2 + n_runs;
    for (size_t i = 0; i < coast->n; i++) cosine[i] = coast->cosine;
    cw_energy_columns(&bicycle, &air, coast->n, coast->s_m, coast->speed_ms, cosine, NULL, kinetic,
                      roll, drag, bearing);
    for (size_t i = 0; i < coast->n; i++) {
        double *row = design + (at + i) * p;
        ck_assert_double_eq(bearing[i], 0);
        row[0] = -drag[i];
        row[1] = -roll[i];
        for (size_t r = 0; r < n_runs; r++) row[2 + r] = r == run;
        response[at + i] = coast->height_m[i] + kinetic[i];
    }
    return at + coast->n;
}

/* CdA and Crr with both free, and CdA with Crr taken to be 0.005. */
static void fit(const struct coast *coast, double found[3]) {
    static double design[3 * MOST], response[MOST];
    struct least_squares result;
    size_t n = rows(coast, 0, 0, 1, design, response);
    result = fit_rows(n, 3, design, response, NULL);
    found[0] = result.coefficient[0];
    found[1] = result.coefficient[1];
    for (size_t i = 0; i < n; i++) {
        response[i] -= crr * design[3 * i + 1];
        design[2 * i] = design[3 * i];
        design[2 * i + 1] = 1;
    }
    result = fit_rows(n, 2, design, response, NULL);
    found[2] = result.coefficient[0];
}

/* Truth is 0.32 and 0.005: what is off is the trapezoid's doing alone. */
START_TEST(noise_free) {
    static const struct {
        struct how how;
        double cda_m2, crr;
    } row[] = {
        {{.grade_percent = -3, .step_s = 1}, 0.319996151, 0.0050011063},
        {{.grade_percent = -3, .step_s = 0.25}, 0.319999748, 0.0050000697},
        {{.grade_percent = -5, .step_s = 1}, 0.319992546, 0.0050036150},
        {{.grade_percent = -5, .step_s = 0.25}, 0.319999550, 0.0050002253},
        {{.grade_percent = -5, .start_ms = 5, .step_s = 1}, 0.319976090, 0.0050051864},
        {{.grade_percent = -5, .start_ms = 5, .step_s = 0.25}, 0.319998457, 0.0050003290},
        {{.grade_percent = -10, .start_ms = 5, .step_s = 1}, 0.319966661, 0.0050196030},
        {{.grade_percent = -10, .start_ms = 5, .step_s = 0.25}, 0.319997782, 0.0050012517},
    };
    for (size_t i = 0; i < COUNT(row); i++) {
        static struct coast coast;
        struct how how = row[i].how;
        double found[3];
        how.length_m = 500;
        ride(&how, &coast);
        fit(&coast, found);
        ck_assert_double_eq_tol(found[0], row[i].cda_m2, 1e-8);
        ck_assert_double_eq_tol(found[1], row[i].crr, 1e-9);
    }
}
END_TEST

/* What is left out of the fit goes where the sums say. */
START_TEST(left_out) {
    static const struct {
        struct how how;
        double height_scale, distance_scale; /* 0: 1 */
        double cda_m2, crr, given_crr;       /* NaN: not among the values wanted */
    } row[] = {
        /* the wheels' inertia, 0.14 kg m2 at 0.311 m (Martin et al. 1998), as 1.447 kg */
        {{.turning_kg = 0.14 / (0.311 * 0.311)}, 0, 0, 0.3145093, 0.00577467, 0.3236436},
        {{.start_ms = 8, .turning_kg = 0.14 / (0.311 * 0.311)},
         0,
         0,
         0.3144728,
         0.00577826,
         0.3218053},
        /* a headwind goes into Crr when both are free, into CdA when Crr is held */
        {{.start_ms = 5, .wind_ms = 0.5}, 0, 0, 0.335627, 0.0062402, 0.349321},
        {{.start_ms = 5, .wind_ms = -0.5}, 0, 0, 0.305034, 0.0038365, 0.293382},
        {{.start_ms = 5, .wind_ms = 1}, 0, 0, 0.352093, 0.0075374, 0.381681},
        {{.start_ms = 5, .wind_ms = -1}, 0, 0, 0.290702, 0.0027388, 0.269016},
        /* the scale of heights on an even slope is all Crr's */
        {{.start_ms = 5}, 0.98, 0, 0.319976, 0.0040052, 0.309535},
        {{.start_ms = 5}, 1.02, 0, 0.319976, 0.0060052, 0.330526},
        /* distance and speed */
        {{.start_ms = 5}, 0, 0.997, 0.320939, 0.0052906, 0.324008},
        {{.start_ms = 5}, 0, 1.003, 0.319019, 0.0047207, 0.316105},
        /* a brake's 2 N is a Crr of 2/(m g cos) = 0.00246022 */
        {{.start_ms = 5, .brake_n = 2}, 0, 0, 0.319977, 0.00746491, NAN},
        /* 8 kg forgotten: CdA by 83/91 */
        {{.start_ms = 5, .mass_kg = 91}, 0, 0, 0.291853, 0.0050043, NAN},
    };
    for (size_t i = 0; i < COUNT(row); i++) {
        static struct coast coast;
        struct how how = row[i].how;
        double found[3];
        how.length_m = 500;
        how.grade_percent = -5;
        ride(&how, &coast);
        for (size_t j = 0; j < coast.n; j++) {
            if (row[i].height_scale > 0) coast.height_m[j] *= row[i].height_scale;
            if (row[i].distance_scale > 0) {
                coast.s_m[j] *= row[i].distance_scale;
                coast.speed_ms[j] *= row[i].distance_scale;
            }
        }
        fit(&coast, found);
        ck_assert_msg(fabs(found[0] - row[i].cda_m2) < 1e-6 && fabs(found[1] - row[i].crr) < 6e-8,
                      "row %zu: CdA %.9f Crr %.9f", i, found[0], found[1]);
        if (!isnan(row[i].given_crr))
            ck_assert_msg(fabs(found[2] - row[i].given_crr) < 1e-6, "row %zu: CdA %.9f", i,
                          found[2]);
    }
}
END_TEST

#define RUN(grade, start, length)                                                                  \
    { .grade_percent = grade, .start_ms = start, .length_m = length }

struct campaign {
    size_t n_runs;
    struct how run[2];
};

static size_t campaign_rows(const struct campaign *campaign, double *design, double *response,
                            size_t first[3]) {
    size_t n = 0;
    for (size_t r = 0; r < campaign->n_runs; r++) {
        static struct coast coast;
        ride(&campaign->run[r], &coast);
        first[r] = n;
        n = rows(&coast, n, r, campaign->n_runs, design, response);
    }
    first[campaign->n_runs] = n;
    return n;
}

static const double height_sd_m = 0.3;

/* White noise of 0.3 m on the heights, an offset a run: the square roots of (X'X)^-1 sigma^2. */
START_TEST(errors_and_correlation) {
    static const struct {
        struct campaign campaign;
        double cda_error, crr_error, correlation, cda_error_crr_known;
        size_t n;
    } row[] = {
        {{1, {RUN(-5, 0, 500)}}, 0.015762, 0.0013303, -0.981854, 0.002989, 58},
        {{1, {RUN(-5, 5, 500)}}, 0.021573, 0.0020345, -0.989797, 0.003074, 48},
        {{1, {RUN(-5, 13, 500)}}, 0.190486, 0.0256901, -0.999918, 0.002438, 38},
        {{2, {RUN(-5, 3, 500), RUN(-5, 12, 500)}}, 0.009130, 0.0009777, -0.977030, 0.001946, 91},
        {{1, {RUN(-3, 5, 500)}}, 0.039554, 0.0022128, -0.993205, 0.004603, 61},
        {{1, {RUN(-10, 5, 500)}}, 0.010945, 0.0020709, -0.986561, 0.001788, 35},
        {{2, {RUN(-1.5, 3, 300), RUN(-8, 5, 500)}}, 0.003832, 0.0004676, -0.839519, 0.002082, 103},
    };
    for (size_t i = 0; i < COUNT(row); i++) {
        static double design[4 * 2 * MOST], response[2 * MOST], weight[2 * MOST];
        size_t first[3], p = 2 + row[i].campaign.n_runs;
        struct least_squares result;
        size_t n = campaign_rows(&row[i].campaign, design, response, first);
        ck_assert_uint_eq(n, row[i].n);
        for (size_t j = 0; j < n; j++) weight[j] = 1 / (height_sd_m * height_sd_m);
        result = fit_rows(n, p, design, response, weight);
        double cda_error = sqrt(result.covariance[0]), crr_error = sqrt(result.covariance[p + 1]);
        ck_assert_double_eq_tol(cda_error, row[i].cda_error, 6e-7);
        ck_assert_double_eq_tol(crr_error, row[i].crr_error, 6e-8);
        ck_assert_double_eq_tol(result.covariance[1] / (cda_error * crr_error), row[i].correlation,
                                6e-7);
        for (size_t j = 0; j < n; j++) { /* Crr known: its column goes */
            double *to = design + j * (p - 1), *from = design + j * p;
            to[0] = from[0];
            for (size_t k = 2; k < p; k++) to[k - 1] = from[k];
        }
        result = fit_rows(n, p - 1, design, response, weight);
        ck_assert_double_eq_tol(sqrt(result.covariance[0]), row[i].cda_error_crr_known, 6e-7);
    }
}
END_TEST

/* Errors that last (AR(1), phi 0.95 from second to second): what ordinary least squares says of its
 * own error, what that truly is, and what generalised least squares attains. */
START_TEST(errors_that_last) {
    static const struct {
        struct campaign campaign;
        double cda[3], crr[3]; /* said, true, generalised */
    } row[] = {
        {{1, {RUN(-5, 5, 500)}}, {0.021573, 0.045741, 0.041131}, {0.0020345, 0.0044286, 0.0040001}},
        {{2, {RUN(-5, 3, 500), RUN(-5, 12, 500)}},
         {0.009130, 0.026135, 0.023719},
         {0.0009777, 0.0029198, 0.0026601}},
    };
    const double phi = 0.95, variance = height_sd_m * height_sd_m;
    for (size_t i = 0; i < COUNT(row); i++) {
        static double design[4 * 2 * MOST], response[2 * MOST], weight[2 * MOST];
        size_t first[3], p = 2 + row[i].campaign.n_runs;
        struct least_squares result;
        size_t n = campaign_rows(&row[i].campaign, design, response, first);
        for (size_t j = 0; j < n; j++) weight[j] = 1 / variance;
        result = fit_rows(n, p, design, response, weight);
        ck_assert_double_eq_tol(sqrt(result.covariance[0]), row[i].cda[0], 6e-7);
        ck_assert_double_eq_tol(sqrt(result.covariance[p + 1]), row[i].crr[0], 6e-8);
        /* (X'X)^-1 X'V X (X'X)^-1, of which covariance holds (X'X)^-1 sigma^2 */
        double xvx[16] = {0}, half[16] = {0}, true_variance[2] = {0, 0};
        for (size_t r = 0; r < row[i].campaign.n_runs; r++)
            for (size_t a = first[r]; a < first[r + 1]; a++)
                for (size_t b = first[r]; b < first[r + 1]; b++)
                    for (size_t k = 0; k < p; k++)
                        for (size_t l = 0; l < p; l++)
                            xvx[k * p + l] += design[a * p + k] * design[b * p + l] *
                                              pow(phi, fabs((double)a - (double)b)) / variance;
        for (size_t k = 0; k < p; k++)
            for (size_t l = 0; l < p; l++)
                for (size_t m = 0; m < p; m++)
                    half[k * p + l] += result.covariance[k * p + m] * xvx[m * p + l];
        for (size_t k = 0; k < 2; k++)
            for (size_t m = 0; m < p; m++)
                true_variance[k] += half[k * p + m] * result.covariance[m * p + k];
        ck_assert_double_eq_tol(sqrt(true_variance[0]), row[i].cda[1], 6e-7);
        ck_assert_double_eq_tol(sqrt(true_variance[1]), row[i].crr[1], 6e-8);
        /* each run's rows less phi times the row before are white */
        for (size_t r = 0; r < row[i].campaign.n_runs; r++)
            for (size_t a = first[r + 1]; a-- > first[r];) {
                weight[a] = 1 / (a == first[r] ? variance : variance * (1 - phi * phi));
                for (size_t k = 0; k < p && a > first[r]; k++)
                    design[a * p + k] -= phi * design[(a - 1) * p + k];
                if (a > first[r]) response[a] -= phi * response[a - 1];
            }
        result = fit_rows(n, p, design, response, weight);
        ck_assert_double_eq_tol(sqrt(result.covariance[0]), row[i].cda[2], 6e-7);
        ck_assert_double_eq_tol(sqrt(result.covariance[p + 1]), row[i].crr[2], 6e-8);
    }
}
END_TEST

struct steady {
    double speed_ms, drop_scale, mass_kg, density_kgm3, crr, extra_n;
};

/* CdA from 100 m at a steady speed. */
static double steady_cda(double grade_percent, const struct steady *as) {
    const struct cw_bicycle bicycle = {.mass_kg = as->mass_kg, .frictionless_bearings = true};
    const struct cw_surroundings air = {.density_kgm3 = as->density_kgm3, .gravity_ms2 = g_ms2};
    double sine = sin(atan(grade_percent / 100)), cosine = sqrt(1 - sine * sine);
    const double s[2] = {0, 100}, v[2] = {as->speed_ms, as->speed_ms},
                 cosines[2] = {cosine, cosine};
    double kinetic[2], roll[2], drag[2], bearing[2];
    cw_energy_columns(&bicycle, &air, 2, s, v, cosines, NULL, kinetic, roll, drag, bearing);
    double drop = -sine * s[1] * as->drop_scale;
    return (drop - as->crr * roll[1] - as->extra_n * s[1] / (as->mass_kg * g_ms2)) / drag[1];
}

START_TEST(steady_coasting) {
    static const struct {
        double grade_percent, speed_ms;
        double by_height, crr, wind_half, wind_one, pair, brake, warm;
    } row[] = {
        {-3, 10.2925, 1.2, -4.0, 10.472598, 22.68079, 2.877057, 4.916506, -4.02482},
        {-5, 13.8033, 1.11111111, -2.222222, 7.658174, 16.230968, 1.588414, 2.733574, -3.726685},
        {-10, 20.0184, 1.05263158, -1.052632, 5.188982, 10.792581, 0.751743, 1.299686, -3.530544},
    };
    for (size_t i = 0; i < COUNT(row); i++) {
        double grade = row[i].grade_percent;
        double sine = -sin(atan(grade / 100)), cosine = sqrt(1 - sine * sine);
        double v =
            sqrt(2 * mass_kg * g_ms2 * (sine - crr * cosine) / (rho_kgm3 * cda_m2)); /* terminal */
        ck_assert_double_eq_tol(v, row[i].speed_ms, 5e-5);
        const struct steady truth = {v, 1, mass_kg, rho_kgm3, crr, 0};
        ck_assert_double_eq_tol(steady_cda(grade, &truth), cda_m2, 1e-12);
#define PERCENT(change) (100 * (steady_cda(grade, &(change)) / cda_m2 - 1))
        struct steady off = truth;
        off.drop_scale = 1.01; /* linear in the drop: no small step needed */
        ck_assert_double_eq_tol(PERCENT(off), row[i].by_height, 1e-7);
        off = truth;
        off.crr += 0.001;
        ck_assert_double_eq_tol(PERCENT(off), row[i].crr, 1e-5);
        off = truth;
        off.speed_ms = v - 0.5; /* a headwind holds the bicycle at v through the air */
        ck_assert_double_eq_tol(PERCENT(off), row[i].wind_half, 1e-5);
        off.speed_ms = v - 1;
        double against = PERCENT(off);
        ck_assert_double_eq_tol(against, row[i].wind_one, 1e-5);
        off.speed_ms = v + 1;
        ck_assert_double_eq_tol(0.5 * (against + PERCENT(off)), row[i].pair, 1e-5);
        const double step = 1e-4;
        off.speed_ms = v * (1 + step);
        double up = PERCENT(off);
        off.speed_ms = v * (1 - step);
        ck_assert_double_eq_tol((up - PERCENT(off)) / (200 * step), -2.0, 1e-6);
        off = truth; /* CdA goes with the mass that it is worked out for */
        off.mass_kg = 91;
        ck_assert_double_eq_tol(100 * (cda_m2 / steady_cda(grade, &off) - 1), -8.791209, 1e-5);
        off = truth;
        off.density_kgm3 *= 1.01;
        ck_assert_double_eq_tol(PERCENT(off), -0.990099, 1e-5);
        off = truth;
        off.extra_n = 1;
        ck_assert_double_eq_tol(-PERCENT(off), row[i].brake, 1e-5);
        off = truth; /* an altimeter of the standard atmosphere in air 10 K warmer */
        off.drop_scale = 1 / (1 + 10 / 288.15);
        ck_assert_double_eq_tol(PERCENT(off), row[i].warm, 1e-5);
    }
}
END_TEST

/* With wind and bearings: the columns are the forces' own work. */
START_TEST(columns_are_the_forces_work) {
    const struct cw_bicycle bicycle = {
        .mass_kg = 80, .wheel_inertia_kgm2 = 0.02 * 80, .wheel_radius_m = 1};
    const struct cw_surroundings air = {
        .density_kgm3 = 1.15, .gravity_ms2 = 9.81, .wind_along_ms = 0.8};
    const double s[3] = {5, 15, 35}, v[3] = {8, 8, 8};
    double kinetic[3], roll[3], drag[3], bearing[3];
    cw_energy_columns(&bicycle, &air, 3, s, v, NULL, NULL, kinetic, roll, drag, bearing);
    for (int i = 0; i < 3; i++) {
        ck_assert_double_eq_tol(kinetic[i], 1.02 * 64 / (2 * 9.81), 1e-12);
        ck_assert_double_eq_tol(roll[i], s[i] - 5, 1e-12);
        /* 1/2 rho v2 and Martin's bearings, written out */
        ck_assert_double_eq_tol(drag[i], 0.5 * 1.15 * 8.8 * 8.8 / (80 * 9.81) * (s[i] - 5), 1e-12);
        ck_assert_double_eq_tol(bearing[i], (0.091 + 0.0087 * 8) / (80 * 9.81) * (s[i] - 5), 1e-12);
    }
    /* As the air gets denser down the road, by the trapezoid of that; nothing else does. */
    const double denser[3] = {1, 1.01, 1.03};
    double thick[3], way_m = 10 * 1.005 + 20 * 1.02;
    cw_energy_columns(&bicycle, &air, 3, s, v, NULL, denser, kinetic, roll, thick, bearing);
    ck_assert_double_eq_tol(thick[2], 0.5 * 1.15 * 8.8 * 8.8 / (80 * 9.81) * way_m, 1e-12);
    ck_assert_double_eq_tol(roll[2], 30, 1e-12);
    ck_assert_double_eq_tol(bearing[2], (0.091 + 0.0087 * 8) / (80 * 9.81) * 30, 1e-12);
}
END_TEST

int main(void) {
    Suite *suite = suite_create("fit/energy");
    TCase *tests = tcase_create("energy");
    tcase_add_test(tests, noise_free);
    tcase_add_test(tests, left_out);
    tcase_add_test(tests, errors_and_correlation);
    tcase_add_test(tests, errors_that_last);
    tcase_add_test(tests, steady_coasting);
    tcase_add_test(tests, columns_are_the_forces_work);
    suite_add_tcase(suite, tests);
    SRunner *runner = srunner_create(suite);
    srunner_run_all(runner, CK_NORMAL);
    int failed = srunner_ntests_failed(runner);
    srunner_free(runner);
    return failed ? EXIT_FAILURE : EXIT_SUCCESS;
}
