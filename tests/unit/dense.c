#include "dense.h"

#include <check.h>
#include <gsl/gsl_blas.h>
#include <gsl/gsl_linalg.h>
#include <math.h>
#include <stdlib.h>

#include "fit/lag.h"
#include "fit/whiten.h"

double made_even(unsigned long *state) {
    *state = (*state * 1103515245ul + 12345ul) & 0x7ffffffful;
    return ((double)*state + 0.5) / 2147483648.0;
}

double made_normal(unsigned long *state) {
    double sum = -6;
    for (int i = 0; i < 12; i++) sum += made_even(state);
    return sum;
}

void made_profile(double length_m, struct cw_profile *profile) {
    struct cw_error error;
    ck_assert_int_eq(cw_profile_make(-60, length_m + 60, 15, profile, &error), CW_OK);
    for (size_t i = 0; i < profile->n; i++) {
        double s = profile->start_m + (double)i * profile->spacing_m;
        profile->coefficient_m[i] = 500 - 0.055 * s + 1.5 * sin(s / 47);
    }
}

void made_run(const struct made_run *made, const struct cw_profile *profile,
              struct cw_run_data *data) {
    enum { MOST = 400 };
    static const double steps_s[] = {1, 1, 0.5, 1, 2, 1.25, 1, 3.7};
    double t[MOST], v[MOST], s[MOST], speed[MOST], position[MOST], height[MOST];
    unsigned long state = made->seed * 7919 + 17;
    ck_assert(made->n <= MOST);
    t[0] = 100;
    s[0] = made->start_m;
    v[0] = made->start_ms;
    for (size_t i = 0; i < made->n; i++) {
        if (i) {
            double dt = steps_s[(size_t)(8 * made_even(&state))];
            t[i] = t[i - 1] + dt;
            v[i] =
                v[i - 1] + dt * (0.5 - 0.0035 * v[i - 1] * v[i - 1]) + 0.02 * made_normal(&state);
            s[i] = s[i - 1] + 0.5 * dt * (v[i] + v[i - 1]);
        }
        speed[i] = made->speed && made_even(&state) < 0.8 ? v[i] + 0.1 * made_normal(&state) : NAN;
        position[i] = made->position && made_even(&state) < 0.7 ? s[i] + made_normal(&state) : NAN;
        height[i] = made->height && made_even(&state) < 0.9
                        ? cw_profile_height(profile, s[i]) + 2 + 0.3 * made_normal(&state)
                        : NAN;
    }
    struct cw_error error;
    ck_assert_int_eq(cw_run_data_make(made->n, t, v, s, speed, position, height, data, &error),
                     CW_OK);
    data->height_step_m = 0.2;
    data->tape_m = data->s_m[data->n - 1] - 0.4;
    data->tape_sd_m = 0.3;
    for (size_t i = 0; i < data->n; i++) /* from straight on to a bend of 50 m radius */
        data->curve_1m[i] = 0.01 * (1 + sin(data->s_m[i] / 30));
    data->bicycle = (struct cw_bicycle){
        .mass_kg = 83.4, .wheel_inertia_kgm2 = 0.015 * 83.4, .wheel_radius_m = 1};
    data->surroundings = (struct cw_surroundings){
        .density_kgm3 = 1.17,
        .gravity_ms2 = 9.807,
        .wind_along_ms = 0.4,
        .column = cw_air_column_make(900, 12, 97e3, 0.6, CW_ISA_LAPSE_1M, 9.807)};
}

/* The balance by the trapezoid, both ends of a step at once, as one big system. At a step's end
 * stands the energy before (before) and after (after) the bridge is added; the step itself goes by
 * the energy before. */
