/* The process's steps against integrals, summed numerically, of what defines a gust: its covariance
 * sd^2 exp(-lag/time) between any two moments. At even and uneven steps. The whole model stands in
 * test_fit_whiten. */
#include <check.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "fit/markov.h"

static const struct cw_noise noise = {.gust_sd_ms = 0.3,
                                      .gust_time_s = 12,
                                      .drift_sd_m = 0.5,
                                      .drift_time_s = 150,
                                      .elevation_sd_m = 0.1,
                                      .speed_sd_ms = 0.2,
                                      .wander_sd_m = 1.5,
                                      .wander_time_s = 60,
                                      .jitter_sd_m = 0.4,
                                      .jitter_time_s = 3,
                                      .creep_sd_ms = 0.06,
                                      .creep_time_s = 4,
                                      .position_sd_m = 0.3};
enum { N = 80 };

/* A run whose losses depend on the wind alone, 2 m/s of height a m/s of wind, at uneven steps. */
struct bare {
    double time_s[N], column[N], none[N], wind[N], speed[N], position[N], height[N];
    struct cw_run_data data;
    struct cw_linear linear;
};

static void bare_make(struct bare *bare, double step_s) {
    memset(bare, 0, sizeof *bare);
    for (size_t i = 0; i < N; i++) {
        bare->time_s[i] = i ? bare->time_s[i - 1] + step_s * (i % 3 ? 1 : 0.4) : 0;
        bare->wind[i] = 2;
        bare->speed[i] = bare->position[i] = bare->height[i] = NAN;
    }
    bare->data = (struct cw_run_data){.n = N,
                                      .time_s = bare->time_s,
                                      .speed_ms = bare->column,
                                      .s_m = bare->column,
                                      .speed_seen_ms = bare->speed,
                                      .position_seen_m = bare->position,
                                      .height_seen_m = bare->height,
                                      .break_sd_m = {bare->none, bare->none},
                                      .break_m = {bare->none, bare->none}};
    double *zero = bare->column;
    bare->linear = (struct cw_linear){.n = N,
                                      .data = &bare->data,
                                      .gain = zero,
                                      .residual = zero,
                                      .slope = zero,
                                      .loss_by_speed = zero,
                                      .loss_by_wind = bare->wind,
                                      .roll_m = zero,
                                      .drag_m = zero,
                                      .wind_m = zero,
                                      .felt_slope = zero,
                                      .shown_height_m = zero};
}

static void go_on(double p[CW_STATES][CW_STATES], const struct cw_markov_step *step) {
    double next[CW_STATES][CW_STATES];
    for (int i = 0; i < CW_STATES; i++)
        for (int j = 0; j < CW_STATES; j++) {
            next[i][j] = step->noise[i][j];
            for (int k = 0; k < CW_STATES; k++)
                for (int l = 0; l < CW_STATES; l++)
                    next[i][j] += step->transition[i][k] * p[k][l] * step->transition[j][l];
        }
    memcpy(p, next, sizeof next);
}

/* Simpson's rule over the gust's lags from 0 to t_s: its covariance with the wind that blew lag
 * ago, each lag as often as pairs of moments within t_s have it (twice t_s - lag), or once. */
static double integrate_covariance(double t_s, bool pairs) {
    enum { PIECES = 200 };
    double sum = 0;
    for (int i = 0; i <= PIECES; i++) {
        double lag_s = t_s * i / PIECES, weight = i == 0 || i == PIECES ? 1 : i % 2 ? 4 : 2;
        double covariance = noise.gust_sd_ms * noise.gust_sd_ms * exp(-lag_s / noise.gust_time_s);
        sum += weight * covariance * (pairs ? 2 * (t_s - lag_s) : 1);
    }
    return sum * t_s / PIECES / 3;
}

