#include "fit/markov.h"

#include <math.h>
#include <string.h>

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
static void balance_step(const struct cw_linear *l, size_t i, struct cw_markov_step *step) {
    double half = 0.5 * (l->data->time_s[i + 1] - l->data->time_s[i]);
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
        step->transition[r][CW_STATE_SHIFT] = out[SHIFT][r];
        step->transition[r][CW_STATE_ENERGY] = out[ENERGY][r];
        step->by_gust[r] = out[GUST][r];
        step->by_gust_next[r] = out[GUST_NEXT][r];
        step->here[r] = out[HERE][r];
        step->there[r] = out[THERE][r];
        step->loss[r] = out[LOSS][r];
    }
}

static double square(double x) {
    return x * x;
}

/* The part that a process of that time keeps, and the variance of its fresh part. */
static void keep_state(double step_s, double sd, double time_s, double *keep, double *fresh) {
    *keep = exp(-step_s / time_s);
    *fresh = square(sd) * (1 - square(*keep));
}

/* Of creep u and the wander p that it adds up to, p' = u - p/time, both stationary. */
static void creep_variances(const struct cw_noise *noise, double *creep, double *wander,
                            double *both) {
    double a = 1 / noise->wander_time_s, b = 1 / noise->creep_time_s;
    *creep = square(noise->creep_sd_ms);
    *both = *creep / (a + b);
    *wander = *both / a;
}

static void keep_creep(const struct cw_noise *noise, struct cw_markov_pace *pace) {
    double a = 1 / noise->wander_time_s, b = 1 / noise->creep_time_s, uu, pp, up;
    double keep_p = exp(-a * pace->step_s), keep_u = exp(-b * pace->step_s),
           adds = (keep_p - keep_u) / (b - a);
    creep_variances(noise, &uu, &pp, &up);
    pace->keep_creep = keep_u;
    pace->adds = adds;
    /* The fresh parts are what the stationary covariance needs to stay as it is. */
    pace->creep = uu * (1 - square(keep_u));
    pace->wander += pp - (square(keep_p) * pp + 2 * keep_p * adds * up + square(adds) * uu);
    pace->both = up - keep_u * (keep_p * up + adds * uu);
}

static struct cw_markov_pace pace_make(double step_s, const struct cw_noise *noise, double lag_s) {
    struct cw_markov_pace pace = {.step_s = step_s, .lag = cw_lag_step_make(step_s, lag_s)};
    keep_state(step_s, noise->gust_sd_ms, noise->gust_time_s, &pace.keep_gust, &pace.gust);
    keep_state(step_s, noise->drift_sd_m, noise->drift_time_s, &pace.keep_drift, &pace.drift);
    keep_state(step_s, noise->wander_sd_m, noise->wander_time_s, &pace.keep_wander, &pace.wander);
    keep_state(step_s, noise->jitter_sd_m, noise->jitter_time_s, &pace.keep_jitter, &pace.jitter);
    keep_creep(noise, &pace);
    pace.gust_rate = 2 * square(noise->gust_sd_ms) / noise->gust_time_s;
    return pace;
}

void cw_markov_paces_begin(struct cw_markov_paces *paces, const struct cw_noise *noise,
                           double lag_s) {
    paces->noise = noise;
    paces->lag_s = lag_s;
    paces->n = 0;
}

