#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "world.h"

#define PI 3.14159265358979323846

/* What is left to chance, each with its own numbers, so that changing one leaves the others. */
enum {
    CHANCE_OUTING,
    CHANCE_ROAD,
    CHANCE_RIDER,
    CHANCE_WIND,
    CHANCE_CDA,
    CHANCE_DAY,
    CHANCE_HOLES
};

static double drawn(struct chance *chance, struct world_range range) {
    return chance_even(chance, range.low, range.high);
}

/* The road. */

enum { WAVES = 5 };

struct waves {
    double amplitude[WAVES], per_m[WAVES], phase[WAVES];
};

/* A smooth curve about zero, of lengths from `shortest` to `longest`. */
static struct waves waves_make(double sd, double shortest_m, double longest_m,
                               struct chance *chance) {
    struct waves w;
    for (int i = 0; i < WAVES; i++) {
        w.amplitude[i] = sd * sqrt(2.0 / WAVES);
        w.per_m[i] = 2 * PI / chance_even(chance, shortest_m, longest_m);
        w.phase[i] = chance_even(chance, 0, 2 * PI);
    }
    return w;
}

static double waves_at(const struct waves *w, double s_m) {
    double sum = 0;
    for (int i = 0; i < WAVES; i++) sum += w->amplitude[i] * sin(w->per_m[i] * s_m + w->phase[i]);
    return sum;
}

static double waves_slope(const struct waves *w, double s_m) {
    double sum = 0;
    for (int i = 0; i < WAVES; i++)
        sum += w->amplitude[i] * w->per_m[i] * cos(w->per_m[i] * s_m + w->phase[i]);
    return sum;
}

struct plan {
    int road;
    double length_m, slope, end_slope, heading_rad, bend_loss;
    struct waves slopes, bends;
};

/* 0 before, 1 after, smooth in between. */
static double eased(double x, double from, double to) {
    double u = fmin(fmax((x - from) / (to - from), 0), 1);
    return u * u * (3 - 2 * u);
}

#define BEND_RADIUS_M 80.0

static struct ground planned(double s_m, const void *state) {
    const struct plan *p = state;
    double u = s_m / p->length_m, slope = p->slope;
    if (p->road == WORLD_FLATTENING) slope += (p->end_slope - p->slope) * eased(u, 0.3, 0.7);
    if (p->road == WORLD_DIP) slope *= 1 - 2 * eased(u, 0.45, 0.55);
    double tight = fmin(fabs(waves_slope(&p->bends, s_m)) * BEND_RADIUS_M, 1);
    struct ground g = {
        .slope = slope + waves_at(&p->slopes, s_m),
        .heading_rad = p->heading_rad + waves_at(&p->bends, s_m),
        .loss = p->bend_loss * tight * tight,
    };
    return g;
}

/* How far the road goes on past both ends. */
#define SPARE_M 200.0

static bool make_road(const struct world *w, uint64_t seed, struct world_outing *o) {
    struct chance chance = chance_start(seed, CHANCE_ROAD);
    struct plan plan = {.road = w->road,
                        .length_m = o->length_m,
                        .slope = drawn(&chance, w->slope_percent) / 100,
                        .end_slope = drawn(&chance, w->end_slope_percent) / 100,
                        .heading_rad = chance_even(&chance, 0, 2 * PI),
                        .bend_loss = drawn(&chance, w->bend_loss)};
    plan.slopes = waves_make(drawn(&chance, w->variation_percent) / 100, 150, 700, &chance);
    plan.bends = waves_make(drawn(&chance, w->bends_deg) * PI / 180, 200, 600, &chance);
    return road_make(&o->road, -SPARE_M, o->length_m + SPARE_M, planned, &plan);
}

/* The ride. */

#define STEP_S 0.02
#define STEPS_A_MOMENT 5
#define HOUR_S 3600.0
/* Who rides back keeps to the other side; runs are all on one line, so that it is as long as the
 * road. */
#define SIDE_M (-3.0)

struct rider {
    const struct world *world;
    struct world_outing *outing;
    struct world_trace *trace;
    struct chance rider, wind;
    struct drift gust, wander, mood; /* mood: how fast one rides back */
    double steady_ms, run_ms;        /* along the road, against who rides down */
    unsigned long steps;             /* of the recording */
    int way;
    struct world_moment now;
    bool failed; /* no memory, or no end of it */
};

static double clock_s(const struct rider *r) {
    return r->trace->start_s + (double)r->steps * STEP_S;
}

static double headwind(const struct rider *r) {
    return r->way * (r->steady_ms + r->run_ms + r->gust.value + r->wander.value);
}

