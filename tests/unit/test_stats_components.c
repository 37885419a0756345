#include <check.h>
#include <math.h>
#include <stdlib.h>

#include "stats/components.h"
#include "stats/student.h"

/* Random numbers of the test's own: splitmix64 (S. Vigna, public domain), and normal ones by Box
 * and Muller. */
static unsigned long long seed;

static double even(void) {
    unsigned long long z = seed += 0x9e3779b97f4a7c15ull;
    z = (z ^ (z >> 30)) * 0xbf58476d1ce4e5b9ull;
    z = (z ^ (z >> 27)) * 0x94d049bb133111ebull;
    return ((double)((z ^ (z >> 31)) >> 11) + 0.5) / 9007199254740992.0;
}

static double normal(void) {
    double radius = sqrt(-2 * log(even()));
    return radius * cos(6.283185307179586 * even());
}

enum { N = 8, P = 2 };
static double design[N * P], unit[N * N], noise[N * N], value[N];
static const double contrast[P] = {-1, 1};

/* Eight values of two groups, a b b a a b b a, with white noise of sd 1.5. */
static struct cw_components_data groups(void) {
    static const int of_b[N] = {0, 1, 1, 0, 0, 1, 1, 0};
    for (size_t i = 0; i < N; i++) {
        design[i * P] = !of_b[i];
        design[i * P + 1] = of_b[i];
        for (size_t j = 0; j < N; j++) {
            unit[i * N + j] = i == j;
            noise[i * N + j] = i == j ? 2.25 : 0;
        }
    }
    return (struct cw_components_data){
        .n = N,
        .p = P,
        .value = value,
        .design = design,
        .n_components = 2,
        .component = {{noise, CW_COMPONENT_STATED, 40, 0}, {unit, CW_COMPONENT_SCATTER, 0.8, 0}}};
}

static void draw(double scatter) {
    for (size_t i = 0; i < N; i++) value[i] = hypot(1.5, scatter) * normal();
}

/* Without a component the answer is that of generalised least squares, its errors as stated: the
 * difference of two means of four, each value known to 1.5. */
START_TEST(nothing_unknown_is_least_squares) {
    struct cw_components_data data = groups();
    struct cw_components fit;
    struct cw_estimate estimate;
    double df, p;
    seed = 3;
    draw(0);
    data.fixed = noise;
    data.n_components = 0;
    ck_assert_int_eq(cw_components_fit(&data, &fit, NULL), CW_OK);
    ck_assert_int_eq(cw_components_contrast(&fit, contrast, &estimate, &df, &p, NULL), CW_OK);
    double difference = 0;
    for (size_t i = 0; i < N; i++) difference += (design[i * P + 1] - design[i * P]) * value[i] / 4;
    ck_assert_double_eq_tol(estimate.value, difference, 1e-12);
    ck_assert_double_eq_tol(estimate.standard_error, 1.5 * sqrt(0.5), 1e-4);
    /* 1.959964 is the normal distribution's 97.5 % quantile (any table) */
    ck_assert_double_eq_tol(estimate.high, difference + 1.959964 * 1.5 * sqrt(0.5), 1e-5);
    ck_assert_double_eq_tol(p, erfc(fabs(difference) / (1.5 * sqrt(0.5)) / sqrt(2)), 1e-9);
    ck_assert_double_gt(df, 1e4);
    cw_components_free(&fit);
}
END_TEST

/* A size known to few degrees of freedom makes Student's t: scaled inverse chi-square times normal
 * is t by definition. */
