/* What was true of a made-up run. */
#ifndef CW_SIMULATE_RUN_H
#define CW_SIMULATE_RUN_H

#include <stddef.h>

#include "base/public.h"
#include "physics/descent.h"

CW_PUBLIC_BEGIN

/* The truth of a run, states every 0.5 s. Owned by the made-up outing, columns and all. */
struct cw_simulated_run {
    size_t setup, recording;
    double mass_kg, cda_m2, crr;
    double start_s, end_s;     /* Unix time; the coast alone */
    struct cw_descent descent; /* s from where the coast begins */
    double *gust_ms;           /* descent.n: headwind over the mean */
    double *height_m;          /* descent.n: true height */
};

CW_PUBLIC_END

#endif
