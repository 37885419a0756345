#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "world_parts.h"

#define STEP_S 0.02
#define STEPS_A_MOMENT 5
#define HOUR_S 3600.0
/* Who rides back keeps to the other side; runs are all on one line, so that it is as long as the
 * road. */
#define SIDE_M (-3.0)

static struct world_moment moment_at(const struct world_trace *t, double time_s) {
    double at = (time_s - t->start_s) * WORLD_TRACE_PER_S;
    at = fmin(fmax(at, 0), (double)(t->n - 1));
    size_t i = (size_t)at;
    if (i + 1 == t->n) return t->moment[i];
    struct world_moment m = t->moment[i];
    double part = at - (double)i;
    m.s_m += part * (t->moment[i + 1].s_m - m.s_m);
    m.speed_ms += part * (t->moment[i + 1].speed_ms - m.speed_ms);
    m.wander_ms += part * (t->moment[i + 1].wander_ms - m.wander_ms);
    return m;
}

/* Either the rider, in whose clock the day's wind is made, or the companion, who finds it made. */
struct rider {
    const struct world *world;
    struct world_outing *outing;
    struct world_trace *trace;
    struct chance rider, wind, hairpin;
    struct drift gust, wander, mood; /* mood: how fast one rides back */
    double run_ms;                   /* the wind's part that is the run's own */
    const struct world_run *ahead;   /* the rider's run, for the companion */
    double hurry;                    /* riding back, times the speed of others */
    unsigned long steps;             /* of the recording */
    int way;
    struct world_moment now;
    bool failed; /* no memory, or no end of it */
};

static double clock_s(const struct rider *r) {
    return r->trace->start_s + (double)r->steps * STEP_S;
}