START_TEST(a_stated_size_makes_students_t) {
    struct cw_components_data data = groups();
    static const double stated_df[] = {8, 40};
    for (size_t k = 0; k < 2; k++) {
        struct cw_components fit;
        struct cw_estimate estimate;
        double df;
        /* One value a group: nothing is learnt of the size. */
        data.n = P;
        data.n_components = 1;
        double two[4] = {2.25, 0, 0, 2.25}, rows[4] = {1, 0, 0, 1}, at[2] = {0.5, 1.25};
        data.component[0] = (struct cw_component){two, CW_COMPONENT_STATED, stated_df[k], 0};
        data.design = rows;
        data.value = at;
        ck_assert_int_eq(cw_components_fit(&data, &fit, NULL), CW_OK);
        ck_assert_int_eq(cw_components_contrast(&fit, contrast, &estimate, &df, NULL, NULL), CW_OK);
        ck_assert_double_eq_tol(estimate.value, 0.75, 1e-12);
        double half = 1.5 * sqrt(2) * cw_t_quantile(0.975, stated_df[k]);
        ck_assert_double_eq_tol((estimate.high - estimate.low) / 2 / half, 1, 0.06);
        cw_components_free(&fit);
    }
}
END_TEST

/* Against the same integral by brute force: a fine grid of the scatter, the likelihood of two means
 * of four worked out by hand. */
START_TEST(the_scatter_is_integrated_out) {
    struct cw_components_data data = groups();
    struct cw_components fit;
    struct cw_estimate estimate;
    seed = 11;
    draw(2);
    data.fixed = noise;
    data.n_components = 1;
    data.component[0] = (struct cw_component){unit, CW_COMPONENT_SCATTER, 0.8, 0};
    ck_assert_int_eq(cw_components_fit(&data, &fit, NULL), CW_OK);
    ck_assert_int_eq(cw_components_contrast(&fit, contrast, &estimate, NULL, NULL, NULL), CW_OK);
    double mean[2] = {0, 0}, within = 0, total = 0, second = 0, above = 0;
    for (size_t i = 0; i < N; i++) mean[design[i * P + 1] > 0] += value[i] / 4;
    for (size_t i = 0; i < N; i++) within += pow(value[i] - mean[design[i * P + 1] > 0], 2);
    for (double tau = 0.0025; tau < 200; tau += 0.005) {
        double v = 2.25 + tau * tau; /* 8 values less 2 means: 6 degrees of freedom */
        double weight = pow(v, -3) * exp(-within / 2 / v) * pow(1 + tau * tau / 0.64, -0.525);
        total += weight;
        second += weight * tau * tau;
        above += weight * 0.5 * erfc((estimate.high - mean[1] + mean[0]) / sqrt(v / 2) / sqrt(2));
    }
    ck_assert_double_eq_tol(estimate.value, mean[1] - mean[0], 1e-9);
    ck_assert_double_eq_tol(above / total, 0.025, 0.003);
    ck_assert_double_eq_tol(sqrt(fit.of[0].mean_square * total / second), 1, 0.06);
    ck_assert(fit.of[0].low < fit.of[0].median && fit.of[0].median < fit.of[0].high);
    cw_components_free(&fit);
}
END_TEST

/* 200 tables at each scatter: intervals hold the true difference, 0, and none is narrower than the
 * noise that is stated. The limits are three standard errors of the count below 93 of 100. */
START_TEST(intervals_hold_whatever_the_scatter) {
    struct cw_components_data data = groups();
    static const double scatters[] = {0, 1, 3, 10};
    for (size_t s = 0; s < 4; s++) {
        int held = 0;
        seed = 100 + s;
        for (int k = 0; k < 200; k++) {
            struct cw_components fit;
            struct cw_estimate estimate;
            draw(scatters[s]);
            ck_assert_int_eq(cw_components_fit(&data, &fit, NULL), CW_OK);
            ck_assert_int_eq(cw_components_contrast(&fit, contrast, &estimate, NULL, NULL, NULL),
                             CW_OK);
            held += estimate.low < 0 && estimate.high > 0;
            ck_assert_double_gt(estimate.high - estimate.low, 2 * 1.5 * sqrt(0.5));
            cw_components_free(&fit);
        }
        ck_assert_msg(held > 200 * 0.93 - 3 * sqrt(200 * 0.93 * 0.07), "scatter %g: %d of 200",
                      scatters[s], held);
    }
}
END_TEST

