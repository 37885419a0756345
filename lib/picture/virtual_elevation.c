#include "picture/virtual_elevation.h"

#include <math.h>
#include <stdlib.h>

#include "fit/energy.h"
#include "fit/profile.h"
#include "fit/workings.h"
#include "road/line.h"

/* A line begins at the mean of so many points, lest a single one's error lift it. */
#define FIRST_POINTS 5

void cw_virtual_free(struct cw_virtual *line) {
    free(line->s_m);
    *line = (struct cw_virtual){0};
}

/* From speeds, with s_m set: the balance of energy, begun at the profile: the mean residual of
 * the first points is 0. */
static enum cw_status sum_up(const struct cw_profile *profile, const struct cw_bicycle *bicycle,
                             const struct cw_surroundings *surroundings, double cda_m2, double crr,
                             const double *speed_ms, struct cw_virtual *line,
                             struct cw_error *error) {
    size_t n = line->n, level = n < FIRST_POINTS ? n : FIRST_POINTS;
    double *columns = calloc(6 * n, sizeof *columns), off = 0;
    if (!columns) return cw_error_memory(error);
    double *cosine = columns, *kinetic = columns + n, *roll = columns + 2 * n,
           *drag = columns + 3 * n, *bearing = columns + 4 * n, *air = columns + 5 * n;
    for (size_t i = 0; i < n; i++) {
        cosine[i] = cw_energy_cosine(cw_profile_slope(profile, line->s_m[i]));
        air[i] =
            cw_air_column_density(&surroundings->column, cw_profile_height(profile, line->s_m[i]));
    }
    cw_energy_columns(bicycle, surroundings, n, line->s_m, speed_ms, cosine, air, kinetic, roll,
                      drag, bearing);
    for (size_t i = 0; i < n; i++) {
        line->height_m[i] =
            -(kinetic[i] - kinetic[0]) - crr * roll[i] - cda_m2 * drag[i] - bearing[i];
        line->residual_m[i] = line->height_m[i] - cw_profile_height(profile, line->s_m[i]);
        if (i < level) off += line->residual_m[i] / (double)level;
    }
    for (size_t i = 0; i < n; i++) {
        line->height_m[i] -= off;
        line->residual_m[i] -= off;
    }
    free(columns);
    return CW_OK;
}

static enum cw_status make_room(size_t n, struct cw_virtual *line, struct cw_error *error) {
    *line = (struct cw_virtual){0};
    line->s_m = malloc(3 * n * sizeof *line->s_m);
    if (!line->s_m) return cw_error_memory(error);
    line->height_m = line->s_m + n;
    line->residual_m = line->s_m + 2 * n;
    line->n = n;
    return CW_OK;
}

enum cw_status cw_virtual_of_run(const struct cw_scene *scene, const struct cw_scene_run *run,
                                 struct cw_virtual *line, struct cw_error *error) {
    const struct cw_joint *joint = &scene->of->fit.workings->joint;
    const struct cw_run_data *data = run->data;
    enum cw_status status = make_room(data->n, line, error);
    if (status < 0) return status;
    for (size_t i = 0; i < data->n; i++) line->s_m[i] = data->s_m[i];
    return sum_up(&joint->profile[data->road], &data->bicycle, &data->surroundings,
                  joint->cda_m2[data - joint->data],
                  cw_joint_own_crr(joint, (size_t)(data - joint->data), joint->crr[data->tyres]),
                  data->speed_ms, line, error);
}

/* The shift that takes the ride's distance to the road's, from the run's positions; NaN without. */
static double shift_of(const struct cw_scene *scene, const struct cw_run *run) {
    const struct cw_motion *motion = &scene->of->motions[run->recording];
    const struct cw_road *road = &scene->of->fit.workings->roads[scene->road];
    const struct cw_line line = {road->n, road->s_m, road->east_m, road->north_m};
    double sum = 0;
    size_t n = 0;
    if (road->n < 2) return NAN;
    double middle = 0.5 * line.s_m[line.n - 1];
    for (size_t i = run->first; i <= run->last; i++) {
        double latitude, longitude, east, north, s, left;
        if (!isfinite(motion->east_m[i] + motion->north_m[i] + motion->distance_m[i])) continue;
        cw_metric_to_globe(&motion->metric, motion->east_m[i], motion->north_m[i], &latitude,
                           &longitude);
        cw_metric_to_plane(&road->metric, latitude, longitude, &east, &north);
        /* The first by the whole line, the rest where the distance puts them. */
        double near = n ? sum / (double)n + motion->distance_m[i] : middle;
        cw_line_project(&line, east, north, near, n ? 60 : middle + 200, n ? 30 : middle + 200, &s,
                        &left);
        if (!isfinite(s) || fabs(left) > 50) continue;
        sum += s - motion->distance_m[i];
        n++;
    }
    return n ? sum / (double)n : NAN;
}

enum cw_status cw_virtual_of_turned_down(const struct cw_scene *scene, const struct cw_run *run,
                                         struct cw_virtual *line, struct cw_error *error) {
    const struct cw_fit *fit = &scene->of->fit;
    *line = (struct cw_virtual){0};
    if (!scene->of->motions || run->road != scene->road || run->reversed || !fit->workings->roads ||
        run->recording >= scene->of->n_recordings || run->last <= run->first)
        return CW_OK;
    const struct cw_motion *motion = &scene->of->motions[run->recording];
    if (run->last >= motion->n) return CW_OK;
    double shift = shift_of(scene, run), cda = 0;
    if (isnan(shift)) return CW_OK;
    size_t n = run->last - run->first + 1;
    for (size_t i = 0; i < fit->n_runs; i++)
        cda += fit->workings->joint.cda_m2[i] / (double)fit->n_runs;
    for (size_t i = run->first; i <= run->last; i++)
        if (!isfinite(motion->speed_ms[i] + motion->distance_m[i])) return CW_OK;
    enum cw_status status = make_room(n, line, error);
    if (status < 0) return status;
    for (size_t i = 0; i < n; i++) line->s_m[i] = shift + motion->distance_m[run->first + i];
    struct cw_bicycle bicycle = fit->workings->joint.data[0].bicycle;
    const struct cw_outing *outing = &scene->of->outing;
    bicycle.mass_kg =
        cw_outing_bicycle(outing, cw_outing_rider_of(outing, run->recording), CW_NO_SETUP).mass_kg;
    return sum_up(&fit->workings->joint.profile[scene->road], &bicycle,
                  &fit->workings->joint.data[0].surroundings, cda, fit->workings->joint.crr[0],
                  motion->speed_ms + run->first, line, error);
}
