#include "simulate/describe.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/print.h"

/* The recordings of the rider, then the companion's. */
static char *recording_name(const struct cw_simulate_options *options, size_t i) {
    char name[64], part[24] = "";
    size_t n = cw_simulate_recordings(options);
    if (n > 1) cw_print(part, sizeof part, "-%zu", i % n + 1);
    cw_print(name, sizeof name, "%s%s.%s%s", i < n ? "ride" : CW_SIMULATE_COMPANION, part,
             cw_format_word(options->format), options->gzip ? ".gz" : "");
    return strdup(name);
}

/* Without a name. */
static struct cw_rider rider_of(const struct cw_simulate_options *options) {
    struct cw_rider rider = {.mass_kg = options->rider_mass_kg,
                             .mass_uncertainty_kg = 0.3,
                             .bike_mass_kg = options->bike_mass_kg,
                             .bike_mass_uncertainty_kg = 0.1,
                             .wheel_inertia_kgm2 = options->wheel_inertia_kgm2,
                             .wheel_radius_m = options->wheel_radius_m};
    return rider;
}

static bool describe_recordings(const struct cw_simulate_options *options,
                                struct cw_simulated *simulated) {
    struct cw_outing *outing = &simulated->outing;
    outing->recordings = calloc(simulated->n_recordings, sizeof *outing->recordings);
    bool whole = outing->recordings;
    for (size_t i = 0; i < simulated->n_recordings && whole; i++) {
        outing->recordings[i] = recording_name(options, i);
        outing->n_recordings++;
        simulated->recordings[i].file = recording_name(options, i);
        whole = outing->recordings[i] && simulated->recordings[i].file;
    }
    return whole;
}

static bool add_setup(struct cw_outing *outing, const struct cw_simulate_setup *as, size_t rider) {
    struct cw_setup *setup = &outing->setups[outing->n_setups++];
    setup->name = strdup(as->name);
    setup->description = strdup("");
    setup->tyres = strdup(as->tyres);
    setup->drag = strdup("");
    setup->load_kg = as->load_kg;
    setup->pressure_kpa = NAN;
    setup->rider = rider;
    return setup->name && setup->description && setup->tyres && setup->drag;
}

static bool describe_setups(const struct cw_simulate_options *options, struct cw_outing *outing) {
    outing->setups = calloc(options->n_setups + 1, sizeof *outing->setups);
    outing->order.setup = calloc(options->n_order, sizeof *outing->order.setup);
    bool whole = outing->setups && outing->order.setup;
    for (size_t i = 0; i < options->n_setups && whole; i++)
        whole = add_setup(outing, &options->setups[i], 0);
    for (size_t i = 0; i < options->n_order && whole; i++)
        outing->order.setup[outing->order.n++] = options->order[i];
    return whole;
}

/* The companion's setup is the last, and that of all the companion's recordings. */
static bool describe_companion(const struct cw_simulate_options *options,
                               struct cw_outing *outing) {
    struct cw_simulate_options companion = cw_simulate_options_companion(options);
    size_t first = cw_simulate_recordings(options);
    outing->companions = calloc(1, sizeof *outing->companions);
    outing->own_recordings = calloc(outing->n_recordings - first, sizeof *outing->own_recordings);
    if (!outing->companions || !outing->own_recordings) return false;
    outing->n_companions = 1;
    for (size_t i = first; i < outing->n_recordings; i++)
        outing->own_recordings[outing->n_own_recordings++] =
            (struct cw_own_recording){.recording = i, .rider = 1, .setup = outing->n_setups};
    outing->companions[0] = rider_of(&companion);
    outing->companions[0].name = strdup(CW_SIMULATE_COMPANION);
    return outing->companions[0].name && add_setup(outing, &companion.setups[0], 1);
}

/* How sure a thermometer beside the road is, C. */
#define THERMOMETER_C 0.5

