/* Heights: holes filled, the scatter about lines, and the slope along a ride, with heights that are
 * missing and gaps that nothing may reach over. */
#include <check.h>
#include <math.h>
#include <stdbool.h>

#include "motion/height.h"

enum { N = 60 };

static double time_s[N], distance_m[N], height_m[N], slope[N];
static bool gap_before[N];

/* 4 m each second, down by 6 % to sample 29, level behind it. */
static void begin(void) {
    for (size_t i = 0; i < N; i++) {
        time_s[i] = (double)i;
        distance_m[i] = 4 * (double)i;
        height_m[i] = 350 - 0.06 * fmin(distance_m[i], 4 * 29);
        gap_before[i] = false;
    }
}

START_TEST(slope_of_a_corner) {
    begin();
    cw_height_slope(N, distance_m, height_m, gap_before, 10, slope);
    for (size_t i = 0; i < N; i++)
        if (i <= 27 || i >= 31)
            ck_assert_double_eq_tol(slope[i], i <= 27 ? -0.06 : 0, 1e-12);
        else
            ck_assert(slope[i] < -0.005 && slope[i] > -0.055);
    /* Two samples on either side even where they are farther off. */
    cw_height_slope(N, distance_m, height_m, gap_before, 1, slope);
    ck_assert_double_eq_tol(slope[28], -0.06 * 0.8, 1e-12); /* the fifth as high as the fourth */
}
END_TEST

/* A height that is missing ends the line there as an end of the ride does; so does a gap. */
START_TEST(slope_beside_what_is_missing) {
    begin();
    height_m[12] = NAN;
    gap_before[40] = true;
    for (size_t i = 40; i < N; i++) height_m[i] += 25 + 0.02 * (distance_m[i] - distance_m[40]);
    cw_height_slope(N, distance_m, height_m, gap_before, 10, slope);
    for (size_t i = 0; i < N; i++) {
        if (i == 12)
            ck_assert(isnan(slope[i]));
        else if (i <= 27)
            ck_assert_double_eq_tol(slope[i], -0.06, 1e-12);
        else if (i >= 31)
            ck_assert_double_eq_tol(slope[i], i < 40 ? 0 : 0.02, 1e-12);
    }
    distance_m[50] = NAN;
    cw_height_slope(N, distance_m, height_m, gap_before, 10, slope);
    ck_assert(isnan(slope[50]));
}
END_TEST

START_TEST(slope_of_who_hardly_moves) {
    begin();
    for (size_t i = 0; i < N; i++) distance_m[i] = 0.4 * (double)i;
    cw_height_slope(N, distance_m, height_m, gap_before, 2, slope);
    for (size_t i = 0; i < N; i++) ck_assert(isnan(slope[i]));
}
END_TEST

START_TEST(holes_are_filled) {
    double filled[N];
    begin();
    height_m[5] = height_m[6] = height_m[7] = height_m[8] = NAN;                    /* of 5 s */
    height_m[15] = height_m[16] = height_m[17] = height_m[18] = height_m[19] = NAN; /* of 6 s */
    height_m[22] = NAN;
    gap_before[23] = true;
    cw_height_fill(N, time_s, height_m, gap_before, filled);
    for (size_t i = 0; i < N; i++)
        if ((i >= 15 && i <= 19) || i == 22)
            ck_assert(isnan(filled[i]));
        else
            ck_assert_double_eq_tol(filled[i], 350 - 0.06 * fmin(distance_m[i], 4 * 29), 1e-9);
}
END_TEST

/* Heights that go up and down by 0.3 m in turns about a line: of seven, four are on the other side
 * than the middle one, which is off their line by 0.3 m times 8/7. */
START_TEST(scatter) {
    double sd_m;
    begin();
    for (size_t i = 0; i < N; i++) height_m[i] = 0.35 * (double)i + (i % 2 ? 0.3 : -0.3);
    ck_assert_int_eq(cw_height_sd(N, time_s, height_m, gap_before, 0, &sd_m, NULL), CW_OK);
    ck_assert_double_eq_tol(sd_m, 1.4826 * 0.3 * 8 / 7 / sqrt(6.0 / 7), 1e-9);
    /* never less than what steps make, nor than 2 cm, and that where there are too few */
    begin();
    ck_assert_int_eq(cw_height_sd(28, time_s, height_m, gap_before, 1.5, &sd_m, NULL), CW_OK);
    ck_assert_double_eq_tol(sd_m, 1.5 / sqrt(12), 1e-12);
    ck_assert_int_eq(cw_height_sd(28, time_s, height_m, gap_before, 0, &sd_m, NULL), CW_OK);
    ck_assert_double_eq_tol(sd_m, 0.02, 1e-12);
    for (size_t i = 0; i < N; i++) height_m[i] = i % 6 ? (i % 2 ? 3.0 : -3.0) : NAN;
    ck_assert_int_eq(cw_height_sd(N, time_s, height_m, gap_before, 0, &sd_m, NULL), CW_OK);
    ck_assert_double_eq_tol(sd_m, 0.02, 1e-12);
}
END_TEST

int main(void) {
    Suite *suite = suite_create("motion/height");
    TCase *all = tcase_create("all");
    tcase_add_test(all, slope_of_a_corner);
    tcase_add_test(all, slope_beside_what_is_missing);
    tcase_add_test(all, slope_of_who_hardly_moves);
    tcase_add_test(all, holes_are_filled);
    tcase_add_test(all, scatter);
    suite_add_tcase(suite, all);
    SRunner *runner = srunner_create(suite);
    srunner_run_all(runner, CK_NORMAL);
    int failed = srunner_ntests_failed(runner);
    srunner_free(runner);
    return failed > 0;
}
