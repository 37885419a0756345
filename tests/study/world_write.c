/* What the device made of it, and the files. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "world_parts.h"

/* Errors of different kinds, each with numbers of its own; the recordings of an outing follow each
 * other by STREAMS. */
enum { STREAM_DEVICE = 1000, STREAM_POSITION, STREAM_SPEED, STREAM_HEIGHT, STREAM_SAMPLE, STREAMS };
enum { STREAM_MAP = 999 };

#define MOMENT_S (1.0 / WORLD_TRACE_PER_S)
#define SPARE_M 300.0
#define MAP_CELL_M 20.0

/* Errors of a map by the place: known at the corners of its cells, straight in between. */
struct map {
    size_t n;
    double *error_m;
};

static bool map_make(const struct world_outing *o, struct map *map) {
    struct chance chance = chance_start(o->seed, STREAM_MAP);
    double sd = world_drawn(&chance, o->world.map_sd_m),
           reach = world_drawn(&chance, o->world.map_reach_m);
    struct drift drift = drift_start(sd, reach, &chance);
    map->n = (size_t)((o->length_m + 2 * SPARE_M) / MAP_CELL_M) + 2;
    map->error_m = malloc(map->n * sizeof *map->error_m);
    if (!map->error_m) return false;
    for (size_t i = 0; i < map->n; i++) {
        map->error_m[i] = drift.value;
        drift_step(&drift, MAP_CELL_M, &chance); /* along the road, in metres instead of seconds */
    }
    return true;
}

static double map_error_m(const struct map *map, double s_m) {
    double at = fmin(fmax((s_m + SPARE_M) / MAP_CELL_M, 0), (double)map->n - 1.001);
    size_t i = (size_t)at;
    return map->error_m[i] + (at - (double)i) * (map->error_m[i + 1] - map->error_m[i]);
}

/* What the device's sensors say at each moment of a trace, before it is sampled. */
struct sensed {
    double *east_m, *north_m, *height_m, *own_ms;
};

static void sensed_free(struct sensed *s) {
    free(s->east_m);
    free(s->north_m);
    free(s->height_m);
    free(s->own_ms);
}

static void sense_positions(const struct world_outing *o, const struct world_trace *t,
                            uint64_t stream, struct sensed *to, double *along_m) {
    const struct world *w = &o->world;
    struct chance chance = chance_start(o->seed, stream + STREAM_POSITION);
    double slow_sd = world_drawn(&chance, w->wander_sd_m),
           slow_s = world_drawn(&chance, w->wander_s);
    double fast_sd = world_drawn(&chance, w->fast_sd_m), fast_s = world_drawn(&chance, w->fast_s);
    struct drift slow[2], fast[2];
    for (int k = 0; k < 2; k++) {
        slow[k] = drift_start(slow_sd, slow_s, &chance);
        fast[k] = drift_start(fast_sd, fast_s, &chance);
    }
    for (size_t i = 0; i < t->n; i++) {
        const struct world_moment *m = &t->moment[i];
        struct place p = road_at(&o->road, m->s_m);
        double sine = sin(p.heading_rad), cosine = cos(p.heading_rad);
        double east = slow[0].value + fast[0].value, north = slow[1].value + fast[1].value;
        to->east_m[i] = p.east_m + m->side_m * cosine + east;
        to->north_m[i] = p.north_m - m->side_m * sine + north;
        along_m[i] = m->s_m + east * sine + north * cosine;
        for (int k = 0; k < 2; k++) {
            drift_step(&slow[k], MOMENT_S, &chance);
            drift_step(&fast[k], MOMENT_S, &chance);
        }
    }
    double mean = world_drawn(&chance, w->own_mean_s), late = world_drawn(&chance, w->own_late_s);
    for (size_t i = 0; i < t->n; i++) {
        size_t last = (size_t)fmax((double)i - late / MOMENT_S, 0);
        size_t first = (size_t)fmax((double)last - mean / MOMENT_S, 0);
        double way =
            hypot(to->east_m[last] - to->east_m[first], to->north_m[last] - to->north_m[first]);
        to->own_ms[i] = way / mean;
    }
}