static bool keep_moment(struct world_trace *trace, const struct world_moment *now) {
    if (trace->n == trace->capacity) {
        size_t capacity = trace->capacity ? 2 * trace->capacity : 4096;
        struct world_moment *moment = realloc(trace->moment, capacity * sizeof *moment);
        if (!moment) return false;
        trace->moment = moment;
        trace->capacity = capacity;
    }
    trace->moment[trace->n++] = *now;
    return true;
}

/* A step has been made from s and v to what is now. */
static void stepped(struct rider *r, double from_m) {
    double way = fabs(r->now.s_m - from_m), sine = road_at(&r->outing->road, from_m).sine;
    r->now.ridden_m += way;
    r->now.level_m += way * sqrt(1 - sine * sine);
    r->steps++;
    drift_step(&r->gust, STEP_S, &r->wind);
    drift_step(&r->wander, STEP_S, &r->wind);
    drift_step(&r->mood, STEP_S, &r->rider);
    if (r->steps % STEPS_A_MOMENT == 0) r->failed |= !keep_moment(r->trace, &r->now);
    r->failed |= (double)r->steps * STEP_S > 4 * HOUR_S;
}

/* Pedalling, braking and standing: as the rider wants it, whatever the forces. */
static void ride_step(struct rider *r, double acceleration_ms2, double cadence_rpm) {
    double from = r->now.s_m, speed = r->now.speed_ms;
    r->now.speed_ms = fmax(speed + acceleration_ms2 * STEP_S, 0);
    r->now.s_m += r->way * (speed + r->now.speed_ms) / 2 * STEP_S;
    r->now.cadence_rpm = cadence_rpm;
    stepped(r, from);
}

/* Stands about, and comes over to a side of the road. */
static void stand(struct rider *r, int way_on, double side) {
    double wait = drawn(&r->rider, r->world->wait_s);
    unsigned long steps = (unsigned long)(wait / STEP_S);
    double from = r->now.side_m;
    r->way = way_on;
    for (unsigned long i = 0; i < steps && !r->failed; i++) {
        r->now.side_m = from + (side - from) * eased((double)i / (double)steps, 0.3, 0.6);
        ride_step(r, 0, 0);
    }
}

#define CADENCE_RPM 68.0
#define STOP_MS2 0.8

/* Rides on or back to a place, pedalling, and stops there. */
static void ride_to(struct rider *r, double s_m) {
    double speed = drawn(&r->rider, r->world->back_ms);
    r->way = s_m > r->now.s_m ? 1 : -1;
    double left;
    while ((left = r->way * (s_m - r->now.s_m)) > 0.05 && !r->failed) {
        double v = r->now.speed_ms;
        if (v > 0.3 && v * v / (2 * STOP_MS2) >= left) {
            ride_step(r, -STOP_MS2, 0);
            continue;
        }
        double wanted = fmin(speed * (1 + r->mood.value), sqrt(2 * STOP_MS2 * left) + 0.3);
        double change = fmin(fmax((wanted - v) / 1.5, -STOP_MS2), 0.6);
        ride_step(r, change, CADENCE_RPM * (1 + r->mood.value));
    }
    while (r->now.speed_ms > 0 && !r->failed) ride_step(r, -2, 0);
}

static bool new_recording(struct rider *r, double start_s, const struct air *air) {
    struct world_outing *o = r->outing;
    struct world_trace *traces = realloc(o->trace, (o->n_traces + 1) * sizeof *traces);
    if (!traces) return false;
    o->trace = traces;
    r->trace = &traces[o->n_traces++];
    *r->trace = (struct world_trace){.start_s = start_s, .air = *air};
    r->steps = 0;
    r->now.ridden_m = r->now.level_m = r->now.speed_ms = r->now.cadence_rpm = 0;
    return keep_moment(r->trace, &r->now);
}

static struct coasting coasting(const struct world_outing *o, const struct air *air, double cda_m2,
                                double crr, double mass_kg, int way) {
    struct coasting c = {
        .road = &o->road,
        .base_height_m = o->height_m,
        .gravity_ms2 = o->gravity_ms2,
        .air = air,
        .body = {.mass_kg = mass_kg,
                 .wheels_kg = o->wheel_inertia_kgm2 / (o->wheel_radius_m * o->wheel_radius_m),
                 .cda_m2 = cda_m2,
                 .crr = crr,
                 .bearing_n = BEARING_N,
                 .bearing_ns_m = BEARING_NS_M},
        .way = way,
    };
    return c;
}

