/* Heights by the ground: each sample goes on from the one before it by the slope of the step that
 * holds the middle of its way, whichever way the line is ridden. */
#include <check.h>
#include <math.h>
#include <stdbool.h>
#include <stdlib.h>

#include "runs/relief.h"

enum { NODES = 7, SAMPLES = 18 };

/* A ride of 3 m a sample over a line with a slope of its own in each step of 8 m; along it, or from
 * its end back. */
static void check_heights(int way) {
    double along[NODES], against[NODES], by_heights[NODES] = {0}, distance_m[SAMPLES];
    double own_m[SAMPLES], height_m[SAMPLES], sd_m;
    unsigned passes[NODES], fellows[NODES];
    bool gap_before[SAMPLES] = {false}, by_fellows[SAMPLES];
    struct cw_step_place place[NODES];
    for (size_t k = 0; k < NODES; k++) {
        along[k] = -0.01 * (double)(k + 1);
        against[k] = along[k] - 0.002; /* those who go back have a slope of their own */
        passes[k] = 4;
        fellows[k] = 3;
        place[k] = (struct cw_step_place){
            .at = (double)(way > 0 ? k : NODES - 1 - k), .line = 0, .way = (signed char)way};
    }
    for (size_t i = 0; i < SAMPLES; i++) {
        distance_m[i] = 3 * (double)i;
        own_m[i] = 200 + 10 * (double)(i % 2);
    }
    struct cw_relief relief = {.n = NODES,
                               .by_heights = by_heights,
                               .passes = passes,
                               .slope = {along, against},
                               .fellows = {fellows, fellows}};
    struct cw_walk walk = {.n = NODES, .place = place};
    struct cw_motion motion = {
        .n = SAMPLES, .elevation_sd_m = 1, .distance_m = distance_m, .gap_before = gap_before};
    cw_relief_heights(&relief, &walk, &motion, own_m, height_m, by_fellows, &sd_m);
    double height = 200;
    for (size_t i = 0; i < SAMPLES; i++) {
        if (i > 0) {
            size_t step = (size_t)((3 * (double)i - 1.5) / 8); /* ridden before it */
            size_t node = way > 0 ? step : NODES - 2 - step;
            if (step < NODES - 1)
                height += 3 * (way > 0 ? along[node] : -against[node]);
            else
                height += own_m[i] - own_m[i - 1]; /* beyond the walk */
            ck_assert(by_fellows[i] == (step < NODES - 1));
        }
        ck_assert_double_eq_tol(height_m[i], height, 1e-9);
    }
}

START_TEST(heights_go_by_the_step_of_the_middle) {
    check_heights(1);
    check_heights(-1);
}
END_TEST

int main(void) {
    Suite *suite = suite_create("runs/relief");
    TCase *all = tcase_create("all");
    tcase_add_test(all, heights_go_by_the_step_of_the_middle);
    suite_add_tcase(suite, all);
    SRunner *runner = srunner_create(suite);
    srunner_run_all(runner, CK_NORMAL);
    int failed = srunner_ntests_failed(runner);
    srunner_free(runner);
    return failed > 0;
}
