#include <check.h>
#include <math.h>
#include <stdlib.h>

#include "fit/run_data.h"

enum { N = 5 };
static const double time_s[N] = {1000, 1001, 1004.5, 1005.7, 1015};

static double s_at(double t) {
    return 7 + 4 * t + 0.35 * t * t;
}
static double v_at(double t) {
    return 4 + 0.7 * t;
}

/* Between samples far apart the motion goes by the cubic that keeps both ends, which for even
 * acceleration is the motion itself; nothing was recorded there. */
START_TEST(points_between) {
    double v[N], s[N], seen[N] = {1, 2, 3, 4, 5}, height[N] = {9, NAN, 7, 6, 5}, none[N];
    struct cw_run_data data;
    struct cw_error error;
    for (size_t i = 0; i < N; i++) {
        v[i] = v_at(time_s[i] - 1000);
        s[i] = s_at(time_s[i] - 1000);
        none[i] = NAN;
    }
    ck_assert_int_eq(cw_run_data_make(N, time_s, v, s, seen, none, height, &data, &error), CW_OK);
    /* steps: 1; 3.5 in four; 1.2 stays; 9.3 in ten */
    ck_assert_uint_eq(data.n, 1 + 1 + 4 + 1 + 10);
    size_t sample = 0;
    for (size_t i = 0; i < data.n; i++) {
        double t = data.time_s[i];
        if (i) ck_assert_double_le(t - data.time_s[i - 1], 1.25);
        ck_assert_double_eq_tol(data.s_m[i], s_at(t), 1e-10);
        ck_assert_double_eq_tol(data.speed_ms[i], v_at(t), 1e-10);
        ck_assert(isnan(data.position_seen_m[i]));
        if (fabs(t - (time_s[sample] - 1000)) < 1e-9) {
            ck_assert_double_eq(data.speed_seen_ms[i], seen[sample]);
            if (sample == 1)
                ck_assert(isnan(data.height_seen_m[i]));
            else
                ck_assert_double_eq(data.height_seen_m[i], height[sample]);
            sample++;
        } else {
            ck_assert(isnan(data.speed_seen_ms[i]) && isnan(data.height_seen_m[i]));
        }
    }
    ck_assert_uint_eq(sample, N);
    cw_run_data_free(&data);
    cw_run_data_free(&data); /* may be called again */
}
END_TEST

START_TEST(what_cannot_be) {
    double t[3] = {0, 1, 2}, v[3] = {3, 4, 5}, s[3] = {0, 3.5, 8}, seen[3] = {3, 4, 5};
    struct cw_run_data data;
    struct cw_error error;
#define MAKE(n) cw_run_data_make(n, t, v, s, seen, seen, seen, &data, &error)
    ck_assert_int_eq(MAKE(1), CW_E_ARGUMENT);
    t[2] = 1;
    ck_assert_int_eq(MAKE(3), CW_E_ARGUMENT);
    t[2] = 5000;
    ck_assert_int_eq(MAKE(3), CW_E_ARGUMENT);
    t[2] = 2;
    /* the first sample too must have a known motion; it once was not looked at */
    for (size_t i = 0; i < 3; i++) {
        double kept = v[i];
        v[i] = NAN;
        ck_assert_int_eq(MAKE(3), CW_E_ARGUMENT);
        v[i] = kept;
        kept = s[i];
        s[i] = INFINITY;
        ck_assert_int_eq(MAKE(3), CW_E_ARGUMENT);
        s[i] = kept;
    }
    ck_assert_int_eq(MAKE(3), CW_OK);
    cw_run_data_free(&data);
}
END_TEST

int main(void) {
    Suite *suite = suite_create("fit/run_data");
    TCase *tests = tcase_create("run_data");
    tcase_add_test(tests, points_between);
    tcase_add_test(tests, what_cannot_be);
    suite_add_tcase(suite, tests);
    SRunner *runner = srunner_create(suite);
    srunner_run_all(runner, CK_NORMAL);
    int failed = srunner_ntests_failed(runner);
    srunner_free(runner);
    return failed ? EXIT_FAILURE : EXIT_SUCCESS;
}
