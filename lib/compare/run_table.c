#include "compare/run_table.h"

#include <math.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include "fit/workings.h"
#include "stats/student.h"

void cw_table_of_runs_free(struct cw_table_of_runs *table) {
    free(table->run);
    free(table->drag);
    free(table->reference_m2);
    free(table->log_cda);
    free(table->noise);
    free(table->covariance);
    *table = (struct cw_table_of_runs){0};
}

/* A run's CdA: as the data alone have it, or where they don't tell it as it is compared. */
static struct cw_estimate cda_of(const struct cw_fit *fit, size_t run) {
    if (fit->runs[run].together_identifiable) return fit->runs[run].together_cda_m2;
    size_t at = fit->n_tyres + run, m = fit->workings->information.n;
    double sd = sqrt(fit->workings->covariance[at * m + at]);
    struct cw_estimate estimate =
        cw_estimate_make(fit->workings->value[at], sd, cw_t_quantile(0.975, INFINITY));
    estimate.noise_standard_error = sd;
    return estimate;
}

/* The point about which logarithms are taken: the drag's mean over runs, weighted by precision. A
 * run that the data say little of has no logarithm of its own, but a place beside its fellows. */
static void set_references(const struct cw_fit *const *fits, struct cw_table_of_runs *table) {
    for (size_t d = 0; d < table->n_drags; d++) {
        double sum = 0, weight = 0;
        for (size_t i = 0; i < table->n; i++) {
            const struct cw_run_among *run = &table->run[i];
            if (table->drag[run->setup] != d) continue;
            const struct cw_fit *fit = fits[run->outing];
            size_t at = fit->n_tyres + run->index;
            double w = 1 / fit->workings->covariance[at * fit->workings->information.n + at];
            sum += w * fit->workings->value[at];
            weight += w;
        }
        for (size_t i = 0; i < table->n; i++)
            if (table->drag[table->run[i].setup] == d) table->reference_m2[i] = sum / weight;
    }
}

double cw_run_by_warm(const struct cw_fit *const *fits, const struct cw_table_of_runs *table,
                      size_t i) {
    const struct cw_fit *fit = fits[table->run[i].outing];
    return cw_budget_warm(&fit->workings->budget, fit->n_tyres + table->run[i].index) /
           table->reference_m2[i];
}

/* Runs of one setup down one road one way to about the same end are alike before they are ridden.
 */
static bool alike(const struct cw_fit *const *fits, const struct cw_run_among *a,
                  const struct cw_run_among *b) {
    if (a->outing != b->outing || a->setup != b->setup) return false;
    const struct cw_fit_way *way = fits[a->outing]->workings->ways.at;
    const struct cw_fit_way *one = &way[a->index], *other = &way[b->index];
    double length = one->to_m - one->from_m, length_other = other->to_m - other->from_m;
    return one->road == other->road && one->reversed == other->reversed &&
           fmin(length, length_other) > 0.8 * fmax(length, length_other);
}

/* Gives runs that are alike the same variances and covariances, the means of theirs. How a run's
 * estimate answers to an error in Crr or lag depends a little on its speeds, and these on its
 * gusts, which are also the estimate's error: least squares that believed in those small
 * differences would lean on the runs that the wind had pushed (0.4 % of CdA in light air, on
 * made-up outings). The mean over all exchanges of like runs is a covariance too. */
static enum cw_status share_among_alike(const struct cw_fit *const *fits,
                                        const struct cw_table_of_runs *table, double *matrix,
                                        struct cw_error *error) {
    size_t n = table->n, cells = 0, *cell = malloc(n * sizeof *cell), *count = NULL;
    double *mean = NULL;
    if (!cell) return cw_error_memory(error);
    for (size_t i = 0; i < n; i++) {
        size_t j = 0;
        while (j < i && !alike(fits, &table->run[j], &table->run[i])) j++;
        cell[i] = j < i ? cell[j] : cells++;
    }
    /* by pair of cells: off the diagonal, and on it (kept at [cells x cells + cell]) */
    size_t kinds = cells * cells + cells;
    mean = calloc(kinds, sizeof *mean);
    count = calloc(kinds, sizeof *count);
    if (!mean || !count) {
        free(cell);
        free(mean);
        free(count);
        return cw_error_memory(error);
    }
    for (int apply = 0; apply < 2; apply++)
        for (size_t i = 0; i < n; i++)
            for (size_t j = 0; j < n; j++) {
                size_t kind = i == j ? cells * cells + cell[i] : cell[i] * cells + cell[j];
                if (apply) {
                    matrix[i * n + j] = mean[kind] / (double)count[kind];
                } else {
                    mean[kind] += matrix[i * n + j];
                    count[kind]++;
                }
            }
    free(cell);
    free(mean);
    free(count);
    return CW_OK;
}

