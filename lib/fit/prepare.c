#include "fit/prepare.h"

#include <math.h>
#include <stdbool.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include "fit/slant.h"
#include "fit/tape.h"
#include "physics/air.h"
#include "physics/gravity.h"

/* Below this the balance says little of drag and much of rounding: a held start's first second and
 * a run-out's last ones are left out of the fit. */
static const double least_speed_ms = 1.5;

/* Where energy alone tells that nobody pedals, a run's ends are known to a few seconds only, and a
 * push or a brush of the brake within it costs more than the seconds are worth. The finder keeps
 * off them already (on made-up outings no start was early and no end late); this is for what those
 * don't show. Of a short run no more than a part, lest nothing be left. */
static const double unsure_s = 2, unsure_part = 0.05;

/* Brakes drag on through a bend that they were put on for, and are let go by degrees, which bends
 * nothing: the finder sees where the hard braking ends. On made-up roads with hairpins these
 * seconds put 9 % on CdA. */
static const double release_s = 3, release_part = 0.2;

void cw_prepare_part(size_t n, const double *time_s, const double *speed_ms, bool by_energy,
                     bool from_brake, size_t *first, size_t *last) {
    size_t a = 0, b = n - 1;
    while (a < b && !(speed_ms[a] >= least_speed_ms)) a++;
    while (b > a && !(speed_ms[b] >= least_speed_ms)) b--;
    double whole = time_s[n - 1] - time_s[0],
           unsure = by_energy ? fmin(unsure_s, unsure_part * whole) : 0,
           release = from_brake ? fmin(release_s, release_part * whole) : 0;
    double start = time_s[0] + fmax(unsure, release), end = time_s[n - 1] - unsure;
    while (a < b && time_s[a] < start && start < end) a++;
    while (b > a && time_s[b] > end && start < end) b--;
    *first = a;
    *last = b;
}

void cw_place_settle(struct cw_place *place, enum cw_elevation elevation) {
    place->density_kgm3 = cw_air_density(place->temperature_c, place->pressure_pa, place->humidity);
    place->column = (struct cw_air_column){0};
    if (elevation != CW_ELEVATION_LEVEL)
        place->column =
            cw_air_column_make(place->height_m, place->temperature_c, place->pressure_pa,
                               place->humidity, place->lapse_1m, place->gravity_ms2);
    place->barometric_scale = 1;
    place->barometric_bend_1m = 0;
    if (elevation != CW_ELEVATION_BAROMETRIC) return;
    place->barometric_scale =
        cw_barometric_scale(place->density_kgm3, place->pressure_pa, place->gravity_ms2);
    place->barometric_bend_1m = cw_barometric_bend_1m(place->temperature_c, place->lapse_1m);
}

double cw_place_pressure_pa(const struct cw_air *air, double height_m, double temperature_c) {
    if (isfinite(air->pressure_hpa)) return 100 * air->pressure_hpa;
    return air->pressure_sea_level_hpa > 0
               ? cw_air_pressure_from_sea_level(100 * air->pressure_sea_level_hpa, height_m,
                                                temperature_c)
               : NAN;
}

/* Where no height was recorded, and none is needed: the standard atmosphere's at the pressure that
 * the outing file gives, else sea level. */
static double unseen_height(const struct cw_outing *outing) {
    return isfinite(outing->air.pressure_hpa)
               ? cw_isa_pressure_altitude_m(100 * outing->air.pressure_hpa)
               : 0;
}

