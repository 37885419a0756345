/* What a coasting bicycle loses to its resistances, and how that changes its speed.
 *
 *   m k dv/dt = -m g sin(angle) - Crr m g cos(angle) - 1/2 rho CdA (v+w)|v+w| - F_bearing(v)
 *
 * Written here once for all: descents are integrated from it, the fit is linearised from it, and
 * the finder of runs tells by it what a coast may lose. */
#ifndef CW_PHYSICS_FORCES_H
#define CW_PHYSICS_FORCES_H

#include <stdbool.h>

#include "base/public.h"
#include "physics/air.h"

CW_PUBLIC_BEGIN

struct cw_bicycle {
    double mass_kg; /* all that moves: rider, bicycle, load */
    double cda_m2, crr;
    double wheel_inertia_kgm2; /* both wheels */
    double wheel_radius_m;
    bool frictionless_bearings; /* leaves the bearings out, as closed forms do; false by default */
};

struct cw_surroundings {
    double density_kgm3; /* where the air is known */
    double gravity_ms2;
    double wind_along_ms;        /* + is a headwind */
    struct cw_air_column column; /* how the density is another above and below; {0}: it is not */
};
/* With the density that they have at height_m, and no other about it. */
struct cw_surroundings cw_surroundings_at(const struct cw_surroundings *surroundings,
                                          double height_m);

/* k = 1 + I/(m r2): inertia of the wheels as extra mass. 1 where no inertia is given. */
double cw_inertia_factor(const struct cw_bicycle *bicycle);
/* Kinetic energy as metres of height: k v2/2g. */
double cw_kinetic_head(const struct cw_bicycle *bicycle, double gravity_ms2, double speed_ms);

/* What a coast loses along the road, cause by cause: metres of height a metre of road, which is a
 * force in units of the weight m g (times m g it is in newtons). */
struct cw_loss {
    double rolling;       /* with a Crr of 1: cos(angle) (Martin et al. 1998, eq. 8) */
    double drag;          /* with a CdA of 1 m2: rho (v+w)|v+w| / (2 m g) (eq. 4) */
    double drag_by_speed; /* its derivative by speed, and by headwind just so */
    double bearing;       /* (0.091 N + 0.0087 N/(m/s) v) / (m g) (eq. 10, as a force) */
    double bearing_by_speed;
};

/* At speed_ms >= 0 on a slope with that cosine of its angle to the horizontal. Linear in CdA and
 * Crr, which are left out: the bicycle's own are not looked at. The bearings' loss at 0 is the
 * limit of a wheel that begins to turn. The density is the surroundings', whatever the height
 * (cw_surroundings_at). Source: Martin et al. 1998, J. Appl. Biomech. 14:276. */
struct cw_loss cw_coast_loss(const struct cw_bicycle *bicycle,
                             const struct cw_surroundings *surroundings, double speed_ms,
                             double slope_cosine);
/* All causes together, for a CdA and a Crr. */
double cw_loss_sum(const struct cw_loss *loss, double cda_m2, double crr);

/* What a bend takes more for a unit of what bends cost, metres of height a metre of road: the
 * square of the acceleration to the side, v2/radius, over g. A tyre that pushes to the side by that
 * part of its load slips, or leans and scrubs, and drags by some of its square (Wong, Theory of
 * Ground Vehicles, 2008, chapter 1, on cornering resistance; from memory). curve_1m: 1/radius. */
double cw_bend_loss(double speed_ms, double curve_1m, double gravity_ms2);

/* Tyres roll worse in the cold: by what part Crr falls for each kelvin they are warmer, and how
 * sure that is of a bicycle's (a standard uncertainty). For a car's tyres UN GTR 15 (annex 4, on
 * the correction to reference conditions; from memory) has K0 = 0.0086 per kelvin about 20 C. A
 * bicycle's answer more: "factor two to three in the relevant range" (Rothhaemel 2023, Int. J. Veh.
 * Syst. Model. Test. 17:67, doi 10.1504/IJVSMT.2023.132317, by pendulum, the abstract), which is
 * 0.014 to 0.022 where that range is taken to be 50 K. This lies between these ends, and is wide
 * enough for both: on a road in the sun a tyre's temperature is not quite the air's either. */
#define CW_CRR_FALL_1K 0.012
#define CW_CRR_FALL_SD_1K 0.005
/* The factor by which a Crr that falls by the part fall_1k a kelvin is another where tyres are
 * warmer by warmer_k: exp(-fall_1k warmer_k), the same part for every kelvin, so that it matters
 * not from which temperature it is reckoned, and Crr stays above 0. 1 for 0 K. */
double cw_crr_warmer(double fall_1k, double warmer_k);

/* dv/dt, m/s2, of a coast of the bicycle with its CdA and Crr at speed_ms >= 0 on a slope of that
 * sine (dh/ds; negative is down). */
double cw_coast_acceleration(const struct cw_bicycle *bicycle,
                             const struct cw_surroundings *surroundings, double speed_ms,
                             double slope_sine);
/* What a power at the wheel adds to that, m/s2: P / (m k v). Below 1 m/s it pushes with no more
 * than the force that it makes there, for nobody pushes without end (common practice, no source).
 */
double cw_power_acceleration(const struct cw_bicycle *bicycle, double power_w, double speed_ms);

CW_PUBLIC_END

#endif
