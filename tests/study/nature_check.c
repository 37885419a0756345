/* nature.h against closed forms and published values, each with its source. "Computed" values come
 * from the formula named, worked out apart from this project. */
#include "nature_check.h"

#include <math.h>
#include <stdio.h>

#include "nature.h"

#define PI 3.14159265358979323846

bool check_near(const char *what, double value, double expected, double tolerance) {
    bool fine = fabs(value - expected) <= tolerance;
    printf("%s %s: %.12g, expected %.12g within %g\n", fine ? "ok  " : "FAIL", what, value,
           expected, tolerance);
    return fine;
}

/* One slope up to a place and another from there; a road's nodes round the turn over two metres. */
struct slopes {
    double first, then, turn_m;
};

static struct ground two_slopes(double s_m, const void *state) {
    const struct slopes *s = state;
    double slope = s_m < s->turn_m ? s->first : s->then;
    if (s_m == s->turn_m) slope = (s->first + s->then) / 2;
    struct ground g = {.slope = slope, .heading_rad = 1};
    return g;
}

static struct coasting closed_form(const struct road *road, double mass_kg, double wheels_kg) {
    struct coasting c = {
        .road = road,
        .gravity_ms2 = 9.80665,
        .density_kgm3 = 1.2,
        .body = {.mass_kg = mass_kg, .wheels_kg = wheels_kg, .cda_m2 = 0.32, .crr = 0.005},
        .way = 1};
    return c;
}

#define STEP_S 0.02

/* Coasts for a time, or to a place, or to a standstill; the last step is as long as is needed. */
static void coast(const struct coasting *c, double until_s, double until_m, double *t, double *s,
                  double *v) {
    for (double step = STEP_S; step > 1e-12;) {
        double s_to = *s, v_to = *v;
        coast_step(c, 0, 0, step, &s_to, &v_to);
        if (s_to > until_m || v_to < 0 || *t + step > until_s) {
            step /= 2;
            continue;
        }
        *t += step;
        *s = s_to;
        *v = v_to;
    }
}

/* Quadratic drag and constant rolling on a constant slope: v tends to tanh, tan and exponentials
 * (common mechanics; values computed from them and by an ODE solver), g 9.80665, rho 1.2,
 * CdA 0.32, Crr 0.005, slope = tan, s along the road. */
static bool check_coasts(void) {
    bool fine = true;
    struct road road;
    struct slopes slopes = {-0.05, -0.05, 0};
    if (!road_make(&road, -10, 3000, two_slopes, &slopes)) return false;
    struct coasting c = closed_form(&road, 83, 0);
    double t = 0, s = 0, v = 0;
    coast(&c, INFINITY, 500, &t, &s, &v);
    fine &= check_near("500 m at -5 % from rest: time", t, 57.12599627509, 1e-6);
    fine &= check_near("  speed", v, 13.102707828, 1e-7);
    t = s = v = 0;
    coast(&c, 30, INFINITY, &t, &s, &v);
    fine &= check_near("30 s at -5 % from rest: way", s, 173.8293626925, 1e-6);
    coast(&c, 450, INFINITY, &t, &s, &v);
    fine &= check_near("terminal speed", v, 13.80333191601, 1e-8);
    c = closed_form(&road, 83, 1.447468);
    t = s = v = 0;
    coast(&c, INFINITY, 500, &t, &s, &v);
    fine &= check_near("with wheels that turn: time", t, 57.45601484639, 1e-6);
    fine &= check_near("  speed", v, 13.07357982932, 1e-7);
    road_free(&road);

    slopes = (struct slopes){0, 0, 0};
    if (!road_make(&road, -10, 600, two_slopes, &slopes)) return false;
    c = closed_form(&road, 83, 0);
    t = s = 0;
    v = 12;
    coast(&c, 30, INFINITY, &t, &s, &v);
    fine &= check_near("level from 12 m/s, 30 s: speed", v, 5.625693077249, 1e-8);
    fine &= check_near("  way", s, 246.3569493861, 1e-6);
    coast(&c, INFINITY, INFINITY, &t, &s, &v);
    fine &= check_near("  to a standstill: time", t, 113.0920336304, 1e-5);
    fine &= check_near("  way", s, 443.8106833887, 1e-5);
    road_free(&road);

    slopes = (struct slopes){-0.05, 0.04, 400};
    if (!road_make(&road, -10, 700, two_slopes, &slopes)) return false;
    c = closed_form(&road, 83, 0);
    t = s = v = 0;
    coast(&c, INFINITY, INFINITY, &t, &s, &v);
    fine &= check_near("dip, 400 m down: way up the other side", s - 400, 132.0893130339, 0.02);
    road_free(&road);
    return fine;
}

