/* What else was known on the hill: notes of the wind, a log beside the road, tape and stopwatch. */
#include <math.h>
#include <string.h>

#include "world_parts.h"

#define PI 3.14159265358979323846

/* How sure the outing file is of a value; it can claim no less than the least. */
static double claimed(double said, double sd, double least) {
    return said > 0 ? said : fmax(sd, least);
}

static void note_winds(struct world_outing *o) {
    const struct world *w = &o->world;
    struct chance chance = chance_start(o->seed, CHANCE_NOTES);
    double sd = world_drawn(&chance, w->note_sd_ms),
           said = world_drawn(&chance, w->said_note_sd_ms);
    double factor = world_drawn(&chance, w->note_factor);
    double offset = world_drawn(&chance, w->note_offset_sd_ms) * chance_normal(&chance);
    double missing = world_drawn(&chance, w->note_missing_share);
    double wind_sd = hypot(o->run_wind_sd_ms, o->wander_wind_sd_ms);
    o->note_sd_ms = claimed(said, sd, 0.01);
    for (size_t i = 0; i < o->n_own; i++) {
        struct world_run *run = &o->run[i];
        double wind = run->shared_ms, noise = wind_sd * chance_normal(&chance);
        double error = offset + sd * chance_normal(&chance);
        if (w->notes == WORLD_NOTES_NOISE) wind = o->wind_ms + noise;
        if (w->notes == WORLD_NOTES_TURNED) wind = -wind;
        run->noted_ms = factor * wind + error;
        if (chance_even(&chance, 0, 1) < missing) run->noted_ms = NAN;
    }
}

/* Two digits that stand side by side and differ change places, the first such from the left; to
 * hundredths, as it is written. */
static double swapped(double value) {
    char text[32];
    snprintf(text, sizeof text, "%.2f", value);
    for (char *c = text; *c && c[1]; c++) {
        bool digits = *c >= '0' && *c <= '9' && c[1] >= '0' && c[1] <= '9';
        if (!digits || *c == c[1]) continue;
        char first = *c;
        *c = c[1];
        c[1] = first;
        break;
    }
    double changed = value;
    sscanf(text, "%lf", &changed);
    return changed;
}

static double noted_down(const struct world *w, double value, struct chance *swaps) {
    bool swap = chance_even(swaps, 0, 1) < world_drawn(swaps, w->swap_share);
    return swap ? swapped(value) : value;
}

static void tape_run_outs(struct world_outing *o, struct chance *swaps) {
    const struct world *w = &o->world;
    struct chance chance = chance_start(o->seed, CHANCE_TAPE);
    double sd = world_drawn(&chance, w->tape_sd_m), said = world_drawn(&chance, w->said_tape_sd_m);
    double least = INFINITY;
    o->tape_sd_m = claimed(said, sd, 0.001);
    for (size_t i = 0; i < o->n_own; i++) least = fmin(least, world_at(o, i, o->run[i].end_s).s_m);
    o->tape_from_m = least - chance_even(&chance, -5, 15); /* some may lie short of the mark */
    for (size_t i = 0; i < o->n_own; i++) {
        struct world_moment stood = world_at(o, i, o->run[i].end_s);
        double taped = stood.s_m - o->tape_from_m + sd * chance_normal(&chance);
        taped = noted_down(w, taped, swaps);
        /* A tape along the road has one mark; who comes the other way stands elsewhere. */
        if (stood.speed_ms < 0.5 && o->run[i].way > 0) o->run[i].taped_m = taped;
    }
}

/* When a run passes a place; NaN: it does not. */
static double passes_s(const struct world_outing *o, size_t run, double s_m) {
    const struct world_run *r = &o->run[run];
    for (double t = r->start_s; t < r->end_s; t += 1.0 / WORLD_TRACE_PER_S) {
        double before = r->way * (s_m - world_at(o, run, t).s_m);
        double after = r->way * (s_m - world_at(o, run, t + 1.0 / WORLD_TRACE_PER_S).s_m);
        if (before >= 0 && after < 0) return t + before / (before - after) / WORLD_TRACE_PER_S;
    }
    return NAN;
}

