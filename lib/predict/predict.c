#include "predict/predict.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/print.h"
#include "fit/workings.h"
#include "physics/air.h"
#include "physics/gravity.h"
#include "predict/coast.h"
#include "predict/sure.h"

/* The usual wheels, as an outing file has them where it says nothing. */
static const double usual_inertia_kgm2 = 0.14, usual_radius_m = 0.334;
/* Steps by which the answers to a fit's CdA and Crr are found. */
static const double log_cda_step = 0.01, crr_step = 1e-4;

#define KELVIN 273.15

struct cw_predict_options cw_predict_options_default(void) {
    return (struct cw_predict_options){.base = cw_predict_case_none()};
}

const char *cw_predict_end_text(enum cw_predict_end end) {
    static const char *const texts[] = {"still rolling at the end", "stands still on the way",
                                        "never moves"};
    return texts[end];
}

/* All that rides are worked out from. */
struct predictor {
    const struct cw_predict_options *options;
    struct cw_setups_together together;
};

/* Whether it rides the road of the very outing that CdA and Crr are from. */
static bool own_road(const struct cw_predict_options *options) {
    return options->from && options->from->fit.workings &&
           options->road->profile == &options->from->fit.workings->ways.profile;
}

/* ---- the inputs of a ride ---- */

static double given(const struct cw_predict_case *of, size_t i) {
    return of->number[i].value;
}

static void put(struct cw_predict_ride *ride, size_t i, double value, double sd, bool ties) {
    ride->input[i] = (struct cw_predict_input){.value = value, .sd = sd, .tied = ties};
}

/* Air of the standard atmosphere at a height; the device's heights are known well enough. */
static void usual_air(struct cw_predict_ride *ride, double height_m) {
    put(ride, CW_PREDICT_ALTITUDE, height_m, 0, false);
    put(ride, CW_PREDICT_TEMPERATURE, cw_isa_temperature_k(height_m) - KELVIN, 0, false);
    put(ride, CW_PREDICT_PRESSURE, 0.01 * cw_isa_pressure_pa(height_m), 0, false);
    put(ride, CW_PREDICT_HUMIDITY, 0, 0, false);
}

/* What every ride has where nobody says otherwise. */
static void begin_usual(const struct cw_predict_road *road, struct cw_predict_ride *ride) {
    for (size_t i = 0; i < CW_PREDICT_INPUTS; i++) put(ride, i, 0, 0, false);
    double height_m = isfinite(road->middle_height_m) ? road->middle_height_m : 0;
    put(ride, CW_PREDICT_CDA_GIVEN, NAN, 0, false);
    put(ride, CW_PREDICT_CRR_GIVEN, NAN, 0, false);
    put(ride, CW_PREDICT_MASS_GIVEN, NAN, 0, false);
    put(ride, CW_PREDICT_DENSITY_GIVEN, NAN, 0, false);
    usual_air(ride, height_m);
    put(ride, CW_PREDICT_START_SPEED, road->entry_speed_ms, 0, false);
    put(ride, CW_PREDICT_INERTIA, usual_inertia_kgm2, 0, false);
    put(ride, CW_PREDICT_RADIUS, usual_radius_m, 0, false);
    put(ride, CW_PREDICT_GRAVITY,
        isfinite(road->latitude_deg) ? cw_gravity(road->latitude_deg, height_m)
                                     : CW_STANDARD_GRAVITY_MS2,
        0, false);
    put(ride, CW_PREDICT_CRR_FALL, CW_CRR_FALL_1K, CW_CRR_FALL_SD_1K, false);
    put(ride, CW_PREDICT_SCALE, 1, road->scale_sd, false);
    put(ride, CW_PREDICT_TILT, 0, road->tilt_sd_m, false);
}

static size_t outing_setup(const struct cw_outing *outing, const char *name) {
    size_t s = 0;
    while (s < outing->n_setups && strcmp(outing->setups[s].name, name)) s++;
    return s;
}