enum cw_status cw_place_make(const struct cw_ridden *input, struct cw_place *place,
                             struct cw_error *error) {
    const struct cw_outing *outing = input->outing;
    bool level = outing->elevation == CW_ELEVATION_LEVEL;
    double height = 0, latitude = 0;
    size_t n_height = 0, n_latitude = 0;
    for (size_t i = 0; i < input->runs->n; i++) {
        const struct cw_run *run = &input->runs->at[i];
        if (!run->kept) continue;
        const struct cw_motion *motion = &input->motions[run->recording];
        const struct cw_samples *samples = &input->recordings[run->recording].samples;
        for (size_t j = run->first; j <= run->last; j++) {
            double recorded = level ? samples->elevation_m[j] : motion->height_m[j];
            if (isfinite(recorded)) {
                height += recorded;
                n_height++;
            }
            if (isfinite(samples->latitude_deg[j])) {
                latitude += samples->latitude_deg[j];
                n_latitude++;
            }
        }
    }
    if (!n_height && !level)
        return cw_error_set(error, CW_E_DATA, outing->file, 0,
                            "no run with elevations is kept; see `coastwise runs`");
    place->height_m = n_height ? height / (double)n_height : unseen_height(outing);
    /* A recording without positions is taken to be at middle latitudes: gravity 0.3 % at most. */
    place->latitude_deg = n_latitude ? latitude / (double)n_latitude : 45;
    place->gravity_ms2 = cw_gravity(place->latitude_deg, place->height_m);
    double h = place->height_m;
    place->temperature_c = isfinite(outing->air.temperature_c) ? outing->air.temperature_c
                                                               : cw_isa_temperature_k(h) - 273.15;
    place->pressure_pa = cw_place_pressure_pa(&outing->air, h, place->temperature_c);
    if (isnan(place->pressure_pa)) place->pressure_pa = cw_isa_pressure_pa(h);
    place->humidity =
        isfinite(outing->air.humidity_percent) ? outing->air.humidity_percent / 100 : 0;
    place->lapse_1m =
        isfinite(outing->air.lapse_k_km) ? outing->air.lapse_k_km / 1000 : CW_ISA_LAPSE_1M;
    cw_place_settle(place, outing->elevation);
    return CW_OK;
}

/* Recorded heights are differences of pressure, told as if the air were standard. */
static double true_height(const struct cw_place *place, double recorded_m) {
    double up_m = place->barometric_scale * (recorded_m - place->height_m);
    return place->height_m + up_m * (1 + 0.5 * place->barometric_bend_1m * up_m);
}

/* On the map. */
static double length_of(const struct cw_road *road) {
    return road->n ? road->s_m[road->n - 1] : 0;
}

/* The map's distances of one road, from all its runs' heights. */
static enum cw_status slant_of(const struct cw_ridden *input, const struct cw_recording_air *air,
                               size_t road, double length_m, const struct cw_along *along,
                               struct cw_slant *slant, struct cw_error *error) {
    size_t n = 0;
    double *map = NULL, *height = NULL;
    enum cw_status status = CW_OK;
    for (int fill = 0; fill < 2; fill++) {
        if (fill) {
            map = malloc(2 * n * sizeof *map);
            if (!map) return cw_error_memory(error);
            height = map + n;
            n = 0;
        }
        for (size_t i = 0; i < input->runs->n; i++) {
            const struct cw_run *run = &input->runs->at[i];
            if (!run->kept || run->road != road) continue;
            const double *elevation = input->recordings[run->recording].samples.elevation_m;
            struct cw_place here = cw_recording_air_of_run(input, &air[run->recording], run);
            for (size_t j = run->first; j <= run->last; j++, n++) {
                if (!fill) continue;
                map[n] = along[i].s_m[j - run->first];
                if (run->reversed) map[n] = length_m - map[n];
                height[n] = true_height(&here, elevation[j]);
            }
        }
    }
    status = cw_slant_make(map, height, n, slant, error);
    free(map);
    return status;
}

/* The index of name among the first n of names, appending it if it is new. */
static size_t name_index(const char **names, size_t *n, const char *name) {
    for (size_t i = 0; i < *n; i++)
        if (!strcmp(names[i], name)) return i;
    names[*n] = name;
    return (*n)++;
}

/* The way to the run's first sample, as far as it was recorded and without a gap. */
static void way_before(const struct cw_motion *motion, const struct cw_samples *samples,
                       size_t first, double *before_m) {
    size_t j = first;
    for (size_t k = 0; k < CW_BEFORE; k++) {
        double t = samples->time_s[first] - (double)(k + 1), at;
        while (j > 0 && samples->time_s[j] > t && !motion->gap_before[j]) j--;
        at = motion->distance_m[j];
        if (samples->time_s[j] < t)
            at += (motion->distance_m[j + 1] - at) * (t - samples->time_s[j]) /
                  (samples->time_s[j + 1] - samples->time_s[j]);
        before_m[k] = motion->distance_m[first] - at;
    }
}

/* Along the slope, for who rides a road of length_m, at map_m of it. */
static double slanted(const struct cw_slant *slant, const struct cw_run *run, double length_m,
                      double map_m) {
    if (!run->reversed) return cw_slant_along(slant, map_m);
    return cw_slant_along(slant, length_m) - cw_slant_along(slant, length_m - map_m);
}

/* Heights are smoothed by the device, so each kind of device has a lag, and recordings that do not
 * name theirs have one together; as do all beyond the most that are looked for. */
