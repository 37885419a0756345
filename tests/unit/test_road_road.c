#include <check.h>
#include <math.h>
#include <stdlib.h>

#include "road/line.h"
#include "road/road.h"
#include "road/shared.h"
#include "road_outing.h"

struct trial {
    struct made_outing outing;
    struct cw_motion motion;
    struct cw_runs runs;
    struct cw_road road;
    struct cw_along *along;
};

static struct trial trial_make(const struct made_options *o) {
    struct trial t = {.outing = made_outing_make(o)};
    struct cw_runs_options options = cw_runs_options_default();
    ck_assert_int_eq(cw_motion_make(&t.outing.recording, &t.motion, NULL), CW_OK);
    ck_assert_int_eq(cw_runs_find(&t.outing.recording, &t.motion, 1, &options, &t.runs, NULL),
                     CW_OK);
    ck_assert_int_eq(cw_roads_number(&t.outing.recording, &t.motion, &t.runs, NULL), CW_OK);
    t.along = calloc(t.runs.n, sizeof *t.along);
    ck_assert_int_eq(
        cw_road_make(&t.outing.recording, &t.motion, &t.runs, 0, &t.road, t.along, NULL), CW_OK);
    return t;
}

static void trial_free(struct trial *t) {
    for (size_t r = 0; r < t->runs.n; r++) cw_along_free(&t->along[r]);
    free(t->along);
    cw_road_free(&t->road);
    cw_runs_free(&t->runs);
    cw_motion_free(&t->motion);
    made_outing_free(&t->outing);
}

/* Where the truth lies on the road: mean over all runs of true s less s_m. */
static double origin(const struct trial *t) {
    double sum = 0, count = 0;
    for (size_t r = 0; r < t->runs.n; r++)
        for (size_t i = 0; i < t->along[r].n; i++, count++)
            sum += t->outing.true_s_m[t->runs.at[r].first + i] - t->along[r].s_m[i];
    return sum / count;
}

static void check_places(const struct trial *t, double most_shift_m, double most_sd_m) {
    double zero = origin(t);
    for (size_t r = 0; r < t->runs.n; r++) {
        const struct cw_along *a = &t->along[r];
        if (!t->runs.at[r].kept) {
            ck_assert_ptr_null(a->s_m);
            continue;
        }
        ck_assert_uint_eq(a->n, t->runs.at[r].last - t->runs.at[r].first + 1);
        double mean = 0, square = 0, raw = 0;
        for (size_t i = 0; i < a->n; i++) {
            double truth = t->outing.true_s_m[t->runs.at[r].first + i] - zero;
            mean += (a->s_m[i] - truth) / (double)a->n;
            square += (a->s_m[i] - truth) * (a->s_m[i] - truth) / (double)a->n;
            raw = fmax(raw, fabs(a->road_m[i] - truth));
        }
        ck_assert_msg(fabs(mean) < most_shift_m, "run %zu: shift %g", r, mean);
        ck_assert_msg(sqrt(fmax(0, square - mean * mean)) < most_sd_m, "run %zu: sd %g", r,
                      sqrt(square - mean * mean));
        ck_assert_msg(raw < 15, "run %zu: a position %g m off", r, raw);
    }
}

/* A quarter of a circle of 80 m between two straights. */
START_TEST(bends) {
    enum { N = 80 };
    double s[N], east[N], north[N];
    const double radius = 80, quarter = radius * asin(1.0);
    for (int i = 0; i < N; i++) {
        s[i] = 5.0 * i;
        double turned = fmin(fmax(s[i] - 100, 0), quarter) / radius,
               after = fmax(s[i] - 100 - quarter, 0);
        east[i] = fmin(s[i], 100) + radius * sin(turned);
        north[i] = radius * (1 - cos(turned)) + after;
    }
    const struct cw_road road = {.n = N, .s_m = s, .east_m = east, .north_m = north};
    ck_assert_double_eq_tol(cw_road_curvature(&road, 50), 0, 1e-12);
    ck_assert_double_eq_tol(cw_road_curvature(&road, 160), 1 / radius, 1e-4);
    ck_assert_double_eq_tol(cw_road_curvature(&road, 300), 0, 1e-12);
    ck_assert_double_eq(cw_road_curvature(&road, -1), 0);
    ck_assert_double_eq(cw_road_curvature(&road, 1000), 0);
    ck_assert_double_eq(cw_road_curvature(&(struct cw_road){0}, 10), 0);
}
END_TEST