/* Adds what is not known of how tyres answer to the temperature, which is one in all outings. By it
 * runs that are alike do differ, and not by their gusts: it is not shared among them. */
static void add_warm(const struct cw_fit *const *fits, const struct cw_table_of_runs *table) {
    for (size_t i = 0; i < table->n; i++) {
        double by = cw_run_by_warm(fits, table, i);
        for (size_t j = 0; j < table->n && by != 0; j++)
            table->covariance[i * table->n + j] += by * cw_run_by_warm(fits, table, j);
    }
}

static bool of_one_recording(const struct cw_fit *fit, size_t i, size_t j) {
    const struct cw_fit_way *way = fit->workings->ways.at;
    return way[i].recording == way[j].recording;
}

enum cw_status cw_table_of_runs_make(const struct cw_fit *const *fits, size_t n,
                                     const struct cw_compare *compare,
                                     struct cw_table_of_runs *table, struct cw_error *error) {
    size_t most = 0;
    *table = (struct cw_table_of_runs){.n_setups = compare->n_told};
    for (size_t o = 0; o < n; o++) most += fits[o]->n_runs;
    table->run = calloc(most, sizeof *table->run);
    table->drag = malloc((compare->n_told + 1) * sizeof *table->drag);
    table->reference_m2 = malloc(most * sizeof *table->reference_m2);
    table->log_cda = malloc(most * sizeof *table->log_cda);
    table->noise = calloc(most * most, sizeof *table->noise);
    table->covariance = calloc(most * most, sizeof *table->covariance);
    enum cw_status status = CW_OK;
    if (!table->run || !table->drag || !table->reference_m2 || !table->log_cda || !table->noise ||
        !table->covariance) {
        status = cw_error_memory(error);
        goto cleanup;
    }
    for (size_t o = 0; o < n; o++) {
        const struct cw_fit *fit = fits[o];
        for (size_t i = 0; i < fit->n_runs; i++) {
            if (fit->runs[i].setup == SIZE_MAX) continue;
            size_t setup =
                cw_compare_setup_named(compare, fit->of.outing->setups[fit->runs[i].setup].name);
            if (setup >= compare->n_told) continue;
            table->run[table->n++] = (struct cw_run_among){
                .outing = o,
                .index = i,
                .setup = setup,
                .time_s = fits[o]->of.runs->at[fit->runs[i].run].start_s,
                .cda_m2 = cda_of(fit, i),
            };
        }
    }
    for (size_t s = 0; s < compare->n_told; s++)
        table->drag[s] =
            compare->setups[s].drag == s ? table->n_drags++ : table->drag[compare->setups[s].drag];
    set_references(fits, table);
    for (size_t o = 0; o < n; o++) {
        const struct cw_fit *fit = fits[o];
        size_t m = fit->workings->information.n, nt = fit->n_tyres;
        const double *value = fit->workings->value, *covariance = fit->workings->covariance;
        for (size_t i = 0; i < table->n; i++) {
            if (table->run[i].outing != o) continue;
            size_t a = nt + table->run[i].index;
            double c = table->reference_m2[i];
            table->log_cda[i] = log(c) + (value[a] - c) / c;
            for (size_t j = 0; j < table->n; j++) {
                if (table->run[j].outing != o) continue;
                size_t b = nt + table->run[j].index;
                double unit = c * table->reference_m2[j], systematic = 0;
                for (size_t k = 0; k < fit->workings->budget.n; k++)
                    if (fit->workings->budget.causes[k].kind != CW_CAUSE_WARM)
                        systematic += fit->workings->budget.causes[k].effect[a] *
                                      fit->workings->budget.causes[k].effect[b];
                if (of_one_recording(fit, table->run[i].index, table->run[j].index))
                    systematic += fit->workings->budget.own_air[table->run[i].index] *
                                  fit->workings->budget.own_air[table->run[j].index];
                table->noise[i * table->n + j] = covariance[a * m + b] / unit;
                table->covariance[i * table->n + j] = (covariance[a * m + b] + systematic) / unit;
            }
        }
    }
    status = share_among_alike(fits, table, table->noise, error);
    if (status >= 0) status = share_among_alike(fits, table, table->covariance, error);
    if (status >= 0) add_warm(fits, table);
cleanup:
    if (status < 0) cw_table_of_runs_free(table);
    return status;
}

void cw_table_of_runs_drags_apart(struct cw_table_of_runs *table) {
    table->n_drags = table->n_setups;
    for (size_t s = 0; s < table->n_setups; s++) table->drag[s] = s;
}

void cw_table_of_runs_one_drag(struct cw_table_of_runs *table, size_t setup, size_t other) {
    size_t kept = table->drag[setup] < table->drag[other] ? table->drag[setup] : table->drag[other],
           gone = table->drag[setup] + table->drag[other] - kept;
    if (kept == gone) return;
    for (size_t s = 0; s < table->n_setups; s++) {
        if (table->drag[s] == gone) table->drag[s] = kept;
        if (table->drag[s] > gone) table->drag[s]--;
    }
    table->n_drags--;
}