static size_t device_index(struct cw_prepared *prepared, const char *device) {
    size_t n = prepared->n_devices;
    for (size_t i = 0; i < n; i++)
        if (!strcmp(prepared->devices[i], device)) return i;
    if (n == CW_DEVICES_MOST) return n - 1;
    prepared->devices[prepared->n_devices++] = device;
    return n;
}

static enum cw_status prepare_run(const struct cw_ridden *input, size_t index,
                                  const struct cw_along *along, const struct cw_slant *slant,
                                  struct cw_prepared *prepared, struct cw_run_data *data,
                                  struct cw_error *error) {
    const struct cw_run *run = &input->runs->at[index];
    const struct cw_motion *motion = &input->motions[run->recording];
    const struct cw_samples *samples = &input->recordings[run->recording].samples;
    const struct cw_outing *outing = input->outing;
    const struct cw_place here =
        cw_recording_air_of_run(input, &prepared->air[run->recording], run);
    double length_m = length_of(&prepared->roads[run->road]);
    size_t first, last;
    cw_prepare_part(run->last - run->first + 1, samples->time_s + run->first,
                    motion->speed_ms + run->first, run->by_energy, run->from_brake, &first, &last);
    first += run->first;
    last += run->first;
    size_t n = last - first + 1;
    if (n < 4)
        return cw_error_set(error, CW_E_DATA, input->recordings[run->recording].file,
                            samples->line[run->first],
                            "run %ld has too few samples at speed to be fitted: leave it out by "
                            "`skip = %ld` in [runs]",
                            run->number, run->number);
    double *block = malloc(5 * n * sizeof *block);
    if (!block) return cw_error_memory(error);
    double *height = block, *position = block + n, *none = block + 2 * n, *s_m = block + 3 * n,
           *speed = block + 4 * n;
    size_t offset = first - run->first;
    double shift = 0;
    size_t n_shift = 0;
    for (size_t j = 0; j < n; j++) {
        height[j] = outing->elevation == CW_ELEVATION_LEVEL
                        ? NAN
                        : true_height(&here, samples->elevation_m[first + j]);
        none[j] = NAN;
        s_m[j] = along->s_m[offset + j];
        speed[j] = motion->speed_ms[first + j];
        position[j] = along->road_m[offset + j];
        if (!slant->n) continue; /* no line on the ground: all distances are along the slope */
        /* Speeds from positions are over the map; a wheel's are along the slope, and only tied to
         * the map. */
        position[j] = slanted(slant, run, length_m, position[j]);
        if (motion->source == CW_SPEED_POSITION) {
            speed[j] *= cw_slant_rate(slant, run->reversed ? length_m - s_m[j] : s_m[j]);
            s_m[j] = slanted(slant, run, length_m, s_m[j]);
        } else if (isfinite(position[j])) {
            shift += position[j] - s_m[j];
            n_shift++;
        }
    }
    for (size_t j = 0; j < n; j++) {
        if (n_shift) s_m[j] += shift / (double)n_shift;
        /* A device's distance, where it is the speed's source, is a position with an unknown start:
         * it is tied to where the basis motion begins. */
        if (motion->source == CW_SPEED_DISTANCE)
            position[j] = samples->distance_m[first + j] - samples->distance_m[first] + s_m[0];
    }
    enum cw_status status =
        cw_run_data_make(n, samples->time_s + first, speed, s_m,
                         motion->source == CW_SPEED_DEVICE ? samples->speed_ms + first : none,
                         position, height, data, error);
    if (status < 0) goto cleanup;
    for (size_t j = 0; j < data->n; j++)
        data->curve_1m[j] = cw_road_curvature(
            &prepared->roads[run->road], run->reversed ? length_m - data->s_m[j] : data->s_m[j]);
    way_before(motion, samples, first, data->before_m);
    size_t setup = run->setup;
    data->bicycle = cw_outing_bicycle(outing, cw_outing_rider_of(outing, run->recording), setup);
    data->surroundings = (struct cw_surroundings){
        .density_kgm3 = here.density_kgm3, .gravity_ms2 = here.gravity_ms2, .column = here.column};
    data->temperature_c = here.temperature_c;
    data->reversed = run->reversed;
    data->mirror_m = slant->n ? cw_slant_along(slant, length_m) : length_m;
    data->surroundings.wind_along_ms = cw_run_data_headwind(data, outing->wind_along_ms);
    data->height_step_m = motion->elevation_step_m * here.barometric_scale;
    data->run = index;
    cw_tape_take(input, last, data);
    data->road = run->road;
    data->recording = run->recording;
    data->device = device_index(prepared, input->recordings[run->recording].device);
    data->setup = setup;
    data->tyres = name_index(prepared->tyres, &prepared->n_tyres,
                             setup == CW_NO_SETUP ? "all" : outing->setups[setup].tyres);
cleanup:
    free(block);
    return status;
}

