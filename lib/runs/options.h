/* What is known of the rider and asked of a run before runs are looked for. */
#ifndef CW_RUNS_OPTIONS_H
#define CW_RUNS_OPTIONS_H

#include <stddef.h>

#include "base/public.h"

CW_PUBLIC_BEGIN

struct cw_runs_options {
    double mass_kg;                 /* for the energy balance; 85 by default */
    double density_kgm3;            /* 1.2 by default */
    double cda_low_m2, cda_high_m2; /* a coast loses energy as these explain: 0.15, 0.9 */
    double crr_low, crr_high;       /* 0.002, 0.015 */
    double most_doubt; /* a run is kept that alone would tell CdA or Crr to this part of itself:
                        * 0.3 by default (runs/worth.h); 5 samples are wanted too */
    double minimum_speed_ms; /* a run ends where speed falls below: 2.0 by default */
    size_t threads; /* at most so many at once; 0, the default, and 1: the caller's alone */
};
struct cw_runs_options cw_runs_options_default(void);

CW_PUBLIC_END

#endif
