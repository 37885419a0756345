/* How late heights are, told by passes over the same ground. */
#include <check.h>
#include <math.h>
#include <stdlib.h>

#include "road_outing.h"
#include "runs/heights.h"

static double found(struct cw_recording *recording) {
    struct cw_motion motion;
    struct cw_passes passes;
    double late_s = 99;
    ck_assert_int_eq(cw_motion_make(recording, &motion, NULL), CW_OK);
    ck_assert_int_eq(cw_passes_make(recording, &motion, 1, &passes, NULL), CW_OK);
    double *height_m = malloc(motion.n * sizeof *height_m);
    ck_assert_int_eq(cw_heights_late(recording, &motion, &passes, &height_m, &late_s, NULL), CW_OK);
    free(height_m);
    cw_passes_free(&passes);
    cw_motion_free(&motion);
    return late_s;
}

START_TEST(heights_in_time_are_told_so) {
    for (uint64_t seed = 1; seed <= 4; seed++) {
        struct made_options o = made_options_default(seed);
        if (seed % 2 == 0) o.most_dt_s = 7;
        struct made_outing outing = made_outing_make(&o);
        ck_assert_double_eq(found(&outing.recording), 0);
        made_outing_free(&outing);
    }
}
END_TEST

START_TEST(late_heights_are_told) {
    /* Smoothed over a time they are late by that, and by somewhat less where a slope is new. */
    for (uint64_t seed = 1; seed <= 4; seed++) {
        struct made_options o = made_options_default(seed);
        if (seed % 2 == 0) o.most_dt_s = 3;
        struct made_outing outing = made_outing_make(&o);
        made_smooth_heights(&outing.recording, 3.5);
        double late_s = found(&outing.recording);
        ck_assert_double_gt(late_s, 2.0);
        ck_assert_double_lt(late_s, 3.8);
        made_outing_free(&outing);
    }
}
END_TEST

/* All heights so many whole seconds later. Lateness is looked for up to 6 s: what has its best
 * there is no altimeter's, but something else that is wrong. */
START_TEST(later_than_any_sensor_is_not_told) {
    for (size_t late = 4; late <= 7; late++) {
        struct made_options o = made_options_default(1);
        struct made_outing outing = made_outing_make(&o);
        struct cw_samples *samples = &outing.recording.samples;
        for (size_t i = samples->n - 1; i >= late; i--)
            samples->elevation_m[i] = samples->elevation_m[i - late];
        if (late < 6)
            ck_assert_double_eq_tol(found(&outing.recording), (double)late, 0.1);
        else
            ck_assert_double_eq(found(&outing.recording), 0);
        made_outing_free(&outing);
    }
}
END_TEST

/* Between seconds too: of two that are one second apart the mean is late by what lies between. */
START_TEST(late_by_half_a_second_more) {
    for (uint64_t seed = 1; seed <= 4; seed++)
        for (size_t late = 2; late <= 4; late++) {
            struct made_options o = made_options_default(seed);
            struct made_outing outing = made_outing_make(&o);
            struct cw_samples *samples = &outing.recording.samples;
            for (size_t i = samples->n - 1; i > late; i--)
                samples->elevation_m[i] =
                    0.5 * (samples->elevation_m[i - late] + samples->elevation_m[i - late - 1]);
            ck_assert_double_eq_tol(found(&outing.recording), (double)late + 0.5, 0.15);
            made_outing_free(&outing);
        }
}
END_TEST

START_TEST(one_pass_tells_nothing) {
    struct made_options o = made_options_default(5);
    struct made_outing outing = made_outing_make(&o);
    made_smooth_heights(&outing.recording, 3.5);
    outing.recording.samples.n = 300;
    ck_assert_double_eq(found(&outing.recording), 0);
    made_outing_free(&outing);
}
END_TEST

START_TEST(heights_are_put_in_time) {
    enum { N = 6 };
    double time_s[N] = {0, 1, 2, 5, 6, 7}, height_m[N] = {10, 12, 13, 19, NAN, 30}, out[N];
    bool gap[N] = {false, false, false, false, false, true};
    const struct cw_motion motion = {.n = N, .height_m = height_m, .gap_before = gap};
    static const double later[] = {12.5, 14, 16, 19, NAN, 30};
    cw_heights_in_time(time_s, &motion, 1.5, out);
    for (size_t i = 0; i < N; i++)
        if (isnan(later[i]))
            ck_assert(isnan(out[i]));
        else
            ck_assert_double_eq_tol(out[i], later[i], 1e-12);
    cw_heights_in_time(time_s, &motion, 0, out);
    for (size_t i = 0; i < N; i++) ck_assert(out[i] == height_m[i] || isnan(height_m[i]));
}
END_TEST

int main(void) {
    Suite *suite = suite_create("runs_heights");
    TCase *all = tcase_create("heights");
    tcase_set_timeout(all, 60);
    tcase_add_test(all, heights_in_time_are_told_so);
    tcase_add_test(all, late_heights_are_told);
    tcase_add_test(all, later_than_any_sensor_is_not_told);
    tcase_add_test(all, late_by_half_a_second_more);
    tcase_add_test(all, one_pass_tells_nothing);
    tcase_add_test(all, heights_are_put_in_time);
    suite_add_tcase(suite, all);
    SRunner *runner = srunner_create(suite);
    srunner_run_all(runner, CK_NORMAL);
    int failed = srunner_ntests_failed(runner);
    srunner_free(runner);
    return failed ? EXIT_FAILURE : EXIT_SUCCESS;
}
