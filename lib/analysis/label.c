#include "analysis/label.h"

enum cw_status cw_runs_skip(struct cw_runs *runs, const struct cw_outing *outing,
                            struct cw_error *error) {
    for (size_t i = 0; i < outing->n_skip; i++) {
        size_t at = 0;
        while (at < runs->n && runs->at[at].number != outing->skip[i]) at++;
        if (at == runs->n)
            return cw_error_set(error, CW_E_DATA, outing->file, outing->skip_line,
                                "skip names run %ld, but %zu %s found", outing->skip[i], runs->n,
                                runs->n == 1 ? "run was" : "runs were");
        runs->at[at].kept = false;
        runs->at[at].reasons |= CW_REASON_SKIPPED;
    }
    return CW_OK;
}

enum cw_status cw_runs_label(struct cw_runs *runs, const struct cw_outing *outing,
                             struct cw_error *error) {
    size_t kept = 0;
    for (size_t i = 0; i < runs->n; i++) {
        runs->at[i].setup = CW_NO_SETUP;
        kept += runs->at[i].kept;
    }
    if (!outing->order_line && outing->n_setups > 1)
        return cw_error_set(error, CW_E_DATA, outing->file, 0,
                            "several setups but no order: add \"order = ...\" to [runs], one setup "
                            "for each of the %zu runs kept, in time order",
                            kept);
    if (outing->order_line && outing->n_order != kept)
        return cw_error_set(error, CW_E_DATA, outing->file, outing->order_line,
                            "order has %zu %s, but %zu %s kept: give one setup for each, or leave "
                            "runs out with \"skip\"",
                            outing->n_order, outing->n_order == 1 ? "entry" : "entries", kept,
                            kept == 1 ? "run was" : "runs were");
    for (size_t i = 0, next = 0; i < runs->n; i++)
        if (runs->at[i].kept) runs->at[i].setup = outing->order_line ? outing->order[next++] : 0;
    return CW_OK;
}
