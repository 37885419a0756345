#include <check.h>
#include <math.h>
#include <stdlib.h>
#include <time.h>

#include "motion/smoother.h"
#include "road_outing.h"

enum { N = 3600 };

struct walk {
    double time_s[N], value[N], rate[N], acceleration[N], seen[N];
    bool restart[N];
};

/* A walk of the smoother's own model: jerk of density q, observed with white error sd. */
static struct walk *walk_make(uint64_t seed, double q, double sd, bool rate, bool irregular) {
    struct walk *w = calloc(1, sizeof *w);
    struct made_rng rng = {seed * 77777 + 3};
    double t = 0, x = 0, v = 8, a = 0;
    for (size_t i = 0; i < N; i++) {
        double dt = irregular ? 1 + floor(4 * made_uniform(&rng)) : 1.0;
        for (int k = 0; i > 0 && k < 50; k++) {
            double h = dt / 50;
            x += h * (v + 0.5 * h * a);
            v += h * a;
            a += sqrt(q * h) * made_normal(&rng);
            /* Keeps the walk from running off; small against q over some seconds. */
            a -= h * (0.02 * (v - 8) + 0.2 * a);
        }
        if (i > 0) t += dt;
        w->time_s[i] = t;
        w->value[i] = x;
        w->rate[i] = v;
        w->acceleration[i] = a;
        w->seen[i] = (rate ? v : x) + sd * made_normal(&rng);
    }
    return w;
}

static double *column(void) {
    return malloc(N * sizeof(double));
}

static struct cw_smoother_result result_make(void) {
    return (struct cw_smoother_result){
        {column(), column()}, {column(), column()}, {column(), column()}, column()};
}

static void result_free(struct cw_smoother_result *r) {
    for (int c = 0; c < 2; c++) {
        free(r->value[c]);
        free(r->rate[c]);
        free(r->acceleration[c]);
    }
    free(r->rate_sd);
}

static struct cw_smoother_track track_of(struct walk *w, bool rate) {
    return (struct cw_smoother_track){
        N,   w->time_s,          w->restart,
        1,   {w->seen, w->seen}, rate ? CW_OBSERVED_RATE : CW_OBSERVED_VALUE,
        true};
}

START_TEST(noise_is_found_and_errors_are_as_said) {
    for (int rate = 0; rate < 2; rate++)
        for (int irregular = 0; irregular < 2; irregular++) {
            double sd = rate ? 0.12 : 0.7;
            struct walk *w = walk_make(5, 0.04, sd, rate, irregular);
            struct cw_smoother_track track = track_of(w, rate);
            struct cw_smoother_noise noise;
            ck_assert_int_eq(cw_smoother_estimate(&track, 0.02, 10, &noise, NULL), CW_OK);
            ck_assert_double_eq_tol(noise.observation_sd, sd, 0.15 * sd);
            ck_assert_double_eq_tol(sqrt(noise.jerk_density), 0.2, 0.06);
            struct cw_smoother_result r = result_make();
            ck_assert_int_eq(cw_smoother_run(&track, &noise, &r, NULL), CW_OK);
            double square = 0, said = 0;
            for (size_t i = 0; i < N; i++) {
                square += (r.rate[0][i] - w->rate[i]) * (r.rate[0][i] - w->rate[i]) / N;
                said += r.rate_sd[i] * r.rate_sd[i] / N;
            }
            ck_assert_double_eq_tol(sqrt(square / said), 1.0, 0.15);
            ck_assert_double_lt(sqrt(square), rate ? sd : 0.35);
            result_free(&r);
            free(w);
        }
}
END_TEST

