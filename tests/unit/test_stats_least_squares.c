/* The data and certified values of Norris, Pontius, NoInt1, Longley, Filip and Wampler1-5 are the
 * NIST Statistical Reference Datasets, linear least squares regression (public domain); read, and
 * refitted with 80 digits. NIST gives them to 15 digits and names no tolerance: the one beside
 * each check leaves a double-precision solver the digits that its condition number costs. */
#include <check.h>
#include <math.h>
#include <stdlib.h>

#include "stats/least_squares.h"

struct certified {
    double value, sd;
};

static void check_relative(const char *what, size_t index, double got, double wanted,
                           double tolerance) {
    ck_assert_msg(fabs(got - wanted) <= tolerance * fabs(wanted), "%s %zu: %.17g, wanted %.17g",
                  what, index, got, wanted);
}

static void check_certified(size_t n, size_t p, const double *design, const double *response,
                            const struct certified *wanted, double residual_sd, double tolerance) {
    struct cw_least_squares fit;
    struct cw_error error;
    ck_assert_int_eq(cw_least_squares_fit(n, p, design, response, NULL, &fit, &error), CW_OK);
    ck_assert_double_eq(fit.df, (double)(n - p));
    for (size_t j = 0; j < p; j++) {
        check_relative("B", j, fit.coefficient[j], wanted[j].value, tolerance);
        check_relative("sd of B", j, sqrt(fit.covariance[j * p + j]), wanted[j].sd, tolerance);
    }
    check_relative("residual sd", 0, fit.residual_sd, residual_sd, tolerance);
    cw_least_squares_free(&fit);
}

/* pairs: y, x. Fills a polynomial design of p columns and the response. */
static void polynomial(size_t n, size_t p, double pairs[][2], double *design, double *response) {
    for (size_t i = 0; i < n; i++) {
        double power = 1;
        for (size_t j = 0; j < p; j++, power *= pairs[i][1]) design[i * p + j] = power;
        response[i] = pairs[i][0];
    }
}

START_TEST(norris) {
    static double pairs[36][2] = {{0.1, 0.2},     {338.8, 337.4}, {118.1, 118.2}, {888.0, 884.6},
                                  {9.2, 10.1},    {228.1, 226.5}, {668.5, 666.3}, {998.5, 996.3},
                                  {449.1, 448.6}, {778.9, 777.0}, {559.2, 558.2}, {0.3, 0.4},
                                  {0.1, 0.6},     {778.1, 775.5}, {668.8, 666.9}, {339.3, 338.0},
                                  {448.9, 447.5}, {10.8, 11.6},   {557.7, 556.0}, {228.3, 228.1},
                                  {998.0, 995.8}, {888.8, 887.6}, {119.6, 120.2}, {0.3, 0.3},
                                  {0.6, 0.3},     {557.6, 556.8}, {339.3, 339.1}, {888.0, 887.2},
                                  {998.5, 999.0}, {778.9, 779.0}, {10.2, 11.1},   {117.6, 118.3},
                                  {228.9, 229.2}, {668.4, 669.1}, {449.2, 448.9}, {0.2, 0.5}};
    const struct certified wanted[] = {{-0.262323073774029, 0.232818234301152},
                                       {1.00211681802045, 0.429796848199937E-03}};
    double design[36 * 2], response[36];
    polynomial(36, 2, pairs, design, response);
    check_certified(36, 2, design, response, wanted, 0.884796396144373, 1e-12);
}
END_TEST

