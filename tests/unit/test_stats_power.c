#include <check.h>
#include <math.h>
#include <stdlib.h>

#include "stats/power.h"
#include "stats/tests.h"

/* R's help page of power.t.test prints 0.8689528, 22.02110 and 17.84713; computed again. */
START_TEST(documented_examples) {
    double value;
    ck_assert_int_eq(cw_power_at(CW_POWER_TWO_GROUPS, 20, 1, 1, 0.05, &value, NULL), CW_OK);
    ck_assert_double_eq_tol(value, 0.868952801692, 1e-6);
    ck_assert_int_eq(cw_power_runs(CW_POWER_TWO_GROUPS, 1, 1, 0.05, 0.9, &value, NULL), CW_OK);
    ck_assert_double_eq_tol(value, 22.0210977039, 1e-4);
    /* One-sided at 0.05 is two-sided at 0.10 where only the true sign counts. */
    ck_assert_int_eq(cw_power_runs(CW_POWER_TWO_GROUPS, 1, 1, 0.10, 0.9, &value, NULL), CW_OK);
    ck_assert_double_eq_tol(value, 17.8471260865, 1e-4);
}
END_TEST

/* R 4.2.2 power.t.test, computed. */
START_TEST(power_of_two_groups) {
    static const struct {
        double n, power;
    } rows[] = {{3, 0.292934538587},  {4, 0.429927295271}, {5, 0.549364175686},
                {6, 0.649574416619},  {8, 0.796544115583}, {10, 0.886970072714},
                {12, 0.939388542459}, {20, 0.996099693389}};
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        double power, opposite;
        ck_assert_int_eq(cw_power_at(CW_POWER_TWO_GROUPS, rows[i].n, 1.5, 1, 0.05, &power, NULL),
                         CW_OK);
        ck_assert_double_eq_tol(power, rows[i].power, 1e-8);
        ck_assert_int_eq(cw_power_at(CW_POWER_TWO_GROUPS, rows[i].n, -3, 2, 0.05, &opposite, NULL),
                         CW_OK);
        ck_assert_double_eq(opposite, power);
    }
}
END_TEST

/* Power 0.8 at level 0.05, sd 1, computed twice: by R 4.2.2 power.t.test, whose root finder stops
 * within 1.2e-4 (these miss the power by up to 1.7e-5, the difference by up to 2.8e-5), and by the
 * same integral and root with 30 digits, which is what is held to the last digits here. */
START_TEST(smallest_difference) {
    static const struct {
        enum cw_power_plan plan;
        double n, by_r, difference;
    } rows[] = {{CW_POWER_TWO_GROUPS, 3, 3.07091034507, 3.070892843773},
                {CW_POWER_PAIRS, 3, 3.2640483904, 3.26404354982},
                {CW_POWER_TWO_GROUPS, 4, 2.38075958934, 2.380755567993},
                {CW_POWER_PAIRS, 4, 2.12792210447, 2.12794941037},
                {CW_POWER_TWO_GROUPS, 5, 2.02443793949, 2.024440977359},
                {CW_POWER_PAIRS, 5, 1.6819990382, 1.681997282216},
                {CW_POWER_TWO_GROUPS, 6, 1.79554699986, 1.79554261761},
                {CW_POWER_PAIRS, 6, 1.4345593728, 1.43454534395},
                {CW_POWER_TWO_GROUPS, 8, 1.50664738887, 1.506635850233},
                {CW_POWER_PAIRS, 8, 1.15603704328, 1.156035494355},
                {CW_POWER_TWO_GROUPS, 10, 1.32494563914, 1.324948895467},
                {CW_POWER_PAIRS, 10, 0.996001902096, 0.996002254307},
                {CW_POWER_TWO_GROUPS, 12, 1.19683974759, 1.196813306842},
                {CW_POWER_PAIRS, 12, 0.888661582542, 0.8886551454156},
                {CW_POWER_TWO_GROUPS, 20, 0.9091305661, 0.909130127627},
                {CW_POWER_PAIRS, 20, 0.66044090857, 0.6604424098187}};
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        double difference;
        ck_assert_int_eq(
            cw_power_smallest_difference(rows[i].plan, rows[i].n, 1, 0.05, 0.8, &difference, NULL),
            CW_OK);
        ck_assert_double_eq_tol(difference, rows[i].by_r, 3e-5);
        ck_assert_double_eq_tol(difference, rows[i].difference, 1e-10);
    }
}
END_TEST

