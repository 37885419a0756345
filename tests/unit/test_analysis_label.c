#include <check.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "analysis/label.h"

static struct cw_run at[4];
static struct cw_runs runs = {.n = 4, .at = at};
static size_t order[] = {1, 0, 1};
static long skip[] = {2};
static struct cw_setup setups[3];
static char file[] = "a.ini";
static struct cw_outing outing;
static struct cw_error error;

static void begin(void) {
    for (size_t i = 0; i < 4; i++) at[i] = (struct cw_run){.number = (long)i + 1, .kept = true};
    outing = (struct cw_outing){.file = file,
                                .n_setups = 2,
                                .setups = setups,
                                .order = {.n = 3, .setup = order, .line = 12},
                                .skip = {.n = 1, .number = skip, .line = 14}};
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
    outing.order.n = 0;
    outing.order.line = 0;
    ck_assert_int_eq(cw_runs_label(&runs, &outing, &error), CW_E_DATA);
    ck_assert_ptr_nonnull(strstr(error.message, "for each of the 4 runs kept"));
    outing.n_setups = 1;
    at[2].kept = false;
    ck_assert_int_eq(cw_runs_label(&runs, &outing, &error), CW_OK);
    const size_t expected[] = {0, 0, CW_NO_SETUP, 0};
    for (size_t i = 0; i < 4; i++) ck_assert_uint_eq(at[i].setup, expected[i]);
}
END_TEST

/* A companion's recording lies between: its runs are its own setup's, and notes pass them over. */
START_TEST(a_companion_is_not_counted) {
    char *recordings[] = {file, file};
    double wind[] = {0.2, NAN, -0.1};
    struct cw_own_recording own = {.recording = 1, .rider = 1, .setup = 2};
    struct cw_rider friend = {.name = file};
    outing.n_setups = 3;
    outing.n_recordings = 2;
    outing.recordings = recordings;
    outing.companions = &friend;
    outing.n_companions = 1;
    outing.n_own_recordings = 1;
    outing.own_recordings = &own;
    outing.wind_ms = (struct cw_notes){.n = 3, .value = wind, .line = 15};
    at[1].recording = 1;
    ck_assert_msg(cw_runs_label(&runs, &outing, &error) == CW_OK, "%s", error.message);
    const size_t expected[] = {1, 2, 0, 1};
    for (size_t i = 0; i < 4; i++) ck_assert_uint_eq(at[i].setup, expected[i]);
    ck_assert_double_eq(at[0].noted.wind_ms, 0.2);
    ck_assert(isnan(at[1].noted.wind_ms) && isnan(at[2].noted.wind_ms));
    ck_assert_double_eq(at[3].noted.wind_ms, -0.1);
    ck_assert(isnan(at[3].noted.time_s));
    outing.wind_ms.n = 2;
    ck_assert_int_eq(cw_runs_label(&runs, &outing, &error), CW_E_DATA);
    ck_assert_int_eq(error.line, 15);
    ck_assert_ptr_nonnull(
        strstr(error.message, "wind_along_ms has 2 values, but 3 runs were kept"));
    for (size_t i = 0; i < 4; i++) ck_assert_uint_eq(at[i].setup, CW_NO_SETUP);
}
END_TEST

/* A recording with an order and a skip of its own: they are of its runs alone. */
START_TEST(a_recording_labels_its_own) {
    char *recordings[] = {file, file};
    size_t one[] = {1};
    long theirs[] = {3};
    struct cw_own_recording own = {.recording = 1,
                                   .setup = CW_NO_SETUP,
                                   .order = {.n = 1, .setup = one, .line = 21},
                                   .skip = {.n = 1, .number = theirs, .line = 22}};
    outing.n_recordings = 2;
    outing.recordings = recordings;
    outing.n_own_recordings = 1;
    outing.own_recordings = &own;
    outing.order.n = 2;
    outing.skip.n = 0;
    at[2].recording = at[3].recording = 1;
    ck_assert_int_eq(cw_runs_label(&runs, &outing, &error), CW_E_DATA);
    ck_assert_int_eq(error.line, 21);
    ck_assert_ptr_nonnull(
        strstr(error.message, "order has 1 entry, but 2 runs were kept of that recording"));
    ck_assert_int_eq(cw_runs_skip(&runs, &outing, &error), CW_OK);
    ck_assert(!at[2].kept && at[2].reasons == CW_REASON_SKIPPED);
    ck_assert_msg(cw_runs_label(&runs, &outing, &error) == CW_OK, "%s", error.message);
    const size_t expected[] = {1, 0, CW_NO_SETUP, 1};
    for (size_t i = 0; i < 4; i++) ck_assert_uint_eq(at[i].setup, expected[i]);
    theirs[0] = 1; /* of the other recording */
    ck_assert_int_eq(cw_runs_skip(&runs, &outing, &error), CW_E_DATA);
    ck_assert_int_eq(error.line, 22);
    ck_assert_ptr_nonnull(strstr(error.message, "run 1, which is of another recording"));
    ck_assert(at[0].kept);
}
END_TEST

