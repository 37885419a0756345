#include "fit/markov.h"

#include <math.h>
#include <string.h>

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

void cw_markov_step_make(const struct cw_linear *linear, size_t i, const struct cw_noise *noise,
                         struct cw_markov_step *step) {
    double dt = linear->data->time_s[i + 1] - linear->data->time_s[i];
    double keep_gust = exp(-dt / noise->gust_time_s);
    double keep_drift = exp(-dt / noise->drift_time_s);
    double keep_wander = exp(-dt / noise->wander_time_s);
    double gust_next[3];
    memset(step, 0, sizeof *step);
    balance_step(linear, i, dt, keep_gust, gust_next, step);
    step->transition[CW_STATE_GUST][CW_STATE_GUST] = keep_gust;
    step->transition[CW_STATE_DRIFT][CW_STATE_DRIFT] = keep_drift;
    step->transition[CW_STATE_WANDER][CW_STATE_WANDER] = keep_wander;

    /* The gust's fresh part acts on shift and energy within the step too. */
    gust_next[2] = 1;
    double fresh = square(noise->gust_sd_ms) * (1 - square(keep_gust));
    for (int r = 0; r < 3; r++)
        for (int c = 0; c < 3; c++) step->noise[r][c] = fresh * gust_next[r] * gust_next[c];
    /* And between the step's ends it is no straight line: the integral of a Brownian bridge. */
    double rate = 2 * square(noise->gust_sd_ms) / noise->gust_time_s;
    double by_wind = 0.5 * (linear->loss_by_wind[i] + linear->loss_by_wind[i + 1]);
    step->noise[CW_STATE_ENERGY][CW_STATE_ENERGY] += square(by_wind) * rate * dt * dt * dt / 12;
    step->noise[CW_STATE_DRIFT][CW_STATE_DRIFT] =
        square(noise->drift_sd_m) * (1 - square(keep_drift));
    step->noise[CW_STATE_WANDER][CW_STATE_WANDER] =
        square(noise->wander_sd_m) * (1 - square(keep_wander));
}

void cw_markov_start(const struct cw_noise *noise, double covariance[CW_STATES][CW_STATES]) {
    memset(covariance, 0, CW_STATES * sizeof *covariance);
    covariance[CW_STATE_GUST][CW_STATE_GUST] = square(noise->gust_sd_ms);
    covariance[CW_STATE_DRIFT][CW_STATE_DRIFT] = square(noise->drift_sd_m);
    covariance[CW_STATE_WANDER][CW_STATE_WANDER] = square(noise->wander_sd_m);
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
        observation->rest = data->speed_seen_ms[i] - data->speed_ms[i] * (1 + l->scale) +
                            l->gain[i] * l->residual[i];
        observation->variance = square(noise->speed_sd_ms);
        break;
    case CW_SEEN_POSITION:
        z[CW_STATE_SHIFT] = z[CW_STATE_WANDER] = 1;
        observation->rest = data->position_seen_m[i] - data->s_m[i];
        observation->variance = square(noise->position_sd_m);
        break;
    case CW_SEEN_HEIGHT:
        z[CW_STATE_SHIFT] = l->lagged_slope[i];
        z[CW_STATE_DRIFT] = 1;
        observation->rest = data->height_seen_m[i] - l->lagged_height_m[i];
        /* heights in steps are off by up to half a step, evenly */
        observation->variance = square(noise->elevation_sd_m) + square(data->height_step_m) / 12;
        break;
    case CW_SEEN_KINDS:
        break;
    }
    return isfinite(observation->rest);
}
