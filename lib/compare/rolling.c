#include "compare/rolling.h"

#include <math.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include "fit/workings.h"

/* By which the Crr of all tyres differs from outing to outing: surface, warmth. Common practice, no
 * source. */
static const double outing_crr_sd = 0.001;

void cw_rolling_free(struct cw_rolling *rolling) {
    cw_components_free(&rolling->components);
    free(rolling->tyres);
    free(rolling->of_setup);
    *rolling = (struct cw_rolling){0};
}

bool cw_rolling_differs(const struct cw_rolling *rolling, size_t setup, size_t reference) {
    if (!rolling->n_tyres) return false;
    size_t a = rolling->of_setup[setup], b = rolling->of_setup[reference];
    return a != SIZE_MAX && b != SIZE_MAX && a != b;
}

/* ---- which tyres ---- */

static size_t tyres_of(const struct cw_table_of_runs *table, const struct cw_fit *const *fits,
                       size_t i) {
    const struct cw_run_among *run = &table->run[i];
    return fits[run->outing]->runs[run->index].tyres;
}

static const char *tyres_name(const struct cw_table_of_runs *table,
                              const struct cw_fit *const *fits, size_t i) {
    return fits[table->run[i].outing]->tyres[tyres_of(table, fits, i)];
}

/* The tyres of the setups, each as in the first outing that has runs of it and does not give Crr.
 */
static enum cw_status name_tyres(const struct cw_table_of_runs *table,
                                 const struct cw_fit *const *fits, const struct cw_compare *compare,
                                 bool all, struct cw_rolling *rolling, struct cw_error *error) {
    bool differ = all;
    rolling->tyres = calloc(table->n + 1, sizeof *rolling->tyres);
    rolling->of_setup = malloc((table->n_setups + 1) * sizeof *rolling->of_setup);
    if (!rolling->tyres || !rolling->of_setup) return cw_error_memory(error);
    for (size_t s = 0; s < table->n_setups; s++) rolling->of_setup[s] = SIZE_MAX;
    for (size_t i = 0; i < table->n; i++) {
        size_t at = 0, *of = &rolling->of_setup[table->run[i].setup];
        if (!all && fits[table->run[i].outing]->crr_given) continue;
        const char *name = tyres_name(table, fits, i);
        while (at < rolling->n_tyres && strcmp(rolling->tyres[at], name)) at++;
        if (at == rolling->n_tyres) rolling->tyres[rolling->n_tyres++] = name;
        if (*of == SIZE_MAX) *of = at;
    }
    for (size_t s = 0; s < table->n_setups; s++)
        for (size_t r = 0; r < s; r++)
            differ = differ || (cw_rolling_differs(rolling, s, r) &&
                                !strcmp(compare->setups[s].rider, compare->setups[r].rider));
    if (!differ) rolling->n_tyres = 0;
    return CW_OK;
}

/* ---- the values ---- */

/* A Crr among the values: of a set of tyres of an outing. */
struct crr_value {
    size_t outing, tyres, column;
};

static size_t list_values(const struct cw_table_of_runs *table, const struct cw_fit *const *fits,
                          bool all, const struct cw_rolling *rolling, struct crr_value *value) {
    size_t n = 0;
    for (size_t i = 0; i < table->n; i++) {
        struct crr_value v = {table->run[i].outing, tyres_of(table, fits, i), 0};
        size_t k = 0;
        if (!all && fits[v.outing]->crr_given) continue;
        while (k < n && (value[k].outing != v.outing || value[k].tyres != v.tyres)) k++;
        if (k < n) continue;
        while (strcmp(rolling->tyres[v.column], tyres_name(table, fits, i))) v.column++;
        value[n++] = v;
    }
    return n;
}

/* What the systematic causes of an outing do to two of its Crr, or to a Crr and a run's log CdA. */
static double systematic(const struct cw_fit *fit, size_t a, size_t b) {
    double sum = 0;
    for (size_t k = 0; k < fit->workings->budget.n; k++)
        sum +=
            fit->workings->budget.causes[k].effect[a] * fit->workings->budget.causes[k].effect[b];
    return sum;
}

