#include <check.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include <gsl/gsl_randist.h>
#include <gsl/gsl_rng.h>

#include "stats/random_effects.h"

/* Thirteen trials of a vaccine: log risk ratios and variances from the published counts (Colditz et
 * al. 1994; the dat.bcg data set of metafor), and the trials' latitudes and years. */
static const double bcg_y[] = {
    -0.88931133392021, -1.5853886572014, -1.3480731482997,  -1.4415511900213,  -0.2175473222113,
    -0.78611558581886, -1.6208982235984, 0.011952333523841, -0.46941764873815, -1.3713448034728,
    -0.33935882833839, 0.44591340057138, -0.01731394821688};
static const double bcg_v[] = {
    0.32558476500396,   0.19458112139814, 0.41536796536797,   0.020010031902248, 0.051210172169631,
    0.0069056184559088, 0.22301724757232, 0.0039615792978177, 0.056434210463249, 0.073024793613029,
    0.01241221397156,   0.53250584520015, 0.071404659683986};
static const double bcg_latitude[] = {44, 55, 42, 52, 13, 44, 19, 13, 27, 42, 18, 33, 33};
static const double bcg_year[] = {1948, 1949, 1960, 1977, 1973, 1953, 1973,
                                  1980, 1968, 1961, 1974, 1969, 1976};
/* Constructed drag areas, m2, and their variances. */
static const double cda_y[] = {0.318, 0.324, 0.311, 0.329, 0.32, 0.316};
static const double cda_v[] = {0.003 * 0.003, 0.004 * 0.004, 0.002 * 0.002,
                               0.005 * 0.005, 0.003 * 0.003, 0.0025 * 0.0025};
static const double ones[] = {1, 1, 1, 1, 1, 1, 1, 1, 1, 1, 1, 1, 1};
static const struct cw_effects_data bcg = {13, 1, bcg_y, ones, NULL, bcg_v};
static const struct cw_effects_data cda = {6, 1, cda_y, ones, NULL, cda_v};

#define ck_near ck_assert_double_eq_tol
#define ck_relative(got, wanted, tolerance) ck_near(got, wanted, (tolerance)*fabs(wanted))

/* mu, standard error, interval as one row of metafor 3.8-1 gives them, tolerance 1e-7 (tau2 1e-6);
 * knapp: with Knapp-Hartung's factor and t(12), else without and normal. */
static void check_bcg(enum cw_between between, int knapp, const double *row) {
    struct cw_random_effects fit;
    struct cw_contrast mean;
    ck_assert_int_eq(cw_random_effects_fit(&bcg, between, &fit, NULL), CW_OK);
    if (!knapp) {
        fit.scale = 1;
        fit.df = INFINITY;
    }
    cw_random_effects_contrast(&fit, ones, &mean);
    ck_near(mean.estimate.value, row[0], 1e-7);
    ck_near(mean.estimate.standard_error, row[1], 1e-7);
    ck_near(mean.estimate.low, row[2], 1e-7);
    ck_near(mean.estimate.high, row[3], 1e-7);
    ck_near(fit.tau2, row[4], 1e-6);
    ck_near(fit.q, row[5], 1e-6);
    if (between != CW_BETWEEN_NONE) ck_near(100 * fit.i2, row[6], 1e-5);
    ck_near(mean.p_value, row[7], 1e-7);
    cw_random_effects_free(&fit);
}