static void sense_heights(const struct world_outing *o, const struct world_trace *t,
                          uint64_t stream, const struct map *map, const double *along_m,
                          struct sensed *to) {
    const struct world *w = &o->world;
    struct chance chance = chance_start(o->seed, stream + STREAM_HEIGHT);
    struct drift drift =
        drift_start(world_drawn(&chance, w->drift_sd_m), world_drawn(&chance, w->drift_s), &chance);
    double lag = world_drawn(&chance, w->height_lag_s);
    double jumps = world_drawn(&chance, w->jumps_per_hour) / 3600 * MOMENT_S; /* a moment */
    double offset = chance_even(&chance, -8, 8); /* as it was set last */
    double smoothed = NAN;
    for (size_t i = 0; i < t->n; i++) {
        double height = o->height_m + road_at(&o->road, t->moment[i].s_m).height_m;
        struct air air = world_air(o, (size_t)(t - o->trace), t->start_s + (double)i * MOMENT_S);
        if (w->heights == WORLD_HEIGHTS_MAP) {
            to->height_m[i] =
                o->height_m + road_at(&o->road, along_m[i]).height_m + map_error_m(map, along_m[i]);
            continue;
        }
        if (w->heights == WORLD_HEIGHTS_BAROMETRIC)
            height = altimeter_m(air_pressure_pa(&air, height));
        if (chance_even(&chance, 0, 1) < jumps)
            offset += world_drawn(&chance, w->jump_m) * (chance_even(&chance, 0, 1) < 0.5 ? -1 : 1);
        height += drift.value + offset;
        if (isnan(smoothed) || lag <= 0) smoothed = height;
        smoothed += (height - smoothed) * (lag > 0 ? 1 - exp(-MOMENT_S / lag) : 0);
        to->height_m[i] = smoothed;
        drift_step(&drift, MOMENT_S, &chance);
    }
}

static bool sense(const struct world_outing *o, size_t trace, const struct map *map,
                  struct sensed *to) {
    const struct world_trace *t = &o->trace[trace];
    uint64_t stream = trace * (STREAMS - STREAM_DEVICE);
    *to = (struct sensed){malloc(t->n * sizeof(double)), malloc(t->n * sizeof(double)),
                          malloc(t->n * sizeof(double)), malloc(t->n * sizeof(double))};
    double *along_m = malloc(t->n * sizeof *along_m);
    bool fine = to->east_m && to->north_m && to->height_m && to->own_ms && along_m;
    if (fine) {
        sense_positions(o, t, stream, to, along_m);
        sense_heights(o, t, stream, map, along_m, to);
    }
    free(along_m);
    return fine;
}

/* A sample as it is written; NaN: not there. */
struct sample {
    double time_s, latitude_deg, longitude_deg, height_m, distance_m, speed_ms, cadence_rpm,
        temperature_c;
};

/* Unix time as ISO 8601 (the calendar's arithmetic is Hinnant's, "chrono-compatible low-level date
 * algorithms", from memory). */
void world_iso_time(double time_s, char text[32]) {
    long long tenths = llround(time_s * 10), seconds = tenths / 10, days = seconds / 86400;
    long long rest = seconds % 86400, z = days + 719468, era = z / 146097, doe = z % 146097;
    long long yoe = (doe - doe / 1460 + doe / 36524 - doe / 146096) / 365;
    long long doy = doe - (365 * yoe + yoe / 4 - yoe / 100), mp = (5 * doy + 2) / 153;
    long long day = doy - (153 * mp + 2) / 5 + 1, month = mp < 10 ? mp + 3 : mp - 9;
    long long year = yoe + era * 400 + (month <= 2);
    int n = snprintf(text, 32, "%04d-%02d-%02dT%02d:%02d:%02d", (int)year, (int)month, (int)day,
                     (int)(rest / 3600), (int)(rest / 60 % 60), (int)(rest % 60));
    snprintf(text + n, 32 - (size_t)n, tenths % 10 ? ".%dZ" : "Z", (int)(tenths % 10));
}

