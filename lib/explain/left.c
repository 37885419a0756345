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

/* Sum of the squares of q y, run by run: those that count less are those that scatter more. */
static enum cw_status weighed_otherwise(const struct cw_compare_workings *workings,
                                        const struct cw_explained_run *runs, const struct one *ones,
                                        size_t n, double *squares, struct cw_error *error) {
    const struct cw_run_model *model = &workings->model;
    size_t m = model->n, p = model->p;
    double *q = calloc(m + p, sizeof *q);
    if (!q) return cw_error_memory(error);
    double *sum = q + m;
    for (size_t k = 0; k < n; k++)
        if (runs[k].weight != 0) q[runs[k].in_table] = runs[k].weight * ones[k].by_log_cda;
    for (size_t i = 0; i < m; i++)
        for (size_t d = 0; d < p; d++) sum[d] += model->design[i * p + d] * q[i];
    for (size_t i = 0; i < m; i++)
        for (size_t d = 0; d < p; d++) q[i] -= model->weight[d * m + i] * sum[d];
    *squares = 0;
    for (size_t k = 0; k < n; k++)
        if (runs[k].weight != 0) *squares += pow(q[runs[k].in_table] * runs[k].own_log, 2);
    free(q);
    return CW_OK;
}

/* Sums of squares and products within the setups, about their means: of r and g y. */
struct within {
    double rr, ry, yy;
};

static struct within within_setups(const struct cw_explained_run *runs, const struct one *ones,
                                   size_t n) {
    struct within w = {0};
    double r[2] = {0, 0}, y[2] = {0, 0};
    for (size_t k = 0; k < n; k++) {
        double counts = fabs(runs[k].weight);
        r[runs[k].side] += counts * ones[k].rest;
        y[runs[k].side] += counts * ones[k].by_log_cda * runs[k].own_log;
    }
    for (size_t k = 0; k < n; k++) {
        if (runs[k].weight == 0) continue;
        double dr = ones[k].rest - r[runs[k].side],
               dy = ones[k].by_log_cda * runs[k].own_log - y[runs[k].side];
        w.rr += dr * dr;
        w.ry += dr * dy;
        w.yy += dy * dy;
    }
    return w;
}

/* k, and the degrees of freedom that it takes. */
static double real_part(const struct within *w, double df, double *taken) {
    static const double least_df = 4;
    *taken = 0;
    if (!(w->yy > 0)) return 1;
    if (df < least_df) return w->yy - 2 * w->ry <= 0 ? 1 : 0;
    double k = w->ry / w->yy;
    *taken = k > 0 && k < 1 ? 1 : 0;
    return fmin(1, fmax(0, k));
}

enum cw_status cw_explain_left(const struct cw_explained_road *road,
                               const struct cw_compare_workings *workings,
                               const struct cw_explained_run *runs, size_t n,
                               enum cw_explained_quantity quantity, double value, double drag_error,
                               struct cw_estimate *left, bool *told, struct cw_error *error) {
    struct one *ones = calloc(n + 1, sizeof *ones);
    double counts = 0, weighed = 0, stated = 0, used = 0, taken, prior;
    struct within within = {0};
    enum cw_status status = ones ? CW_OK : cw_error_memory(error);
    *told = false;
    for (size_t k = 0; k < n && status >= 0; k++) {
        if (runs[k].weight == 0) continue;
        status = look_at(road, &runs[k], quantity, &ones[k], error);
        counts += runs[k].weight * runs[k].weight;
        stated += pow(runs[k].measured.standard_error, 2) +
                  pow(ones[k].by_speed * runs[k].speed_ms.standard_error, 2);
        used++;
    }
    if (status >= 0) status = weighed_otherwise(workings, runs, ones, n, &weighed, error);
    if (status >= 0) within = within_setups(runs, ones, n);
    if (used > 2) weighed *= used / (used - 2);
    free(ones);
    if (status < 0) return status;
    double df = used - 2, k = real_part(&within, df, &taken),
           squares = fmax(0, within.rr - 2 * k * within.ry + k * k * within.yy);
    df -= taken;
    prior = df < CW_LEFT_DF && isfinite(stated) ? CW_LEFT_DF : 0;
    if (!(prior > 0)) stated = 0;
    double variance = (prior * stated / used + squares) / (prior + df) * counts + k * k * weighed,
           others = pow((1 - k) * drag_error, 2), t = cw_t_quantile(0.975, prior + df),
           z = cw_t_quantile(0.975, INFINITY), half = sqrt(t * t * variance + z * z * others);
    *left = (struct cw_estimate){value, sqrt(variance + others), value - half, value + half, 0};
    *told = isfinite(within.rr);
    return CW_OK;
}
