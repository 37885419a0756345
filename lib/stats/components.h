/* A linear model whose errors scatter by amounts that are not known:
 *
 *   y = X b + e,   cov e = F + sum over k of theta_k^2 M_k
 *
 * F and M_k are given, the thetas are not. What else was observed that bears on the errors may come
 * in too (struct cw_components_beside), with thetas of its own. They are integrated out: each is
 * taken at the points of a grid, weighted by what the data say of it (the restricted likelihood;
 * Harville 1974, Biometrika 61:383) and by a stated prior. What comes out for a combination c'b is
 * a mixture of normal distributions, which is narrow where the data know the scatter and has long
 * tails where a few of them do not: no interval is absurdly narrow because three runs happened to
 * agree. (Gelman 2006, Bayesian Anal. 1:515, on priors with long tails of a scatter that few groups
 * tell of.) */
#ifndef CW_STATS_COMPONENTS_H
#define CW_STATS_COMPONENTS_H

#include <stdbool.h>
#include <stddef.h>

#include "base/error.h"
#include "base/estimate.h"

enum { CW_COMPONENTS_MOST = 7 };

enum cw_component_prior {
    /* A scatter of parameter or less, or of any larger order alike: all thetas of this kind, over
     * their parameters, have together a density of (1 + sum of squares)^-(d + m)/2, m being how
     * many they are: a multivariate t with so few degrees of freedom, d = 0.05, that what lies
     * beyond is as likely to be of one order as of the next, as far as the grid goes. With one
     * half, scatters of forty times the parameter were drawn to it, and six degrees of freedom
     * passed for seven. */
    CW_COMPONENT_SCATTER,
    CW_COMPONENT_STATED,  /* theta^2: about 1, as known from parameter degrees of freedom
                           * (scaled inverse chi-square) */
    CW_COMPONENT_FACTOR,  /* log theta: normal about 0 with an sd of parameter */
    CW_COMPONENT_GUESSED, /* log theta: about 0, Student's t with four degrees of freedom times
                           * parameter: a size that was stated, and may be wrong by far */
};

struct cw_component {
    const double *matrix; /* M, n x n, symmetric, positive semidefinite; NULL where what theta does
                           * is not of that form, and stands in cw_components_data's beside */
    enum cw_component_prior prior;
    double parameter;
    /* Of a scatter without a matrix: what theta = 1 does to a value. Of a factor: about how well
     * its logarithm will be known. */
    double size;
};

/* What was observed beside y. At a point it adds to the covariance of the errors (n x n) what it
 * leaves of theirs, takes from the values (n) what it makes them expect, and gives the logarithm of
 * its own likelihood, but for a constant; false where theta has none. */
struct cw_components_beside {
    bool (*at)(const void *context, const double *theta, double *covariance, double *value,
               double *log_likelihood);
    const void *context;
};

struct cw_components_data {
    size_t n, p;
    const double *value;  /* y, n */
    const double *design; /* X, n x p */
    const double *fixed;  /* F, n x n; or NULL */
    size_t n_components;
    struct cw_component component[CW_COMPONENTS_MOST];
    struct cw_components_beside beside; /* at: NULL where there is nothing */
    /* Where values go on from one to the next: an order of theirs (n), and what the i-th in it has
     * of the one before, so that less that much a matrix falls off to nothing; the first's is not
     * looked at. It only saves time, of many values, and may be NULL, both of them. */
    const size_t *order;
    const double *carry;
};

struct cw_components {
    size_t p, n_components;
    size_t n_points;
    double *weight;      /* of each point; they add up to 1 */
    double *theta;       /* n_points x n_components */
    double *coefficient; /* n_points x p */
    double *covariance;  /* n_points x p x p */
    double log_evidence; /* of all that was observed, but for what all models of one y share */
    /* Of each theta: its median and 95 % interval; and the mean of its square. */
    struct {
        double median, low, high, mean_square;
    } of[CW_COMPONENTS_MOST];
};

/* CW_NOT_IDENTIFIABLE where X does not have full rank; CW_E_ARGUMENT; CW_E_NUMERIC. With n = p
 * there is no scatter to learn from: the priors stand. Free with cw_components_free, also after an
 * error. */
enum cw_status cw_components_fit(const struct cw_components_data *data, struct cw_components *fit,
                                 struct cw_error *error);
void cw_components_free(struct cw_components *fit);

/* A larger model at the points of a fit, with their weights: of data whose values are those of the
 * fit and others that say nothing of the thetas, for each has a coefficient of its own or hangs on
 * values that do; as many components, in the same order. follow has theirs, and is freed
 * likewise. Errors as above. */
enum cw_status cw_components_follow(const struct cw_components *fit,
                                    const struct cw_components_data *data,
                                    struct cw_components *follow, struct cw_error *error);

/* The covariance of the errors at theta (n x n), and the values less what is expected of them there
 * (n); *log_likelihood of what was observed beside. False where theta has none. */
bool cw_components_at(const struct cw_components_data *data, const double *theta,
                      double *covariance, double *value, double *log_likelihood);

/* Where F holds by by' (n numbers), the errors that a standard normal z makes which is the same
 * for all y: what y say of z at theta, by the best linear prediction, and its standard deviation.
 * CW_E_NUMERIC, CW_E_MEMORY. */
enum cw_status cw_components_predict(const struct cw_components_data *data, const double *theta,
                                     const double *by, double *z, double *sd,
                                     struct cw_error *error);

/* The estimate of c'b (c has p numbers) with its 95 % interval. *df: of the Student's t that has
 * the mixture's middle half and its 95 % (1 to 1e6); the standard error is that t's scale, so that
 * interval and error go together as they do elsewhere. *p_value: two-sided, of c'b = 0. df and
 * p_value may be NULL. */
enum cw_status cw_components_contrast(const struct cw_components *fit, const double *contrast,
                                      struct cw_estimate *estimate, double *df, double *p_value,
                                      struct cw_error *error);

/* Widens an estimate of the same table by unit x theta_k x a standard normal draw: what component k
 * may have done to it. Its own interval counts as that of a normal distribution. */
enum cw_status cw_components_widen(const struct cw_components *fit, size_t k, double unit,
                                   struct cw_estimate *estimate, struct cw_error *error);

#endif
