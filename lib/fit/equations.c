#include "fit/equations.h"

#include <math.h>

#include "base/wide.h"

void cw_equations_add_prior(struct cw_equations *e, size_t i, double basis, struct cw_prior prior) {
    double precision = 1 / (prior.sd * prior.sd), off = basis - prior.mean;
    size_t data = e->n - 1;
    *cw_equations_at(e, i, i) += precision;
    *cw_equations_at(e, i, data) += precision * off;
    *cw_equations_at(e, data, data) += precision * off * off;
}

CW_WIDE static bool eliminate(struct cw_equations *e, size_t p, size_t first, double *row,
                              double *log_det) {
    size_t n = e->n;
    double pivot = *cw_equations_at(e, p, p);
    if (!(pivot > 0) || !isfinite(pivot)) return false;
    *log_det += log(pivot);
    for (size_t i = first; i < n; i++) row[i] = *cw_equations_at(e, p, i);
    row[p] = 0;
    for (size_t i = first; i < n; i++) {
        double factor = row[i] / pivot;
        if (factor == 0) continue;
        double *restrict to = e->a + i * n;
        const double *restrict from = row;
        for (size_t j = i; j < n; j++) to[j] -= factor * from[j];
    }
    return true;
}

bool cw_equations_eliminate(struct cw_equations *e, size_t p, size_t first, double *row,
                            double *log_det) {
    return eliminate(e, p, first, row, log_det);
}

double cw_equations_give_back(struct cw_equations *e, size_t p, const double *value) {
    double sum = *cw_equations_at(e, p, e->n - 1);
    for (size_t j = p + 1; j + 1 < e->n; j++) sum += *cw_equations_at(e, p, j) * value[j];
    return -sum / *cw_equations_at(e, p, p);
}
