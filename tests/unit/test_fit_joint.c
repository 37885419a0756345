/* The runs of an outing together: what is left after the fit's step by step elimination against one
 * dense normal matrix with every unknown of every run in it. */
#include <check.h>
#include <gsl/gsl_linalg.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "dense.h"
#include "fit/joint.h"
#include "five_runs.h"
#include "physics/descent.h"

/* One normal matrix: every run's own nuisances, the profiles, the scales, Crr, CdA, the data. */
struct whole {
    size_t own, profile[ROADS], scale, bends, wind, crr, cda, data, n;
    gsl_matrix *a;
    double log_det; /* of the observations' covariance and of the roughness */
};

static void add(gsl_matrix *a, size_t i, size_t j, double value) {
    *gsl_matrix_ptr(a, i, j) += value;
}

static void add_prior(struct whole *w, size_t i, double off, double sd) {
    add(w->a, i, i, 1 / (sd * sd));
    add(w->a, i, w->data, off / (sd * sd));
    add(w->a, w->data, i, off / (sd * sd));
    add(w->a, w->data, w->data, off * off / (sd * sd));
}

/* Second differences of the coefficients, whose covariance is bend2 and roughness2 exp(-distance /
 * 30 m) (fit/ground.h), with its inverse made number by number. */
static void add_smoothness(struct whole *w, size_t road, const struct cw_profile *profile,
                           double roughness_m) {
    const double difference[3] = {1, -2, 1}, bend_m = 0.01;
    size_t m = profile->n - 2, from = w->profile[road];
    gsl_matrix *inverse = gsl_matrix_alloc(m, m);
    double *off = malloc(m * sizeof *off);
    for (size_t i = 0; i < m; i++) {
        off[i] = 0;
        for (size_t a = 0; a < 3; a++) off[i] += difference[a] * profile->coefficient_m[i + a];
        for (size_t j = 0; j < m; j++)
            gsl_matrix_set(inverse, i, j,
                           bend_m * bend_m +
                               roughness_m * roughness_m *
                                   exp(-profile->spacing_m * fabs((double)i - (double)j) / 30));
    }
    ck_assert_int_eq(gsl_linalg_cholesky_decomp1(inverse), 0);
    for (size_t i = 0; i < m; i++) w->log_det += 2 * log(gsl_matrix_get(inverse, i, i));
    gsl_linalg_cholesky_invert(inverse);
    for (size_t i = 0; i < m; i++)
        for (size_t j = 0; j < m; j++) {
            double precision = gsl_matrix_get(inverse, i, j);
            for (size_t a = 0; a < 3; a++) {
                for (size_t b = 0; b < 3; b++)
                    add(w->a, from + i + a, from + j + b,
                        precision * difference[a] * difference[b]);
                add(w->a, from + i + a, w->data, precision * difference[a] * off[j]);
                add(w->a, w->data, from + i + a, precision * difference[a] * off[j]);
            }
            add(w->a, w->data, w->data, precision * off[i] * off[j]);
        }
    free(off);
    gsl_matrix_free(inverse);
}

/* With the runs' own winds in it, which are an unknown to the likelihood alone. */
static double own_wind_ms = 1e-6;