START_TEST(value_is_the_integral_of_rate) {
    struct walk *w = walk_make(9, 0.02, 0.1, true, false);
    struct cw_smoother_track track = track_of(w, true);
    struct cw_smoother_noise noise = {0.1, 0.02};
    struct cw_smoother_result r = result_make();
    ck_assert_int_eq(cw_smoother_run(&track, &noise, &r, NULL), CW_OK);
    double sum = 0;
    for (size_t i = 1; i < N; i++) {
        sum += 0.5 * (r.rate[0][i] + r.rate[0][i - 1]) +
               (r.acceleration[0][i - 1] - r.acceleration[0][i]) / 12;
        ck_assert_double_eq_tol(r.value[0][i] - r.value[0][0], sum, 0.02 + 1e-5 * sum);
    }
    result_free(&r);
    free(w);
}
END_TEST

START_TEST(outliers_pull_little) {
    struct walk *w = walk_make(11, 0.02, 0.5, false, false);
    struct made_rng rng = {99};
    for (size_t i = 20; i < N; i += 40) w->seen[i] += 60 * made_normal(&rng);
    struct cw_smoother_track track = track_of(w, false);
    struct cw_smoother_noise noise;
    ck_assert_int_eq(cw_smoother_estimate(&track, 0.02, 10, &noise, NULL), CW_OK);
    ck_assert_double_eq_tol(noise.observation_sd, 0.5, 0.15);
    struct cw_smoother_result r = result_make();
    ck_assert_int_eq(cw_smoother_run(&track, &noise, &r, NULL), CW_OK);
    double worst = 0;
    for (size_t i = 0; i < N; i++) worst = fmax(worst, fabs(r.rate[0][i] - w->rate[i]));
    ck_assert_double_lt(worst, 1.5);
    result_free(&r);
    free(w);
}
END_TEST

START_TEST(a_change_is_no_outlier) {
    /* Regression: speed that falls by 2.4 m/s a second after minutes of even riding was smoothed
     * over by 3 m/s. A single wrong value still pulls little. */
    struct walk *w = walk_make(9, 0.002, 0.04, true, false);
    struct cw_smoother_result r = result_make();
    struct cw_smoother_track track = track_of(w, true);
    struct cw_smoother_noise noise = {0.04, 0.002};
    for (size_t i = 2000; i < N; i++) {
        double fall = 2.4 * fmin((double)(i - 2000), 4.0);
        w->rate[i] += 12.0 - fall;
        w->seen[i] += 12.0 - fall;
    }
    for (size_t i = 0; i < 2000; i++) {
        w->rate[i] += 12.0;
        w->seen[i] += 12.0;
    }
    w->seen[1000] += 3.0;
    ck_assert_int_eq(cw_smoother_run(&track, &noise, &r, NULL), CW_OK);
    for (size_t i = 1990; i < 2020; i++) ck_assert_double_eq_tol(r.rate[0][i], w->rate[i], 0.3);
    ck_assert_double_eq_tol(r.rate[0][1000], w->rate[1000], 0.15);
    result_free(&r);
    free(w);
}
END_TEST

START_TEST(a_change_between_far_points_is_no_outlier) {
    /* Regression: of a sample each 10 s the two in which somebody brakes to a standstill were taken
     * for outliers, and the speed smoothed over for half a minute. */
    static const double seen[] = {11.9, 12.3, 12.7, 13.2, 12.9, 12.6, 8.4, 0,   0,   0,   0,
                                  3.3,  3.7,  3.6,  3.8,  3.5,  3.6,  6.6, 3.7, 3.4, 3.6, 3.5};
    enum { SEEN = sizeof seen / sizeof *seen, WRONG = 17 };
    double time_s[SEEN], column[4 * SEEN];
    bool restart[SEEN] = {false};
    for (size_t i = 0; i < SEEN; i++) time_s[i] = 10.0 * (double)i;
    struct cw_smoother_track track = {SEEN,         time_s,           restart, 1,
                                      {seen, NULL}, CW_OBSERVED_RATE, true};
    struct cw_smoother_noise noise = {0.1, 1e-4};
    struct cw_smoother_result r = {
        {column}, {column + SEEN}, {column + 2 * SEEN}, column + 3 * SEEN};
    ck_assert_int_eq(cw_smoother_run(&track, &noise, &r, NULL), CW_OK);
    for (size_t i = 0; i < SEEN; i++)
        ck_assert_double_eq_tol(column[SEEN + i], i == WRONG ? 3.6 : seen[i], 1.0);
}
END_TEST

