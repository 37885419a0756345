#include "nature.h"

#include <math.h>
#include <stdlib.h>

#define PI 3.14159265358979323846

static uint64_t rotated(uint64_t x, int k) {
    return (x << k) | (x >> (64 - k));
}

static uint64_t split_mix(uint64_t *x) {
    uint64_t z = (*x += 0x9e3779b97f4a7c15u);
    z = (z ^ (z >> 30)) * 0xbf58476d1ce4e5b9u;
    z = (z ^ (z >> 27)) * 0x94d049bb133111ebu;
    return z ^ (z >> 31);
}

struct chance chance_start(uint64_t seed, uint64_t stream) {
    struct chance chance = {.spare = NAN};
    uint64_t x = seed, y = stream;
    x = split_mix(&x) ^ (split_mix(&y) << 1);
    for (int i = 0; i < 4; i++) chance.state[i] = split_mix(&x);
    return chance;
}

static uint64_t next(struct chance *chance) {
    uint64_t *s = chance->state, result = rotated(s[0] + s[3], 23) + s[0], t = s[1] << 17;
    s[2] ^= s[0];
    s[3] ^= s[1];
    s[1] ^= s[2];
    s[0] ^= s[3];
    s[2] ^= t;
    s[3] = rotated(s[3], 45);
    return result;
}

double chance_even(struct chance *chance, double low, double high) {
    return low + (high - low) * ((double)(next(chance) >> 11) * 0x1p-53);
}

/* Marsaglia's polar method. */
double chance_normal(struct chance *chance) {
    if (!isnan(chance->spare)) {
        double value = chance->spare;
        chance->spare = NAN;
        return value;
    }
    double x, y, r;
    do {
        x = chance_even(chance, -1, 1);
        y = chance_even(chance, -1, 1);
        r = x * x + y * y;
    } while (r >= 1 || r == 0);
    double scale = sqrt(-2 * log(r) / r);
    chance->spare = y * scale;
    return x * scale;
}

struct drift drift_start(double sd, double time_s, struct chance *chance) {
    struct drift drift = {sd, time_s, sd * chance_normal(chance)};
    return drift;
}

void drift_step(struct drift *drift, double step_s, struct chance *chance) {
    double kept = exp(-step_s / drift->time_s);
    drift->value = kept * drift->value + drift->sd * sqrt(1 - kept * kept) * chance_normal(chance);
}

#define KELVIN 273.15
#define R_DRY 287.05
#define R_VAPOUR 461.5

double air_vapour_pa(double temperature_c, double humidity_percent) {
    return humidity_percent / 100 * 611.2 * exp(17.62 * temperature_c / (243.12 + temperature_c));
}

static double kelvin_at(const struct air *air, double height_m) {
    return air->temperature_c + KELVIN - air->lapse_k_km / 1000 * (height_m - air->height_m);
}

/* The hydrostatic equation for a temperature that falls evenly, with the share of vapour as it is
 * at the height that is given. */
double air_pressure_pa(const struct air *air, double height_m) {
    double pressure = 100 * air->pressure_hpa;
    double part = air_vapour_pa(air->temperature_c, air->humidity_percent) / pressure;
    double gas = R_DRY / (1 - part * (1 - R_DRY / R_VAPOUR)); /* of moist air */
    double lapse = air->lapse_k_km / 1000, here = kelvin_at(air, air->height_m);
    if (lapse == 0)
        return pressure * exp(-air->gravity_ms2 * (height_m - air->height_m) / (gas * here));
    return pressure * pow(kelvin_at(air, height_m) / here, air->gravity_ms2 / (gas * lapse));
}

double air_density_kgm3(const struct air *air, double height_m) {
    double kelvin = kelvin_at(air, height_m);
    double vapour = air_vapour_pa(kelvin - KELVIN, air->humidity_percent);
    return (air_pressure_pa(air, height_m) - vapour) / (R_DRY * kelvin) +
           vapour / (R_VAPOUR * kelvin);
}

double altimeter_m(double pressure_pa) {
    const double lapse = 0.0065, kelvin = 288.15, power = lapse * 287.05287 / 9.80665;
    return kelvin / lapse * (1 - pow(pressure_pa / 101325, power));
}

/* WGS84: half axis, flattening, e2 (NGA.STND.0036). */
#define HALF_AXIS_M 6378137.0
#define FLATTENING (1 / 298.257223563)
#define ECCENTRICITY2 (FLATTENING * (2 - FLATTENING))

double gravity_ms2(double latitude_deg, double height_m) {
    double sine2 = pow(sin(latitude_deg * PI / 180), 2);
    double surface =
        9.7803253359 * (1 + 0.00193185265241 * sine2) / sqrt(1 - ECCENTRICITY2 * sine2);
    const double m = 0.00344978650684;
    double h = height_m / HALF_AXIS_M;
    return surface * (1 - 2 * (1 + FLATTENING + m - 2 * FLATTENING * sine2) * h + 3 * h * h);
}