/* metafor 3.8-1 rma on dat.bcg, computed: mu; se; ci; tau2; Q; I2 %; p. */
START_TEST(bcg_rows) {
    static const double none[] = {-4.3028516365e-01, 4.0498751711e-02, -5.0966125843e-01,
                                  -3.5090906888e-01, 0.0000000000e+00, 1.5223300808e+02,
                                  9.2117346855e+01,  2.2886293070e-26};
    static const double dl[] = {-7.1411722207e-01, 1.7874208954e-01, -1.0644452801e+00,
                                -3.6378916406e-01, 3.0876026286e-01, 1.5223300808e+02,
                                9.2117346855e+01,  6.4629243047e-05};
    static const double dl_knapp[] = {-0.714117222073, 0.180696628336, -1.107821354168,
                                      -0.320413089978, 0.308760262862, 152.233008082373,
                                      92.117346854562, 0.001920766767};
    static const double reml[] = {-7.1453234216e-01, 1.7978151611e-01, -1.0668976388e+00,
                                  -3.6216704551e-01, 3.1324325814e-01, 1.5223300808e+02,
                                  9.2221384521e+01,  7.0542581016e-05};
    static const double reml_knapp[] = {-0.7145323421581, 0.1807917440928, -1.1084437136856,
                                        -0.3206209706307, 0.3132432581365, 152.2330080823733,
                                        92.2213845212691, 0.0019200150961};
    check_bcg(CW_BETWEEN_NONE, 0, none);
    check_bcg(CW_BETWEEN_DERSIMONIAN_LAIRD, 0, dl);
    check_bcg(CW_BETWEEN_DERSIMONIAN_LAIRD, 1, dl_knapp);
    check_bcg(CW_BETWEEN_REML, 0, reml);
    check_bcg(CW_BETWEEN_REML, 1, reml_knapp);
}
END_TEST

/* metafor 3.8-1, computed. */
START_TEST(bcg_intervals) {
    struct cw_random_effects fit;
    struct cw_contrast mean;
    ck_assert_int_eq(cw_random_effects_fit(&bcg, CW_BETWEEN_REML, &fit, NULL), CW_OK);
    cw_random_effects_contrast(&fit, ones, &mean);
    ck_near(mean.predicted_low, -1.9960169670, 1e-6);
    ck_near(mean.predicted_high, 0.5669522703, 1e-6);
    ck_near(fit.tau2_low, 0.11971836, 1e-4);
    ck_near(fit.tau2_high, 1.11147908, 1e-4);
    cw_random_effects_free(&fit);
}
END_TEST

/* Values of an independent package printed in metafor's tests, to four decimals; recomputed. */
START_TEST(bcg_published) {
    struct cw_random_effects fit;
    struct cw_contrast mean;
    ck_assert_int_eq(cw_random_effects_fit(&bcg, CW_BETWEEN_NONE, &fit, NULL), CW_OK);
    cw_random_effects_contrast(&fit, ones, &mean);
    ck_near(mean.estimate.value, -0.4303, 5e-5);
    ck_near(mean.estimate.low, -0.5097, 5e-5);
    ck_near(mean.estimate.high, -0.3509, 5e-5);
    ck_near(fit.q, 152.233, 5e-5);
    cw_random_effects_free(&fit);

    ck_assert_int_eq(cw_random_effects_fit(&bcg, CW_BETWEEN_DERSIMONIAN_LAIRD, &fit, NULL), CW_OK);
    fit.scale = 1; /* published without Knapp-Hartung's factor, normal interval */
    fit.df = INFINITY;
    cw_random_effects_contrast(&fit, ones, &mean);
    ck_near(mean.estimate.value, -0.7141, 5e-5);
    ck_near(mean.estimate.low, -1.0644, 5e-5);
    ck_near(mean.estimate.high, -0.3638, 5e-5);
    ck_near(fit.tau2, 0.3088, 5e-5);
    ck_near(100 * fit.i2, 92.1173, 5e-5);
    ck_near(exp(mean.estimate.value), 0.4896, 5e-5);
    ck_near(exp(mean.estimate.low), 0.3449, 5e-5);
    ck_near(exp(mean.estimate.high), 0.6950, 5e-5);
    cw_random_effects_free(&fit);
}
END_TEST

/* Ten studies of Viechtbauer 2005 (J. Educ. Behav. Stat. 30:261), estimates published on p. 271;
 * read in metafor's tests, recomputed. */
START_TEST(viechtbauer_2005) {
    static const double y[] = {-.581, .530, .771, 1.031, .553, .295, .078, .573, -.176, -.232};
    static const double v[] = {.023, .052, .060, .115, .095, .203, .200, .211, .051, .040};
    const struct cw_effects_data data = {10, 1, y, ones, NULL, v};
    struct cw_random_effects fit;
    ck_assert_int_eq(cw_random_effects_fit(&data, CW_BETWEEN_DERSIMONIAN_LAIRD, &fit, NULL), CW_OK);
    ck_near(fit.tau2, 0.2768, 5e-5);
    cw_random_effects_free(&fit);
    ck_assert_int_eq(cw_random_effects_fit(&data, CW_BETWEEN_REML, &fit, NULL), CW_OK);
    ck_near(fit.tau2, 0.2232, 5e-5);
    cw_random_effects_free(&fit);
}
END_TEST

