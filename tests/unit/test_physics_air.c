#include <check.h>
#include <math.h>
#include <stdlib.h>

#include "physics/air.h"

#define COUNT(array) (sizeof(array) / sizeof *(array))

/* CIPM-2007 (Picard et al. 2008): coefficients read in public sources, values computed with 30
 * digits; relative tolerance 1e-9. */
START_TEST(density_is_cipm_2007) {
    static const struct {
        double temperature_c, pressure_pa, humidity, density_kgm3;
    } rows[] = {
        {20, 101325, 0, 1.20455734163},   {20, 101325, 0.5, 1.19931389547},
        {20, 101325, 1, 1.19408724411},   {15, 101325, 0, 1.22552134473},
        {15, 101325, 0.6, 1.22085440023}, {0, 101325, 0.5, 1.29157791057},
        {0, 101325, 0, 1.29304869839},    {5, 101325, 0.8, 1.26642776514},
        {10, 100000, 0.7, 1.22692398037}, {25, 101325, 0.5, 1.17731537365},
        {30, 101325, 0.5, 1.15551291746}, {35, 100000, 0.3, 1.12357729232},
        {27, 110000, 0.9, 1.26310422716}, {15, 60000, 0.5, 0.721684475496},
        {20, 100000, 0.5, 1.1835566087},  {20, 90000, 0.5, 1.06463838066},
        {20, 80000, 0.5, 0.945728446971}, {-5, 101325, 0.8, 1.31559406353},
    };
    for (size_t i = 0; i < COUNT(rows); i++)
        ck_assert_double_eq_tol(
            cw_air_density(rows[i].temperature_c, rows[i].pressure_pa, rows[i].humidity) /
                rows[i].density_kgm3,
            1, 1e-9);
}
END_TEST

START_TEST(saturation_pressure_is_cipm_2007) {
    static const struct {
        double temperature_c, pressure_pa;
    } rows[] = {
        {-10, 286.516853484}, {0, 611.212624036},  {5, 872.534493769},  {10, 1228.11487874},
        {15, 1705.6690943},   {20, 2339.1632302},  {25, 3169.75697581}, {30, 4246.79901317},
        {35, 5628.86461868},  {40, 7384.82387734},
    };
    for (size_t i = 0; i < COUNT(rows); i++)
        ck_assert_double_eq_tol(cw_air_saturation_pa(rows[i].temperature_c) / rows[i].pressure_pa,
                                1, 1e-9);
    /* IAPWS, pure water: the triple point, and 300 K of IAPWS-IF97's table 35; both read in several
     * independent public files; 0.1 %. */
    static const struct {
        double temperature_c, pressure_pa;
    } steam[] = {
        {0.01, 611.657},
        {300 - 273.15, 3536.58941},
    };
    for (size_t i = 0; i < COUNT(steam); i++)
        ck_assert_double_eq_tol(cw_air_saturation_pa(steam[i].temperature_c) / steam[i].pressure_pa,
                                1, 1e-3);
}
END_TEST

/* Ideal moist air (287.05 and 461.5 J/(kg K)) with the WMO No. 8 Magnus formula (coefficients
 * read in independent public files that name the guide) stays within 0.0665 % of CIPM-2007 over
 * -5..40 C, 700..1013.25 hPa. */
START_TEST(density_is_close_to_ideal_moist_air) {
    double worst = 0;
    for (double t = -5; t <= 40; t += 2.5) {
        for (double p = 70e3; p <= 101325; p += 31325.0 / 8) {
            for (double humidity = 0; humidity <= 1; humidity += 0.125) {
                double vapour = humidity * 611.2 * exp(17.62 * t / (243.12 + t));
                double ideal =
                    (p - vapour) / (287.05 * (t + 273.15)) + vapour / (461.5 * (t + 273.15));
                worst = fmax(worst, fabs(ideal / cw_air_density(t, p, humidity) - 1));
            }
        }
    }
    ck_assert_double_eq_tol(worst, 0.000665, 5e-5);
}
END_TEST

/* ISO 2533 / ICAO Doc 7488: constants read, values computed. */
START_TEST(standard_atmosphere_is_iso_2533) {
    static const struct {
        double height_m, temperature_k, pressure_pa, density_kgm3;
    } rows[] = {
        {-500, 291.40, 107477.511, 1.284891}, {0, 288.15, 101325.000, 1.225000},
        {100, 287.50, 100129.438, 1.213283},  {250, 286.52, 98357.534, 1.195868},
        {500, 284.90, 95460.835, 1.167269},   {1000, 281.65, 89874.563, 1.111643},
        {1500, 278.40, 84555.994, 1.058067},  {2000, 275.15, 79495.202, 1.006490},
        {2500, 271.90, 74682.518, 0.956859},  {3000, 268.65, 70108.526, 0.909122},
    };
    for (size_t i = 0; i < COUNT(rows); i++) {
        ck_assert_double_eq_tol(cw_isa_temperature_k(rows[i].height_m), rows[i].temperature_k,
                                0.01);
        ck_assert_double_eq_tol(cw_isa_pressure_pa(rows[i].height_m), rows[i].pressure_pa, 0.5);
        ck_assert_double_eq_tol(cw_isa_density(rows[i].height_m), rows[i].density_kgm3, 1e-5);
        ck_assert_double_eq_tol(cw_isa_pressure_altitude_m(cw_isa_pressure_pa(rows[i].height_m)),
                                rows[i].height_m, 1e-6);
    }
}
END_TEST

