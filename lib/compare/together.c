#include "compare/together.h"

#include <stdbool.h>

#include "fit/workings.h"

enum cw_status cw_setups_together_make(const struct cw_fit *fit, const struct cw_compare *compare,
                                       struct cw_setups_together *together,
                                       struct cw_error *error) {
    struct cw_warnings unused = {0};
    *together = (struct cw_setups_together){.fit = fit};
    if (!compare->n_told)
        return cw_error_set(error, CW_E_DATA, fit->of.outing->file, 0,
                            "the runs tell no CdA: coast further, over a wider range of speeds, "
                            "more often");
    enum cw_status status = cw_table_of_runs_make(&fit, 1, compare, &together->table, error);
    if (status >= 0)
        status = cw_run_model_fit(&together->table, &fit, true, &together->model, &unused, error);
    if (status >= 0)
        status = cw_rolling_fit_all(&together->table, &fit, compare, &together->model,
                                    &together->rolling, error);
    if (status < 0) cw_setups_together_free(together);
    return status;
}

void cw_setups_together_free(struct cw_setups_together *together) {
    cw_rolling_free(&together->rolling);
    cw_run_model_free(&together->model);
    cw_table_of_runs_free(&together->table);
    *together = (struct cw_setups_together){0};
}

enum cw_status cw_setups_together_level(const struct cw_setups_together *together, size_t setup,
                                        struct cw_estimate *log_cda, struct cw_estimate *crr,
                                        double *correlation, struct cw_error *error) {
    static const struct cw_rolling_weights drag = {{1, 0}, {0, 0}}, rolls = {{0, 0}, {1, 0}};
    const struct cw_rolling *rolling = &together->rolling;
    enum cw_status status =
        cw_rolling_contrast(rolling, setup, setup, &drag, log_cda, NULL, NULL, error);
    if (status >= 0)
        status = cw_rolling_contrast(rolling, setup, setup, &rolls, crr, NULL, NULL, error);
    if (status < 0) return status;
    return cw_rolling_correlation(rolling, setup, setup, &drag, log_cda->standard_error, &rolls,
                                  crr->standard_error, correlation, error);
}

void cw_setups_together_cause(const struct cw_setups_together *together, size_t setup,
                              enum cw_cause_kind kind, double *log_cda, double *crr,
                              double *uncertainty) {
    const struct cw_table_of_runs *table = &together->table;
    const struct cw_budget *budget = &together->fit->workings->budget;
    const double *weight = together->model.weight + together->model.drag[setup] * table->n;
    bool on_tyres = false;
    *log_cda = *crr = 0;
    if (uncertainty) *uncertainty = 0;
    for (size_t c = 0; c < budget->n; c++) {
        const double *effect = budget->causes[c].effect;
        if (budget->causes[c].kind != kind) continue;
        if (uncertainty) *uncertainty = budget->causes[c].uncertainty;
        for (size_t i = 0; i < table->n; i++) {
            size_t index = table->run[i].index;
            *log_cda += weight[i] * effect[budget->n_tyres + index] / table->reference_m2[i];
            if (table->run[i].setup != setup || on_tyres) continue;
            *crr = effect[together->fit->runs[index].tyres];
            on_tyres = true;
        }
        return;
    }
}