/* Whoever was there labels what was ridden, or what the list says is kept. */
START_TEST(a_run_in_a_wake_may_be_labelled) {
    for (size_t i = 0; i < 4; i++) at[i].kept = i != 1;
    at[1].reasons = CW_REASON_WAKE;
    const size_t expected[2][4] = {{1, CW_NO_SETUP, 0, 1}, {0, CW_NO_SETUP, 1, 1}};
    size_t of_all[] = {0, 1, 1, 1};
    for (int all = 0; all < 2; all++) {
        if (all) outing.order = (struct cw_setup_order){.n = 4, .setup = of_all, .line = 12};
        ck_assert_msg(cw_runs_label(&runs, &outing, &error) == CW_OK, "%s", error.message);
        for (size_t i = 0; i < 4; i++) ck_assert_uint_eq(at[i].setup, expected[all][i]);
    }
    at[1].reasons |= CW_REASON_BRAKED; /* turned down anyway */
    ck_assert_int_eq(cw_runs_label(&runs, &outing, &error), CW_E_DATA);
}
END_TEST

/* A label a descent, whose pieces are all of that setup; a wind may be noted so, a place not. */
START_TEST(descents_in_pieces_may_be_labelled) {
    const size_t expected[] = {1, 1, 0, 1};
    double wind[] = {0.2, NAN, -0.1};
    for (size_t i = 0; i < 4; i++) at[i].descent = i < 2 ? 1 : i;
    ck_assert_int_eq(cw_runs_label(&runs, &outing, &error), CW_E_DATA); /* no road is repeated */
    runs.in_pieces = true;
    runs.n_descents = 3;
    outing.wind_ms = (struct cw_notes){.n = 3, .value = wind, .line = 15};
    ck_assert_msg(cw_runs_label(&runs, &outing, &error) == CW_OK, "%s", error.message);
    for (size_t i = 0; i < 4; i++) ck_assert_uint_eq(at[i].setup, expected[i]);
    ck_assert(at[0].noted.wind_ms == 0.2 && at[1].noted.wind_ms == 0.2);
    ck_assert(isnan(at[2].noted.wind_ms) && at[3].noted.wind_ms == -0.1);
    outing.runout_m = (struct cw_notes){.n = 3, .value = wind, .line = 16};
    ck_assert_int_eq(cw_runs_label(&runs, &outing, &error), CW_E_DATA);
    ck_assert_int_eq(error.line, 16);
    outing.runout_m.n = 0;
    outing.order.n = 2;
    ck_assert_int_eq(cw_runs_label(&runs, &outing, &error), CW_E_DATA);
    ck_assert_ptr_nonnull(strstr(error.message, "4 runs were kept, the pieces of 3 descents"));
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
    tcase_add_test(tests, a_companion_is_not_counted);
    tcase_add_test(tests, a_recording_labels_its_own);
    tcase_add_test(tests, a_run_in_a_wake_may_be_labelled);
    tcase_add_test(tests, descents_in_pieces_may_be_labelled);
    suite_add_tcase(suite, tests);
    SRunner *runner = srunner_create(suite);
    srunner_run_all(runner, CK_NORMAL);
    int failed = srunner_ntests_failed(runner);
    srunner_free(runner);
    return failed ? EXIT_FAILURE : EXIT_SUCCESS;
}
