#include "explain/left.h"

#include <math.h>
#include <stdlib.h>

#include "stats/student.h"

/* A run's r, and then e, and how it answers to its log CdA and to its speed at the gate. */
struct one {
    double rest, by_log_cda, by_speed;
};

static const double log_step = 0.01, speed_step = 0.02;

static enum cw_status look_at(const struct cw_explained_road *road,
                              const struct cw_explained_run *run, enum cw_explained_quantity q,
                              struct one *one, struct cw_error *error) {
    struct cw_explained_state more = run->state, faster = run->state;
    double at[CW_EXPLAINED], by_cda[CW_EXPLAINED], by_speed[CW_EXPLAINED];
    more.of[CW_PART_DRAG] *= 1 + log_step;
    faster.of[CW_PART_START] *= 1 + speed_step;
    enum cw_status status = cw_explained_coast(road, &run->state, at, error);
    if (status >= 0) status = cw_explained_coast(road, &more, by_cda, error);
    if (status >= 0) status = cw_explained_coast(road, &faster, by_speed, error);
    if (status < 0) return status;
    one->rest = run->measured.value - at[q];
    one->by_log_cda = (by_cda[q] - at[q]) / log_step;
    one->by_speed = (by_speed[q] - at[q]) / (speed_step * run->state.of[CW_PART_START]);
    return CW_OK;
}

/* The variances of a run's own drag, and of the noise of its log CdA that it does not share. */
static void variances_of(const struct cw_compare_workings *workings, size_t i, double *own,
                         double *noise) {
    const struct cw_run_model *model = &workings->model;
    size_t m = model->n;
    double shared = 0, whole = model->noise2 * workings->table.noise[i * m + i];
    for (size_t j = 0; j < m; j++)
        shared += model->noise2 * workings->table.noise[i * m + j] / (double)m;
    *own = fmax(0, model->random[i * m + i] - whole);
    *noise = fmax(0, whole - shared);
}

/* What e and h are of, and what the setups' CdA add. */
static enum cw_status by_own(const struct cw_compare_workings *workings,
                             const struct cw_explained_run *runs, struct one *ones, size_t n,
                             double *added, struct cw_error *error) {
    const struct cw_run_model *model = &workings->model;
    size_t m = model->n, p = model->p;
    double *a = calloc(2 * m + p, sizeof *a), *d = a + m, *sum = d + m;
    if (!a) return cw_error_memory(error);
    *added = 0;
    for (size_t k = 0; k < n; k++) {
        double own, noise;
        if (runs[k].weight == 0) continue;
        variances_of(workings, runs[k].in_table, &own, &noise);
        double told = own > 0 ? own / (own + noise) : 0;
        ones[k].rest -= ones[k].by_log_cda * told * runs[k].own_log;
        a[runs[k].in_table] = runs[k].weight * ones[k].by_log_cda;
        *added -= pow(a[runs[k].in_table], 2) * told * noise;
    }
    for (size_t i = 0; i < m; i++)
        for (size_t k = 0; k < p; k++) sum[k] += model->design[i * p + k] * a[i];
    for (size_t i = 0; i < m; i++)
        for (size_t k = 0; k < p; k++) d[i] += model->weight[k * m + i] * sum[k];
    for (size_t i = 0; i < m; i++) {
        for (size_t j = 0; j < m; j++) {
            double noise = model->noise2 * workings->table.noise[i * m + j];
            *added += d[i] * d[j] * noise +
                      (a[i] - d[i]) * (a[j] - d[j]) * (model->random[i * m + j] - noise);
        }
    }
    *added = fmax(0, *added);
    free(a);
    return CW_OK;
}

enum cw_status cw_explain_left(const struct cw_explained_road *road,
                               const struct cw_compare_workings *workings,
                               const struct cw_explained_run *runs, size_t n,
                               enum cw_explained_quantity quantity, double value,
                               struct cw_estimate *left, bool *told, struct cw_error *error) {
    struct one *ones = calloc(n + 1, sizeof *ones);
    double mean[2] = {0, 0}, squares = 0, counts = 0, added = 0, stated = 0, used = 0;
    enum cw_status status = ones ? CW_OK : cw_error_memory(error);
    *told = false;
    for (size_t k = 0; k < n && status >= 0; k++)
        if (runs[k].weight != 0) status = look_at(road, &runs[k], quantity, &ones[k], error);
    if (status >= 0) status = by_own(workings, runs, ones, n, &added, error);
    for (size_t k = 0; k < n && status >= 0; k++)
        mean[runs[k].side] += fabs(runs[k].weight) * ones[k].rest;
    for (size_t k = 0; k < n && status >= 0; k++) {
        if (runs[k].weight == 0) continue;
        squares += pow(ones[k].rest - mean[runs[k].side], 2);
        counts += runs[k].weight * runs[k].weight;
        stated += pow(runs[k].measured.standard_error, 2) +
                  pow(ones[k].by_speed * runs[k].speed_ms.standard_error, 2);
        used++;
    }
    free(ones);
    if (status < 0) return status;
    double df = used - 2, prior = df < CW_LEFT_DF ? CW_LEFT_DF : 0;
    if (!isfinite(stated)) stated = prior = 0;
    double variance = (prior * stated / used + squares) / (prior + df) * counts;
    double half = cw_t_quantile(0.975, prior + df);
    left->value = value;
    left->standard_error = sqrt(variance + added);
    half = sqrt(half * half * variance + pow(cw_t_quantile(0.975, INFINITY), 2) * added);
    left->low = value - half;
    left->high = value + half;
    left->noise_standard_error = 0;
    *told = isfinite(squares);
    return CW_OK;
}
