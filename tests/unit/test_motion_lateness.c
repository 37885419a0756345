/* How late a column is: a ride whose speed goes up and down, its way known exactly, told late. */
#include <check.h>
#include <math.h>
#include <stdlib.h>

#include "motion/lateness.h"

enum { N = 900 };

/* The way of a speed of 7 + 3 sin(t/8) m/s. */
static double way_m(double time_s) {
    return 7 * time_s - 24 * cos(time_s / 8);
}

struct ride {
    double time_s[N], latitude_deg[N], longitude_deg[N], way_m[N];
    bool breaks[N], anew[N];
    struct cw_samples samples;
};

/* Northwards, 111.2 m a thousandth of a degree; the way averaged over mean_s, and late. */
static void ride_make(struct ride *ride, double interval_s, double mean_s, double late_s) {
    for (size_t i = 0; i < N; i++) {
        double t = ride->time_s[i] = interval_s * (double)i, sum = 0;
        for (int k = 0; k < 20; k++) sum += way_m(t - late_s - mean_s * (k + 0.5) / 20);
        ride->way_m[i] = sum / 20;
        ride->latitude_deg[i] = 45 + way_m(t) / 111132;
        ride->longitude_deg[i] = 7;
        ride->breaks[i] = ride->anew[i] = false;
    }
    ride->samples = (struct cw_samples){.n = N,
                                        .time_s = ride->time_s,
                                        .latitude_deg = ride->latitude_deg,
                                        .longitude_deg = ride->longitude_deg,
                                        .break_before = ride->breaks};
}

static double found(const struct ride *ride) {
    double late_s = 99;
    ck_assert_int_eq(cw_lateness(&ride->samples, ride->way_m, ride->anew, &late_s, NULL), CW_OK);
    return late_s;
}

START_TEST(late_is_found) {
    static const double rows[][3] = {/* interval, mean, late */
                                     {1, 0, 0},   {1, 0, 2},    {1, 0, -1},    {1, 3, 1.25},
                                     {2, 0, 2.5}, {0.25, 2, 1}, {1, 2.5, 1.5}, {4, 0, 3}};
    struct ride ride;
    for (size_t k = 0; k < sizeof rows / sizeof *rows; k++) {
        ride_make(&ride, rows[k][0], rows[k][1], rows[k][2]);
        /* a mean over some seconds is late by half of them */
        ck_assert_double_eq_tol(found(&ride), rows[k][2] + rows[k][1] / 2, 0.51);
    }
}
END_TEST

START_TEST(breaks_and_holes) {
    struct ride ride;
    ride_make(&ride, 1, 0, 2);
    for (size_t i = 0; i < N; i++) {
        if (i % 300 == 299) ride.breaks[i] = true;
        if (i % 200 == 150) ride.anew[i] = true;
        if (i >= 450) ride.way_m[i] -= 3000;
        if (i % 90 < 20) ride.way_m[i] = NAN;
        if (i % 70 < 6) ride.latitude_deg[i] = ride.longitude_deg[i] = NAN;
    }
    ride.anew[450] = true;
    ck_assert_double_eq(found(&ride), 2);
}
END_TEST

START_TEST(not_told) {
    struct ride ride;
    ride_make(&ride, 1, 0, 2);
    for (size_t i = 0; i < N; i++) { /* always as fast: any lateness fits as well */
        ride.latitude_deg[i] = 45 + 7 * ride.time_s[i] / 111132;
        ride.way_m[i] = 7 * (ride.time_s[i] - 2) + 0.4 * sin((double)i);
    }
    double late_s = found(&ride);
    ck_assert(isnan(late_s) || late_s == 0);
    ride_make(&ride, 1, 0, 2);
    for (size_t i = 80; i < N; i++) ride.latitude_deg[i] = NAN;
    ck_assert(isnan(found(&ride)));
    ride.samples.n = 0;
    ck_assert(isnan(found(&ride)));
}
END_TEST

int main(void) {
    Suite *suite = suite_create("motion/lateness");
    TCase *tests = tcase_create("lateness");
    tcase_add_test(tests, late_is_found);
    tcase_add_test(tests, breaks_and_holes);
    tcase_add_test(tests, not_told);
    suite_add_tcase(suite, tests);
    SRunner *runner = srunner_create(suite);
    srunner_run_all(runner, CK_NORMAL);
    int failed = srunner_ntests_failed(runner);
    srunner_free(runner);
    return failed ? EXIT_FAILURE : EXIT_SUCCESS;
}
