#include "predict/road.h"

#include <math.h>
#include <stdlib.h>

#include "base/print.h"
#include "compare/elsewhere.h"
#include "fit/heights.h"
#include "fit/profile.h"
#include "fit/workings.h"
#include "simulate/settings.h"

/* Knots and smoothness of a recorded profile: barometric steps and a satellite's noise are left
 * out, a road that gets steeper by 2 % within 20 m is not. */
static const double knots_m = 20, height_sd_m = 0.3, roughness_m = 0.1;
/* A recording that leaps about goes any way. */
static const double most_m = 1e6;
/* Over so long a way a slope counts as steep. */
static const double steep_way_m = 100, look_m = 10;
/* A barometer tells heights as if the air were standard; without its temperature known, to some 8
 * K (as an outing file without one has it), differences of height are known to 3 %. */
static const double barometric_scale_sd = 0.03;

double cw_predict_road_sine(const struct cw_predict_road *road, double s_m) {
    if (road->profile) return cw_profile_slope(road->profile, road->profile_start_m + s_m);
    size_t i = 0;
    while (i + 1 < road->n_stretches && s_m > road->stretches[i].end_m) i++;
    return road->stretches[i].sine;
}

double cw_predict_road_height(const struct cw_predict_road *road, double s_m) {
    if (road->profile) return cw_profile_height(road->profile, road->profile_start_m + s_m);
    double height_m = road->start_height_m, from_m = 0;
    for (size_t i = 0; i < road->n_stretches; i++) {
        const struct cw_predict_stretch *stretch = &road->stretches[i];
        if (i + 1 == road->n_stretches || s_m <= stretch->end_m)
            return height_m + stretch->sine * (s_m - from_m);
        height_m += stretch->sine * (stretch->end_m - from_m);
        from_m = stretch->end_m;
    }
    return height_m;
}

const char *cw_predict_road_kind_text(enum cw_predict_road_kind kind) {
    static const char *const texts[] = {"slopes", "run", "recording", "outing"};
    return texts[kind];
}

double cw_predict_road_drop(const struct cw_predict_road *road) {
    return cw_predict_road_height(road, 0) - cw_predict_road_height(road, road->length_m);
}

void cw_predict_road_free(struct cw_predict_road *road) {
    free(road->stretches);
    if (road->own_profile) cw_profile_free(road->own_profile);
    free(road->own_profile);
    *road = (struct cw_predict_road){0};
}

/* Lowest and steepest, once the heights are there. The air is that of the middle height, or, where
 * heights are from nowhere, halfway between its ends. */
static void look_over(bool from_nowhere, struct cw_predict_road *road) {
    double lowest = INFINITY;
    road->air_height_m = from_nowhere ? road->start_height_m - cw_predict_road_drop(road) / 2
                                      : road->middle_height_m;
    road->steepest_sine = INFINITY;
    for (size_t i = 0; i < road->n_stretches; i++) {
        double height = cw_predict_road_height(road, road->stretches[i].end_m);
        if (height < lowest) road->lowest_m = road->stretches[i].end_m;
        lowest = fmin(lowest, height);
        road->steepest_sine = fmin(road->steepest_sine, road->stretches[i].sine);
    }
    if (road->n_stretches && road->start_height_m <= lowest) road->lowest_m = 0;
    if (road->n_stretches) return;
    double way = fmin(steep_way_m, road->known_m);
    size_t n = (size_t)ceil(road->known_m / look_m);
    for (size_t i = 0; i <= n; i++) {
        double s = fmin((double)i * look_m, road->known_m),
               height = cw_predict_road_height(road, s);
        if (height < lowest) road->lowest_m = s;
        lowest = fmin(lowest, height);
        if (s + way > road->known_m) continue;
        road->steepest_sine =
            fmin(road->steepest_sine, (cw_predict_road_height(road, s + way) - height) / way);
    }
    if (isinf(road->steepest_sine)) road->steepest_sine = cw_predict_road_sine(road, 0);
}

