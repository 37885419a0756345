#include "explain/coast.h"

#include <math.h>

#include "fit/workings.h"
#include "physics/descent.h"

/* Allowed a step: a difference of a run's times by a thousandth of a cause is still known to a
 * hundredth. */
static const double relative_error = 1e-11;
/* How far beyond the profile's end a run may roll. */
static const double beyond_m = 300;

static const struct cw_profile *profile_of(const struct cw_explained_road *road) {
    return &road->fit->workings->ways.profile;
}

/* A piece of the road, which begins at from_m. */
struct piece {
    const struct cw_profile *profile;
    double from_m, even, even_slope;
};

static double height(double s_m, const void *state) {
    const struct piece *piece = state;
    return cw_profile_height(piece->profile, piece->from_m + s_m);
}

static double slope(double s_m, const void *state) {
    const struct piece *piece = state;
    double at_m = piece->from_m + s_m;
    if (at_m > cw_profile_end(piece->profile) && isfinite(piece->even_slope))
        return piece->even_slope;
    double here = cw_profile_slope(piece->profile, at_m);
    return piece->even > 0 ? here + piece->even * (piece->even_slope - here) : here;
}

/* Where a coast has come to, so that the next piece begins there. */
struct place {
    double s_m, speed_ms, time_s;
    bool stands, lost;
};

static enum cw_status coast_to(const struct cw_explained_road *road,
                               const struct cw_bicycle *bicycle,
                               const struct cw_surroundings *surroundings, double to_m,
                               struct place *place, struct cw_error *error) {
    bool last = place->s_m >= road->end_m;
    struct piece piece = {profile_of(road), place->s_m, last ? road->even : 0, road->even_slope};
    struct cw_descent_road way = {height, slope, &piece, to_m - place->s_m};
    struct cw_descent_options options = cw_descent_options_default();
    struct cw_descent descent;
    if (place->stands || to_m <= place->s_m) return CW_OK;
    options.start_speed_ms = place->speed_ms;
    options.step_s = 60;
    options.relative_error = relative_error;
    enum cw_status status = cw_descent_run(bicycle, surroundings, &way, &options, &descent, error);
    if (status >= 0) {
        place->s_m += descent.end_s_m;
        place->speed_ms = descent.end_speed_ms;
        place->time_s += descent.end_time_s;
        place->stands = descent.stopped;
    }
    cw_descent_free(&descent);
    /* A state that rolls on for an hour gets nowhere. */
    if (status == CW_E_DATA) place->stands = place->lost = true;
    return status == CW_E_DATA ? CW_OK : status;
}

static struct cw_bicycle bicycle_of(const struct cw_explained_road *road,
                                    const struct cw_explained_state *state) {
    return (struct cw_bicycle){.mass_kg = state->of[CW_PART_MASS],
                               .cda_m2 = state->of[CW_PART_DRAG],
                               .crr = state->of[CW_PART_ROLLING],
                               .wheel_inertia_kgm2 = road->wheel_inertia_kgm2,
                               .wheel_radius_m = road->wheel_radius_m};
}

static struct cw_surroundings surroundings_of(const struct cw_explained_road *road,
                                              const struct cw_explained_state *state) {
    return (struct cw_surroundings){.density_kgm3 = state->of[CW_PART_DENSITY],
                                    .gravity_ms2 = road->fit->place.gravity_ms2,
                                    .wind_along_ms = state->of[CW_PART_WIND],
                                    .column = road->fit->place.column};
}

enum cw_status cw_explained_coast(const struct cw_explained_road *road,
                                  const struct cw_explained_state *state,
                                  double quantity[CW_EXPLAINED], struct cw_error *error) {
    const struct cw_bicycle bicycle = bicycle_of(road, state);
    const struct cw_surroundings surroundings = surroundings_of(road, state);
    struct place place = {.s_m = road->from_m, .speed_ms = state->of[CW_PART_START]};
    enum cw_status status = CW_OK;
    for (int q = 0; q < CW_EXPLAINED; q++) quantity[q] = NAN;
    if (isfinite(road->dip_m)) {
        status = coast_to(road, &bicycle, &surroundings, road->dip_m, &place, error);
        if (!place.stands) quantity[CW_EXPLAINED_DOWN] = place.time_s;
    }
    if (status >= 0) status = coast_to(road, &bicycle, &surroundings, road->to_m, &place, error);
    if (!place.stands) {
        quantity[CW_EXPLAINED_TIME] = place.time_s;
        quantity[CW_EXPLAINED_FAR] = place.time_s - quantity[CW_EXPLAINED_DOWN];
    }
    if (status < 0 || !road->rolls_out) return status;
    /* The profile is known a little past where the runs stood still; from there on the slope is
     * the last metres' mean. */
    double end_m = cw_profile_end(profile_of(road)) + beyond_m;
    if (isfinite(road->end_m))
        status = coast_to(road, &bicycle, &surroundings, road->end_m, &place, error);
    if (status < 0) return status;
    status = coast_to(road, &bicycle, &surroundings, end_m, &place, error);
    if (place.s_m > road->end_m)
        place.s_m = road->end_m + road->stretch * (place.s_m - road->end_m);
    if (place.stands && !place.lost) quantity[CW_EXPLAINED_RUNOUT] = place.s_m - road->from_m;
    return status;
}

void cw_explained_find_dip(struct cw_explained_road *road) {
    enum { STEPS = 400 };
    static const double least_m = 20, least_high_m = 0.5;
    const struct cw_profile *profile = profile_of(road);
    double lowest_m = INFINITY, step_m = (road->to_m - road->from_m) / STEPS;
    road->dip_m = NAN;
    for (int i = 0; i <= STEPS; i++) {
        double s_m = road->from_m + i * step_m, height_m = cw_profile_height(profile, s_m);
        if (!(height_m < lowest_m)) continue;
        lowest_m = height_m;
        road->dip_m = rint(s_m);
    }
    if (!(road->dip_m >= road->from_m + least_m && road->dip_m <= road->to_m - least_m &&
          cw_profile_height(profile, road->from_m) - lowest_m >= least_high_m &&
          cw_profile_height(profile, road->to_m) - lowest_m >= least_high_m))
        road->dip_m = NAN;
}