static void whole_make(const struct cw_joint *joint, const size_t *subset, size_t n,
                       const struct cw_noise *noise, struct whole *w) {
    *w = (struct whole){0};
    w->profile[0] = CW_OWN * n;
    w->profile[1] = w->profile[0] + joint->profile[0].n;
    w->scale = w->profile[1] + joint->profile[1].n;
    w->bends = w->scale + RECORDINGS;
    w->wind = w->bends + 1;
    w->crr = w->wind + 1;
    w->cda = w->crr + TYRES;
    w->data = w->cda + n;
    w->n = w->data + 1;
    w->a = gsl_matrix_calloc(w->n, w->n);
    for (size_t road = 0; road < ROADS; road++) {
        bool any = false;
        for (size_t k = 0; k < n; k++) any |= joint->data[subset[k]].road == road;
        const struct cw_profile *profile = &joint->profile[road];
        for (size_t i = 0; i < profile->n; i++)
            add(w->a, w->profile[road] + i, w->profile[road] + i, any ? 1e-9 : 1);
        if (!any) continue; /* a road of no run: it stands by itself */
        add_smoothness(w, road, profile, noise->roughness_m);
    }
    for (size_t k = 0; k < n; k++) {
        const struct cw_run_data *data = &joint->data[subset[k]];
        size_t nodes = joint->profile[data->road].n, width = nodes + CW_TAIL;
        struct dense dense;
        dense_make(&joint->linear[subset[k]], noise, nodes, &dense);
        gsl_matrix *product = gsl_matrix_alloc(width, width);
        w->log_det += dense_normal(&dense, product);
        size_t *to = malloc(width * sizeof *to);
        for (size_t i = 0; i < nodes; i++)
            to[i] = w->profile[data->road] + (data->reversed ? nodes - 1 - i : i);
        for (size_t i = 0; i < CW_OWN; i++) to[nodes + i] = CW_OWN * k + i;
        to[nodes + CW_TAIL_CRR] = w->crr + data->tyres;
        to[nodes + CW_TAIL_CDA] = w->cda + k;
        to[nodes + CW_TAIL_BENDS] = w->bends;
        to[nodes + CW_TAIL_WIND] = w->wind;
        to[nodes + CW_TAIL_SCALE] = w->scale + data->recording;
        to[nodes + CW_TAIL_DATA] = w->data;
        for (size_t i = 0; i < width; i++)
            for (size_t j = 0; j < width; j++)
                add(w->a, to[i], to[j], gsl_matrix_get(product, i, j));
        add_prior(w, CW_OWN * k + CW_TAIL_OFFSET, 0, five_runs_priors.offset_sd_m);
        add_prior(w, CW_OWN * k + CW_TAIL_SHIFT, 0, five_runs_priors.shift_sd_m);
        add_prior(w, CW_OWN * k + CW_TAIL_ENERGY, 0, 1e3);
        add_prior(w, CW_OWN * k + CW_TAIL_OWN_WIND, 0, own_wind_ms);
        free(to);
        gsl_matrix_free(product);
        dense_free(&dense);
    }
    for (size_t r = 0; r < RECORDINGS; r++)
        add_prior(w, w->scale + r, joint->scale[r], five_runs_priors.scale_sd);
    add_prior(w, w->bends, joint->bends - five_runs_priors.bends.mean, five_runs_priors.bends.sd);
    add_prior(w, w->wind, joint->wind_ms - five_runs_priors.wind.mean, five_runs_priors.wind.sd);
    add_prior(w, w->crr + 1, joint->crr[1] - five_runs_crr_prior[1].prior.mean,
              five_runs_crr_prior[1].prior.sd);
}

/* The first n rows and columns as a factor, and their log determinant. Each unknown is taken in
 * units of its own, or the pivots would differ by more digits than there are. */
static gsl_matrix *factor(const struct whole *w, size_t n, gsl_vector *unit, double *log_det) {
    gsl_matrix *root = gsl_matrix_alloc(n, n);
    *log_det = 0;
    for (size_t i = 0; i < n; i++) gsl_vector_set(unit, i, 1 / sqrt(gsl_matrix_get(w->a, i, i)));
    for (size_t i = 0; i < n; i++)
        for (size_t j = 0; j < n; j++)
            gsl_matrix_set(root, i, j,
                           gsl_matrix_get(w->a, i, j) * gsl_vector_get(unit, i) *
                               gsl_vector_get(unit, j));
    ck_assert_int_eq(gsl_linalg_cholesky_decomp1(root), 0);
    for (size_t i = 0; i < n; i++)
        *log_det += 2 * log(gsl_matrix_get(root, i, i)) - 2 * log(gsl_vector_get(unit, i));
    return root;
}

