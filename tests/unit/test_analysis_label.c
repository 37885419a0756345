#include <check.h>
#include <stdlib.h>
#include <string.h>

#include "analysis/label.h"

static struct cw_run at[4];
static struct cw_runs runs = {.n = 4, .at = at};
static size_t order[] = {1, 0, 1};
static long skip[] = {2};
static char file[] = "a.ini";
static struct cw_outing outing;
static struct cw_error error;

static void begin(void) {
    for (size_t i = 0; i < 4; i++) at[i] = (struct cw_run){.number = (long)i + 1, .kept = true};
    outing = (struct cw_outing){.file = file,
                                .n_setups = 2,
                                .n_order = 3,
                                .order = order,
                                .order_line = 12,
                                .n_skip = 1,
                                .skip = skip,
                                .skip_line = 14};
}

START_TEST(skipped_runs_have_no_setup) {
    ck_assert_int_eq(cw_runs_skip(&runs, &outing, &error), CW_OK);
    ck_assert(!at[1].kept && at[1].reasons == CW_REASON_SKIPPED);
    ck_assert_int_eq(cw_runs_label(&runs, &outing, &error), CW_OK);
    const size_t expected[] = {1, CW_NO_SETUP, 0, 1};
    for (size_t i = 0; i < 4; i++) ck_assert_uint_eq(at[i].setup, expected[i]);
}
END_TEST

START_TEST(an_order_that_does_not_match_is_an_error) {
    ck_assert_int_eq(cw_runs_label(&runs, &outing, &error), CW_E_DATA);
    ck_assert_int_eq(error.line, 12);
    ck_assert_str_eq(error.file, "a.ini");
    ck_assert_ptr_nonnull(strstr(error.message, "order has 3 entries, but 4 runs were kept"));
    for (size_t i = 0; i < 4; i++) ck_assert_uint_eq(at[i].setup, CW_NO_SETUP);
}
END_TEST

START_TEST(a_run_that_is_not_there_cannot_be_skipped) {
    runs.n = 1;
    ck_assert_int_eq(cw_runs_skip(&runs, &outing, &error), CW_E_DATA);
    ck_assert_int_eq(error.line, 14);
    ck_assert_ptr_nonnull(strstr(error.message, "skip names run 2, but 1 run was found"));
}
END_TEST

START_TEST(one_setup_needs_no_order) {
    outing.n_order = 0;
    outing.order_line = 0;
    ck_assert_int_eq(cw_runs_label(&runs, &outing, &error), CW_E_DATA);
    ck_assert_ptr_nonnull(strstr(error.message, "for each of the 4 runs kept"));
    outing.n_setups = 1;
    at[2].kept = false;
    ck_assert_int_eq(cw_runs_label(&runs, &outing, &error), CW_OK);
    const size_t expected[] = {0, 0, CW_NO_SETUP, 0};
    for (size_t i = 0; i < 4; i++) ck_assert_uint_eq(at[i].setup, expected[i]);
}
END_TEST

int main(void) {
    Suite *suite = suite_create("analysis/label");
    TCase *tests = tcase_create("labels");
    tcase_add_checked_fixture(tests, begin, NULL);
    tcase_add_test(tests, skipped_runs_have_no_setup);
    tcase_add_test(tests, an_order_that_does_not_match_is_an_error);
    tcase_add_test(tests, a_run_that_is_not_there_cannot_be_skipped);
    tcase_add_test(tests, one_setup_needs_no_order);
    suite_add_tcase(suite, tests);
    SRunner *runner = srunner_create(suite);
    srunner_run_all(runner, CK_NORMAL);
    int failed = srunner_ntests_failed(runner);
    srunner_free(runner);
    return failed ? EXIT_FAILURE : EXIT_SUCCESS;
}
