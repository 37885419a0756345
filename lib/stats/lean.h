/* The covariance of many values as the components make it (stats/components.h), where it is lean:
 * what values share has few dimensions, and what goes on from one to the next dies away. Matrices
 * are given whole, and found to be so or not; then a point of the grid costs what the values are
 * many, not their cube.
 *
 * Where values come in an order (cw_components_data's), each is first freed of what goes on from
 * the one before it: with B x = x[i] - carry[i] x[i - 1], whose determinant is 1, a process whose
 * correlation falls exponentially becomes white, and one that ends after some time stays short.
 * So each matrix A is such that B A B' has a narrow band, or that A is a diagonal and has low rank
 * besides: A = D + H S H', S of ones and minus ones. Together that is K + W S W' with K banded, and
 * with its factor L and what Woodbury has (1950, Princeton Stat. Res. Group memo 42),
 *
 *   V^-1 = K^-1 - K^-1 W (S + W'K^-1 W)^-1 W'K^-1,   det V = det K |det(S + W'K^-1 W)| */
#ifndef CW_STATS_LEAN_H
#define CW_STATS_LEAN_H

#include <stdbool.h>
#include <stddef.h>

#include "base/error.h"
#include "stats/components.h"

struct cw_lean;

/* *lean: NULL where some matrix is not of that kind to 1e-11 of its diagonal, or where values are
 * so few that nothing is gained. Free with cw_lean_free. CW_E_MEMORY. */
enum cw_status cw_lean_make(const struct cw_components_data *data, struct cw_lean **lean,
                            struct cw_error *error);
void cw_lean_free(struct cw_lean *lean);

/* At theta: [X y]'V^-1 [X y], p + 1 square, and log det V. False where rounding is in the way. */
bool cw_lean_products(struct cw_lean *lean, const double *theta, double *products, double *log_det);

/* a (n x n, symmetric) = D + H S H' off its diagonal to `within`, and on it exactly: D's diagonal
 * (n), H by columns (n each, room for `most`), S's signs. False where the rank is above `most`, or
 * there is no memory. */
bool cw_lean_split(size_t n, const double *a, double within, size_t most, double *diagonal,
                   double *h, double *sign, size_t *rank);

#endif