/* R 4.2.2 power.t.test, computed: power 0.8 at level 0.05, difference and sd in % of CdA. */
START_TEST(runs_needed) {
    static const struct {
        enum cw_power_plan plan;
        double difference, sd, n;
    } rows[] = {{CW_POWER_TWO_GROUPS, 1, 1, 16.7147681423}, {CW_POWER_PAIRS, 1, 1, 9.93786390032},
                {CW_POWER_TWO_GROUPS, 2, 1, 5.09000814871}, {CW_POWER_PAIRS, 2, 1, 4.22073133626},
                {CW_POWER_TWO_GROUPS, 3, 1, 3.07001019072}, {CW_POWER_PAIRS, 3, 1, 3.14402806093},
                {CW_POWER_TWO_GROUPS, 5, 1, 2.11724524658}, {CW_POWER_PAIRS, 5, 1, 2.4912900334},
                {CW_POWER_TWO_GROUPS, 1, 2, 63.7657637143}, {CW_POWER_PAIRS, 1, 2, 33.367204088},
                {CW_POWER_TWO_GROUPS, 2, 2, 16.7147681423}, {CW_POWER_PAIRS, 2, 2, 9.93786390032},
                {CW_POWER_TWO_GROUPS, 3, 2, 8.06030950441}, {CW_POWER_PAIRS, 3, 2, 5.68614464854},
                {CW_POWER_TWO_GROUPS, 5, 2, 3.76181491947}, {CW_POWER_PAIRS, 5, 2, 3.53345990352},
                {CW_POWER_TWO_GROUPS, 1, 3, 142.246595877}, {CW_POWER_PAIRS, 1, 3, 72.5840748882},
                {CW_POWER_TWO_GROUPS, 2, 3, 36.3058033724}, {CW_POWER_PAIRS, 2, 3, 19.6669729271},
                {CW_POWER_TWO_GROUPS, 3, 3, 16.7147681423}, {CW_POWER_PAIRS, 3, 3, 9.93786390032},
                {CW_POWER_TWO_GROUPS, 5, 3, 6.7609499509},  {CW_POWER_PAIRS, 5, 3, 5.04919026104},
                {CW_POWER_TWO_GROUPS, 1, 5, 393.406656226}, {CW_POWER_PAIRS, 1, 5, 198.151301266},
                {CW_POWER_TWO_GROUPS, 2, 5, 99.0805650087}, {CW_POWER_PAIRS, 2, 5, 51.0095670754},
                {CW_POWER_TWO_GROUPS, 3, 5, 44.585895753},  {CW_POWER_PAIRS, 3, 5, 23.7945652693},
                {CW_POWER_TWO_GROUPS, 5, 5, 16.7147681423}, {CW_POWER_PAIRS, 5, 5, 9.93786390032}};
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        double n;
        ck_assert_int_eq(
            cw_power_runs(rows[i].plan, rows[i].difference, rows[i].sd, 0.05, 0.8, &n, NULL),
            CW_OK);
        ck_assert_double_eq_tol(n, rows[i].n, 1e-3);
    }
}
END_TEST