/* Thirteen trials of a vaccine: log risk ratios and variances from the published counts (Colditz et
 * al. 1994; the dat.bcg data set of metafor). With the scatter between trials that metafor 3.8-1
 * finds by REML, tau2 = 0.3132433, its mean is -0.71453234 with an error of 0.17978152 (computed by
 * it; 1e-7). */
static double bcg[13] = {-0.88931133392021, -1.5853886572014,  -1.3480731482997,  -1.4415511900213,
                         -0.2175473222113,  -0.78611558581886, -1.6208982235984,  0.011952333523841,
                         -0.46941764873815, -1.3713448034728,  -0.33935882833839, 0.44591340057138,
                         -0.01731394821688};
static const double bcg_variance[13] = {
    0.32558476500396,   0.19458112139814, 0.41536796536797,   0.020010031902248, 0.051210172169631,
    0.0069056184559088, 0.22301724757232, 0.0039615792978177, 0.056434210463249, 0.073024793613029,
    0.01241221397156,   0.53250584520015, 0.071404659683986};

START_TEST(trials_of_a_vaccine) {
    double ones[13], v[13 * 13] = {0}, own[13 * 13] = {0};
    const double one = 1, tau2 = 0.31324325814;
    struct cw_components fit;
    struct cw_estimate mean;
    for (size_t i = 0; i < 13; i++) {
        ones[i] = 1;
        v[i * 13 + i] = bcg_variance[i] + tau2;
        own[i * 13 + i] = 1;
    }
    struct cw_components_data data = {.n = 13, .p = 1, .value = bcg, .design = ones, .fixed = v};
    ck_assert_int_eq(cw_components_fit(&data, &fit, NULL), CW_OK);
    ck_assert_int_eq(cw_components_contrast(&fit, &one, &mean, NULL, NULL, NULL), CW_OK);
    ck_assert_double_eq_tol(mean.value, -0.71453234216, 1e-7);
    ck_assert_double_eq_tol(mean.standard_error, 0.17978151611, 2e-5); /* a t of 1e6 degrees */
    cw_components_free(&fit);
    /* Left to be found, the scatter is near that of REML, well inside the 95 % interval that
     * metafor gives by the Q-profile (tau2 from 0.11971836 to 1.11147908), and its own is much the
     * same. */
    for (size_t i = 0; i < 13; i++) v[i * 13 + i] = bcg_variance[i];
    data.n_components = 1;
    data.component[0] = (struct cw_component){own, CW_COMPONENT_SCATTER, 0.2, 0};
    ck_assert_int_eq(cw_components_fit(&data, &fit, NULL), CW_OK);
    ck_assert_double_eq_tol(fit.of[0].median / sqrt(tau2), 1, 0.15);
    ck_assert_double_eq_tol(fit.of[0].low / sqrt(0.11971836), 1, 0.25);
    ck_assert_double_eq_tol(fit.of[0].high / sqrt(1.11147908), 1, 0.25);
    cw_components_free(&fit);
}
END_TEST

START_TEST(an_estimate_is_widened) {
    struct cw_components_data data = groups();
    struct cw_components fit;
    struct cw_estimate estimate = cw_estimate_make(10, 0.5, cw_t_quantile(0.975, INFINITY));
    seed = 5;
    draw(3);
    ck_assert_int_eq(cw_components_fit(&data, &fit, NULL), CW_OK);
    struct cw_estimate same = estimate;
    ck_assert_int_eq(cw_components_widen(&fit, 1, 0, &same, NULL), CW_OK);
    ck_assert_double_eq_tol(same.low, estimate.low, 1e-6);
    ck_assert_int_eq(cw_components_widen(&fit, 1, 1, &estimate, NULL), CW_OK);
    double half = (estimate.high - estimate.low) / 2;
    ck_assert_double_gt(half, 1.96 * hypot(0.5, fit.of[1].median));
    ck_assert_double_lt(half, 2 * 1.96 * hypot(0.5, sqrt(fit.of[1].mean_square)));
    cw_components_free(&fit);
}
END_TEST

