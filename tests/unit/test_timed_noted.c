#include <check.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "simulate/random.h"
#include "simulate/settings.h"
#include "simulate/worlds.h"
#include "stats/student.h"
#include "timed/noted.h"
#include "true_place.h"

enum { MOST = 12 };

/* Values as people note them beside a recorder, of runs of two setups by turns. */
struct kind {
    const char *name;
    double from, spread, between;    /* the least, the scatter of runs, what the setups differ by */
    double noted_sd, recorded_sd;    /* as stated */
    double stretch;                  /* that noted_judge allows for */
    double stretch_from, stretch_to; /* what a difference of the recorded is in the noted */
    int decimals;
};

/* A tape beside a wheel that was tied to positions; beside one that rolled from a mark; a stopwatch
 * between marks about as far apart as the gates. The spreads are what light wind makes of runs of a
 * minute (the simulator's dip: 4 m, 0.5 s), three times over. */
static const struct kind kinds[] = {{"tape by positions", 25, 12, 15, 0.1, 1.2, 0, 1, 1, 1},
                                    {"tape from a mark", 25, 12, 15, 0.1, 0.5, 0, 1, 1, 1},
                                    {"stopwatch", 62, 1.5, 3, 0.2, 0.15, 0.3, 0.75, 1.35, 1}};

struct list {
    size_t n;
    double noted[MOST], recorded[MOST], error[MOST];
};

/* Stated errors are said too small or too large by up to that factor, either way. */
static void make(const struct kind *kind, size_t n, double wrong, struct cw_random *random,
                 struct list *list) {
    double scale = pow(10, kind->decimals), origin = cw_random_even(random, -300, 300);
    double stretch = cw_random_even(random, kind->stretch_from, kind->stretch_to);
    double noted_wrong = pow(wrong, cw_random_even(random, -1, 1));
    double recorded_wrong = pow(wrong, cw_random_even(random, -1, 1));
    list->n = n;
    for (size_t i = 0; i < n; i++) {
        double true_off =
            kind->spread * cw_random_normal(random) + kind->between * (double)((i + 1) / 2 % 2);
        double noted = kind->from + stretch * true_off +
                       noted_wrong * kind->noted_sd * cw_random_normal(random);
        list->noted[i] = rint(scale * noted) / scale;
        list->recorded[i] =
            origin + true_off + recorded_wrong * kind->recorded_sd * cw_random_normal(random);
        list->error[i] = hypot(kind->noted_sd, kind->recorded_sd);
    }
}

static size_t doubted_of(const struct kind *kind, const struct list *list, bool *doubted,
                         struct cw_noted_rest *rest) {
    struct cw_error error;
    size_t many = 0;
    ck_assert_int_eq(cw_noted_judge(list->n, list->noted, list->recorded, list->error,
                                    kind->stretch, doubted, rest, &error),
                     CW_OK);
    for (size_t i = 0; i < list->n; i++) many += doubted[i];
    return many;
}

START_TEST(runs_that_agree_raise_no_alarm) {
    /* With errors as stated, and wrong by up to a factor of 1.5 and of 2. */
    static const double most[] = {0.001, 0.005, 0.01};
    struct cw_random random = cw_random_make(7, 1);
    for (size_t k = 0; k < sizeof kinds / sizeof *kinds; k++)
        for (int w = 0; w < 3; w++) {
            double alarms = 0, outings = 0;
            for (size_t n = 3; n <= 8; n++)
                for (int r = 0; r < 2000; r++) {
                    struct list list;
                    struct cw_noted_rest rest;
                    bool doubted[MOST];
                    make(&kinds[k], n, 1 + 0.5 * w, &random, &list);
                    alarms += doubted_of(&kinds[k], &list, doubted, &rest) > 0;
                    outings += 1;
                }
            ck_assert_msg(alarms / outings < most[w], "%s, errors off by up to %g: %g of %g",
                          kinds[k].name, 1 + 0.5 * w, alarms, outings);
        }
    cw_random_free(&random);
}
END_TEST

/* The value with its i-th and next digits swapped, of "12.3". */
static double swapped(double value, int i) {
    double tenths = rint(10 * value);
    double low = i == 0 ? 10 : 1;
    double a = fmod(floor(tenths / (10 * low)), 10), b = fmod(floor(tenths / low), 10);
    return (tenths + (b - a) * (10 * low - low)) / 10;
}

