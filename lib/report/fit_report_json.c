#include <math.h>
#include <string.h>

#include "report/fit_facts.h"
#include "report/fit_report.h"
#include "report/heights.h"
#include "report/json.h"
#include "report/ride.h"

static json_t *air_json(const struct cw_analysed *of, bool *failed) {
    const struct cw_place *place = &of->fit.place;
    struct cw_json air = cw_json_object(failed);
    cw_json_set(air, "density_kgm3", cw_json_estimate(cw_density_estimate(of)));
    cw_json_set(air, "temperature_c", cw_json_number(place->temperature_c));
    cw_json_set(air, "pressure_hpa", cw_json_number(place->pressure_pa / 100));
    cw_json_set(air, "humidity_percent", cw_json_number(100 * place->humidity));
    cw_json_set(air, "lapse_k_km", cw_json_number(1000 * place->lapse_1m));
    cw_json_set(air, "wind_along_ms", cw_json_number(of->outing.wind_along_ms));
    if (of->fit.wind_told)
        cw_json_set(air, "wind_found_ms", cw_json_estimate(of->fit.wind_along_ms));
    cw_json_set(air, "barometric_scale", cw_json_number(place->barometric_scale));
    return air.value;
}

static json_t *place_json(const struct cw_place *place, bool *failed) {
    struct cw_json object = cw_json_object(failed);
    cw_json_set(object, "height_m", cw_json_number(place->height_m));
    cw_json_set(object, "latitude_deg", cw_json_number(place->latitude_deg));
    cw_json_set(object, "gravity_ms2", cw_json_number(place->gravity_ms2));
    return object.value;
}

/* Of each set of tyres. */
static json_t *crr_json(const struct cw_fit *fit, const struct cw_estimate *of, bool *failed) {
    struct cw_json crr = cw_json_object(failed);
    for (size_t t = 0; t < fit->n_tyres; t++)
        cw_json_set(
            crr, fit->tyres[t],
            cw_json_estimate(cw_estimate_where(fit->crr_given || fit->crr_identifiable[t], of[t])));
    return crr.value;
}

/* Each with its 95 % interval beside it, which is one of ratios and not value plus or minus. */
static json_t *noise_json(const struct cw_fit *fit, bool *failed) {
    struct cw_json noise = cw_json_object(failed), intervals = cw_json_object(failed);
    size_t n;
    const struct cw_noise_fact *facts = cw_noise_facts(&n);
    for (size_t i = 0; i < n; i++) {
        struct cw_estimate estimate = cw_noise_estimate(fit, facts[i].parameter);
        struct cw_json ends = cw_json_array(failed);
        cw_json_append(ends, cw_json_number(estimate.low));
        cw_json_append(ends, cw_json_number(estimate.high));
        cw_json_set(noise, facts[i].key, cw_json_number(estimate.value));
        cw_json_set(intervals, facts[i].key, ends.value);
    }
    cw_json_set(noise, "intervals", intervals.value);
    return noise.value;
}

static json_t *recordings_json(const struct cw_analysed *of, bool *failed) {
    struct cw_json array = cw_json_array(failed);
    for (size_t i = 0; i < of->n_recordings; i++) {
        struct cw_json object = cw_json_object(failed);
        bool fitted = cw_recording_fitted(of, i);
        cw_json_set(object, "file", cw_json_string(of->recordings[i].file));
        cw_json_set(object, "temperature_c",
                    cw_json_number(fitted ? of->fit.recorders[i].temperature_c : NAN));
        cw_json_set(object, "density_kgm3",
                    cw_json_number(fitted ? of->fit.recorders[i].density_kgm3 : NAN));
        cw_json_set(object, "lag_s", cw_json_estimate(cw_lag_estimate(of, i)));
        cw_json_set(object, "speed_scale",
                    cw_json_number(fitted ? 1 + of->fit.recorders[i].scale : NAN));
        cw_json_append(array, object.value);
    }
    return array.value;
}

static json_t *alone_json(const struct cw_fit_run *run, bool *failed) {
    struct cw_json alone = cw_json_object(failed);
    bool known = run->identifiable;
    cw_json_set(alone, "cda_m2", cw_json_estimate(cw_estimate_where(known, run->alone_cda_m2)));
    cw_json_set(alone, "crr", cw_json_estimate(cw_estimate_where(run->crr_known, run->alone_crr)));
    cw_json_set(alone, "correlation", cw_json_number(run->correlation));
    cw_json_set(alone, "identifiable", json_boolean(known));
    return alone.value;
}

static json_t *together_json(const struct cw_fit_run *run, bool *failed) {
    struct cw_json together = cw_json_object(failed);
    bool known = run->together_identifiable;
    cw_json_set(together, "cda_m2",
                cw_json_estimate(cw_estimate_where(known, run->together_cda_m2)));
    cw_json_set(together, "identifiable", json_boolean(known));
    return together.value;
}

static json_t *breaks_json(const struct cw_fit_break *breaks, size_t n, bool losses, bool *failed) {
    struct cw_json array = cw_json_array(failed);
    for (size_t k = 0; k < n; k++) {
        struct cw_json object = cw_json_object(failed);
        cw_json_set(object, "at_m", cw_json_number(breaks[k].at_m));
        cw_json_set(object, "height_m", cw_json_number(breaks[k].height_m));
        if (losses) cw_json_set(object, "speed_ms", cw_json_number(breaks[k].speed_ms));
        cw_json_append(array, object.value);
    }
    return array.value;
}

