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
    int way; /* 1: from the road's top to its end; -1: back */
    double mass_kg, cda_m2, crr;
    double temperature_c, pressure_hpa, density_kgm3; /* of its air */
    double start_s, end_s;                            /* Unix time; the coast alone */
    struct cw_descent descent;                        /* s from where the coast begins */
    double *gust_ms;                                  /* descent.n: headwind over the mean */
    double *height_m;                                 /* descent.n: true height */
    double wind_ms;                                   /* mean headwind */
    double brush_start_s, brush_s, brush_ms2; /* the brake was touched: Unix time, how long, mean
                                               * deceleration; 0 s long: it was not */
    double hole_start_s, hole_s; /* nothing was recorded: Unix time, how long; 0 s: no hole */
    size_t n_jumps;              /* of the recorded heights within the run */
    double jump_m;               /* their sum */
    double shared_wind_ms;       /* mean without gusts, against who rides down the road */
    /* What somebody wrote down; NaN: nobody did. */
    double noted_wind_ms; /* of shared_wind_ms */
    double taped_m;       /* from a mark to where the run stood still, + further along */
    double timed_s;       /* between two marks on the road */
};

/* What a sensor beside the road logged. Owned by the made-up outing. */
struct cw_simulated_log {
    size_t n;
    double *time_s;        /* Unix time; a row holds the mean since the one before */
    double *wind_along_ms; /* against who rides down the road */
};

CW_PUBLIC_END

#endif