START_TEST(swapped_digits_are_found) {
    /* Of tens and units, and of units and tenths: of those that make a difference, what part is
     * found. A tape's tenths are below what a recorder knows. */
    static const double least[][2] = {{0.85, 0}, {0.95, 0.3}, {0.95, 0.3}};
    struct cw_random random = cw_random_make(8, 1);
    for (size_t k = 0; k < sizeof kinds / sizeof *kinds; k++) {
        double caught[2] = {0}, named[2] = {0}, others[2] = {0}, all[2] = {0};
        for (size_t n = 3; n <= 8; n++)
            for (int r = 0; r < 1000; r++) {
                struct list list;
                struct cw_noted_rest rest;
                bool doubted[MOST];
                make(&kinds[k], n, 1, &random, &list);
                size_t at = cw_random_below(&random, n);
                int digit = (int)cw_random_below(&random, 2);
                double right = list.noted[at], wrong = swapped(right, digit);
                /* nobody writes a leading 0 */
                if (fabs(wrong - right) < 0.05 || right < 10 || right >= 100 || wrong < 10)
                    continue;
                list.noted[at] = wrong;
                size_t many = doubted_of(&kinds[k], &list, doubted, &rest);
                double back = cw_noted_swapped(wrong, 1, list.recorded[at] + rest.off,
                                               2.5 * hypot(rest.sd, list.error[at]));
                all[digit] += 1;
                caught[digit] += doubted[at];
                others[digit] += many > (size_t)doubted[at];
                named[digit] += doubted[at] && fabs(back - right) < 1e-9;
            }
        for (int d = 0; d < 2; d++) {
            ck_assert_msg(caught[d] / all[d] >= least[k][d], "%s, digit %d: %g of %g",
                          kinds[k].name, d, caught[d], all[d]);
            ck_assert_double_ge(named[d], 0.97 * caught[d]); /* what it was before */
            ck_assert_double_le(others[d], 0.01 * all[d]);   /* no other run is blamed */
        }
    }
    cw_random_free(&random);
}
END_TEST

START_TEST(two_runs_tell_nothing_and_two_wrong_ones_are_both_found) {
    const double recorded[] = {700, 705, 710, 702, 707}, error[] = {1, 1, 1, 1, 1};
    const double noted[] = {20.2, 52.1, 30, 22.1, 72.3}; /* 25.1 and 27.3 were meant, say */
    struct cw_noted_rest rest;
    struct cw_error fault;
    bool doubted[5];
    ck_assert_int_eq(cw_noted_judge(2, noted, recorded, error, 0, doubted, &rest, &fault), CW_OK);
    ck_assert(!doubted[0] && !doubted[1] && isnan(rest.off));
    ck_assert_int_eq(cw_noted_judge(5, noted, recorded, error, 0, doubted, &rest, &fault), CW_OK);
    ck_assert(!doubted[0] && doubted[1] && !doubted[2] && !doubted[3] && doubted[4]);
    ck_assert_double_eq_tol(rest.off, -679.9, 1e-9); /* of -679.8, -680, -679.9 */
}
END_TEST

START_TEST(a_tape_read_the_other_way_is_found_out) {
    struct cw_random random = cw_random_make(9, 1);
    double found = 0, wrongly = 0, all = 0;
    for (size_t n = 2; n <= 8; n++)
        for (int r = 0; r < 1000; r++) {
            struct list list;
            struct cw_error error;
            bool turned;
            make(&kinds[0], n, 1.5, &random, &list);
            ck_assert_int_eq(
                cw_noted_turned(n, list.noted, list.recorded, list.error, &turned, &error), CW_OK);
            wrongly += turned;
            for (size_t i = 0; i < n; i++) list.noted[i] = 200 - list.noted[i];
            ck_assert_int_eq(
                cw_noted_turned(n, list.noted, list.recorded, list.error, &turned, &error), CW_OK);
            if (n == 2) ck_assert(!turned);
            found += turned;
            all += n > 2;
        }
    ck_assert_double_lt(wrongly / all, 0.001);
    ck_assert_msg(found / all > 0.9, "%g of %g, %g wrongly", found, all, wrongly);
    cw_random_free(&random);
}
END_TEST

