#include <check.h>
#include <math.h>
#include <stdlib.h>

#include "motion/metric.h"

/* Geodesic lengths: GeodSolve 2.1.2 (GeographicLib). */
static const struct {
    double latitude1, longitude1, latitude2, longitude2, metres;
} geodesics[] = {
    {47.0, 8.0, 47.00001, 8.0, 1.111708417},     {47.0, 8.0, 47.0, 8.00001, 0.760559983},
    {47.0, 8.0, 47.0001, 8.0001, 13.469766257},  {47.0, 8.0, 47.001, 8.001, 134.697309249},
    {47.0, 8.0, 47.01, 8.0, 1111.709390327},     {47.0, 8.0, 47.0, 8.01, 760.559982490},
    {47.0, 8.0, 47.01, 7.99, 1346.937757575},    {0.0, 10.0, 0.0001, 10.0, 11.057427582},
    {0.0, 10.0, 0.0, 10.01, 1113.194907933},     {0.0, 10.0, 0.01, 9.99, 1569.034715405},
    {60.0, -5.0, 60.01, -5.0, 1114.123724285},   {60.0, -5.0, 60.01, -5.01, 1246.010320886},
    {-33.9, 18.4, -33.89, 18.4, 1109.204908790}, {-33.9, 18.4, -33.89, 18.39, 1444.274591044},
};

START_TEST(distances_are_the_geodesics) {
    for (size_t i = 0; i < sizeof geodesics / sizeof *geodesics; i++) {
        double metres = cw_metric_distance(geodesics[i].latitude1, geodesics[i].longitude1,
                                           geodesics[i].latitude2, geodesics[i].longitude2);
        /* 3e-9 of the length (largest error of the method on these steps: 2.751e-9, computed), and
         * the last digit of the table. */
        ck_assert_double_eq_tol(metres, geodesics[i].metres, 3e-9 * geodesics[i].metres + 2e-9);
    }
}
END_TEST

START_TEST(degrees_have_the_ellipsoids_lengths) {
    /* Closed form of M and N on WGS84, computed independently. */
    static const double lengths[][3] = {{0, 110574.275822, 111319.490793},
                                        {45, 111131.777414, 78846.835094},
                                        {47, 111170.841503, 76055.998301},
                                        {60, 111412.287458, 55800.001572}};
    for (size_t i = 0; i < 4; i++) {
        struct cw_metric metric = cw_metric_make(lengths[i][0], 8.0);
        ck_assert_double_eq_tol(metric.metres_per_degree_north, lengths[i][1], 1e-5);
        ck_assert_double_eq_tol(metric.metres_per_degree_east, lengths[i][2], 1e-5);
        ck_assert_double_eq_tol(cw_metric_east_scale(&metric, lengths[i][0]), 1.0, 1e-15);
    }
    struct cw_metric here = cw_metric_make(45, 0);
    ck_assert_double_eq_tol(cw_metric_east_scale(&here, 60), 55800.001572 / 78846.835094, 1e-9);
}
END_TEST

START_TEST(height_lengthens) {
    /* h / sqrt(M N) at 1,000 m and 47 degrees, computed independently. */
    struct cw_metric low = cw_metric_make(47, 8), high = low;
    cw_metric_raise(&high, 1000);
    ck_assert_double_eq_tol(high.metres_per_degree_east / low.metres_per_degree_east, 1.000156750,
                            1e-8);
    ck_assert_double_eq_tol(high.metres_per_degree_north / low.metres_per_degree_north, 1.000156750,
                            1e-8);
}
END_TEST

START_TEST(plane_and_globe) {
    /* 100 m from 47 N 8 E at azimuths 0, 45, 90, 200 degrees: geographiclib 2.0. The plane at the
     * origin is good to 100 m x tan(47) x 100 m / 6.4e6 m = 1.7 mm, 1.5e-8 degrees. */
    static const double ends[][3] = {{0, 46.0, 0},
                                     {0, 47.000899516373, 8.000000000000},
                                     {45, 47.000636050367, 8.000929729658},
                                     {90, 46.999999992452, 8.001314820688},
                                     {200, 46.999154730090, 7.999550311932}};
    struct cw_metric metric = cw_metric_make(47, 8);
    for (size_t i = 1; i < 5; i++) {
        double azimuth = ends[i][0] * acos(-1.0) / 180, latitude, longitude, east, north;
        cw_metric_to_globe(&metric, 100 * sin(azimuth), 100 * cos(azimuth), &latitude, &longitude);
        ck_assert_double_eq_tol(latitude, ends[i][1], 2e-8);
        ck_assert_double_eq_tol(longitude, ends[i][2], 2e-8);
        cw_metric_to_plane(&metric, latitude, longitude, &east, &north);
        ck_assert_double_eq_tol(east, 100 * sin(azimuth), 1e-8);
        ck_assert_double_eq_tol(north, 100 * cos(azimuth), 1e-8);
    }
}
END_TEST

START_TEST(the_180th_meridian_is_no_wall) {
    struct cw_metric metric = cw_metric_make(-17, 179.9999);
    double east, north, latitude, longitude;
    cw_metric_to_plane(&metric, -17, -179.9999, &east, &north);
    ck_assert_double_eq_tol(east, 0.0002 * metric.metres_per_degree_east, 1e-6);
    cw_metric_to_globe(&metric, east, 0, &latitude, &longitude);
    ck_assert_double_eq_tol(longitude, -179.9999, 1e-9);
    ck_assert_double_eq_tol(cw_metric_distance(-17, 179.9999, -17, -179.9999), east, 1e-6);
}
END_TEST

int main(void) {
    Suite *suite = suite_create("road_metric");
    TCase *metric = tcase_create("metric");
    tcase_add_test(metric, distances_are_the_geodesics);
    tcase_add_test(metric, degrees_have_the_ellipsoids_lengths);
    tcase_add_test(metric, height_lengthens);
    tcase_add_test(metric, plane_and_globe);
    tcase_add_test(metric, the_180th_meridian_is_no_wall);
    suite_add_tcase(suite, metric);
    SRunner *runner = srunner_create(suite);
    srunner_run_all(runner, CK_NORMAL);
    int failed = srunner_ntests_failed(runner);
    srunner_free(runner);
    return failed ? EXIT_FAILURE : EXIT_SUCCESS;
}
