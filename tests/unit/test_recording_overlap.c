#include <check.h>
#include <stdlib.h>
#include <string.h>

#include "recording/overlap.h"

static double morning[] = {1000, 1001, 1060}, later[] = {1060, 1100, 1200}, within[] = {1010, 1020};

static struct cw_recording recording(char *file, double *time_s, size_t n) {
    return (struct cw_recording){.file = file, .samples = {.n = n, .time_s = time_s}};
}

START_TEST(recordings_one_after_another_are_fine) {
    char a[] = "a.gpx", b[] = "b.gpx", c[] = "empty.gpx";
    struct cw_recording three[] = {recording(b, later, 3), recording(c, NULL, 0),
                                   recording(a, morning, 3)};
    struct cw_error error;
    ck_assert_int_eq(cw_recordings_check_overlap(three, NULL, 3, &error), CW_OK);
}
END_TEST

START_TEST(shared_time_is_said) {
    char a[] = "a.gpx", b[] = "a.tcx";
    struct cw_recording two[] = {recording(a, morning, 3), recording(b, within, 2)};
    struct cw_error error;
    ck_assert_int_eq(cw_recordings_check_overlap(two, NULL, 2, &error), CW_E_FORMAT);
    ck_assert_str_eq(error.file, "a.tcx");
    ck_assert_ptr_nonnull(strstr(error.message, "a.gpx"));
    two[1] = two[0];
    ck_assert_int_eq(cw_recordings_check_overlap(two, NULL, 2, &error), CW_E_FORMAT);
}
END_TEST

int main(void) {
    Suite *suite = suite_create("recording_overlap");
    TCase *tests = tcase_create("overlap");
    tcase_add_test(tests, recordings_one_after_another_are_fine);
    tcase_add_test(tests, shared_time_is_said);
    suite_add_tcase(suite, tests);
    SRunner *runner = srunner_create(suite);
    srunner_run_all(runner, CK_NORMAL);
    int failed = srunner_ntests_failed(runner);
    srunner_free(runner);
    return failed ? EXIT_FAILURE : EXIT_SUCCESS;
}
