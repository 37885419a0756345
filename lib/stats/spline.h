/* A smooth curve through points, near or far apart. */
#ifndef CW_STATS_SPLINE_H
#define CW_STATS_SPLINE_H

#include <stddef.h>

#include "base/error.h"

/* A natural cubic spline: straight on beyond its ends. */
struct cw_spline {
    size_t n;
    const double *x; /* the caller's, increasing; must outlive the spline */
    double *value;   /* at x */
    double *bend;    /* second derivative at x, 0 at the ends */
};

/* The curve g that makes least the integral of (y - g)^2 + smooth^4 g''^2 over x, where y(i) stands
 * for half of the way to either neighbour (Reinsch 1967, Numer. Math. 10:177; Green & Silverman
 * 1994, Nonparametric Regression, eq. 2.12). Of a wave of length L it keeps 1/(1 + (2 pi
 * smooth/L)^4), however near the points lie; through points much farther apart than smooth it goes
 * with the least bend. n >= 2; smooth >= 0, and 0 goes through all points. CW_E_NUMERIC where x
 * does not increase. Free with cw_spline_free, also after an error. */
enum cw_status cw_spline_make(size_t n, const double *x, const double *y, double smooth,
                              struct cw_spline *spline, struct cw_error *error);
void cw_spline_free(struct cw_spline *spline);

double cw_spline_at(const struct cw_spline *spline, double x);

#endif