static void solve_motion(const struct cw_linear *l, struct dense *d) {
    size_t n = d->n_points;
    const struct dense_inputs *in = &d->input;
    gsl_matrix *a = gsl_matrix_calloc(3 * n, 3 * n), *b = gsl_matrix_calloc(3 * n, in->n);
#define SHIFT(i) (3 * (i))
#define BEFORE(i) (3 * (i) + 1)
#define AFTER(i) (3 * (i) + 2)
    gsl_matrix_set(a, 0, SHIFT(0), 1);
    gsl_matrix_set(b, 0, in->shift, 1);
    gsl_matrix_set(a, 1, BEFORE(0), 1);
    gsl_matrix_set(b, 1, in->energy, 1);
    gsl_matrix_set(b, 1, in->one, l->residual[0]);
    gsl_matrix_set(a, 2, AFTER(0), 1);
    gsl_matrix_set(a, 2, BEFORE(0), -1);
    for (size_t i = 0; i + 1 < n; i++) {
        size_t row = 3 * (i + 1);
        double half = 0.5 * (l->data->time_s[i + 1] - l->data->time_s[i]);
        for (size_t end = 0; end < 2; end++) {
            size_t j = i + end, energy = end ? BEFORE(j) : AFTER(j);
            /* dv = gain (E - r - H eta - h' ds): half dv leaves ds, half loss dv joins E */
            double g = half * l->gain[j], e = half * l->loss_by_speed[j] * l->gain[j];
            *gsl_matrix_ptr(a, row, energy) -= g;
            *gsl_matrix_ptr(a, row, SHIFT(j)) += g * l->slope[j] + (end ? 1 : -1);
            *gsl_matrix_ptr(b, row, in->one) -= g * l->residual[j];
            *gsl_matrix_ptr(a, row + 1, energy) += e + (end ? 1 : -1);
            *gsl_matrix_ptr(a, row + 1, SHIFT(j)) -= e * l->slope[j];
            *gsl_matrix_ptr(b, row + 1, in->one) += e * l->residual[j];
            for (size_t k = 0; k < 4; k++) {
                size_t node = in->node + l->node[j].first + k;
                *gsl_matrix_ptr(b, row, node) -= g * l->node[j].weight[k];
                *gsl_matrix_ptr(b, row + 1, node) += e * l->node[j].weight[k];
            }
            *gsl_matrix_ptr(b, row + 1, in->gust + j) -= half * l->loss_by_wind[j];
        }
        gsl_matrix_set(b, row + 1, in->loss + i, -1);
        gsl_matrix_set(b, row + 1, in->crr, -(l->roll_m[i + 1] - l->roll_m[i]));
        gsl_matrix_set(b, row + 1, in->bends, -(l->bend_m[i + 1] - l->bend_m[i]));
        gsl_matrix_set(b, row + 1, in->wind, -(l->wind_m[i + 1] - l->wind_m[i]));
        gsl_matrix_set(b, row + 1, in->cda, -(l->drag_m[i + 1] - l->drag_m[i]));
        gsl_matrix_set(a, row + 2, AFTER(i + 1), 1);
        gsl_matrix_set(a, row + 2, BEFORE(i + 1), -1);
        gsl_matrix_set(b, row + 2, in->bridge + i, 1);
    }
    gsl_permutation *p = gsl_permutation_alloc(3 * n);
    gsl_vector *x = gsl_vector_alloc(3 * n);
    int sign;
    gsl_linalg_LU_decomp(a, p, &sign);
    d->motion = gsl_matrix_calloc(2 * n, in->n);
    for (size_t c = 0; c < in->n; c++) {
        gsl_vector_view column = gsl_matrix_column(b, c);
        gsl_linalg_LU_solve(a, p, &column.vector, x);
        for (size_t i = 0; i < n; i++) {
            double shift = gsl_vector_get(x, SHIFT(i)), spent = l->slope[i] * shift;
            if (c == in->one) spent += l->residual[i];
            for (size_t k = 0; k < 4; k++)
                if (c == in->node + l->node[i].first + k) spent += l->node[i].weight[k];
            gsl_matrix_set(d->motion, i, c, shift);
            gsl_matrix_set(d->motion, n + i, c, l->gain[i] * (gsl_vector_get(x, AFTER(i)) - spent));
        }
    }
    gsl_matrix_free(a);
    gsl_matrix_free(b);
    gsl_vector_free(x);
    gsl_permutation_free(p);
}