static void check_cda(enum cw_between between, int knapp, const double *row) {
    struct cw_random_effects fit;
    struct cw_contrast mean;
    double tolerance = between == CW_BETWEEN_REML ? 1e-6 : 1e-8;
    ck_assert_int_eq(cw_random_effects_fit(&cda, between, &fit, NULL), CW_OK);
    if (!knapp) {
        fit.scale = 1;
        fit.df = INFINITY;
    }
    cw_random_effects_contrast(&fit, ones, &mean);
    ck_relative(mean.estimate.value, row[0], tolerance);
    ck_relative(mean.estimate.standard_error, row[1], tolerance);
    ck_relative(mean.estimate.low, row[2], tolerance);
    ck_relative(mean.estimate.high, row[3], tolerance);
    if (between != CW_BETWEEN_NONE) {
        ck_relative(fit.tau2, row[4], tolerance);
        ck_relative(100 * fit.i2, row[6], tolerance);
    }
    ck_relative(fit.q, row[5], 1e-8);
    cw_random_effects_free(&fit);
}

/* Constructed data; metafor 3.8-1, computed: mu; se; ci; tau2; Q; I2 %; then the interval of one
 * further run. */
START_TEST(cda_rows) {
    static const double none[] = {0.3165943289225, 0.0011666441622, 0.3143077483819,
                                  0.3188809094631, 0.0000000000000, 18.9726985927327,
                                  73.6463425297063};
    static const double dl[] = {3.1868980269e-01, 2.4046203218e-03, 3.1397683347e-01,
                                3.2340277192e-01, 2.4354889941e-05, 1.8972698593e+01,
                                7.3646342530e+01};
    static const double dl_knapp[] = {3.1868980269e-01, 2.4616882447e-03, 3.1236183161e-01,
                                      3.2501777378e-01, 2.4354889941e-05, 1.8972698593e+01,
                                      7.3646342530e+01};
    static const double reml[] = {3.1869577801e-01, 2.4130680044e-03, 3.1396625163e-01,
                                  3.2342530439e-01, 2.4592048455e-05, 1.8972698593e+01,
                                  7.3833989366e+01};
    static const double reml_knapp[] = {3.1869577801e-01, 2.4623166359e-03, 3.1236619159e-01,
                                        3.2502536443e-01, 2.4592048455e-05, 1.8972698593e+01,
                                        7.3833989366e+01};
    check_cda(CW_BETWEEN_NONE, 0, none);
    check_cda(CW_BETWEEN_DERSIMONIAN_LAIRD, 0, dl);
    check_cda(CW_BETWEEN_DERSIMONIAN_LAIRD, 1, dl_knapp);
    check_cda(CW_BETWEEN_REML, 0, reml);
    check_cda(CW_BETWEEN_REML, 1, reml_knapp);

    struct cw_random_effects fit;
    struct cw_contrast mean;
    ck_assert_int_eq(cw_random_effects_fit(&cda, CW_BETWEEN_REML, &fit, NULL), CW_OK);
    cw_random_effects_contrast(&fit, ones, &mean);
    ck_near(mean.predicted_low, 0.30446323645, 1e-7);
    ck_near(mean.predicted_high, 0.33292831957, 1e-7);
    cw_random_effects_free(&fit);
}
END_TEST

/* Regression on latitude, then on latitude and year, by REML without Knapp-Hartung's factor,
 * computed with 30 digits from the likelihood itself. At latitudes 44, 55 and 42 the first predicts
 * what the tests of the R package metafor (test_misc_list_rma.r, read) hold, but for where its
 * search of tau2 stops, at steps of 1e-5: 2e-6 of a prediction, 1e-4 of its error. */