static void write_tcx(FILE *f, const struct sample *s, const char *time) {
    fprintf(f, "<Trackpoint>\n<Time>%s</Time>\n", time);
    if (isfinite(s->latitude_deg))
        fprintf(f,
                "<Position><LatitudeDegrees>%.7f</LatitudeDegrees>"
                "<LongitudeDegrees>%.7f</LongitudeDegrees></Position>\n",
                s->latitude_deg, s->longitude_deg);
    if (isfinite(s->height_m)) fprintf(f, "<AltitudeMeters>%.7g</AltitudeMeters>\n", s->height_m);
    if (isfinite(s->distance_m))
        fprintf(f, "<DistanceMeters>%.2f</DistanceMeters>\n", s->distance_m);
    if (isfinite(s->cadence_rpm)) fprintf(f, "<Cadence>%.0f</Cadence>\n", s->cadence_rpm);
    if (isfinite(s->speed_ms))
        fprintf(f, "<Extensions><x:TPX><x:Speed>%.3f</x:Speed></x:TPX></Extensions>\n",
                s->speed_ms);
    fprintf(f, "</Trackpoint>\n");
}

static void write_gpx(FILE *f, const struct sample *s, const char *time) {
    fprintf(f, "<trkpt lat=\"%.7f\" lon=\"%.7f\">", s->latitude_deg, s->longitude_deg);
    if (isfinite(s->height_m)) fprintf(f, "<ele>%.7g</ele>", s->height_m);
    fprintf(f, "<time>%s</time>", time);
    if (isfinite(s->cadence_rpm) || isfinite(s->speed_ms) || isfinite(s->temperature_c)) {
        fprintf(f, "<extensions><x:TrackPointExtension>");
        if (isfinite(s->temperature_c)) fprintf(f, "<x:atemp>%.0f</x:atemp>", s->temperature_c);
        if (isfinite(s->cadence_rpm)) fprintf(f, "<x:cad>%.0f</x:cad>", s->cadence_rpm);
        if (isfinite(s->speed_ms)) fprintf(f, "<x:speed>%.3f</x:speed>", s->speed_ms);
        if (isfinite(s->distance_m)) fprintf(f, "<x:distance>%.2f</x:distance>", s->distance_m);
        fprintf(f, "</x:TrackPointExtension></extensions>");
    }
    fprintf(f, "</trkpt>\n");
}

static bool in_hole(const struct world_outing *o, size_t trace, double time_s) {
    for (size_t i = 0; i < o->n_runs; i++)
        if (o->run[i].trace == trace && time_s > o->run[i].hole_start_s &&
            time_s < o->run[i].hole_end_s)
            return true;
    return false;
}