/* Without noncentrality it is Student's t; with endless df it is the normal distribution. */
START_TEST(noncentral_t_limits) {
    const double df[] = {1, 1.5, 3, 30, 1000, 1e6}, t[] = {-40, -2.5, 0, 0.3, 4, 2000};
    for (size_t i = 0; i < 6; i++)
        for (size_t j = 0; j < 6; j++) {
            double above;
            ck_assert_int_eq(cw_noncentral_t_above(t[j], df[i], 0, &above, NULL), CW_OK);
            double wanted = cw_t_p_value(t[j], df[i]) / 2;
            ck_assert_double_eq_tol(above, t[j] < 0 ? 1 - wanted : wanted, 1e-11);
        }
    double above;
    ck_assert_int_eq(cw_noncentral_t_above(3, 1e7, 2.2, &above, NULL), CW_OK);
    ck_assert_double_eq_tol(above, cw_t_p_value(0.8, INFINITY) / 2, 1e-6);
    /* P(T > 0) is P(Z > -noncentrality), whatever the df. */
    ck_assert_int_eq(cw_noncentral_t_above(0, 2.5, 1.3, &above, NULL), CW_OK);
    ck_assert_double_eq_tol(above, 1 - cw_t_p_value(1.3, INFINITY) / 2, 1e-11);
}
END_TEST

START_TEST(limits) {
    double value;
    struct cw_error error;
    ck_assert_int_eq(cw_power_runs(CW_POWER_PAIRS, 1000, 1, 0.05, 0.8, &value, &error), CW_OK);
    ck_assert_double_eq(value, 2);
    ck_assert_int_eq(cw_power_runs(CW_POWER_PAIRS, 1e-9, 1, 0.05, 0.8, &value, &error), CW_E_DATA);
    ck_assert(isnan(value));
    ck_assert_int_eq(cw_power_runs(CW_POWER_PAIRS, 0, 1, 0.05, 0.8, &value, &error), CW_E_DATA);
    ck_assert_int_eq(cw_power_runs(CW_POWER_PAIRS, NAN, 1, 0.05, 0.8, &value, &error),
                     CW_E_ARGUMENT);
    ck_assert_int_eq(cw_power_runs(CW_POWER_PAIRS, 1, 0, 0.05, 0.8, &value, &error), CW_E_ARGUMENT);
    ck_assert_int_eq(cw_power_runs(CW_POWER_PAIRS, 1, 1, 0.05, 0.02, &value, &error),
                     CW_E_ARGUMENT);
    ck_assert_int_eq(cw_power_at(CW_POWER_PAIRS, 1.5, 1, 1, 0.05, &value, &error), CW_E_ARGUMENT);
    ck_assert_int_eq(cw_power_at(CW_POWER_PAIRS, 3, 1, 1, 0, &value, &error), CW_E_ARGUMENT);
    ck_assert_int_eq(cw_noncentral_t_above(1, 0.5, 1, &value, &error), CW_E_ARGUMENT);
    /* One degree of freedom asks for a t beyond 12.7 and still has an answer. */
    ck_assert_int_eq(cw_power_noncentrality(1, 0.05, 0.8, &value, &error), CW_OK);
    double power;
    ck_assert_int_eq(cw_power_of(value, 1, 0.05, &power, &error), CW_OK);
    ck_assert_double_eq_tol(power, 0.8, 1e-10);
}
END_TEST

int main(void) {
    Suite *suite = suite_create("compare_power");
    TCase *power = tcase_create("power");
    tcase_add_test(power, documented_examples);
    tcase_add_test(power, power_of_two_groups);
    tcase_add_test(power, smallest_difference);
    tcase_add_test(power, runs_needed);
    tcase_add_test(power, noncentral_t_limits);
    tcase_add_test(power, limits);
    suite_add_tcase(suite, power);
    SRunner *runner = srunner_create(suite);
    srunner_run_all(runner, CK_NORMAL);
    int failed = srunner_ntests_failed(runner);
    srunner_free(runner);
    return failed ? EXIT_FAILURE : EXIT_SUCCESS;
}