enum cw_status cw_predict_road_of_slopes(const char *text, struct cw_predict_road *road,
                                         struct cw_error *error) {
    struct cw_simulate_options options = cw_simulate_options_default();
    *road = (struct cw_predict_road){
        .kind = CW_PREDICT_SLOPES, .middle_height_m = NAN, .latitude_deg = NAN};
    enum cw_status status = cw_simulate_set(&options, "road", text, error);
    if (status >= 0) status = cw_simulate_options_check(&options, error);
    if (status < 0) return status;
    cw_print(road->name, sizeof road->name, "%s", text);
    road->stretches = calloc(options.n_segments, sizeof *road->stretches);
    if (!road->stretches) return cw_error_memory(error);
    road->n_stretches = options.n_segments;
    for (size_t i = 0; i < options.n_segments; i++) {
        road->length_m += options.segments[i].length_m;
        road->stretches[i] = (struct cw_predict_stretch){
            road->length_m, sin(atan(options.segments[i].slope_percent / 100))};
    }
    road->known_m = road->length_m;
    look_over(true, road);
    return CW_OK;
}

/* The samples from first to last as a profile. */
static enum cw_status make_profile(const struct cw_recording *recording,
                                   const struct cw_motion *motion, size_t first, size_t last,
                                   struct cw_predict_road *road, struct cw_error *error) {
    size_t n = last - first + 1, heights = 0, places = 0;
    double *s_m = malloc(n * sizeof *s_m), height = 0, latitude = 0;
    struct cw_profile *profile = calloc(1, sizeof *profile);
    enum cw_status status = s_m && profile ? CW_OK : cw_error_memory(error);
    road->own_profile = profile;
    road->profile = profile;
    if (status < 0) goto cleanup;
    for (size_t i = 0; i < n; i++) {
        size_t j = first + i;
        s_m[i] = motion->distance_m[j] - motion->distance_m[first];
        if (isfinite(s_m[i]) && s_m[i] > road->length_m) road->length_m = s_m[i];
        if (isfinite(motion->height_m[j])) {
            height += motion->height_m[j];
            heights++;
        }
        if (isfinite(recording->samples.latitude_deg[j])) {
            latitude += recording->samples.latitude_deg[j];
            places++;
        }
    }
    if (!(road->length_m > 0)) {
        status = cw_error_set(error, CW_E_DATA, recording->file, 0, "goes no way to predict along");
        goto cleanup;
    }
    if (road->length_m > most_m) {
        status = cw_error_set(error, CW_E_DATA, recording->file, 0,
                              "goes %.0f km: no more than %.0f km are predicted",
                              road->length_m / 1000, most_m / 1000);
        goto cleanup;
    }
    road->known_m = road->length_m;
    road->middle_height_m = heights ? height / (double)heights : NAN;
    road->latitude_deg = places ? latitude / (double)places : NAN;
    road->entry_speed_ms = isfinite(motion->speed_ms[first]) ? motion->speed_ms[first] : 0;
    status = cw_profile_make(0, road->length_m, knots_m, profile, error);
    if (status >= 0)
        status = cw_profile_fit(profile, s_m, motion->height_m + first, n, height_sd_m, roughness_m,
                                error);
    if (status < 0) goto cleanup;
    road->start_height_m = cw_predict_road_height(road, 0);
    look_over(isnan(road->middle_height_m), road);
cleanup:
    free(s_m);
    return status;
}

/* A map is wrong by metres. Common practice, no source. */
static const double map_sd_m = 2;

/* Two ends are each off by themselves. */
static void doubt_heights(enum cw_elevation elevation, struct cw_predict_road *road) {
    const struct cw_heights_prior *prior = cw_heights_prior(elevation);
    road->tilt_sd_m = sqrt(2) * (prior->mapped ? map_sd_m : prior->drift_sd_m);
    road->scale_sd = elevation == CW_ELEVATION_BAROMETRIC ? barometric_scale_sd : 0;
}

