/* Generalised least squares with first-order autocorrelated errors (AR(1)), made of the whitener's
 * own pieces, and the search for the autocorrelation.
 *
 * The values are those of gls with corAR1 in nlme 3.1-162 (Pinheiro & Bates, Mixed-Effects
 * Models in S and S-PLUS, 2000, section 5.3) on data constructed for this, computed there and for
 * a given phi also from the closed form. Tolerances as given with them: 1e-9 for a given phi, 1e-6
 * where phi was searched for. */
#include <check.h>
#include <math.h>
#include <stdlib.h>

#include "fit/markov.h"
#include "fit/noise_search.h"
#include "fit/reml.h"
#include "fit/whiten.h"

/* A straight line with AR(1) errors as a run of heights alone: at an even second each, the drift is
 * the errors (phi = exp(-1 s/time)), the offset the constant, and the place at the start the slope,
 * since it moves each height by the road's slope there, which is set to x. */
enum { MOST = 24 };
struct series {
    size_t n;
    double first_x;
    const double *y;
};

static const double y_a[16] = {2.81, 3.42, 3.7,  3.95, 4.28, 4.59, 5.32, 6.07,
                               6.79, 7.33, 7.65, 7.88, 8.2,  8.76, 9.52, 10.18};
static const double y_b[24] = {3.47, 3.28, 4.13, 3.61, 3.77, 4.33, 3.54, 3.97,
                               4.45, 4.78, 5.26, 5.58, 5.7,  6.56, 6.13, 6.41,
                               7.17, 7.34, 7.52, 7.89, 8.15, 8.28, 8.76, 9.01};
static const struct series series_a = {16, 1, y_a}, series_b = {24, 0, y_b};

struct answer {
    double b0, b1, se0, se1, sigma, log_likelihood;
};

static struct answer generalised(const struct series *series, double phi, int restricted) {
    size_t n = series->n;
    double time[MOST], zero[MOST] = {0}, none[MOST], x[MOST], y[MOST];
    struct cw_nodes nodes[MOST];
    for (size_t i = 0; i < n; i++) {
        time[i] = (double)i;
        none[i] = NAN;
        x[i] = series->first_x + time[i];
        y[i] = series->y[i];
        nodes[i] = (struct cw_nodes){0};
    }
    const struct cw_run_data data = {.n = n,
                                     .time_s = time,
                                     .speed_ms = zero,
                                     .s_m = zero,
                                     .speed_seen_ms = none,
                                     .position_seen_m = none,
                                     .height_seen_m = y,
                                     .break_sd_m = {zero, zero},
                                     .break_m = {zero, zero}};
    const struct cw_linear linear = {.n = n,
                                     .data = &data,
                                     .gain = zero,
                                     .residual = zero,
                                     .slope = zero,
                                     .loss_by_speed = zero,
                                     .loss_by_wind = zero,
                                     .roll_m = zero,
                                     .drag_m = zero,
                                     .wind_m = zero,
                                     .bend_m = zero,
                                     .node = nodes,
                                     .felt_node = nodes,
                                     .felt_slope = x,
                                     .start_slope = x[0],
                                     .shown_height_m = zero};
    const struct cw_noise noise = {.gust_time_s = 20,
                                   .drift_sd_m = 1,
                                   .drift_time_s = -1 / log(phi),
                                   .wander_sd_m = 1,
                                   .wander_time_s = 60};
    enum { NODES = 4, WIDTH = NODES + CW_TAIL };
    double product[WIDTH * WIDTH];
    struct cw_normal normal = {.n_nodes = NODES, .end = n, .product = product};
    struct cw_whitener *whitener = cw_whitener_alloc(NODES);
    ck_assert_int_eq(cw_whiten(whitener, &linear, &noise, &normal, NULL), CW_OK);
    cw_whitener_free(whitener);
    ck_assert_uint_eq(normal.n_observed, n);
#define AT(i, j) product[(NODES + CW_TAIL_##i) * WIDTH + NODES + CW_TAIL_##j]
    double a00 = AT(OFFSET, OFFSET), a01 = AT(SHIFT, OFFSET), a11 = AT(SHIFT, SHIFT);
    double r0 = -AT(OFFSET, DATA), r1 = -AT(SHIFT, DATA), rr = AT(DATA, DATA);
    double det = a00 * a11 - a01 * a01;
    struct answer answer = {.b0 = (a11 * r0 - a01 * r1) / det, .b1 = (a00 * r1 - a01 * r0) / det};
    double squares = rr - answer.b0 * r0 - answer.b1 * r1, m = (double)n, df = m - 2;
    double by = restricted ? df : m;
    answer.sigma = sqrt(squares / by);
    answer.se0 = sqrt(squares / df * a11 / det); /* as nlme scales them, by n - p */
    answer.se1 = sqrt(squares / df * a00 / det);
    answer.log_likelihood = -0.5 * (by * (log(2 * acos(-1) * squares / by) + 1) + normal.log_det +
                                    (restricted ? log(det) : 0));
    return answer;
}

