/* What a coast can tell of CdA and Crr, against least squares written out in full. */
#include <check.h>
#include <math.h>

#include "runs/worth.h"

enum { N = 41 };

static double time_s[N], speed_ms[N], distance_m[N], density_m2s[N];
static struct cw_recording recording;
static struct cw_motion motion;
static struct cw_balance balance;
static struct cw_told told;

/* A coast from 12 m/s that loses 0.2 m/s a second for 25 s and holds its speed then; a sample a
 * second, the last ten 9 s apart; or at a part of those speeds. */
static void coast(double part) {
    for (size_t i = 0; i < N; i++) {
        time_s[i] = 1000 + (i < 31 ? (double)i : 30 + 9 * ((double)i - 30));
        speed_ms[i] = part * (12 - 0.2 * fmin((double)i, 25));
        distance_m[i] = i ? distance_m[i - 1] +
                                (time_s[i] - time_s[i - 1]) * 0.5 * (speed_ms[i] + speed_ms[i - 1])
                          : 70;
        density_m2s[i] = i < 20 ? 0.35 : 0.6;
    }
    recording = (struct cw_recording){.samples = {.n = N, .time_s = time_s}};
    motion = (struct cw_motion){.n = N, .speed_ms = speed_ms, .distance_m = distance_m};
    balance = (struct cw_balance){.n = N, .density_m2s = density_m2s, .speed_ms = speed_ms};
    told = (struct cw_told){
        .recording = &recording, .motion = &motion, .balance = &balance, .cda_m2 = 0.32};
}

static void begin(void) {
    coast(1);
}

/* The head is a level, and minus what drag and rolling take, in parts of themselves: the variance
 * of either from the three normal equations, the other one known to so much. Heads a second apart
 * err by themselves, each by the density; one is never worth more than 6 s. */
static double variance(const struct cw_runs_options *o, size_t first, size_t last, double drag_sd,
                       double rolling_sd, int which) {
    double a[3][3] = {
        {0, 0, 0}, {0, 1 / (drag_sd * drag_sd), 0}, {0, 0, 1 / (rolling_sd * rolling_sd)}};
    double drag = 0;
    for (size_t i = first; i <= last; i++) {
        double dt = i > first ? time_s[i] - time_s[i - 1] : 1;
        if (i > first) {
            double v = 0.5 * (speed_ms[i] + speed_ms[i - 1]);
            drag += o->density_kgm3 * told.cda_m2 * v * v / (2 * o->mass_kg * 9.80665) *
                    (distance_m[i] - distance_m[i - 1]);
        }
        double x[3] = {1, drag,
                       sqrt(o->crr_low * o->crr_high) * (distance_m[i] - distance_m[first])};
        for (size_t k = 0; k < 3; k++)
            for (size_t l = 0; l < 3; l++) a[k][l] += fmin(dt, 6) / density_m2s[i] * x[k] * x[l];
    }
    double whole = a[0][0] * (a[1][1] * a[2][2] - a[1][2] * a[1][2]) -
                   a[0][1] * (a[0][1] * a[2][2] - a[1][2] * a[0][2]) +
                   a[0][2] * (a[0][1] * a[1][2] - a[1][1] * a[0][2]);
    int other = 3 - which;
    return (a[0][0] * a[other][other] - a[0][other] * a[0][other]) / whole;
}

static double expected(const struct cw_runs_options *o, size_t first, size_t last) {
    double crr_sd = 0.001 / sqrt(o->crr_low * o->crr_high);
    return sqrt(fmin(variance(o, first, last, INFINITY, crr_sd, 1),
                     variance(o, first, last, 0.2, INFINITY, 2)));
}

START_TEST(doubt_is_that_of_least_squares) {
    static const size_t spans[][2] = {{0, 40}, {0, 12}, {26, 40}, {3, 30}};
    struct cw_runs_options options = cw_runs_options_default();
    for (size_t k = 0; k < sizeof spans / sizeof *spans; k++) {
        double doubt = cw_worth_doubt(&told, &options, spans[k][0], spans[k][1]);
        ck_assert_double_eq_tol(doubt / expected(&options, spans[k][0], spans[k][1]), 1, 1e-3);
    }
    /* Where it is slow, rolling is what is told better, and as far as drag is known. */
    coast(0.3);
    for (size_t k = 0; k < sizeof spans / sizeof *spans; k++) {
        double doubt = cw_worth_doubt(&told, &options, spans[k][0], spans[k][1]);
        ck_assert_double_eq_tol(doubt / expected(&options, spans[k][0], spans[k][1]), 1, 1e-3);
    }
    coast(1);
    /* A light bicycle in thick air tells its drag better. */
    double heavy = cw_worth_doubt(&told, &options, 0, 30);
    options.mass_kg = 70;
    options.density_kgm3 = 1.3;
    ck_assert_double_lt(cw_worth_doubt(&told, &options, 0, 30), heavy);
}
END_TEST

START_TEST(what_has_no_head_tells_nothing) {
    struct cw_runs_options options = cw_runs_options_default();
    double with = cw_worth_doubt(&told, &options, 0, 30);
    density_m2s[12] = INFINITY; /* and one that is not known at all */
    density_m2s[14] = NAN;
    double without = cw_worth_doubt(&told, &options, 0, 30);
    ck_assert_double_gt(without, with);
    ck_assert_double_lt(without, 1.1 * with);
    for (size_t i = 0; i < N; i++) density_m2s[i] = NAN;
    ck_assert(isinf(cw_worth_doubt(&told, &options, 0, 30)));
}
END_TEST

int main(void) {
    Suite *suite = suite_create("runs/worth");
    TCase *tests = tcase_create("worth");
    tcase_add_checked_fixture(tests, begin, NULL);
    tcase_add_test(tests, doubt_is_that_of_least_squares);
    tcase_add_test(tests, what_has_no_head_tells_nothing);
    suite_add_tcase(suite, tests);
    SRunner *runner = srunner_create(suite);
    srunner_run_all(runner, CK_ENV);
    int failed = srunner_ntests_failed(runner);
    srunner_free(runner);
    return failed > 0;
}