/* A cause's standard uncertainty, in the budget's units: C, hPa, per cent. */
static double cause_sd(const struct predictor *of, enum cw_cause_kind kind) {
    double unused, sd;
    cw_setups_together_cause(&of->together, 0, kind, &unused, &unused, &sd);
    return sd;
}

/* A setup of the outing as it was fitted: its CdA and Crr, its bicycle. */
static enum cw_status take_setup(const struct predictor *of, size_t setup,
                                 struct cw_predict_ride *ride, struct cw_error *error) {
    const struct cw_analysed *from = of->options->from;
    const struct cw_outing *outing = &from->outing;
    size_t s = outing_setup(outing, from->average.setups[setup].name);
    const struct cw_rider *rider = cw_outing_rider(outing, outing->setups[s].rider);
    struct cw_bicycle bicycle = cw_outing_bicycle(outing, outing->setups[s].rider, s);
    struct cw_estimate log_cda, crr;
    double unused, load_sd;
    enum cw_status status =
        cw_setups_together_level(&of->together, setup, &log_cda, &crr, &unused, error);
    if (status < 0) return status;
    ride->setup = setup;
    ride->cda_fitted = ride->crr_fitted = ride->crr_here = true;
    ride->crr_at_c = from->fit.temperature_c;
    put(ride, CW_PREDICT_CDA_GIVEN, exp(log_cda.value), 0, false);
    put(ride, CW_PREDICT_CRR_GIVEN, crr.value, 0, false);
    put(ride, CW_PREDICT_MASS_GIVEN, bicycle.mass_kg,
        hypot(rider->mass_uncertainty_kg, rider->bike_mass_uncertainty_kg), true);
    put(ride, CW_PREDICT_INERTIA, rider->wheel_inertia_kgm2,
        0.01 * cause_sd(of, CW_CAUSE_INERTIA) * rider->wheel_inertia_kgm2, true);
    put(ride, CW_PREDICT_RADIUS, rider->wheel_radius_m, 0, false);
    cw_setups_together_cause(&of->together, setup, CW_CAUSE_LOAD, &unused, &unused, &load_sd);
    put(ride, CW_PREDICT_SETUP_LOAD, 0, outing->setups[s].load_kg != 0 ? load_sd : 0, true);
    return CW_OK;
}

/* The outing's air and place. */
static void take_outing(const struct predictor *of, struct cw_predict_ride *ride) {
    const struct cw_analysed *from = of->options->from;
    const struct cw_place *place = &from->fit.place;
    put(ride, CW_PREDICT_ALTITUDE, place->height_m, 0, false);
    put(ride, CW_PREDICT_TEMPERATURE, place->temperature_c, cause_sd(of, CW_CAUSE_TEMPERATURE),
        true);
    put(ride, CW_PREDICT_PRESSURE, 0.01 * place->pressure_pa, cause_sd(of, CW_CAUSE_PRESSURE),
        true);
    put(ride, CW_PREDICT_HUMIDITY, 100 * place->humidity, cause_sd(of, CW_CAUSE_HUMIDITY), true);
    put(ride, CW_PREDICT_GRAVITY, place->gravity_ms2, 0, false);
    put(ride, CW_PREDICT_CRR_FALL, from->fit.crr_fall_1k.value,
        from->fit.crr_fall_1k.standard_error, true);
    if (own_road(of->options))
        put(ride, CW_PREDICT_SCALE, 1, 0.01 * cause_sd(of, CW_CAUSE_HEIGHT_SCALE), true);
}

/* Another altitude has air as much colder and thinner as the standard atmosphere has it. */
static void change_altitude(const struct cw_predict_case *with, double from_m, double to_m,
                            struct cw_predict_ride *ride) {
    if (isnan(given(with, CW_PREDICT_TEMPERATURE)))
        ride->input[CW_PREDICT_TEMPERATURE].value +=
            cw_isa_temperature_k(to_m) - cw_isa_temperature_k(from_m);
    if (isnan(given(with, CW_PREDICT_PRESSURE)))
        ride->input[CW_PREDICT_PRESSURE].value *=
            cw_isa_pressure_pa(to_m) / cw_isa_pressure_pa(from_m);
}

