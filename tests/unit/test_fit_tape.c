#include "fit/tape.h"

#include <check.h>
#include <math.h>
#include <stdlib.h>

#include "fit/workings.h"
#include "made.h"

enum { RUNS = 6 };

/* Runs that end at own[] and were taped at taped[], one a grid point. */
static struct cw_run_data data[RUNS];
static double ends_m[RUNS][2];

static struct cw_prepared prepared_of(const double own[RUNS], const double taped[RUNS]) {
    for (size_t i = 0; i < RUNS; i++) {
        ends_m[i][0] = 0;
        ends_m[i][1] = own[i];
        data[i] = (struct cw_run_data){
            .n = 2, .s_m = ends_m[i], .tape_m = taped[i], .tape_sd_m = isnan(taped[i]) ? 0 : 0.2};
    }
    return (struct cw_prepared){.n = RUNS, .data = data};
}

/* Marks 300 m down the road, counted on from there: by hand, the mean of own - taped of those that
 * agree is 300.1, and the fifth has its digits swapped. */
START_TEST(a_mark_is_where_runs_have_it) {
    const double own[RUNS] = {312.5, 309.1, 315.2, 310.4, 316.0, 311.0},
                 taped[RUNS] = {12.4, 9.2, 14.9, 10.3, 61.5, NAN};
    struct cw_prepared prepared = prepared_of(own, taped);
    struct cw_error error;
    ck_assert_int_eq(cw_tape_tie(&prepared, &error), CW_OK);
    for (size_t i = 0; i < 4; i++) {
        ck_assert_double_eq_tol(data[i].tape_m, taped[i] + 300.1, 1e-9);
        ck_assert_double_eq(data[i].tape_sd_m, 0.2);
    }
    ck_assert_double_eq(data[4].tape_sd_m, 0);
    ck_assert_double_eq(data[5].tape_sd_m, 0);
}
END_TEST

/* Each way of each road has a mark of its own, and two tell none. */
START_TEST(each_way_has_its_mark) {
    const double own[RUNS] = {100, 101, 102, 50, 51, 20}, taped[RUNS] = {0, 1, 2, 7, 8, 3};
    struct cw_prepared prepared = prepared_of(own, taped);
    struct cw_error error;
    for (size_t i = 3; i < RUNS; i++) data[i].reversed = true;
    data[5].road = 1;
    ck_assert_int_eq(cw_tape_tie(&prepared, &error), CW_OK);
    for (size_t i = 0; i < 3; i++) ck_assert_double_eq_tol(data[i].tape_m, 100.0 + (double)i, 1e-9);
    for (size_t i = 3; i < RUNS; i++) ck_assert_double_eq(data[i].tape_sd_m, 0);
}
END_TEST

/* Made-up runs into a dip: where the last grid point was, by a tape of the standstill and the way
 * to it, is within what is said of where it was in truth, but for what all share. */
START_TEST(a_tape_tells_the_last_point) {
    struct cw_simulate_options options = cw_simulate_options_default();
    struct cw_error error;
    struct made m;
    options.seed = 5;
    options.tape = true;
    ck_assert_int_eq(cw_simulate_road(&options, "dip", &error), CW_OK);
    ck_assert_msg(made_fit(&m, &options, &error) >= 0, "%s", error.message);
    const struct cw_joint *joint = &m.of->fit.workings->joint;
    double off[16], mean = 0;
    size_t n = 0;
    for (size_t i = 0; i < joint->n_runs && n < 16; i++) {
        const struct cw_run_data *run = &joint->data[i];
        ck_assert_double_gt(run->tape_sd_m, 0.1);
        ck_assert_double_lt(run->tape_sd_m, 0.6);
        off[n] = run->tape_m - run->s_m[run->n - 1];
        mean += off[n++];
    }
    ck_assert_uint_eq(n, 8);
    ck_assert_double_eq_tol(mean / (double)n, 0, 0.05); /* but for what smoothing moved since */
    /* The places that were smoothed wander by a metre or so. */
    for (size_t i = 0; i < n; i++) ck_assert_double_lt(fabs(off[i]), 4);
    made_free(&m);
}
END_TEST

int main(void) {
    Suite *suite = suite_create("fit/tape");
    TCase *tests = tcase_create("tape");
    tcase_set_timeout(tests, 60);
    tcase_add_test(tests, a_mark_is_where_runs_have_it);
    tcase_add_test(tests, each_way_has_its_mark);
    tcase_add_test(tests, a_tape_tells_the_last_point);
    suite_add_tcase(suite, tests);
    SRunner *runner = srunner_create(suite);
    srunner_run_all(runner, CK_ENV);
    int failed = srunner_ntests_failed(runner);
    srunner_free(runner);
    return failed ? EXIT_FAILURE : EXIT_SUCCESS;
}
