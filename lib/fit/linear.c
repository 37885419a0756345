#include "fit/linear.h"

#include <math.h>
#include <stdlib.h>

#include "fit/energy.h"
#include "fit/lag.h"

/* Below walking pace the gain g/(k v) would make a speed error's share of the balance vanish into
 * rounding; runs are cut above it. */
static const double least_speed_ms = 0.5;

enum cw_status cw_linear_alloc(const struct cw_run_data *data, struct cw_linear *linear,
                               struct cw_error *error) {
    enum { COLUMNS = 14 };
    *linear = (struct cw_linear){.n = data->n, .data = data};
    size_t n = data->n;
    double *block = calloc(COLUMNS * n, sizeof *block);
    linear->gain = block;
    linear->node = calloc(2 * n, sizeof *linear->node);
    if (!block || !linear->node) {
        cw_linear_free(linear);
        return cw_error_memory(error);
    }
    linear->residual = block + n;
    linear->slope = block + 2 * n;
    linear->loss_by_speed = block + 3 * n;
    linear->loss_by_wind = block + 4 * n;
    linear->roll_m = block + 5 * n;
    linear->drag_m = block + 6 * n;
    linear->felt_height_m = block + 7 * n;
    linear->felt_slope = block + 8 * n;
    linear->shown_height_m = block + 9 * n;
    linear->wind_m = block + 10 * n;
    linear->expected_ms = block + 11 * n;
    linear->bend_m = block + 12 * n;
    linear->air = block + 13 * n;
    linear->felt_node = linear->node + n;
    return CW_OK;
}

void cw_linear_free(struct cw_linear *linear) {
    free(linear->gain);
    free(linear->node);
    *linear = (struct cw_linear){0};
}

/* A metre, where the way bends so. */
static double lost_in_bend(const struct cw_run_data *data, size_t i, const struct cw_basis *basis,
                           double speed_ms) {
    double curve_1m = data->curve_1m[i], g = data->surroundings.gravity_ms2;
    return basis->bends * cw_bend_loss(speed_ms, curve_1m, g) +
           basis->bends_any * cw_bend_loss(CW_BENDS_USUAL_MS, curve_1m, g);
}

/* Lost by now in bends at given speeds, by the trapezoid along the road. */
static void lose_in_bends(const struct cw_run_data *data, const double *speed_ms, double *bend_m) {
    double before = 0, g = data->surroundings.gravity_ms2;
    for (size_t i = 0; i < data->n; i++) {
        double here = cw_bend_loss(speed_ms[i], data->curve_1m[i], g);
        bend_m[i] =
            i ? bend_m[i - 1] + 0.5 * (data->s_m[i] - data->s_m[i - 1]) * (before + here) : 0;
        before = here;
    }
}

static double combine(const struct cw_profile *profile, const struct cw_nodes *nodes,
                      const double weight[4]) {
    const double *c = profile->coefficient_m + nodes->first;
    return weight[0] * c[0] + weight[1] * c[1] + weight[2] * c[2] + weight[3] * c[3];
}

/* Where the basis motion is later_s after point i. */
static double place_after(const struct cw_run_data *data, size_t i, double later_s) {
    double t = data->time_s[i] + later_s;
    size_t j = i + 1 < data->n ? i : i - 1;
    while (j + 2 < data->n && data->time_s[j + 1] < t) j++;
    double d = t - data->time_s[j];
    double acceleration =
        (data->speed_ms[j + 1] - data->speed_ms[j]) / (data->time_s[j + 1] - data->time_s[j]);
    return data->s_m[j] + d * (data->speed_ms[j] + 0.5 * d * acceleration);
}

/* How far behind its first place a filter of lag_s has the rider there, of a rider who stood before
 * the seconds that are known. */
static double place_behind(const struct cw_run_data *data, double lag_s) {
    struct cw_lag_step step = cw_lag_step_make(1, lag_s);
    double behind = data->before_m[CW_BEFORE - 1];
    for (size_t k = CW_BEFORE; k-- > 0;)
        behind = step.keep * behind + step.here * data->before_m[k] +
                 step.there * (k ? data->before_m[k - 1] : 0);
    return behind;
}