START_TEST(bcg_with_covariates) {
    static const struct {
        size_t p;
        double tau2, i2, q, b[3], se[3];
    } sets[] = {{2,
                 0.0763479639552,
                 0.68391225,
                 30.73309001,
                 {0.251468210007, -0.0291017250116},
                 {0.249095396617, 0.0071953272209}},
                {3,
                 0.110784696947,
                 0.71977318,
                 28.32514366,
                 {-3.54535301991, -0.0280113294442, 0.00190748044749},
                 {29.0956222326, 0.010233943231, 0.014683685892}}};
    static const struct {
        double latitude, prediction, error;
    } published[] = {{44, -1.02900878645837, 0.140375124151501},
                     {55, -1.34912705666653, 0.201103941277043},
                     {42, -0.97080546460234, 0.131456743392091}};
    for (size_t k = 0; k < 2; k++) {
        size_t p = sets[k].p;
        double design[13 * 3];
        for (size_t i = 0; i < 13; i++) {
            const double row[] = {1, bcg_latitude[i], bcg_year[i]};
            memcpy(design + p * i, row, p * sizeof *row);
        }
        const struct cw_effects_data data = {13, p, bcg_y, design, NULL, bcg_v};
        struct cw_random_effects fit;
        ck_assert_int_eq(cw_random_effects_fit(&data, CW_BETWEEN_REML, &fit, NULL), CW_OK);
        ck_relative(fit.tau2, sets[k].tau2, 1e-9);
        ck_relative(fit.i2, sets[k].i2, 1e-7);
        ck_relative(fit.q, sets[k].q, 1e-9);
        for (size_t j = 0; j < p; j++) {
            ck_relative(fit.coefficient[j], sets[k].b[j], 1e-8);
            ck_relative(sqrt(fit.covariance[j * p + j]), sets[k].se[j], 1e-8);
        }
        for (size_t i = 0; p == 2 && i < 3; i++) {
            double x = published[i].latitude;
            const double *c = fit.covariance;
            ck_near(fit.coefficient[0] + x * fit.coefficient[1], published[i].prediction, 2e-6);
            ck_relative(sqrt(c[0] + x * (c[1] + c[2]) + x * x * c[3]), published[i].error, 1e-4);
        }
        cw_random_effects_free(&fit);
    }
}
END_TEST

/* Reflecting y, X and S by an orthonormal H makes S full and leaves b and tau2 as they were. */
START_TEST(full_covariance) {
    enum { N = 13, P = 2 };
    double h[N][N], y[N], x[N * P], s[N * N], design[N * P], length = 0;
    for (size_t i = 0; i < N; i++) length += (double)((i + 2) * (i + 2));
    for (size_t i = 0; i < N; i++) {
        design[P * i] = 1;
        design[P * i + 1] = bcg_latitude[i] - 33;
        for (size_t j = 0; j < N; j++)
            h[i][j] = (i == j ? 1 : 0) - 2 * (double)((i + 2) * (j + 2)) / length;
    }
    memset(y, 0, sizeof y);
    memset(x, 0, sizeof x);
    memset(s, 0, sizeof s);
    for (size_t i = 0; i < N; i++)
        for (size_t k = 0; k < N; k++) {
            y[i] += h[i][k] * bcg_y[k];
            for (size_t j = 0; j < P; j++) x[i * P + j] += h[i][k] * design[k * P + j];
            for (size_t j = 0; j < N; j++) s[i * N + j] += h[i][k] * bcg_v[k] * h[j][k];
        }
    const struct cw_effects_data plain = {N, P, bcg_y, design, NULL, bcg_v};
    const struct cw_effects_data turned = {N, P, y, x, s, NULL};
    struct cw_random_effects a, b;
    ck_assert_int_eq(cw_random_effects_fit(&plain, CW_BETWEEN_REML, &a, NULL), CW_OK);
    ck_assert_int_eq(cw_random_effects_fit(&turned, CW_BETWEEN_REML, &b, NULL), CW_OK);
    ck_relative(b.tau2, a.tau2, 1e-9);
    ck_relative(b.tau2_low, a.tau2_low, 1e-9);
    ck_relative(b.q, a.q, 1e-10);
    ck_relative(b.scale, a.scale, 1e-9);
    for (size_t j = 0; j < P; j++) ck_relative(b.coefficient[j], a.coefficient[j], 1e-9);
    for (size_t j = 0; j < P * P; j++) ck_relative(b.covariance[j], a.covariance[j], 1e-9);
    cw_random_effects_free(&a);
    cw_random_effects_free(&b);
}
END_TEST

