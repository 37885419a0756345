#include "simulate/map.h"

#include <math.h>
#include <stdlib.h>

#include "simulate/random.h"

#define POST_M 5

enum cw_status cw_map_make(const struct cw_course *course, struct cw_map *map,
                           struct cw_error *error) {
    const struct cw_simulate_options *options = course->options;
    *map = (struct cw_map){
        .course = course, .from_m = course->from_m, .n = (size_t)((double)course->n / POST_M) + 2};
    struct cw_random random = cw_random_make(options->seed, CW_STREAM_MAP);
    map->error_m = malloc(map->n * sizeof *map->error_m);
    if (random.state && map->error_m) {
        /* A drift whose time is the way. */
        struct cw_drift drift = cw_drift_make(options->map_sd_m, options->map_reach_m, &random);
        for (size_t i = 0; i < map->n; i++) {
            map->error_m[i] = drift.value;
            cw_drift_step(&drift, POST_M, &random);
        }
    }
    bool made = random.state && map->error_m;
    cw_random_free(&random);
    return made ? CW_OK : cw_error_memory(error);
}

void cw_map_free(struct cw_map *map) {
    free(map->error_m);
    *map = (struct cw_map){0};
}

double cw_map_height(const struct cw_map *map, double s_m) {
    double place = fmin(fmax((s_m - map->from_m) / POST_M, 0), (double)(map->n - 1));
    size_t i = (size_t)place;
    if (i > map->n - 2) i = map->n - 2;
    double part = place - (double)i;
    return cw_course_at(map->course, s_m).height_m + (1 - part) * map->error_m[i] +
           part * map->error_m[i + 1];
}