START_TEST(holes_and_parts) {
    struct walk *w = walk_make(13, 0.02, 0.1, true, false);
    for (size_t i = 100; i < 105; i++) w->seen[i] = NAN; /* bridged */
    w->restart[500] = true;
    for (size_t i = 500; i < 503; i++) w->seen[i] = NAN; /* before a part's first */
    w->restart[600] = w->restart[650] = true;
    for (size_t i = 600; i < 650; i++) w->seen[i] = NAN; /* a part without any */
    struct cw_smoother_track track = track_of(w, true);
    struct cw_smoother_noise noise = {0.1, 0.02};
    struct cw_smoother_result r = result_make();
    ck_assert_int_eq(cw_smoother_run(&track, &noise, &r, NULL), CW_OK);
    for (size_t i = 0; i < N; i++) {
        bool missing = (i >= 500 && i < 503) || (i >= 600 && i < 650);
        ck_assert_msg(isnan(r.rate[0][i]) == missing, "sample %zu", i);
        if (!missing) ck_assert_double_eq_tol(r.rate[0][i], w->rate[i], 1.2);
    }
    ck_assert_double_gt(r.rate_sd[102], 1.3 * r.rate_sd[110]);
    result_free(&r);
    free(w);
}
END_TEST

START_TEST(two_channels_are_two_times_one) {
    struct walk *w = walk_make(17, 0.02, 0.5, false, true);
    struct cw_smoother_track one = track_of(w, false), two = one;
    two.channels = 2;
    struct cw_smoother_noise noise = {0.5, 0.02};
    struct cw_smoother_result a = result_make(), b = result_make();
    ck_assert_int_eq(cw_smoother_run(&one, &noise, &a, NULL), CW_OK);
    ck_assert_int_eq(cw_smoother_run(&two, &noise, &b, NULL), CW_OK);
    for (size_t i = 0; i < N; i++) {
        ck_assert_double_eq(b.rate[0][i], b.rate[1][i]);
        /* The limits of an outlier differ; without one the answers are the same. */
        ck_assert_double_eq_tol(a.rate[0][i], b.rate[0][i], 0.3);
    }
    result_free(&a);
    result_free(&b);
    free(w);
}
END_TEST

START_TEST(too_little_is_said) {
    struct walk *w = walk_make(19, 0.02, 0.5, false, false);
    struct cw_smoother_track track = track_of(w, false);
    track.n = 9;
    struct cw_smoother_noise noise;
    struct cw_error error;
    ck_assert_int_eq(cw_smoother_estimate(&track, 0.02, 10, &noise, &error), CW_E_DATA);
    ck_assert(error.message[0] != '\0');
    free(w);
}
END_TEST

int main(void) {
    Suite *suite = suite_create("road_smoother");
    TCase *all = tcase_create("smoother");
    tcase_set_timeout(all, 60);
    tcase_add_test(all, noise_is_found_and_errors_are_as_said);
    tcase_add_test(all, value_is_the_integral_of_rate);
    tcase_add_test(all, outliers_pull_little);
    tcase_add_test(all, a_change_is_no_outlier);
    tcase_add_test(all, a_change_between_far_points_is_no_outlier);
    tcase_add_test(all, holes_and_parts);
    tcase_add_test(all, two_channels_are_two_times_one);
    tcase_add_test(all, too_little_is_said);
    suite_add_tcase(suite, all);
    SRunner *runner = srunner_create(suite);
    srunner_run_all(runner, CK_NORMAL);
    int failed = srunner_ntests_failed(runner);
    srunner_free(runner);
    return failed ? EXIT_FAILURE : EXIT_SUCCESS;
}