/* What is left of the last rows and columns when the first n are eliminated at once. */
static gsl_matrix *complement(const struct whole *w, size_t n) {
    double log_det;
    gsl_vector *unit = gsl_vector_alloc(n), *column = gsl_vector_alloc(n);
    gsl_matrix *root = factor(w, n, unit, &log_det), *left = gsl_matrix_alloc(w->n - n, w->n - n);
    for (size_t j = n; j < w->n; j++) {
        for (size_t i = 0; i < n; i++)
            gsl_vector_set(column, i, gsl_matrix_get(w->a, i, j) * gsl_vector_get(unit, i));
        gsl_linalg_cholesky_svx(root, column);
        for (size_t i = n; i < w->n; i++) {
            double sum = gsl_matrix_get(w->a, i, j);
            for (size_t k = 0; k < n; k++)
                sum -= gsl_matrix_get(w->a, i, k) * gsl_vector_get(column, k) *
                       gsl_vector_get(unit, k);
            gsl_matrix_set(left, i - n, j - n, sum);
        }
    }
    gsl_matrix_free(root);
    gsl_vector_free(unit);
    gsl_vector_free(column);
    return left;
}

/* The five_runs_priors that steady the search and are not part of the information. */
static void add_steadying(const struct cw_joint *joint, const size_t *subset, size_t n,
                          struct whole *w) {
    add_prior(w, w->crr, joint->crr[0] - five_runs_crr_prior[0].prior.mean,
              five_runs_crr_prior[0].prior.sd);
    for (size_t k = 0; k < n; k++)
        add_prior(w, w->cda + k, joint->cda_m2[subset[k]] - five_runs_priors.cda_m2.mean,
                  five_runs_priors.cda_m2.sd);
}

static double minus_2_log(const struct whole *w) {
    double log_det;
    gsl_vector *unit = gsl_vector_alloc(w->data);
    gsl_matrix *root = factor(w, w->data, unit, &log_det), *left = complement(w, w->data);
    double value = w->log_det + log_det + gsl_matrix_get(left, 0, 0);
    gsl_matrix_free(root);
    gsl_matrix_free(left);
    gsl_vector_free(unit);
    return value;
}

static void check_evaluate(const struct cw_joint *joint, const size_t *subset, size_t n,
                           const struct cw_noise *noise, double *got, double *wanted) {
    struct cw_information information;
    struct cw_error error;
    ck_assert_int_eq(cw_information_alloc(TYRES, n, &information, &error), CW_OK);
    ck_assert_int_eq(cw_joint_evaluate(joint, subset, n, noise, got, &information, NULL, &error),
                     CW_OK);
    struct whole w;
    whole_make(joint, subset, n, noise, &w);
    gsl_matrix *left = complement(&w, w.crr);
    size_t m = TYRES + n;
    for (size_t i = 0; i < m; i++) {
        double sum = -gsl_matrix_get(left, i, m), size = fabs(sum);
        for (size_t j = 0; j < m; j++) {
            double element = gsl_matrix_get(left, i, j);
            double scale = sqrt(gsl_matrix_get(left, i, i) * gsl_matrix_get(left, j, j));
            ck_assert(fabs(information.matrix[i * m + j] - element) <= 1e-7 * scale);
            double basis = j < TYRES ? joint->crr[j] : joint->cda_m2[subset[j - TYRES]];
            sum += element * basis;
            size += fabs(element * basis);
        }
        ck_assert(fabs(information.vector[i] - sum) <= 1e-7 * size);
    }
    gsl_matrix_free(left);
    add_steadying(joint, subset, n, &w);
    *wanted = minus_2_log(&w);
    gsl_matrix_free(w.a);
    cw_information_free(&information);
}

static const size_t all[RUNS] = {0, 1, 2, 3, 4};

START_TEST(elimination_step_by_step_or_at_once) {
    struct cw_joint joint;
    double got, wanted;
    five_runs_make(&joint, _i);
    check_evaluate(&joint, all, RUNS, &five_runs_noise, &got, &wanted);
    cw_joint_free(&joint);
}
END_TEST