START_TEST(only_neighbouring_digits_are_swapped) {
    ck_assert_double_eq_tol(cw_noted_swapped(13.9, 1, 31.5, 1), 31.9, 1e-12);
    ck_assert_double_eq_tol(cw_noted_swapped(13.9, 1, 19.6, 1), 19.3, 1e-12); /* over the point */
    ck_assert_double_eq_tol(cw_noted_swapped(-13.9, 1, -31.5, 1), -31.9, 1e-12);
    ck_assert_double_eq_tol(cw_noted_swapped(12, 1, 10.2, 0.5), 10.2, 1e-12); /* was 12.0 */
    ck_assert(isnan(cw_noted_swapped(13.9, 1, 93.1, 1)));                     /* first and last */
    ck_assert(isnan(cw_noted_swapped(13.9, 1, 33, 1)));
    ck_assert(isnan(cw_noted_swapped(4, 0, 4, 1)));
    ck_assert(isnan(cw_noted_swapped(44.4, 1, 44.4, 1))); /* equal digits swap to nothing */
}
END_TEST

/* ---- whole outings ---- */

/* Runs that roll out in a dip, each of which began standing, with what a tape and a stopwatch said
 * of it. */
static struct made ridden_with(const char *world, unsigned long seed, size_t n) {
    static const size_t abba[] = {0, 1, 1, 0};
    struct cw_error error = {0};
    struct cw_simulate_options o = cw_simulate_options_default();
    struct cw_random random = cw_random_make(seed, 3);
    struct made made;
    ck_assert_int_eq(cw_simulate_set_all(&o, cw_simulate_world_named(world)->settings, &error),
                     CW_OK);
    ck_assert_int_eq(cw_simulate_road(&o, "dip", NULL), CW_OK);
    o.segments[3].length_m = 600; /* stops them all */
    o.start_speed_ms = 0;
    o.seed = seed;
    o.n_order = n;
    for (size_t i = 0; i < n; i++) o.order[i] = abba[i % 4];
    ck_assert_msg(made_begin(&made, &o, &error) >= 0, "%s", error.message);
    ck_assert_msg(made_find(&made, NULL, &error) >= 0, "%s", error.message);
    made.of->outing.runout_m.uncertainty = 0.1;
    made.of->outing.time_s.uncertainty = 0.2;
    for (size_t i = 0; i < made.of->runs.n; i++) {
        struct cw_run *run = &made.of->runs.at[i];
        const struct cw_simulated_run *truth = run->kept ? made_truth(&made, i) : NULL;
        if (!truth || !truth->descent.stopped) continue;
        double taped_m = truth->descent.end_s_m - 780 + 0.1 * cw_random_normal(&random);
        double watched_s = timed_true_time(truth, 700) - timed_true_time(truth, 20) +
                           0.2 * cw_random_normal(&random);
        run->noted.runout_m = rint(10 * taped_m) / 10;
        run->noted.time_s = rint(10 * watched_s) / 10;
    }
    cw_random_free(&random);
    return made;
}

static struct cw_timed timed_of(const struct made *made) {
    struct cw_timed timed;
    struct cw_error error = {0};
    struct cw_ridden ridden = cw_analysed_ridden(made->of);
    ck_assert_msg(cw_timed_make(&ridden, NULL, &timed, &error) == CW_OK, "%s", error.message);
    return timed;
}

START_TEST(tape_and_watch_stand_beside_the_recorder) {
    static const char *const worlds[] = {"light", "breeze", "phone", "everything"};
    double squares = 0, n = 0;
    for (unsigned long seed = 1; seed <= 32; seed++) {
        struct made made = ridden_with(worlds[seed % 4], seed, 8);
        struct cw_timed timed = timed_of(&made);
        double places_m[2][8] = {{0}};
        size_t runs[2] = {0};
        ck_assert_uint_eq(timed.n_doubts, 0);
        for (size_t k = 0; k < timed.n; k++) {
            const struct cw_timed_run *run = &timed.runs[k];
            const struct cw_noted *noted = &made.of->runs.at[run->run].noted;
            ck_assert_double_eq(run->runout_taped_m.value, noted->runout_m);
            ck_assert_double_eq(run->runout_taped_m.standard_error, 0.1);
            ck_assert_double_eq(run->time_watched_s.value, noted->time_s);
            ck_assert_double_eq_tol(run->time_watched_s.high, noted->time_s + 1.96 * 0.2, 1e-3);
            places_m[run->setup][runs[run->setup]++] = made_truth(&made, run->run)->descent.end_s_m;
        }
        if (runs[0] < 4 || runs[1] < 4) goto next; /* the finder missed one */
        /* Student's t for pairs, on the places themselves, in closed form: t(0.975, 3) = 3.182. */
        double difference_m = 0, scatter = 0;
        for (size_t k = 0; k < 4; k++) difference_m += (places_m[1][k] - places_m[0][k]) / 4;
        for (size_t k = 0; k < 4; k++)
            scatter += pow(places_m[1][k] - places_m[0][k] - difference_m, 2) / 3;
        const struct cw_timed_difference *tape = &timed.comparisons[0].of[CW_TIMED_RUNOUT_TAPED];
        ck_assert_int_eq(tape->test, CW_TIMED_PAIRED);
        ck_assert(isnan(tape->percent)); /* its mark is anywhere */
        double half_m = 0.5 * (tape->difference.high - tape->difference.low);
        ck_assert_double_eq_tol(half_m / (3.182 * sqrt(scatter / 4)), 1, 0.1);
        squares += pow(tape->difference.value - difference_m, 2);
        n += 1;
    next:
        cw_timed_free(&timed);
        made_free(&made);
    }
    ck_assert_double_ge(n, 20);
    ck_assert_double_lt(sqrt(squares / n), 0.1); /* 0.1 m sqrt(2/4), and the tape's own step */
}
END_TEST

