#include <check.h>
#include <math.h>
#include <stdlib.h>
#include <time.h>

#include "motion/height.h"
#include "motion/motion.h"
#include "road_outing.h"

static bool coasts(const struct made_outing *outing, size_t i) {
    double t = outing->recording.samples.time_s[i];
    for (int k = 0; k < outing->n; k++)
        if (t > outing->start_s[k] + 3 && t < outing->end_s[k] - 3) return true;
    return false;
}

/* Over the true coasts; speed must be known everywhere. */
static double speed_error(const struct made_outing *outing, const struct cw_motion *motion) {
    double square = 0, count = 0;
    for (size_t i = 0; i < motion->n; i++) {
        ck_assert_msg(isfinite(motion->speed_ms[i]), "sample %zu", i);
        if (!coasts(outing, i)) continue;
        double off = motion->speed_ms[i] - outing->true_speed_ms[i];
        square += off * off;
        count++;
    }
    return sqrt(square / count);
}

/* Smooth over true way, over the true coasts. */
static double distance_ratio(const struct made_outing *outing, const struct cw_motion *motion) {
    double made = 0, seen = 0;
    for (size_t i = 1; i < motion->n; i++) {
        if (!coasts(outing, i)) continue;
        made += fabs(outing->true_s_m[i] - outing->true_s_m[i - 1]);
        seen += motion->distance_m[i] - motion->distance_m[i - 1];
    }
    return seen / made;
}

START_TEST(each_source_gives_speed_and_distance) {
    static const struct {
        bool speed, distance;
        double most_dt_s;
        enum cw_speed_source source;
        double error_ms, scale;
    } cases[] = {{true, true, 1, CW_SPEED_DEVICE, 0.13, 0.002},
                 {false, true, 1, CW_SPEED_DISTANCE, 0.15, 0.002},
                 {false, false, 1, CW_SPEED_POSITION, 0.35, 0.005},
                 {false, false, 8, CW_SPEED_POSITION, 0.6, 0.02},
                 {true, true, 8, CW_SPEED_DEVICE, 0.5, 0.01}};
    for (size_t k = 0; k < sizeof cases / sizeof *cases; k++) {
        struct made_options o = made_options_default(3);
        o.runs = 3;
        o.speed = cases[k].speed;
        o.distance = cases[k].distance;
        o.most_dt_s = cases[k].most_dt_s;
        struct made_outing outing = made_outing_make(&o);
        struct cw_motion motion;
        ck_assert_int_eq(cw_motion_make(&outing.recording, &motion, NULL), CW_OK);
        ck_assert_int_eq(motion.source, cases[k].source);
        double error = speed_error(&outing, &motion), ratio = distance_ratio(&outing, &motion);
        ck_assert_msg(error < cases[k].error_ms, "case %zu: %g m/s", k, error);
        ck_assert_msg(fabs(ratio - 1) < cases[k].scale, "case %zu: %g", k, ratio);
        ck_assert_double_eq(motion.elevation_step_m, 0.2);
        /* 0.2 m of white error a coordinate, and the wander's step from point to point. */
        if (cases[k].most_dt_s == 1) {
            ck_assert_double_gt(motion.position_sd_m, 0.12);
            ck_assert_double_lt(motion.position_sd_m, 0.45);
        }
        if (cases[k].source == CW_SPEED_DEVICE && cases[k].most_dt_s == 1)
            ck_assert_double_eq_tol(motion.speed_sd_ms, 0.1, 0.03);
        cw_motion_free(&motion);
        made_outing_free(&outing);
    }
}
END_TEST

START_TEST(dead_speed_is_not_believed) {
    /* A speed column that froze at 3 m/s, one that is half zeros, one twice too large. */
    for (int fault = 0; fault < 3; fault++) {
        struct made_options o = made_options_default(4);
        o.runs = 2;
        o.distance = false;
        struct made_outing outing = made_outing_make(&o);
        struct cw_samples *s = &outing.recording.samples;
        for (size_t i = 0; i < s->n; i++)
            s->speed_ms[i] = fault == 0    ? 3.0
                             : fault == 2  ? 2 * s->speed_ms[i]
                             : i / 200 % 2 ? 0.0
                                           : s->speed_ms[i];
        struct cw_motion motion;
        ck_assert_int_eq(cw_motion_make(&outing.recording, &motion, NULL), CW_OK);
        ck_assert_int_eq(motion.source, CW_SPEED_POSITION);
        cw_motion_free(&motion);
        made_outing_free(&outing);
    }
}
END_TEST

