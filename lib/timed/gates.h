/* Gates: where to put them on a road, and when a run crosses one. */
#ifndef CW_TIMED_GATES_H
#define CW_TIMED_GATES_H

#include <stdbool.h>
#include <stddef.h>

#include "base/error.h"
#include "base/public.h"

CW_PUBLIC_BEGIN

#define CW_GATES_MAX 16
/* Two gates nearer to each other than this time little but the recording's own errors. */
#define CW_GATES_LEAST_M 20.0

/* The part of the road over which a run rolls freely. */
struct cw_gate_reach {
    double from_m, to_m; /* along the road */
    size_t setup;        /* runs of the same setup have the same number */
};

/* Puts n_gates (2..CW_GATES_MAX, into gates_m) evenly on whole metres of the road: the first where
 * the run that starts last is rolling, the last before the run that ends first has ended.
 *
 * A run that is far shorter than the others would cost them all; it is left to miss a gate where
 * that makes (runs that cross both)^2 times length larger. At most a fifth of the runs are, and
 * of no setup more than half. CW_E_DATA where the runs have less than CW_GATES_LEAST_M in common.
 */
enum cw_status cw_gates_choose(size_t n, const struct cw_gate_reach *reaches, size_t n_gates,
                               double *gates_m, struct cw_error *error);

/* A run's samples on the road, borrowed: s_m does not fall, speed_ms is its rate. */
struct cw_gate_track {
    size_t n;
    const double *time_s, *s_m, *speed_ms;
};

struct cw_gate_passage {
    double time_s; /* on the track's clock */
    double speed_ms;
    double acceleration_ms2;
    size_t before;   /* the sample at or before the gate; before + 1 is past it */
    double fraction; /* of the interval between the two that has passed at the gate, 0..1 */
};

/* When the track is at gate_m: within the interval, place is Hermite's cubic of place and speed at
 * its ends (so the answer does not depend on where in the interval the samples fall, to the fourth
 * order of the interval). False, all NaN, where the track does not reach across the gate. */
bool cw_gate_pass(const struct cw_gate_track *track, double gate_m,
                  struct cw_gate_passage *passage);

CW_PUBLIC_END

#endif
