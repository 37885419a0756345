/* The whole way, from speeds alone to CdA and Crr, on coasts on the level in closed form. */
#include <check.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "analysis/analysis.h"
#include "physics/air.h"
#include "physics/gravity.h"

/* k dv/dt = -(a + c v + b v2), b v2 being drag, a what does not go with speed and c v what goes
 * with it: about v = -c/2b it is a tangent. */
struct coast {
    double a, b, c, k, start_ms;
};

static double shifted(const struct coast *coast) {
    return coast->c / (2 * coast->b);
}

static double free_ms(const struct coast *coast) {
    return sqrt((coast->a - coast->c * shifted(coast) / 2) / coast->b);
}

static double speed_at(const struct coast *coast, double time_s) {
    double v = free_ms(coast), from = atan((coast->start_ms + shifted(coast)) / v);
    return v * tan(from - time_s * coast->b * v / coast->k) - shifted(coast);
}

static struct coast level(double mass_kg, double drag_area_m2, double rolling, double density_kgm3,
                          double gravity_ms2, double start_ms) {
    return (struct coast){.a = rolling * gravity_ms2,
                          .b = density_kgm3 * drag_area_m2 / (2 * mass_kg),
                          .k = 1,
                          .start_ms = start_ms};
}

/* The published form, which has no bearings: v_f tan(phi0 - t sqrt(ab)), v_f = sqrt(a/b); the
 * values computed in full precision and checked by an independent integration. */
START_TEST(the_published_form) {
    static const struct {
        double mass_kg, start_ms, time_s, speed_ms;
    } rows[] = {
        {83, 8, 10, 6.331623100282},  {83, 8, 30, 4.112584969041},  {83, 12, 10, 9.000002378201},
        {83, 12, 30, 5.625693077249}, {83, 15, 10, 10.76002537538}, {83, 15, 30, 6.485803862099},
        {91, 8, 10, 6.420493898724},  {91, 8, 30, 4.256642787966},  {91, 12, 10, 9.17654414426},
        {91, 12, 30, 5.875171392984}, {91, 15, 10, 11.01107765786}, {91, 15, 30, 6.808677913406},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        struct coast coast =
            level(rows[i].mass_kg, 0.32, 0.005, 1.2, CW_STANDARD_GRAVITY_MS2, rows[i].start_ms);
        ck_assert_double_eq_tol(speed_at(&coast, rows[i].time_s) / rows[i].speed_ms, 1, 1e-10);
    }
}
END_TEST

enum { RUNS = 6 };
static const double cda_m2 = 0.32, crr = 0.005;
static const double temperature_c = 13.5, pressure_hpa = 987, humidity_percent = 60;
static const double rider_kg = 71, bike_kg = 12, load_kg = 8, inertia_kgm2 = 0.14, radius_m = 0.334;

static char *copied(const char *text) {
    char *copy = strdup(text);
    ck_assert_ptr_nonnull(copy);
    return copy;
}

static struct cw_setup setup_of(const char *name, double load) {
    return (struct cw_setup){.name = copied(name),
                             .description = copied(""),
                             .load_kg = load,
                             .tyres = copied("all"),
                             .drag = copied(""),
                             .pressure_kpa = NAN};
}

static struct cw_outing outing_of(void) {
    struct cw_outing outing = {.file = copied("hall.ini"),
                               .name = copied("hall"),
                               .n_recordings = 1,
                               .recordings = calloc(1, sizeof(char *)),
                               .elevation = CW_ELEVATION_LEVEL,
                               .elevation_given = true,
                               .elevation_uncertainty_m = 0.001,
                               .rider.mass_kg = rider_kg,
                               .rider.bike_mass_kg = bike_kg,
                               .rider.wheel_inertia_kgm2 = inertia_kgm2,
                               .rider.wheel_radius_m = radius_m,
                               .air = {.temperature_c = temperature_c,
                                       .pressure_hpa = pressure_hpa,
                                       .humidity_percent = humidity_percent},
                               .crr = NAN,
                               .crr_uncertainty = NAN,
                               .n_setups = 2,
                               .setups = calloc(2, sizeof(struct cw_setup)),
                               .order = {RUNS, calloc(RUNS, sizeof(size_t)), 1}};
    ck_assert(outing.recordings && outing.setups && outing.order.setup);
    outing.recordings[0] = copied("hall.tcx");
    outing.setups[0] = setup_of("empty", 0);
    outing.setups[1] = setup_of("loaded", load_kg);
    for (size_t i = 0; i < RUNS; i++) outing.order.setup[i] = i % 2;
    return outing;
}

static void add(struct cw_recording *recording, double time_s, double speed_ms, double rpm) {
    struct cw_sample sample = cw_sample_missing();
    sample.time_s = 1.7e9 + time_s;
    sample.speed_ms = speed_ms;
    sample.cadence_rpm = rpm;
    ck_assert_int_eq(cw_samples_add(&recording->samples, &sample), CW_OK);
}