static void check_answer(const struct series *series, double phi, int restricted,
                         const struct answer *wanted, double tolerance) {
    struct answer got = generalised(series, phi, restricted);
    ck_assert_double_eq_tol(got.b0, wanted->b0, tolerance * 3);
    ck_assert_double_eq_tol(got.b1, wanted->b1, tolerance);
    ck_assert_double_eq_tol(got.se0, wanted->se0, tolerance * fmax(1, wanted->se0));
    ck_assert_double_eq_tol(got.se1, wanted->se1, tolerance);
    ck_assert_double_eq_tol(got.sigma, wanted->sigma, tolerance * fmax(1, wanted->sigma));
    ck_assert_double_eq_tol(got.log_likelihood, wanted->log_likelihood, tolerance * 10);
}

START_TEST(given_autocorrelation) {
    static const struct {
        const struct series *series;
        double phi;
        struct answer wanted;
    } row[] = {
        {&series_a,
         0.3,
         {2.1459367251948, 0.4874371549621, 0.1499540248749, 0.0153186307442, 0.2240836179116,
          -2.0033224599714}},
        {&series_a,
         0.6,
         {2.1593285980438, 0.4885929203540, 0.2040427657021, 0.0202045475371, 0.2401283062067,
          0.1998222609876}},
        {&series_a,
         0.9,
         {2.2214777167111, 0.4907604070305, 0.4658864911991, 0.0378213313552, 0.4510688777819,
          0.9665302314003}},
        {&series_b,
         0.2,
         {2.832891676059, 0.258399836509, 0.174687944040, 0.012942293572, 0.369602009637,
          -13.598498013526}},
        {&series_b,
         0.5,
         {2.890757116899, 0.255552892845, 0.254629142362, 0.018549878165, 0.409290076301,
          -12.428721829617}},
        {&series_b,
         0.8,
         {3.044127155172, 0.248907421289, 0.536516641460, 0.036537063592, 0.629079161116,
          -12.750884048315}},
    };
    for (size_t i = 0; i < sizeof row / sizeof *row; i++)
        check_answer(row[i].series, row[i].phi, 1, &row[i].wanted, 1e-9);
}
END_TEST

struct autocorrelation {
    const struct series *series;
    int restricted;
};

/* Of the logarithm of the correlation time, as the fit searches for it. */
static enum cw_status minus_2_log(const double *log_time, void *state, double *value, double *by) {
    (void)by;
    const struct autocorrelation *a = state;
    *value = -2 * generalised(a->series, exp(-exp(-log_time[0])), a->restricted).log_likelihood;
    return CW_OK;
}

/* The optimum is as nlme has it, and the search comes to within its tolerance of it. */
START_TEST(autocorrelation_found) {
    static const struct {
        const struct series *series;
        int restricted;
        double phi;
        struct answer wanted;
    } row[] = {
        {&series_a,
         0,
         0.65776454774,
         {2.16435115020, 0.48891579924, 0.22522304655, 0.02202941993, 0.23694856926,
          4.58647530662}},
        {&series_b,
         1,
         0.56419136788,
         {2.91069562357, 0.25460984152, 0.28640535673, 0.02072636752, 0.43220664771,
          -12.39409925202}},
        {&series_b,
         0,
         0.40423820659,
         {2.86729334252, 0.25668837608, 0.21964031865, 0.01611724768, 0.37007406054,
          -8.14545043004}},
    };
    for (size_t i = 0; i < sizeof row / sizeof *row; i++) {
        struct autocorrelation of = {row[i].series, row[i].restricted};
        const struct cw_reml_prior prior = {0, 1e4, log(0.05), log(1e4), 0};
        struct cw_reml reml = {.parameter = {log(20)}};
        struct cw_error error;
        check_answer(row[i].series, row[i].phi, row[i].restricted, &row[i].wanted, 1e-6);
        ck_assert_int_eq(cw_reml_minimise(minus_2_log, &of, 1, &prior, 1e-4, 1, &reml, &error),
                         CW_OK);
        ck_assert_double_eq_tol(reml.minimum, -2 * row[i].wanted.log_likelihood, 1e-3);
        ck_assert_double_eq_tol(exp(-exp(-reml.parameter[0])), row[i].phi, 0.01);
    }
}
END_TEST

/* The trap: here the restricted likelihood rises all the way to phi = 1, and nlme's search ends at
 * 0.99998777 with a standard error of 41 on the constant. Bounds and priors keep the fit from it.
 */