static void write_samples(FILE *f, const struct world_outing *o, size_t trace,
                          const struct sensed *sensed) {
    const struct world *w = &o->world;
    const struct world_trace *t = &o->trace[trace];
    uint64_t stream = trace * (STREAMS - STREAM_DEVICE);
    struct chance device = chance_start(o->seed, stream + STREAM_DEVICE),
                  speeds = chance_start(o->seed, stream + STREAM_SPEED),
                  samples = chance_start(o->seed, stream + STREAM_SAMPLE);
    double speed_sd = world_drawn(&device, w->speed_sd_ms),
           height_sd = world_drawn(&device, w->height_sd_m);
    double step = world_drawn(&device, w->height_step_m),
           hold = world_drawn(&device, w->cadence_hold_s);
    double warm = world_drawn(&device, w->device_warm_c),
           distance_sd = world_drawn(&device, w->distance_sd_m);
    double ridden = 0, last_s = 0;
    double interval = 0;
    for (double at_s = 0; at_s / MOMENT_S < (double)t->n - 0.5; at_s += interval) {
        interval = world_drawn(&samples, w->interval_s);
        if (interval >= 1) interval = round(interval);
        size_t i = (size_t)llround(at_s / MOMENT_S);
        const struct world_moment *m = &t->moment[i];
        struct sample s = {t->start_s + at_s, NAN, NAN, NAN, NAN, NAN, NAN, NAN};
        if (w->positions)
            earth_from_metres(o->latitude_deg, o->longitude_deg, o->height_m, sensed->east_m[i],
                              sensed->north_m[i], &s.latitude_deg, &s.longitude_deg);
        if (w->heights != WORLD_HEIGHTS_NONE) {
            s.height_m = sensed->height_m[i] + height_sd * chance_normal(&device);
            if (step > 0) s.height_m = step * round(s.height_m / step);
        }
        double noise = m->speed_ms > 0 ? speed_sd * chance_normal(&speeds) : 0;
        double level = road_at(&o->road, m->s_m).sine;
        level = sqrt(1 - level * level);
        if (w->speed == WORLD_SPEED_WHEEL) s.speed_ms = fmax(m->speed_ms + noise, 0);
        if (w->speed == WORLD_SPEED_DOPPLER) s.speed_ms = fmax(m->speed_ms * level + noise, 0);
        if (w->speed == WORLD_SPEED_OWN) s.speed_ms = sensed->own_ms[i];
        /* A wheel's turns are counted; a device that knows its speed only sums that. */
        double error = m->speed_ms > 0 ? distance_sd * chance_normal(&speeds) : 0;
        if (w->speed == WORLD_SPEED_OWN)
            ridden += s.speed_ms * (at_s - last_s);
        else
            ridden =
                fmax(ridden, (w->speed == WORLD_SPEED_DOPPLER ? m->level_m : m->ridden_m) + error);
        last_s = at_s;
        if (w->distance) s.distance_m = ridden;
        if (w->cadence) {
            size_t held = (size_t)fmin(hold / MOMENT_S, (double)i);
            s.cadence_rpm = m->cadence_rpm > 0 ? m->cadence_rpm : t->moment[i - held].cadence_rpm;
        }
        if (w->device_temperature)
            s.temperature_c = world_air(o, trace, s.time_s).temperature_c + warm;
        if (in_hole(o, trace, s.time_s)) continue;
        char time[32];
        world_iso_time(s.time_s + t->clock_s, time);
        (w->form == WORLD_GPX ? write_gpx : write_tcx)(f, &s, time);
    }
}

void world_recording_name(const struct world_outing *o, size_t trace, char name[32]) {
    const struct world_trace *t = &o->trace[trace];
    const char *ending = o->world.form == WORLD_GPX ? "gpx" : "tcx";
    if (o->n_days == 1)
        snprintf(name, 32, "%s.%s", t->companion ? "friend" : "ride", ending);
    else
        snprintf(name, 32, "%s%02zu.%s", t->companion ? "friend" : "day", t->day + 1, ending);
}

FILE *world_open(const char *directory, const char *name) {
    size_t n = strlen(directory) + strlen(name) + 2;
    char *path = malloc(n);
    if (!path) return NULL;
    snprintf(path, n, "%s/%s", directory, name);
    FILE *f = fopen(path, "w");
    free(path);
    return f;
}

bool world_close(FILE *f) {
    bool fine = !ferror(f);
    return !fclose(f) && fine;
}

