/* Normal equations of which unknowns are eliminated one after the other.
 *
 * A symmetric matrix of sums of products, of which the upper triangle is kept; its last column is
 * the data. Unknowns are corrections to basis values. Eliminating one leaves the equations of the
 * others, and its own row as the equation that gives it back. */
#ifndef CW_FIT_EQUATIONS_H
#define CW_FIT_EQUATIONS_H

#include <stdbool.h>
#include <stddef.h>

/* Prior knowledge: normal, and stated. */
struct cw_prior {
    double mean, sd;
};

/* Owns nothing. */
struct cw_equations {
    size_t n;  /* unknowns and the data column */
    double *a; /* n x n, row-major */
};

static inline double *cw_equations_at(struct cw_equations *e, size_t i, size_t j) {
    return i <= j ? &e->a[i * e->n + j] : &e->a[j * e->n + i];
}

/* Knowledge x ~ N(mean, sd) of unknown i, a correction: x is the basis value plus the unknown. */
void cw_equations_add_prior(struct cw_equations *e, size_t i, double basis, struct cw_prior prior);

/* Eliminates unknown p from the rows and columns from `first` on (p itself may lie among them; its
 * row stays). Adds the logarithm of its pivot to *log_det. row: room for n. False where the
 * equations do not tell p. */
bool cw_equations_eliminate(struct cw_equations *e, size_t p, size_t first, double *row,
                            double *log_det);

/* Back-substitution: eliminated unknown p from the values of those after it. */
double cw_equations_give_back(struct cw_equations *e, size_t p, const double *value);

#endif
