#include "plan/day.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "fit/prepare.h"
#include "plan/like.h"
#include "simulate/day.h"

/* Of what is weighed and read before a ride, as an outing file has it where it does not say. */
static const double rider_kg = 0.5, bike_kg = 0.2, air_c = 1, air_hpa = 1, air_percent = 10,
                    wind_ms = 0.3, level_m = 0.01;

static bool add_setups(const struct cw_plan_options *options, struct cw_outing *outing) {
    outing->setups = calloc(options->day.n_setups, sizeof *outing->setups);
    bool whole = outing->setups;
    for (size_t s = 0; s < options->day.n_setups && whole; s++) {
        struct cw_setup *setup = &outing->setups[outing->n_setups++];
        *setup = (struct cw_setup){.name = strdup(options->day.setups[s].name),
                                   .description = strdup(""),
                                   .tyres = strdup("all"),
                                   .drag = strdup(""),
                                   .pressure_kpa = NAN};
        whole = setup->name && setup->description && setup->tyres && setup->drag;
    }
    return whole;
}

static void take_air(const struct cw_plan_options *options, const struct cw_plan_ground *ground,
                     struct cw_plan_day *day) {
    struct cw_outing *outing = &day->outing;
    if (options->like) {
        const struct cw_outing *like = &options->like->outing;
        day->place = options->like->fit.place;
        outing->air = like->air;
        outing->wind_along_ms = like->wind_along_ms;
        outing->wind_uncertainty_ms = like->wind_uncertainty_ms;
        outing->elevation_uncertainty_m = like->elevation_uncertainty_m;
        return;
    }
    struct cw_day air = cw_day_stated(&options->day, ground->middle_height_m);
    day->place = (struct cw_place){.height_m = air.height_m,
                                   .latitude_deg = options->day.latitude_deg,
                                   .temperature_c = air.temperature_c,
                                   .pressure_pa = air.pressure_pa,
                                   .humidity = air.humidity_percent / 100,
                                   .lapse_1m = options->day.lapse_k_km / 1000,
                                   .gravity_ms2 = air.gravity_ms2};
    cw_place_settle(&day->place, outing->elevation);
    outing->air = (struct cw_air){.temperature_c = options->day.temperature_c,
                                  .pressure_hpa = options->day.pressure_hpa,
                                  .humidity_percent = options->day.humidity_percent,
                                  .temperature_uncertainty_c = air_c,
                                  .pressure_uncertainty_hpa = air_hpa,
                                  .humidity_uncertainty_percent = air_percent,
                                  .lapse_k_km = options->day.lapse_k_km,
                                  .lapse_uncertainty_k_km = CW_LAPSE_ERROR_K_KM};
    outing->wind_uncertainty_ms = wind_ms;
    outing->elevation_uncertainty_m = outing->elevation == CW_ELEVATION_LEVEL ? level_m : NAN;
}

enum cw_status cw_plan_day_make(const struct cw_plan_options *options,
                                const struct cw_plan_ground *ground,
                                const struct cw_plan_noise *noise, struct cw_plan_day *day,
                                struct cw_error *error) {
    const struct cw_simulate_options *o = &options->day;
    const struct cw_fit *like = options->like ? &options->like->fit : NULL;
    *day = (struct cw_plan_day){
        .options = o,
        .ground = ground,
        .noise = noise,
        .bicycle = {.mass_kg = options->mass_kg,
                    .cda_m2 = options->cda_m2,
                    .crr = options->crr,
                    .wheel_inertia_kgm2 = o->wheel_inertia_kgm2,
                    .wheel_radius_m = o->wheel_radius_m},
        .outing = {.elevation = o->elevation,
                   .elevation_given = true,
                   .crr = NAN,
                   .crr_uncertainty = NAN,
                   .wind_ms.uncertainty = NAN,
                   .runout_m.uncertainty = NAN,
                   .time_s.uncertainty = NAN},
        .threads = options->threads,
        .speed = like ? cw_plan_like_has_speed(like) : cw_plan_has_speed(options->recorder),
        .by_energy = like ? cw_plan_like_by_energy(like) : !cw_plan_has_speed(options->recorder)};
    /* Of the rider and the bicycle together nothing counts but their mass and how sure it is. */
    struct cw_rider *rider = &day->outing.rider;
    *rider = like ? options->like->outing.rider
                  : (struct cw_rider){.mass_uncertainty_kg = rider_kg,
                                      .bike_mass_uncertainty_kg = bike_kg};
    rider->name = NULL;
    rider->bike_mass_kg = o->bike_mass_kg;
    rider->mass_kg = options->mass_kg - o->bike_mass_kg;
    rider->wheel_inertia_kgm2 = o->wheel_inertia_kgm2;
    rider->wheel_radius_m = o->wheel_radius_m;
    take_air(options, ground, day);
    return add_setups(options, &day->outing) ? CW_OK : cw_error_memory(error);
}

void cw_plan_day_free(struct cw_plan_day *day) {
    cw_outing_free(&day->outing);
    *day = (struct cw_plan_day){0};
}