static void coast(struct rider *r, struct world_run *run) {
    const struct world *w = r->world;
    struct world_outing *o = r->outing;
    struct coasting c = coasting(o, &r->trace->air, run->cda_m2, run->crr, run->mass_kg, run->way);
    bool down = run->way > 0;
    double reach = drawn(&r->rider, w->coast_m), slow = drawn(&r->rider, w->slow_ms);
    double end = (down ? o->length_m : 0) + run->way * chance_even(&r->rider, -5, 5);
    if (reach > 0) end = r->now.s_m + run->way * reach;
    double brush_at = o->length_m * chance_even(&r->rider, 0.3, 0.7);
    double brush_ms2 = drawn(&r->rider, w->brush_ms2), brush_s = drawn(&r->rider, w->brush_s);
    run->brushed = chance_even(&r->rider, 0, 1) < drawn(&r->rider, w->brush_share);
    if (!run->brushed) brush_s = 0;
    run->start_s = run->rolls_s = clock_s(r);
    double wind = 0, steps = 0;
    r->now.cadence_rpm = 0;
    while (r->now.speed_ms > slow && run->way * (end - r->now.s_m) > 0 && !r->failed) {
        double from = r->now.s_m, air_ms = headwind(r);
        bool brush = brush_s > 0 && run->way * (r->now.s_m - brush_at) > 0;
        coast_step(&c, air_ms, brush ? brush_ms2 : 0, STEP_S, &r->now.s_m, &r->now.speed_ms);
        r->now.speed_ms = fmax(r->now.speed_ms, 0);
        if (brush) brush_s -= STEP_S;
        wind += air_ms;
        steps++;
        stepped(r, from);
        if (r->now.speed_ms >= 2) run->rolls_s = clock_s(r);
    }
    run->end_s = clock_s(r);
    run->wind_ms = wind / steps;
}

/* Standing, pushing off, coasting, braking. */
static void ride_run(struct rider *r, struct world_run *run) {
    const struct world *w = r->world;
    stand(r, run->way, 0);
    double start_ms = drawn(&r->rider, w->start_ms), push = drawn(&r->rider, w->push_ms2);
    while (r->now.speed_ms < start_ms && !r->failed)
        ride_step(r, push, CADENCE_RPM * (1 + r->mood.value));
    coast(r, run);
    double brake = drawn(&r->rider, w->brake_ms2);
    while (r->now.speed_ms > 0 && !r->failed) ride_step(r, -brake, 0);
}

static void choose_holes(const struct world *w, uint64_t seed, struct world_outing *o) {
    struct chance chance = chance_start(seed, CHANCE_HOLES);
    for (size_t i = 0; i < o->n_runs; i++) {
        struct world_run *run = &o->run[i];
        double length = drawn(&chance, w->hole_s), at = chance_even(&chance, 0, 1);
        run->hole_start_s = run->hole_end_s = NAN;
        if (chance_even(&chance, 0, 1) >= drawn(&chance, w->hole_share)) continue;
        double room = run->end_s - run->start_s - 20 - length;
        if (room < 0) continue;
        run->hole_start_s = run->start_s + 10 + room * at;
        run->hole_end_s = run->hole_start_s + length;
    }
}

#define DAY_S 86400.0
#define FIRST_START_S 1715414400.0 /* 2024-05-11T08:00:00Z */