static void time_runs(struct world_outing *o, struct chance *swaps) {
    const struct world *w = &o->world;
    struct chance chance = chance_start(o->seed, CHANCE_WATCH);
    double sd = world_drawn(&chance, w->watch_sd_s),
           said = world_drawn(&chance, w->said_watch_sd_s);
    o->watch_sd_s = claimed(said, sd, 0.001);
    o->watch_m[0] = 0.25 * o->length_m;
    o->watch_m[1] = 0.6 * o->length_m;
    for (size_t i = 0; i < o->n_own; i++) {
        double time = fabs(passes_s(o, i, o->watch_m[1]) - passes_s(o, i, o->watch_m[0]));
        time += sd * chance_normal(&chance);
        o->run[i].timed_s = noted_down(w, time, swaps);
    }
}

void world_know(struct world_outing *o) {
    struct chance swaps = chance_start(o->seed, CHANCE_SWAP);
    for (size_t i = 0; i < o->n_runs; i++)
        o->run[i].noted_ms = o->run[i].taped_m = o->run[i].timed_s = NAN;
    if (o->world.notes) note_winds(o);
    if (o->world.tape) tape_run_outs(o, &swaps);
    if (o->world.watch) time_runs(o, &swaps);
}

/* The log. */

#define LOG_SPARE_S 180.0 /* it begins before and ends after the recording */

struct sensor {
    double step_s, factor, offset_ms[2];
    struct drift gust[2]; /* along the road's line and from its right */
};

static bool with_air(const struct world *w) {
    return w->log_air || w->log == WORLD_LOG_AIR;
}

static void write_row(FILE *f, const struct world_outing *o, size_t day, double until_s,
                      double along_ms, double right_ms) {
    const struct air air = world_air(o, day, until_s);
    char time[32];
    world_iso_time(until_s, time);
    fprintf(f, "%s", time);
    if (o->world.log == WORLD_LOG_ALONG) {
        fprintf(f, ",%.2f", along_ms);
    } else if (o->world.log == WORLD_LOG_DIRECTION) {
        double from = fmod((o->heading_rad + atan2(right_ms, along_ms)) * 180 / PI + 720, 360);
        fprintf(f, ",%.2f,%.0f", hypot(along_ms, right_ms), from < 359.5 ? from : 0);
    }
    if (with_air(&o->world))
        fprintf(f, ",%.1f,%.1f,%.0f", air.temperature_c, air.pressure_hpa, air.humidity_percent);
    fprintf(f, "\n");
}

static void write_day(FILE *f, const struct world_outing *o, size_t day, struct sensor *sensor,
                      struct chance *chance) {
    const struct world_trace *t = &o->trace[day];
    double end_s = t->start_s + (double)t->n / WORLD_TRACE_PER_S + LOG_SPARE_S;
    for (double s = t->start_s - LOG_SPARE_S; s < end_s; s += sensor->step_s) {
        double sum[2] = {0, 0}, n = fmax(round(sensor->step_s), 1), part = sensor->step_s / n;
        for (double i = 0; i < n; i++) {
            double wind[2] = {world_wind_ms(o, day, s + (i + 0.5) * part), o->cross_wind_ms};
            for (int k = 0; k < 2; k++) {
                sum[k] += sensor->factor * wind[k] + sensor->offset_ms[k] + sensor->gust[k].value;
                drift_step(&sensor->gust[k], part, chance);
            }
        }
        write_row(f, o, day, s + sensor->step_s, sum[0] / n, sum[1] / n);
    }
}

bool world_write_log(const struct world_outing *o, const char *directory) {
    const struct world *w = &o->world;
    if (w->log == WORLD_LOG_NONE) return true;
    FILE *f = world_open(directory, WORLD_LOG);
    if (!f) return false;
    struct chance chance = chance_start(o->seed, CHANCE_LOG);
    struct sensor sensor;
    sensor.step_s = world_drawn(&chance, w->log_step_s);
    sensor.factor = world_drawn(&chance, w->log_factor);
    double offset_sd = world_drawn(&chance, w->log_offset_sd_ms);
    double gust_sd = world_drawn(&chance, w->log_gust_sd_ms);
    for (int k = 0; k < 2; k++) {
        sensor.offset_ms[k] = offset_sd * chance_normal(&chance);
        sensor.gust[k] = drift_start(gust_sd, o->gust_s, &chance);
    }
    static const char *const winds[] = {"", ",wind_along_ms", ",wind_speed_ms,wind_from_deg", ""};
    fprintf(f, "time%s%s\n", winds[w->log],
            with_air(w) ? ",temperature_c,pressure_hpa,humidity_percent" : "");
    for (size_t day = 0; day < o->n_days; day++) write_day(f, o, day, &sensor, &chance);
    return world_close(f);
}
