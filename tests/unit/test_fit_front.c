/* Roads that are eliminated front by front, against the same as a whole. */
#include <check.h>
#include <math.h>
#include <stdlib.h>

#include "five_runs.h"

/* Any noise, from next to none to the most that the search allows, and any lag: in fronts the same
 * comes out as of roads as a whole. */
START_TEST(fronts_or_whole) {
    struct cw_joint joint;
    struct cw_error error;
    unsigned random = 17;
    five_runs_make(&joint, 0);
    for (int k = 0; k < 40; k++) {
        struct cw_noise noise = five_runs_noise;
        double lag_s[RECORDINGS], part[CW_NOISE_PARAMETERS + RECORDINGS], value[CUTS];
        struct cw_information information[CUTS];
        for (size_t i = 0; i < CW_NOISE_PARAMETERS + RECORDINGS; i++) {
            random = 1664525 * random + 1013904223;
            part[i] = (double)(random >> 8) / (1 << 24);
        }
        for (enum cw_noise_parameter i = 0; i < CW_NOISE_PARAMETERS; i++)
            if (i != CW_NOISE_MAP_SD && i != CW_NOISE_MAP_LENGTH)
                *cw_noise_number(&noise, i) *= exp(6 * (part[i] - 0.5));
        for (size_t r = 0; r < RECORDINGS; r++)
            lag_s[r] = k % 4 == 0 ? 0 : 7 * part[CW_NOISE_PARAMETERS + r] - 2;
        if (k % 8 == 1) lag_s[0] *= 1e-3;
        cw_joint_set_lags(&joint, lag_s);
        for (int cut = 0; cut < CUTS; cut++) {
            ck_assert_int_eq(cw_joint_cut(&joint, five_runs_coefficients[cut], &error), CW_OK);
            ck_assert_int_eq(cw_information_alloc(TYRES, RUNS, &information[cut], &error), CW_OK);
            enum cw_status status = cw_joint_evaluate(&joint, NULL, RUNS, &noise, &value[cut],
                                                      &information[cut], NULL, &error);
            ck_assert_msg(status == CW_OK, "%d, cut %d: %s", k, cut, error.message);
        }
        size_t m = TYRES + RUNS;
        for (int cut = 1; cut < CUTS; cut++) {
            const double *here = information[cut].matrix, *whole = information[0].matrix;
            ck_assert_double_eq_tol(value[cut], value[0], 1e-8 * fabs(value[0]));
            for (size_t i = 0; i < m; i++)
                for (size_t j = 0; j < m; j++)
                    ck_assert_msg(fabs(here[i * m + j] - whole[i * m + j]) <=
                                      1e-8 * sqrt(whole[i * m + i] * whole[j * m + j]),
                                  "%d, cut %d: %.12g, whole %.12g", k, cut, here[i * m + j],
                                  whole[i * m + j]);
        }
        for (int cut = 0; cut < CUTS; cut++) cw_information_free(&information[cut]);
    }
    cw_joint_free(&joint);
}
END_TEST

int main(void) {
    Suite *suite = suite_create("fit/front");
    TCase *tests = tcase_create("fronts");
    tcase_set_timeout(tests, 60);
    tcase_add_test(tests, fronts_or_whole);
    suite_add_tcase(suite, tests);
    SRunner *runner = srunner_create(suite);
    srunner_run_all(runner, CK_ENV);
    int failed = srunner_ntests_failed(runner);
    srunner_free(runner);
    return failed ? EXIT_FAILURE : EXIT_SUCCESS;
}