/* An error that all values share moves the mean alone: tau2 and the difference between setups stay,
 * whatever its size, and the mean's variance grows by just that. */
START_TEST(shared_error_cancels) {
    enum { N = 6 };
    const double design[] = {1, 0, 1, 0, 1, 0, 0, 1, 0, 1, 0, 1};
    const double difference[] = {-1, 1}, first[] = {1, 0};
    double s[N * N];
    const double shared = 0.05 * 0.05;
    for (size_t i = 0; i < N; i++)
        for (size_t j = 0; j < N; j++) s[i * N + j] = shared + (i == j ? cda_v[i] : 0);
    const struct cw_effects_data apart = {N, 2, cda_y, design, NULL, cda_v};
    const struct cw_effects_data together = {N, 2, cda_y, design, s, NULL};
    struct cw_random_effects a, b;
    struct cw_contrast ca, cb;
    ck_assert_int_eq(cw_random_effects_fit(&apart, CW_BETWEEN_REML, &a, NULL), CW_OK);
    ck_assert_int_eq(cw_random_effects_fit(&together, CW_BETWEEN_REML, &b, NULL), CW_OK);
    ck_assert_double_gt(a.tau2, 0);
    ck_relative(b.tau2, a.tau2, 1e-8);
    cw_random_effects_contrast(&a, difference, &ca);
    cw_random_effects_contrast(&b, difference, &cb);
    ck_relative(cb.estimate.value, ca.estimate.value, 1e-8);
    ck_relative(cb.estimate.standard_error, ca.estimate.standard_error, 1e-8);
    ck_relative(b.covariance[0], a.covariance[0] + shared, 1e-8);
    cw_random_effects_contrast(&b, first, &cb);
    ck_near(cb.estimate.value, b.coefficient[0], 1e-15);
    cw_random_effects_free(&a);
    cw_random_effects_free(&b);
}
END_TEST

/* Equal variances: it is the pooled t comparison, whatever the errors are said to be. Values and
 * result as in the t tests' own published check on Student's sleep data (R 4.2.2). */
START_TEST(equal_variances_are_a_t_test) {
    static const double y[] = {0.7, -1.6, -0.2, -1.2, -0.1, 3.4, 3.7, 0.8, 0.0, 2.0,
                               1.9, 0.8,  1.1,  0.1,  -0.1, 4.4, 5.5, 1.6, 4.6, 3.4};
    const double sizes[] = {1e-6, 1, 1e4}, difference[] = {1, -1};
    for (size_t k = 0; k < 3; k++) {
        double design[40], v[20];
        for (size_t i = 0; i < 20; i++) {
            design[2 * i] = i < 10;
            design[2 * i + 1] = i >= 10;
            v[i] = sizes[k];
        }
        const struct cw_effects_data data = {20, 2, y, design, NULL, v};
        struct cw_random_effects fit;
        struct cw_contrast c;
        ck_assert_int_eq(cw_random_effects_fit(&data, CW_BETWEEN_REML, &fit, NULL), CW_OK);
        cw_random_effects_contrast(&fit, difference, &c);
        ck_relative(c.t, -1.86081346749, 1e-9);
        ck_assert_double_eq(c.df, 18);
        ck_relative(c.p_value, 0.0791867142159, 1e-9);
        cw_random_effects_free(&fit);
    }
}
END_TEST

/* Made-up runs, four of each of two setups in the order abba: the 95 % interval of the difference
 * holds the truth about 95 times in 100, though the stated errors are half or twice the true ones,
 * all runs share an error, and a drift is fitted. 2000 outings give +-1 %; 3.5 are allowed, for
 * Knapp-Hartung's factor is an approximation where variances differ. */