static void name_after(const char *file, struct cw_predict_road *road) {
    cw_print(road->name, sizeof road->name, "%s", file);
}

enum cw_status cw_predict_road_of_run(const struct cw_analysed *of, long number,
                                      struct cw_predict_road *road, struct cw_error *error) {
    const struct cw_run *found = NULL;
    *road = (struct cw_predict_road){.kind = CW_PREDICT_RUN};
    for (size_t i = 0; i < of->runs.n; i++) {
        const struct cw_run *run = &of->runs.at[i];
        bool wanted = number ? run->number == number
                             : run->kept && (!found || run->distance_m > found->distance_m);
        if (wanted) found = run;
    }
    if (!found && number)
        return cw_error_set(error, CW_E_DATA, NULL, 0,
                            "there is no run %ld: `coastwise runs` lists them", number);
    if (!found)
        return cw_error_set(error, CW_E_DATA, NULL, 0,
                            "no run was kept to go along; --whole goes all the way recorded");
    const struct cw_recording *recording = &of->recordings[found->recording];
    road->run = found->number;
    name_after(recording->file, road);
    enum cw_status status = make_profile(recording, &of->motions[found->recording], found->first,
                                         found->last, road, error);
    if (status < 0) return status;
    road->entry_speed_ms = found->entry_speed_ms;
    doubt_heights(of->heights.told ? of->heights.kind : CW_ELEVATION_BAROMETRIC, road);
    return CW_OK;
}

enum cw_status cw_predict_road_of_way(const struct cw_recording *recording,
                                      const struct cw_motion *motion, struct cw_predict_road *road,
                                      struct cw_error *error) {
    *road = (struct cw_predict_road){.kind = CW_PREDICT_WHOLE};
    name_after(recording->file, road);
    enum cw_status status = make_profile(recording, motion, 0, motion->n - 1, road, error);
    if (status >= 0) doubt_heights(CW_ELEVATION_BAROMETRIC, road);
    return status;
}

/* By the budget: the scale itself, and what a barometer makes of a temperature that is off. */
static double outing_scale_sd(const struct cw_analysed *of) {
    const struct cw_budget *budget = &of->fit.workings->budget;
    double squares = 0;
    for (size_t c = 0; c < budget->n; c++) {
        double by = 0;
        if (budget->causes[c].kind == CW_CAUSE_HEIGHT_SCALE)
            by = 0.01 * budget->causes[c].uncertainty;
        if (budget->causes[c].kind == CW_CAUSE_TEMPERATURE &&
            of->outing.elevation == CW_ELEVATION_BAROMETRIC)
            by = budget->causes[c].uncertainty / (of->fit.place.temperature_c + 273.15);
        squares += by * by;
    }
    return sqrt(squares);
}

enum cw_status cw_predict_road_of_outing(const struct cw_analysed *of, struct cw_predict_road *road,
                                         struct cw_error *error) {
    struct cw_mean_run mean;
    *road = (struct cw_predict_road){.kind = CW_PREDICT_OUTING};
    name_after(of->outing.file, road);
    if (!cw_mean_run_make(&of->fit, &mean))
        return cw_error_set(error, CW_E_DATA, of->outing.file, 0,
                            "its runs share no road to predict along");
    road->profile = mean.profile;
    road->profile_start_m = mean.start_m;
    road->length_m = road->known_m = mean.length_m;
    if (mean.runs_out)
        road->known_m = fmax(road->length_m, cw_profile_end(mean.profile) - mean.start_m);
    road->entry_speed_ms = mean.entry_speed_ms;
    road->scale_sd = outing_scale_sd(of);
    road->middle_height_m = of->fit.place.height_m;
    road->latitude_deg = of->fit.place.latitude_deg;
    road->start_height_m = cw_predict_road_height(road, 0);
    look_over(of->outing.elevation == CW_ELEVATION_LEVEL, road);
    return CW_OK;
}