static double density_of(const struct cw_predict_ride *ride) {
    return cw_air_density(ride->input[CW_PREDICT_TEMPERATURE].value,
                          100 * ride->input[CW_PREDICT_PRESSURE].value,
                          0.01 * ride->input[CW_PREDICT_HUMIDITY].value);
}

/* Lays a case over what the ride has. owner: the case's number. */
static void take_case(const struct cw_predict_case *with, size_t owner,
                      struct cw_predict_ride *ride) {
    double altitude_m = ride->input[CW_PREDICT_ALTITUDE].value, density = density_of(ride),
           before_c = ride->input[CW_PREDICT_TEMPERATURE].value;
    for (size_t i = 0; i < CW_PREDICT_NUMBER_NAMES; i++) {
        if (isnan(given(with, i))) continue;
        ride->input[i] = (struct cw_predict_input){
            .value = with->number[i].value, .sd = with->number[i].sd, .owner = owner};
    }
    if (!isnan(given(with, CW_PREDICT_CDA_GIVEN))) ride->cda_fitted = false;
    /* A mass that is given is that of all. */
    if (!isnan(given(with, CW_PREDICT_MASS_GIVEN))) put(ride, CW_PREDICT_SETUP_LOAD, 0, 0, false);
    if (!isnan(given(with, CW_PREDICT_ALTITUDE)))
        change_altitude(with, altitude_m, given(with, CW_PREDICT_ALTITUDE), ride);
    if (!isnan(given(with, CW_PREDICT_CRR_GIVEN))) {
        ride->crr_fitted = false;
        ride->crr_here = true;
    } else if (ride->input[CW_PREDICT_TEMPERATURE].value != before_c && ride->crr_here) {
        ride->crr_here = false;
        if (!ride->crr_fitted) ride->crr_at_c = before_c;
    }
    /* A density that was given before goes with the air that is now another. */
    if (isnan(given(with, CW_PREDICT_DENSITY_GIVEN)))
        ride->input[CW_PREDICT_DENSITY_GIVEN].value *= density_of(ride) / density;
}

/* Base and case: what is the outing's, what the base gives, what the case changes. A setup that the
 * case names brings its own CdA and Crr. */
static enum cw_status lay_inputs(const struct predictor *of, size_t number,
                                 struct cw_predict_ride *ride, struct cw_error *error) {
    const struct cw_predict_options *options = of->options;
    const struct cw_predict_case *with = number ? &options->with[number - 1] : NULL;
    struct cw_predict_case base = options->base;
    const char *name = with && *with->setup ? with->setup : base.setup;
    *ride = (struct cw_predict_ride){.crr_here = true};
    begin_usual(options->road, ride);
    if (options->from) {
        const struct cw_compare *compare = &options->from->average;
        size_t setup = *name ? cw_compare_setup_named(compare, name) : 0;
        if (setup == compare->n_setups)
            return cw_error_set(error, CW_E_ARGUMENT, NULL, 0,
                                "no run of %s is of a setup called \"%s\"",
                                options->from->outing.file, name);
        if (setup >= compare->n_told)
            return cw_error_set(error, CW_E_DATA, options->from->outing.file, 0,
                                "the runs of %s tell no CdA to predict with", name);
        take_outing(of, ride);
        enum cw_status status = take_setup(of, setup, ride, error);
        if (status < 0) return status;
    } else if (*name) {
        return cw_error_set(error, CW_E_ARGUMENT, NULL, 0,
                            "setup \"%s\" is of no outing: give one to take it from", name);
    }
    if (with && *with->setup)
        base.number[CW_PREDICT_CDA_GIVEN].value = base.number[CW_PREDICT_CRR_GIVEN].value = NAN;
    take_case(&base, 0, ride);
    if (with) take_case(with, number, ride);
    return CW_OK;
}