START_TEST(what_the_recorder_gives_the_lie_is_left_out) {
    struct made made = ridden_with("light", 6, 4);
    struct cw_noted *noted = &made.of->runs.at[1].noted;
    double right_m = noted->runout_m, right_s = noted->time_s;
    noted->runout_m = swapped(right_m, 0);
    noted->time_s = swapped(right_s, 0);
    struct cw_timed timed = timed_of(&made);
    ck_assert_uint_eq(timed.n_doubts, 2);
    for (size_t i = 0; i < 2; i++) {
        const struct cw_timed_doubt *doubt = &timed.doubts[i];
        bool watch = doubt->quantity == CW_TIMED_TIME_WATCHED;
        ck_assert_uint_eq(timed.runs[doubt->at].run, 1);
        ck_assert_double_eq(doubt->noted, watch ? noted->time_s : noted->runout_m);
        ck_assert_double_eq_tol(doubt->swapped, watch ? right_s : right_m, 1e-9);
    }
    ck_assert(isnan(timed.runs[1].runout_taped_m.value));
    ck_assert(isfinite(timed.runs[1].runout_m.value));
    ck_assert_uint_eq(timed.comparisons[0].of[CW_TIMED_RUNOUT_TAPED].n[0], 1);
    ck_assert_uint_eq(timed.comparisons[0].of[CW_TIMED_RUNOUT].n[0], 2);
    ck_assert_int_eq(timed.comparisons[0].of[CW_TIMED_RUNOUT_TAPED].test, CW_TIMED_POOLED);
    cw_timed_free(&timed);

    /* Counted back up the road all of it is left out. */
    double there_m[4];
    noted->runout_m = right_m;
    noted->time_s = right_s;
    for (size_t i = 0; i < 4; i++) {
        there_m[i] = made.of->runs.at[i].noted.runout_m;
        made.of->runs.at[i].noted.runout_m *= -1;
    }
    timed = timed_of(&made);
    ck_assert_uint_eq(timed.n_doubts, 4);
    for (size_t k = 0; k < 4; k++)
        ck_assert(timed.doubts[k].turned && isnan(timed.runs[k].runout_taped_m.value));
    cw_timed_free(&timed);
    for (size_t i = 0; i < 4; i++) made.of->runs.at[i].noted.runout_m = there_m[i];

    /* Said to be known no better, it is taken. */
    noted->runout_m = swapped(right_m, 0);
    noted->time_s = swapped(right_s, 0);
    made.of->outing.runout_m.uncertainty = 30;
    made.of->outing.time_s.uncertainty = 30;
    timed = timed_of(&made);
    ck_assert_uint_eq(timed.n_doubts, 0);
    ck_assert_double_eq(timed.runs[1].runout_taped_m.value, noted->runout_m);
    cw_timed_free(&timed);
    made_free(&made);
}
END_TEST