START_TEST(pontius) {
    static double pairs[40][2] = {
        {.11019, 150000},   {.21956, 300000},   {.32949, 450000},   {.43899, 600000},
        {.54803, 750000},   {.65694, 900000},   {.76562, 1050000},  {.87487, 1200000},
        {.98292, 1350000},  {1.09146, 1500000}, {1.20001, 1650000}, {1.30822, 1800000},
        {1.41599, 1950000}, {1.52399, 2100000}, {1.63194, 2250000}, {1.73947, 2400000},
        {1.84646, 2550000}, {1.95392, 2700000}, {2.06128, 2850000}, {2.16844, 3000000},
        {.11052, 150000},   {.22018, 300000},   {.32939, 450000},   {.43886, 600000},
        {.54798, 750000},   {.65739, 900000},   {.76596, 1050000},  {.87474, 1200000},
        {.98300, 1350000},  {1.09150, 1500000}, {1.20004, 1650000}, {1.30818, 1800000},
        {1.41613, 1950000}, {1.52408, 2100000}, {1.63159, 2250000}, {1.73965, 2400000},
        {1.84696, 2550000}, {1.95445, 2700000}, {2.06177, 2850000}, {2.16829, 3000000}};
    const struct certified wanted[] = {{0.673565789473684E-03, 0.107938612033077E-03},
                                       {0.732059160401003E-06, 0.157817399981659E-09},
                                       {-0.316081871345029E-14, 0.486652849992036E-16}};
    double design[40 * 3], response[40];
    polynomial(40, 3, pairs, design, response);
    check_certified(40, 3, design, response, wanted, 0.205177424076185E-03, 1e-10);
}
END_TEST

START_TEST(noint1) {
    double design[11], response[11];
    for (int i = 0; i < 11; i++) {
        design[i] = 60 + i;
        response[i] = 130 + i;
    }
    const struct certified wanted[] = {{2.07438016528926, 0.165289256198347E-01}};
    check_certified(11, 1, design, response, wanted, 3.56753034006338, 1e-13);
}
END_TEST

START_TEST(longley) {
    static const double rows[16][7] = {{60323, 83.0, 234289, 2356, 1590, 107608, 1947},
                                       {61122, 88.5, 259426, 2325, 1456, 108632, 1948},
                                       {60171, 88.2, 258054, 3682, 1616, 109773, 1949},
                                       {61187, 89.5, 284599, 3351, 1650, 110929, 1950},
                                       {63221, 96.2, 328975, 2099, 3099, 112075, 1951},
                                       {63639, 98.1, 346999, 1932, 3594, 113270, 1952},
                                       {64989, 99.0, 365385, 1870, 3547, 115094, 1953},
                                       {63761, 100.0, 363112, 3578, 3350, 116219, 1954},
                                       {66019, 101.2, 397469, 2904, 3048, 117388, 1955},
                                       {67857, 104.6, 419180, 2822, 2857, 118734, 1956},
                                       {68169, 108.4, 442769, 2936, 2798, 120445, 1957},
                                       {66513, 110.8, 444546, 4681, 2637, 121950, 1958},
                                       {68655, 112.6, 482704, 3813, 2552, 123366, 1959},
                                       {69564, 114.2, 502601, 3931, 2514, 125368, 1960},
                                       {69331, 115.7, 518173, 4806, 2572, 127852, 1961},
                                       {70551, 116.9, 554894, 4007, 2827, 130081, 1962}};
    const struct certified wanted[] = {{-3482258.63459582, 890420.383607373},
                                       {15.0618722713733, 84.9149257747669},
                                       {-0.358191792925910E-01, 0.334910077722432E-01},
                                       {-2.02022980381683, 0.488399681651699},
                                       {-1.03322686717359, 0.214274163161675},
                                       {-0.511041056535807E-01, 0.226073200069370},
                                       {1829.15146461355, 455.478499142212}};
    double design[16 * 7], response[16];
    for (size_t i = 0; i < 16; i++) {
        response[i] = rows[i][0];
        design[i * 7] = 1;
        for (size_t j = 1; j < 7; j++) design[i * 7 + j] = rows[i][j];
    }
    check_certified(16, 7, design, response, wanted, 304.854073561965, 1e-9);
}
END_TEST