static double ornstein_uhlenbeck(double sd, double time_s, double apart_s) {
    return sd * sd * exp(-fabs(apart_s) / time_s);
}

/* Covariances of a speed's error that lasts, u, and of what it adds up to, p' = u - p/wander_time:
 * by their spectra, of second order. p is at 0, u later by later_s (earlier if that is below 0). */
static double creep_positions(const struct cw_noise *noise, double apart_s) {
    double a = 1 / noise->wander_time_s, b = 1 / noise->creep_time_s;
    double ea = exp(-a * fabs(apart_s)), eb = exp(-b * fabs(apart_s));
    return noise->creep_sd_ms * noise->creep_sd_ms / (b * b - a * a) * (b / a * ea - eb);
}

static double creep_position_and_speed(const struct cw_noise *noise, double later_s) {
    double a = 1 / noise->wander_time_s, b = 1 / noise->creep_time_s;
    double variance = noise->creep_sd_ms * noise->creep_sd_ms;
    double ea = exp(-a * fabs(later_s)), eb = exp(-b * fabs(later_s));
    return later_s > 0 ? variance * eb / (a + b) : variance * (ea / (a + b) + (ea - eb) / (b - a));
}

/* A jump is there from the end of its step on, and goes as the drift does. */
static void feel(const struct cw_nodes *node, double slope, const struct dense *d, size_t i,
                 const double *time_s, double drift_time_s, double *felt) {
    const struct dense_inputs *in = &d->input;
    for (size_t c = 0; c < in->n; c++) felt[c] = slope * gsl_matrix_get(d->motion, i, c);
    felt[in->drift + i] += 1;
    for (size_t k = 0; k < i; k++)
        felt[in->jump + k] += exp(-(time_s[i] - time_s[k + 1]) / drift_time_s);
    for (size_t k = 0; k < 4; k++) felt[in->node + node->first + k] += node->weight[k];
}

/* What the recorder shows at each point in answer to each input: what it feels, filtered. */
static gsl_matrix *show(const struct cw_linear *l, const struct dense *d, double drift_time_s) {
    const struct dense_inputs *in = &d->input;
    const double *time_s = l->data->time_s;
    gsl_matrix *shown = gsl_matrix_alloc(l->n, in->n);
    double *felt = malloc(in->n * sizeof *felt), *next = malloc(in->n * sizeof *next);
    feel(&l->start_node, l->start_slope, d, 0, time_s, drift_time_s, gsl_matrix_ptr(shown, 0, 0));
    gsl_matrix_set(shown, 0, in->start, 1);
    feel(&l->felt_node[0], l->felt_slope[0], d, 0, time_s, drift_time_s, felt);
    for (size_t i = 1; i < l->n; i++) {
        struct cw_lag_step step =
            cw_lag_step_make(l->data->time_s[i] - l->data->time_s[i - 1], l->lag_s);
        feel(&l->felt_node[i], l->felt_slope[i], d, i, time_s, drift_time_s, next);
        for (size_t c = 0; c < in->n; c++) {
            gsl_matrix_set(shown, i, c,
                           step.keep * gsl_matrix_get(shown, i - 1, c) + step.here * felt[c] +
                               step.there * next[c]);
            felt[c] = next[c];
        }
    }
    free(felt);
    free(next);
    return shown;
}