static struct ground waves(double s_m, const void *state) {
    (void)state;
    struct ground g = {.slope = -0.05 + 0.02 * sin(s_m / 40), .heading_rad = sin(s_m / 70)};
    return g;
}

static bool check_energy(void) {
    struct road road;
    if (!road_make(&road, -10, 1100, waves, NULL)) return false;
    struct coasting c = closed_form(&road, 80, 1.25);
    c.body.cda_m2 = c.body.crr = 0;
    double t = 0, s = 0, v = 3, drop = -road_at(&road, 1000).height_m;
    double energy = 81.25 / 2 * 9 + 80 * 9.80665 * drop;
    coast(&c, INFINITY, 1000, &t, &s, &v);
    double share = 81.25 / 2 * v * v / energy;
    bool fine = check_near("no losses: energy kept over 1 km", share, 1, 1e-6);
    double rise = 0; /* sin(atan(slope)) against what the nodes hold */
    for (int i = 0; i < 100000; i++) {
        double slope = waves((i + 0.5) / 100, NULL).slope;
        rise += 0.01 * slope / sqrt(1 + slope * slope);
    }
    fine &= check_near("height of a road", road_at(&road, 1000).height_m, rise, 1e-3);
    /* Martin et al. 1998: 0.178 N at 10 m/s. Without other losses that alone slows. */
    struct slopes level = {0, 0, 0};
    road_free(&road);
    if (!road_make(&road, -10, 100, two_slopes, &level)) return false;
    c.body.bearing_n = BEARING_N;
    c.body.bearing_ns_m = BEARING_NS_M;
    s = 0;
    v = 10;
    coast_step(&c, 0, 0, 1e-3, &s, &v);
    fine &= check_near("bearing friction at 10 m/s", (10 - v) / 1e-3 * 81.25, 0.178, 1e-6);
    c.body = (struct body){.mass_kg = 80, .cda_m2 = 0.36};
    s = 0;
    v = 10;
    coast_step(&c, 2, 0, 1e-4, &s, &v);
    fine &= check_near("drag in a headwind", (10 - v) / 1e-4 * 80, 0.5 * 1.2 * 0.36 * 144, 1e-3);
    c.crosswind_ms = 5;
    s = 0;
    v = 10;
    coast_step(&c, 2, 0, 1e-4, &s, &v);
    fine &= check_near("  and 5 m/s from the side", (10 - v) / 1e-4 * 80,
                       0.5 * 1.2 * 0.36 * 12 * 13, 1e-3);
    road_free(&road);
    return fine;
}

static bool check_earth(void) {
    /* Geodesic destinations by GeographicLib 2.0 (Karney 2013, J. Geod. 87:43). */
    static const struct {
        double azimuth_deg, latitude_deg, longitude_deg;
    } direct[] = {{0, 47.000899516373, 8},
                  {45, 47.000636050367, 8.000929729658},
                  {90, 46.999999992452, 8.001314820688},
                  {200, 46.999154730090, 7.999550311932}};
    bool fine = true;
    double lat, lon;
    for (size_t i = 0; i < sizeof direct / sizeof *direct; i++) {
        double azimuth = direct[i].azimuth_deg * PI / 180;
        earth_from_metres(47, 8, 0, 100 * sin(azimuth), 100 * cos(azimuth), &lat, &lon);
        /* 1e-8 degrees are a millimetre: what a plane makes of the meridians' meeting. */
        fine &= check_near("100 m on the ellipsoid: latitude", lat, direct[i].latitude_deg, 1.2e-8);
        fine &= check_near("  longitude", lon, direct[i].longitude_deg, 1.2e-8);
    }
    /* GeodSolve 2.1.2: 47 8 to 47.01 8 is 1111.709390327 m, 60 -5 to 60 -4.99 is 558.000015193 m.
     */
    earth_from_metres(47, 8, 0, 0, 1111.709390327, &lat, &lon);
    fine &= check_near("a hundredth of a degree north", lat, 47.01, 1e-10);
    earth_from_metres(60, -5, 0, 558.000015193, 0, &lat, &lon);
    fine &= check_near("a hundredth of a degree east", lon, -4.99, 1e-10);
    return fine;
}