static bool write_recording(const struct world_outing *o, size_t trace, const struct map *map,
                            const char *directory) {
    char name[32], start[32];
    struct sensed sensed;
    world_recording_name(o, trace, name);
    world_iso_time(o->trace[trace].start_s + o->trace[trace].clock_s, start);
    FILE *f = NULL;
    bool fine = sense(o, trace, map, &sensed) && (f = world_open(directory, name));
    if (fine && o->world.form == WORLD_GPX) {
        fprintf(f, "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n"
                   "<gpx version=\"1.1\" creator=\"made up\" "
                   "xmlns=\"http://www.topografix.com/GPX/1/1\" "
                   "xmlns:x=\"http://www.garmin.com/xmlschemas/TrackPointExtension/v2\">\n"
                   "<trk><name>made up</name><trkseg>\n");
        write_samples(f, o, trace, &sensed);
        fprintf(f, "</trkseg></trk>\n</gpx>\n");
    } else if (fine) {
        fprintf(f,
                "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n"
                "<TrainingCenterDatabase "
                "xmlns=\"http://www.garmin.com/xmlschemas/TrainingCenterDatabase/v2\" "
                "xmlns:x=\"http://www.garmin.com/xmlschemas/ActivityExtension/v2\">\n"
                "<Activities><Activity Sport=\"Biking\"><Id>%s</Id>\n"
                "<Lap StartTime=\"%s\"><Track>\n",
                start, start);
        write_samples(f, o, trace, &sensed);
        fprintf(f, "</Track></Lap></Activity></Activities>\n</TrainingCenterDatabase>\n");
    }
    if (f) fine &= world_close(f);
    sensed_free(&sensed);
    return fine;
}

bool world_write_recordings(const struct world_outing *o, const char *directory) {
    struct map map;
    bool fine = map_make(o, &map);
    for (size_t i = 0; fine && i < o->n_traces; i++) fine = write_recording(o, i, &map, directory);
    free(map.error_m);
    return fine && world_write_log(o, directory);
}

static double value_of(const struct world_run *run, size_t offset) {
    return *(const double *)(const void *)((const char *)run + offset);
}

/* A value a run, with how sure it is; nothing if none has one. */
static void write_values(FILE *f, const struct world_outing *o, const size_t *runs, size_t n,
                         const char *key, size_t offset, const char *uncertainty, double sd) {
    bool any = false;
    for (size_t i = 0; i < n; i++) any |= isfinite(value_of(&o->run[runs[i]], offset));
    if (!any) return;
    fprintf(f, "%s =", key);
    for (size_t i = 0; i < n; i++) {
        double value = value_of(&o->run[runs[i]], offset);
        if (isfinite(value))
            fprintf(f, " %.2f", value);
        else
            fprintf(f, " -");
    }
    fprintf(f, "\n%s = %g\n", uncertainty, sd);
}

static void write_companion(FILE *f, const struct world_outing *o) {
    static const char *const tyres[] = {"all", "narrow"};
    for (size_t i = o->n_days; i < o->n_traces; i++) {
        char name[32];
        world_recording_name(o, i, name);
        fprintf(f, "[recording %s]\nrider = friend\nsetup = friend\n", name);
    }
    fprintf(f, "[rider friend]\nmass_kg = %g\n[bike friend]\nmass_kg = %g\n", o->rider_kg[1],
            o->bike_kg[1]);
    fprintf(f, "[setup friend]\ntyres = %s\n",
            o->world.companion_tyres ? tyres[o->world.tyres] : "friend");
}