/* The drag of a setup new in part: that of one that is there already and has the same, or a new
 * one. */
static size_t drag_in_part(const struct cw_table_of_runs *table, const size_t *renumbered,
                           size_t setup, struct cw_table_of_runs *part) {
    for (size_t s = 0; s < table->n_setups; s++)
        if (s != setup && renumbered[s] != SIZE_MAX && table->drag[s] == table->drag[setup])
            return part->drag[renumbered[s]];
    return part->n_drags++;
}

enum cw_status cw_table_of_runs_part(const struct cw_table_of_runs *table, const bool *keep,
                                     size_t *renumbered, struct cw_table_of_runs *part,
                                     struct cw_error *error) {
    size_t n = 0;
    *part = (struct cw_table_of_runs){0};
    for (size_t i = 0; i < table->n; i++) n += keep[i];
    part->run = calloc(n + 1, sizeof *part->run);
    part->drag = malloc((table->n_setups + 1) * sizeof *part->drag);
    part->reference_m2 = malloc((n + 1) * sizeof *part->reference_m2);
    part->log_cda = malloc((n + 1) * sizeof *part->log_cda);
    part->noise = malloc((n * n + 1) * sizeof *part->noise);
    part->covariance = malloc((n * n + 1) * sizeof *part->covariance);
    if (!part->run || !part->drag || !part->reference_m2 || !part->log_cda || !part->noise ||
        !part->covariance) {
        cw_table_of_runs_free(part);
        return cw_error_memory(error);
    }
    for (size_t s = 0; s < table->n_setups; s++) renumbered[s] = SIZE_MAX;
    for (size_t i = 0; i < table->n; i++) {
        if (!keep[i]) continue;
        size_t at = part->n++, row = at * n;
        size_t *setup = &renumbered[table->run[i].setup];
        if (*setup == SIZE_MAX) {
            *setup = part->n_setups++;
            part->drag[*setup] = drag_in_part(table, renumbered, table->run[i].setup, part);
        }
        part->run[at] = table->run[i];
        part->run[at].setup = *setup;
        part->reference_m2[at] = table->reference_m2[i];
        part->log_cda[at] = table->log_cda[i];
        for (size_t j = 0; j < table->n; j++) {
            if (!keep[j]) continue;
            part->noise[row] = table->noise[i * table->n + j];
            part->covariance[row++] = table->covariance[i * table->n + j];
        }
    }
    return CW_OK;
}

/* A Crr's covariances with the runs, shared among runs that are alike as the runs' own are. */
static enum cw_status share_with_alike(const struct cw_fit *const *fits,
                                       const struct cw_table_of_runs *table, double *c,
                                       struct cw_error *error) {
    size_t n = table->n;
    double *shared = malloc(n * sizeof *shared);
    if (!shared) return cw_error_memory(error);
    for (size_t i = 0; i < n; i++) {
        double sum = 0;
        size_t fellows = 0;
        for (size_t j = 0; j < n; j++)
            if (alike(fits, &table->run[i], &table->run[j])) {
                sum += c[j];
                fellows++;
            }
        shared[i] = sum / (double)fellows;
    }
    memcpy(c, shared, n * sizeof *c);
    free(shared);
    return CW_OK;
}

enum cw_status cw_table_of_runs_crr(const struct cw_table_of_runs *table,
                                    const struct cw_fit *const *fits, size_t outing, size_t tyres,
                                    double *value, double *variance, double *c,
                                    struct cw_error *error) {
    const struct cw_information *information = &fits[outing]->workings->information;
    size_t m = information->n, n = table->n;
    const double *covariance = fits[outing]->workings->covariance;
    *value = fits[outing]->workings->value[tyres];
    *variance = covariance[tyres * m + tyres];
    for (size_t i = 0; i < n; i++) {
        size_t at = information->n_tyres + table->run[i].index;
        c[i] = table->run[i].outing == outing ? covariance[tyres * m + at] / table->reference_m2[i]
                                              : 0;
    }
    return share_with_alike(fits, table, c, error);
}

enum cw_status cw_table_of_runs_systematic(const struct cw_table_of_runs *table,
                                           const struct cw_fit *const *fits, size_t outing,
                                           size_t tyres, double *c, struct cw_error *error) {
    const struct cw_budget *budget = &fits[outing]->workings->budget;
    for (size_t i = 0; i < table->n; i++) {
        c[i] = 0;
        for (size_t k = 0; k < budget->n && table->run[i].outing == outing; k++) {
            const double *effect = budget->causes[k].effect;
            c[i] += effect[tyres] * effect[budget->n_tyres + table->run[i].index] /
                    table->reference_m2[i];
        }
    }
    return share_with_alike(fits, table, c, error);
}
