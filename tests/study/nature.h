/* What the made-up outings of world.h stand on, written down a second time from the published
 * formulas: chance, air, gravity, the ellipsoid, a road, and coasting down it. Nothing here is
 * shared with the library, so that an error there cannot hide behind the same error here. */
#ifndef CW_STUDY_NATURE_H
#define CW_STUDY_NATURE_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

/* Random numbers: xoshiro256++ seeded by splitmix64 (Blackman and Vigna 2021, ACM Trans. Math.
 * Softw. 47:36). */
struct chance {
    uint64_t state[4];
    double spare; /* a normal number in hand; NaN: none */
};
struct chance chance_start(uint64_t seed, uint64_t stream);
double chance_even(struct chance *chance, double low, double high);
double chance_normal(struct chance *chance);

/* What wanders about zero: an Ornstein-Uhlenbeck process. */
struct drift {
    double sd, time_s, value;
};
struct drift drift_start(double sd, double time_s, struct chance *chance);
void drift_step(struct drift *drift, double step_s, struct chance *chance);

/* Ideal gases, vapour pressure after Magnus (WMO No. 8); within 0.07 % of CIPM-2007 outdoors. */
struct air {
    double temperature_c, pressure_hpa, humidity_percent;
    double height_m;   /* where they are so */
    double lapse_k_km; /* how the temperature falls with height */
    double gravity_ms2;
};
double air_vapour_pa(double temperature_c, double humidity_percent);
double air_pressure_pa(const struct air *air, double height_m);
double air_density_kgm3(const struct air *air, double height_m);
/* The height at which the standard atmosphere (ISO 2533) has the pressure: what a barometric
 * altimeter shows. */
double altimeter_m(double pressure_pa);

/* Normal gravity of WGS84 (Somigliana), and its change with height to second order. */
double gravity_ms2(double latitude_deg, double height_m);

/* The place that lies so many metres east and north of another, at the same height above the
 * ellipsoid WGS84. For some kilometres. */
void earth_from_metres(double latitude_deg, double longitude_deg, double height_m, double east_m,
                       double north_m, double *to_latitude_deg, double *to_longitude_deg);

/* What a road is at a distance along it. */
struct ground {
    double slope;       /* dh/dx */
    double heading_rad; /* from north to the east */
    double loss;        /* rolling coefficient that the place adds */
};
typedef struct ground ground_at(double s_m, const void *state);

struct place {
    double sine; /* dh/ds */
    double height_m, east_m, north_m, heading_rad, loss;
};

struct road {
    double from_m;
    size_t n;
    struct place *node; /* every metre */
};
/* Height, east and north are 0 at s = 0. false when there is no memory. Free with road_free. */
bool road_make(struct road *road, double from_m, double to_m, ground_at *ground, const void *state);
void road_free(struct road *road);
/* sine is linear between nodes and the height its exact integral, so that no energy is made. */
struct place road_at(const struct road *road, double s_m);

struct body {
    double mass_kg;
    double wheels_kg; /* I/r2 of both wheels */
    double cda_m2, crr;
    double bearing_n, bearing_ns_m; /* their friction: bearing_n + bearing_ns_m v */
};

/* Martin et al. 1998, J. Appl. Biomech. 14:276: power (91 + 8.7 v) v / 1000. */
#define BEARING_N 0.091
#define BEARING_NS_M 0.0087

struct coasting {
    const struct road *road;
    double base_height_m; /* added to the road's */
    double gravity_ms2;
    const struct air *air;
    double density_kgm3; /* the same everywhere where there is no air */
    double crosswind_ms;
    struct body body;
    int way; /* 1: along s, -1: against it */
};
/* A step of Runge and Kutta's fourth-order method; the headwind and the brake's deceleration hold
 * over it. */
void coast_step(const struct coasting *coasting, double headwind_ms, double brake_ms2,
                double step_s, double *s_m, double *speed_ms);

#endif