START_TEST(pressure_altitude_is_iso_2533) {
    static const struct {
        double pressure_pa, height_m;
    } rows[] = {
        {101325, 0.0},       {100000, 110.884428}, {95000, 540.337101},
        {90000, 988.500079}, {85000, 1457.299452}, {80000, 1948.987831},
    };
    for (size_t i = 0; i < COUNT(rows); i++)
        ck_assert_double_eq_tol(cw_isa_pressure_altitude_m(rows[i].pressure_pa), rows[i].height_m,
                                1e-4);
    static const struct {
        double pressure_pa, metres_per_pa;
    } steps[] = {
        {101325, 0.08324181},
        {95000, 0.08770177},
        {90000, 0.09162664},
        {85000, 0.09596707},
    };
    for (size_t i = 0; i < COUNT(steps); i++) {
        double p = steps[i].pressure_pa;
        ck_assert_double_eq_tol(
            (cw_isa_pressure_altitude_m(p - 5) - cw_isa_pressure_altitude_m(p + 5)) / 10,
            steps[i].metres_per_pa, 1e-6);
    }
}
END_TEST

/* Dry air of CIPM-2007 and the standard atmosphere's gas differ a little (molar mass, and real
 * against ideal), so for the checks of dT alone the density is the standard one by T_ISA/T. */
static double scale_off_standard(double height_m, double warmer_k) {
    double t = cw_isa_temperature_k(height_m);
    return cw_barometric_scale(cw_isa_density(height_m) * t / (t + warmer_k),
                               cw_isa_pressure_pa(height_m), 9.80665);
}

/* True thickness of an indicated layer in air warmer than standard throughout: the exact integral
 * of (1 + dT/T_ISA) dH, computed; 1e-6. */
START_TEST(barometric_scale_gives_the_thickness_of_a_layer) {
    static const struct {
        double low_m, high_m, warmer_k, thickness_m;
    } rows[] = {
        {0, 100, -20, 93.05133032},     {0, 100, -10, 96.52566516},   {0, 100, 10, 103.47433484},
        {0, 100, 20, 106.94866968},     {400, 500, 15, 105.25900832}, {900, 1000, 20, 107.09283052},
        {1000, 1100, -15, 94.66808614},
    };
    for (size_t i = 0; i < COUNT(rows); i++) {
        double middle_m = (rows[i].low_m + rows[i].high_m) / 2;
        double simpson = (scale_off_standard(rows[i].low_m, rows[i].warmer_k) +
                          4 * scale_off_standard(middle_m, rows[i].warmer_k) +
                          scale_off_standard(rows[i].high_m, rows[i].warmer_k)) /
                         6;
        ck_assert_double_eq_tol(simpson * (rows[i].high_m - rows[i].low_m), rows[i].thickness_m,
                                1e-6);
    }
}
END_TEST

/* ICAO Doc 8168's rule: 4 % for each 10 K below standard. It rounds 3.5 % up. */
START_TEST(barometric_scale_follows_the_rule_of_aviation) {
    ck_assert_double_eq_tol(1 - scale_off_standard(0, -10), 0.04, 0.006);
}
END_TEST

/* ICAO Doc 8168's formula for the correction at a height over a datum at sea level, computed: the
 * temperature is that at the datum and the layer's mean T_ISA rules; 1 % of the correction. */
START_TEST(barometric_scale_agrees_with_icao_corrections) {
    static const struct {
        double height_m, temperature_c, correction_m;
    } rows[] = {
        {100, -10, 9.517465}, {100, 0, 5.501054},   {100, 5, 3.601332},   {100, 10, 1.768816},
        {100, 15, 0.0},       {100, 25, -3.359368}, {100, 30, -4.955811}, {300, 30, -14.899429},
    };
    for (size_t i = 0; i < COUNT(rows); i++) {
        double scale = scale_off_standard(rows[i].height_m / 2, rows[i].temperature_c - 15);
        /* The true height is lower than indicated by the correction when that is what has to be
         * added to fly at the same true height, so it refers to true metres. */
        ck_assert_double_eq_tol(rows[i].height_m / scale - rows[i].height_m, rows[i].correction_m,
                                0.01 * fabs(rows[i].correction_m) + 1e-9);
    }
}
END_TEST

