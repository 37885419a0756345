#include "compare/labels.h"

#include <math.h>

static const double far_better = 6;
enum { RUNS_MOST = 200, SETUPS_MOST = 16 };

/* Sum of squares about the setups' means; INFINITY where a setup is left with fewer than two runs,
 * for then there is no fellow to be like. */
static double within(const size_t *setup, const double *log_cda, size_t n, size_t n_setups) {
    double mean[SETUPS_MOST] = {0}, sum = 0;
    size_t count[SETUPS_MOST] = {0};
    for (size_t i = 0; i < n; i++) {
        count[setup[i]]++;
        mean[setup[i]] += log_cda[i];
    }
    for (size_t s = 0; s < n_setups; s++) {
        if (count[s] == 1) return INFINITY;
        if (count[s]) mean[s] /= (double)count[s];
    }
    for (size_t i = 0; i < n; i++)
        sum += (log_cda[i] - mean[setup[i]]) * (log_cda[i] - mean[setup[i]]);
    return sum;
}

void cw_labels_look(const size_t *setup, const double *log_cda, size_t n, size_t n_setups,
                    struct cw_labels_doubt *doubt) {
    size_t label[RUNS_MOST];
    *doubt = (struct cw_labels_doubt){0};
    if (n > RUNS_MOST || n_setups > SETUPS_MOST || n < n_setups + 3) return;
    for (size_t i = 0; i < n; i++) label[i] = setup[i];
    double now = within(label, log_cda, n, n_setups), least = now / far_better;
    if (!isfinite(now)) return;
    for (size_t i = 0; i < n; i++) {
        for (size_t s = 0; s < n_setups; s++) {
            if (s == setup[i]) continue;
            label[i] = s;
            double then = within(label, log_cda, n, n_setups);
            if (then < least) {
                least = then;
                *doubt = (struct cw_labels_doubt){.n = 1, .run = {i}, .like = {s}};
            }
        }
        for (size_t j = 0; j < i; j++) {
            if (setup[j] == setup[i]) continue;
            label[i] = setup[j];
            label[j] = setup[i];
            double then = within(label, log_cda, n, n_setups);
            if (then < least) {
                least = then;
                *doubt =
                    (struct cw_labels_doubt){.n = 2, .run = {j, i}, .like = {setup[i], setup[j]}};
            }
            label[j] = setup[j];
        }
        label[i] = setup[i];
    }
    if (doubt->n) doubt->better = now / least;
}