START_TEST(gust_integrates) {
    struct bare bare;
    for (double step = 1; step > 0.3; step /= 2) {
        double p[CW_STATES][CW_STATES];
        bare_make(&bare, step);
        cw_markov_start(&bare.linear, &noise, p);
        struct cw_markov_paces paces;
        cw_markov_paces_begin(&paces, &noise, bare.linear.lag_s);
        for (size_t i = 0; i + 1 < N; i++) {
            struct cw_markov_step move;
            cw_markov_step_make(&bare.linear, i, &paces, &move);
            go_on(p, &move);
            double t = bare.time_s[i + 1];
            /* stationary from the start */
            ck_assert_double_eq_tol(p[CW_STATE_GUST][CW_STATE_GUST], 0.09, 1e-12);
            ck_assert_double_eq_tol(p[CW_STATE_DRIFT][CW_STATE_DRIFT], 0.25, 1e-12);
            /* 1.5 m of its own and what the creep adds up to, sd2 / (a (a + b)) for times of 1/a
             * and 1/b */
            ck_assert_double_eq_tol(p[CW_STATE_WANDER][CW_STATE_WANDER],
                                    2.25 + 0.0036 * 60 / (1 / 60. + 1 / 4.), 1e-12);
            ck_assert_double_eq_tol(p[CW_STATE_CREEP][CW_STATE_CREEP], 0.0036, 1e-12);
            ck_assert_double_eq_tol(p[CW_STATE_JITTER][CW_STATE_JITTER], 0.16, 1e-12);
            /* E = -2 int w dt */
            double energy = 4 * integrate_covariance(t, true);
            ck_assert_double_eq_tol(p[CW_STATE_ENERGY][CW_STATE_ENERGY] / energy, 1,
                                    0.002 * step * step);
            double with_gust = -2 * integrate_covariance(t, false);
            ck_assert_double_eq_tol(p[CW_STATE_ENERGY][CW_STATE_GUST] / with_gust, 1,
                                    0.002 * step * step);
            ck_assert_double_eq(p[CW_STATE_ENERGY][CW_STATE_DRIFT], 0);
            ck_assert_double_eq(p[CW_STATE_SHIFT][CW_STATE_SHIFT], 0);
        }
    }
}
END_TEST

/* Steps of more lengths than paces are kept of are the same in any order, and moved from another
 * noise's and lag's; what is no term of a transition is zero. */
START_TEST(moved_steps) {
    static const struct cw_noise other = {.gust_sd_ms = 0.7,
                                          .gust_time_s = 11,
                                          .drift_sd_m = 0.2,
                                          .drift_time_s = 150,
                                          .wander_sd_m = 3,
                                          .wander_time_s = 60,
                                          .jitter_sd_m = 0.1,
                                          .jitter_time_s = 3,
                                          .creep_sd_ms = 0.02,
                                          .creep_time_s = 4};
    struct bare bare;
    double gain[N], slope[N], by_speed[N], felt[N], lost[N], jumped[N];
    struct cw_markov_paces paces, moved_paces;
    bool term[CW_STATES][CW_STATES] = {{false}};
#define CW_TERM(to, from) term[CW_STATE_##to][CW_STATE_##from] = true;
    CW_MARKOV_TERMS(CW_TERM)
#undef CW_TERM
    bare_make(&bare, 1);
    for (size_t i = 0; i < N; i++) {
        double x = (double)i;
        bare.time_s[i] = x + 0.3 * sin(x);
        gain[i] = 1.2 + 0.1 * sin(2 * x);
        slope[i] = -0.06 + 0.01 * cos(x);
        felt[i] = -0.05 + 0.01 * cos(3 * x);
        by_speed[i] = 0.07 + 0.01 * sin(5 * x);
        lost[i] = i == 9 ? 0.3 : 0;
        jumped[i] = i == 11 ? 0.9 : 0;
    }
    bare.linear.gain = gain;
    bare.linear.slope = slope;
    bare.linear.felt_slope = felt;
    bare.linear.loss_by_speed = by_speed;
    bare.data.break_sd_m[CW_BREAK_LOSS] = lost;
    bare.data.break_sd_m[CW_BREAK_JUMP] = jumped;
    bare.linear.lag_s = 0.8;
    struct cw_linear late = bare.linear;
    late.lag_s = 1.5;
    late.felt_slope = slope;
    cw_markov_paces_begin(&paces, &noise, bare.linear.lag_s);
    cw_markov_paces_begin(&moved_paces, &other, late.lag_s);
    for (size_t i = 0; i + 1 < N; i++) {
        struct cw_markov_paces fresh;
        struct cw_markov_step step, moved, want;
        cw_markov_step_make(&bare.linear, i, &paces, &step);
        cw_markov_paces_begin(&fresh, &noise, bare.linear.lag_s);
        cw_markov_step_make(&bare.linear, i, &fresh, &want);
        ck_assert_mem_eq(&step, &want, sizeof step);
        cw_markov_step_moved(&late, i, &moved_paces, &step, &moved);
        cw_markov_paces_begin(&fresh, &other, late.lag_s);
        cw_markov_step_make(&late, i, &fresh, &want);
        for (int r = 0; r < CW_STATES; r++)
            for (int c = 0; c < CW_STATES; c++) {
                ck_assert_double_eq(moved.transition[r][c], want.transition[r][c]);
                ck_assert_double_eq(moved.noise[r][c], want.noise[r][c]);
                ck_assert(term[r][c] == (step.transition[r][c] != 0));
            }
        for (int r = 0; r < CW_FORCED; r++) {
            ck_assert_double_eq(moved.here[r], want.here[r]);
            ck_assert_double_eq(moved.there[r], want.there[r]);
            ck_assert_double_eq(moved.loss[r], want.loss[r]);
            ck_assert_double_eq(moved.felt_here[r], want.felt_here[r]);
            ck_assert_double_eq(moved.felt_there[r], want.felt_there[r]);
        }
    }
}
END_TEST