START_TEST(barometric_scale_knows_damp_air_and_gravity) {
    /* 30 C and 90 % humidity: lighter by the vapour, 1 - 0.378 e/p (e = 3822 Pa). */
    double dry = cw_barometric_scale(cw_air_density(30, 98e3, 0), 98e3, 9.80665);
    double damp = cw_barometric_scale(cw_air_density(30, 98e3, 0.9), 98e3, 9.80665);
    ck_assert_double_eq_tol(damp / dry, 1 / (1 - 0.378 * 3822 / 98e3), 3e-4);
    ck_assert_double_eq_tol(cw_barometric_scale(1.2, 98e3, 9.80665 * 1.002) /
                                cw_barometric_scale(1.2, 98e3, 9.80665),
                            1 / 1.002, 1e-12);
    ck_assert_double_eq_tol(dry, 303.15 / cw_isa_temperature_k(cw_isa_pressure_altitude_m(98e3)),
                            6e-4);
}
END_TEST

/* ISO 2533's table, above and below a height of it. Its gas is ideal and CIPM-2007's dry air is
 * not: 0.04 % of the gas constant, which makes 1e-4 of pressure and density over 2 km. */
START_TEST(column_is_the_standard_atmosphere) {
    static const struct {
        double height_m, celsius, pressure_pa, density_kgm3;
    } rows[] = {{0, 15.00, 101325.000, 1.225000},
                {500, 11.75, 95460.835, 1.167269},
                {1000, 8.50, 89874.563, 1.111643},
                {2000, 2.00, 79495.202, 1.006490}};
    for (size_t from = 0; from < COUNT(rows); from++) {
        const struct cw_air_column column =
            cw_air_column_make(rows[from].height_m, rows[from].celsius, rows[from].pressure_pa, 0,
                               CW_ISA_LAPSE_1M, 9.80665);
        for (size_t i = 0; i < COUNT(rows); i++) {
            double pressure = cw_air_column_pressure(&column, rows[i].height_m),
                   density = cw_air_column_density(&column, rows[i].height_m);
            ck_assert_double_eq_tol(pressure * rows[from].pressure_pa / rows[i].pressure_pa, 1,
                                    1.2e-4);
            ck_assert_double_eq_tol(density * rows[from].density_kgm3 / rows[i].density_kgm3, 1,
                                    1.2e-4);
        }
    }
}
END_TEST

/* Near where it is known: the hydrostatic equation, and the density that such a pressure and
 * temperature have with as much of the air vapour as before. */
START_TEST(column_of_damp_air) {
    const struct cw_air_column column =
        cw_air_column_make(420, 12, 97e3, 0.6, CW_ISA_LAPSE_1M, 9.81);
    double density = cw_air_density(12, 97e3, 0.6),
           up = 97e3 * cw_air_column_pressure(&column, 420.1);
    ck_assert_double_eq_tol((97e3 - up) / 0.1, density * 9.81, 1e-3);
    double there = 97e3 * cw_air_column_pressure(&column, 520), humidity = 0.6;
    humidity *= there / 97e3 * cw_air_saturation_pa(12) / cw_air_saturation_pa(12 - 0.65);
    ck_assert_double_eq_tol(cw_air_column_density(&column, 520) * density,
                            cw_air_density(12 - 0.65, there, humidity), 3e-6);
    /* Relative humidity held makes hardly another. */
    ck_assert_double_eq_tol(cw_air_column_density(&column, 520) * density /
                                cw_air_density(12 - 0.65, there, 0.6),
                            1, 3e-4);
    /* There and back. */
    const struct cw_air_column back =
        cw_air_column_make(520, 12 - 0.65, there, humidity, CW_ISA_LAPSE_1M, 9.81);
    ck_assert_double_eq_tol(cw_air_column_density(&back, 420) * cw_air_column_density(&column, 520),
                            1, 1e-6);
    /* The same at all heights, and no further than 10 km. */
    const struct cw_air_column none = {0};
    ck_assert_double_eq(cw_air_column_density(&none, 1234), 1);
    ck_assert_double_eq(cw_air_column_pressure(&none, -1234), 1);
    ck_assert_double_eq(cw_air_column_density(&column, 10420), cw_air_column_density(&column, 1e9));
    ck_assert(isnan(cw_air_column_density(&column, NAN)));
}
END_TEST

/* Air of another lapse rate: of one temperature, by the exponential law; 9.8 K/km, by steps of the
 * hydrostatic equation with the density of each height's own temperature; and what a barometric
 * altimeter makes of it, by the standard atmosphere's height of that pressure. */
