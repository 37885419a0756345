#include "world_check.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "nature_check.h"
#include "world.h"

#define PI 3.14159265358979323846

static bool ridden(const char *name, const char *settings, uint64_t seed,
                   struct world_outing *outing) {
    struct world world;
    char wrong[64];
    bool fine = world_named(name, &world) && world_set(&world, settings, wrong);
    *outing = (struct world_outing){.n_traces = 0};
    if (fine && world_ride(&world, seed, outing)) return true;
    printf("FAIL %s %s could not be ridden\n", name, settings);
    world_outing_free(outing);
    return false;
}

/* The mean of the day's wind over a time, from outside. */
static double mean_wind_ms(const struct world_outing *o, size_t day, double from_s, double to_s) {
    enum { PARTS = 2000 };
    double sum = 0;
    for (int i = 0; i < PARTS; i++)
        sum += world_wind_ms(o, day, from_s + (to_s - from_s) * (i + 0.5) / PARTS);
    return sum / PARTS;
}

/* The largest difference over the runs of what a note says and what is true. */
static bool check_notes(void) {
    struct world_outing o;
    bool fine = true;
    double worst = 0, met = 0, clock = 0;
    if (!ridden("noted", "note_sd_ms=0 gust_sd_ms=0 ways=both", 1, &o)) return false;
    for (size_t i = 0; i < o.n_own; i++) {
        const struct world_run *r = &o.run[i];
        worst = fmax(worst, fabs(r->noted_ms - r->shared_ms));
        met = fmax(met, fabs(r->noted_ms - r->way * r->wind_ms));
        clock = fmax(clock, fabs(r->noted_ms - mean_wind_ms(&o, r->trace, r->start_s, r->end_s)));
    }
    fine &= check_near("notes without error: off the wind", worst, 0, 1e-12);
    fine &= check_near("  off what was met, without gusts", met, 0, 1e-12);
    fine &= check_near("  off the day's wind by the clock", clock, 0, 1e-3);
    world_outing_free(&o);

    if (!ridden("turned-notes", "note_sd_ms=0 note_factor=0.7", 1, &o)) return false;
    worst = 0;
    for (size_t i = 0; i < o.n_own; i++)
        worst = fmax(worst, fabs(o.run[i].noted_ms + 0.7 * o.run[i].shared_ms));
    fine &= check_near("turned notes: off the wind turned", worst, 0, 1e-12);
    world_outing_free(&o);
    return fine;
}

/* Notes over many short outings: as scattered as they are said to be, unrelated where they are
 * noise, and missing as often as that. Limits are four standard errors. */
static bool check_many_notes(void) {
    enum { OUTINGS = 40 };
    double n = 0, made = 0, error2 = 0, noise2 = 0, wind2 = 0, cross = 0;
    const char *brief = " length_m=200 order=ABBAABBA run_wind_sd_ms=0.5 wander_wind_sd_ms=0 ";
    for (uint64_t seed = 1; seed <= OUTINGS; seed++) {
        struct world_outing noted, noise;
        char settings[256];
        snprintf(settings, sizeof settings, "note_missing_share=0.25%s", brief);
        if (!ridden("noted", settings, seed, &noted)) return false;
        snprintf(settings, sizeof settings, "note_sd_ms=0%s", brief);
        if (!ridden("noise-notes", settings, seed, &noise)) return false;
        for (size_t i = 0; i < noted.n_own; i++) {
            double error = noted.run[i].noted_ms - noted.run[i].shared_ms;
            made++;
            if (isfinite(error)) {
                error2 += error * error;
                n++;
            }
            noise2 += noise.run[i].noted_ms * noise.run[i].noted_ms;
            wind2 += noise.run[i].shared_ms * noise.run[i].shared_ms;
            cross += noise.run[i].noted_ms * noise.run[i].shared_ms;
        }
        world_outing_free(&noted);
        world_outing_free(&noise);
    }
    bool fine =
        check_near("notes to 0.1 m/s: mean square", error2 / n, 0.01, 0.01 * 4 * sqrt(2 / n));
    fine &= check_near("  share missing", 1 - n / made, 0.25, 4 * sqrt(0.1875 / made));
    fine &=
        check_near("noise for notes: size to the winds'", noise2 / wind2, 1, 4 * sqrt(4 / made));
    fine &= check_near("  correlation", cross / sqrt(noise2 * wind2), 0, 4 / sqrt(made));
    return fine;
}