/* How the values (rows) answer to the runs' winds (columns): N x n. */
static void lay_winds(const struct cw_table_of_runs *table, const struct cw_fit *const *fits,
                      const struct cw_between *between, const struct crr_value *value, size_t m,
                      double *answer) {
    size_t n = table->n;
    for (size_t j = 0; j < n; j++) {
        const struct cw_run_among *of = &table->run[j];
        const struct cw_budget *budget = &fits[of->outing]->workings->budget;
        if (!budget->n_kinds) { /* Crr is given, or of one set of tyres: all is drag */
            answer[j * n + j] = between->by[j];
            continue;
        }
        size_t kind = budget->kind[of->index];
        const double *by = budget->by_wind + kind * budget->n_x;
        double fellows = 0;
        for (size_t i = 0; i < n; i++)
            fellows +=
                table->run[i].outing == of->outing && budget->kind[table->run[i].index] == kind;
        for (size_t i = 0; i < n; i++) {
            const struct cw_run_among *run = &table->run[i];
            if (run->outing != of->outing) continue;
            answer[i * n + j] = by[budget->n_tyres + run->index] / table->reference_m2[i] / fellows;
            if (budget->kind[run->index] == kind)
                answer[i * n + j] += between->by[i] * ((i == j) - 1 / fellows);
        }
        for (size_t k = 0; k < m; k++)
            if (value[k].outing == of->outing)
                answer[(n + k) * n + j] = by[value[k].tyres] / fellows;
    }
}

/* answer . winds . answer', N x N, the winds being n x n; room for N x n. */
static void through(const double *answer, const double *winds, size_t whole, size_t n, double *room,
                    double *result) {
    for (size_t i = 0; i < whole; i++)
        for (size_t j = 0; j < n; j++) {
            double sum = 0;
            for (size_t k = 0; k < n; k++) sum += answer[i * n + k] * winds[k * n + j];
            room[i * n + j] = sum;
        }
    for (size_t i = 0; i < whole; i++)
        for (size_t j = 0; j <= i; j++) {
            double sum = 0;
            for (size_t k = 0; k < n; k++) sum += room[i * n + k] * answer[j * n + k];
            result[i * whole + j] = result[j * whole + i] = sum;
        }
}

/* Winds that somebody saw: given a point's thetas they have a mean and a covariance of their own.
 */
struct seen {
    const struct cw_between *between;
    const double *answer;
    size_t n, whole;
    double *mean, *covariance, *beyond, *room, *result;
};

static bool with_seen(const void *context, const double *theta, double *covariance, double *value,
                      double *log_likelihood) {
    const struct seen *s = context;
    size_t n = s->n;
    *log_likelihood = 0;
    if (!cw_between_winds_seen(s->between, theta, s->mean, s->covariance, s->beyond)) return false;
    through(s->answer, s->covariance, s->whole, n, s->room, s->result);
    for (size_t at = 0; at < s->whole * s->whole; at++) covariance[at] += s->result[at];
    for (size_t i = 0; i < s->whole; i++) {
        if (i < n) value[i] -= s->beyond[i];
        for (size_t j = 0; j < n; j++) value[i] -= s->answer[i * n + j] * s->mean[j];
    }
    return true;
}

/* The values with the parts of their covariance: noise and what is known. Crr and all that goes
 * with it come after the runs. */