/* What y say of the one z that errors by' z come from: against z taken as one more coefficient,
 * with an observation of its own, 0 +- 1, which is the same by the theory of best linear prediction
 * (Robinson 1991, Statist. Sci. 6:15). */
START_TEST(what_all_have_in_common_is_predicted) {
    struct cw_components_data data = groups(), whole;
    struct cw_components fit;
    struct cw_estimate estimate;
    static const double by[N] = {-2, -1.5, -0.9, -0.2, 0.3, 0.8, 1.4, 2.1};
    enum { N1 = N + 1, P1 = P + 1 };
    double fixed[N * N], more[N1 * P1] = {0}, cov[N1 * N1] = {0}, y[N1] = {0}, z, sd;
    seed = 11;
    draw(0);
    for (size_t i = 0; i < N; i++) {
        value[i] += 1.3 * by[i];
        y[i] = value[i];
        more[i * P1] = design[i * P];
        more[i * P1 + 1] = design[i * P + 1];
        more[i * P1 + P] = by[i];
        for (size_t j = 0; j < N; j++) {
            fixed[i * N + j] = noise[i * N + j] + by[i] * by[j];
            cov[i * N1 + j] = noise[i * N + j];
        }
    }
    more[N * P1 + P] = 1; /* z = 0 +- 1 */
    cov[N * N1 + N] = 1;
    data.fixed = fixed;
    data.n_components = 0;
    ck_assert_int_eq(cw_components_predict(&data, NULL, by, &z, &sd, NULL), CW_OK);
    whole = (struct cw_components_data){.n = N1, .p = P1, .value = y, .design = more, .fixed = cov};
    ck_assert_int_eq(cw_components_fit(&whole, &fit, NULL), CW_OK);
    const double asked[P1] = {0, 0, 1};
    ck_assert_int_eq(cw_components_contrast(&fit, asked, &estimate, NULL, NULL, NULL), CW_OK);
    ck_assert_double_eq_tol(z, estimate.value, 1e-9);
    ck_assert_double_eq_tol(sd, estimate.standard_error, 1e-4);
    ck_assert_double_lt(sd, 0.5); /* eight values tell it */
    ck_assert_double_eq_tol(z, 1.3, 3 * sd);
    cw_components_free(&fit);
}
END_TEST

START_TEST(what_cannot_be_solved_says_so) {
    struct cw_components_data data = groups();
    struct cw_components fit;
    struct cw_error error;
    seed = 9;
    draw(1);
    for (size_t i = 0; i < N; i++) design[i * P + 1] = design[i * P];
    ck_assert_int_eq(cw_components_fit(&data, &fit, &error), CW_NOT_IDENTIFIABLE);
    cw_components_free(&fit);
    data.n = 1;
    ck_assert_int_eq(cw_components_fit(&data, &fit, &error), CW_E_ARGUMENT);
    cw_components_free(&fit);
    data = groups();
    value[3] = NAN;
    ck_assert_int_eq(cw_components_fit(&data, &fit, &error), CW_E_NUMERIC);
    cw_components_free(&fit);
}
END_TEST

/* Values that have a coefficient of their own tell nothing of the others, and come out at what they
 * are less what the others' residuals make expected of them: c' V^-1 (y - X b), the best linear
 * predictor (Goldberger 1962, J. Am. Stat. Assoc. 57:369), with the variance
 * d - c' (V^-1 - V^-1 X (X'V^-1 X)^-1 X'V^-1) c. Here V = 4 I, so V^-1 takes a quarter, and X b the
 * groups' means. */
