#include "explain/left.h"

#include <math.h>
#include <stdlib.h>

#include "stats/student.h"

/* A run's r and how it answers to its log CdA and to its speed at the gate. */
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

/* q' V q of the runs' own log CdA, whose mean over a setup is the comparison's. */
static enum cw_status by_own(const struct cw_compare_workings *workings,
                             const struct cw_explained_run *runs, const struct one *ones, size_t n,
                             double *variance, struct cw_error *error) {
    const struct cw_run_model *model = &workings->model;
    const struct cw_table_of_runs *table = &workings->table;
    size_t m = model->n, p = model->p;
    double *a = calloc(2 * m + p, sizeof *a), *rest = a + m, *sum = rest + m;
    if (!a) return cw_error_memory(error);
    for (size_t k = 0; k < n; k++)
        if (runs[k].weight != 0) a[runs[k].in_table] = runs[k].weight * ones[k].by_log_cda;
    for (size_t i = 0; i < m; i++)
        for (size_t d = 0; d < p; d++) sum[d] += model->design[i * p + d] * a[i];
    for (size_t i = 0; i < m; i++) {
        rest[i] = a[i];
        for (size_t d = 0; d < p; d++) rest[i] -= model->weight[d * m + i] * sum[d];
    }
    *variance = 0;
    for (size_t i = 0; i < m; i++)
        for (size_t j = 0; j < m; j++)
            *variance +=
                rest[i] * rest[j] *
                (model->random[i * m + j] + table->covariance[i * m + j] - table->noise[i * m + j]);
    free(a);
    return CW_OK;
}

enum cw_status cw_explain_left(const struct cw_explained_road *road,
                               const struct cw_compare_workings *workings,
                               const struct cw_explained_run *runs, size_t n,
                               enum cw_explained_quantity quantity, double value,
                               struct cw_estimate *left, bool *told, struct cw_error *error) {
    struct one *ones = calloc(n + 1, sizeof *ones);
    double mean[2] = {0, 0}, squares = 0, counts = 0, own, stated = 0, used = 0;
    enum cw_status status = ones ? CW_OK : cw_error_memory(error);
    *told = false;
    for (size_t k = 0; k < n && status >= 0; k++) {
        if (runs[k].weight == 0) continue;
        status = look_at(road, &runs[k], quantity, &ones[k], error);
        mean[runs[k].side] +=
            fabs(runs[k].weight) * (ones[k].rest - ones[k].by_log_cda * runs[k].own_log);
    }
    if (status >= 0) status = by_own(workings, runs, ones, n, &own, error);
    for (size_t k = 0; k < n && status >= 0; k++) {
        if (runs[k].weight == 0) continue;
        double e = ones[k].rest - ones[k].by_log_cda * runs[k].own_log - mean[runs[k].side];
        squares += e * e;
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
    left->standard_error = sqrt(variance + own);
    half = sqrt(half * half * variance + pow(cw_t_quantile(0.975, INFINITY), 2) * own);
    left->low = value - half;
    left->high = value + half;
    left->noise_standard_error = 0;
    *told = isfinite(squares);
    return CW_OK;
}