START_TEST(likelihood_differences) {
    struct cw_joint joint;
    double got[4], wanted[4];
    struct cw_noise noise[4] = {five_runs_noise, five_runs_noise, five_runs_noise, five_runs_noise};
    noise[1].gust_sd_ms = 0.4;
    noise[1].gust_time_s = 40;
    noise[2].roughness_m = 0.08;
    noise[2].drift_sd_m = 1.3;
    noise[3].speed_sd_ms = 0.2;
    noise[3].wander_sd_m = 0.7;
    noise[3].position_sd_m = 1.1;
    noise[3].elevation_sd_m = 0.3;
    five_runs_make(&joint, _i);
    for (int k = 0; k < 4; k++) check_evaluate(&joint, all, RUNS, &noise[k], &got[k], &wanted[k]);
    for (int k = 1; k < 4; k++) {
        ck_assert_double_gt(fabs(wanted[k] - wanted[0]), 1);
        ck_assert_double_eq_tol(got[k] - got[0], wanted[k] - wanted[0], 1e-5);
    }
    cw_joint_free(&joint);
}
END_TEST

/* The noise is searched for with a wind of its own for each run. */
START_TEST(winds_of_the_runs_own) {
    struct cw_joint joint;
    struct cw_error error;
    struct cw_noise noise[2] = {five_runs_noise, five_runs_noise};
    double got[2], wanted[2], held[2], unused;
    noise[1].gust_time_s = 90;
    noise[1].gust_sd_ms = 0.3;
    five_runs_make(&joint, _i);
    for (int k = 0; k < 2; k++) {
        struct whole w;
        ck_assert_int_eq(
            cw_joint_evaluate(&joint, NULL, RUNS, &noise[k], &got[k], NULL, NULL, &error), CW_OK);
        own_wind_ms = five_runs_priors.own_wind_ms;
        whole_make(&joint, all, RUNS, &noise[k], &w);
        own_wind_ms = 1e-6;
        add_steadying(&joint, all, RUNS, &w);
        wanted[k] = minus_2_log(&w);
        gsl_matrix_free(w.a);
        check_evaluate(&joint, all, RUNS, &noise[k], &held[k], &unused);
    }
    ck_assert_double_eq_tol(got[1] - got[0], wanted[1] - wanted[0], 1e-5);
    ck_assert_double_gt(fabs(got[1] - got[0] - (held[1] - held[0])), 0.1);
    cw_joint_free(&joint);
}
END_TEST

/* A lag set by itself does to every run, those of the other way too, what linearising anew does. */
START_TEST(lags_as_linearised) {
    struct cw_joint joint;
    struct cw_error error;
    double set, anew;
    five_runs_make(&joint, _i); /* sets the lags last */
    ck_assert_int_eq(
        cw_joint_evaluate(&joint, NULL, RUNS, &five_runs_noise, &set, NULL, NULL, &error), CW_OK);
    cw_joint_linearise(&joint);
    ck_assert_int_eq(
        cw_joint_evaluate(&joint, NULL, RUNS, &five_runs_noise, &anew, NULL, NULL, &error), CW_OK);
    ck_assert_double_eq_tol(set, anew, 1e-9 * fabs(anew));
    cw_joint_free(&joint);
}
END_TEST

START_TEST(subset_stands_for_itself) {
    static const size_t subsets[][3] = {{0, 2, 4}, {3, 4, 3}, {1, 1, 1}};
    static const size_t n[] = {3, 2, 1};
    struct cw_joint joint;
    double got, wanted;
    five_runs_make(&joint, _i);
    for (size_t k = 0; k < 3; k++)
        check_evaluate(&joint, subsets[k], n[k], &five_runs_noise, &got, &wanted);
    cw_joint_free(&joint);
}
END_TEST

/* Runs that are all warmer than Crr is said for: the same equations of a Crr that is that much
 * more, and dense or step by step. Runs of several temperatures: dense or step by step. */