/* How much warmer each run was than they were on the mean. Where all have one temperature it is 0
 * to the last digit. */
static void compare_temperatures(struct cw_prepared *prepared) {
    double sum = 0, low = INFINITY, high = -INFINITY;
    for (size_t i = 0; i < prepared->n; i++) {
        sum += prepared->data[i].temperature_c;
        low = fmin(low, prepared->data[i].temperature_c);
        high = fmax(high, prepared->data[i].temperature_c);
    }
    prepared->temperature_c = high > low ? sum / (double)prepared->n : low;
    for (size_t i = 0; i < prepared->n; i++)
        prepared->data[i].warmer_k = prepared->data[i].temperature_c - prepared->temperature_c;
}

enum cw_status cw_prepare(const struct cw_ridden *input, struct cw_prepared *prepared,
                          struct cw_error *error) {
    const struct cw_runs *runs = input->runs;
    size_t kept = 0;
    struct cw_along *along = NULL;
    struct cw_slant *slants = NULL;
    *prepared = (struct cw_prepared){0};
    enum cw_status status = cw_place_make(input, &prepared->place, error);
    if (status < 0) return status;
    prepared->air = calloc(input->n_recordings + 1, sizeof *prepared->air);
    if (!prepared->air) {
        status = cw_error_memory(error);
        goto cleanup;
    }
    cw_recording_air_make(input, &prepared->place, prepared->air);
    for (size_t i = 0; i < runs->n; i++) {
        if (!runs->at[i].kept) continue;
        kept++;
        if (runs->at[i].road + 1 > prepared->n_roads) prepared->n_roads = runs->at[i].road + 1;
    }
    prepared->data = calloc(kept, sizeof *prepared->data);
    prepared->setup = malloc(kept * sizeof *prepared->setup);
    prepared->tyres = malloc(kept * sizeof *prepared->tyres);
    prepared->roads = calloc(prepared->n_roads, sizeof *prepared->roads);
    along = calloc(runs->n, sizeof *along);
    slants = calloc(prepared->n_roads, sizeof *slants);
    if (!prepared->data || !prepared->setup || !prepared->tyres || !prepared->roads || !along ||
        !slants) {
        status = cw_error_memory(error);
        goto cleanup;
    }
    for (size_t road = 0; road < prepared->n_roads; road++) {
        status = cw_road_make(input->recordings, input->motions, runs, road, &prepared->roads[road],
                              along, error);
        if (status < 0) goto cleanup;
    }
    for (size_t road = 0; road < prepared->n_roads && status >= 0; road++)
        if (prepared->roads[road].n && input->outing->elevation != CW_ELEVATION_LEVEL)
            status = slant_of(input, prepared->air, road, length_of(&prepared->roads[road]), along,
                              &slants[road], error);
    for (size_t i = 0; i < runs->n && status >= 0; i++) {
        if (!runs->at[i].kept) continue;
        status = prepare_run(input, i, &along[i], &slants[runs->at[i].road], prepared,
                             &prepared->data[prepared->n], error);
        if (status < 0) goto cleanup;
        prepared->setup[prepared->n] = prepared->data[prepared->n].setup;
        prepared->n++;
    }
    compare_temperatures(prepared);
    if (status >= 0) status = cw_tape_tie(prepared, error);
cleanup:
    for (size_t i = 0; along && i < runs->n; i++) cw_along_free(&along[i]);
    for (size_t i = 0; slants && i < prepared->n_roads; i++) cw_slant_free(&slants[i]);
    free(along);
    free(slants);
    if (status < 0) cw_prepared_free(prepared);
    return status;
}

void cw_prepared_free(struct cw_prepared *prepared) {
    for (size_t i = 0; prepared->data && i < prepared->n; i++) cw_run_data_free(&prepared->data[i]);
    for (size_t i = 0; prepared->roads && i < prepared->n_roads; i++)
        cw_road_free(&prepared->roads[i]);
    free(prepared->data);
    free(prepared->setup);
    free(prepared->tyres);
    free(prepared->roads);
    free(prepared->air);
    *prepared = (struct cw_prepared){0};
}