START_TEST(frozen_and_restarting_distance) {
    /* Regression: a distance that the recorder renews every 5 s must not be read as standing still
     * in between; one that restarts must not be read as going back. */
    struct made_options o = made_options_default(6);
    o.runs = 2;
    o.speed = false;
    o.positions = false;
    struct made_outing outing = made_outing_make(&o);
    struct cw_samples *s = &outing.recording.samples;
    double held = 0, base = 0;
    for (size_t i = 0; i < s->n; i++) {
        double d = s->distance_m[i];
        if (i == s->n / 2) base = d;
        if (i % 5 == 0) held = d - base;
        s->distance_m[i] = held;
    }
    struct cw_motion motion;
    ck_assert_int_eq(cw_motion_make(&outing.recording, &motion, NULL), CW_OK);
    ck_assert_int_eq(motion.source, CW_SPEED_DISTANCE);
    /* Beside the restart, where the smoother begins anew from one value in 5 s, speed is rough. */
    double worst = 0;
    for (size_t i = 0; i < s->n; i++)
        if (coasts(&outing, i) && labs((long)i - (long)(s->n / 2)) > 15)
            worst = fmax(worst, fabs(motion.speed_ms[i] - outing.true_speed_ms[i]));
    ck_assert_double_lt(worst, 1.0);
    ck_assert_double_eq_tol(distance_ratio(&outing, &motion), 1.0, 0.02);
    cw_motion_free(&motion);
    made_outing_free(&outing);
}
END_TEST

START_TEST(gaps_are_marked) {
    struct made_options o = made_options_default(7);
    o.runs = 2;
    o.speed = o.distance = false;
    struct made_outing outing = made_outing_make(&o);
    struct cw_samples *s = &outing.recording.samples;
    for (size_t i = 300; i < s->n; i++) s->time_s[i] += 10.5;
    s->break_before[400] = true;
    for (size_t i = 500; i < 515; i++) s->latitude_deg[i] = s->longitude_deg[i] = NAN;
    for (size_t i = 600; i < 605; i++) s->latitude_deg[i] = s->longitude_deg[i] = NAN;
    for (size_t i = 700; i < 703; i++) s->elevation_m[i] = NAN;
    for (size_t i = 800; i < 808; i++) s->elevation_m[i] = NAN;
    struct cw_motion motion;
    ck_assert_int_eq(cw_motion_make(&outing.recording, &motion, NULL), CW_OK);
    for (size_t i = 0; i < s->n; i++) {
        bool gap = i == 300 || i == 400 || i == 515;
        ck_assert_msg(motion.gap_before[i] == gap, "sample %zu", i);
        ck_assert_msg(isnan(motion.height_m[i]) == (i >= 800 && i < 808), "sample %zu", i);
        if (i != 0) ck_assert_double_ge(motion.distance_m[i], motion.distance_m[i - 1]);
    }
    ck_assert(isnan(motion.speed_ms[512]));
    ck_assert(isfinite(motion.speed_ms[602]));
    cw_motion_free(&motion);
    made_outing_free(&outing);
}
END_TEST

START_TEST(a_gap_is_as_long_as_was_counted) {
    /* Regression: over a hole the way was taken straight though the device had counted it, and
     * where the road bends a coast that went on through was not believed to. */
    enum { SAMPLES = 120, HOLE = 60 };
    for (int counts = 0; counts < 3; counts++) {
        struct made_options o = made_options_default(13);
        struct made_outing outing = made_outing_make(&o);
        struct cw_samples *s = &outing.recording.samples;
        s->n = SAMPLES;
        for (size_t i = 0; i < SAMPLES; i++) {
            /* 10 m/s along a circle of 30 m, 20 s of it not recorded. */
            double t = (double)i + (i >= HOLE ? 20 : 0), angle = 10 * t / 30;
            s->time_s[i] = 1e9 + t;
            s->latitude_deg[i] = 45 + 30 * sin(angle) / 111132;
            s->longitude_deg[i] = 7 + 30 * cos(angle) / 78847;
            s->speed_ms[i] = 10;
            s->distance_m[i] = 10 * t;
            s->elevation_m[i] = 200;
            s->break_before[i] = false;
            /* A count that is not there, and one that stood still meanwhile. */
            if (counts == 0) s->distance_m[i] = NAN;
            if (counts == 1) s->distance_m[i] -= i >= HOLE ? 195 : 0;
        }
        struct cw_motion motion;
        ck_assert_int_eq(cw_motion_make(&outing.recording, &motion, NULL), CW_OK);
        double way = motion.distance_m[HOLE] - motion.distance_m[HOLE - 1];
        double straight = 2 * 30 * fabs(sin(21.0 * 10 / 30 / 2));
        ck_assert_double_eq_tol(way, counts == 2 ? 210 : straight, 1);
        cw_motion_free(&motion);
        made_outing_free(&outing);
    }
}
END_TEST