static bool check_companion(void) {
    struct world_outing o, alone;
    bool fine = true;
    const char *ordinary = "companion_cda_m2=0.38 companion_rider_kg=66 ";
    if (!ridden("companion", ordinary, 1, &o)) return false;
    double late = 0, wind = 0, wake = 0, own = 0, at_once = 0;
    fine &= check_near("companion: runs", (double)(o.n_runs - o.n_own), (double)o.n_own, 0);
    for (size_t i = 0; i < o.n_runs - o.n_own; i++) {
        const struct world_run *r = &o.run[o.n_own + i];
        late = fmax(late, fabs(r->start_s - o.run[i].start_s - 8));
        wind = fmax(wind, fabs(r->shared_ms - mean_wind_ms(&o, 0, r->start_s, r->end_s)));
        own = fmax(own, fabs(r->wind_ms - r->shared_ms - (o.run[i].wind_ms - o.run[i].shared_ms)));
        at_once += r->start_s > o.run[i].end_s;
        wake += r->wake_s;
    }
    fine &= check_near("  starts off 8 s behind", late, 0, 0.05);
    fine &= check_near("  wind off the day's by the clock", wind, 0, 1e-3);
    fine &= check_near("  starts when the rider has ended", at_once, 0, 0);
    fine &= check_near("  in the wake, s", wake, 0, 0);
    /* Gusts of 0.15 m/s for 10 s over some 90 s: the means differ by some 0.1. */
    fine &= check_near("  gusts of its own", own, 0.15, 0.14);

    /* Nothing that the rider does is another for it. */
    if (!ridden("breeze", "", 1, &alone)) return false;
    double moved = 0;
    for (size_t i = 0; i < o.n_own; i++)
        moved += fabs(o.run[i].start_s - alone.run[i].start_s) +
                 fabs(o.run[i].wind_ms - alone.run[i].wind_ms);
    fine &= check_near("  changes what the rider does", moved, 0, 0);
    world_outing_free(&alone);
    world_outing_free(&o);

    struct world_outing near, open;
    if (!ridden("companion-near", ordinary, 1, &near)) return false;
    if (!ridden("companion-near", "companion_cda_m2=0.38 companion_rider_kg=66 wake_percent=0", 1,
                &open))
        return false;
    const struct world_run *r = &near.run[near.n_own], *s = &open.run[open.n_own];
    fine &= check_near("2 s behind: in the wake, s", r->wake_s, 55, 45);
    fine &= check_near("  saves time, s", s->end_s - s->start_s - (r->end_s - r->start_s), 3, 2.9);
    world_outing_free(&near);
    world_outing_free(&open);
    return fine;
}

static FILE *opened(const char *directory, const char *name) {
    char path[256];
    snprintf(path, sizeof path, "%s/%s", directory, name);
    return fopen(path, "r");
}

static void removed(const char *directory, const char *name) {
    char path[256];
    snprintf(path, sizeof path, "%s/%s", directory, name);
    remove(path);
}

/* Seconds of the day of an ISO 8601 time. */
static double seconds(const char *iso) {
    int hours, minutes;
    double s;
    return sscanf(iso, "%*d-%*d-%*dT%d:%d:%lf", &hours, &minutes, &s) == 3
               ? hours * 3600 + minutes * 60 + s
               : NAN;
}

static double first_time(const char *directory, const char *name) {
    FILE *f = opened(directory, name);
    double time = NAN;
    char line[256];
    while (f && isnan(time) && fgets(line, sizeof line, f))
        if (!strncmp(line, "<Time>", 6)) time = seconds(line + 6);
    if (f) fclose(f);
    return time;
}

