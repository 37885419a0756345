/* Runs on trial: what a change of one run does to the likelihood is what a whole evaluation has,
 * whatever was kept from trials before it; and beside the runs of its road that are asked where
 * runs are many, much the same. */
#include <check.h>
#include <math.h>
#include <stdlib.h>

#include "dense.h"
#include "fit/trial.h"

static const struct cw_noise noise = {.gust_sd_ms = 0.1,
                                      .gust_time_s = 15,
                                      .drift_sd_m = 0.2,
                                      .drift_time_s = 150,
                                      .elevation_sd_m = 0.1,
                                      .speed_sd_ms = 0.05,
                                      .wander_sd_m = 1,
                                      .wander_time_s = 60,
                                      .jitter_sd_m = 0.1,
                                      .jitter_time_s = 3,
                                      .creep_sd_ms = 0.02,
                                      .creep_time_s = 4,
                                      .position_sd_m = 0.1,
                                      .roughness_m = 0.02};

/* n runs of one road, in pieces where `coefficients` of it are fewer than it has. */
static void make(size_t n, size_t coefficients, struct cw_joint *joint) {
    static const struct cw_joint_priors priors = {
        .offset_sd_m = 5, .shift_sd_m = 20, .scale_sd = 0.005, .cda_m2 = {0.35, 0.3}};
    static const struct cw_crr_prior crr_prior = {{0.005, 0.0005}, true};
    struct cw_run_data *data = calloc(n, sizeof *data);
    struct cw_profile profile;
    struct cw_error error;
    made_profile(500, &profile);
    for (size_t i = 0; i < n; i++) {
        const struct made_run made = {true, true, true, 40, 20, 6, 11 + i};
        made_run(&made, &profile, &data[i]);
        data[i].run = i;
        data[i].recording = i;
    }
    cw_profile_free(&profile);
    ck_assert_int_eq(cw_joint_make(data, n, 1, n, 1, &priors, &crr_prior, 15, joint, &error),
                     CW_OK);
    ck_assert_int_eq(cw_joint_cut(joint, coefficients, &error), CW_OK);
    cw_joint_linearise(joint);
}

static double whole(const struct cw_joint *joint) {
    struct cw_error error;
    double value;
    ck_assert_int_eq(
        cw_joint_evaluate(joint, NULL, joint->n_runs, &noise, &value, NULL, NULL, &error), CW_OK);
    return value;
}

static double tried(struct cw_trial *trial, size_t run, bool changed) {
    struct cw_error error;
    double value;
    ck_assert_int_eq(cw_trial_likelihood(trial, run, changed, &value, &error), CW_OK);
    return value;
}

static void change(struct cw_joint *joint, size_t run, double by_m) {
    joint->data[run].break_sd_m[CW_BREAK_LOSS][12] = fabs(by_m);
    joint->data[run].break_m[CW_BREAK_LOSS][12] = by_m;
}

/* The same numbers, to the last bit: only what was worked out is kept, not how it is put together.
 */
START_TEST(a_trial_is_a_whole_evaluation) {
    static const size_t coefficients[] = {100, 12}; /* whole, and in fronts */
    for (size_t k = 0; k < 2; k++) {
        struct cw_joint joint;
        struct cw_trial trial;
        struct cw_error error;
        make(5, coefficients[k], &joint);
        ck_assert_int_eq(cw_trial_make(&joint, &noise, &trial, &error), CW_OK);
        double before = whole(&joint);
        ck_assert_double_eq(tried(&trial, 3, false), before);
        change(&joint, 3, 0.3);
        double after = whole(&joint);
        ck_assert_double_ne(after, before);
        ck_assert_double_eq(tried(&trial, 3, true), after);
        /* turned down: all is as before */
        change(&joint, 3, 0);
        ck_assert_double_eq(tried(&trial, 1, false), before);
        /* taken: the next begins with it */
        change(&joint, 1, -0.2);
        after = whole(&joint);
        ck_assert_double_eq(tried(&trial, 1, true), after);
        cw_trial_accept(&trial, 1);
        ck_assert_double_eq(tried(&trial, 4, false), after);
        change(&joint, 4, 0.1);
        ck_assert_double_eq(tried(&trial, 4, true), whole(&joint));
        cw_trial_free(&trial);
        cw_joint_free(&joint);
    }
}
END_TEST

/* Beside CW_TRIAL_MOST - 1 others of its road a change brings, to a tenth, what it brings beside
 * all: they know the road to a fraction of what the run itself errs by. */
START_TEST(many_are_not_asked) {
    enum { MANY = 3 * CW_TRIAL_MOST + 1 };
    static const size_t run[] = {0, 17, MANY - 1};
    struct cw_joint joint;
    struct cw_trial trial;
    struct cw_error error;
    make(MANY, 100, &joint);
    ck_assert_int_eq(cw_trial_make(&joint, &noise, &trial, &error), CW_OK);
    for (size_t k = 0; k < 3; k++) {
        double before = whole(&joint), tried_before = tried(&trial, run[k], false);
        change(&joint, run[k], 0.3);
        double gain = whole(&joint) - before, tried_gain = tried(&trial, run[k], true);
        tried_gain -= tried_before;
        ck_assert_double_gt(fabs(gain), 1);
        ck_assert_double_eq_tol(tried_gain / gain, 1, 0.1);
        cw_trial_accept(&trial, run[k]);
    }
    cw_trial_free(&trial);
    cw_joint_free(&joint);
}
END_TEST

int main(void) {
    Suite *suite = suite_create("fit/trial");
    TCase *tests = tcase_create("trial");
    tcase_add_test(tests, a_trial_is_a_whole_evaluation);
    tcase_add_test(tests, many_are_not_asked);
    suite_add_tcase(suite, tests);
    SRunner *runner = srunner_create(suite);
    srunner_run_all(runner, CK_ENV);
    int failed = srunner_ntests_failed(runner);
    srunner_free(runner);
    return failed ? EXIT_FAILURE : EXIT_SUCCESS;
}
