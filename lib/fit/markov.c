#include "fit/markov.h"

#include <math.h>
#include <string.h>

#include "fit/lag.h"

/* Before a run the height may have changed by so much a second unlike what is known of the way: a
 * rider came from beside it or turned on it. Times the filter's time, how wrong its start is. Five
 * times as much makes a long lag dear, for each run has such a start: made-up lags of 0 to 3 s
 * come out 0.4 s short then and CdA 2 % high, on 250 m of road 35 %. */
static const double start_rate_ms = 0.1;

/* The balance's two states by the implicit trapezoid,
 *
 *   ds+ = ds + dt/2 (dv + dv+),  E+ = E - dt/2 (l dv + l+ dv+) - dt/2 (m w + m+ w+) - loss,
 *
 * with dv = a (E - D - h' ds): two linear equations for ds+ and E+. */
static void balance_step(const struct cw_linear *l, size_t i, double dt, double keep_gust,
                         double gust_next[2], struct cw_markov_step *step) {
    double half = 0.5 * dt;
    double a0 = l->gain[i], h0 = l->slope[i], l0 = l->loss_by_speed[i];
    double a1 = l->gain[i + 1], h1 = l->slope[i + 1], l1 = l->loss_by_speed[i + 1];
    double m00 = 1 + half * a1 * h1, m01 = -half * a1;
    double m10 = -half * l1 * a1 * h1, m11 = 1 + half * l1 * a1;
    double det = m00 * m11 - m01 * m10;
    enum { SHIFT, ENERGY, GUST, HERE, THERE, GUST_NEXT, LOSS, CAUSES };
    const double right[CAUSES][2] = {
        [SHIFT] = {1 - half * a0 * h0, half * l0 * a0 * h0},
        [ENERGY] = {half * a0, 1 - half * l0 * a0},
        [GUST] = {0, -half * l->loss_by_wind[i]},
        [HERE] = {-half * a0, half * l0 * a0},
        [THERE] = {-half * a1, half * l1 * a1},
        [GUST_NEXT] = {0, -half * l->loss_by_wind[i + 1]},
        [LOSS] = {0, -1},
    };
    double out[CAUSES][2];
    for (int c = 0; c < CAUSES; c++) {
        out[c][0] = (m11 * right[c][0] - m01 * right[c][1]) / det;
        out[c][1] = (m00 * right[c][1] - m10 * right[c][0]) / det;
    }
    for (int r = 0; r < 2; r++) {
        gust_next[r] = out[GUST_NEXT][r];
        step->transition[r][CW_STATE_SHIFT] = out[SHIFT][r];
        step->transition[r][CW_STATE_ENERGY] = out[ENERGY][r];
        step->transition[r][CW_STATE_GUST] = out[GUST][r] + gust_next[r] * keep_gust;
        step->here[r] = out[HERE][r];
        step->there[r] = out[THERE][r];
        step->loss[r] = out[LOSS][r];
    }
}

static double square(double x) {
    return x * x;
}

static void keep_state(struct cw_markov_step *step, enum cw_state state, double keep, double sd) {
    step->transition[state][state] = keep;
    step->noise[state][state] = square(sd) * (1 - square(keep));
}

/* Of creep u and the wander p that it adds up to, p' = u - p/time, both stationary. */
static void creep_variances(const struct cw_noise *noise, double *creep, double *wander,
                            double *both) {
    double a = 1 / noise->wander_time_s, b = 1 / noise->creep_time_s;
    *creep = square(noise->creep_sd_ms);
    *both = *creep / (a + b);
    *wander = *both / a;
}

