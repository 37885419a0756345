#include <check.h>
#include <gsl/gsl_bspline.h>
#include <gsl/gsl_linalg.h>
#include <math.h>
#include <stdlib.h>

#include "dense.h"
#include "fit/profile.h"

static struct cw_profile profile_of(double low_m, double high_m, double spacing_m) {
    struct cw_profile profile;
    struct cw_error error;
    ck_assert_int_eq(cw_profile_make(low_m, high_m, spacing_m, &profile, &error), CW_OK);
    return profile;
}

/* What a coefficient's place on the road is: the middle of its three inner knots. */
static double place(const struct cw_profile *profile, size_t i) {
    return profile->start_m + ((double)i - 1) * profile->spacing_m;
}

/* Polynomials up to the third degree are met exactly by the blossom of their values (de Boor, A
 * Practical Guide to Splines, 2001, ch. IX, Marsden's identity): x, x2 - h2/3, x3 - h2 x. */
START_TEST(polynomials) {
    struct cw_profile profile = profile_of(-20, 130, 15);
    double h = profile.spacing_m;
    ck_assert_uint_eq(profile.n, 13);
    for (int degree = 0; degree < 4; degree++) {
        for (size_t i = 0; i < profile.n; i++) {
            double x = place(&profile, i);
            const double blossom[4] = {1, x, x * x - h * h / 3, x * x * x - h * h * x};
            profile.coefficient_m[i] = blossom[degree];
        }
        /* beyond the ends too: the outermost cubic goes on */
        for (double s = -50; s < 170; s += 3.7) {
            double slope = degree ? degree * pow(s, degree - 1) : 0;
            ck_assert_double_eq_tol(cw_profile_height(&profile, s), pow(s, degree), 1e-8);
            ck_assert_double_eq_tol(cw_profile_slope(&profile, s), slope, 1e-9);
        }
    }
    cw_profile_free(&profile);
}
END_TEST

/* GSL's own basis has its outer knots on top of each other; three intervals in it is the same. */
START_TEST(as_gsl_has_it) {
    struct cw_profile profile = profile_of(0, 120, 10);
    gsl_bspline_workspace *spline = gsl_bspline_alloc(4, 13);
    gsl_vector *basis = gsl_vector_alloc(gsl_bspline_ncoeffs(spline));
    unsigned long state = 5;
    gsl_bspline_knots_uniform(0, 120, spline);
    ck_assert_uint_eq(profile.n, gsl_bspline_ncoeffs(spline));
    for (size_t i = 0; i < profile.n; i++) profile.coefficient_m[i] = made_normal(&state);
    for (double s = 30; s < 90; s += 1.3) {
        double height = 0, weight[4], slope[4];
        gsl_bspline_eval(s, basis, spline);
        for (size_t i = 0; i < profile.n; i++)
            height += gsl_vector_get(basis, i) * profile.coefficient_m[i];
        ck_assert_double_eq_tol(cw_profile_height(&profile, s), height, 1e-12);
        size_t first = cw_profile_weights(&profile, s, weight, slope);
        for (size_t k = 0; k < 4; k++)
            ck_assert_double_eq_tol(weight[k], gsl_vector_get(basis, first + k), 1e-13);
        double by_difference =
            (cw_profile_height(&profile, s + 1e-4) - cw_profile_height(&profile, s - 1e-4)) / 2e-4;
        ck_assert_double_eq_tol(cw_profile_slope(&profile, s), by_difference, 1e-7);
    }
    gsl_bspline_free(spline);
    gsl_vector_free(basis);
    cw_profile_free(&profile);
}
END_TEST

