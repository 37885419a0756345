/* Student's t test in its three forms, effective degrees of freedom, and several tests at once. */
#ifndef CW_STATS_TESTS_H
#define CW_STATS_TESTS_H

#include <stddef.h>

#include "base/error.h"
#include "base/estimate.h"
#include "base/public.h"
#include "stats/student.h"

CW_PUBLIC_BEGIN

struct cw_t_test {
    struct cw_estimate difference; /* mean(first) - mean(second), in the values' unit */
    double df;                     /* need not be whole */
    double t;                      /* difference over its standard error */
    double p_value;                /* two-sided, 0 to 1 */
};

/* Mean of first minus mean of second, from n_first and n_second separate values.
 *
 * - welch: the variances need not be equal; degrees of freedom by Welch 1947 (Biometrika 34:28),
 *   (a + b)^2 / (a^2/(n1-1) + b^2/(n2-1)) where a = s1^2/n1 and b = s2^2/n2. Each n at least 2.
 * - pooled: one common variance, df = n1 + n2 - 2. Each n at least 1, together at least 3.
 * - paired: the i-th of first belongs with the i-th of second; df = n - 1, n at least 2.
 *
 * Fails with CW_E_DATA, *test all NaN, where there are fewer values than that, and where the values
 * scatter by no more than rounding (the standard error is below 10 x 2.2e-16 of the larger mean),
 * for then a t would be made of rounding alone. CW_E_ARGUMENT where a value is not finite. One
 * group without scatter beside one with scatter is fine: welch then has the other group's df. */
enum cw_status cw_t_test_welch(size_t n_first, const double *first, size_t n_second,
                               const double *second, struct cw_t_test *test,
                               struct cw_error *error);
enum cw_status cw_t_test_pooled(size_t n_first, const double *first, size_t n_second,
                                const double *second, struct cw_t_test *test,
                                struct cw_error *error);
enum cw_status cw_t_test_paired(size_t n, const double *first, const double *second,
                                struct cw_t_test *test, struct cw_error *error);

/* Effective degrees of freedom of the sum of count independent parts (Welch-Satterthwaite, JCGM
 * 100:2008 eq. G.2b): u_c^4 / sum(u_i^4 / df_i), u_c^2 = sum(u_i^2). df_i may be INFINITY (a part
 * known for sure); u_i at least 0. u_c is worked out here from the parts, not taken, for a u_c
 * rounded first shifts the result: 16.8 becomes 17.5 in the GUM's own example H.1. Infinite where
 * only parts known for sure count; NaN where all u_i are 0 or a value is out of range. */
double cw_satterthwaite_df(size_t count, const double *uncertainty, const double *df);

/* Holm's adjustment for several tests at once (Holm 1979, Scand. J. Statist. 6:65): in order of
 * rising p, adjusted(k) = max over j <= k of min(1, (m - j + 1) p(j)). Tests whose p is NaN (not
 * made) stay NaN and are not counted in m. adjusted must not be p itself. */
void cw_holm_adjust(size_t count, const double *p, double *adjusted);

CW_PUBLIC_END

#endif