/* ---- the ride ---- */

/* The outing's own road has its heights from a barometer that takes its air for standard: by how
 * much they are other than recorded where the outing's air is. */
static double own_heights(const struct predictor *of, const struct cw_predict_ride *ride,
                          double density, double pressure_hpa) {
    const struct cw_analysed *from = of->options->from;
    const struct cw_place *place = from ? &from->fit.place : NULL;
    bool own = own_road(of->options) && from->outing.elevation == CW_ELEVATION_BAROMETRIC;
    if (!own || !ride->input[CW_PREDICT_TEMPERATURE].tied ||
        !ride->input[CW_PREDICT_PRESSURE].tied ||
        !isnan(ride->input[CW_PREDICT_DENSITY_GIVEN].value))
        return 1;
    return cw_barometric_scale(density, 100 * pressure_hpa, place->gravity_ms2) /
           cw_barometric_scale(place->density_kgm3, place->pressure_pa, place->gravity_ms2);
}

static struct cw_coast_state state_of(const struct predictor *of,
                                      const struct cw_predict_ride *ride,
                                      const double input[CW_PREDICT_INPUTS]) {
    double density = input[CW_PREDICT_DENSITY_GIVEN], temperature_c = input[CW_PREDICT_TEMPERATURE],
           pressure_pa = 100 * input[CW_PREDICT_PRESSURE],
           humidity = 0.01 * input[CW_PREDICT_HUMIDITY], gravity_ms2 = input[CW_PREDICT_GRAVITY];
    double lapse_1m =
        own_road(of->options) ? of->options->from->fit.place.lapse_1m : CW_ISA_LAPSE_1M;
    struct cw_air_column column = {0}; /* a density that is given is that of all the road */
    if (isnan(density)) {
        density = cw_air_density(temperature_c, pressure_pa, humidity);
        column = cw_air_column_make(of->options->road->air_height_m, temperature_c, pressure_pa,
                                    humidity, lapse_1m, gravity_ms2);
    }
    double warmer_k = ride->crr_here ? 0 : temperature_c - ride->crr_at_c;
    return (struct cw_coast_state){
        .bicycle = {.mass_kg = input[CW_PREDICT_MASS_GIVEN] + input[CW_PREDICT_LOAD] +
                               input[CW_PREDICT_SETUP_LOAD],
                    .cda_m2 = input[CW_PREDICT_CDA_GIVEN],
                    .crr = input[CW_PREDICT_CRR_GIVEN] *
                           cw_crr_warmer(input[CW_PREDICT_CRR_FALL], warmer_k),
                    .wheel_inertia_kgm2 = input[CW_PREDICT_INERTIA],
                    .wheel_radius_m = input[CW_PREDICT_RADIUS],
                    .frictionless_bearings = of->options->no_bearings},
        .surroundings = {.density_kgm3 = density,
                         .gravity_ms2 = gravity_ms2,
                         .wind_along_ms = input[CW_PREDICT_WIND],
                         .column = column},
        .start_speed_ms = input[CW_PREDICT_START_SPEED],
        .power_w = input[CW_PREDICT_POWER],
        .height_scale =
            input[CW_PREDICT_SCALE] * own_heights(of, ride, density, input[CW_PREDICT_PRESSURE]),
        .tilt_m = input[CW_PREDICT_TILT]};
}

static enum cw_status check_inputs(const struct cw_predict_ride *ride, struct cw_error *error) {
    static const struct {
        size_t input;
        const char *what, *key;
    } needed[] = {{CW_PREDICT_CDA_GIVEN, "CdA", "cda"},
                  {CW_PREDICT_CRR_GIVEN, "Crr", "crr"},
                  {CW_PREDICT_MASS_GIVEN, "mass", "mass-kg"}};
    for (size_t i = 0; i < sizeof needed / sizeof *needed; i++)
        if (isnan(ride->input[needed[i].input].value))
            return cw_error_set(error, CW_E_ARGUMENT, NULL, 0,
                                "there is no %s: give --%s, or an outing that tells it",
                                needed[i].what, needed[i].key);
    double mass_kg = ride->input[CW_PREDICT_MASS_GIVEN].value + ride->input[CW_PREDICT_LOAD].value;
    if (!(mass_kg > 0))
        return cw_error_set(error, CW_E_ARGUMENT, NULL, 0,
                            "mass and load make %g kg together: give more", mass_kg);
    return CW_OK;
}