/* The smoothest curve, by the normal equations written out in full. */
START_TEST(fit_solves_its_normal_equations) {
    enum { N = 60 };
    struct cw_profile profile = profile_of(0, 200, 15);
    struct cw_error error;
    double s[N], height[N], mean = 0;
    unsigned long state = 9;
    size_t used = 0, m = profile.n;
    gsl_matrix *a = gsl_matrix_calloc(m, m);
    gsl_vector *b = gsl_vector_calloc(m);
    for (size_t i = 0; i < N; i++) {
        s[i] = 200 * made_even(&state);
        height[i] = i % 7 == 3 ? NAN : 300 - 0.06 * s[i] + made_normal(&state);
        if (isnan(height[i])) continue;
        mean += height[i];
        used++;
    }
    mean /= (double)used;
    for (size_t i = 0; i < N; i++) {
        double weight[4], slope[4];
        if (isnan(height[i])) continue;
        size_t first = cw_profile_weights(&profile, s[i], weight, slope);
        for (size_t j = 0; j < 4; j++) {
            for (size_t k = 0; k < 4; k++)
                *gsl_matrix_ptr(a, first + j, first + k) += weight[j] * weight[k] / (0.4 * 0.4);
            *gsl_vector_ptr(b, first + j) += weight[j] * (height[i] - mean) / (0.4 * 0.4);
        }
    }
    const double difference[3] = {1, -2, 1};
    for (size_t i = 0; i + 2 < m; i++)
        for (size_t j = 0; j < 3; j++)
            for (size_t k = 0; k < 3; k++)
                *gsl_matrix_ptr(a, i + j, i + k) += difference[j] * difference[k] / (0.2 * 0.2);
    gsl_linalg_cholesky_decomp1(a);
    gsl_linalg_cholesky_svx(a, b);
    ck_assert_int_eq(cw_profile_fit(&profile, s, height, N, 0.4, 0.2, &error), CW_OK);
    /* but for the touch that holds level and tilt of a profile with next to no heights */
    for (size_t i = 0; i < m; i++)
        ck_assert_double_eq_tol(profile.coefficient_m[i], gsl_vector_get(b, i) + mean, 1e-5);
    gsl_matrix_free(a);
    gsl_vector_free(b);
    cw_profile_free(&profile);
}
END_TEST

/* A road as straight as its heights comes out as it is, also where none was recorded. */
START_TEST(straight_road) {
    struct cw_profile profile = profile_of(0, 300, 15);
    struct cw_error error;
    double s[20], height[20];
    for (size_t i = 0; i < 20; i++) {
        s[i] = 50 + 10 * (double)i;
        height[i] = i == 4 ? NAN : 512.3 - 0.071 * s[i];
    }
    ck_assert_int_eq(cw_profile_fit(&profile, s, height, 20, 0.3, 0.1, &error), CW_OK);
    for (double at = 0; at <= 300; at += 7)
        ck_assert_double_eq_tol(cw_profile_height(&profile, at), 512.3 - 0.071 * at, 1e-4);
    cw_profile_free(&profile);
}
END_TEST

START_TEST(what_cannot_be) {
    struct cw_profile profile;
    struct cw_error error;
    ck_assert_int_eq(cw_profile_make(10, 10, 5, &profile, &error), CW_E_ARGUMENT);
    ck_assert_int_eq(cw_profile_make(0, NAN, 5, &profile, &error), CW_E_ARGUMENT);
    ck_assert_int_eq(cw_profile_make(0, 10, 0, &profile, &error), CW_E_ARGUMENT);
    ck_assert_int_eq(cw_profile_make(0, 1e9, 1, &profile, &error), CW_E_ARGUMENT);
    profile = profile_of(0, 100, 10);
    const double s[3] = {1, 2, 3}, height[3] = {NAN, 5, NAN};
    ck_assert_int_eq(cw_profile_fit(&profile, s, height, 3, 0.3, 0.1, &error), CW_E_DATA);
    /* GSL's own handler would end the program */
    const double two[3] = {4, 5, NAN};
    ck_assert_int_eq(cw_profile_fit(&profile, s, two, 3, 0.3, 1e-12, &error), CW_E_NUMERIC);
    ck_assert_int_eq(cw_profile_fit(&profile, s, two, 3, 0, 0.1, &error), CW_E_NUMERIC);
    cw_profile_free(&profile);
}
END_TEST

int main(void) {
    Suite *suite = suite_create("fit/profile");
    TCase *tests = tcase_create("profile");
    tcase_add_test(tests, polynomials);
    tcase_add_test(tests, as_gsl_has_it);
    tcase_add_test(tests, fit_solves_its_normal_equations);
    tcase_add_test(tests, straight_road);
    tcase_add_test(tests, what_cannot_be);
    suite_add_tcase(suite, tests);
    SRunner *runner = srunner_create(suite);
    srunner_run_all(runner, CK_NORMAL);
    int failed = srunner_ntests_failed(runner);
    srunner_free(runner);
    return failed ? EXIT_FAILURE : EXIT_SUCCESS;
}