START_TEST(tyres_that_are_warmer) {
    struct cw_joint cold, warm;
    double got, wanted, share;
    struct cw_information of_cold, of_warm;
    five_runs_make(&cold, _i);
    five_runs_make(&warm, _i);
    ck_assert(!cw_joint_warms(&cold));
    for (size_t i = 0; i < RUNS; i++) warm.data[i].warmer_k = 9;
    share = cw_crr_warmer(CW_CRR_FALL_1K, 9);
    ck_assert(cw_joint_warms(&warm));
    ck_assert_double_eq_tol(cw_joint_own_crr(&warm, 3, 0.0049), share * 0.0049, 1e-15);
    for (size_t t = 0; t < TYRES; t++) warm.crr[t] = cold.crr[t] / share;
    const double lag_s[RECORDINGS] = {0.4, 1.7};
    cw_joint_linearise(&warm);
    cw_joint_set_lags(&warm, lag_s);
    cw_joint_linearise(&cold);
    cw_joint_set_lags(&cold, lag_s);
    ck_assert_int_eq(cw_information_alloc(TYRES, RUNS, &of_cold, NULL), CW_OK);
    ck_assert_int_eq(cw_information_alloc(TYRES, RUNS, &of_warm, NULL), CW_OK);
    ck_assert_int_eq(
        cw_joint_evaluate(&cold, NULL, RUNS, &five_runs_noise, &got, &of_cold, NULL, NULL), CW_OK);
    ck_assert_int_eq(
        cw_joint_evaluate(&warm, NULL, RUNS, &five_runs_noise, &got, &of_warm, NULL, NULL), CW_OK);
    for (size_t i = 0; i < of_cold.n; i++) { /* by the first tyres, whose Crr is not known */
        double factor = i == 0 ? share * share : share;
        if (i == 1) continue;
        ck_assert_double_eq_tol(of_warm.matrix[i] / (factor * of_cold.matrix[i]), 1, 1e-6);
    }
    ck_assert_double_eq_tol(of_warm.vector[0] / (share * of_cold.vector[0]), 1, 1e-6);
    cw_information_free(&of_cold);
    cw_information_free(&of_warm);
    for (size_t i = 0; i < RUNS; i++) warm.data[i].warmer_k = 4 * (double)i - 8;
    cw_joint_linearise(&warm);
    cw_joint_set_lags(&warm, lag_s);
    check_evaluate(&warm, all, RUNS, &five_runs_noise, &got, &wanted);
    cw_joint_free(&cold);
    cw_joint_free(&warm);
}
END_TEST

/* The unknowns, into x, and the factor that they were solved by. */
static gsl_matrix *solution(const struct whole *w, gsl_vector *unit, gsl_vector *x) {
    double log_det;
    gsl_matrix *root = factor(w, w->data, unit, &log_det);
    for (size_t i = 0; i < w->data; i++)
        gsl_vector_set(x, i, -gsl_matrix_get(w->a, i, w->data) * gsl_vector_get(unit, i));
    gsl_linalg_cholesky_svx(root, x);
    gsl_vector_mul(x, unit);
    return root;
}

/* Runs of one setup have one CdA: the wind from the same equations with those runs' columns added.
 */