START_TEST(autocorrelation_that_runs_away) {
    const struct answer runaway = {2.31864545536, 0.49133333332,  41.40059257367,
                                   0.05285737906, 41.40005269334, 0.98605348745};
    struct answer got = generalised(&series_a, 0.99998777334, 1);
    /* phi is given to 1e-11, which at 1 - phi = 1.2e-5 is 1e-6 of what sigma is made of */
    ck_assert_double_eq_tol(got.b0, runaway.b0, 1e-6);
    ck_assert_double_eq_tol(got.b1, runaway.b1, 1e-6);
    ck_assert_double_eq_tol(got.se0 / runaway.se0, 1, 1e-5);
    ck_assert_double_eq_tol(got.se1, runaway.se1, 1e-6);
    ck_assert_double_eq_tol(got.sigma / runaway.sigma, 1, 1e-5);
    ck_assert_double_eq_tol(got.log_likelihood, runaway.log_likelihood, 1e-6);
    double before = -INFINITY;
    for (double time = 3; time < 1e5; time *= 2) {
        double here = generalised(&series_a, exp(-1 / time), 1).log_likelihood;
        ck_assert_double_gt(here, before);
        before = here;
    }
    struct autocorrelation of = {&series_a, 1};
    struct cw_reml_prior prior = {0, 1e4, log(0.05), log(1e4), 0};
    struct cw_reml reml = {.parameter = {log(20)}};
    struct cw_error error;
    ck_assert_int_eq(cw_reml_minimise(minus_2_log, &of, 1, &prior, 1e-6, 1, &reml, &error), CW_OK);
    ck_assert_double_gt(exp(reml.parameter[0]), 150); /* it runs as far as it is let */

    struct cw_reml_prior priors[CW_NOISE_PARAMETERS];
    const struct cw_outing barometric = {.elevation = CW_ELEVATION_BAROMETRIC,
                                         .elevation_uncertainty_m = NAN};
    cw_noise_priors(&barometric, priors);
    prior = priors[CW_NOISE_GUST_TIME];
    reml.parameter[0] = prior.mean;
    ck_assert_int_eq(cw_reml_minimise(minus_2_log, &of, 1, &prior, 1e-6, 1, &reml, &error), CW_OK);
    ck_assert_double_gt(reml.parameter[0], prior.mean - 2 * prior.sd);
    ck_assert_double_lt(reml.parameter[0], prior.mean + 1 * prior.sd);
    ck_assert_double_le(reml.covariance[0][0], prior.sd * prior.sd * (1 + 1e-9));
    got = generalised(&series_a, exp(-exp(-reml.parameter[0])), 1);
    ck_assert_double_lt(got.se0, 1);
}
END_TEST

/* By how much a plain mean's variance exceeds that of independent errors: (1/n) sum of all
 * correlations, here made of the process's own steps. */
START_TEST(variance_of_a_mean) {
    static const struct {
        double phi;
        size_t n;
        double inflation;
    } row[] = {{0.3, 20, 1.79591836735}, {0.3, 60, 1.83673469388}, {0.6, 20, 3.62501371059},
               {0.6, 60, 3.875},         {0.9, 20, 11.0941898913}, {0.9, 60, 16.0053910309}};
    for (size_t k = 0; k < sizeof row / sizeof *row; k++) {
        double time[60], zero[60] = {0}, keep[60], sum = 0, start[CW_STATES][CW_STATES];
        const struct cw_run_data data = {.n = 60, .time_s = time, .break_sd_m = {zero, zero}};
        const struct cw_linear linear = {.n = 60,
                                         .data = &data,
                                         .gain = zero,
                                         .slope = zero,
                                         .felt_slope = zero,
                                         .loss_by_speed = zero,
                                         .loss_by_wind = zero};
        const struct cw_noise noise = {.gust_time_s = 1,
                                       .wander_time_s = 1,
                                       .drift_sd_m = 1,
                                       .drift_time_s = -1 / log(row[k].phi)};
        struct cw_markov_paces paces;
        cw_markov_paces_begin(&paces, &noise, linear.lag_s);
        for (size_t i = 0; i < 60; i++) time[i] = (double)i;
        for (size_t i = 0; i + 1 < row[k].n; i++) {
            struct cw_markov_step step;
            cw_markov_step_make(&linear, i, &paces, &step);
            keep[i] = step.transition[CW_STATE_DRIFT][CW_STATE_DRIFT];
        }
        cw_markov_start(&linear, &noise, start);
        for (size_t i = 0; i < row[k].n; i++) {
            double correlation = start[CW_STATE_DRIFT][CW_STATE_DRIFT];
            sum += correlation;
            for (size_t j = i; j + 1 < row[k].n; j++) sum += 2 * (correlation *= keep[j]);
        }
        ck_assert_double_eq_tol(sum / (double)row[k].n, row[k].inflation, 1e-10);
    }
}
END_TEST

int main(void) {
    Suite *suite = suite_create("fit/autocorrelation");
    TCase *autocorrelation = tcase_create("autocorrelation");
    tcase_add_test(autocorrelation, given_autocorrelation);
    tcase_add_test(autocorrelation, autocorrelation_found);
    tcase_add_test(autocorrelation, autocorrelation_that_runs_away);
    tcase_add_test(autocorrelation, variance_of_a_mean);
    suite_add_tcase(suite, autocorrelation);
    SRunner *runner = srunner_create(suite);
    srunner_run_all(runner, CK_NORMAL);
    int failed = srunner_ntests_failed(runner);
    srunner_free(runner);
    return failed ? EXIT_FAILURE : EXIT_SUCCESS;
}