/* Without gusts, against who rides down. */
static double shared_wind(const struct rider *r) {
    const struct world_outing *o = r->outing;
    if (r->trace->companion) return world_wind_ms(o, r->trace->day, clock_s(r));
    return o->wind_ms + r->run_ms + r->wander.value;
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
    r->now.wander_ms = r->wander.value;
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
static void stand_for(struct rider *r, double wait_s, int way_on, double side) {
    unsigned long steps = (unsigned long)(fmax(wait_s, 0) / STEP_S);
    double from = r->now.side_m;
    r->way = way_on;
    for (unsigned long i = 0; i < steps && !r->failed; i++) {
        r->now.side_m = from + (side - from) * world_eased((double)i / (double)steps, 0.3, 0.6);
        ride_step(r, 0, 0);
    }
}

static void stand(struct rider *r, int way_on, double side) {
    stand_for(r, world_drawn(&r->rider, r->world->wait_s), way_on, side);
}

#define CADENCE_RPM 68.0
#define STOP_MS2 0.8

/* Rides on or back to a place, pedalling, and stops there. */
static void ride_to(struct rider *r, double s_m) {
    double speed = r->hurry * world_drawn(&r->rider, r->world->back_ms);
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

static bool new_recording(struct rider *r, const struct world_trace *as) {
    struct world_outing *o = r->outing;
    struct world_trace *traces = realloc(o->trace, (o->n_traces + 1) * sizeof *traces);
    if (!traces) return false;
    o->trace = traces;
    r->trace = &traces[o->n_traces++];
    *r->trace = *as;
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
        .air = o->world.density == WORLD_DENSITY_EVEN ? NULL : air,
        .density_kgm3 = air_density_kgm3(air, air->height_m),
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

/* Whether the companion is in the wake of the rider. */
static bool in_wake(const struct rider *r, double reach_m) {
    if (!r->ahead) return false;
    const struct world_trace *day = &r->outing->trace[r->trace->day];
    struct world_moment rider = moment_at(day, clock_s(r));
    double gap = r->way * (rider.s_m - r->now.s_m);
    return rider.speed_ms > 2 && gap > 0 && gap < reach_m;
}

/* Of the Crr where it is as warm as said. */
static double crr_share(const struct world_outing *o, double temperature_c) {
    return 1 - o->crr_fall_1k * (temperature_c - o->air.temperature_c);
}

/* How somebody rides a run's hairpins: as fast as they may be gone into, and how hard that is
 * braked for. */
struct hairpin {
    double most_ms, brake_ms2;
};

static void choose_hairpins(struct rider *r, struct hairpin *hairpin) {
    for (int i = 0; i < r->outing->hairpins; i++)
        hairpin[i] = (struct hairpin){world_drawn(&r->hairpin, r->world->hairpin_ms),
                                      world_drawn(&r->hairpin, r->world->hairpin_brake_ms2)};
}

/* What is braked before the hairpins: as late as the brake allows, and in them not to get faster.
 */
static double braked_ms2(const struct rider *r, const struct hairpin *hairpin) {
    const struct world_outing *o = r->outing;
    double braked = 0;
    for (int i = 0; i < o->hairpins; i++) {
        double to_m = r->way * (world_hairpin_m(o, i, r->way) - r->now.s_m);
        double out_m = r->way * (world_hairpin_m(o, i, -r->way) - r->now.s_m);
        double most = hairpin[i].most_ms, v = r->now.speed_ms;
        if (out_m > 0 && v * v - most * most > 2 * hairpin[i].brake_ms2 * fmax(to_m, 0))
            braked = hairpin[i].brake_ms2;
    }
    return braked;
}

static void coast(struct rider *r, struct world_run *run) {
    const struct world *w = r->world;
    struct world_outing *o = r->outing;
    struct air air = world_air(o, (size_t)(r->trace - o->trace), clock_s(r));
    run->temperature_c = air.temperature_c;
    run->crr *= crr_share(o, air.temperature_c);
    struct coasting c = coasting(o, &air, run->cda_m2, run->crr, run->mass_kg, run->way);
    struct chance *chance = &r->rider;
    double wake_m = r->ahead ? world_drawn(chance, w->wake_reach_m) : 0;
    double wake = r->ahead ? world_drawn(chance, w->wake_percent) / 100 : 0;
    bool down = run->way > 0;
    double reach = world_drawn(&r->rider, w->coast_m), slow = world_drawn(&r->rider, w->slow_ms);
    double end = (down ? o->length_m : 0) + run->way * chance_even(&r->rider, -5, 5);
    if (reach > 0) end = r->now.s_m + run->way * reach;
    double brush_at = o->length_m * chance_even(&r->rider, 0.3, 0.7);
    double brush_ms2 = world_drawn(&r->rider, w->brush_ms2),
           brush_s = world_drawn(&r->rider, w->brush_s);
    run->brushed = chance_even(&r->rider, 0, 1) < world_drawn(&r->rider, w->brush_share);
    if (!run->brushed) brush_s = 0;
    struct hairpin hairpin[WORLD_HAIRPINS_MAX];
    choose_hairpins(r, hairpin);
    run->start_s = run->rolls_s = clock_s(r);
    double wind = 0, shared = 0, steps = 0;
    r->now.cadence_rpm = 0;
    while ((steps == 0 || r->now.speed_ms > slow) && run->way * (end - r->now.s_m) > 0 &&
           !r->failed) {
        double from = r->now.s_m, shared_ms;
        world_wind_at(o, from, shared_wind(r), &shared_ms, &c.crosswind_ms);
        double air_ms = run->way * (shared_ms + r->gust.value);
        bool brush = brush_s > 0 && run->way * (r->now.s_m - brush_at) > 0;
        bool sheltered = in_wake(r, wake_m);
        c.body.cda_m2 = run->cda_m2 * (sheltered ? 1 - wake : 1);
        if (sheltered) run->wake_s += STEP_S;
        double braked = braked_ms2(r, hairpin);
        coast_step(&c, air_ms, brush ? brush_ms2 : braked, STEP_S, &r->now.s_m, &r->now.speed_ms);
        r->now.speed_ms = fmax(r->now.speed_ms, 0);
        if (brush) brush_s -= STEP_S;
        wind += air_ms;
        shared += shared_ms;
        steps++;
        stepped(r, from);
        if (r->now.speed_ms >= 2) run->rolls_s = clock_s(r);
    }
    run->end_s = clock_s(r);
    run->wind_ms = wind / steps;
    run->shared_ms = shared / steps;
}

/* Pushing off, coasting, braking. */
static void ride_run(struct rider *r, struct world_run *run, double start_ms, double push) {
    const struct world *w = r->world;
    while (r->now.speed_ms < start_ms && !r->failed)
        ride_step(r, push, CADENCE_RPM * (1 + r->mood.value));
    coast(r, run);
    double brake = world_drawn(&r->rider, w->brake_ms2);
    while (r->now.speed_ms > 0 && !r->failed) ride_step(r, -brake, 0);
}

static void choose_holes(const struct world *w, uint64_t seed, struct world_outing *o) {
    struct chance chance = chance_start(seed, CHANCE_HOLES);
    for (size_t i = 0; i < o->n_runs; i++) {
        struct world_run *run = &o->run[i];
        double length = world_drawn(&chance, w->hole_s), at = chance_even(&chance, 0, 1);
        run->hole_start_s = run->hole_end_s = NAN;
        if (chance_even(&chance, 0, 1) >= world_drawn(&chance, w->hole_share)) continue;
        double room = run->end_s - run->start_s - 20 - length;
        if (room < 0) continue;
        run->hole_start_s = run->start_s + 10 + room * at;
        run->hole_end_s = run->hole_start_s + length;
    }
}

/* Where a run begins: near its mark, or on it. */
static double beginning(struct rider *r, int way) {
    double off = chance_even(&r->rider, -3, 3);
    return (way > 0 ? 0 : r->outing->length_m) + (r->world->mark ? 0 : off);
}

static double start_speed(struct rider *r) {
    double start_ms = world_drawn(&r->rider, r->world->start_ms);
    return r->world->mark ? 0 : start_ms;
}

#define DAY_S 86400.0
#define FIRST_START_S 1715414400.0 /* 2024-05-11T08:00:00Z */

static bool ride_own(struct world_outing *o, struct rider *r) {
    const struct world *w = &o->world;
    struct chance cdas = chance_start(o->seed, CHANCE_CDA),
                  days = chance_start(o->seed, CHANCE_DAY);
    double start = FIRST_START_S;
    for (size_t i = 0; i < o->n_own && !r->failed; i++) {
        struct world_run *run = &o->run[i];
        bool both = w->ways;
        int b = w->order[i] == 'B';
        *run = (struct world_run){
            .setup = b,
            .way = both && i % 2 ? -1 : 1,
            .cda_m2 = o->cda_m2[b] * (1 + o->scatter * chance_normal(&cdas)),
            .crr = o->crr[b],
            .mass_kg = o->rider_kg[0] + o->bike_kg[0] + b * o->load_kg,
        };
        double begin = beginning(r, run->way);
        run->own_ms = r->run_ms = o->run_wind_sd_ms * chance_normal(&cdas);
        if (i == 0 || w->days) {
            struct world_trace trace = {.start_s = start, .air = o->air, .day = o->n_traces};
            trace.air.temperature_c += o->temperature_sd_c * chance_normal(&days);
            trace.air.pressure_hpa += o->pressure_sd_hpa * chance_normal(&days);
            r->now.s_m = begin;
            if (!new_recording(r, &trace)) return false;
            start += DAY_S + floor(chance_even(&days, 0, HOUR_S));
        } else {
            int on = begin > r->now.s_m ? 1 : -1;
            stand(r, on, w->ways ? 0 : SIDE_M);
            ride_to(r, begin);
        }
        run->trace = o->n_traces - 1;
        stand(r, run->way, 0);
        double start_ms = start_speed(r);
        ride_run(r, run, start_ms, world_drawn(&r->rider, w->push_ms2));
        if (i + 1 == o->n_own || w->days) stand(r, run->way, 0);
    }
    o->n_days = o->n_traces;
    return !r->failed;
}

/* Rests less than the rider and hurries back, so as to be there for the next run; who comes late
 * starts late. */
#define COMPANION_REST_S 6.0
#define COMPANION_HURRY 1.1
#define COMPANION_LATER_S 3.0 /* its recording begins */

static bool ride_companion_day(struct world_outing *o, struct rider *r, size_t day,
                               struct chance *chance) {
    const struct world *w = &o->world;
    bool begun = false;
    for (size_t i = 0; i < o->n_own && !r->failed; i++) {
        if (o->run[i].trace != day) continue;
        double begin = beginning(r, o->run[i].way), start_ms = start_speed(r);
        double push = world_drawn(&r->rider, w->push_ms2);
        double behind = world_drawn(&r->rider, w->companion_behind_s);
        if (!begun) {
            struct world_trace trace = o->trace[day];
            trace.start_s += COMPANION_LATER_S;
            trace.clock_s = world_drawn(chance, w->companion_clock_s);
            trace.companion = true;
            trace.n = trace.capacity = 0;
            trace.moment = NULL;
            r->now.s_m = begin;
            if (!new_recording(r, &trace)) return false;
            begun = true;
        }
        if (chance_even(chance, 0, 1) < world_drawn(chance, w->companion_missing_share)) continue;
        if (fabs(begin - r->now.s_m) > 6) {
            int on = begin > r->now.s_m ? 1 : -1;
            stand_for(r, COMPANION_REST_S, on, w->ways ? 0 : SIDE_M);
            ride_to(r, begin);
        }
        struct world_run *run = &o->run[o->n_runs++];
        *run = (struct world_run){
            .setup = WORLD_FRIEND,
            .way = o->run[i].way,
            .trace = o->n_traces - 1,
            .cda_m2 = o->cda_m2[WORLD_FRIEND],
            .crr = o->crr[WORLD_FRIEND],
            .mass_kg = o->rider_kg[1] + o->bike_kg[1],
            .own_ms = o->run[i].own_ms,
        };
        stand_for(r, o->run[i].start_s + behind - start_ms / push - clock_s(r), run->way, 0);
        r->ahead = &o->run[i];
        ride_run(r, run, start_ms, push);
    }
    stand(r, r->way, 0);
    return !r->failed;
}

static bool ride_companion(struct world_outing *o, double gust_sd_ms) {
    const struct world *w = &o->world;
    struct chance chance = chance_start(o->seed, CHANCE_COMPANION);
    struct rider r = {.world = w,
                      .outing = o,
                      .rider = chance_start(o->seed, CHANCE_COMPANION_RIDER),
                      .wind = chance_start(o->seed, CHANCE_COMPANION_WIND),
                      .hairpin = chance_start(o->seed + 1, CHANCE_HAIRPIN)};
    o->cda_m2[WORLD_FRIEND] = world_drawn(&chance, w->companion_cda_m2);
    o->crr[WORLD_FRIEND] = world_drawn(&chance, w->companion_crr);
    if (w->companion_tyres) o->crr[WORLD_FRIEND] = o->crr[WORLD_A];
    o->rider_kg[1] = world_drawn(&chance, w->companion_rider_kg);
    o->bike_kg[1] = world_drawn(&chance, w->companion_bike_kg);
    r.gust = drift_start(gust_sd_ms, o->gust_s, &r.wind);
    r.wander = drift_start(0, 1, &r.wind); /* the day's is the rider's */
    r.mood = drift_start(0.06, 15, &r.rider);
    r.hurry = COMPANION_HURRY;
    for (size_t day = 0; day < o->n_days; day++)
        if (!ride_companion_day(o, &r, day, &chance)) return false;
    return true;
}

bool world_ride(const struct world *w, uint64_t seed, struct world_outing *o) {
    struct chance chance = chance_start(seed, CHANCE_OUTING);
    *o = (struct world_outing){
        .world = *w,
        .seed = seed,
        .latitude_deg = 44.2, /* on the open sea, so that it is nobody's road */
        .longitude_deg = -31.7,
        .height_m = world_drawn(&chance, w->height_m),
        .length_m = world_drawn(&chance, w->length_m),
        .rider_kg = {world_drawn(&chance, w->rider_kg)},
        .bike_kg = {world_drawn(&chance, w->bike_kg)},
        .wheel_inertia_kgm2 = world_drawn(&chance, w->wheel_inertia_kgm2),
        .wheel_radius_m = world_drawn(&chance, w->wheel_radius_m),
        .load_kg = world_drawn(&chance, w->load_kg),
        .said_wind_ms = world_drawn(&chance, w->said_wind_ms),
        .said_wind_sd_ms = world_drawn(&chance, w->said_wind_sd_ms),
        .n_own = strlen(w->order),
        .n_runs = strlen(w->order),
    };
    o->gravity_ms2 = gravity_ms2(o->latitude_deg, o->height_m);
    o->cda_m2[WORLD_A] = world_drawn(&chance, w->cda_m2);
    o->cda_m2[WORLD_B] =
        o->cda_m2[WORLD_A] * (1 + world_drawn(&chance, w->difference_percent) / 100);
    o->crr[WORLD_A] = o->crr[WORLD_B] = world_drawn(&chance, w->crr);
    if (w->tyres) o->crr[WORLD_B] *= 1 + world_drawn(&chance, w->tyres_percent) / 100;
    o->scatter = world_drawn(&chance, w->scatter_percent) / 100;
    o->temperature_sd_c = world_drawn(&chance, w->temperature_sd_c);
    o->pressure_sd_hpa = world_drawn(&chance, w->pressure_sd_hpa);
    o->run_wind_sd_ms = world_drawn(&chance, w->run_wind_sd_ms);
    if (!world_make_road(w, seed, o)) return false;
    /* The road's own heights are from its start; its middle is to lie at height_m. */
    double middle = o->height_m;
    o->height_m -= road_at(&o->road, o->length_m / 2).height_m;
    o->air = (struct air){.temperature_c = world_drawn(&chance, w->temperature_c),
                          .pressure_hpa = world_drawn(&chance, w->pressure_hpa),
                          .humidity_percent = world_drawn(&chance, w->humidity_percent),
                          .height_m = middle,
                          .lapse_k_km = world_drawn(&chance, w->lapse_k_km),
                          .gravity_ms2 = o->gravity_ms2};

    struct chance warmth = chance_start(seed, CHANCE_WARMTH);
    o->warming_k = world_drawn(&warmth, w->warming_k);
    o->warming_s = world_drawn(&warmth, w->warming_s);
    o->crr_fall_1k = world_drawn(&warmth, w->crr_fall_percent) / 100;
    o->said_lapse_sd_k_km = world_drawn(&warmth, w->said_lapse_sd_k_km);
    o->said_lapse_k_km = o->air.lapse_k_km + o->said_lapse_sd_k_km * chance_normal(&warmth);

    struct rider r = {
        .world = w,
        .outing = o,
        .rider = chance_start(seed, CHANCE_RIDER),
        .wind = chance_start(seed, CHANCE_WIND),
        .hairpin = chance_start(seed, CHANCE_HAIRPIN),
        .hurry = 1,
    };
    o->wind_ms = world_drawn(&chance, w->wind_ms);
    o->said_height_sd_m = world_drawn(&chance, w->said_height_sd_m);
    o->gust_s = world_drawn(&chance, w->gust_s);
    double gust_sd_ms = world_drawn(&chance, w->gust_sd_ms);
    double wander_s = world_drawn(&chance, w->wander_wind_s);
    o->wander_wind_sd_ms = world_drawn(&chance, w->wander_wind_sd_ms);
    o->cross_wind_ms = world_drawn(&chance, w->cross_wind_ms);
    r.gust = drift_start(gust_sd_ms, o->gust_s, &r.wind);
    r.wander = drift_start(o->wander_wind_sd_ms, wander_s, &r.wind);
    r.mood = drift_start(0.06, 15, &r.rider);
    if (!ride_own(o, &r) || (w->companion && !ride_companion(o, gust_sd_ms))) return false;
    choose_holes(w, seed, o);
    world_know(o);
    return true;
}

void world_outing_free(struct world_outing *o) {
    road_free(&o->road);
    for (size_t i = 0; i < o->n_traces; i++) free(o->trace[i].moment);
    free(o->trace);
}

struct world_moment world_at(const struct world_outing *o, size_t run, double time_s) {
    return moment_at(&o->trace[o->run[run].trace], time_s);
}

struct air world_air(const struct world_outing *o, size_t trace, double time_s) {
    struct air air = o->trace[trace].air;
    double part = (time_s - FIRST_START_S) / o->warming_s;
    air.temperature_c += o->warming_k * (fmin(fmax(part, 0), 1) - 0.5);
    return air;
}

double world_crr_share(const struct world_outing *o) {
    double sum = 0;
    for (size_t i = 0; i < o->n_own; i++) sum += crr_share(o, o->run[i].temperature_c);
    return sum / (double)o->n_own;
}

double world_wind_ms(const struct world_outing *o, size_t day, double time_s) {
    double before_s = -INFINITY, before = NAN, own = NAN; /* the run that was the last */
    for (size_t i = 0; i < o->n_own && isnan(own); i++) {
        const struct world_run *run = &o->run[i];
        if (run->trace != day) continue;
        if (time_s < run->start_s && isfinite(before))
            own = before + (run->own_ms - before) * (time_s - before_s) / (run->start_s - before_s);
        else if (time_s <= run->end_s)
            own = run->own_ms;
        before = run->own_ms;
        before_s = run->end_s;
    }
    return o->wind_ms + (isnan(own) ? before : own) + moment_at(&o->trace[day], time_s).wander_ms;
}

double world_time_s(const struct world_outing *o, int setup, int way, double from_m, double to_m,
                    double entry_ms) {
    struct coasting c = coasting(o, &o->air, o->cda_m2[setup], o->crr[setup],
                                 o->rider_kg[0] + o->bike_kg[0] + setup * o->load_kg, way);
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