START_TEST(wind_from_runs_of_one_setup) {
    struct cw_joint joint;
    struct cw_error error;
    struct whole w;
    five_runs_make(&joint, _i); /* all of one setup */
    for (size_t i = 0; i < RUNS; i++) joint.cda_m2[i] = 0.32;
    cw_joint_linearise(&joint);
    whole_make(&joint, all, RUNS, &five_runs_noise, &w);
    add_prior(&w, w.crr, joint.crr[0] - five_runs_crr_prior[0].prior.mean,
              five_runs_crr_prior[0].prior.sd);
    for (size_t i = 1; i < RUNS; i++) { /* into the first's; the others stand by themselves */
        for (size_t j = 0; j < w.n; j++) {
            add(w.a, w.cda, j, gsl_matrix_get(w.a, w.cda + i, j));
            gsl_matrix_set(w.a, w.cda + i, j, 0);
        }
        for (size_t j = 0; j < w.n; j++) {
            add(w.a, j, w.cda, gsl_matrix_get(w.a, j, w.cda + i));
            gsl_matrix_set(w.a, j, w.cda + i, 0);
        }
        gsl_matrix_set(w.a, w.cda + i, w.cda + i, 1);
    }
    add_prior(&w, w.cda, joint.cda_m2[0] - five_runs_priors.cda_m2.mean,
              five_runs_priors.cda_m2.sd);
    double change;
    gsl_vector *unit = gsl_vector_alloc(w.data), *x = gsl_vector_alloc(w.data);
    gsl_matrix *root = solution(&w, unit, x);
    double wind = joint.wind_ms + gsl_vector_get(x, w.wind);
    gsl_linalg_cholesky_invert(root);
    double sd = sqrt(gsl_matrix_get(root, w.wind, w.wind)) * gsl_vector_get(unit, w.wind),
           bends = joint.bends + gsl_vector_get(x, w.bends),
           bends_sd = sqrt(gsl_matrix_get(root, w.bends, w.bends)) * gsl_vector_get(unit, w.bends);
    ck_assert_int_eq(cw_joint_advance(&joint, &five_runs_noise, &change, &error), CW_OK);
    ck_assert_double_eq_tol(joint.wind_found.mean, wind, 1e-6);
    ck_assert_double_eq_tol(joint.wind_found.sd, sd, 1e-6);
    ck_assert_double_eq_tol(joint.bends_found.mean, bends, 1e-7);
    ck_assert_double_eq_tol(joint.bends_found.sd, bends_sd, 1e-7);
    gsl_matrix_free(root);
    gsl_matrix_free(w.a);
    gsl_vector_free(unit);
    gsl_vector_free(x);
    cw_joint_free(&joint);
}
END_TEST

START_TEST(advance_goes_to_the_solution) {
    struct cw_joint joint;
    struct cw_error error;
    struct whole w;
    five_runs_make(&joint, _i);
    /* each its own setup, or the basis values were the setups' means */
    for (size_t i = 0; i < RUNS; i++) joint.data[i].setup = i;
    whole_make(&joint, all, RUNS, &five_runs_noise, &w);
    add_steadying(&joint, all, RUNS, &w);
    double change, largest = 0;
    gsl_vector *unit = gsl_vector_alloc(w.data), *x = gsl_vector_alloc(w.data);
    gsl_matrix *root = solution(&w, unit, x);

    double crr[TYRES], cda[RUNS], scale[RECORDINGS], *height[ROADS];
    double wind = joint.wind_ms + gsl_vector_get(x, w.wind);
    for (size_t t = 0; t < TYRES; t++) crr[t] = joint.crr[t] + gsl_vector_get(x, w.crr + t);
    for (size_t i = 0; i < RUNS; i++) {
        cda[i] = joint.cda_m2[i] + gsl_vector_get(x, w.cda + i);
        /* held to what is a bicycle, as the header says */
        cda[i] = fmin(1.5, fmax(0.05, cda[i]));
        largest = fmax(largest, fabs(cda[i] / joint.cda_m2[i] - 1));
    }
    for (size_t r = 0; r < RECORDINGS; r++)
        scale[r] = joint.scale[r] + gsl_vector_get(x, w.scale + r);
    for (size_t road = 0; road < ROADS; road++) {
        height[road] = malloc(joint.profile[road].n * sizeof(double));
        for (size_t i = 0; i < joint.profile[road].n; i++)
            height[road][i] =
                joint.profile[road].coefficient_m[i] + gsl_vector_get(x, w.profile[road] + i);
    }
    ck_assert_int_eq(cw_joint_advance(&joint, &five_runs_noise, &change, &error), CW_OK);
    ck_assert_double_eq_tol(change, largest, 1e-6);
    ck_assert_double_eq_tol(joint.wind_ms, wind, 1e-6);
    ck_assert_double_eq_tol(joint.wind_found.mean, wind, 1e-6);
    for (size_t i = 0; i < RUNS; i++)
        ck_assert_double_eq_tol(joint.data[i].surroundings.wind_along_ms,
                                i == REVERSED ? -wind : wind, 1e-6);
    for (size_t t = 0; t < TYRES; t++)
        ck_assert_double_eq_tol(joint.crr[t], fmin(0.03, fmax(0, crr[t])), 1e-8);
    for (size_t i = 0; i < RUNS; i++) ck_assert_double_eq_tol(joint.cda_m2[i], cda[i], 1e-6);
    for (size_t r = 0; r < RECORDINGS; r++) ck_assert_double_eq_tol(joint.scale[r], scale[r], 1e-8);
    for (size_t road = 0; road < ROADS; road++) {
        for (size_t i = 0; i < joint.profile[road].n; i++)
            ck_assert_double_eq_tol(joint.profile[road].coefficient_m[i], height[road][i], 1e-5);
        free(height[road]);
    }
    gsl_matrix_free(root);
    gsl_matrix_free(w.a);
    gsl_vector_free(unit);
    gsl_vector_free(x);
    cw_joint_free(&joint);
}
END_TEST

