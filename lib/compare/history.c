#include "compare/history_make.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "compare/compare.h"
#include "stats/components.h"

/* By how much Crr of one set of tyres differs from day to day beyond its errors (the surface, the
 * pressure): of this order, or any more. Common practice, no source. */
static const double crr_scatter = 0.0002;

void cw_history_free(struct cw_history *history) {
    free(history->cda);
    free(history->crr);
    free(history->tyres);
    *history = (struct cw_history){0};
}

static double start_of(const struct cw_fit *fit) {
    return fit->of.runs->at[fit->runs[0].run].start_s;
}

static int by_time(const void *a, const void *b) {
    const struct cw_history_mark *x = a, *y = b;
    if (x->of != y->of) return x->of > y->of ? 1 : -1;
    if (x->time_s != y->time_s) return x->time_s > y->time_s ? 1 : -1;
    return (x->outing > y->outing) - (x->outing < y->outing);
}

/* In order, without what one outing alone has. */
static void settle(struct cw_history_mark *marks, size_t *n) {
    size_t kept = 0;
    if (*n) qsort(marks, *n, sizeof *marks, by_time);
    for (size_t i = 0; i < *n; i++) {
        bool before = i && marks[i - 1].of == marks[i].of;
        bool after = i + 1 < *n && marks[i + 1].of == marks[i].of;
        struct cw_history_mark mark = marks[i];
        if (before || after) marks[kept++] = mark;
    }
    *n = kept;
}

/* ---- drag ---- */

static enum cw_status add_outing(const struct cw_fit *const *fits, size_t outing,
                                 const struct cw_compare *compare, struct cw_history *history,
                                 struct cw_error *error) {
    const struct cw_fit *fit = fits[outing];
    struct cw_compare alone;
    bool any = false;
    for (size_t i = 0; i < fit->n_runs; i++) any |= fit->runs[i].setup != CW_NO_SETUP;
    if (!any) return CW_OK;
    enum cw_status status = cw_compare_setups(&fit, 1, NULL, &alone, error);
    if (status == CW_E_DATA || status == CW_E_NUMERIC) return CW_OK; /* by itself it tells none */
    for (size_t s = 0; status >= 0 && s < alone.n_told; s++) {
        const struct cw_setup_result *setup = &alone.setups[s];
        size_t of = cw_compare_setup_named(compare, setup->name);
        if (of >= compare->n_told || !isfinite(setup->cda_m2.value)) continue;
        history->cda[history->n_cda++] =
            (struct cw_history_mark){of, outing, start_of(fit), setup->runs, setup->cda_m2};
    }
    if (status >= 0) cw_compare_free(&alone);
    return status;
}

/* ---- rolling ---- */

static size_t tyres_named(const struct cw_history *history, const char *name) {
    for (size_t t = 0; t < history->n_tyres; t++)
        if (history->tyres[t].name && !strcmp(history->tyres[t].name, name)) return t;
    return history->n_tyres;
}

static void add_tyres(const struct cw_fit *const *fits, size_t outing, struct cw_history *history) {
    const struct cw_fit *fit = fits[outing];
    for (size_t t = 0; t < fit->n_tyres; t++) {
        size_t runs = 0, of = tyres_named(history, fit->tyres[t]);
        if (fit->crr_given || !fit->crr_identifiable[t]) continue;
        for (size_t i = 0; i < fit->n_runs; i++) runs += fit->runs[i].tyres == t;
        if (of == history->n_tyres) history->tyres[history->n_tyres++].name = fit->tyres[t];
        history->tyres[of].outings++;
        history->crr[history->n_crr++] =
            (struct cw_history_mark){of, outing, start_of(fit), runs, fit->crr_at_20c[t]};
    }
}

/* m marks of one set of tyres. */
static enum cw_status pool(const struct cw_history_mark *marks, size_t m, struct cw_estimate *crr,
                           struct cw_error *error) {
    double *room = calloc(2 * m + 2 * m * m, sizeof *room), one = 1;
    struct cw_components fit = {0};
    if (!room) return cw_error_memory(error);
    double *value = room, *design = room + m, *fixed = design + m, *own = fixed + m * m;
    for (size_t i = 0; i < m; i++) {
        value[i] = marks[i].estimate.value;
        design[i] = own[i * m + i] = 1;
        for (size_t j = 0; j < m; j++) {
            const struct cw_estimate *a = &marks[i].estimate, *b = &marks[j].estimate;
            double noise =
                a->noise_standard_error > 0 ? a->noise_standard_error : a->standard_error;
            double shared = fmax(0, a->standard_error * a->standard_error - noise * noise);
            double other =
                b->noise_standard_error > 0 ? b->noise_standard_error : b->standard_error;
            double with = fmax(0, b->standard_error * b->standard_error - other * other);
            fixed[i * m + j] = sqrt(shared * with) + (i == j ? noise * noise : 0);
        }
    }
    struct cw_components_data data = {
        .n = m,
        .p = 1,
        .value = value,
        .design = design,
        .fixed = fixed,
        .n_components = 1,
        .component = {{.matrix = own, .prior = CW_COMPONENT_SCATTER, .parameter = crr_scatter}}};
    enum cw_status status = cw_components_fit(&data, &fit, error);
    if (status == CW_NOT_IDENTIFIABLE)
        status =
            cw_error_set(error, CW_E_NUMERIC, NULL, 0, "the tyres' Crr cannot be put together");
    if (status >= 0) status = cw_components_contrast(&fit, &one, crr, NULL, NULL, error);
    cw_components_free(&fit);
    free(room);
    return status;
}

enum cw_status cw_history_make(const struct cw_fit *const *fits, size_t n,
                               const struct cw_compare *compare, struct cw_history *history,
                               struct cw_error *error) {
    size_t setups = 0, tyres = 0;
    enum cw_status status = CW_OK;
    *history = (struct cw_history){0};
    if (n < 2) return CW_OK;
    for (size_t o = 0; o < n; o++) {
        setups += fits[o]->of.outing->n_setups;
        tyres += fits[o]->n_tyres;
    }
    history->cda = calloc(setups + 1, sizeof *history->cda);
    history->crr = calloc(tyres + 1, sizeof *history->crr);
    history->tyres = calloc(tyres + 1, sizeof *history->tyres);
    if (!history->cda || !history->crr || !history->tyres) status = cw_error_memory(error);
    for (size_t o = 0; o < n && status >= 0; o++) {
        status = add_outing(fits, o, compare, history, error);
        add_tyres(fits, o, history);
    }
    if (status >= 0) settle(history->cda, &history->n_cda);
    if (status >= 0 && history->n_tyres < 2) history->n_crr = history->n_tyres = 0;
    if (status >= 0) settle(history->crr, &history->n_crr);
    for (size_t i = 0, m; i < history->n_crr && status >= 0; i += m) {
        for (m = 1; i + m < history->n_crr && history->crr[i + m].of == history->crr[i].of;) m++;
        status = pool(history->crr + i, m, &history->tyres[history->crr[i].of].crr, error);
    }
    if (status < 0) cw_history_free(history);
    return status;
}