START_TEST(column_of_another_lapse) {
    const double gas = 287.05287, gravity = 9.80665; /* ISO 2533 */
    const struct cw_air_column even = cw_air_column_make(1000, 7, 90e3, 0, 0, gravity);
    double scale_height_m = gas * 280.15 / gravity;
    ck_assert_double_eq_tol(cw_air_column_pressure(&even, 1400), exp(-400 / scale_height_m), 3e-5);
    ck_assert_double_eq_tol(cw_air_column_density(&even, 1400), exp(-400 / scale_height_m), 3e-5);
    static const double lapses[] = {-0.005, 0.0065, 0.0098};
    for (size_t k = 0; k < COUNT(lapses); k++) {
        const struct cw_air_column column =
            cw_air_column_make(1000, 7, 90e3, 0, lapses[k], gravity);
        double pressure = 90e3;
        for (int i = 0; i < 3000; i++) {
            double kelvin = 280.15 - lapses[k] * (i + 0.5) / 10;
            pressure -= 0.1 * gravity * pressure / (gas * kelvin);
        }
        ck_assert_double_eq_tol(cw_air_column_pressure(&column, 1300) * 90e3, pressure, 2);
        double density = pressure / (gas * (280.15 - lapses[k] * 300));
        ck_assert_double_eq_tol(cw_air_column_density(&column, 1300) * 90e3 / (gas * 280.15),
                                density, 3e-5);
        /* 300 m up, as indicated and told back by the scale below and how that changes. */
        double indicated_m =
            cw_isa_pressure_altitude_m(pressure) - cw_isa_pressure_altitude_m(90e3);
        double up_m = indicated_m * cw_barometric_scale(90e3 / (gas * 280.15), 90e3, gravity);
        up_m *= 1 + 0.5 * cw_barometric_bend_1m(7, lapses[k]) * up_m;
        ck_assert_double_eq_tol(up_m, 300, 0.03);
    }
    ck_assert_double_eq(cw_barometric_bend_1m(7, CW_ISA_LAPSE_1M), 0);
}
END_TEST

/* In the standard atmosphere the reduced pressure is its own at sea level, at each height of the
 * table of ISO 2533 (computed from the standard's constants); and where the air is warmer or colder
 * throughout, a layer of it is thicker by what the hypsometric equation says (exact integral of (1
 * + dT/T_ISA) dH, computed). */
START_TEST(pressure_is_reduced_from_sea_level) {
    static const struct {
        double height_m, temperature_k, pressure_pa;
    } isa[] = {{-500, 291.40, 107477.511}, {100, 287.50, 100129.438}, {250, 286.525, 98357.534},
               {500, 284.90, 95460.835},   {1000, 281.65, 89874.563}, {2000, 275.15, 79495.202},
               {3000, 268.65, 70108.526}};
    for (size_t i = 0; i < sizeof isa / sizeof *isa; i++)
        ck_assert_double_eq_tol(
            cw_air_pressure_from_sea_level(101325, isa[i].height_m, isa[i].temperature_k - 273.15),
            isa[i].pressure_pa, 0.5);
    static const struct {
        double warmer_k, thick_m;
    } layers[] = {{-20, 93.05133032}, {-10, 96.52566516}, {10, 103.47433484}, {20, 106.94866968}};
    for (size_t i = 0; i < sizeof layers / sizeof *layers; i++) {
        double h = layers[i].thick_m, celsius = 15 - 0.65 + layers[i].warmer_k;
        ck_assert_double_eq_tol(cw_air_pressure_from_sea_level(101325, h, celsius), 100129.438, 1);
    }
}
END_TEST

int main(void) {
    Suite *suite = suite_create("physics_air");
    TCase *cases = tcase_create("physics_air");
    tcase_add_test(cases, density_is_cipm_2007);
    tcase_add_test(cases, saturation_pressure_is_cipm_2007);
    tcase_add_test(cases, density_is_close_to_ideal_moist_air);
    tcase_add_test(cases, standard_atmosphere_is_iso_2533);
    tcase_add_test(cases, pressure_altitude_is_iso_2533);
    tcase_add_test(cases, barometric_scale_gives_the_thickness_of_a_layer);
    tcase_add_test(cases, barometric_scale_follows_the_rule_of_aviation);
    tcase_add_test(cases, barometric_scale_agrees_with_icao_corrections);
    tcase_add_test(cases, barometric_scale_knows_damp_air_and_gravity);
    tcase_add_test(cases, column_is_the_standard_atmosphere);
    tcase_add_test(cases, column_of_damp_air);
    tcase_add_test(cases, column_of_another_lapse);
    tcase_add_test(cases, pressure_is_reduced_from_sea_level);
    suite_add_tcase(suite, cases);
    SRunner *runner = srunner_create(suite);
    srunner_run_all(runner, CK_NORMAL);
    int failed = srunner_ntests_failed(runner);
    srunner_free(runner);
    return failed ? EXIT_FAILURE : EXIT_SUCCESS;
}