static enum cw_status lay_values(const struct cw_table_of_runs *table,
                                 const struct cw_fit *const *fits, const struct cw_run_model *model,
                                 const struct crr_value *crr, size_t m, double *value,
                                 double *noise, double *fixed, struct cw_error *error) {
    size_t n = table->n, whole = n + m;
    double *shared = malloc(2 * n * sizeof *shared), variance, shift = 0;
    for (size_t k = 1; k < m; k++)
        if (crr[k].outing != crr[0].outing) shift = outing_crr_sd;
    enum cw_status status = shared ? CW_OK : cw_error_memory(error);
    for (size_t i = 0; i < n && status >= 0; i++) {
        value[i] = table->log_cda[i];
        for (size_t j = 0; j < n; j++) {
            noise[i * whole + j] = table->noise[i * n + j];
            fixed[i * whole + j] = model->data.fixed[i * n + j];
        }
    }
    for (size_t k = 0; k < m && status >= 0; k++) {
        const struct cw_fit *fit = fits[crr[k].outing];
        const struct cw_information *information = &fit->workings->information;
        size_t row = n + k;
        status = cw_table_of_runs_crr(table, fits, crr[k].outing, crr[k].tyres, &value[row],
                                      &variance, shared, error);
        for (size_t i = 0; i < n && status >= 0; i++)
            noise[row * whole + i] = noise[i * whole + row] = shared[i];
        if (status >= 0)
            status = cw_table_of_runs_systematic(table, fits, crr[k].outing, crr[k].tyres, shared,
                                                 error);
        for (size_t i = 0; i < n && status >= 0; i++)
            fixed[row * whole + i] = fixed[i * whole + row] = shared[i];
        for (size_t l = 0; l < m; l++) {
            size_t at = row * whole + n + l;
            if (crr[l].outing != crr[k].outing) continue;
            noise[at] = fit->workings->covariance[crr[k].tyres * information->n + crr[l].tyres];
            fixed[at] = systematic(fit, crr[k].tyres, crr[l].tyres) + shift * shift;
        }
    }
    free(shared);
    return status;
}

static enum cw_status fit(const struct cw_table_of_runs *table, const struct cw_fit *const *fits,
                          const struct cw_compare *compare, const struct cw_run_model *model,
                          bool all, struct cw_rolling *rolling, struct cw_error *error) {
    size_t n = table->n;
    double *block = NULL;
    *rolling = (struct cw_rolling){.n_drags = model->p, .drag = model->drag};
    struct crr_value *crr = malloc((n + 1) * sizeof *crr);
    enum cw_status status = crr ? CW_OK : cw_error_memory(error);
    if (status >= 0) status = name_tyres(table, fits, compare, all, rolling, error);
    if (status < 0 || !rolling->n_tyres) goto cleanup;
    size_t m = list_values(table, fits, all, rolling, crr), whole = n + m,
           p = model->p + rolling->n_tyres, square = whole * whole;
    block = calloc(whole + whole * p + 5 * square + 2 * whole * n + n * n + 2 * n, sizeof *block);
    if (!block) {
        status = cw_error_memory(error);
        goto cleanup;
    }
    double *value = block, *design = value + whole, *noise = design + whole * p,
           *fixed = noise + square, *own = fixed + square, *wind = own + square,
           *answer = wind + square;
    struct seen seen = {.between = &model->between, .answer = answer, .n = n, .whole = whole};
    seen.room = answer + whole * n;
    seen.result = seen.room + whole * n;
    seen.covariance = seen.result + square;
    seen.mean = seen.covariance + n * n;
    seen.beyond = seen.mean + n;
    status = lay_values(table, fits, model, crr, m, value, noise, fixed, error);
    if (status < 0) goto cleanup;
    lay_winds(table, fits, &model->between, crr, m, answer);
    for (size_t i = 0; i < n; i++) design[i * p + table->drag[table->run[i].setup]] = 1;
    for (size_t k = 0; k < m; k++) design[(n + k) * p + model->p + crr[k].column] = 1;
    struct cw_components_data data = model->data;
    data.n = whole;
    data.p = p;
    data.value = value;
    data.design = design;
    data.fixed = fixed;
    data.order = NULL;
    data.carry = NULL;
    data.component[CW_BETWEEN_NOISE].matrix = noise;
    if (data.n_components > CW_BETWEEN_WIND) {
        /* Nothing tells a run's own scatter from wind, and wind moves Crr too. */
        for (size_t i = 0; i < n; i++)
            seen.covariance[i * n + i] = 1 / (model->between.by[i] * model->between.by[i]);
        through(answer, seen.covariance, whole, n, seen.room, own);
        data.component[CW_BETWEEN_OWN].matrix = own;
        if (data.beside.at) {
            data.beside = (struct cw_components_beside){with_seen, &seen};
        } else {
            through(answer, model->between.alike, whole, n, seen.room, wind);
            data.component[CW_BETWEEN_WIND].matrix = wind;
        }
    }
    status = cw_components_follow(&model->components, &data, &rolling->components, error);
cleanup:
    free(crr);
    free(block);
    if (status < 0) cw_rolling_free(rolling);
    return status;
}