START_TEST(wampler) {
    /* Errors of Wampler3; Wampler4 and 5 have 100 and 10 000 times these. */
    static const double deviation[21] = {759,   -2048, 2048,  -2048, 2523,  -2048, 2048,
                                         -2048, 1838,  -2048, 2048,  -2048, 1838,  -2048,
                                         2048,  -2048, 2523,  -2048, 2048,  -2048, 759};
    const struct {
        double ratio; /* of one coefficient to the one before */
        double factor;
        double residual_sd;
        double sd[6];
        double tolerance;
    } set[] = {
        {1, 0, 0, {0}, 1e-8},
        {0.1, 0, 0, {0}, 1e-10},
        {1,
         1,
         2360.14502379268,
         {2152.32624678170, 2363.55173469681, 779.343524331583, 101.475507550350, 5.64566512170752,
          0.112324854679312},
         1e-8},
        {1,
         100,
         236014.502379268,
         {215232.624678170, 236355.173469681, 77934.3524331583, 10147.5507550350, 564.566512170752,
          11.2324854679312},
         1e-7},
        {1,
         10000,
         23601450.2379268,
         {21523262.4678170, 23635517.3469681, 7793435.24331583, 1014755.07550350, 56456.6512170752,
          1123.24854679312},
         1e-5},
    };
    for (size_t k = 0; k < sizeof set / sizeof *set; k++) {
        double design[21 * 6], response[21];
        for (size_t i = 0; i < 21; i++) {
            double power = 1, sum = 0, coefficient = 1;
            for (size_t j = 0; j < 6; j++) {
                design[i * 6 + j] = power;
                sum += coefficient * power;
                power *= (double)i;
                coefficient *= set[k].ratio;
            }
            response[i] = sum + set[k].factor * deviation[i];
        }
        struct cw_least_squares fit;
        ck_assert_int_eq(cw_least_squares_fit(21, 6, design, response, NULL, &fit, NULL), CW_OK);
        double coefficient = 1;
        for (size_t j = 0; j < 6; j++, coefficient *= set[k].ratio) {
            check_relative("B", j, fit.coefficient[j], coefficient, set[k].tolerance);
            if (set[k].factor > 0)
                check_relative("sd of B", j, sqrt(fit.covariance[j * 6 + j]), set[k].sd[j], 1e-11);
        }
        if (set[k].factor > 0)
            check_relative("residual sd", k, fit.residual_sd, set[k].residual_sd, 1e-11);
        else /* certified as 0; responses go up to 4e6 */
            ck_assert_double_lt(fit.residual_sd, 1e-8);
        cw_least_squares_free(&fit);
    }
}
END_TEST