START_TEST(intervals_hold_the_truth) {
    enum { N = 8, P = 3, OUTINGS = 2000 };
    const double stated[] = {0.5, 1, 2}, taus[] = {0, 1, 3}, difference[] = {0, 1, 0};
    gsl_rng *random = gsl_rng_alloc(gsl_rng_mt19937); /* its default start: the same every time */
    for (size_t k = 0; k < 9; k++) {
        int held = 0;
        for (int outing = 0; outing < OUTINGS; outing++) {
            double y[N], x[N * P], s[N * N], sd[N], shared = gsl_ran_gaussian(random, 3);
            for (size_t i = 0; i < N; i++) {
                double second = i % 4 == 1 || i % 4 == 2;
                const double row[] = {1, second, (double)i - 3.5};
                memcpy(x + P * i, row, sizeof row);
                sd[i] = 0.5 + gsl_rng_uniform(random);
                y[i] = shared + second + gsl_ran_gaussian(random, sd[i]) +
                       gsl_ran_gaussian(random, taus[k / 3]);
            }
            for (size_t i = 0; i < N; i++)
                for (size_t j = 0; j < N; j++)
                    s[i * N + j] = 9 + (i == j ? pow(stated[k % 3] * sd[i], 2) : 0);
            const struct cw_effects_data data = {N, P, y, x, s, NULL};
            struct cw_random_effects fit;
            struct cw_contrast c;
            ck_assert_int_eq(cw_random_effects_fit(&data, CW_BETWEEN_REML, &fit, NULL), CW_OK);
            cw_random_effects_contrast(&fit, difference, &c);
            held += c.estimate.low <= 1 && 1 <= c.estimate.high;
            cw_random_effects_free(&fit);
        }
        ck_near(held / (double)OUTINGS, 0.95, 0.035);
    }
    gsl_rng_free(random);
}
END_TEST

/* The errors alone explain the scatter: tau2 is 0, and so is its interval where it must be. */
START_TEST(bounded_at_zero) {
    const double y[] = {1.0, 1.1, 0.9, 1.05}, v[] = {1, 1, 1, 1}, tight[] = {.01, .01, .01, .01};
    struct cw_effects_data data = {4, 1, y, ones, NULL, v};
    struct cw_random_effects fit;
    ck_assert_int_eq(cw_random_effects_fit(&data, CW_BETWEEN_REML, &fit, NULL), CW_OK);
    ck_assert_double_eq(fit.tau2, 0);
    ck_assert_double_eq(fit.tau2_low, 0);
    ck_assert_double_eq(fit.tau2_high, 0);
    ck_assert_double_eq(fit.i2, 0);
    cw_random_effects_free(&fit);
    data.variance = tight;
    ck_assert_int_eq(cw_random_effects_fit(&data, CW_BETWEEN_DERSIMONIAN_LAIRD, &fit, NULL), CW_OK);
    ck_assert_double_eq(fit.tau2, 0);
    ck_assert_double_eq(fit.tau2_low, 0);
    ck_assert_double_gt(fit.tau2_high, 0);
    cw_random_effects_free(&fit);
}
END_TEST

/* The restricted deviance of a mean, worked out from its plain definition. */
static double deviance_of_mean(size_t n, const double *y, const double *v, double tau2) {
    double sw = 0, swy = 0, sum = 0;
    for (size_t i = 0; i < n; i++) {
        sw += 1 / (v[i] + tau2);
        swy += y[i] / (v[i] + tau2);
    }
    for (size_t i = 0; i < n; i++)
        sum += log(v[i] + tau2) + pow(y[i] - swy / sw, 2) / (v[i] + tau2);
    return sum + log(sw);
}

/* Six values of small error that agree to 0.03 ask for a tau2 near 1e-3, two of large error that
 * stand apart for one of several: the likelihood has two tops, and which is higher depends on how
 * far apart the two are. A climb from one end would stop at the nearer. */
