#include "stats/tests.h"

#include <float.h>
#include <math.h>
#include <stdbool.h>

/* Mean, and the mean's variance is squares / (n - 1) / n. */
struct group {
    size_t n;
    double mean;
    double squares; /* about the mean */
};

static enum cw_status group_of(size_t n, const double *first, const double *minus,
                               struct group *group, struct cw_error *error) {
    *group = (struct group){.n = n};
    for (size_t i = 0; i < n; i++) {
        double value = minus ? first[i] - minus[i] : first[i];
        if (!isfinite(value))
            return cw_error_set(error, CW_E_ARGUMENT, NULL, 0, "value %zu is not a number", i + 1);
        /* Welford's update, which keeps its digits where the mean is far larger than the scatter.
         */
        double change = value - group->mean;
        group->mean += change / (double)(i + 1);
        group->squares += change * (value - group->mean);
    }
    return CW_OK;
}

static void set_unknown(struct cw_t_test *test) {
    *test = (struct cw_t_test){{NAN, NAN, NAN, NAN, 0}, NAN, NAN, NAN};
}

/* size: the largest of the means that the difference was made of. */
static enum cw_status finish(double difference, double variance, double df, double size,
                             struct cw_t_test *test, struct cw_error *error) {
    double standard_error = sqrt(variance);
    if (!(standard_error > 10 * DBL_EPSILON * size))
        return cw_error_set(error, CW_E_DATA, NULL, 0,
                            "the values do not scatter, so nothing says how sure their mean is");
    test->difference = cw_estimate_make(difference, standard_error, cw_t_quantile(0.975, df));
    test->df = df;
    test->t = difference / standard_error;
    test->p_value = cw_t_p_value(test->t, df);
    return CW_OK;
}

static enum cw_status two_groups(bool pooled, size_t n_first, const double *first, size_t n_second,
                                 const double *second, struct cw_t_test *test,
                                 struct cw_error *error) {
    set_unknown(test);
    size_t least = pooled ? 1 : 2;
    if (n_first < least || n_second < least || n_first + n_second < 3)
        return cw_error_set(error, CW_E_DATA, NULL, 0,
                            "%zu and %zu values are too few to judge their scatter by", n_first,
                            n_second);
    struct group a, b;
    enum cw_status status = group_of(n_first, first, NULL, &a, error);
    if (status == CW_OK) status = group_of(n_second, second, NULL, &b, error);
    if (status != CW_OK) return status;

    double df_a = (double)a.n - 1, df_b = (double)b.n - 1;
    double size = fmax(fabs(a.mean), fabs(b.mean));
    if (pooled) {
        double variance = (a.squares + b.squares) / (df_a + df_b);
        return finish(a.mean - b.mean, variance * (1 / (double)a.n + 1 / (double)b.n), df_a + df_b,
                      size, test, error);
    }
    double variance_a = a.squares / df_a / (double)a.n;
    double variance_b = b.squares / df_b / (double)b.n;
    const double uncertainty[] = {sqrt(variance_a), sqrt(variance_b)};
    const double df[] = {df_a, df_b};
    return finish(a.mean - b.mean, variance_a + variance_b, cw_satterthwaite_df(2, uncertainty, df),
                  size, test, error);
}

enum cw_status cw_t_test_welch(size_t n_first, const double *first, size_t n_second,
                               const double *second, struct cw_t_test *test,
                               struct cw_error *error) {
    return two_groups(false, n_first, first, n_second, second, test, error);
}

enum cw_status cw_t_test_pooled(size_t n_first, const double *first, size_t n_second,
                                const double *second, struct cw_t_test *test,
                                struct cw_error *error) {
    return two_groups(true, n_first, first, n_second, second, test, error);
}

enum cw_status cw_t_test_paired(size_t n, const double *first, const double *second,
                                struct cw_t_test *test, struct cw_error *error) {
    set_unknown(test);
    if (n < 2)
        return cw_error_set(error, CW_E_DATA, NULL, 0,
                            "%zu pairs are too few to judge their scatter by", n);
    struct group a, difference;
    enum cw_status status = group_of(n, first, NULL, &a, error);
    if (status == CW_OK) status = group_of(n, first, second, &difference, error);
    if (status != CW_OK) return status;
    double df = (double)n - 1;
    return finish(difference.mean, difference.squares / df / (double)n, df,
                  fmax(fabs(a.mean), fabs(a.mean - difference.mean)), test, error);
}

double cw_satterthwaite_df(size_t count, const double *uncertainty, const double *df) {
    /* In units of the largest part, so that fourth powers of small numbers do not vanish. */
    double largest = 0;
    for (size_t i = 0; i < count; i++) {
        if (!(uncertainty[i] >= 0 && isfinite(uncertainty[i]) && df[i] > 0)) return NAN;
        largest = fmax(largest, uncertainty[i]);
    }
    if (largest == 0) return NAN;
    double variance = 0, spread = 0;
    for (size_t i = 0; i < count; i++) {
        double part = (uncertainty[i] / largest) * (uncertainty[i] / largest);
        variance += part;
        spread += part * part / df[i];
    }
    return variance * variance / spread;
}

void cw_holm_adjust(size_t count, const double *p, double *adjusted) {
    for (size_t i = 0; i < count; i++) {
        adjusted[i] = isnan(p[i]) ? NAN : 0;
        for (size_t j = 0; j < count; j++) {
            if (!(p[j] <= p[i])) continue;
            size_t not_smaller = 0; /* m - j + 1, where p[j] stands j-th */
            for (size_t k = 0; k < count; k++)
                if (p[k] >= p[j]) not_smaller++;
            adjusted[i] = fmax(adjusted[i], fmin(1, (double)not_smaller * p[j]));
        }
    }
}
