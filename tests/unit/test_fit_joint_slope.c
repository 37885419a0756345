/* How the joint likelihood answers to noise and lags, against its difference quotients. */
#include <check.h>
#include <math.h>
#include <stdlib.h>

#include "five_runs.h"

/* The likelihood's slope against its difference quotients, of all runs and of some. */
START_TEST(slope_by_the_noise) {
    static const size_t some[] = {0, 3, 4};
    struct cw_joint joint;
    struct cw_error error;
    five_runs_make(&joint, _i);
    for (int part = 0; part < 2; part++) {
        const size_t *subset = part ? some : NULL, n = part ? 3 : RUNS;
        double here, there, slope[CW_NOISE_PARAMETERS + RECORDINGS], value[2];
        ck_assert_int_eq(cw_joint_slope(&joint, subset, n, &five_runs_noise, &here, slope, &error),
                         CW_OK);
        ck_assert_int_eq(
            cw_joint_evaluate(&joint, subset, n, &five_runs_noise, &there, NULL, NULL, &error),
            CW_OK);
        ck_assert_double_eq_tol(here, there, 1e-9 * fabs(here));
        for (enum cw_noise_parameter k = 0; k < CW_NOISE_PARAMETERS; k++) {
            const double step = 1e-3;
            for (int up = 0; up < 2; up++) {
                struct cw_noise moved =
                    cw_noise_moved(&five_runs_noise, k, expm1(up ? step : -step));
                ck_assert_int_eq(
                    cw_joint_evaluate(&joint, subset, n, &moved, &value[up], NULL, NULL, &error),
                    CW_OK);
            }
            double want = (value[1] - value[0]) / (2 * step);
            ck_assert_msg(fabs(slope[k] - want) <= 1e-4 * (1 + fabs(want)),
                          "by number %d: %.9g, differences %.9g", k, slope[k], want);
        }
    }
    cw_joint_free(&joint);
}
END_TEST

/* By the devices' lags too, above 0 and below. */
START_TEST(slope_by_the_lags) {
    struct cw_joint joint;
    struct cw_error error;
    five_runs_make(&joint, _i);
    for (int k = 0; k < 4; k++) {
        const double lag_s[RECORDINGS] = {0.7 + 0.4 * k, -0.3 - 0.35 * k}, step = 1e-3;
        double here, slope[CW_NOISE_PARAMETERS + RECORDINGS], value[2];
        cw_joint_set_lags(&joint, lag_s);
        ck_assert_int_eq(cw_joint_slope(&joint, NULL, RUNS, &five_runs_noise, &here, slope, &error),
                         CW_OK);
        for (size_t d = 0; d < RECORDINGS; d++) {
            for (int up = 0; up < 2; up++) {
                double moved[RECORDINGS] = {lag_s[0], lag_s[1]};
                moved[d] += up ? step : -step;
                cw_joint_set_lags(&joint, moved);
                ck_assert_int_eq(cw_joint_evaluate(&joint, NULL, RUNS, &five_runs_noise, &value[up],
                                                   NULL, NULL, &error),
                                 CW_OK);
            }
            double want = (value[1] - value[0]) / (2 * step), got = slope[CW_NOISE_PARAMETERS + d];
            /* It is a sum of hundreds either way, which passes 0 among these lags. */
            ck_assert_msg(fabs(got - want) <= 1e-4 * (50 + fabs(want)),
                          "by lag %g s: %.9g, differences %.9g", lag_s[d], got, want);
        }
    }
    cw_joint_free(&joint);
}
END_TEST

int main(void) {
    Suite *suite = suite_create("fit/joint_slope");
    TCase *tests = tcase_create("slopes");
    tcase_set_timeout(tests, 60);
    tcase_add_loop_test(tests, slope_by_the_noise, 0, CUTS);
    tcase_add_loop_test(tests, slope_by_the_lags, 0, CUTS);
    suite_add_tcase(suite, tests);
    SRunner *runner = srunner_create(suite);
    srunner_run_all(runner, CK_ENV);
    int failed = srunner_ntests_failed(runner);
    srunner_free(runner);
    return failed ? EXIT_FAILURE : EXIT_SUCCESS;
}