void earth_from_metres(double latitude_deg, double longitude_deg, double height_m, double east_m,
                       double north_m, double *to_latitude_deg, double *to_longitude_deg) {
    double latitude = latitude_deg * PI / 180, to = latitude, parallel = 1;
    for (int i = 0; i < 3; i++) { /* the radii halfway */
        double middle = (latitude + to) / 2;
        double w2 = 1 - ECCENTRICITY2 * pow(sin(middle), 2);
        double meridian = HALF_AXIS_M * (1 - ECCENTRICITY2) / (w2 * sqrt(w2));
        to = latitude + north_m / (meridian + height_m);
        parallel = (HALF_AXIS_M / sqrt(w2) + height_m) * cos(middle);
    }
    *to_latitude_deg = to * 180 / PI;
    *to_longitude_deg = longitude_deg + east_m / parallel * 180 / PI;
}

bool road_make(struct road *road, double from_m, double to_m, ground_at *ground,
               const void *state) {
    double from = floor(from_m);
    *road = (struct road){.from_m = from, .n = (size_t)(ceil(to_m) - from) + 1};
    road->node = malloc(road->n * sizeof *road->node);
    if (!road->node) return false;
    for (size_t i = 0; i < road->n; i++) {
        struct ground g = ground(from + (double)i, state);
        struct place *p = &road->node[i];
        *p = (struct place){.sine = g.slope / sqrt(1 + g.slope * g.slope),
                            .heading_rad = g.heading_rad,
                            .loss = g.loss};
        if (i == 0) continue;
        struct place *b = &road->node[i - 1];
        double sine = (p->sine + b->sine) / 2, level = sqrt(1 - sine * sine);
        double heading = (p->heading_rad + b->heading_rad) / 2;
        p->height_m = b->height_m + sine;
        p->east_m = b->east_m + level * sin(heading);
        p->north_m = b->north_m + level * cos(heading);
    }
    struct place zero = road_at(road, 0);
    for (size_t i = 0; i < road->n; i++) {
        road->node[i].height_m -= zero.height_m;
        road->node[i].east_m -= zero.east_m;
        road->node[i].north_m -= zero.north_m;
    }
    return true;
}

void road_free(struct road *road) {
    free(road->node);
    road->node = NULL;
}

struct place road_at(const struct road *road, double s_m) {
    double at = fmin(fmax(s_m - road->from_m, 0), (double)(road->n - 1));
    size_t i = (size_t)at;
    if (i + 1 >= road->n) i = road->n - 2;
    const struct place *a = &road->node[i], *b = a + 1;
    double d = at - (double)i;
    struct place p = {
        .sine = a->sine + d * (b->sine - a->sine),
        .height_m = a->height_m + d * a->sine + d * d / 2 * (b->sine - a->sine),
        .east_m = a->east_m + d * (b->east_m - a->east_m),
        .north_m = a->north_m + d * (b->north_m - a->north_m),
        .heading_rad = a->heading_rad + d * (b->heading_rad - a->heading_rad),
        .loss = a->loss + d * (b->loss - a->loss),
    };
    return p;
}

static double acceleration_ms2(const struct coasting *c, double headwind_ms, double brake_ms2,
                               double s_m, double speed_ms) {
    const struct body *b = &c->body;
    struct place p = road_at(c->road, s_m);
    double density =
        c->air ? air_density_kgm3(c->air, c->base_height_m + p.height_m) : c->density_kgm3;
    double weight = b->mass_kg * c->gravity_ms2, air_speed = speed_ms + headwind_ms;
    double force = -weight * c->way * p.sine -
                   (b->crr + p.loss) * weight * sqrt(1 - p.sine * p.sine) -
                   0.5 * density * b->cda_m2 * air_speed * hypot(air_speed, c->crosswind_ms) -
                   b->bearing_n - b->bearing_ns_m * speed_ms;
    return force / (b->mass_kg + b->wheels_kg) - brake_ms2;
}

void coast_step(const struct coasting *c, double headwind_ms, double brake_ms2, double step_s,
                double *s_m, double *speed_ms) {
    const double part[4] = {0, 0.5, 0.5, 1}, weight[4] = {1, 2, 2, 1};
    double s_rate = 0, v_rate = 0, s_sum = 0, v_sum = 0;
    for (int i = 0; i < 4; i++) {
        double s = *s_m + part[i] * step_s * s_rate, v = *speed_ms + part[i] * step_s * v_rate;
        s_rate = c->way * v;
        v_rate = acceleration_ms2(c, headwind_ms, brake_ms2, s, v);
        s_sum += weight[i] * s_rate;
        v_sum += weight[i] * v_rate;
    }
    *s_m += step_s / 6 * s_sum;
    *speed_ms += step_s / 6 * v_sum;
}