START_TEST(line_and_places) {
    for (uint64_t seed = 1; seed <= 4; seed++)
        for (int speed = 0; speed < 2; speed++) {
            struct made_options o = made_options_default(seed);
            o.speed = o.distance = speed;
            struct trial t = trial_make(&o);
            /* The mean of 8 runs with a wander of 2 m is right to some 0.7 m; a run's own shift is
             * the mean of its wander along the road. */
            check_places(&t, 3.5, speed ? 1.2 : 3.0);
            ck_assert_double_gt(t.road.spread_m, 0.8);
            ck_assert_double_lt(t.road.spread_m, 3.0);
            /* Length: by the line as by the truth, to 0.5 % and the wander of the two runs at its
             * ends. */
            double first = 1e9, last = -1e9;
            for (size_t r = 0; r < t.runs.n; r++) {
                if (!t.runs.at[r].kept) continue;
                first = fmin(first, t.outing.true_s_m[t.runs.at[r].first]);
                last = fmax(last, t.outing.true_s_m[t.runs.at[r].last]);
                ck_assert_double_eq_tol(t.along[r].scale, 1, 0.015);
                ck_assert_double_lt(t.along[r].tie_sd_m, 4);
            }
            ck_assert_double_eq_tol(t.road.s_m[t.road.n - 1], last - first,
                                    0.005 * (last - first) + 9);
            for (size_t k = 1; k < t.road.n; k++)
                ck_assert_double_eq_tol(t.road.s_m[k] - t.road.s_m[k - 1], 5, 0.1);
            trial_free(&t);
        }
}
END_TEST

/* A position every 6 to 8 s, some 80 m: chords cut bends, and a line through the positions of runs
 * that each wander by metres goes from side to side. */
START_TEST(few_positions_make_as_good_a_line) {
    double error = 0;
    enum { SEEDS = 6 };
    for (uint64_t seed = 1; seed <= SEEDS; seed++) {
        struct made_options o = made_options_default(seed);
        o.least_dt_s = 6;
        o.most_dt_s = 8;
        struct trial t = trial_make(&o);
        double true_m = 0, line_m = 0;
        for (size_t r = 0; r < t.runs.n; r++) {
            const struct cw_run *run = &t.runs.at[r];
            if (!run->kept) continue;
            true_m += t.outing.true_s_m[run->last] - t.outing.true_s_m[run->first];
            line_m += t.along[r].road_m[t.along[r].n - 1] - t.along[r].road_m[0];
        }
        error += (line_m / true_m - 1) / SEEDS;
        ck_assert_double_eq_tol(line_m / true_m, 1, 0.01);
        trial_free(&t);
    }
    ck_assert_double_eq_tol(error, 0, 0.004);
}
END_TEST

START_TEST(runs_of_all_lengths_make_one_road) {
    struct made_options o = made_options_default(31);
    struct trial t = trial_make(&o);
    /* The first and second halves of runs only, but for one whole in the middle that is cut too. */
    for (size_t r = 0, k = 0; r < t.runs.n; r++) {
        struct cw_run *run = &t.runs.at[r];
        cw_along_free(&t.along[r]);
        if (!run->kept) continue;
        size_t length = run->last - run->first;
        if (k % 3 == 0) run->last -= length / 3;
        if (k % 3 == 1) run->first += length / 3;
        if (k % 3 == 2) {
            run->first += length / 4;
            run->last -= length / 4;
        }
        k++;
    }
    double first = 1e9, last = -1e9;
    for (size_t r = 0; r < t.runs.n; r++) {
        if (!t.runs.at[r].kept) continue;
        first = fmin(first, t.outing.true_s_m[t.runs.at[r].first]);
        last = fmax(last, t.outing.true_s_m[t.runs.at[r].last]);
    }
    cw_road_free(&t.road);
    ck_assert_int_eq(
        cw_road_make(&t.outing.recording, &t.motion, &t.runs, 0, &t.road, t.along, NULL), CW_OK);
    ck_assert_double_eq_tol(t.road.s_m[t.road.n - 1], last - first, 10);
    check_places(&t, 4, 1.2);
    trial_free(&t);
}
END_TEST