/* A polynomial of degree 10: the balanced design has a condition number of 7e9. */
START_TEST(filip) {
    static double pairs[82][2] = {
        {0.8116, -6.860120914}, {0.9072, -4.324130045}, {0.9052, -4.358625055},
        {0.9039, -4.358426747}, {0.8053, -6.955852379}, {0.8377, -6.661145254},
        {0.8667, -6.355462942}, {0.8809, -6.118102026}, {0.7975, -7.115148017},
        {0.8162, -6.815308569}, {0.8515, -6.519993057}, {0.8766, -6.204119983},
        {0.8885, -5.853871964}, {0.8859, -6.109523091}, {0.8959, -5.79832982},
        {0.8913, -5.482672118}, {0.8959, -5.171791386}, {0.8971, -4.851705903},
        {0.9021, -4.517126416}, {0.909, -4.143573228},  {0.9139, -3.709075441},
        {0.9199, -3.499489089}, {0.8692, -6.300769497}, {0.8872, -5.953504836},
        {0.89, -5.642065153},   {0.891, -5.031376979},  {0.8977, -4.680685696},
        {0.9035, -4.329846955}, {0.9078, -3.928486195}, {0.7675, -8.56735134},
        {0.7705, -8.363211311}, {0.7713, -8.107682739}, {0.7736, -7.823908741},
        {0.7775, -7.522878745}, {0.7841, -7.218819279}, {0.7971, -6.920818754},
        {0.8329, -6.628932138}, {0.8641, -6.323946875}, {0.8804, -5.991399828},
        {0.7668, -8.781464495}, {0.7633, -8.663140179}, {0.7678, -8.473531488},
        {0.7697, -8.247337057}, {0.77, -7.971428747},   {0.7749, -7.676129393},
        {0.7796, -7.352812702}, {0.7897, -7.072065318}, {0.8131, -6.774174009},
        {0.8498, -6.478861916}, {0.8741, -6.159517513}, {0.8061, -6.835647144},
        {0.846, -6.53165267},   {0.8751, -6.224098421}, {0.8856, -5.910094889},
        {0.8919, -5.598599459}, {0.8934, -5.290645224}, {0.894, -4.974284616},
        {0.8957, -4.64454848},  {0.9047, -4.290560426}, {0.9129, -3.885055584},
        {0.9209, -3.408378962}, {0.9219, -3.13200249},  {0.7739, -8.726767166},
        {0.7681, -8.66695597},  {0.7665, -8.511026475}, {0.7703, -8.165388579},
        {0.7702, -7.886056648}, {0.7761, -7.588043762}, {0.7809, -7.283412422},
        {0.7961, -6.995678626}, {0.8253, -6.691862621}, {0.8602, -6.392544977},
        {0.8809, -6.067374056}, {0.8301, -6.684029655}, {0.8664, -6.378719832},
        {0.8834, -6.065855188}, {0.8898, -5.752272167}, {0.8964, -5.132414673},
        {0.8963, -4.811352704}, {0.9074, -4.098269308}, {0.9119, -3.66174277},
        {0.9228, -3.2644011}};
    const struct certified wanted[] = {{-1467.48961422980, 298.084530995537},
                                       {-2772.17959193342, 559.779865474950},
                                       {-2316.37108160893, 466.477572127796},
                                       {-1127.97394098372, 227.204274477751},
                                       {-354.478233703349, 71.6478660875927},
                                       {-75.1242017393757, 15.2897178747400},
                                       {-10.8753180355343, 2.23691159816033},
                                       {-1.06221498588947, 0.221624321934227},
                                       {-0.670191154593408E-01, 0.142363763154724E-01},
                                       {-0.246781078275479E-02, 0.535617408889821E-03},
                                       {-0.402962525080404E-04, 0.896632837373868E-05}};
    double design[82 * 11], response[82];
    polynomial(82, 11, pairs, design, response);
    check_certified(82, 11, design, response, wanted, 0.334801051324544E-02, 1e-6);
}
END_TEST

/* JCGM 100:2008 (GUM) H.3: calibration of a thermometer, b(t) = y1 + y2 (t - 20). Data read, values
 * computed; the documentation of the GTC library (read) says that its -0.1712(29), 0.00218(67),
 * correlation -0.93, sum of squares 0.000110096583109 and -0.1494(41) at 30 C agree with the GUM's.
 */
START_TEST(gum_h3) {
    static const double t[] = {21.521, 22.012, 22.512, 23.003, 23.507, 23.999,
                               24.513, 25.002, 25.503, 26.010, 26.511};
    static const double b[] = {-0.171, -0.169, -0.166, -0.159, -0.164, -0.165,
                               -0.156, -0.157, -0.159, -0.161, -0.160};
    double design[22];
    for (size_t i = 0; i < 11; i++) {
        design[2 * i] = 1;
        design[2 * i + 1] = t[i] - 20;
    }
    struct cw_least_squares fit;
    ck_assert_int_eq(cw_least_squares_fit(11, 2, design, b, NULL, &fit, NULL), CW_OK);
    const double *cov = fit.covariance;
    ck_assert_double_eq_tol(fit.coefficient[0], -0.171203790131, 1e-10);
    ck_assert_double_eq_tol(sqrt(cov[0]), 0.00287759783516, 1e-10);
    ck_assert_double_eq_tol(fit.coefficient[1], 0.00218269773989, 1e-11);
    ck_assert_double_eq_tol(sqrt(cov[3]), 0.000667938773228, 1e-11);
    ck_assert_double_eq_tol(cov[1] / sqrt(cov[0] * cov[3]), -0.930429603093, 1e-9);
    ck_assert_double_eq_tol(fit.residual_sd, 0.00349756396351, 1e-10);
    ck_assert_double_eq_tol(9 * fit.residual_sd * fit.residual_sd, 0.000110096583109, 1e-15);
    ck_assert_double_eq_tol(fit.coefficient[0] + 10 * fit.coefficient[1], -0.149376812732, 1e-10);
    ck_assert_double_eq_tol(sqrt(cov[0] + 100 * cov[3] + 20 * cov[1]), 0.00413859575285, 1e-10);
    cw_least_squares_free(&fit);
}
END_TEST