/* What is left of the tyres' Crr at the run's temperature. */
static double own_share(const struct cw_basis *basis) {
    return cw_crr_warmer(1, basis->crr_warm);
}

static double own_crr(const struct cw_basis *basis) {
    return own_share(basis) * basis->crr;
}

/* The loss a metre of a coast, in the air of the basis motion's place. */
static struct cw_loss loss_at(const struct cw_linear *linear, size_t i, double speed_ms,
                              double cosine) {
    struct cw_surroundings here = linear->data->surroundings;
    here.density_kgm3 *= linear->air[i];
    return cw_coast_loss(&linear->data->bicycle, &here, speed_ms, cosine);
}

/* All in all. */
static double lost(const struct cw_linear *linear, size_t i, const struct cw_basis *basis,
                   double cosine, double speed_ms) {
    struct cw_loss loss = loss_at(linear, i, speed_ms, cosine);
    return cw_loss_sum(&loss, basis->cda_m2, own_crr(basis)) +
           lost_in_bend(linear->data, i, basis, speed_ms);
}

/* The speed at each grid point's place of a coast that no gust disturbs, from the basis motion's
 * first speed, by the trapezoid along the road; what it lost at a place it loses. Where the basis
 * values are so poor that it comes to nothing, or to half as much again as the basis motion, it is
 * held. */
static void expect(struct cw_linear *linear, const struct cw_basis *basis, const double *cosine) {
    const struct cw_run_data *data = linear->data;
    double g = data->surroundings.gravity_ms2, k = cw_inertia_factor(&data->bicycle);
    double v = fmax(data->speed_ms[0], least_speed_ms), before = 0, height_before = 0;
    for (size_t i = 0; i < linear->n; i++) {
        double height = combine(basis->profile, &linear->node[i], linear->node[i].weight);
        if (i) {
            double step = data->s_m[i] - data->s_m[i - 1], there = before, square = 0;
            for (int pass = 0; pass < 2; pass++) {
                double head = k * v * v / (2 * g) - (height - height_before) -
                              0.5 * step * (before + there) - data->break_m[CW_BREAK_LOSS][i - 1];
                square = 2 * g * head / k;
                double least = 0.25 * data->speed_ms[i] * data->speed_ms[i];
                square =
                    fmin(fmax(square, fmax(least, least_speed_ms * least_speed_ms)), 9 * least);
                there = lost(linear, i, basis, cosine[i], sqrt(square));
            }
            v = sqrt(square);
            before = there;
        } else {
            before = lost(linear, i, basis, cosine[i], v);
        }
        height_before = height;
        linear->expected_ms[i] = v;
    }
}

/* What the balance answers to CdA and wind: along the coast that is expected, not along the basis
 * motion. That follows the gusts, before they blow too, for it is smoothed; and what answers to a
 * gust beforehand would take a part of it for an answer to CdA. */
static void answer_to_drag(struct cw_linear *linear, double cda_m2) {
    const struct cw_run_data *data = linear->data;
    struct cw_loss before = {0};
    for (size_t i = 0; i < linear->n; i++) {
        struct cw_loss loss = loss_at(linear, i, linear->expected_ms[i], 1);
        double half = i ? 0.5 * (data->s_m[i] - data->s_m[i - 1]) : 0;
        linear->drag_m[i] = i ? linear->drag_m[i - 1] + half * (before.drag + loss.drag) : 0;
        linear->wind_m[i] =
            i ? linear->wind_m[i - 1] +
                    cw_run_data_headwind(data, half * cda_m2 *
                                                   (before.drag_by_speed + loss.drag_by_speed))
              : 0;
        before = loss;
    }
}