void dense_make(const struct cw_linear *l, const struct cw_noise *noise, size_t n_nodes,
                struct dense *d) {
    const struct cw_run_data *data = l->data;
    size_t n = l->n;
    *d = (struct dense){.n_points = n, .n_nodes = n_nodes};
    d->input = (struct dense_inputs){.bridge = n,
                                     .loss = 2 * n,
                                     .drift = 3 * n,
                                     .jump = 4 * n,
                                     .start = 5 * n,
                                     .node = 5 * n + 1};
    d->input.shift = d->input.node + n_nodes;
    d->input.energy = d->input.shift + 1;
    d->input.crr = d->input.shift + 2;
    d->input.cda = d->input.shift + 3;
    d->input.bends = d->input.shift + 4;
    d->input.wind = d->input.shift + 5;
    d->input.one = d->input.shift + 6;
    d->input.n = d->input.shift + 7;
    solve_motion(l, d);

    size_t n_random = d->input.node;
    d->inputs = gsl_matrix_calloc(n_random, n_random);
    for (size_t i = 0; i < n; i++)
        for (size_t j = 0; j < n; j++)
            gsl_matrix_set(d->inputs, i, j,
                           ornstein_uhlenbeck(noise->gust_sd_ms, noise->gust_time_s,
                                              data->time_s[i] - data->time_s[j]));
    for (size_t i = 0; i < n; i++)
        for (size_t j = 0; j < n; j++)
            gsl_matrix_set(d->inputs, d->input.drift + i, d->input.drift + j,
                           ornstein_uhlenbeck(noise->drift_sd_m, noise->drift_time_s,
                                              data->time_s[i] - data->time_s[j]));
    /* 0.1 m/s times the filter's time: what is not known of the heights before the run */
    gsl_matrix_set(d->inputs, d->input.start, d->input.start, pow(0.1 * fmax(0, l->lag_s), 2));
    gsl_matrix *shown = show(l, d, noise->drift_time_s);
    for (size_t i = 0; i + 1 < n; i++) {
        double dt = data->time_s[i + 1] - data->time_s[i];
        double by_wind = 0.5 * (l->loss_by_wind[i] + l->loss_by_wind[i + 1]);
        gsl_matrix_set(d->inputs, n + i, n + i,
                       by_wind * by_wind * 2 * noise->gust_sd_ms * noise->gust_sd_ms /
                           noise->gust_time_s * dt * dt * dt / 12);
        gsl_matrix_set(d->inputs, d->input.loss + i, d->input.loss + i,
                       pow(data->break_sd_m[CW_BREAK_LOSS][i], 2));
        gsl_matrix_set(d->inputs, d->input.jump + i, d->input.jump + i,
                       pow(data->break_sd_m[CW_BREAK_JUMP][i], 2));
    }

    size_t m = 0, width = n_nodes + CW_TAIL, *point = malloc(4 * n * sizeof *point);
    int *kind = malloc(4 * n * sizeof *kind);
    for (size_t i = 0; i < n; i++) {
        const double seen[4] = {data->speed_seen_ms[i], data->position_seen_m[i],
                                data->height_seen_m[i],
                                i + 1 == n && data->tape_sd_m > 0 ? data->tape_m : NAN};
        for (int k = 0; k < 4; k++) {
            if (isnan(seen[k])) continue;
            point[m] = i;
            kind[m++] = k;
        }
    }
    d->n_seen = m;
    d->is_height = malloc(m * sizeof *d->is_height);
    d->columns = gsl_matrix_calloc(m, width);
    d->by_input = gsl_matrix_calloc(m, d->input.n);
    d->recording = gsl_matrix_calloc(m, m);
    d->covariance = gsl_matrix_calloc(m, m);
    for (size_t r = 0; r < m; r++) {
        size_t i = point[r];
        double *by = gsl_matrix_ptr(d->by_input, r, 0), *row = gsl_matrix_ptr(d->columns, r, 0);
        double *tail = row + n_nodes, white, rest;
        d->is_height[r] = kind[r] == 2;
        for (size_t c = 0; c < d->input.n; c++) {
            double ds = gsl_matrix_get(d->motion, i, c), dv = gsl_matrix_get(d->motion, n + i, c);
            by[c] = kind[r] == 0                   ? dv
                    : kind[r] == 1 || kind[r] == 3 ? ds
                                                   : gsl_matrix_get(shown, i, c);
        }
        if (kind[r] == 0) {
            white = noise->speed_sd_ms * noise->speed_sd_ms;
            rest = data->speed_seen_ms[i] - data->speed_ms[i] * (1 + l->scale);
            tail[CW_TAIL_SCALE] = -data->speed_ms[i];
        } else if (kind[r] == 1) {
            white = noise->position_sd_m * noise->position_sd_m;
            rest = data->position_seen_m[i] - data->s_m[i];
        } else if (kind[r] == 3) {
            white = data->tape_sd_m * data->tape_sd_m;
            rest = data->tape_m - data->s_m[i];
        } else {
            white = noise->elevation_sd_m * noise->elevation_sd_m +
                    data->height_step_m * data->height_step_m / 12;
            rest = data->height_seen_m[i] - l->shown_height_m[i];
            tail[CW_TAIL_OFFSET] = -1;
        }
        for (size_t k = 0; k < n_nodes; k++) row[k] = -by[d->input.node + k];
        tail[CW_TAIL_SHIFT] = -by[d->input.shift];
        tail[CW_TAIL_ENERGY] = -by[d->input.energy];
        tail[CW_TAIL_CRR] = -by[d->input.crr];
        tail[CW_TAIL_CDA] = -by[d->input.cda];
        tail[CW_TAIL_BENDS] = -by[d->input.bends];
        tail[CW_TAIL_WIND] = tail[CW_TAIL_OWN_WIND] = -by[d->input.wind];
        tail[CW_TAIL_DATA] = rest - by[d->input.one];
        for (size_t c = 0; c <= r; c++) {
            double apart = data->time_s[i] - data->time_s[point[c]], sum = c == r ? white : 0;
            if (kind[r] == 1 && kind[c] == 1)
                sum += ornstein_uhlenbeck(noise->wander_sd_m, noise->wander_time_s, apart) +
                       ornstein_uhlenbeck(noise->jitter_sd_m, noise->jitter_time_s, apart) +
                       creep_positions(noise, apart);
            if (kind[r] == 0 && kind[c] == 0)
                sum += ornstein_uhlenbeck(noise->creep_sd_ms, noise->creep_time_s, apart);
            if (kind[r] == 0 && kind[c] == 1) sum += creep_position_and_speed(noise, apart);
            if (kind[r] == 1 && kind[c] == 0) sum += creep_position_and_speed(noise, -apart);
            gsl_matrix_set(d->recording, r, c, sum);
            gsl_matrix_set(d->recording, c, r, sum);
        }
    }
    gsl_matrix_const_view disturbed = gsl_matrix_const_submatrix(d->by_input, 0, 0, m, n_random);
    gsl_matrix *half = gsl_matrix_alloc(m, n_random);
    gsl_blas_dgemm(CblasNoTrans, CblasNoTrans, 1, &disturbed.matrix, d->inputs, 0, half);
    gsl_matrix_memcpy(d->covariance, d->recording);
    gsl_blas_dgemm(CblasNoTrans, CblasTrans, 1, half, &disturbed.matrix, 1, d->covariance);
    gsl_matrix_free(half);
    gsl_matrix_free(shown);
    free(point);
    free(kind);
}

void dense_free(struct dense *d) {
    gsl_matrix_free(d->motion);
    gsl_matrix_free(d->inputs);
    gsl_matrix_free(d->columns);
    gsl_matrix_free(d->by_input);
    gsl_matrix_free(d->recording);
    gsl_matrix_free(d->covariance);
    free(d->is_height);
    *d = (struct dense){0};
}

double dense_normal(const struct dense *d, gsl_matrix *product) {
    size_t m = d->n_seen;
    gsl_matrix *root = gsl_matrix_alloc(m, m), *white = gsl_matrix_alloc(m, d->columns->size2);
    gsl_matrix_memcpy(root, d->covariance);
    gsl_matrix_memcpy(white, d->columns);
    gsl_linalg_cholesky_decomp1(root);
    double log_det = 0;
    for (size_t i = 0; i < m; i++) log_det += 2 * log(gsl_matrix_get(root, i, i));
    gsl_blas_dtrsm(CblasLeft, CblasLower, CblasNoTrans, CblasNonUnit, 1, root, white);
    gsl_blas_dgemm(CblasTrans, CblasNoTrans, 1, white, white, 0, product);
    gsl_matrix_free(root);
    gsl_matrix_free(white);
    return log_det;
}