/* Errors of the recorded run-outs about their mean, and what was stated of them. */
static void add_runout_errors(const struct made *made, const struct cw_timed *timed,
                              double *squares, double *stated, double *runs) {
    double off[MOST], mean = 0, n = 0;
    for (size_t k = 0; k < timed->n; k++) {
        const struct cw_estimate *runout = &timed->runs[k].runout_m;
        if (!isfinite(runout->value)) continue;
        off[(size_t)n] = runout->value - made_truth(made, timed->runs[k].run)->descent.end_s_m;
        mean += off[(size_t)n];
        *stated += runout->standard_error * runout->standard_error;
        n += 1;
    }
    for (size_t k = 0; k < (size_t)n; k++)
        *squares += (off[k] - mean / n) * (off[k] - mean / n) * n / (n - 1);
    *runs += n;
}

START_TEST(from_a_mark_places_are_the_wheels) {
    double squares[2] = {0}, stated[2] = {0}, runs[2] = {0};
    for (unsigned long seed = 1; seed <= 24; seed++) {
        struct made made = ridden_with(seed % 2 ? "light" : "breeze", seed, 8);
        for (int mark = 0; mark < 2; mark++) {
            made.of->outing.starts_at_mark = mark;
            struct cw_timed timed = timed_of(&made);
            ck_assert_int_eq(timed.from_mark, mark);
            ck_assert_uint_eq(timed.warnings.n, 0);
            if (mark) ck_assert_double_eq(timed.shift_sd_m, 0.2);
            add_runout_errors(&made, &timed, &squares[mark], &stated[mark], &runs[mark]);
            cw_timed_free(&timed);
        }
        made_free(&made);
    }
    /* In the simulator all stand on the very mark: what is left is the walk of the wheel's speeds,
     * 0.1 m/s each second for 95 s, 0.97 m less what smoothing knows of it. */
    double rms_m = sqrt(squares[1] / runs[1]);
    ck_assert_double_lt(rms_m, 0.8 * sqrt(squares[0] / runs[0]));
    ck_assert_double_eq_tol(rms_m / sqrt(stated[1] / runs[1]), 1, 0.15);
}
END_TEST

START_TEST(a_rolling_start_is_no_mark) {
    struct made made = ridden_with("light", 3, 4);
    const struct cw_run *run = &made.of->runs.at[2];
    struct cw_motion *motion = &made.of->motions[run->recording];
    made.of->outing.starts_at_mark = true;
    for (size_t i = run->first - 40; i <= run->first; i++)
        motion->speed_ms[i] = fmax(motion->speed_ms[i], 4);
    struct cw_timed timed = timed_of(&made);
    ck_assert(!timed.from_mark);
    ck_assert_uint_eq(timed.warnings.n, 1);
    ck_assert_int_eq(timed.warnings.at[0].kind, CW_TIMED_WARNING_START);
    ck_assert_ptr_nonnull(
        strstr(timed.warnings.at[0].text, "start = mark, but run 3 begins at 14 km/h"));
    cw_timed_free(&timed);
    made_free(&made);

    /* Speeds that are made of positions know no more than these. */
    made = ridden_with("phone", 3, 4);
    made.of->outing.starts_at_mark = true;
    timed = timed_of(&made);
    ck_assert(!timed.from_mark);
    cw_timed_free(&timed);
    made_free(&made);
}
END_TEST

int main(void) {
    Suite *suite = suite_create("timed_noted");
    TCase *tests = tcase_create("noted");
    tcase_set_timeout(tests, 120);
    /* What their calls reach in memory the others reach too: not run again under sanitizers. */
    TCase *numbers = tcase_create("numbers");
    tcase_set_tags(numbers, "numbers");
    tcase_set_timeout(numbers, 120);
    tcase_add_test(numbers, runs_that_agree_raise_no_alarm);
    tcase_add_test(tests, swapped_digits_are_found);
    tcase_add_test(tests, two_runs_tell_nothing_and_two_wrong_ones_are_both_found);
    tcase_add_test(tests, a_tape_read_the_other_way_is_found_out);
    tcase_add_test(tests, only_neighbouring_digits_are_swapped);
    tcase_add_test(tests, tape_and_watch_stand_beside_the_recorder);
    tcase_add_test(tests, what_the_recorder_gives_the_lie_is_left_out);
    tcase_add_test(numbers, from_a_mark_places_are_the_wheels);
    tcase_add_test(tests, a_rolling_start_is_no_mark);
    suite_add_tcase(suite, tests);
    suite_add_tcase(suite, numbers);
    SRunner *runner = srunner_create(suite);
    srunner_run_all(runner, CK_NORMAL);
    int failed = srunner_ntests_failed(runner);
    srunner_free(runner);
    return failed ? EXIT_FAILURE : EXIT_SUCCESS;
}