static void creep(const struct cw_noise *noise, double dt, struct cw_markov_step *step) {
    double a = 1 / noise->wander_time_s, b = 1 / noise->creep_time_s, uu, pp, up;
    double keep_p = exp(-a * dt), keep_u = exp(-b * dt), adds = (keep_p - keep_u) / (b - a);
    creep_variances(noise, &uu, &pp, &up);
    step->transition[CW_STATE_CREEP][CW_STATE_CREEP] = keep_u;
    step->transition[CW_STATE_WANDER][CW_STATE_CREEP] = adds;
    /* The fresh parts are what the stationary covariance needs to stay as it is. */
    step->noise[CW_STATE_CREEP][CW_STATE_CREEP] = uu * (1 - square(keep_u));
    step->noise[CW_STATE_WANDER][CW_STATE_WANDER] +=
        pp - (square(keep_p) * pp + 2 * keep_p * adds * up + square(adds) * uu);
    step->noise[CW_STATE_CREEP][CW_STATE_WANDER] = step->noise[CW_STATE_WANDER][CW_STATE_CREEP] =
        up - keep_u * (keep_p * up + adds * uu);
}

/* What the recorder shows goes on to what it feels, h' ds + H eta + drift; how far it is behind
 * keeps a part of itself and falls back by a part of the felt height's rise: a sum of the states
 * before the step and, with those after it put in, of what moves them. */
static void fall_behind(const struct cw_linear *l, size_t i, const struct cw_lag_step *lag,
                        struct cw_markov_step *step) {
    double *late = step->transition[CW_STATE_LATE], by_rise = lag->here + lag->keep;
    const double *shift = step->transition[CW_STATE_SHIFT],
                 *drift = step->transition[CW_STATE_DRIFT];
    double by_shift = -by_rise * l->felt_slope[i + 1];
    for (int k = 0; k < CW_STATES; k++) late[k] = by_shift * shift[k] - by_rise * drift[k];
    late[CW_STATE_LATE] += lag->keep;
    late[CW_STATE_SHIFT] += by_rise * l->felt_slope[i];
    late[CW_STATE_DRIFT] += by_rise;
    step->here[CW_STATE_LATE] = by_shift * step->here[CW_STATE_SHIFT];
    step->there[CW_STATE_LATE] = by_shift * step->there[CW_STATE_SHIFT];
    step->loss[CW_STATE_LATE] = by_shift * step->loss[CW_STATE_SHIFT];
    step->felt_here[CW_STATE_LATE] = by_rise;
    step->felt_there[CW_STATE_LATE] = -by_rise;
    for (int k = 0; k < CW_STATES; k++)
        if (k != CW_STATE_LATE)
            step->noise[CW_STATE_LATE][k] = step->noise[k][CW_STATE_LATE] =
                by_shift * step->noise[CW_STATE_SHIFT][k] -
                by_rise * step->noise[CW_STATE_DRIFT][k];
    step->noise[CW_STATE_LATE][CW_STATE_LATE] =
        by_shift * step->noise[CW_STATE_LATE][CW_STATE_SHIFT] -
        by_rise * step->noise[CW_STATE_LATE][CW_STATE_DRIFT];
}

void cw_markov_step_make(const struct cw_linear *linear, size_t i, const struct cw_noise *noise,
                         struct cw_markov_step *step) {
    double dt = linear->data->time_s[i + 1] - linear->data->time_s[i];
    double keep_gust = exp(-dt / noise->gust_time_s), gust_next[2];
    struct cw_lag_step lag = cw_lag_step_make(dt, linear->lag_s);
    memset(step, 0, sizeof *step);
    balance_step(linear, i, dt, keep_gust, gust_next, step);
    keep_state(step, CW_STATE_GUST, keep_gust, noise->gust_sd_ms);
    keep_state(step, CW_STATE_DRIFT, exp(-dt / noise->drift_time_s), noise->drift_sd_m);
    keep_state(step, CW_STATE_WANDER, exp(-dt / noise->wander_time_s), noise->wander_sd_m);
    creep(noise, dt, step);
    keep_state(step, CW_STATE_JITTER, exp(-dt / noise->jitter_time_s), noise->jitter_sd_m);

    /* The gust's fresh part acts on shift and energy within the step too. */
    double fresh = step->noise[CW_STATE_GUST][CW_STATE_GUST];
    for (int r = 0; r < 2; r++) {
        step->noise[r][CW_STATE_GUST] = step->noise[CW_STATE_GUST][r] = fresh * gust_next[r];
        for (int c = 0; c < 2; c++) step->noise[r][c] = fresh * gust_next[r] * gust_next[c];
    }
    /* And between the step's ends it is no straight line: the integral of a Brownian bridge. */
    double rate = 2 * square(noise->gust_sd_ms) / noise->gust_time_s;
    double by_wind = 0.5 * (linear->loss_by_wind[i] + linear->loss_by_wind[i + 1]);
    step->noise[CW_STATE_ENERGY][CW_STATE_ENERGY] += square(by_wind) * rate * dt * dt * dt / 12;
    double lost = square(linear->data->break_sd_m[CW_BREAK_LOSS][i]);
    for (int r = 0; r < 2; r++)
        for (int c = 0; c < 2; c++) step->noise[r][c] += lost * step->loss[r] * step->loss[c];
    step->noise[CW_STATE_DRIFT][CW_STATE_DRIFT] +=
        square(linear->data->break_sd_m[CW_BREAK_JUMP][i]);
    fall_behind(linear, i, &lag, step);
}

