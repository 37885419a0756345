#include "report/roads.h"

#include <math.h>
#include <stdint.h>
#include <stdlib.h>

#include "base/number.h"
#include "report/clock.h"
#include "report/json.h"
#include "report/table.h"
#include "stats/robust.h"

enum { LISTED_MOST = 10 };

struct road {
    size_t runs, reversed, recordings, days;
    double first_s, last_s, distance_m, drop_m, latitude_deg, longitude_deg;
};

static int by_value(const void *a, const void *b) {
    double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

/* Without runs where memory ran out. */
static struct road road_of(const struct cw_analysed *of, size_t number, bool *failed) {
    size_t most = of->runs.n + 1, recording = SIZE_MAX;
    double *distance = malloc(3 * most * sizeof *distance);
    struct road road = {.first_s = INFINITY, .last_s = -INFINITY};
    if (!distance) {
        *failed = true;
        return road;
    }
    double *drop = distance + most, *day = drop + most;
    for (size_t i = 0; i < of->runs.n; i++) {
        const struct cw_run *run = &of->runs.at[i];
        if (!run->kept || run->road != number) continue;
        if (run->start_s < road.first_s) {
            const struct cw_recording *recorded = &of->recordings[run->recording];
            bool placed = recorded->has_position;
            road.latitude_deg = placed ? recorded->samples.latitude_deg[run->first] : NAN;
            road.longitude_deg = placed ? recorded->samples.longitude_deg[run->first] : NAN;
        }
        road.first_s = fmin(road.first_s, run->start_s);
        road.last_s = fmax(road.last_s, run->start_s);
        road.recordings += run->recording != recording;
        road.reversed += run->reversed;
        recording = run->recording;
        day[road.runs] = floor(run->start_s / 86400);
        distance[road.runs] = run->distance_m;
        drop[road.runs++] = run->reversed ? -run->drop_m : run->drop_m;
    }
    qsort(day, road.runs, sizeof *day, by_value);
    for (size_t i = 0; i < road.runs; i++) road.days += i == 0 || day[i] != day[i - 1];
    road.distance_m = road.runs ? cw_median(distance, road.runs) : NAN;
    road.drop_m = road.runs ? cw_median(drop, road.runs) : NAN;
    free(distance);
    return road;
}

/* Roads are numbered by how many runs they have: those of one run are the last. */
static size_t count_repeated(const struct cw_analysed *of, bool *failed) {
    size_t n = 0;
    while (n < of->runs.n_roads && road_of(of, n, failed).runs > 1) n++;
    return n;
}

/* The only road of one day, or of an outing, is what all else is about. */
static bool of_many_days(const struct cw_analysed *of, bool *failed) {
    return !of->has_file && road_of(of, 0, failed).days > 1;
}

void cw_roads_add(const struct cw_analysed *of, bool all, const struct cw_look *look,
                  struct cw_text *out) {
    const struct cw_clock clock = cw_clock_of(of);
    const struct cw_column columns[] = {{"road", "", true},  {"runs", "", true},
                                        {"days", "", true},  {"length", "m", true},
                                        {"drop", "m", true}, {"first", clock.name, false},
                                        {"last", "", false}, {"from", "", false}};
    size_t n = count_repeated(of, &out->failed), listed = all || n < LISTED_MOST ? n : LISTED_MOST;
    if (!n || (of->runs.n_roads < 2 && !of_many_days(of, &out->failed))) return;
    struct cw_table table = {
        .columns = columns, .n_columns = sizeof columns / sizeof *columns, .units = look->units};
    for (size_t i = 0; i < listed; i++) {
        const struct road road = road_of(of, i, &out->failed);
        char first[CW_CLOCK_TEXT], last[CW_CLOCK_TEXT];
        if (out->failed) break;
        cw_clock_write(&clock, road.first_s, first);
        cw_clock_write(&clock, road.last_s, last);
        cw_table_add(&table, "%zu", i + 1);
        cw_table_add(&table, "%zu", road.runs);
        cw_table_add(&table, "%zu", road.days);
        cw_table_add_number(&table, road.distance_m, 0);
        cw_table_add_number(&table, road.drop_m, 1);
        cw_table_add(&table, "%.10s", first);
        cw_table_add(&table, "%.10s", last);
        if (isfinite(road.latitude_deg))
            cw_table_add(&table, "%.4f, %.4f", road.latitude_deg, road.longitude_deg);
        else
            cw_table_add(&table, "no positions");
    }
    cw_text_add(out, "\nRoads coasted more than once (\"from\" is where the first run begins)\n");
    cw_table_write(&table, look, out);
    cw_table_free(&table);
    if (listed < n) cw_text_add(out, "and %zu more; --all lists them.\n", n - listed);
}

json_t *cw_roads_json(const struct cw_analysed *of, bool *failed) {
    struct cw_json array = cw_json_array(failed);
    size_t n = count_repeated(of, failed);
    for (size_t i = 0; i < n; i++) {
        const struct road road = road_of(of, i, failed);
        struct cw_json object = cw_json_object(failed);
        cw_json_set(object, "road", json_integer((json_int_t)i + 1));
        cw_json_set(object, "runs", json_integer((json_int_t)road.runs));
        cw_json_set(object, "reversed", json_integer((json_int_t)road.reversed));
        cw_json_set(object, "days", json_integer((json_int_t)road.days));
        cw_json_set(object, "recordings", json_integer((json_int_t)road.recordings));
        cw_json_set(object, "distance_m", cw_json_number(road.distance_m));
        cw_json_set(object, "drop_m", cw_json_number(road.drop_m));
        cw_json_set(object, "first", cw_json_time(road.first_s));
        cw_json_set(object, "last", cw_json_time(road.last_s));
        cw_json_set(object, "latitude_deg", cw_json_number(road.latitude_deg));
        cw_json_set(object, "longitude_deg", cw_json_number(road.longitude_deg));
        cw_json_append(array, object.value);
    }
    return array.value;
}