static bool check_air(void) {
    bool fine = true;
    /* GeographicLib 2.1.2 NormalGravity; the series in the height ends at the second order. */
    fine &= check_near("gravity at 45 degrees", gravity_ms2(45, 0), 9.806197769373, 1e-9);
    fine &= check_near("  at 500 m", gravity_ms2(45, 500), 9.80465515184, 1e-7);
    fine &= check_near("gravity at 47 degrees, 1000 m", gravity_ms2(47, 1000), 9.80492209048, 1e-7);
    /* Magnus' formula with the coefficients of WMO No. 8, computed. */
    fine &= check_near("vapour pressure at 20 C", air_vapour_pa(20, 100), 2332.596022, 1e-6);
    /* CIPM-2007 (Picard et al. 2008, Metrologia 45:149), computed; the simple gas law differs by
     * up to 0.067 %. */
    static const struct {
        double t, humidity, density;
    } cipm[] = {{15, 60, 1.22085440023},
                {20, 0, 1.20455734163},
                {20, 100, 1.19408724411},
                {0, 50, 1.29157791057}};
    for (size_t i = 0; i < sizeof cipm / sizeof *cipm; i++) {
        struct air air = {cipm[i].t, 1013.25, cipm[i].humidity, 0, 6.5, 9.80665};
        fine &= check_near("density of air", air_density_kgm3(&air, 0), cipm[i].density,
                           0.00067 * cipm[i].density);
    }
    /* ISO 2533, computed. */
    fine &= check_near("altimeter at 950 hPa", altimeter_m(95000), 540.337101, 1e-4);
    fine &= check_near("altimeter at 900 hPa", altimeter_m(90000), 988.500079, 1e-4);
    /* Air 10 K above the standard: 100 m shown are 103.47433484 m (hypsometric equation, computed,
     * for air that is so at every height shown; here at every true one). */
    struct air warm = {25, 1013.25, 0, 0, 6.5, 9.80665};
    fine &= check_near("altimeter in warm air", altimeter_m(air_pressure_pa(&warm, 103.47433484)),
                       100, 0.01);
    /* Without a lapse: that of the middle of the layer. */
    warm = (struct air){25 - 0.325, 1013.25, 0, 0, 0, 9.80665};
    fine &= check_near("  of one temperature", altimeter_m(air_pressure_pa(&warm, 103.47433484)),
                       100, 0.01);
    return fine;
}

static bool check_chance(void) {
    struct chance chance = chance_start(1, 1), other = chance_start(1, 2);
    enum { N = 400000 };
    double sum = 0, sum2 = 0, sum4 = 0, cross = 0;
    for (int i = 0; i < N; i++) {
        double x = chance_normal(&chance);
        sum += x;
        sum2 += x * x;
        sum4 += x * x * x * x;
        cross += x * chance_normal(&other);
    }
    /* Within four standard errors of the moments of a standard normal: 1/n, 2/n, 96/n. */
    double root = sqrt((double)N);
    bool fine = check_near("normal numbers: mean", sum / N, 0, 4 / root);
    fine &= check_near("  mean square", sum2 / N, 1, 4 * sqrt(2) / root);
    fine &= check_near("  fourth moment", sum4 / N, 3, 4 * sqrt(96) / root);
    fine &= check_near("  two streams", cross / N, 0, 4 / root);
    /* 0.5 s steps of a process of 10 s: 400000 of them are worth some 10000 separate ones. */
    struct drift drift = drift_start(2, 10, &chance);
    double lagged = 0, square = 0;
    for (int i = 0; i < N; i++) {
        double before = drift.value;
        drift_step(&drift, 0.5, &chance);
        lagged += before * drift.value;
        square += drift.value * drift.value;
    }
    fine &= check_near("drift: variance", square / N, 4, 0.25);
    fine &= check_near("  kept over 0.5 s", lagged / square, exp(-0.05), 0.003);
    return fine;
}

bool nature_check(void) {
    bool coasts = check_coasts(), energy = check_energy(), earth = check_earth(), air = check_air(),
         chance = check_chance();
    return coasts && energy && earth && air && chance;
}
