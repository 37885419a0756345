#include "plan/loose.h"

#include <math.h>

#include "simulate/options.h"

/* What an outing file takes where it does not say. */
static const double temperature_c = 8, pressure_hpa = 10, humidity_percent = 50, wind_ms = 0.3;

void cw_plan_loose_outing(struct cw_analysed *of, double mass_kg) {
    struct cw_simulate_options usual = cw_simulate_options_default();
    struct cw_outing *outing = &of->outing;
    outing->rider = (struct cw_rider){.mass_kg = mass_kg - usual.bike_mass_kg,
                                      .mass_uncertainty_kg = 0.5,
                                      .bike_mass_kg = usual.bike_mass_kg,
                                      .bike_mass_uncertainty_kg = 0.2,
                                      .wheel_inertia_kgm2 = usual.wheel_inertia_kgm2,
                                      .wheel_radius_m = usual.wheel_radius_m};
    outing->air = (struct cw_air){.temperature_c = NAN,
                                  .pressure_hpa = NAN,
                                  .humidity_percent = NAN,
                                  .temperature_uncertainty_c = temperature_c,
                                  .pressure_uncertainty_hpa = pressure_hpa,
                                  .humidity_uncertainty_percent = humidity_percent,
                                  .lapse_k_km = NAN,
                                  .lapse_uncertainty_k_km = NAN,
                                  .pressure_sea_level_hpa = NAN};
    outing->wind_uncertainty_ms = wind_ms;
    outing->crr = outing->crr_uncertainty = outing->elevation_uncertainty_m = NAN;
    outing->wind_ms.uncertainty = outing->runout_m.uncertainty = outing->time_s.uncertainty = NAN;
}