START_TEST(the_higher_of_two_tops) {
    const double v[] = {1e-5, 1e-5, 1e-5, 1e-5, 1e-5, 1e-5, 1, 1};
    const double apart[] = {4.5, 6.5};
    double found[2];
    for (size_t k = 0; k < 2; k++) {
        const double y[] = {0.03, -0.03, 0.02, -0.02, 0.04, -0.04, apart[k], -apart[k]};
        const struct cw_effects_data data = {8, 1, y, ones, NULL, v};
        double best = NAN, least = INFINITY, before = INFINITY;
        int tops = 0, falling = 1;
        for (int i = 0; i <= 20000; i++) {
            double tau2 = 1e-6 * pow(1e9, i / 20000.);
            double deviance = deviance_of_mean(8, y, v, tau2);
            if (falling && deviance > before) tops++;
            falling = deviance < before;
            before = deviance;
            if (deviance < least) {
                least = deviance;
                best = tau2;
            }
        }
        ck_assert_int_eq(tops, 2);
        struct cw_random_effects fit;
        ck_assert_int_eq(cw_random_effects_fit(&data, CW_BETWEEN_REML, &fit, NULL), CW_OK);
        ck_relative(fit.tau2, best, 2e-3);
        found[k] = fit.tau2;
        cw_random_effects_free(&fit);
    }
    ck_assert_double_lt(found[0], 0.01);
    ck_assert_double_gt(found[1], 1);
}
END_TEST

START_TEST(drift_that_is_a_setup) {
    /* Two runs a setup, in blocks, and a third column that is the block itself. */
    const double design[] = {1, 0, -1, 1, 0, -1, 0, 1, 1, 0, 1, 1};
    const double y[] = {1, 2, 3, 4}, v[] = {1, 1, 1, 1}, weight[] = {-1, 1, 0};
    const struct cw_effects_data data = {4, 3, y, design, NULL, v};
    struct cw_random_effects fit;
    struct cw_contrast c;
    ck_assert_int_eq(cw_random_effects_fit(&data, CW_BETWEEN_REML, &fit, NULL),
                     CW_NOT_IDENTIFIABLE);
    ck_assert_double_gt(fit.condition, 1e12);
    ck_assert(isnan(fit.tau2) && isnan(fit.i2));
    cw_random_effects_contrast(&fit, weight, &c);
    ck_assert(isnan(c.estimate.value) && isnan(c.estimate.high) && isnan(c.p_value));
    cw_random_effects_free(&fit);
}
END_TEST

START_TEST(two_values) {
    const double y[] = {0.30, 0.32}, v[] = {1e-6, 1e-6};
    const struct cw_effects_data data = {2, 1, y, ones, NULL, v};
    struct cw_random_effects fit;
    struct cw_contrast c;
    ck_assert_int_eq(cw_random_effects_fit(&data, CW_BETWEEN_REML, &fit, NULL), CW_OK);
    /* By hand: variance of two values is 2e-4 = tau2 + 1e-6; t(0.975, 1) is 12.7062. */
    ck_near(fit.tau2, 1.99e-4, 1e-12);
    cw_random_effects_contrast(&fit, ones, &c);
    ck_near(c.estimate.standard_error, 0.01, 1e-12);
    ck_near(c.estimate.high, 0.31 + 0.127062, 1e-6);
    cw_random_effects_free(&fit);
}
END_TEST

START_TEST(huge_ratios) {
    const double y[] = {0.30, 0.32, 0.35, 0.31}, v[] = {1e-9, 1e3, 1e-3, 1e-8};
    const double wider[] = {1e-16, 1e6, 1e-3, 1e-12};
    const struct cw_effects_data data = {4, 1, y, ones, NULL, v};
    struct cw_random_effects fit;
    ck_assert_int_eq(cw_random_effects_fit(&data, CW_BETWEEN_REML, &fit, NULL), CW_OK);
    ck_assert(isfinite(fit.tau2) && isfinite(fit.coefficient[0]) && isfinite(fit.scale));
    ck_assert_double_lt(fit.coefficient[0], 0.35);
    ck_assert_double_gt(fit.coefficient[0], 0.30);
    cw_random_effects_free(&fit);
    const struct cw_effects_data lost = {4, 1, y, ones, NULL, wider};
    ck_assert_int_eq(cw_random_effects_fit(&lost, CW_BETWEEN_REML, &fit, NULL), CW_E_NUMERIC);
    ck_assert_ptr_null(fit.covariance);
    const double far[] = {1e200, -1e200, 3e200, 0};
    const struct cw_effects_data beyond = {4, 1, far, ones, NULL, v};
    ck_assert_int_eq(cw_random_effects_fit(&beyond, CW_BETWEEN_REML, &fit, NULL), CW_E_NUMERIC);
    cw_random_effects_free(&fit);
}
END_TEST

