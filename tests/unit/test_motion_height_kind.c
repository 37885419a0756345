/* Where heights come from, told from made-up outings on which each place is passed twice a run. */
#include <check.h>
#include <math.h>

#include "made.h"
#include "motion/height_kind.h"

static struct made made;
static struct cw_error error;

static void begin(const struct cw_simulate_options *options) {
    ck_assert_int_ge(made_begin(&made, options, &error), CW_OK);
    ck_assert_int_ge(made_find(&made, NULL, &error), CW_OK);
}

static struct cw_height_kind tell(void) {
    struct cw_height_kind kind;
    ck_assert_int_ge(cw_height_kind_tell(made.of->recordings, made.of->motions,
                                         made.of->n_recordings, &kind, &error),
                     CW_OK);
    return kind;
}

/* A hilly map, in steps, read off at the recorded positions. */
static void lay_map(double step_m) {
    struct cw_samples *samples = &made.of->recordings[0].samples;
    struct cw_motion *motion = &made.of->motions[0];
    for (size_t i = 0; i < samples->n; i++) {
        double east = motion->east_m[i], north = motion->north_m[i];
        double height = 400 - 0.05 * east + 0.03 * north + 3 * sin(east / 40) + 2 * sin(north / 35);
        samples->elevation_m[i] = step_m * round(height / step_m);
    }
    motion->elevation_step_m = step_m;
}

START_TEST(each_kind_is_told) {
    for (unsigned long seed = 1; seed <= 5; seed++) {
        static const enum cw_elevation kinds[] = {CW_ELEVATION_BAROMETRIC, CW_ELEVATION_SATELLITE};
        for (int k = 0; k < 2; k++) {
            struct cw_simulate_options options = cw_simulate_options_default();
            options.seed = seed;
            cw_simulate_elevation(&options, kinds[k]);
            begin(&options);
            struct cw_height_kind kind = tell();
            ck_assert_msg(kind.told && kind.kind == kinds[k], "seed %lu: %g m apart, %g m a minute",
                          seed, kind.apart_m, kind.drift_m);
            lay_map(0.1);
            kind = tell();
            ck_assert_msg(kind.told && kind.kind == CW_ELEVATION_TERRAIN, "seed %lu: %g m apart",
                          seed, kind.apart_m);
            lay_map(1); /* too coarse to agree by anything but chance */
            ck_assert(!tell().told || tell().kind != CW_ELEVATION_TERRAIN);
            made_free(&made);
        }
    }
}
END_TEST

START_TEST(one_pass_tells_nothing) {
    struct cw_simulate_options options = cw_simulate_options_default();
    begin(&options);
    struct cw_samples *samples = &made.of->recordings[0].samples;
    struct cw_motion motion = made.of->motions[0], *all = &made.of->motions[0];
    const struct cw_run *run = &made.of->runs.at[0];
    all->n = run->last; /* up to the end of the first run */
    struct cw_height_kind kind = tell();
    ck_assert(!kind.told && kind.n < 60);
    *all = motion;
    for (size_t i = 0; i < samples->n; i++) samples->elevation_m[i] = NAN;
    kind = tell();
    ck_assert(!kind.told && kind.n == 0 && isnan(kind.apart_m) && isnan(kind.drift_m));
    all->n = 0;
    ck_assert(!tell().told);
    *all = motion;
    made_free(&made);
}
END_TEST

/* The first place that is passed again, 7 m higher than all before: one pair, apart by that. */
START_TEST(apart_is_what_the_passes_are) {
    struct cw_simulate_options options = cw_simulate_options_default();
    begin(&options);
    struct cw_samples *samples = &made.of->recordings[0].samples;
    struct cw_motion *motion = &made.of->motions[0];
    size_t n = motion->n;
    struct cw_height_kind kind = {0};
    for (motion->n = 1; motion->n <= n && !kind.n; motion->n++) {
        for (size_t i = 0; i < motion->n; i++)
            samples->elevation_m[i] = i + 1 == motion->n ? 107 : 100;
        kind = tell();
    }
    motion->n = n;
    ck_assert_uint_eq(kind.n, 1);
    ck_assert_double_eq_tol(kind.apart_m, 7, 1e-9);
    ck_assert(isnan(kind.drift_m)); /* of one pair nothing drifts */
    made_free(&made);
}
END_TEST

int main(void) {
    Suite *suite = suite_create("motion/height_kind");
    TCase *tests = tcase_create("height_kind");
    tcase_set_timeout(tests, 60);
    tcase_add_test(tests, each_kind_is_told);
    tcase_add_test(tests, one_pass_tells_nothing);
    tcase_add_test(tests, apart_is_what_the_passes_are);
    suite_add_tcase(suite, tests);
    SRunner *runner = srunner_create(suite);
    srunner_run_all(runner, CK_ENV);
    int failed = srunner_ntests_failed(runner);
    srunner_free(runner);
    return failed ? 1 : 0;
}
