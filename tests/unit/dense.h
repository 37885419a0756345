/* A run's statistical model written out in full: every disturbance at every point a column of its
 * own, every covariance a dense matrix. Slow, and plain enough to be read against the equations of
 * fit/linear.h; what the fit gets in time linear in the samples is checked against it. */
#ifndef TEST_DENSE_H
#define TEST_DENSE_H

#include <gsl/gsl_matrix.h>
#include <stdbool.h>
#include <stddef.h>

#include "fit/linear.h"
#include "fit/noise.h"

/* What may move a run off its basis motion, or its heights off what they should show, in this
 * order: the gust at each point, what is added to the energy at the end of each step by the gust's
 * wanderings within it, what is lost on each step, the heights' drift at each point, by how much
 * they jump on each step, their error at the start, then the unknowns, of which the profile's
 * coefficients are the first. */
struct dense_inputs {
    size_t gust, bridge, loss, drift, jump, start, node, shift, energy, crr, cda, bends, wind, one,
        n;
};

struct dense {
    size_t n_points, n_nodes, n_seen;
    struct dense_inputs input;
    gsl_matrix *motion;     /* 2 n_points x inputs: ds of each point, then dv of each point */
    gsl_matrix *inputs;     /* covariance of all before the unknowns */
    gsl_matrix *columns;    /* n_seen x (n_nodes + CW_TAIL): minus the design, then the data */
    gsl_matrix *by_input;   /* n_seen x inputs: each observation's response */
    gsl_matrix *recording;  /* n_seen square: covariance of what disturbs the recording alone */
    gsl_matrix *covariance; /* n_seen square: of the observations, all disturbances together */
    bool *is_height;        /* n_seen */
};

/* Of a whole profile's n_nodes coefficients (fit/whiten.h has those a run touches). */
void dense_make(const struct cw_linear *linear, const struct cw_noise *noise, size_t n_nodes,
                struct dense *dense);
void dense_free(struct dense *dense);

/* columns' V^-1 columns, into product (n_nodes + CW_TAIL square); returns log det V. */
double dense_normal(const struct dense *dense, gsl_matrix *product);

/* A made-up run of about n samples on the profile, with what is to be recorded of it: steps that
 * differ, gaps, and observations missing here and there. The basis motion is not the truth. */
struct made_run {
    bool speed, position, height;
    size_t n;
    double start_m, start_ms;
    unsigned long seed;
};
void made_profile(double length_m, struct cw_profile *profile);
void made_run(const struct made_run *made, const struct cw_profile *profile,
              struct cw_run_data *data);

/* Repeatable random numbers: evenly in 0..1, and standard normal. */
double made_even(unsigned long *state);
double made_normal(unsigned long *state);

#endif