/* The log's rows against the mean of the day's wind over each, read back from the file. */
static bool check_log(const struct world_outing *o, const char *directory, const char *what) {
    bool direction = o->world.log == WORLD_LOG_DIRECTION;
    FILE *f = opened(directory, "log.csv");
    if (!f) return check_near(what, NAN, 0, 0);
    char line[256];
    double along = 0, right = 0, rows = 0, midnight = o->trace[0].start_s;
    midnight -= fmod(midnight, 86400);
    while (fgets(line, sizeof line, f)) {
        double end = midnight + seconds(line), value[2] = {NAN, 0};
        const char *comma = strchr(line, ',');
        if (!isfinite(end) || !comma) continue;
        if (sscanf(comma, ",%lf,%lf", &value[0], &value[1]) < 1) continue;
        double turned = direction ? value[1] * PI / 180 - o->heading_rad : 0;
        double wind = 0.8 * mean_wind_ms(o, 0, end - 60, end);
        along = fmax(along, fabs(value[0] * cos(turned) - wind));
        right = fmax(right, fabs(value[0] * sin(turned) - 0.8 * o->cross_wind_ms));
        rows++;
    }
    fclose(f);
    double lasts = (double)o->trace[0].n / WORLD_TRACE_PER_S;
    bool fine = check_near(what, along, 0, direction ? 0.03 : 0.006);
    fine &= check_near("  off the wind from the side", right, 0, direction ? 0.03 : 0);
    return check_near("  rows", rows, ceil((lasts + 360) / 60), 1) && fine;
}

static bool check_files(void) {
    const char *temporary = getenv("TMPDIR");
    char directory[128];
    snprintf(directory, sizeof directory, "%s/world_check.XXXXXX", temporary ? temporary : "/tmp");
    if (!mkdtemp(directory)) return check_near("a temporary directory", NAN, 0, 0);
    struct world_outing o;
    bool fine = true;
    const char *settings = "log_gust_sd_ms=0 companion_clock_s=4";
    if (ridden("companion-sensor", settings, 1, &o)) {
        fine &= world_write_recordings(&o, directory);
        double apart = first_time(directory, "friend.tcx") - first_time(directory, "ride.tcx");
        fine &= check_near("the companion's clock: written over true",
                           apart - (o.trace[1].start_s - o.trace[0].start_s), 4, 1e-6);
        fine &= check_log(&o, directory, "log: off the day's wind");
    }
    world_outing_free(&o);
    if (ridden("sensor-direction", "log_gust_sd_ms=0 cross_wind_ms=-1.2", 2, &o)) {
        fine &= world_write_recordings(&o, directory);
        fine &= check_log(&o, directory, "log of speed and direction: off the day's wind");
    }
    world_outing_free(&o);
    removed(directory, "ride.tcx");
    removed(directory, "friend.tcx");
    removed(directory, "log.csv");
    return !rmdir(directory) && fine;
}

static bool check_tape(void) {
    struct world_outing o;
    if (!ridden("taped", "tape_sd_m=0 watch=yes watch_sd_s=0", 1, &o)) return false;
    double tape = 0, speed = 0, watch = 0, mark = 0;
    for (size_t i = 0; i < o.n_own; i++) {
        const struct world_run *r = &o.run[i];
        double first = o.run[0].taped_m - world_at(&o, 0, o.run[0].end_s).s_m;
        tape = fmax(tape, fabs(r->taped_m - world_at(&o, i, r->end_s).s_m - first));
        speed = fmax(speed, world_at(&o, i, r->end_s).speed_ms);
        mark = fmax(mark, fabs(world_at(&o, i, r->start_s).s_m));
        /* From one mark the run is at the other after the time that was taken. */
        double t = r->start_s;
        while (world_at(&o, i, t).s_m < o.watch_m[0] && t < r->end_s) t += 0.01;
        watch = fmax(watch, fabs(world_at(&o, i, t + r->timed_s).s_m - o.watch_m[1]));
    }
    bool fine = check_near("tape without error: off the places", tape, 0, 1e-9);
    fine &= check_near("  speed there", speed, 0, 0.05);
    fine &= check_near("  start off the mark", mark, 0, 0.1);
    fine &= check_near("watch without error: off the mark, m", watch, 0, 0.2);
    world_outing_free(&o);
    return fine;
}