/* Standing, pedalling off, coasting to a standstill, to the last digit. */
static void add_run(struct cw_recording *recording, double interval_s, double *time_s,
                    const struct coast *coast) {
    double speed_ms;
    for (int i = 0; i < 20; i++, *time_s += interval_s) add(recording, *time_s, 0, 0);
    for (speed_ms = 0; speed_ms < coast->start_ms; *time_s += interval_s)
        add(recording, *time_s, speed_ms += 0.7 * interval_s, fmod(*time_s, 2) < 1 ? 79 : 81);
    for (double t = 0; (speed_ms = speed_at(coast, t)) > 0.1;
         t += interval_s, *time_s += interval_s)
        add(recording, *time_s, speed_ms, 0);
}

/* Fits the coasts of either setup from three speeds, recorded so often. */
static void fit(double interval_s, struct cw_analysis *analysis) {
    static const double start_ms[RUNS] = {8, 8, 12, 12, 15, 15};
    /* What the fit will take for the place: at the pressure's height, of a middle latitude. */
    double gravity_ms2 = cw_gravity(45, cw_isa_pressure_altitude_m(100 * pressure_hpa));
    double density_kgm3 = cw_air_density(temperature_c, 100 * pressure_hpa, humidity_percent / 100),
           time_s = 0;
    struct cw_error error;
    struct cw_recording *recording = calloc(1, sizeof *recording);
    ck_assert_ptr_nonnull(recording);
    recording->file = copied("hall.tcx");
    recording->has_speed = recording->has_cadence = true;
    for (size_t i = 0; i < RUNS; i++) {
        double mass_kg = rider_kg + bike_kg + (i % 2 ? load_kg : 0);
        struct coast coast = level(mass_kg, cda_m2, crr, density_kgm3, gravity_ms2, start_ms[i]);
        /* Bearings: 0.091 N + 0.0087 N/(m/s) v; wheels: k = 1 + I/(m r2). */
        coast.a += 0.091 / mass_kg;
        coast.c = 0.0087 / mass_kg;
        coast.k = 1 + inertia_kgm2 / (mass_kg * radius_m * radius_m);
        add_run(recording, interval_s, &time_s, &coast);
    }
    struct cw_outing outing = outing_of();
    cw_analysis_begin(analysis, NULL);
    ck_assert_int_eq(cw_analysis_take(analysis, &outing, recording, 1, &error), CW_OK);
    ck_assert_int_eq(cw_analysis_find(analysis, &error), CW_OK);
    ck_assert_msg(cw_analysis_fit(analysis, &error) >= 0, "%s", error.message);
    ck_assert_int_ge(cw_analysis_average(analysis, &error), 0);
    ck_assert_uint_eq(analysis->outings[0].fit.n_runs, RUNS);
}

/* Whether an estimate is the truth but for that part of it. */
static void check_close(const struct cw_estimate *estimate, double truth, double part) {
    ck_assert_msg(fabs(estimate->value / truth - 1) < part, "%.9g is not %.9g to %g",
                  estimate->value, truth, part);
    ck_assert(estimate->low < truth && truth < estimate->high);
}

/* Speeds are taken to go straight in the middle of the interval between two samples: what is left
 * falls with its square. */
START_TEST(cda_and_crr_come_out) {
    static const double part[2] = {4e-4, 1.3e-4}; /* a quarter of the first, about: by how the noise
                                                   * found weighs the samples */
    for (int fast = 0; fast < 2; fast++) {
        struct cw_analysis analysis;
        fit(fast ? 0.5 : 1, &analysis);
        const struct cw_analysed *of = &analysis.outings[0];
        check_close(&of->fit.crr[0], crr, part[fast]);
        for (size_t i = 0; i < RUNS; i++) {
            check_close(&of->fit.runs[i].together_cda_m2, cda_m2, part[fast]);
            check_close(&of->fit.runs[i].alone_cda_m2, cda_m2, part[fast]);
            check_close(&of->fit.runs[i].alone_crr, crr, part[fast]);
        }
        for (size_t s = 0; s < 2; s++)
            check_close(&of->average.setups[s].cda_m2, cda_m2, part[fast]);
        cw_analysis_free(&analysis);
    }
}
END_TEST

int main(void) {
    Suite *suite = suite_create("fit_level");
    TCase *tests = tcase_create("level");
    tcase_set_timeout(tests, 120);
    tcase_add_test(tests, the_published_form);
    tcase_add_test(tests, cda_and_crr_come_out);
    suite_add_tcase(suite, tests);
    SRunner *runner = srunner_create(suite);
    srunner_run_all(runner, CK_NORMAL);
    int failed = srunner_ntests_failed(runner);
    srunner_free(runner);
    return failed ? EXIT_FAILURE : EXIT_SUCCESS;
}