/* Constructed data; values computed from the closed forms. */
START_TEST(straight_lines) {
    static const double first[] = {2.81, 3.42, 3.7,  3.95, 4.28, 4.59, 5.32, 6.07,
                                   6.79, 7.33, 7.65, 7.88, 8.2,  8.76, 9.52, 10.18};
    static const double second[] = {3.47, 3.28, 4.13, 3.61, 3.77, 4.33, 3.54, 3.97,
                                    4.45, 4.78, 5.26, 5.58, 5.7,  6.56, 6.13, 6.41,
                                    7.17, 7.34, 7.52, 7.89, 8.15, 8.28, 8.76, 9.01};
    const struct {
        size_t n;
        const double *y;
        double start;
        double b0, b1, se0, se1, sd;
    } set[] = {{16, first, 1, 2.140500000000, 0.486779411765, 0.133478123306, 0.013803978889,
                0.254532794110},
               {24, second, 0, 2.810966666667, 0.259517391304, 0.151792230068, 0.011308690536,
                0.383496354463}};
    for (size_t k = 0; k < 2; k++) {
        double design[48];
        for (size_t i = 0; i < set[k].n; i++) {
            design[2 * i] = 1;
            design[2 * i + 1] = set[k].start + (double)i;
        }
        struct cw_least_squares fit;
        ck_assert_int_eq(cw_least_squares_fit(set[k].n, 2, design, set[k].y, NULL, &fit, NULL),
                         CW_OK);
        ck_assert_double_eq_tol(fit.coefficient[0], set[k].b0, 1e-10);
        ck_assert_double_eq_tol(fit.coefficient[1], set[k].b1, 1e-10);
        ck_assert_double_eq_tol(sqrt(fit.covariance[0]), set[k].se0, 1e-10);
        ck_assert_double_eq_tol(sqrt(fit.covariance[3]), set[k].se1, 1e-10);
        ck_assert_double_eq_tol(fit.residual_sd, set[k].sd, 1e-10);
        cw_least_squares_free(&fit);
    }
}
END_TEST

/* A weighted mean and its variance by hand: weights 4 and 1 of 10 and 20 give 12 and 1/5. */
START_TEST(weights_are_reciprocal_variances) {
    const double design[] = {1, 1}, response[] = {10, 20}, weight[] = {4, 1};
    struct cw_least_squares fit;
    ck_assert_int_eq(cw_least_squares_fit(2, 1, design, response, weight, &fit, NULL), CW_OK);
    ck_assert_double_eq_tol(fit.coefficient[0], 12, 1e-12);
    ck_assert_double_eq_tol(fit.covariance[0], 0.2, 1e-12);
    ck_assert_double_eq_tol(fit.chi_square, 4 * 4 + 64, 1e-11);
    cw_least_squares_free(&fit);
}
END_TEST

START_TEST(confounded_unknowns_are_said_to_be) {
    /* The third column is the sum of the first two. */
    const double design[] = {1, 0.1, 1.1, 1, 0.2, 1.2, 1, 0.4, 1.4, 1, 0.7, 1.7};
    const double response[] = {1, 2, 3, 5};
    struct cw_least_squares fit;
    struct cw_error error;
    ck_assert_int_eq(cw_least_squares_fit(4, 3, design, response, NULL, &fit, &error),
                     CW_NOT_IDENTIFIABLE);
    ck_assert_double_gt(fit.condition, CW_LEAST_SQUARES_CONDITION_MAX);
    for (size_t j = 0; j < 3; j++) ck_assert(isnan(fit.coefficient[j]));
    ck_assert(isnan(fit.covariance[4]));
    ck_assert(isnan(fit.residual_sd));
    cw_least_squares_free(&fit);

    const double zero_column[] = {1, 0, 1, 0, 1, 0};
    ck_assert_int_eq(cw_least_squares_fit(3, 2, zero_column, response, NULL, &fit, NULL),
                     CW_NOT_IDENTIFIABLE);
    cw_least_squares_free(&fit);
}
END_TEST