/* Air that warms: by the clock, in the log, in what tyres lose and in how thin it gets. */
static bool check_warming(const char *directory) {
    struct world_outing o;
    if (!ridden("cold-to-warm", "", 1, &o)) return false;
    double crr = 0, log = 0, rows = 0, first = o.trace[0].start_s;
    for (size_t i = 0; i < o.n_own; i++) {
        const struct world_run *r = &o.run[i];
        double wanted = 8 + 12 * fmin((r->start_s - first) / 10800, 1) - 6;
        crr = fmax(crr, fabs(r->crr - 0.005 * (1 - 0.01 * (r->temperature_c - 8))));
        crr = fmax(crr, 1e-3 * fabs(r->temperature_c - wanted));
    }
    bool fine = check_near("warming: first run, C", o.run[0].temperature_c, 2, 0.8);
    fine &= check_near("  last run, C", o.run[o.n_own - 1].temperature_c, 14, 0.8);
    fine &= check_near("  Crr and temperature off what is wanted", crr, 0, 1e-5);
    fine &= check_near("  mean Crr, of that as warm as said", world_crr_share(&o), 1, 0.01);
    struct air cold = world_air(&o, 0, first), warm = world_air(&o, 0, first + 20000);
    fine &= check_near("  density, cold over warm",
                       air_density_kgm3(&cold, 250) / air_density_kgm3(&warm, 250),
                       /* 0.378 of the vapour's pressure, 494 and 1119 Pa at 70 % (WMO No. 8) */
                       287.15 / 275.15 * (99000 - 0.378 * 494) / (99000 - 0.378 * 1119), 1e-3);
    fine &= world_write_recordings(&o, directory);
    FILE *f = opened(directory, "log.csv");
    char line[256];
    double midnight = first - fmod(first, 86400), temperature, pressure;
    while (f && fgets(line, sizeof line, f)) {
        const char *comma = strchr(line, ',');
        double end = midnight + seconds(line);
        if (!isfinite(end) || !comma || sscanf(comma, ",%lf,%lf", &temperature, &pressure) != 2)
            continue;
        log = fmax(log, fabs(temperature - world_air(&o, 0, end).temperature_c));
        log = fmax(log, fabs(pressure - 990));
        rows++;
    }
    if (f) fclose(f);
    fine &= check_near("  log of the air: off it, C or hPa", log, 0, 0.051);
    fine &= check_near("  rows", rows, (double)o.trace[0].n / WORLD_TRACE_PER_S / 60 + 6, 2);
    removed(directory, "ride.tcx");
    removed(directory, "log.csv");
    world_outing_free(&o);
    return fine;
}

/* Roads to roll out on: slopes either side of where they stop falling, and runs that stand. */
static bool check_rollout(void) {
    struct world_outing o;
    bool fine = true;
    if (!ridden("tyres-rollout", "variation_percent=0", 1, &o)) return false;
    double fall = road_at(&o.road, 100).height_m - road_at(&o.road, 0).height_m;
    double rise = road_at(&o.road, 500).height_m - road_at(&o.road, 300).height_m;
    double speed = 0, length = 0;
    for (size_t i = 0; i < o.n_own; i++) {
        speed = fmax(speed, world_at(&o, i, o.run[i].end_s).speed_ms);
        length = fmax(length, world_at(&o, i, o.run[i].end_s).s_m);
    }
    fine &= check_near("roll-out: fall over 100 m", fall, -100 * sin(atan(0.06)), 1e-3);
    fine &= check_near("  rise over 200 m", rise, 200 * sin(atan(0.005)), 1e-3);
    fine &= check_near("  speed at the end", speed, 0, 0.05);
    fine &= check_near("  Crr of b over a", o.crr[WORLD_B] / o.crr[WORLD_A], 1.1, 1e-12);
    fine &= check_near("  runs stand before the road's end, by so much of it",
                       length / o.length_m < 0.98, 1, 0);
    world_outing_free(&o);
    return fine;
}

static bool check_tyres(void) {
    const char *temporary = getenv("TMPDIR");
    char directory[128];
    snprintf(directory, sizeof directory, "%s/world_check.XXXXXX", temporary ? temporary : "/tmp");
    if (!mkdtemp(directory)) return check_near("a temporary directory", NAN, 0, 0);
    bool warming = check_warming(directory), rollout = check_rollout();
    return !rmdir(directory) && warming && rollout;
}

bool world_check(void) {
    bool notes = check_notes(), many = check_many_notes(), companion = check_companion(),
         files = check_files(), tape = check_tape(), tyres = check_tyres();
    return notes && many && companion && files && tape && tyres;
}
