/* The energy balance along a ride: how fast mechanical energy is lost, and what a coast would make
 * of it. Energy is written as a head, height and kinetic head together (metres); a coast loses it
 * by the losses of physics/forces.h. */
#ifndef CW_RUNS_BALANCE_H
#define CW_RUNS_BALANCE_H

#include <stdbool.h>
#include <stddef.h>

#include "base/error.h"
#include "motion/motion.h"
#include "physics/forces.h"
#include "recording/recording.h"
#include "runs/options.h"

/* The heights that a ride is judged by: its own, or what all who passed there make of them
 * (runs/relief.h). */
struct cw_heights {
    double *height_m;       /* owned until a balance takes it */
    const bool *by_fellows; /* whether others who coasted there tell it; NULL: nowhere; borrowed */
    double sd_m;            /* scatter of those that they don't tell */
    double slow; /* slow errors of those, as a balance has shown them; NaN: see for yourself */
};

struct cw_balance {
    size_t n;
    double *head_m; /* e; NaN where height or speed is missing */
    /* de/dt by a straight line over some seconds; NaN where unknown. NULL once nobody asks any more
     * (cw_balance_forget_rates). */
    double *rate_ms, *rate_sd_ms;
    double slow; /* what slow errors of heights make of a rate, a metre; of those that fellows don't
                  * tell */
    /* Error of head_m: its variance times the time over which errors go together; and, on a road
     * said to be level, beside that what gusts make of it (cw_balance_gusts). */
    double *density_m2s;
    bool level;
    const double *speed_ms; /* the motion's, borrowed */
};

/* What gusts make in a stretch that lasts so long, as a part of that. */
double cw_gusts_part(double lasts_s);
/* What gusts make of the error beside its density, at sample i over half a minute: they add up. */
double cw_balance_gusts(const struct cw_balance *balance, size_t i);
/* Both together, at sample i of a coast that lasts so long. */
double cw_balance_density(const struct cw_balance *balance, size_t i, double lasts_s);

/* What a coast loses of its head a metre, in still air on a level road; the wheels' inertia is
 * left out (1 %). */
struct cw_loss cw_balance_loss(const struct cw_runs_options *options, double speed_ms);

/* Windows of 6 s (fine heights) to 12 s (heights uncertain by some decimetres).
 * The column of the heights becomes that of the head, and is the balance's from then on, whatever
 * comes of it. Free with cw_balance_free, also after an error. */
enum cw_status cw_balance_make(const struct cw_recording *recording, const struct cw_motion *motion,
                               const struct cw_heights *heights,
                               const struct cw_runs_options *options, struct cw_balance *balance,
                               struct cw_error *error);

/* Fills even_m[n]: the head with what a coast of that CdA loses added back, which a coast keeps. */
void cw_balance_even(const struct cw_balance *balance, const struct cw_motion *motion,
                     const struct cw_runs_options *options, double cda_m2, double *even_m);
void cw_balance_forget_rates(struct cw_balance *balance);
void cw_balance_free(struct cw_balance *balance);

#endif