void cw_markov_start(const struct cw_linear *linear, const struct cw_noise *noise,
                     double covariance[CW_STATES][CW_STATES]) {
    memset(covariance, 0, CW_STATES * sizeof *covariance);
    covariance[CW_STATE_GUST][CW_STATE_GUST] = square(noise->gust_sd_ms);
    covariance[CW_STATE_DRIFT][CW_STATE_DRIFT] = square(noise->drift_sd_m);
    covariance[CW_STATE_WANDER][CW_STATE_WANDER] = square(noise->wander_sd_m);
    double both, wander;
    creep_variances(noise, &covariance[CW_STATE_CREEP][CW_STATE_CREEP], &wander, &both);
    covariance[CW_STATE_WANDER][CW_STATE_WANDER] += wander;
    covariance[CW_STATE_CREEP][CW_STATE_WANDER] = covariance[CW_STATE_WANDER][CW_STATE_CREEP] =
        both;
    covariance[CW_STATE_JITTER][CW_STATE_JITTER] = square(noise->jitter_sd_m);
    covariance[CW_STATE_LATE][CW_STATE_LATE] = square(start_rate_ms * fmax(0, linear->lag_s));
}

bool cw_markov_observation_make(const struct cw_linear *l, size_t i, enum cw_kind kind,
                                const struct cw_noise *noise,
                                struct cw_markov_observation *observation) {
    const struct cw_run_data *data = l->data;
    memset(observation, 0, sizeof *observation);
    double *z = observation->by_state;
    switch (kind) {
    case CW_SEEN_SPEED: /* dv = a (E - D - h' ds) */
        z[CW_STATE_SHIFT] = -l->gain[i] * l->slope[i];
        z[CW_STATE_ENERGY] = l->gain[i];
        z[CW_STATE_CREEP] = 1;
        observation->rest = data->speed_seen_ms[i] - data->speed_ms[i] * (1 + l->scale) +
                            l->gain[i] * l->residual[i];
        observation->variance = square(noise->speed_sd_ms);
        break;
    case CW_SEEN_POSITION:
        z[CW_STATE_SHIFT] = z[CW_STATE_WANDER] = z[CW_STATE_JITTER] = 1;
        observation->rest = data->position_seen_m[i] - data->s_m[i];
        observation->variance = square(noise->position_sd_m);
        break;
    case CW_SEEN_HEIGHT:
        z[CW_STATE_LATE] = z[CW_STATE_DRIFT] = 1;
        z[CW_STATE_SHIFT] = l->felt_slope[i];
        observation->rest = data->height_seen_m[i] - l->shown_height_m[i];
        /* heights in steps are off by up to half a step, evenly */
        observation->variance = square(noise->elevation_sd_m) + square(data->height_step_m) / 12;
        break;
    case CW_SEEN_KINDS:
        break;
    }
    return isfinite(observation->rest);
}
