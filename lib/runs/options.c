#include "runs/options.h"

struct cw_runs_options cw_runs_options_default(void) {
    return (struct cw_runs_options){.mass_kg = 85.0,
                                    .density_kgm3 = 1.2,
                                    .cda_low_m2 = 0.15,
                                    .cda_high_m2 = 0.9,
                                    .crr_low = 0.002,
                                    .crr_high = 0.015,
                                    .most_doubt = 0.3,
                                    .minimum_speed_ms = 2.0};
}