bool world_write_outing(const struct world_outing *o, const char *directory, const size_t *runs,
                        size_t n_runs, const char *skip) {
    static const char *const said[] = {NULL,      "barometric", "satellite",
                                       "terrain", "surveyed",   "level"};
    const struct world *w = &o->world;
    FILE *f = world_open(directory, "outing.ini");
    if (!f) return false;
    fprintf(f, "; Made up.\n[outing]\nname = %s, seed %llu\nrecordings =", w->name,
            (unsigned long long)o->seed);
    for (size_t i = 0; i < o->n_traces; i++) {
        char name[32];
        world_recording_name(o, i, name);
        fprintf(f, i ? ",\n  %s" : " %s", name);
    }
    fprintf(f, "\n");
    if (w->log) fprintf(f, "air_log = %s\n", WORLD_LOG);
    if (said[w->said_heights]) fprintf(f, "elevation = %s\n", said[w->said_heights]);
    if (o->said_height_sd_m > 0) fprintf(f, "elevation_uncertainty_m = %g\n", o->said_height_sd_m);
    fprintf(f, "[rider]\nmass_kg = %g\n[bike]\nmass_kg = %g\n", o->rider_kg[0], o->bike_kg[0]);
    fprintf(f, "wheel_inertia_kgm2 = %g\nwheel_radius_m = %g\n", o->wheel_inertia_kgm2,
            o->wheel_radius_m);
    fprintf(f, "[air]\ntemperature_c = %g\npressure_hpa = %g\nhumidity_percent = %g\n",
            o->air.temperature_c, o->air.pressure_hpa, o->air.humidity_percent);
    if (o->said_lapse_sd_k_km > 0)
        fprintf(f, "lapse_k_km = %g\nlapse_uncertainty_k_km = %g\n", o->said_lapse_k_km,
                o->said_lapse_sd_k_km);
    fprintf(f, "wind_along_ms = %g\nwind_uncertainty_ms = %g\n", o->said_wind_ms,
            o->said_wind_sd_ms);
    for (int b = 0; b < 2; b++) {
        fprintf(f, "[setup %c]\n", 'a' + b);
        if (b && o->load_kg > 0) fprintf(f, "load_kg = %g\n", o->load_kg);
        if (w->tyres) fprintf(f, "tyres = %s\n", b ? "wide" : "narrow");
        if (w->said_drag) fprintf(f, "drag = both\n");
    }
    if (w->companion) write_companion(f, o);
    fprintf(f, "[runs]\norder =");
    for (size_t i = 0; i < n_runs; i++) fprintf(f, " %c", 'a' + o->run[runs[i]].setup);
    fprintf(f, "\n");
    if (w->mark) fprintf(f, "start = mark\n");
    write_values(f, o, runs, n_runs, "wind_along_ms", offsetof(struct world_run, noted_ms),
                 "wind_uncertainty_ms", o->note_sd_ms);
    write_values(f, o, runs, n_runs, "runout_m", offsetof(struct world_run, taped_m),
                 "runout_uncertainty_m", o->tape_sd_m);
    write_values(f, o, runs, n_runs, "time_s", offsetof(struct world_run, timed_s),
                 "time_uncertainty_s", o->watch_sd_s);
    if (skip && *skip) fprintf(f, "skip = %s\n", skip);
    return world_close(f);
}

bool world_write_truth(const struct world_outing *o, const char *directory) {
    FILE *f = world_open(directory, "truth.json");
    if (!f) return false;
    fprintf(f, "{\"world\": \"%s\", \"seed\": %llu, \"length_m\": %.2f,\n \"setups\": [",
            o->world.name, (unsigned long long)o->seed, o->length_m);
    static const char *const setup[] = {"a", "b", "friend"};
    for (int b = 0; b < (o->world.companion ? 3 : 2); b++)
        fprintf(f, "%s{\"name\": \"%s\", \"cda_m2\": %.6f, \"crr\": %.6f}", b ? ", " : "", setup[b],
                o->cda_m2[b], o->crr[b]);
    fprintf(f, "],\n \"runs\": [");
    for (size_t i = 0; i < o->n_runs; i++) {
        const struct world_run *r = &o->run[i];
        char start[32], end[32];
        world_iso_time(r->start_s, start);
        world_iso_time(r->end_s, end);
        fprintf(f,
                "%s\n  {\"setup\": \"%s\", \"way\": %d, \"start\": \"%s\", \"end\": \"%s\", "
                "\"start_m\": %.2f, \"end_m\": %.2f, \"cda_m2\": %.6f, \"crr\": %.6f, "
                "\"mass_kg\": %.3f, \"wind_ms\": %.3f, \"shared_ms\": %.3f, "
                "\"wake_s\": %.1f, \"temperature_c\": %.2f, \"brushed\": %s}",
                i ? "," : "", setup[r->setup], r->way, start, end, world_at(o, i, r->start_s).s_m,
                world_at(o, i, r->end_s).s_m, r->cda_m2, r->crr, r->mass_kg, r->wind_ms,
                r->shared_ms, r->wake_s, r->temperature_c, r->brushed ? "true" : "false");
    }
    fprintf(f, "\n ]\n}\n");
    return world_close(f);
}