bool world_ride(const struct world *w, uint64_t seed, struct world_outing *o) {
    struct chance chance = chance_start(seed, CHANCE_OUTING), days = chance_start(seed, CHANCE_DAY),
                  cdas = chance_start(seed, CHANCE_CDA);
    *o = (struct world_outing){
        .world = *w,
        .seed = seed,
        .latitude_deg = 44.2, /* on the open sea, so that it is nobody's road */
        .longitude_deg = -31.7,
        .height_m = drawn(&chance, w->height_m),
        .length_m = drawn(&chance, w->length_m),
        .rider_kg = drawn(&chance, w->rider_kg),
        .bike_kg = drawn(&chance, w->bike_kg),
        .wheel_inertia_kgm2 = drawn(&chance, w->wheel_inertia_kgm2),
        .wheel_radius_m = drawn(&chance, w->wheel_radius_m),
        .load_kg = drawn(&chance, w->load_kg),
        .said_wind_ms = drawn(&chance, w->said_wind_ms),
        .said_wind_sd_ms = drawn(&chance, w->said_wind_sd_ms),
        .n_runs = strlen(w->order),
    };
    o->gravity_ms2 = gravity_ms2(o->latitude_deg, o->height_m);
    o->cda_m2[0] = drawn(&chance, w->cda_m2);
    o->cda_m2[1] = o->cda_m2[0] * (1 + drawn(&chance, w->difference_percent) / 100);
    o->crr[0] = o->crr[1] = drawn(&chance, w->crr);
    if (w->tyres) o->crr[1] *= 1 + drawn(&chance, w->tyres_percent) / 100;
    double scatter = drawn(&chance, w->scatter_percent) / 100;
    double temperature_sd = drawn(&chance, w->temperature_sd_c);
    double pressure_sd = drawn(&chance, w->pressure_sd_hpa);
    double run_wind_sd = drawn(&chance, w->run_wind_sd_ms);
    if (!make_road(w, seed, o)) return false;
    /* The road's own heights are from its start; its middle is to lie at height_m. */
    double middle = o->height_m;
    o->height_m -= road_at(&o->road, o->length_m / 2).height_m;
    o->air = (struct air){.temperature_c = drawn(&chance, w->temperature_c),
                          .pressure_hpa = drawn(&chance, w->pressure_hpa),
                          .humidity_percent = drawn(&chance, w->humidity_percent),
                          .height_m = middle,
                          .lapse_k_km = drawn(&chance, w->lapse_k_km),
                          .gravity_ms2 = o->gravity_ms2};

    struct rider r = {
        .world = w,
        .outing = o,
        .rider = chance_start(seed, CHANCE_RIDER),
        .wind = chance_start(seed, CHANCE_WIND),
        .steady_ms = drawn(&chance, w->wind_ms),
    };
    o->said_height_sd_m = drawn(&chance, w->said_height_sd_m);
    r.gust = drift_start(drawn(&chance, w->gust_sd_ms), drawn(&chance, w->gust_s), &r.wind);
    r.wander = drift_start(drawn(&chance, w->wander_wind_sd_ms), drawn(&chance, w->wander_wind_s),
                           &r.wind);
    r.mood = drift_start(0.06, 15, &r.rider);
    double start = FIRST_START_S;
    for (size_t i = 0; i < o->n_runs && !r.failed; i++) {
        struct world_run *run = &o->run[i];
        bool both = w->ways;
        int b = w->order[i] == 'B';
        *run = (struct world_run){.setup = b,
                                  .way = both && i % 2 ? -1 : 1,
                                  .cda_m2 = o->cda_m2[b] * (1 + scatter * chance_normal(&cdas)),
                                  .crr = o->crr[b],
                                  .mass_kg = o->rider_kg + o->bike_kg + b * o->load_kg};
        double begin = (run->way > 0 ? 0 : o->length_m) + chance_even(&r.rider, -3, 3);
        r.run_ms = run_wind_sd * chance_normal(&cdas);
        if (i == 0 || w->days) {
            struct air air = o->air;
            air.temperature_c += temperature_sd * chance_normal(&days);
            air.pressure_hpa += pressure_sd * chance_normal(&days);
            r.now.s_m = begin;
            if (!new_recording(&r, start, &air)) return false;
            start += DAY_S + floor(chance_even(&days, 0, HOUR_S));
        } else {
            int on = begin > r.now.s_m ? 1 : -1;
            stand(&r, on, w->ways ? 0 : SIDE_M);
            ride_to(&r, begin);
        }
        run->trace = o->n_traces - 1;
        ride_run(&r, run);
        if (i + 1 == o->n_runs || w->days) stand(&r, run->way, 0);
    }
    choose_holes(w, seed, o);
    return !r.failed;
}

void world_outing_free(struct world_outing *o) {
    road_free(&o->road);
    for (size_t i = 0; i < o->n_traces; i++) free(o->trace[i].moment);
    free(o->trace);
}

struct world_moment world_at(const struct world_outing *o, size_t run, double time_s) {
    const struct world_trace *t = &o->trace[o->run[run].trace];
    double at = (time_s - t->start_s) * WORLD_TRACE_PER_S;
    at = fmin(fmax(at, 0), (double)(t->n - 1));
    size_t i = (size_t)at;
    if (i + 1 == t->n) return t->moment[i];
    struct world_moment m = t->moment[i];
    double part = at - (double)i;
    m.s_m += part * (t->moment[i + 1].s_m - m.s_m);
    m.speed_ms += part * (t->moment[i + 1].speed_ms - m.speed_ms);
    return m;
}

double world_time_s(const struct world_outing *o, int setup, int way, double from_m, double to_m,
                    double entry_ms) {
    struct coasting c = coasting(o, &o->air, o->cda_m2[setup], o->crr[setup],
                                 o->rider_kg + o->bike_kg + setup * o->load_kg, way);
    double s = from_m, v = entry_ms;
    for (double t = 0; t < HOUR_S; t += STEP_S) {
        double before = way * (to_m - s);
        coast_step(&c, 0, 0, STEP_S, &s, &v);
        double after = way * (to_m - s);
        if (after <= 0) return t + STEP_S * before / (before - after);
        if (v <= 0) break;
    }
    return NAN;
}