START_TEST(observations) {
    static const double gain[N] = {1.25}, slope[N] = {-0.06}, residual[N] = {480};
    struct bare bare;
    struct cw_markov_observation seen;
    bare_make(&bare, 1);
    for (enum cw_kind kind = 0; kind < CW_SEEN_KINDS; kind++)
        ck_assert(!cw_markov_observation_make(&bare.linear, 0, kind, &noise, &seen));
    bare.linear.gain = (double *)gain;
    bare.linear.slope = (double *)slope;
    bare.linear.residual = (double *)residual;
    bare.linear.scale = 0.01;
    bare.column[0] = 8; /* the basis motion's speed, place and height alike */
    bare.speed[0] = 8.2;
    bare.position[0] = 9.5;
    bare.height[0] = 7.1;
    bare.data.height_step_m = 0.6;
    ck_assert(cw_markov_observation_make(&bare.linear, 0, CW_SEEN_SPEED, &noise, &seen));
    ck_assert_double_eq_tol(seen.rest, 8.2 - 8 * 1.01 + 1.25 * 480, 1e-9);
    ck_assert_double_eq(seen.by_state[CW_STATE_ENERGY], 1.25);
    ck_assert_double_eq_tol(seen.by_state[CW_STATE_SHIFT], 1.25 * 0.06, 1e-15);
    ck_assert_double_eq_tol(seen.variance, 0.04, 1e-15);
    ck_assert(cw_markov_observation_make(&bare.linear, 0, CW_SEEN_POSITION, &noise, &seen));
    ck_assert_double_eq_tol(seen.rest, 1.5, 1e-12);
    ck_assert_double_eq(seen.by_state[CW_STATE_SHIFT], 1);
    ck_assert_double_eq(seen.by_state[CW_STATE_WANDER], 1);
    ck_assert_double_eq(seen.by_state[CW_STATE_JITTER], 1);
    ck_assert_double_eq_tol(seen.variance, 0.09, 1e-15);
    ck_assert(cw_markov_observation_make(&bare.linear, 0, CW_SEEN_HEIGHT, &noise, &seen));
    ck_assert_double_eq_tol(seen.rest, 7.1 - 8, 1e-12);
    ck_assert_double_eq(seen.by_state[CW_STATE_LATE], 1);
    ck_assert_double_eq(seen.by_state[CW_STATE_DRIFT], 1);
    ck_assert_double_eq(seen.by_state[CW_STATE_SHIFT], bare.linear.felt_slope[0]);
    /* a step of q is an even error of variance q2/12: 0.36/12 */
    ck_assert_double_eq_tol(seen.variance, 0.01 + 0.03, 1e-15);
}
END_TEST

int main(void) {
    Suite *suite = suite_create("fit/markov");
    TCase *tests = tcase_create("markov");
    tcase_add_test(tests, gust_integrates);
    tcase_add_test(tests, moved_steps);
    tcase_add_test(tests, observations);
    suite_add_tcase(suite, tests);
    SRunner *runner = srunner_create(suite);
    srunner_run_all(runner, CK_NORMAL);
    int failed = srunner_ntests_failed(runner);
    srunner_free(runner);
    return failed ? EXIT_FAILURE : EXIT_SUCCESS;
}
