#include "stats/simplex.h"

#include <math.h>
#include <string.h>

enum { MOST = CW_SIMPLEX_MOST };

struct simplex {
    cw_simplex_function function;
    const void *state;
    size_t n;
    double x[MOST + 1][MOST], value[MOST + 1];
};

static double value_at(const struct simplex *s, const double *x) {
    double value = s->function(x, s->state);
    return isnan(value) ? INFINITY : value;
}

/* Puts in `to` the mirror of a corner in the middle of the others, so many times as far; with a
 * factor below 0 it stays on its side. Returns the value there. */
static double reflect(const struct simplex *s, size_t corner, double factor, double *to) {
    for (size_t i = 0; i < s->n; i++) {
        double middle = 0;
        for (size_t k = 0; k <= s->n; k++)
            if (k != corner) middle += s->x[k][i] / (double)s->n;
        to[i] = middle + factor * (middle - s->x[corner][i]);
    }
    return value_at(s, to);
}

static void place(struct simplex *s, size_t corner, const double *x, double value) {
    memcpy(s->x[corner], x, s->n * sizeof *x);
    s->value[corner] = value;
}

static void shrink(struct simplex *s, size_t towards) {
    for (size_t k = 0; k <= s->n; k++) {
        if (k == towards) continue;
        for (size_t i = 0; i < s->n; i++) s->x[k][i] = 0.5 * (s->x[k][i] + s->x[towards][i]);
        s->value[k] = value_at(s, s->x[k]);
    }
}

static double size_of(const struct simplex *s) {
    double square = 0;
    for (size_t i = 0; i < s->n; i++) {
        double middle = 0;
        for (size_t k = 0; k <= s->n; k++) middle += s->x[k][i] / (double)(s->n + 1);
        for (size_t k = 0; k <= s->n; k++)
            square += (s->x[k][i] - middle) * (s->x[k][i] - middle) / (double)(s->n + 1);
    }
    return sqrt(square);
}

static size_t best_of(const struct simplex *s) {
    size_t best = 0;
    for (size_t k = 1; k <= s->n; k++)
        if (s->value[k] < s->value[best]) best = k;
    return best;
}

static void move(struct simplex *s) {
    size_t best = best_of(s), worst = 0;
    for (size_t k = 1; k <= s->n; k++)
        if (s->value[k] > s->value[worst]) worst = k;
    double next = -INFINITY; /* the worst of the others */
    for (size_t k = 0; k <= s->n; k++)
        if (k != worst) next = fmax(next, s->value[k]);
    double to[MOST], further[MOST], value = reflect(s, worst, 1, to);
    if (value < s->value[best]) {
        double there = reflect(s, worst, 2, further);
        if (there < s->value[best])
            place(s, worst, further, there);
        else
            place(s, worst, to, value);
    } else if (value > next) {
        if (value <= s->value[worst]) place(s, worst, to, value);
        value = reflect(s, worst, -0.5, to);
        if (value <= s->value[worst])
            place(s, worst, to, value);
        else
            shrink(s, best);
    } else {
        place(s, worst, to, value);
    }
}

double cw_simplex_minimise(cw_simplex_function function, const void *state, size_t n, double *x,
                           double step, double size, int most) {
    struct simplex s = {.function = function, .state = state, .n = n};
    for (size_t k = 0; k <= n; k++) {
        memcpy(s.x[k], x, n * sizeof *x);
        if (k > 0) s.x[k][k - 1] += step;
        s.value[k] = value_at(&s, s.x[k]);
    }
    for (int i = 0; i < most; i++) {
        move(&s);
        if (size_of(&s) < size) break;
    }
    size_t best = best_of(&s);
    memcpy(x, s.x[best], n * sizeof *x);
    return s.value[best];
}