START_TEST(what_follows_is_the_best_predictor) {
    enum { M = N + 1, Q = P + 1 };
    struct cw_components_data data = groups();
    struct cw_components fit, follow;
    struct cw_estimate estimate, before;
    double known[N * N] = {0}, large[M * M] = {0}, larger_design[M * Q] = {0}, larger_value[M];
    double df, p, predicted = 7.5, variance = 3, mean[2] = {0, 0}, with[2] = {0, 0};
    seed = 5;
    draw(1);
    for (size_t i = 0; i < N; i++) {
        known[i * N + i] = large[i * M + i] = 4;
        large[i * M + N] = large[N * M + i] = 0.3 + 0.1 * (double)i;
        larger_value[i] = value[i];
        for (size_t k = 0; k < P; k++) larger_design[i * Q + k] = design[i * P + k];
        mean[design[i * P + 1] > 0] += value[i] / 4;
        with[design[i * P + 1] > 0] += large[N * M + i] / 4;
    }
    larger_value[N] = 7.5;
    larger_design[N * Q + P] = 1;
    large[N * M + N] = 3;
    for (size_t i = 0; i < N; i++) {
        int group = design[i * P + 1] > 0;
        double c = large[N * M + i];
        predicted -= c / 4 * (value[i] - mean[group]);
        variance -= c / 4 * (c - with[group]);
    }
    data.fixed = known;
    data.n_components = 0;
    ck_assert_int_eq(cw_components_fit(&data, &fit, NULL), CW_OK);
    struct cw_components_data larger = data;
    larger.n = M;
    larger.p = Q;
    larger.value = larger_value;
    larger.design = larger_design;
    larger.fixed = large;
    ck_assert_int_eq(cw_components_follow(&fit, &larger, &follow, NULL), CW_OK);
    const double of_new[Q] = {0, 0, 1}, of_old[Q] = {-1, 1, 0};
    ck_assert_int_eq(cw_components_contrast(&follow, of_new, &estimate, &df, &p, NULL), CW_OK);
    ck_assert_double_eq_tol(estimate.value, predicted, 1e-9);
    ck_assert_double_eq_tol(estimate.standard_error, sqrt(variance), 1e-5);
    ck_assert_int_eq(cw_components_contrast(&fit, contrast, &before, &df, &p, NULL), CW_OK);
    ck_assert_int_eq(cw_components_contrast(&follow, of_old, &estimate, &df, &p, NULL), CW_OK);
    ck_assert_double_eq_tol(estimate.value, before.value, 1e-9);
    ck_assert_double_eq_tol(estimate.high, before.high, 1e-6);
    cw_components_free(&fit);
    cw_components_free(&follow);
}
END_TEST

int main(void) {
    Suite *suite = suite_create("stats/components");
    TCase *tests = tcase_create("components");
    tcase_set_timeout(tests, 240);
    tcase_add_test(tests, nothing_unknown_is_least_squares);
    tcase_add_test(tests, what_follows_is_the_best_predictor);
    tcase_add_test(tests, a_stated_size_makes_students_t);
    tcase_add_test(tests, the_scatter_is_integrated_out);
    tcase_add_test(tests, trials_of_a_vaccine);
    tcase_add_test(tests, an_estimate_is_widened);
    tcase_add_test(tests, what_all_have_in_common_is_predicted);
    tcase_add_test(tests, what_cannot_be_solved_says_so);
    /* What their calls reach in memory the others reach too: not run again under sanitizers. */
    TCase *numbers = tcase_create("numbers");
    tcase_set_tags(numbers, "numbers");
    tcase_set_timeout(numbers, 240);
    tcase_add_test(numbers, intervals_hold_whatever_the_scatter);
    suite_add_tcase(suite, tests);
    suite_add_tcase(suite, numbers);
    SRunner *runner = srunner_create(suite);
    srunner_run_all(runner, CK_NORMAL);
    int failed = srunner_ntests_failed(runner);
    srunner_free(runner);
    return failed ? EXIT_FAILURE : EXIT_SUCCESS;
}