enum cw_status cw_rolling_fit(const struct cw_table_of_runs *table,
                              const struct cw_fit *const *fits, const struct cw_compare *compare,
                              const struct cw_run_model *model, struct cw_rolling *rolling,
                              struct cw_error *error) {
    return fit(table, fits, compare, model, false, rolling, error);
}

enum cw_status cw_rolling_fit_all(const struct cw_table_of_runs *table,
                                  const struct cw_fit *const *fits,
                                  const struct cw_compare *compare,
                                  const struct cw_run_model *model, struct cw_rolling *rolling,
                                  struct cw_error *error) {
    return fit(table, fits, compare, model, true, rolling, error);
}

/* ---- what comes of it ---- */

enum cw_status cw_rolling_contrast(const struct cw_rolling *rolling, size_t setup, size_t reference,
                                   const struct cw_rolling_weights *weights,
                                   struct cw_estimate *estimate, double *df, double *p_value,
                                   struct cw_error *error) {
    size_t p = rolling->components.p;
    const size_t of[2] = {setup, reference};
    double *contrast = calloc(p, sizeof *contrast);
    bool any = false;
    if (!contrast) return cw_error_memory(error);
    for (int k = 0; k < 2; k++) {
        size_t tyres = rolling->of_setup[of[k]];
        contrast[rolling->drag[of[k]]] += weights->log_cda[k];
        if (tyres != SIZE_MAX) contrast[rolling->n_drags + tyres] += weights->crr[k];
    }
    for (size_t k = 0; k < p; k++) any = any || contrast[k] != 0;
    enum cw_status status = CW_OK;
    if (any) {
        status =
            cw_components_contrast(&rolling->components, contrast, estimate, df, p_value, error);
    } else {
        *estimate = (struct cw_estimate){0};
        if (df) *df = INFINITY;
        if (p_value) *p_value = NAN;
    }
    free(contrast);
    return status;
}

enum cw_status cw_rolling_correlation(const struct cw_rolling *rolling, size_t setup,
                                      size_t reference, const struct cw_rolling_weights *a,
                                      double a_se, const struct cw_rolling_weights *b, double b_se,
                                      double *correlation, struct cw_error *error) {
    double squares[2];
    *correlation = 0;
    if (!(a_se > 0) || !(b_se > 0)) return CW_OK;
    for (int side = 0; side < 2; side++) {
        struct cw_rolling_weights both;
        struct cw_estimate estimate;
        for (int k = 0; k < 2; k++) {
            double sign = side ? -1 : 1;
            both.log_cda[k] = a->log_cda[k] / a_se + sign * b->log_cda[k] / b_se;
            both.crr[k] = a->crr[k] / a_se + sign * b->crr[k] / b_se;
        }
        enum cw_status status =
            cw_rolling_contrast(rolling, setup, reference, &both, &estimate, NULL, NULL, error);
        if (status < 0) return status;
        squares[side] = estimate.standard_error * estimate.standard_error;
    }
    *correlation = (squares[0] - squares[1]) / (squares[0] + squares[1]);
    return CW_OK;
}
