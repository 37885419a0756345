#include "fit/summary.h"

#include <stdlib.h>

enum cw_status cw_summary_alloc(const struct cw_joint *joint, bool alone,
                                struct cw_summary *summary, struct cw_error *error) {
    *summary = (struct cw_summary){.n_runs = joint->n_runs};
    enum cw_status status =
        cw_information_alloc(joint->n_tyres, joint->n_runs, &summary->together, error);
    if (status < 0 || !alone) return status;
    summary->alone = calloc(joint->n_runs, sizeof *summary->alone);
    if (!summary->alone) status = cw_error_memory(error);
    for (size_t i = 0; i < joint->n_runs && status >= 0; i++)
        status = cw_information_alloc(joint->n_tyres, 1, &summary->alone[i], error);
    if (status < 0) cw_summary_free(summary);
    return status;
}

void cw_summary_free(struct cw_summary *summary) {
    cw_information_free(&summary->together);
    for (size_t i = 0; summary->alone && i < summary->n_runs; i++)
        cw_information_free(&summary->alone[i]);
    free(summary->alone);
    *summary = (struct cw_summary){0};
}