/* The rides back up, taken for runs too. Runs down end at to_m, rides up begin from there or above
 * from_m. */
static struct cw_runs take_both(const struct trial *t, double from_m, double to_m) {
    struct cw_runs both = {.capacity = 2 * t->runs.n};
    both.at = calloc(both.capacity, sizeof *both.at);
    const double *true_s_m = t->outing.true_s_m;
    for (size_t r = 0; r < t->runs.n; r++) {
        if (!t->runs.at[r].kept) continue;
        struct cw_run down = t->runs.at[r];
        while (true_s_m[down.last] > to_m) down.last--;
        if (both.n) { /* from where it rolls uphill again to 30 m below the top, or to from_m */
            struct cw_run back = t->runs.at[r];
            back.first = both.at[both.n - 1].last;
            back.last = t->runs.at[r].first;
            while (true_s_m[back.first] <= true_s_m[back.first + 1]) back.first++;
            double top = fmax(from_m, true_s_m[t->runs.at[r].first] + 30);
            while (true_s_m[back.last] <= top) back.last--;
            both.at[both.n++] = back;
        }
        both.at[both.n++] = down;
    }
    ck_assert_uint_eq(both.n, 15);
    return both;
}

/* The same road ridden the other way, each place on it as far from the one end as the line is long
 * less what it is from the other. */
static void check_both_ways(double from_m, double to_m) {
    struct made_options o = made_options_default(31);
    struct trial t = trial_make(&o);
    struct cw_runs both = take_both(&t, from_m, to_m);
    ck_assert_int_eq(cw_roads_number(&t.outing.recording, &t.motion, &both, NULL), CW_OK);
    ck_assert_uint_eq(both.n_roads, 1);
    struct cw_along *along = calloc(both.n, sizeof *along);
    struct cw_road road;
    ck_assert_int_eq(cw_road_make(&t.outing.recording, &t.motion, &both, 0, &road, along, NULL),
                     CW_OK);
    double zero = 0, count = 0;
    for (int round = 0; round < 2; round++)
        for (size_t r = 0; r < both.n; r++) {
            const struct cw_run *run = &both.at[r];
            ck_assert(run->reversed == (r % 2 == 1));
            ck_assert_double_gt(along[r].s_m[along[r].n - 1], along[r].s_m[0]);
            for (size_t i = 0; i < along[r].n; i++) {
                double s = run->reversed ? road.s_m[road.n - 1] - along[r].s_m[i] : along[r].s_m[i];
                double off = t.outing.true_s_m[run->first + i] - s;
                if (round) ck_assert_double_eq_tol(off, zero / count, 8);
                zero += round ? 0 : off;
                count += round ? 0 : 1;
            }
        }
    for (size_t r = 0; r < both.n; r++) cw_along_free(&along[r]);
    free(along);
    free(both.at);
    cw_road_free(&road);
    trial_free(&t);
}

START_TEST(ridden_both_ways) {
    check_both_ways(0, 1e4);
}
END_TEST

/* Only a fifth of the road in common, as of who coasts into a dip from either side: what lies
 * beyond the end of a line has no say in where it is. */
START_TEST(ridden_both_ways_in_part) {
    check_both_ways(420, 530);
}
END_TEST

/* Lines beside each other that go the same way are one road where heights drift by 20 m, and two
 * where every second lies 45 m above the others, as the arms of hairpins do. */
START_TEST(arms_that_go_the_same_way) {
    for (int above = 0; above < 2; above++) {
        struct made_options o = made_options_default(31);
        struct trial t = trial_make(&o);
        size_t k = 0;
        for (size_t r = 0; r < t.runs.n; r++) {
            const struct cw_run *run = &t.runs.at[r];
            if (!run->kept) continue;
            for (size_t i = run->first; k % 2 && i <= run->last; i++)
                t.outing.recording.samples.elevation_m[i] += above ? 45 : 20;
            k++;
        }
        ck_assert_uint_eq(k, 8);
        ck_assert_int_eq(cw_roads_number(&t.outing.recording, &t.motion, &t.runs, NULL), CW_OK);
        ck_assert_uint_eq(t.runs.n_roads, above ? 2 : 1);
        k = 0;
        for (size_t r = 0; r < t.runs.n; r++)
            if (t.runs.at[r].kept) ck_assert_uint_eq(t.runs.at[r].road, above ? k++ % 2 : 0);
        trial_free(&t);
    }
}
END_TEST

