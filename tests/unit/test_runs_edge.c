#include <check.h>
#include <math.h>
#include <stdlib.h>

#include "runs/edge.h"

enum { SAMPLES = 40 };

/* A coast that keeps its head but for noise, and from t_bend on loses or gains by rate a second; a
 * start is the same seen backwards. */
struct made {
    double time_s[SAMPLES], speed_ms[SAMPLES], distance_m[SAMPLES], even_m[SAMPLES];
};

static void make(struct made *made, double bend_s, double rate_ms, bool end) {
    for (int i = 0; i < SAMPLES; i++) {
        double t = i, beyond = end ? t - bend_s : bend_s - t;
        made->time_s[i] = t;
        made->speed_ms[i] = 9;
        made->distance_m[i] = 9 * t;
        made->even_m[i] =
            212.5 + 0.01 * t + (beyond > 0 ? rate_ms * beyond : 0) + 0.02 * ((i * 7) % 5 - 2);
    }
}

static size_t place(const struct made *made, size_t at, bool end, bool braking, bool *found) {
    struct cw_edge edge = {.n = SAMPLES,
                           .time_s = made->time_s,
                           .speed_ms = made->speed_ms,
                           .distance_m = made->distance_m,
                           .even_m = made->even_m,
                           .at = at,
                           .inner = end ? 0 : SAMPLES - 1,
                           .outer = end ? SAMPLES - 1 : 0,
                           .end = end,
                           .braking = braking,
                           .reach_s = 3};
    return cw_edge_place(&edge, found);
}

START_TEST(clear_bends_are_found_to_the_sample) {
    struct made made;
    bool found;
    for (size_t off = 0; off < 5; off++) {
        make(&made, 25.2, -1.9, true);
        ck_assert_uint_eq(place(&made, 23 + off, true, true, &found), 25);
        ck_assert(found);
        make(&made, 25.2, 0.9, true);
        ck_assert_uint_eq(place(&made, 23 + off, true, false, &found), 25);
        ck_assert(found);
        /* Before a start there is more head when one brakes into it, and less when one pedals. */
        make(&made, 13.8, 1.9, false);
        ck_assert_uint_eq(place(&made, 12 + off, false, true, &found), 14);
        ck_assert(found);
        make(&made, 13.8, -0.9, false);
        ck_assert_uint_eq(place(&made, 12 + off, false, false, &found), 14);
        ck_assert(found);
    }
}
END_TEST

START_TEST(bends_between_far_points_are_found) {
    /* Regression: with a sample each 10 s there were too few about a bend to look at, and an end
     * stayed where it was, a sample too early. */
    struct made made;
    bool found;
    make(&made, 25.2, -1.9, true);
    for (int i = 0; i < SAMPLES; i++) {
        made.time_s[i] *= 10;
        made.distance_m[i] *= 10;
    }
    for (size_t off = 0; off < 2; off++) {
        ck_assert_uint_eq(place(&made, 24 + off, true, true, &found), 25);
        ck_assert(found);
    }
}
END_TEST

START_TEST(bends_of_the_other_kind_are_none) {
    struct made made;
    bool found;
    make(&made, 25.2, 0.9, true);
    ck_assert_uint_eq(place(&made, 25, true, true, &found), 25);
    ck_assert(!found);
    make(&made, 13.8, -0.9, false);
    ck_assert_uint_eq(place(&made, 14, false, true, &found), 14);
    ck_assert(!found);
}
END_TEST

START_TEST(unclear_bends_stay_within_reach) {
    struct made made;
    bool found;
    make(&made, 25.2, -0.02, true);
    size_t at = place(&made, 25, true, true, &found);
    ck_assert(at >= 22 && at <= 28);
}
END_TEST

int main(void) {
    Suite *suite = suite_create("runs_edge");
    TCase *all = tcase_create("edge");
    tcase_add_test(all, clear_bends_are_found_to_the_sample);
    tcase_add_test(all, bends_between_far_points_are_found);
    tcase_add_test(all, bends_of_the_other_kind_are_none);
    tcase_add_test(all, unclear_bends_stay_within_reach);
    suite_add_tcase(suite, all);
    SRunner *runner = srunner_create(suite);
    srunner_run_all(runner, CK_NORMAL);
    int failed = srunner_ntests_failed(runner);
    srunner_free(runner);
    return failed ? EXIT_FAILURE : EXIT_SUCCESS;
}
