/* The energy balance of one run, linearised about its basis motion.
 *
 * To know first (fit/README.md has the whole derivation): the basis motion is a place s along the
 * road and a speed v for every grid point. The truth is at s + ds and as fast as v + dv, and has
 * the height E left to spend. All that is unknown enters linearly, and here are its factors:
 *
 *   dv    = a (E - r - H eta - h' ds)
 *   dE/dt = -l dv - m w - v cos dCrr - v drag dCdA
 *
 * with w the gust, eta, dCrr and dCdA the corrections of profile, Crr and CdA, h' the profile's
 * slope, r the basis motion's own balance, a = g/(k v), and l and m the derivatives of the height
 * lost a second, v (Crr cos + CdA drag + bearings), by speed and by wind.
 *
 * In numbers (held to by tests/unit/test_fit_linear.c): 80 kg, no inertia (k = 1), CdA 0.3 m2, Crr
 * 0.005, g = 9.81 m/s2, still air of 1.2 kg/m3, a straight -5 %. At 10 m/s the tyres lose 0.050,
 * drag 0.229 and bearings 0.002 m a second, and
 *
 *   a = 0.981 1/s    a metre more to spend is 0.98 m/s more speed
 *   l = 0.074        1 m/s more speed loses 0.074 m a second more
 *   m = 0.046        1 m/s more headwind loses 0.046 m a second more
 *
 * A headwind of 1 m/s that begins there and lasts 5 s moves E, ds and dv to
 *
 *           E          ds         dv             the coast itself, with that wind and without
 *    5 s   -0.208 m   -0.54 m    -0.210 m/s      -0.56 m   -0.218 m/s
 *   15 s   -0.046 m   -2.18 m    -0.124 m/s      -2.27 m   -0.129 m/s
 *
 * Slower loses less, so most of E has come back 10 s after the gust; the metres behind have not.
 * The coast itself loses 4 % more, mostly by the square of the gust: at 0.1 m/s it is half a
 * percent. */
#ifndef CW_FIT_LINEAR_H
#define CW_FIT_LINEAR_H

#include <stddef.h>

#include "base/error.h"
#include "fit/profile.h"
#include "fit/run_data.h"

/* Four neighbouring profile coefficients and their weights. */
struct cw_nodes {
    size_t first;
    double weight[4];
};

struct cw_linear {
    size_t n;
    const struct cw_run_data *data;
    double scale;          /* relative error of the recorded speeds, as far as it is known */
    double *gain;          /* a, 1/s */
    double *residual;      /* r, m: constant, were the basis motion and values true */
    double *slope;         /* h' at the basis motion's place */
    double *air;           /* density there, as a part of what the surroundings' is */
    double *loss_by_speed; /* l, m of height a second per m/s */
    double *loss_by_wind;  /* m, likewise */
    double *roll_m;        /* X: integral of cos ds, m, times what the run's Crr is of its tyres' */
    double *expected_ms; /* speed of a coast without gusts from the same start, at the same place */
    double *drag_m;      /* A along that coast, m per m2 */
    double *wind_m; /* lost by now to a metre a second more of the wind along the road, m; the wind
                     * of who rides it its own way */
    double *bend_m; /* lost along it in bends, m per unit of what bends cost */
    struct cw_nodes *node; /* at the basis motion's place */
    /* What the recorder's heights feel of the profile: its place, or, where lag_s is below 0, the
     * place that much later. What they show is that smoothed by a filter of lag_s (fit/lag.h),
     * which starts with what is felt at start_node: there the rider had been, on the filter's mean.
     */
    double lag_s;
    struct cw_nodes *felt_node, start_node;
    double *felt_slope, start_slope;
    double *felt_height_m, *shown_height_m;
};

/* What a linearisation is about, beside the basis motion, which is the run's data. */
#define CW_BENDS_USUAL_MS 10.0

struct cw_basis {
    const struct cw_profile *profile; /* of the run's road */
    double cda_m2, crr, lag_s, scale;
    double bends; /* what bends cost, see cw_bend_loss (physics/forces.h) */
    /* Taken for granted: what they cost besides at any speed, as much as at CW_BENDS_USUAL_MS. */
    double bends_any;
    /* The run's own Crr is exp(-crr_warm) of that: its tyres are warmer than the outing's on the
     * mean (cw_crr_warmer). */
    double crr_warm;
};

/* Allocates for data (which must outlive it); fill with cw_linear_set, free with cw_linear_free. */
enum cw_status cw_linear_alloc(const struct cw_run_data *data, struct cw_linear *linear,
                               struct cw_error *error);
void cw_linear_set(struct cw_linear *linear, const struct cw_basis *basis);
/* Only what depends on the lag: what the recorded heights feel and show of the profile. */
void cw_linear_set_lag(struct cw_linear *linear, const struct cw_profile *profile, double lag_s);
/* The same run at another lag: shares all with linear but what depends on that, which it has in
 * room (3 n numbers) and nodes (n). */
struct cw_linear cw_linear_at_lag(const struct cw_linear *linear, const struct cw_profile *profile,
                                  double lag_s, double *room, struct cw_nodes *nodes);
void cw_linear_free(struct cw_linear *linear);

#endif
