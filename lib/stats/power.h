/* What a number of runs can show: power of a t comparison, runs needed, smallest difference seen.
 */
#ifndef CW_STATS_POWER_H
#define CW_STATS_POWER_H

#include "base/error.h"
#include "base/public.h"

CW_PUBLIC_BEGIN

/* Everywhere below
 *   level is that of the two-sided test, commonly 0.05; above 0 and below 1;
 *   power is the chance that the test finds a true difference with its true sign; above level/2
 *       (the chance with no difference at all) and below 1, commonly 0.8. The small chance of a
 *       find with the wrong sign is not counted, for that is no success;
 *   difference and sd share a unit, any one; the sign of difference does not matter.
 * A value out of range is CW_E_ARGUMENT; CW_E_NUMERIC comes from the integral. */

/* P(T > t) where T = (Z + noncentrality) / sqrt(chi2_df / df), Z standard normal: the noncentral t
 * distribution. Worked out as the mean of P(Z > t s - noncentrality) over the density of
 * s = sqrt(chi2_df / df), by adaptive quadrature over |s - 1| < 9 / sqrt(df), outside which less
 * than 1e-17 lies (the definition of the distribution: Johnson, Kotz & Balakrishnan 1995,
 * Continuous Univariate Distributions 2, chapter 31). Absolute error below 1e-12. df 1 to 1e7,
 * whole or not; any finite t and noncentrality. */
enum cw_status cw_noncentral_t_above(double t, double df, double noncentrality, double *probability,
                                     struct cw_error *error);

/* Power from the noncentrality, the true difference over its standard error, whatever the plan of
 * the test; and the noncentrality that a power takes, so that the smallest difference a comparison
 * can be expected to show is noncentrality x standard error. df as above. */
enum cw_status cw_power_of(double noncentrality, double df, double level, double *power,
                           struct cw_error *error);
enum cw_status cw_power_noncentrality(double df, double level, double power, double *noncentrality,
                                      struct cw_error *error);

/* The two plain plans. n need not be whole. */
enum cw_power_plan {
    CW_POWER_TWO_GROUPS, /* n runs of each of two setups; sd of one run; df = 2n - 2 */
    CW_POWER_PAIRS       /* n pairs of runs; sd of the difference within a pair; df = n - 1 */
};

/* n at least 2. */
enum cw_status cw_power_at(enum cw_power_plan plan, double n, double difference, double sd,
                           double level, double *power, struct cw_error *error);
enum cw_status cw_power_smallest_difference(enum cw_power_plan plan, double n, double sd,
                                            double level, double power, double *difference,
                                            struct cw_error *error);

/* The runs of each setup (or pairs) that reach the power, not yet rounded up; 2 where 2 are already
 * enough. CW_E_DATA where even a million do not reach it. */
enum cw_status cw_power_runs(enum cw_power_plan plan, double difference, double sd, double level,
                             double power, double *n, struct cw_error *error);

CW_PUBLIC_END

#endif