/* The quantities with one input elsewhere; all NaN where that ride ends neither way. */
static void with_input(const struct predictor *of, const struct cw_predict_ride *ride, size_t i,
                       double to, double quantity[CW_PREDICT_QUANTITIES]) {
    double input[CW_PREDICT_INPUTS];
    enum cw_predict_end unused;
    const struct cw_coast_asked asked = {of->options->worth_kg, of->options->wanted_time_s};
    for (size_t k = 0; k < CW_PREDICT_INPUTS; k++) input[k] = ride->input[k].value;
    input[i] = to;
    struct cw_coast_state state = state_of(of, ride, input);
    if (cw_coast_predict(of->options->road, &state, &asked, quantity, &unused, NULL, NULL) < 0)
        for (size_t q = 0; q < CW_PREDICT_QUANTITIES; q++) quantity[q] = NAN;
}

/* Inputs that can't be less. */
static double least_of(size_t i) {
    bool bounded = i == CW_PREDICT_CDA_GIVEN || i == CW_PREDICT_CRR_GIVEN ||
                   i == CW_PREDICT_START_SPEED || i == CW_PREDICT_POWER ||
                   i == CW_PREDICT_HUMIDITY || i == CW_PREDICT_INERTIA;
    return bounded ? 0 : -INFINITY;
}

/* How the quantities answer to input i, for so much of it: the mean of what it does up and down, or
 * the one side where the other is out of reach or the ride ends otherwise there. */
static void answer_to(const struct predictor *of, const struct cw_predict_ride *ride, size_t i,
                      double step, double by[CW_PREDICT_QUANTITIES]) {
    double above[CW_PREDICT_QUANTITIES], below[CW_PREDICT_QUANTITIES] = {0};
    double value = ride->input[i].value, down = fmin(step, value - least_of(i));
    with_input(of, ride, i, value + step, above);
    if (down > 0) with_input(of, ride, i, value - down, below);
    for (size_t q = 0; q < CW_PREDICT_QUANTITIES; q++) {
        double at = ride->quantity[q], up = above[q] - at,
               low = down > 0 ? (at - below[q]) / down * step : NAN;
        by[q] = isnan(up) ? low : isnan(low) ? up : 0.5 * (up + low);
    }
}

static enum cw_status take_ride(const struct predictor *of, size_t number,
                                struct cw_predict_ride *ride, struct cw_predicted *predicted,
                                struct cw_error *error) {
    const struct cw_predict_options *options = of->options;
    const struct cw_coast_asked asked = {options->worth_kg, options->wanted_time_s};
    double input[CW_PREDICT_INPUTS];
    enum cw_status status = lay_inputs(of, number, ride, error);
    if (status >= 0) status = check_inputs(ride, error);
    if (status < 0) return status;
    for (size_t i = 0; i < CW_PREDICT_INPUTS; i++) input[i] = ride->input[i].value;
    struct cw_coast_state state = state_of(of, ride, input);
    status = cw_coast_predict(options->road, &state, &asked, ride->quantity, &predicted->end,
                              options->trace ? &predicted->trace : NULL, error);
    if (status < 0) return status;
    for (size_t i = 0; i < CW_PREDICT_INPUTS; i++)
        if (ride->input[i].sd > 0) answer_to(of, ride, i, ride->input[i].sd, ride->by_input[i]);
    if (ride->cda_fitted) {
        double step = log_cda_step * ride->input[CW_PREDICT_CDA_GIVEN].value;
        answer_to(of, ride, CW_PREDICT_CDA_GIVEN, step, ride->by_log_cda);
        for (size_t q = 0; q < CW_PREDICT_QUANTITIES; q++) ride->by_log_cda[q] /= log_cda_step;
    }
    if (ride->crr_fitted) {
        answer_to(of, ride, CW_PREDICT_CRR_GIVEN, crr_step, ride->by_crr);
        for (size_t q = 0; q < CW_PREDICT_QUANTITIES; q++) ride->by_crr[q] /= crr_step;
    }
    return CW_OK;
}

