/* The energy balance of one run, linearised about its reference motion.
 *
 * True motion = reference + (ds, dv). With E the height that is left to spend (energy constant
 * minus what was lost beyond the reference's losses), the balance gives the speed,
 *
 *   dv = a (E - r - H eta - h' ds),          a = g/(k v)
 *
 * where r = K + h0(s) + losses is the reference's own balance, H eta the correction of the
 * profile and h' its slope; and the losses go on by
 *
 *   E' = -l dv - m w - v cos Crr' - v A' CdA'
 *
 * with w the gust, l = d(loss rate)/dv, m = d(loss rate)/dw, and Crr', CdA' the corrections of the
 * reference coefficients. All that is unknown enters linearly; the numbers here are its factors. */
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
    double *residual;      /* r, m: about constant when the reference is right */
    double *slope;         /* h' at the reference position */
    double *loss_by_speed; /* l, s/s */
    double *loss_by_wind;  /* m */
    double *roll_m;        /* X: integral of v cos, m */
    double *drag_m;        /* A, m per m2 */
    struct cw_nodes *node; /* at the reference position */
    /* Heights are looked up where the recorder was lag_s earlier. */
    struct cw_nodes *lagged_node;
    double *lagged_height_m, *lagged_slope;
};

/* What a linearisation is about. */
struct cw_reference {
    const struct cw_profile *profile; /* of the run's road */
    double cda_m2, crr, lag_s, scale;
};

/* Allocates for data (which must outlive it); fill with cw_linear_set, free with cw_linear_free. */
enum cw_status cw_linear_alloc(const struct cw_run_data *data, struct cw_linear *linear,
                               struct cw_error *error);
void cw_linear_set(struct cw_linear *linear, const struct cw_reference *reference);
/* Only what depends on the lag: where in the profile the recorded heights are looked up. */
void cw_linear_set_lag(struct cw_linear *linear, const struct cw_profile *profile, double lag_s);
void cw_linear_free(struct cw_linear *linear);

#endif
