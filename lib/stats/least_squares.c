#include "stats/least_squares.h"

#include <float.h>
#include <math.h>
#include <stdbool.h>
#include <stdlib.h>

#include <gsl/gsl_errno.h>
#include <gsl/gsl_matrix.h>
#include <gsl/gsl_multifit.h>
#include <gsl/gsl_vector.h>

static enum cw_status check_input(size_t n, size_t p, const double *design, const double *response,
                                  const double *weight, struct cw_error *error) {
    if (p == 0 || n < p)
        return cw_error_set(error, CW_E_ARGUMENT, NULL, 0,
                            "least squares: %zu observations cannot give %zu unknowns", n, p);
    /* Not-a-numbers must stop here: the singular value iteration does not end on them. */
    for (size_t i = 0; i < n * p; i++)
        if (!isfinite(design[i]))
            return cw_error_set(error, CW_E_ARGUMENT, NULL, 0,
                                "least squares: observation %zu has no number for unknown %zu",
                                i / p + 1, i % p + 1);
    for (size_t i = 0; i < n; i++) {
        if (!isfinite(response[i]))
            return cw_error_set(error, CW_E_ARGUMENT, NULL, 0,
                                "least squares: observation %zu is not a number", i + 1);
        if (weight && !(weight[i] > 0 && isfinite(weight[i])))
            return cw_error_set(error, CW_E_ARGUMENT, NULL, 0,
                                "least squares: the weight of observation %zu is not above 0",
                                i + 1);
    }
    return CW_OK;
}

/* From the residuals themselves, which lose less to rounding than |y|^2 - |U'y|^2. */
static double sum_of_squares(const double *design, const double *response, const double *weight,
                             const struct cw_least_squares *fit) {
    double sum = 0;
    for (size_t i = 0; i < fit->n; i++) {
        double residual = response[i];
        for (size_t j = 0; j < fit->p; j++)
            residual -= design[i * fit->p + j] * fit->coefficient[j];
        sum += (weight ? weight[i] : 1) * residual * residual;
    }
    return sum;
}

static bool all_finite(const struct cw_least_squares *fit) {
    if (!isfinite(fit->chi_square)) return false;
    for (size_t j = 0; j < fit->p; j++)
        if (!isfinite(fit->coefficient[j])) return false;
    for (size_t j = 0; j < fit->p * fit->p; j++)
        if (!isfinite(fit->covariance[j])) return false;
    return true;
}

static void set_unknown(struct cw_least_squares *fit) {
    for (size_t j = 0; j < fit->p; j++) fit->coefficient[j] = NAN;
    for (size_t j = 0; j < fit->p * fit->p; j++) fit->covariance[j] = NAN;
    fit->chi_square = fit->residual_sd = NAN;
}

enum cw_status cw_least_squares_fit(size_t n, size_t p, const double *design,
                                    const double *response, const double *weight,
                                    struct cw_least_squares *fit, struct cw_error *error) {
    *fit = (struct cw_least_squares){0};
    enum cw_status status = check_input(n, p, design, response, weight, error);
    if (status != CW_OK) return status;

    gsl_error_handler_t *handler = gsl_set_error_handler_off();
    gsl_multifit_linear_workspace *work = gsl_multifit_linear_alloc(n, p);
    gsl_vector *weights = gsl_vector_alloc(n);
    fit->coefficient = calloc(p, sizeof *fit->coefficient);
    fit->covariance = calloc(p * p, sizeof *fit->covariance);
    if (!work || !weights || !fit->coefficient || !fit->covariance) {
        status = cw_error_memory(error);
        goto cleanup;
    }
    fit->n = n;
    fit->p = p;
    fit->df = (double)(n - p);
    for (size_t i = 0; i < n; i++) gsl_vector_set(weights, i, weight ? weight[i] : 1);

    gsl_matrix_const_view x = gsl_matrix_const_view_array(design, n, p);
    gsl_vector_const_view y = gsl_vector_const_view_array(response, n);
    gsl_vector_view b = gsl_vector_view_array(fit->coefficient, p);
    gsl_matrix_view covariance = gsl_matrix_view_array(fit->covariance, p, p);
    size_t rank = 0;
    double chi_square = 0;
    int failed = gsl_multifit_wlinear_tsvd(&x.matrix, weights, &y.vector, DBL_EPSILON, &b.vector,
                                           &covariance.matrix, &chi_square, &rank, work);
    double reciprocal = gsl_multifit_linear_rcond(work);
    if (failed || !isfinite(reciprocal)) {
        status = cw_error_set(error, CW_E_NUMERIC, NULL, 0,
                              "least squares: the singular values could not be found");
        goto cleanup;
    }
    /* GSL drops small singular values and calls that a success. */
    fit->condition = reciprocal > 0 ? 1 / reciprocal : INFINITY;
    if (rank < p || fit->condition > CW_LEAST_SQUARES_CONDITION_MAX) {
        set_unknown(fit);
        status = cw_error_set(error, CW_NOT_IDENTIFIABLE, NULL, 0,
                              "least squares: the %zu unknowns cannot be told apart "
                              "(condition number %.2g)",
                              p, fit->condition);
        goto cleanup;
    }
    fit->chi_square = sum_of_squares(design, response, weight, fit);
    if (!all_finite(fit)) {
        status = cw_error_set(error, CW_E_NUMERIC, NULL, 0,
                              "least squares: the result is beyond the range of numbers");
        goto cleanup;
    }
    fit->residual_sd = n > p ? sqrt(fit->chi_square / fit->df) : NAN;
    if (!weight)
        for (size_t j = 0; j < p * p; j++)
            fit->covariance[j] *= fit->residual_sd * fit->residual_sd;

cleanup:
    gsl_multifit_linear_free(work);
    gsl_vector_free(weights);
    gsl_set_error_handler(handler);
    if (status < 0) cw_least_squares_free(fit);
    return status;
}

void cw_least_squares_free(struct cw_least_squares *fit) {
    free(fit->coefficient);
    free(fit->covariance);
    *fit = (struct cw_least_squares){0};
}