START_TEST(units_do_not_matter) {
    /* Columns 1e150 apart in size: balancing takes the units out. */
    const double design[] = {1, 1e150, 1, 2e150, 1, 4e150};
    const double response[] = {3, 5, 9};
    struct cw_least_squares fit;
    ck_assert_int_eq(cw_least_squares_fit(3, 2, design, response, NULL, &fit, NULL), CW_OK);
    ck_assert_double_eq_tol(fit.coefficient[0], 1, 1e-12);
    ck_assert_double_eq_tol(fit.coefficient[1] * 1e150, 2, 1e-12);
    ck_assert_double_lt(fit.condition, 10);
    cw_least_squares_free(&fit);
}
END_TEST

START_TEST(as_many_unknowns_as_observations) {
    const double design[] = {1, 0, 1, 2}, response[] = {1, 5};
    struct cw_least_squares fit;
    ck_assert_int_eq(cw_least_squares_fit(2, 2, design, response, NULL, &fit, NULL), CW_OK);
    ck_assert_double_eq_tol(fit.coefficient[1], 2, 1e-14);
    ck_assert_double_eq(fit.df, 0);
    ck_assert(isnan(fit.residual_sd));
    ck_assert(isnan(fit.covariance[0]));
    cw_least_squares_free(&fit);
}
END_TEST

START_TEST(bad_input_is_refused) {
    const double design[] = {1, 1, 1}, response[] = {1, 2, NAN}, weight[] = {1, 0, 1};
    const double good[] = {1, 2, 3}, huge[] = {1e308, 1e308, -1e308};
    struct cw_least_squares fit;
    struct cw_error error;
    ck_assert_int_eq(cw_least_squares_fit(0, 1, design, good, NULL, &fit, &error), CW_E_ARGUMENT);
    ck_assert_int_eq(cw_least_squares_fit(3, 0, design, good, NULL, &fit, &error), CW_E_ARGUMENT);
    ck_assert_int_eq(cw_least_squares_fit(3, 1, design, response, NULL, &fit, &error),
                     CW_E_ARGUMENT);
    ck_assert_str_eq(error.message, "least squares: observation 3 is not a number");
    ck_assert_int_eq(cw_least_squares_fit(3, 1, response, good, NULL, &fit, &error), CW_E_ARGUMENT);
    ck_assert_int_eq(cw_least_squares_fit(3, 1, design, good, weight, &fit, &error), CW_E_ARGUMENT);
    ck_assert_int_eq(cw_least_squares_fit(3, 1, design, huge, NULL, &fit, &error), CW_E_NUMERIC);
    ck_assert_ptr_null(fit.coefficient);
    cw_least_squares_free(&fit);
}
END_TEST

int main(void) {
    Suite *suite = suite_create("fit_least_squares");
    TCase *certified = tcase_create("certified values");
    tcase_add_test(certified, norris);
    tcase_add_test(certified, pontius);
    tcase_add_test(certified, noint1);
    tcase_add_test(certified, longley);
    tcase_add_test(certified, wampler);
    tcase_add_test(certified, filip);
    tcase_add_test(certified, gum_h3);
    tcase_add_test(certified, straight_lines);
    TCase *limits = tcase_create("limits");
    tcase_add_test(limits, weights_are_reciprocal_variances);
    tcase_add_test(limits, confounded_unknowns_are_said_to_be);
    tcase_add_test(limits, units_do_not_matter);
    tcase_add_test(limits, as_many_unknowns_as_observations);
    tcase_add_test(limits, bad_input_is_refused);
    suite_add_tcase(suite, certified);
    suite_add_tcase(suite, limits);
    SRunner *runner = srunner_create(suite);
    srunner_run_all(runner, CK_NORMAL);
    int failed = srunner_ntests_failed(runner);
    srunner_free(runner);
    return failed ? EXIT_FAILURE : EXIT_SUCCESS;
}
