/* The energy balance of a coast, summed from speed alone: what each cause costs in metres of
 * height.
 *
 *   h + K + Crr X + CdA A + B = constant
 *
 * (formulas in fit/README.md). All but h, turned about, is the virtual elevation: it is linear in
 * CdA and Crr. */
#ifndef CW_FIT_ENERGY_H
#define CW_FIT_ENERGY_H

#include <stddef.h>

/* What a run's balance needs to know beside its motion. */
struct cw_balance {
    double mass_kg;
    double inertia_factor; /* k */
    double density_kgm3, gravity_ms2;
    double wind_along_ms; /* + is a headwind */
    double bearings;      /* 1: bearing drag after Martin et al. 1998; 0: none */
};

/* Fills four columns of n numbers from distances along the road and speeds (and cosines of the
 * slope's angle, or NULL for a level road): kinetic_m[i] = K, and by the trapezoid along the road
 * roll_m[i] = X, drag_m_per_m2[i] = A, bearing_m[i] = B, the last three from 0. Along the road, not
 * in time: in a second of even acceleration v2 is straight over the road, while v3 in time is not,
 * and on a steep road at 1 Hz that would put a percent on Crr. */
void cw_energy_columns(const struct cw_balance *balance, size_t n, const double *s_m,
                       const double *speed_ms, const double *cosine, double *kinetic_m,
                       double *roll_m, double *drag_m_per_m2, double *bearing_m);

/* Metres of height lost to drag per metre of road and m2 of CdA, rho/(2 m g) (v+w)|v+w|, and its
 * derivative by speed (the same as by wind). */
double cw_energy_drag(const struct cw_balance *balance, double speed_ms);
double cw_energy_drag_by_speed(const struct cw_balance *balance, double speed_ms);
/* Metres of height lost to the bearings per metre of road. */
double cw_energy_bearing(const struct cw_balance *balance, double speed_ms);

#endif