void cw_linear_set(struct cw_linear *linear, const struct cw_basis *basis) {
    const struct cw_run_data *data = linear->data;
    const struct cw_bicycle *bicycle = &data->bicycle;
    const struct cw_surroundings *surroundings = &data->surroundings;
    const struct cw_profile *profile = basis->profile;
    linear->scale = basis->scale;
    double *cosine = linear->gain, *bearing = linear->loss_by_speed; /* until they are set below */
    for (size_t i = 0; i < linear->n; i++) {
        double by_slope[4];
        linear->node[i].first =
            cw_profile_weights(profile, data->s_m[i], linear->node[i].weight, by_slope);
        linear->slope[i] = combine(profile, &linear->node[i], by_slope);
        cosine[i] = cw_energy_cosine(linear->slope[i]);
        linear->air[i] = cw_air_column_density(
            &surroundings->column, combine(profile, &linear->node[i], linear->node[i].weight));
    }
    cw_energy_columns(bicycle, surroundings, linear->n, data->s_m, data->speed_ms, cosine,
                      linear->air, linear->residual, linear->roll_m, linear->drag_m, bearing);
    expect(linear, basis, cosine);
    lose_in_bends(data, data->speed_ms, linear->bend_m);
    double share = own_share(basis), in_bends = 0, before = 0;
    for (size_t i = 0; i < linear->n; i++) {
        double v = fmax(data->speed_ms[i], least_speed_ms);
        double here = lost_in_bend(data, i, basis, data->speed_ms[i]);
        if (i) in_bends += 0.5 * (data->s_m[i] - data->s_m[i - 1]) * (before + here);
        before = here;
        linear->roll_m[i] *= share;
        linear->residual[i] += combine(profile, &linear->node[i], linear->node[i].weight) +
                               basis->crr * linear->roll_m[i] + basis->cda_m2 * linear->drag_m[i] +
                               bearing[i] + in_bends;
        struct cw_loss loss = loss_at(linear, i, v, cosine[i]);
        /* v times the loss a metre is the loss a second */
        linear->loss_by_wind[i] = v * basis->cda_m2 * loss.drag_by_speed;
        linear->loss_by_speed[i] =
            cw_loss_sum(&loss, basis->cda_m2, own_crr(basis)) + v * loss.bearing_by_speed +
            linear->loss_by_wind[i] +
            5 * basis->bends * cw_bend_loss(v, data->curve_1m[i], surroundings->gravity_ms2);
        linear->gain[i] = surroundings->gravity_ms2 / (cw_inertia_factor(bicycle) * v);
    }
    answer_to_drag(linear, basis->cda_m2);
    lose_in_bends(data, linear->expected_ms, linear->bend_m);
    cw_linear_set_lag(linear, profile, basis->lag_s);
}

static double feel(const struct cw_profile *profile, double s_m, struct cw_nodes *node,
                   double *slope) {
    double by_slope[4];
    node->first = cw_profile_weights(profile, s_m, node->weight, by_slope);
    *slope = combine(profile, node, by_slope);
    return combine(profile, node, node->weight);
}

void cw_linear_set_lag(struct cw_linear *linear, const struct cw_profile *profile, double lag_s) {
    const struct cw_run_data *data = linear->data;
    double start_m =
        lag_s < 0 ? place_after(data, 0, -lag_s) : data->s_m[0] - place_behind(data, lag_s);
    linear->lag_s = lag_s;
    double shown = feel(profile, start_m, &linear->start_node, &linear->start_slope);
    for (size_t i = 0; i < linear->n; i++) {
        double s = lag_s < 0 ? place_after(data, i, -lag_s) : data->s_m[i];
        double felt = feel(profile, s, &linear->felt_node[i], &linear->felt_slope[i]);
        linear->felt_height_m[i] = felt;
        if (i > 0) {
            struct cw_lag_step step =
                cw_lag_step_make(data->time_s[i] - data->time_s[i - 1], lag_s);
            shown =
                step.keep * shown + step.here * linear->felt_height_m[i - 1] + step.there * felt;
        }
        linear->shown_height_m[i] = shown;
    }
}

struct cw_linear cw_linear_at_lag(const struct cw_linear *linear, const struct cw_profile *profile,
                                  double lag_s, double *room, struct cw_nodes *nodes) {
    struct cw_linear there = *linear;
    there.felt_height_m = room;
    there.felt_slope = room + linear->n;
    there.shown_height_m = room + 2 * linear->n;
    there.felt_node = nodes;
    cw_linear_set_lag(&there, profile, lag_s);
    return there;
}