/* ---- what is told of it ---- */

static enum cw_status tell(const struct predictor *of, const struct cw_predict_ride *rides,
                           size_t number, struct cw_predicted *predicted, struct cw_error *error) {
    const struct cw_predict_options *options = of->options;
    const struct cw_predict_ride *ride = &rides[number];
    const struct cw_predict_case *with = number ? &options->with[number - 1] : NULL;
    const struct cw_setups_together *together = options->from ? &of->together : NULL;
    enum cw_status status = CW_OK;
    predicted->correlation = NAN;
    if (with) cw_print(predicted->label, sizeof predicted->label, "%s", with->label);
    if (ride->cda_fitted || ride->crr_fitted)
        cw_print(predicted->setup, sizeof predicted->setup, "%s",
                 options->from->average.setups[ride->setup].name);
    for (size_t i = 0; i < CW_PREDICT_NUMBER_NAMES; i++) {
        predicted->number[i] = (struct cw_predict_number){ride->input[i].value, ride->input[i].sd};
        predicted->usual[i] = isnan(given(&options->base, i)) && (!with || isnan(given(with, i))) &&
                              !(options->from && i != CW_PREDICT_WIND &&
                                i != CW_PREDICT_START_SPEED && i != CW_PREDICT_POWER);
    }
    for (size_t q = 0; q < CW_PREDICT_QUANTITIES && status >= 0; q++) {
        status = cw_predict_estimate(ride, NULL, together, q, &predicted->of[q], error);
        if (status >= 0)
            status =
                cw_predict_estimate(ride, &rides[0], together, q, &predicted->difference[q], error);
    }
    if (status >= 0 && ride->cda_fitted && ride->crr_fitted) {
        struct cw_estimate log_cda, crr;
        status = cw_setups_together_level(together, ride->setup, &log_cda, &crr,
                                          &predicted->correlation, error);
    }
    return status;
}

enum cw_status cw_predict(const struct cw_predict_options *options,
                          struct cw_prediction *prediction, struct cw_error *error) {
    struct predictor of = {.options = options};
    size_t n = 1 + options->n_with;
    struct cw_predict_ride *rides = calloc(n, sizeof *rides);
    *prediction = (struct cw_prediction){.road = options->road,
                                         .from = options->from,
                                         .worth_kg = options->worth_kg,
                                         .wanted_time_s = options->wanted_time_s,
                                         .n = n,
                                         .at = calloc(n, sizeof *prediction->at)};
    enum cw_status status = rides && prediction->at ? CW_OK : cw_error_memory(error);
    if (status >= 0 && options->from)
        status = cw_setups_together_make(&options->from->fit, &options->from->average, &of.together,
                                         error);
    for (size_t i = 0; i < n && status >= 0; i++)
        status = take_ride(&of, i, &rides[i], &prediction->at[i], error);
    for (size_t i = 0; i < n && status >= 0; i++)
        status = tell(&of, rides, i, &prediction->at[i], error);
    cw_setups_together_free(&of.together);
    free(rides);
    if (status < 0) cw_prediction_free(prediction);
    return status;
}

void cw_prediction_free(struct cw_prediction *prediction) {
    for (size_t i = 0; prediction->at && i < prediction->n; i++)
        cw_predict_trace_free(&prediction->at[i].trace);
    free(prediction->at);
    *prediction = (struct cw_prediction){0};
}