static const double even_slope = -0.05;

static double slope_of(double s_m, const void *state) {
    (void)s_m;
    return *(const double *)state;
}

/* A coast of the example, seen as it was. */
static void coast(double cda_m2, struct cw_run_data *data) {
    const struct cw_bicycle bicycle = {.mass_kg = 80, .cda_m2 = cda_m2, .crr = 0.005};
    const struct cw_surroundings air = {.density_kgm3 = 1.2, .gravity_ms2 = 9.81};
    const struct cw_descent_road road = {NULL, slope_of, &even_slope, 590};
    struct cw_descent_options options = cw_descent_options_default();
    struct cw_descent descent;
    struct cw_error error;
    options.start_speed_ms = 4;
    ck_assert_int_eq(cw_descent_run(&bicycle, &air, &road, &options, &descent, &error), CW_OK);
    double *height = malloc(descent.n * sizeof *height);
    for (size_t i = 0; i < descent.n; i++) height[i] = 500 + even_slope * descent.s_m[i];
    ck_assert_int_eq(cw_run_data_make(descent.n, descent.time_s, descent.speed_ms, descent.s_m,
                                      descent.speed_ms, descent.s_m, height, data, &error),
                     CW_OK);
    data->bicycle = (struct cw_bicycle){.mass_kg = 80};
    data->surroundings = (struct cw_surroundings){.density_kgm3 = 1.2, .gravity_ms2 = 9.81};
    data->height_step_m = 0.2;
    free(height);
    cw_descent_free(&descent);
}

/* Covariance of the example's x by the runs of subset. */
static void covariance_of(const struct cw_joint *joint, const size_t *subset, size_t n,
                          const struct cw_noise *noise, double *j, double *covariance) {
    struct cw_information information;
    struct cw_error error;
    double unused;
    ck_assert_int_eq(cw_information_alloc(1, n, &information, &error), CW_OK);
    ck_assert_int_eq(
        cw_joint_evaluate(joint, subset, n, noise, &unused, &information, NULL, &error), CW_OK);
    ck_assert_int_eq(cw_information_solve(&information, NULL, covariance, &error), CW_OK);
    if (j) memcpy(j, information.matrix, (1 + n) * (1 + n) * sizeof *j);
    cw_information_free(&information);
}