static json_t *run_json(const struct cw_analysed *of, size_t i, bool *failed) {
    const struct cw_fit_run *fitted = &of->fit.runs[i];
    const struct cw_run *run = &of->runs.at[fitted->run];
    struct cw_json object = cw_json_object(failed);
    cw_json_set(object, "number", json_integer(run->number));
    cw_json_set(object, "setup", cw_json_string(cw_analysed_setup(of, fitted->setup)));
    cw_json_set(object, "recording", cw_json_string(of->recordings[run->recording].file));
    cw_json_set(object, "start", cw_json_time(run->start_s));
    cw_json_set(object, "duration_s", cw_json_number(run->duration_s));
    cw_json_set(object, "distance_m", cw_json_number(run->distance_m));
    cw_json_set(object, "drop_m", cw_json_number(run->drop_m));
    cw_json_set(object, "mass_kg", cw_json_number(fitted->mass_kg));
    cw_json_set(object, "density_kgm3", cw_json_number(fitted->density_kgm3));
    cw_json_set(object, "road", json_integer((json_int_t)run->road + 1));
    cw_json_set(object, "reversed", json_boolean(run->reversed));
    cw_json_set(object, "tyres", cw_json_string(of->fit.tyres[fitted->tyres]));
    cw_json_set(object, "alone", alone_json(fitted, failed));
    cw_json_set(object, "together", together_json(fitted, failed));
    cw_json_set(object, "losses", breaks_json(fitted->losses, fitted->n_losses, true, failed));
    cw_json_set(object, "jumps", breaks_json(fitted->jumps, fitted->n_jumps, false, failed));
    return object.value;
}

static json_t *setups_json(const struct cw_analysed *of, bool *failed) {
    struct cw_json array = cw_json_array(failed);
    for (size_t i = 0; i < of->outing.n_setups; i++) {
        struct cw_json object = cw_json_object(failed);
        cw_json_set(object, "name", cw_json_string(of->outing.setups[i].name));
        cw_json_set(object, "runs", json_integer((json_int_t)cw_setup_runs(of, i)));
        cw_json_set(object, "cda_m2", cw_json_estimate(cw_setup_cda(of, i)));
        cw_json_set(object, "tyres", cw_json_string(of->outing.setups[i].tyres));
        cw_json_set(
            object, "pressure_kpa",
            cw_json_number(cw_outing_pressure_kpa(&of->outing, of->outing.setups[i].tyres)));
        const struct cw_setup_result *pair = cw_setup_pair(of, i);
        if (pair && isfinite(pair->correlation)) {
            struct cw_json both = cw_json_object(failed);
            cw_json_set(both, "cda_m2", cw_json_estimate(pair->cda_m2));
            cw_json_set(both, "crr", cw_json_estimate(pair->crr));
            cw_json_set(both, "correlation", cw_json_number(pair->correlation));
            cw_json_set(object, "pair", both.value);
        }
        cw_json_append(array, object.value);
    }
    return array.value;
}

static json_t *outing_json(const struct cw_analysed *of, bool *failed) {
    struct cw_json object = cw_json_object(failed), runs = cw_json_array(failed);
    const struct cw_compare *together = of->averaged ? &of->average : NULL;
    struct cw_sentences defaults = {0}, warnings = {0};
    cw_fit_defaults(of, &defaults);
    cw_fit_warnings(of, &warnings);
    for (size_t i = 0; i < of->fit.n_runs; i++) cw_json_append(runs, run_json(of, i, failed));
    cw_json_set(object, "name", cw_json_string(of->outing.name));
    cw_json_set(object, "file", cw_json_string(of->outing.file));
    cw_json_set(object, "ride", cw_ride_json(of, together, failed));
    cw_json_set(object, "place", place_json(&of->fit.place, failed));
    cw_json_set(object, "air", air_json(of, failed));
    struct cw_json heights = {cw_heights_json(of, together, failed), failed};
    cw_json_set(heights, "used", cw_json_string(cw_elevation_text(of->outing.elevation)));
    cw_json_set(object, "heights", heights.value);
    cw_json_set(object, "crr", crr_json(&of->fit, of->fit.crr, failed));
    cw_json_set(object, "crr_at_20c", crr_json(&of->fit, of->fit.crr_at_20c, failed));
    cw_json_set(
        object, "crr_fall_percent_per_k",
        cw_json_estimate(cw_estimate_where(cw_fit_warms(&of->fit), cw_fall_percent(&of->fit))));
    cw_json_set(object, "bends_crr",
                cw_json_estimate(cw_estimate_where(of->fit.bends_told, of->fit.bends_crr)));
    cw_json_set(object, "crr_given", json_boolean(of->fit.crr_given));
    cw_json_set(object, "noise", noise_json(&of->fit, failed));
    cw_json_set(object, "recordings", recordings_json(of, failed));
    cw_json_set(object, "runs", runs.value);
    cw_json_set(object, "setups", setups_json(of, failed));
    /* Percent of a CdA that is not known are none. */
    cw_json_set(object, "budget",
                cw_json_budget(of->averaged && cw_fit_answers(of) ? &of->average : NULL, failed));
    cw_json_set(object, "defaults", cw_json_sentences(&defaults, failed));
    cw_json_set(object, "warnings", cw_json_sentences(&warnings, failed));
    return object.value;
}

enum cw_status cw_report_fit_json(const struct cw_analysis *analysis, struct cw_text *out,
                                  struct cw_error *error) {
    bool failed = false;
    struct cw_json document = cw_json_document("fit", &failed), outings = cw_json_array(&failed);
    for (size_t i = 0; i < analysis->n; i++)
        cw_json_append(outings, outing_json(&analysis->outings[i], &failed));
    cw_json_set(document, "outings", outings.value);
    return cw_json_finish(document, out, error);
}
