/* Breaks: found where a made-up coast was braked for a second and where another's heights jumped,
 * nowhere else, and taken back where there was none. */
#include <check.h>
#include <math.h>
#include <stdlib.h>

#include "dense.h"
#include "fit/breaks.h"

enum { RUNS = 3, SECONDS = 60, BRAKED = 1, AT_S = 30, JUMPED = 2, JUMPED_S = 40 };
static const double mass_kg = 82, gravity_ms2 = 9.807, density_kgm3 = 1.17, cda_m2 = 0.35,
                    crr = 0.005, slope = -0.05, taken_ms = 0.5, jump_m = -1.2;

static const struct cw_noise noise = {.gust_sd_ms = 0.05,
                                      .gust_time_s = 15,
                                      .drift_sd_m = 0.2,
                                      .drift_time_s = 150,
                                      .elevation_sd_m = 0.05,
                                      .speed_sd_ms = 0.05,
                                      .wander_sd_m = 1,
                                      .wander_time_s = 60,
                                      .jitter_sd_m = 0.1,
                                      .jitter_time_s = 3,
                                      .creep_sd_ms = 0.02,
                                      .creep_time_s = 4,
                                      .position_sd_m = 0.1,
                                      .roughness_m = 0.01};

/* Down a straight road from 5 m/s, by small steps; a run that is braked loses taken_ms in the
 * second after AT_S, one's heights are off by jump_m after JUMPED_S. */
static void coast(size_t run, struct cw_run_data *data, unsigned long *seed) {
    enum { FINE = 200 };
    double time[SECONDS], s[SECONDS], v[SECONDS], speed[SECONDS], place[SECONDS], height[SECONDS];
    double at = 0, fast = 5;
    struct cw_error error;
    for (int i = 0; i < SECONDS; i++) {
        time[i] = i;
        s[i] = at;
        v[i] = fast;
        speed[i] = fast + noise.speed_sd_ms * made_normal(seed);
        place[i] = at + noise.position_sd_m * made_normal(seed);
        height[i] = 100 + slope * at + noise.elevation_sd_m * made_normal(seed);
        if (run == JUMPED && i > JUMPED_S) height[i] += jump_m;
        for (int k = 0; k < FINE; k++) {
            double acceleration =
                -gravity_ms2 * (slope + crr) - 0.5 * density_kgm3 * cda_m2 * fast * fast / mass_kg;
            if (run == BRAKED && i == AT_S) acceleration -= taken_ms;
            at += (fast + 0.5 * acceleration / FINE) / FINE;
            fast += acceleration / FINE;
        }
    }
    ck_assert_int_eq(cw_run_data_make(SECONDS, time, v, s, speed, place, height, data, &error),
                     CW_OK);
    data->bicycle = (struct cw_bicycle){.mass_kg = mass_kg, .wheel_radius_m = 0.33};
    data->surroundings =
        (struct cw_surroundings){.density_kgm3 = density_kgm3, .gravity_ms2 = gravity_ms2};
    data->run = run;
}

static void make(struct cw_joint *joint) {
    static const struct cw_joint_priors priors = {
        .offset_sd_m = 5, .shift_sd_m = 20, .scale_sd = 0.005, .cda_m2 = {0.35, 0.3}};
    static const struct cw_crr_prior crr_prior = {{0.005, 0.0005}, true};
    struct cw_run_data *data = calloc(RUNS, sizeof *data);
    struct cw_error error;
    unsigned long seed = 7;
    double change;
    for (size_t i = 0; i < RUNS; i++) coast(i, &data[i], &seed);
    ck_assert_int_eq(cw_joint_make(data, RUNS, 1, 1, 1, &priors, &crr_prior, 15, joint, &error),
                     CW_OK);
    cw_joint_linearise(joint);
    for (int round = 0; round < 3; round++)
        ck_assert_int_eq(cw_joint_advance(joint, &noise, &change, &error), CW_OK);
}

static size_t count(const struct cw_run_data *data, enum cw_break kind) {
    size_t n = 0;
    for (size_t i = 0; i + 1 < data->n; i++) n += data->break_sd_m[kind][i] > 0;
    return n;
}