/* Each recording's temperature, that of its runs, where it warms. */
static bool describe_warming(const struct cw_simulated *simulated, struct cw_outing *outing) {
    outing->own_air = calloc(simulated->n_recordings, sizeof *outing->own_air);
    if (!outing->own_air) return false;
    for (size_t r = 0; r < simulated->n_recordings; r++) {
        struct cw_own_air *own = &outing->own_air[outing->n_own_air++];
        *own = (struct cw_own_air){.recording = r, .air = CW_AIR_UNSAID};
        own->air.temperature_uncertainty_c = THERMOMETER_C;
    }
    for (size_t i = 0; i < simulated->n_runs; i++) {
        const struct cw_simulated_run *all[] = {simulated->runs, simulated->companion_runs};
        for (int who = 0; who < 2; who++)
            if (all[who])
                outing->own_air[all[who][i].recording].air.temperature_c =
                    all[who][i].temperature_c;
    }
    return true;
}

/* A value a run: the field at that offset. No notes where there is none. */
static bool describe_notes(const struct cw_simulated *simulated, size_t offset, double uncertainty,
                           struct cw_notes *notes) {
    notes->value = calloc(simulated->n_runs, sizeof *notes->value);
    if (!notes->value) return false;
    bool any = false;
    for (size_t i = 0; i < simulated->n_runs; i++) {
        const char *run = (const char *)&simulated->runs[i];
        notes->value[i] = *(const double *)(const void *)(run + offset);
        any = any || !isnan(notes->value[i]);
    }
    if (!any) return true;
    notes->n = simulated->n_runs;
    notes->uncertainty = uncertainty;
    return true;
}

#define NOTED(field) offsetof(struct cw_simulated_run, field)

/* An error of 0 is more than a file may claim. */
static bool describe_known(const struct cw_simulate_options *options,
                           struct cw_simulated *simulated) {
    struct cw_outing *outing = &simulated->outing;
    bool whole = true;
    if (options->air_log) whole = (outing->air_log = strdup(CW_SIMULATE_LOG));
    if (options->note_wind)
        whole = whole && describe_notes(simulated, NOTED(noted_wind_ms),
                                        fmax(options->note_sd_ms, 0.01), &outing->wind_ms);
    if (options->tape)
        whole = whole && describe_notes(simulated, NOTED(taped_m), fmax(options->tape_sd_m, 0.001),
                                        &outing->runout_m);
    if (options->watch)
        whole = whole && describe_notes(simulated, NOTED(timed_s), fmax(options->watch_sd_s, 0.001),
                                        &outing->time_s);
    outing->starts_at_mark = options->tape && options->start_speed_ms == 0;
    return whole;
}

enum cw_status cw_simulate_describe(const struct cw_simulate_options *options,
                                    struct cw_simulated *simulated, struct cw_error *error) {
    struct cw_outing *outing = &simulated->outing;
    *outing = (struct cw_outing){
        .rider = rider_of(options),
        .elevation = options->elevation,
        .air.temperature_c = options->temperature_c,
        .air.pressure_hpa = options->pressure_hpa,
        .air.humidity_percent = options->humidity_percent,
        .air.temperature_uncertainty_c = hypot(1, options->temperature_sd_c),
        .air.pressure_uncertainty_hpa = hypot(1, options->pressure_sd_hpa),
        .air.humidity_uncertainty_percent = 10,
        .air.lapse_k_km = NAN,
        .air.lapse_uncertainty_k_km = NAN,
        .wind_given = true,
        .wind_along_ms = options->stated_wind_ms,
        .wind_uncertainty_ms = 0.2,
        .elevation_given = true,
        .elevation_uncertainty_m = options->elevation == CW_ELEVATION_LEVEL ? 0.01 : NAN,
        .crr = NAN,
        .crr_uncertainty = NAN,
        .wind_ms.uncertainty = NAN,
        .runout_m.uncertainty = NAN,
        .time_s.uncertainty = NAN,
    };
    outing->file = strdup("outing.ini");
    outing->name = strdup(options->name);
    bool whole = outing->file && outing->name && describe_recordings(options, simulated) &&
                 describe_setups(options, outing) &&
                 (!options->companion || describe_companion(options, outing)) &&
                 describe_known(options, simulated) &&
                 (options->warming_k == 0 || describe_warming(simulated, outing));
    return whole ? CW_OK : cw_error_memory(error);
}