START_TEST(slope_is_the_roads) {
    struct made_options o = made_options_default(8);
    o.runs = 2;
    o.drift_m = 0;
    struct made_outing outing = made_outing_make(&o);
    struct cw_motion motion;
    ck_assert_int_eq(cw_motion_make(&outing.recording, &motion, NULL), CW_OK);
    double square = 0, count = 0;
    for (size_t i = 1; i + 1 < motion.n; i++) {
        double s = outing.true_s_m[i];
        if (outing.true_speed_ms[i] < 5) continue;
        double direction = outing.true_s_m[i + 1] > outing.true_s_m[i - 1] ? 1 : -1;
        double truth =
            direction *
            (made_height(s + 10, o.grade, o.rise) - made_height(s - 10, o.grade, o.rise)) / 20;
        square += (motion.slope[i] - truth) * (motion.slope[i] - truth);
        count++;
    }
    ck_assert_double_lt(sqrt(square / count), 0.008);
    cw_motion_free(&motion);
    made_outing_free(&outing);
}
END_TEST

START_TEST(steps_of_heights) {
    /* And how far heights move in a sample: a foot is told from 0.3 m where that is some steps. */
    static const struct {
        double step_m, sd_m;
    } rows[] = {{1.0, 0.3}, {0.5, 0.3}, {0.3048, 0.3}, {0.2, 0.3}, {0.1, 0.3}, {0.0, 0.3},
                {5.0, 3.0}, {2.0, 1.5}, {0.3048, 1.5}, {0.3, 1.5}, {0.4, 0.6}, {0.25, 0.3}};
    double heights[2000];
    for (size_t k = 0; k < sizeof rows / sizeof *rows; k++) {
        double step_m = rows[k].step_m;
        struct made_rng rng = {12345 + k};
        double h = 400;
        for (size_t i = 0; i < 2000; i++) {
            h += rows[k].sd_m * made_normal(&rng);
            double seen = step_m > 0 ? 0.07 + step_m * round(h / step_m) : h;
            heights[i] = round(seen * 1000) / 1000; /* as a file writes it */
        }
        ck_assert_double_eq(cw_height_step(2000, heights), step_m);
    }
}
END_TEST

START_TEST(a_level_road_needs_no_heights) {
    struct made_options o = made_options_default(9);
    o.runs = 1;
    struct made_outing outing = made_outing_make(&o);
    struct cw_motion with, without;
    struct cw_error error;
    ck_assert_int_eq(cw_motion_make(&outing.recording, &with, &error), CW_OK);
    outing.recording.has_elevation = false;
    for (size_t i = 0; i < with.n; i++) outing.recording.samples.elevation_m[i] = NAN;
    ck_assert_int_eq(cw_motion_make_level(&outing.recording, &without, &error), CW_OK);
    for (size_t i = 0; i < with.n; i++) {
        ck_assert(without.height_m[i] == 0 && without.slope[i] == 0);
        ck_assert_double_eq_tol(without.speed_ms[i], with.speed_ms[i], 1e-9);
    }
    cw_motion_free(&with);
    cw_motion_free(&without);
    made_outing_free(&outing);
}
END_TEST

START_TEST(nothing_to_go_by) {
    struct made_options o = made_options_default(9);
    o.runs = 1;
    o.positions = o.speed = o.distance = false;
    struct made_outing outing = made_outing_make(&o);
    struct cw_motion motion;
    struct cw_error error;
    ck_assert_int_eq(cw_motion_make(&outing.recording, &motion, &error), CW_E_DATA);
    cw_motion_free(&motion);
    outing.recording.has_position = true;
    outing.recording.has_elevation = false;
    ck_assert_int_eq(cw_motion_make(&outing.recording, &motion, &error), CW_E_DATA);
    cw_motion_free(&motion);
    made_outing_free(&outing);
}
END_TEST

int main(void) {
    Suite *suite = suite_create("road_motion");
    TCase *all = tcase_create("motion");
    tcase_set_timeout(all, 60);
    tcase_add_test(all, each_source_gives_speed_and_distance);
    tcase_add_test(all, dead_speed_is_not_believed);
    tcase_add_test(all, frozen_and_restarting_distance);
    tcase_add_test(all, gaps_are_marked);
    tcase_add_test(all, a_gap_is_as_long_as_was_counted);
    tcase_add_test(all, slope_is_the_roads);
    tcase_add_test(all, steps_of_heights);
    tcase_add_test(all, a_level_road_needs_no_heights);
    tcase_add_test(all, nothing_to_go_by);
    suite_add_tcase(suite, all);
    SRunner *runner = srunner_create(suite);
    srunner_run_all(runner, CK_NORMAL);
    int failed = srunner_ntests_failed(runner);
    srunner_free(runner);
    return failed ? EXIT_FAILURE : EXIT_SUCCESS;
}