START_TEST(brake_and_jump_are_found_where_they_were) {
    struct cw_joint joint;
    struct cw_error error;
    bool changed;
    make(&joint);
    /* one in a hundred steps at a time */
    for (int k = 0; k < 2; k++) {
        ck_assert_int_eq(cw_breaks_find(&joint, &noise, &changed, &error), CW_OK);
        ck_assert(changed);
    }
    for (size_t i = 0; i < RUNS; i++) {
        ck_assert_uint_eq(count(&joint.data[i], CW_BREAK_LOSS), i == BRAKED);
        ck_assert_uint_eq(count(&joint.data[i], CW_BREAK_JUMP), i == JUMPED);
    }
    const struct cw_run_data *data = &joint.data[BRAKED];
    ck_assert_double_gt(data->break_sd_m[CW_BREAK_LOSS][AT_S], 0);
    double by_speed = data->speed_ms[AT_S] / gravity_ms2; /* d(v2/2g) = v dv / g */
    /* at five times its error at the least, it is known to two fifths */
    ck_assert_double_eq_tol(data->break_m[CW_BREAK_LOSS][AT_S], by_speed * taken_ms,
                            0.4 * by_speed * taken_ms);

    struct cw_fit_break *losses;
    size_t n;
    ck_assert_int_eq(cw_breaks_list(&joint, BRAKED, CW_BREAK_LOSS, &losses, &n, &error), CW_OK);
    ck_assert_uint_eq(n, 1);
    ck_assert_double_eq(losses[0].at_m, data->s_m[AT_S]);
    ck_assert_double_eq(losses[0].height_m, data->break_m[CW_BREAK_LOSS][AT_S]);
    ck_assert_double_eq_tol(losses[0].speed_ms, taken_ms, 0.4 * taken_ms);
    free(losses);
    ck_assert_int_eq(cw_breaks_list(&joint, 0, CW_BREAK_LOSS, &losses, &n, &error), CW_OK);
    ck_assert_uint_eq(n, 0);
    ck_assert_ptr_null(losses);
    ck_assert_int_eq(cw_breaks_list(&joint, JUMPED, CW_BREAK_JUMP, &losses, &n, &error), CW_OK);
    ck_assert_uint_eq(n, 1);
    ck_assert_double_eq(losses[0].at_m, joint.data[JUMPED].s_m[JUMPED_S]);
    ck_assert_double_eq_tol(losses[0].height_m, jump_m, 0.15);
    ck_assert_double_eq(losses[0].speed_ms, 0);
    free(losses);

    /* Once it is known, nothing more is found, and CdA is that of the others. */
    ck_assert_int_eq(cw_breaks_find(&joint, &noise, &changed, &error), CW_OK);
    ck_assert(!changed);
    cw_joint_free(&joint);
}
END_TEST

START_TEST(what_was_not_is_taken_back) {
    struct cw_joint joint;
    struct cw_error error;
    bool changed;
    make(&joint);
    for (enum cw_break kind = 0; kind < CW_BREAKS; kind++)
        joint.data[0].break_sd_m[kind][12] = joint.data[0].break_m[kind][12] = 0.5;
    cw_joint_linearise(&joint);
    ck_assert_int_eq(cw_breaks_find(&joint, &noise, &changed, &error), CW_OK);
    ck_assert(changed);
    for (enum cw_break kind = 0; kind < CW_BREAKS; kind++) {
        ck_assert_double_eq(joint.data[0].break_sd_m[kind][12], 0);
        ck_assert_double_eq(joint.data[0].break_m[kind][12], 0);
        ck_assert_uint_eq(count(&joint.data[0], kind), 0);
    }
    cw_joint_free(&joint);
}
END_TEST

int main(void) {
    Suite *suite = suite_create("fit/breaks");
    TCase *tests = tcase_create("breaks");
    tcase_add_test(tests, brake_and_jump_are_found_where_they_were);
    tcase_add_test(tests, what_was_not_is_taken_back);
    suite_add_tcase(suite, tests);
    SRunner *runner = srunner_create(suite);
    srunner_run_all(runner, CK_ENV);
    int failed = srunner_ntests_failed(runner);
    srunner_free(runner);
    return failed ? EXIT_FAILURE : EXIT_SUCCESS;
}