/* Who rides back beside it and goes down there too is on another road: on the next arm of a
 * hairpin. Down one arm and then the other is a descent in two pieces, and both roads are kept. */
START_TEST(arms_of_a_hairpin) {
    struct made_options o = made_options_default(31);
    struct trial t = trial_make(&o);
    struct cw_runs arms = take_both(&t, 0, 1e4);
    for (size_t r = 0; r < arms.n; r++) {
        struct cw_run *run = &arms.at[r];
        for (size_t i = run->first; r % 2 && i <= run->last; i++)
            t.outing.recording.samples.elevation_m[i] *= -1;
        run->start_s = 100 * (double)r;
        run->duration_s = 60;
    }
    ck_assert_int_eq(cw_roads_number(&t.outing.recording, &t.motion, &arms, NULL), CW_OK);
    for (int kept = 0; kept < 2; kept++) {
        ck_assert_uint_eq(arms.n_roads, 2);
        ck_assert_uint_eq(arms.n_descents, 8);
        ck_assert(arms.in_pieces);
        for (size_t r = 0; r < arms.n; r++) {
            ck_assert(arms.at[r].kept && !arms.at[r].reversed);
            ck_assert_uint_eq(arms.at[r].road, r % 2);
            ck_assert_uint_eq(arms.at[r].descent, r / 2 + 1);
        }
        ck_assert_int_eq(cw_roads_keep_one(&arms, NULL), CW_OK);
    }
    /* Where there is time to ride back up they are no pieces, and the other road goes. */
    for (size_t r = 0; r < arms.n; r++) arms.at[r].start_s = 300 * (double)r;
    ck_assert_int_eq(cw_roads_number(&t.outing.recording, &t.motion, &arms, NULL), CW_OK);
    ck_assert_uint_eq(arms.n_descents, 15);
    ck_assert(!arms.in_pieces);
    ck_assert_int_eq(cw_roads_keep_one(&arms, NULL), CW_OK);
    ck_assert_uint_eq(arms.n_roads, 1);
    for (size_t r = 0; r < arms.n; r++) ck_assert(arms.at[r].kept == (r % 2 == 0));
    free(arms.at);
    trial_free(&t);
}
END_TEST

START_TEST(no_positions_no_line) {
    struct made_options o = made_options_default(32);
    o.positions = false;
    struct trial t = trial_make(&o);
    ck_assert_uint_eq(t.road.n, 0);
    for (size_t r = 0; r < t.runs.n; r++) {
        if (!t.runs.at[r].kept) continue;
        ck_assert_double_eq(t.along[r].s_m[0], 0);
        ck_assert(isnan(t.along[r].road_m[0]));
        ck_assert(isnan(t.along[r].scale));
        ck_assert_double_gt(t.along[r].s_m[t.along[r].n - 1], 700);
    }
    struct cw_road none;
    ck_assert_int_eq(cw_road_make(&t.outing.recording, &t.motion, &t.runs, 7, &none, t.along, NULL),
                     CW_E_ARGUMENT);
    trial_free(&t);
}
END_TEST

/* Two arms 12 m apart joined by a half circle. */
static void hairpin_at(double s, double *east, double *north) {
    double arm = 300, radius = 6, bend = acos(-1.0) * radius;
    *east = s < arm ? 0 : s < arm + bend ? radius - radius * cos((s - arm) / radius) : 2 * radius;
    *north = s < arm          ? s
             : s < arm + bend ? arm + radius * sin((s - arm) / radius)
                              : arm - (s - arm - bend);
}

