#include "outing/outing.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "outing/words.h"

const char *const cw_elevation_words[] = {"barometric", "satellite", "surveyed",
                                          "terrain",    "level",     NULL};

const char *cw_elevation_text(enum cw_elevation elevation) {
    size_t i = (size_t)elevation;
    return i < sizeof cw_elevation_words / sizeof *cw_elevation_words ? cw_elevation_words[i]
                                                                      : NULL;
}

static void free_strings(char **strings, size_t n) {
    for (size_t i = 0; i < n; i++) free(strings[i]);
    free(strings);
}

void cw_outing_free(struct cw_outing *outing) {
    free(outing->file);
    free(outing->name);
    free_strings(outing->recordings, outing->n_recordings);
    free_strings(outing->defaults, outing->n_defaults);
    for (size_t i = 0; i < outing->n_setups; i++) {
        free(outing->setups[i].name);
        free(outing->setups[i].description);
        free(outing->setups[i].tyres);
        free(outing->setups[i].drag);
    }
    free(outing->setups);
    free(outing->own_air);
    free(outing->air_log);
    for (size_t i = 0; i < outing->n_companions; i++) free(outing->companions[i].name);
    free(outing->companions);
    for (size_t i = 0; i < outing->n_own_recordings; i++) {
        free(outing->own_recordings[i].order.setup);
        free(outing->own_recordings[i].skip.number);
    }
    free(outing->own_recordings);
    free(outing->order.setup);
    free(outing->skip.number);
    free(outing->wind_ms.value);
    free(outing->runout_m.value);
    free(outing->time_s.value);
    *outing = (struct cw_outing){0};
}

const struct cw_rider *cw_outing_rider(const struct cw_outing *outing, size_t rider) {
    return rider ? &outing->companions[rider - 1] : &outing->rider;
}

const struct cw_own_recording *cw_outing_own_recording(const struct cw_outing *outing,
                                                       size_t recording) {
    for (size_t i = 0; i < outing->n_own_recordings; i++)
        if (outing->own_recordings[i].recording == recording) return &outing->own_recordings[i];
    return NULL;
}

size_t cw_outing_rider_of(const struct cw_outing *outing, size_t recording) {
    const struct cw_own_recording *own = cw_outing_own_recording(outing, recording);
    return own ? own->rider : 0;
}

size_t cw_outing_drag_of(const struct cw_outing *outing, size_t setup) {
    if (setup == CW_NO_SETUP) return setup;
    const struct cw_setup *of = &outing->setups[setup];
    for (size_t i = 0; i < setup && *of->drag; i++)
        if (outing->setups[i].rider == of->rider && !strcmp(outing->setups[i].drag, of->drag))
            return i;
    return setup;
}

struct cw_bicycle cw_outing_bicycle(const struct cw_outing *outing, size_t rider, size_t setup) {
    const struct cw_rider *of = cw_outing_rider(outing, rider);
    double load_kg = setup == CW_NO_SETUP ? 0 : outing->setups[setup].load_kg;
    return (struct cw_bicycle){.mass_kg = of->mass_kg + of->bike_mass_kg + load_kg,
                               .wheel_inertia_kgm2 = of->wheel_inertia_kgm2,
                               .wheel_radius_m = of->wheel_radius_m};
}

double cw_outing_pressure_kpa(const struct cw_outing *outing, const char *tyres) {
    for (size_t i = 0; i < outing->n_setups; i++)
        if (!strcmp(outing->setups[i].tyres, tyres) && isfinite(outing->setups[i].pressure_kpa))
            return outing->setups[i].pressure_kpa;
    return NAN;
}
