#include <check.h>
#include <math.h>
#include <stdlib.h>

#include "recording/samples.h"

START_TEST(a_missing_sample_is_all_nan) {
    struct cw_sample sample = cw_sample_missing();
    ck_assert(isnan(sample.time_s) && isnan(sample.latitude_deg) && isnan(sample.longitude_deg) &&
              isnan(sample.elevation_m) && isnan(sample.distance_m) && isnan(sample.speed_ms) &&
              isnan(sample.cadence_rpm) && isnan(sample.power_w) && isnan(sample.temperature_c));
    ck_assert_int_eq(sample.line, 0);
    ck_assert(!sample.break_before);
}
END_TEST

START_TEST(columns_grow_together_and_keep_their_values) {
    struct cw_samples samples = {0};
    for (int i = 0; i < 5000; i++) {
        struct cw_sample sample = {.time_s = i,
                                   .latitude_deg = i + 0.1,
                                   .longitude_deg = i + 0.2,
                                   .elevation_m = i + 0.3,
                                   .distance_m = i + 0.4,
                                   .speed_ms = i + 0.5,
                                   .cadence_rpm = i + 0.6,
                                   .power_w = i + 0.7,
                                   .temperature_c = i + 0.8,
                                   .line = i + 9,
                                   .break_before = i % 7 == 0};
        ck_assert_int_eq(cw_samples_add(&samples, &sample), CW_OK);
    }
    ck_assert_uint_eq(samples.n, 5000);
    for (int i = 0; i < 5000; i++) {
        struct cw_sample sample = cw_samples_get(&samples, (size_t)i);
        ck_assert_double_eq(sample.time_s, i);
        ck_assert_double_eq(sample.latitude_deg, i + 0.1);
        ck_assert_double_eq(sample.longitude_deg, i + 0.2);
        ck_assert_double_eq(sample.elevation_m, i + 0.3);
        ck_assert_double_eq(sample.distance_m, i + 0.4);
        ck_assert_double_eq(sample.speed_ms, i + 0.5);
        ck_assert_double_eq(sample.cadence_rpm, i + 0.6);
        ck_assert_double_eq(sample.power_w, i + 0.7);
        ck_assert_double_eq(sample.temperature_c, i + 0.8);
        ck_assert_int_eq(sample.line, i + 9);
        ck_assert_int_eq(sample.break_before, i % 7 == 0);
    }
    cw_samples_free(&samples);
    ck_assert_uint_eq(samples.n, 0);
    ck_assert_ptr_null(samples.time_s);
    cw_samples_free(&samples); /* twice does no harm */
}
END_TEST

int main(void) {
    Suite *suite = suite_create("recording_samples");
    TCase *tests = tcase_create("samples");
    tcase_add_test(tests, a_missing_sample_is_all_nan);
    tcase_add_test(tests, columns_grow_together_and_keep_their_values);
    suite_add_tcase(suite, tests);
    SRunner *runner = srunner_create(suite);
    srunner_run_all(runner, CK_NORMAL);
    int failed = srunner_ntests_failed(runner);
    srunner_free(runner);
    return failed ? EXIT_FAILURE : EXIT_SUCCESS;
}