START_TEST(no_jump_between_the_arms_of_a_hairpin) {
    /* Regression: wander of 4 m between arms 12 m apart must not put a position on the other arm.
     */
    enum { RUNS = 4, SAMPLES = 61 };
    struct made_options o = made_options_default(33);
    o.runs = 1;
    o.ordinary_s = 0;
    struct made_outing outing = made_outing_make(&o);
    struct cw_samples *s = &outing.recording.samples;
    struct cw_motion motion;
    ck_assert_int_eq(cw_motion_make(&outing.recording, &motion, NULL), CW_OK);
    struct made_rng rng = {5};
    struct cw_run at[RUNS] = {0};
    ck_assert_uint_gt(s->n, RUNS * SAMPLES);
    for (size_t r = 0; r < RUNS; r++) {
        double wander = 4 * made_normal(&rng);
        at[r] = (struct cw_run){.first = r * SAMPLES, .last = (r + 1) * SAMPLES - 1, .kept = true};
        for (size_t i = 0; i < SAMPLES; i++) {
            double east, north, d = 10 * (double)i;
            size_t j = r * SAMPLES + i;
            hairpin_at(d, &east, &north);
            motion.distance_m[j] = 1e4 * (double)r + d;
            s->longitude_deg[j] = 8 + (east + wander + 0.3 * made_normal(&rng)) / 76055.998301;
            s->latitude_deg[j] = 47 + (north + 0.3 * made_normal(&rng)) / 111170.841503;
        }
    }
    struct cw_runs runs = {.n = RUNS, .at = at, .n_roads = 1};
    struct cw_road road;
    struct cw_along along[RUNS];
    ck_assert_int_eq(cw_road_make(&outing.recording, &motion, &runs, 0, &road, along, NULL), CW_OK);
    for (size_t r = 0; r < RUNS; r++) {
        for (size_t i = 0; i < SAMPLES; i++)
            ck_assert_msg(fabs(along[r].road_m[i] - 10 * (double)i) < 20, "run %zu sample %zu: %g",
                          r, i, along[r].road_m[i]);
        cw_along_free(&along[r]);
    }
    cw_road_free(&road);
    cw_motion_free(&motion);
    made_outing_free(&outing);
}
END_TEST

START_TEST(projection_on_a_line) {
    double at[3] = {0, 30, 60}, east[3] = {0, 30, 60}, north[3] = {0, 0, 0}, s, left;
    struct cw_line line;
    ck_assert_int_eq(cw_line_smooth(3, at, east, north, 5, 10, &line, NULL), CW_OK);
    ck_assert_uint_eq(line.n, 13);
    cw_line_project(&line, 22, 3, 30, 50, 15, &s, &left);
    ck_assert_double_eq_tol(s, 22, 1e-6);
    ck_assert_double_eq_tol(left, 3, 1e-6);
    cw_line_project(&line, 71, -2, 65, 50, 15, &s, &left);
    ck_assert_double_eq_tol(s, 71, 1e-6);
    ck_assert_double_eq_tol(left, -2, 1e-6);
    cw_line_project(&line, -4, 1, -10, 30, 15, &s, &left);
    ck_assert_double_eq_tol(s, -4, 1e-6);
    double e, q;
    cw_line_at(&line, 65, &e, &q);
    ck_assert_double_eq_tol(e, 65, 1e-6);
    cw_line_at(&line, 12.5, &e, &q);
    ck_assert_double_eq_tol(e, 12.5, 1e-6);
    cw_line_free(&line);
}
END_TEST

int main(void) {
    Suite *suite = suite_create("road_road");
    TCase *all = tcase_create("road");
    tcase_set_timeout(all, 60);
    tcase_add_test(all, projection_on_a_line);
    tcase_add_test(all, bends);
    tcase_add_test(all, line_and_places);
    tcase_add_test(all, few_positions_make_as_good_a_line);
    tcase_add_test(all, runs_of_all_lengths_make_one_road);
    tcase_add_test(all, ridden_both_ways);
    tcase_add_test(all, ridden_both_ways_in_part);
    tcase_add_test(all, arms_of_a_hairpin);
    tcase_add_test(all, arms_that_go_the_same_way);
    tcase_add_test(all, no_positions_no_line);
    tcase_add_test(all, no_jump_between_the_arms_of_a_hairpin);
    suite_add_tcase(suite, all);
    SRunner *runner = srunner_create(suite);
    srunner_run_all(runner, CK_NORMAL);
    int failed = srunner_ntests_failed(runner);
    srunner_free(runner);
    return failed ? EXIT_FAILURE : EXIT_SUCCESS;
}
