#include <check.h>
#include <math.h>
#include <stdlib.h>

#include "road_outing.h"
#include "runs/passes.h"
#include "runs/relief.h"

/* An outing of several runs rides one road up and down: all but the first pass lie on lines that
 * are there already, either way, and the ground that all make is the road's. */
START_TEST(passes_share_the_ground) {
    struct made_options o = made_options_default(31);
    o.runs = 4;
    struct made_outing outing = made_outing_make(&o);
    struct cw_motion motion;
    ck_assert_int_eq(cw_motion_make(&outing.recording, &motion, NULL), CW_OK);
    struct cw_passes passes;
    ck_assert_int_eq(cw_passes_make(&outing.recording, &motion, 1, &passes, NULL), CW_OK);
    const struct cw_walk *walk = &passes.walks[0];
    ck_assert_uint_gt(walk->n, 100);
    ck_assert_uint_lt(passes.n_nodes, walk->n);
    size_t again[2] = {0, 0}, in_runs = 0, placed = 0;
    for (size_t k = 1; k < walk->n; k++) {
        size_t node;
        double t = outing.recording.samples.time_s[walk->before[k]];
        bool piece = cw_walk_piece(walk, k, &node);
        for (int i = 1; i < outing.n; i++) {
            if (t < outing.start_s[i] + 5 || t > outing.end_s[i] - 5) continue;
            in_runs++;
            placed += piece;
        }
        /* At most a step before the line's first node. */
        if (piece) ck_assert_double_gt(walk->place[k].at + 1, (double)walk->place[k].line);
        if (piece) again[walk->place[k].way < 0]++;
    }
    ck_assert_uint_gt(again[0], 0);
    ck_assert_uint_gt(again[1], 0);
    ck_assert_uint_ge(100 * placed, 95 * in_runs);

    struct cw_relief ground;
    ck_assert_int_eq(
        cw_relief_make(&outing.recording, &motion, &motion.height_m, &passes, &ground, NULL),
        CW_OK);
    double *height = malloc(motion.n * sizeof *height), sd;
    bool *fellows = malloc(motion.n * sizeof *fellows);
    cw_relief_heights(&ground, walk, &motion, motion.height_m, height, fellows, &sd);
    ck_assert_double_lt(sd, motion.elevation_sd_m);
    for (int i = 1; i < outing.n; i++) {
        size_t a = 0, b = 0;
        while (outing.recording.samples.time_s[a] < outing.start_s[i] + 5) a++;
        while (outing.recording.samples.time_s[b] < outing.end_s[i] - 5) b++;
        /* As deep as recorded, give or take the drift that is left out. */
        ck_assert_double_eq_tol(height[a] - height[b], motion.height_m[a] - motion.height_m[b], 2);
        ck_assert(!fellows[a]);
    }
    free(fellows);
    free(height);
    cw_relief_free(&ground);
    cw_passes_free(&passes);
    cw_motion_free(&motion);
    made_outing_free(&outing);
}
END_TEST

/* Without positions nothing is matched, and nothing fails. */
START_TEST(no_positions_no_passes) {
    struct made_options o = made_options_default(32);
    o.runs = 2;
    o.positions = false;
    struct made_outing outing = made_outing_make(&o);
    struct cw_motion motion;
    ck_assert_int_eq(cw_motion_make(&outing.recording, &motion, NULL), CW_OK);
    struct cw_passes passes;
    ck_assert_int_eq(cw_passes_make(&outing.recording, &motion, 1, &passes, NULL), CW_OK);
    ck_assert_uint_eq(passes.n_nodes, 0);
    ck_assert_uint_eq(passes.walks[0].n, 0);
    cw_passes_free(&passes);
    cw_motion_free(&motion);
    made_outing_free(&outing);
}
END_TEST

int main(void) {
    Suite *suite = suite_create("runs_passes");
    TCase *all = tcase_create("passes");
    tcase_add_test(all, passes_share_the_ground);
    tcase_add_test(all, no_positions_no_passes);
    suite_add_tcase(suite, all);
    SRunner *runner = srunner_create(suite);
    srunner_run_all(runner, CK_NORMAL);
    int failed = srunner_ntests_failed(runner);
    srunner_free(runner);
    return failed ? EXIT_FAILURE : EXIT_SUCCESS;
}