/* The example in fit/joint.h: what it prints is so, to half of the last digit printed. */
START_TEST(example_in_the_header) {
    static const struct cw_noise still = {.gust_sd_ms = 0.05,
                                          .gust_time_s = 20,
                                          .drift_sd_m = 0.3,
                                          .drift_time_s = 150,
                                          .elevation_sd_m = 0.1,
                                          .speed_sd_ms = 0.1,
                                          .wander_sd_m = 1.5,
                                          .wander_time_s = 60,
                                          .position_sd_m = 0.3,
                                          .roughness_m = 0.05};
    static const size_t run[2] = {0, 1};
    struct cw_joint_priors known_wind = five_runs_priors;
    known_wind.wind = (struct cw_prior){0, 0};
    struct cw_run_data *data = calloc(2, sizeof *data);
    struct cw_joint joint;
    struct cw_error error;
    coast(0.30, &data[0]);
    coast(0.33, &data[1]);
    ck_assert_int_eq(
        cw_joint_make(data, 2, 1, 1, 1, &known_wind, five_runs_crr_prior, 15, &joint, &error),
        CW_OK);
    joint.cda_m2[0] = 0.30;
    joint.cda_m2[1] = 0.33;
    cw_joint_linearise(&joint);
    ck_assert_uint_eq(2 * CW_OWN, 8);
    ck_assert_uint_eq(joint.profile[0].n, 51);
    ck_assert_uint_eq(2 * CW_OWN + joint.profile[0].n + joint.n_recordings + 1 + joint.n_tyres + 2,
                      64);
    size_t seen = 0;
    for (size_t i = 0; i < 2; i++)
        for (size_t k = 0; k < data[i].n; k++)
            seen +=
                (size_t)(isfinite(data[i].speed_seen_ms[k]) + isfinite(data[i].position_seen_m[k]) +
                         isfinite(data[i].height_seen_m[k]));
    ck_assert_uint_eq(seen, 345);

    static const double printed[3][3] = {
        {6.05e6, 3.26e5, 2.76e5}, {3.26e5, 1.15e5, -0.74e5}, {2.76e5, -0.74e5, 1.00e5}};
    double j[9], both[9], alone[2][4];
    covariance_of(&joint, NULL, 2, &still, j, both);
    for (size_t a = 0; a < 3; a++)
        for (size_t b = 0; b < 3; b++)
            ck_assert_double_eq_tol(j[3 * a + b], printed[a][b], a + b ? 0.005e5 : 0.005e6);
    for (size_t i = 0; i < 2; i++) covariance_of(&joint, &run[i], 1, &still, NULL, alone[i]);
    ck_assert_double_eq_tol(sqrt(alone[0][0]), 0.0018, 0.00005);
    ck_assert_double_eq_tol(sqrt(alone[0][3]), 0.0170, 0.00005);
    ck_assert_double_eq_tol(sqrt(alone[1][0]), 0.0019, 0.00005);
    ck_assert_double_eq_tol(sqrt(alone[1][3]), 0.0190, 0.00005);
    ck_assert_double_eq_tol(sqrt(both[0]), 0.0013, 0.00005);
    ck_assert_double_eq_tol(sqrt(both[4]), 0.0125, 0.00005);
    ck_assert_double_eq_tol(sqrt(both[8]), 0.0132, 0.00005);
    ck_assert_double_eq_tol(sqrt(both[4] + both[8] - 2 * both[5]), 0.0034, 0.00005);
    ck_assert_double_eq_tol(both[5] / sqrt(both[4] * both[8]), 0.97, 0.005);
    cw_joint_free(&joint);
}
END_TEST

int main(void) {
    Suite *suite = suite_create("fit/joint");
    TCase *tests = tcase_create("joint");
    tcase_set_timeout(tests, 120);
    tcase_add_loop_test(tests, elimination_step_by_step_or_at_once, 0, CUTS);
    tcase_add_loop_test(tests, likelihood_differences, 0, CUTS);
    tcase_add_loop_test(tests, winds_of_the_runs_own, 0, CUTS);
    tcase_add_loop_test(tests, lags_as_linearised, 0, CUTS);
    tcase_add_loop_test(tests, subset_stands_for_itself, 0, CUTS);
    tcase_add_loop_test(tests, tyres_that_are_warmer, 0, CUTS);
    tcase_add_loop_test(tests, wind_from_runs_of_one_setup, 0, CUTS);
    tcase_add_loop_test(tests, advance_goes_to_the_solution, 0, CUTS);
    tcase_add_test(tests, example_in_the_header);
    suite_add_tcase(suite, tests);
    SRunner *runner = srunner_create(suite);
    srunner_run_all(runner, CK_NORMAL);
    int failed = srunner_ntests_failed(runner);
    srunner_free(runner);
    return failed ? EXIT_FAILURE : EXIT_SUCCESS;
}