static const struct cw_markov_pace *pace_of(struct cw_markov_paces *paces, double step_s) {
    for (size_t k = 0; k < CW_MARKOV_PACES && k < paces->n; k++)
        if (paces->pace[k].step_s == step_s) return &paces->pace[k];
    struct cw_markov_pace *pace = &paces->pace[paces->n++ % CW_MARKOV_PACES];
    *pace = pace_make(step_s, paces->noise, paces->lag_s);
    return pace;
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

/* All but what the balance makes of a step. */
static void go_on(const struct cw_linear *linear, size_t i, const struct cw_markov_pace *pace,
                  struct cw_markov_step *step) {
    for (int r = 0; r < 2; r++)
        step->transition[r][CW_STATE_GUST] =
            step->by_gust[r] + step->by_gust_next[r] * pace->keep_gust;
    step->transition[CW_STATE_GUST][CW_STATE_GUST] = pace->keep_gust;
    step->transition[CW_STATE_DRIFT][CW_STATE_DRIFT] = pace->keep_drift;
    step->transition[CW_STATE_WANDER][CW_STATE_WANDER] = pace->keep_wander;
    step->transition[CW_STATE_WANDER][CW_STATE_CREEP] = pace->adds;
    step->transition[CW_STATE_JITTER][CW_STATE_JITTER] = pace->keep_jitter;
    step->transition[CW_STATE_CREEP][CW_STATE_CREEP] = pace->keep_creep;
    step->noise[CW_STATE_GUST][CW_STATE_GUST] = pace->gust;
    step->noise[CW_STATE_WANDER][CW_STATE_WANDER] = pace->wander;
    step->noise[CW_STATE_JITTER][CW_STATE_JITTER] = pace->jitter;
    step->noise[CW_STATE_CREEP][CW_STATE_CREEP] = pace->creep;
    step->noise[CW_STATE_CREEP][CW_STATE_WANDER] = step->noise[CW_STATE_WANDER][CW_STATE_CREEP] =
        pace->both;

    /* The gust's fresh part acts on shift and energy within the step too. */
    double fresh = pace->gust, dt = pace->step_s;
    const double *gust_next = step->by_gust_next;
    for (int r = 0; r < 2; r++) {
        step->noise[r][CW_STATE_GUST] = step->noise[CW_STATE_GUST][r] = fresh * gust_next[r];
        for (int c = 0; c < 2; c++) step->noise[r][c] = fresh * gust_next[c] * gust_next[r];
    }
    /* And between the step's ends it is no straight line: the integral of a Brownian bridge. */
    double by_wind = 0.5 * (linear->loss_by_wind[i] + linear->loss_by_wind[i + 1]);
    step->noise[CW_STATE_ENERGY][CW_STATE_ENERGY] +=
        square(by_wind) * pace->gust_rate * dt * dt * dt / 12;
    double lost = square(linear->data->break_sd_m[CW_BREAK_LOSS][i]);
    for (int r = 0; r < 2; r++)
        for (int c = 0; c < 2; c++) step->noise[r][c] += lost * step->loss[c] * step->loss[r];
    step->noise[CW_STATE_DRIFT][CW_STATE_DRIFT] =
        pace->drift + square(linear->data->break_sd_m[CW_BREAK_JUMP][i]);
    fall_behind(linear, i, &pace->lag, step);
}

void cw_markov_step_make(const struct cw_linear *linear, size_t i, struct cw_markov_paces *paces,
                         struct cw_markov_step *step) {
    const double *time_s = linear->data->time_s;
    memset(step, 0, sizeof *step);
    balance_step(linear, i, step);
    go_on(linear, i, pace_of(paces, time_s[i + 1] - time_s[i]), step);
}

void cw_markov_step_moved(const struct cw_linear *linear, size_t i, struct cw_markov_paces *paces,
                          const struct cw_markov_step *step, struct cw_markov_step *moved) {
    const double *time_s = linear->data->time_s;
    *moved = *step;
    go_on(linear, i, pace_of(paces, time_s[i + 1] - time_s[i]), moved);
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

double cw_markov_variance(const struct cw_run_data *data, enum cw_kind kind,
                          const struct cw_noise *noise) {
    switch (kind) {
    case CW_SEEN_SPEED:
        return square(noise->speed_sd_ms);
    case CW_SEEN_POSITION:
        return square(noise->position_sd_m);
    case CW_SEEN_HEIGHT: /* heights in steps are off by up to half a step, evenly */
        return square(noise->elevation_sd_m) + square(data->height_step_m) / 12;
    case CW_SEEN_TAPE:
        return square(data->tape_sd_m);
    case CW_SEEN_KINDS:
        break;
    }
    return NAN;
}

bool cw_markov_observation_make(const struct cw_linear *l, size_t i, enum cw_kind kind,
                                const struct cw_noise *noise,
                                struct cw_markov_observation *observation) {
    const struct cw_run_data *data = l->data;
    memset(observation, 0, sizeof *observation);
    double *z = observation->by_state;
    observation->variance = cw_markov_variance(data, kind, noise);
    switch (kind) {
    case CW_SEEN_SPEED: /* dv = a (E - D - h' ds) */
        z[CW_STATE_SHIFT] = -l->gain[i] * l->slope[i];
        z[CW_STATE_ENERGY] = l->gain[i];
        z[CW_STATE_CREEP] = 1;
        observation->rest = data->speed_seen_ms[i] - data->speed_ms[i] * (1 + l->scale) +
                            l->gain[i] * l->residual[i];
        break;
    case CW_SEEN_POSITION:
        z[CW_STATE_SHIFT] = z[CW_STATE_WANDER] = z[CW_STATE_JITTER] = 1;
        observation->rest = data->position_seen_m[i] - data->s_m[i];
        break;
    case CW_SEEN_HEIGHT:
        z[CW_STATE_LATE] = z[CW_STATE_DRIFT] = 1;
        z[CW_STATE_SHIFT] = l->felt_slope[i];
        observation->rest = data->height_seen_m[i] - l->shown_height_m[i];
        break;
    case CW_SEEN_TAPE:
        if (i + 1 < l->n || !(data->tape_sd_m > 0)) return false;
        z[CW_STATE_SHIFT] = 1;
        observation->rest = data->tape_m - data->s_m[i];
        break;
    case CW_SEEN_KINDS:
        break;
    }
    return isfinite(observation->rest);
}