START_TEST(refused) {
    double y[50], x[50], v[50];
    for (size_t i = 0; i < 50; i++) {
        y[i] = 0.3;
        x[i] = 1;
        v[i] = 1e-4;
    }
    struct cw_effects_data data = {50, 1, y, x, NULL, v};
    struct cw_random_effects fit;
    struct cw_error error;
    ck_assert_int_eq(cw_random_effects_fit(&data, CW_BETWEEN_REML, &fit, &error), CW_E_DATA);
    ck_assert_int_eq(cw_random_effects_fit(&data, CW_BETWEEN_NONE, &fit, &error), CW_OK);
    ck_near(sqrt(fit.covariance[0]), 0.01 / sqrt(50), 1e-12);
    cw_random_effects_free(&fit);
    data.n = 1;
    ck_assert_int_eq(cw_random_effects_fit(&data, CW_BETWEEN_REML, &fit, &error), CW_E_DATA);
    ck_assert_int_eq(cw_random_effects_fit(&data, CW_BETWEEN_NONE, &fit, &error), CW_OK);
    ck_assert(isnan(fit.q) && isnan(fit.tau2_high));
    cw_random_effects_free(&fit);
    data.n = 3;
    v[1] = 0;
    ck_assert_int_eq(cw_random_effects_fit(&data, CW_BETWEEN_REML, &fit, &error), CW_E_ARGUMENT);
    ck_assert_str_eq(error.message, "the variance of value 2 is not above 0");
    v[1] = 1;
    y[2] = NAN;
    ck_assert_int_eq(cw_random_effects_fit(&data, CW_BETWEEN_REML, &fit, &error), CW_E_ARGUMENT);
    y[2] = 0.4;
    x[0] = INFINITY;
    ck_assert_int_eq(cw_random_effects_fit(&data, CW_BETWEEN_REML, &fit, &error), CW_E_ARGUMENT);
    x[0] = 1;
    const double lopsided[] = {1, 0.1, 0, 0.2, 1, 0, 0, 0, 1};
    data.covariance = lopsided;
    ck_assert_int_eq(cw_random_effects_fit(&data, CW_BETWEEN_REML, &fit, &error), CW_E_ARGUMENT);
    ck_assert_str_eq(error.message, "the covariance of values 1 and 2 is not symmetric");
    const double indefinite[] = {1, 2, 0, 2, 1, 0, 0, 0, 1};
    data.covariance = indefinite;
    ck_assert_int_eq(cw_random_effects_fit(&data, CW_BETWEEN_REML, &fit, &error), CW_E_ARGUMENT);
    data.p = 0;
    ck_assert_int_eq(cw_random_effects_fit(&data, CW_BETWEEN_REML, &fit, &error), CW_E_ARGUMENT);
    ck_assert_ptr_null(fit.coefficient);
}
END_TEST

int main(void) {
    Suite *suite = suite_create("compare_random_effects");
    TCase *published = tcase_create("published");
    tcase_add_test(published, bcg_rows);
    tcase_add_test(published, bcg_intervals);
    tcase_add_test(published, bcg_published);
    tcase_add_test(published, viechtbauer_2005);
    tcase_add_test(published, cda_rows);
    tcase_add_test(published, bcg_with_covariates);
    TCase *laws = tcase_create("laws");
    tcase_set_timeout(laws, 60);
    tcase_add_test(laws, full_covariance);
    tcase_add_test(laws, shared_error_cancels);
    tcase_add_test(laws, equal_variances_are_a_t_test);
    tcase_add_test(laws, intervals_hold_the_truth);
    TCase *limits = tcase_create("limits");
    tcase_add_test(limits, bounded_at_zero);
    tcase_add_test(limits, the_higher_of_two_tops);
    tcase_add_test(limits, drift_that_is_a_setup);
    tcase_add_test(limits, two_values);
    tcase_add_test(limits, huge_ratios);
    tcase_add_test(limits, refused);
    suite_add_tcase(suite, published);
    suite_add_tcase(suite, laws);
    suite_add_tcase(suite, limits);
    SRunner *runner = srunner_create(suite);
    srunner_run_all(runner, CK_NORMAL);
    int failed = srunner_ntests_failed(runner);
    srunner_free(runner);
    return failed ? EXIT_FAILURE : EXIT_SUCCESS;
}
