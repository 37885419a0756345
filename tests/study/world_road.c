/* The road of an outing. */
#include <math.h>

#include "world_parts.h"

#define PI 3.14159265358979323846

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
    double length_m, drop_m, slope, end_slope, heading_rad, bend_loss;
    const struct world_outing *outing; /* its hairpins */
    struct waves slopes, bends;
};

#define BEND_RADIUS_M 80.0
#define KINK_M 15.0 /* either side of where a road that rolls out stops falling */

double world_hairpin_m(const struct world_outing *o, int hairpin, int way) {
    double middle = o->length_m * (hairpin + 1) / (o->hairpins + 1);
    return middle - way * PI / 2 * o->hairpin_m;
}

/* By how far hairpins have turned the road. */
static double turned(const struct world_outing *o, double s_m) {
    double turn = 0;
    for (int i = 0; i < o->hairpins; i++)
        turn += (i % 2 ? -PI : PI) *
                world_eased(s_m, world_hairpin_m(o, i, 1), world_hairpin_m(o, i, -1));
    return turn;
}

static struct ground planned(double s_m, const void *state) {
    const struct plan *p = state;
    double u = s_m / p->length_m, slope = p->slope;
    if (p->road == WORLD_FLATTENING) slope += (p->end_slope - p->slope) * world_eased(u, 0.3, 0.7);
    if (p->road == WORLD_ROLLOUT)
        slope +=
            (p->end_slope - p->slope) * world_eased(s_m, p->drop_m - KINK_M, p->drop_m + KINK_M);
    if (p->road == WORLD_DIP) slope *= 1 - 2 * world_eased(u, 0.45, 0.55);
    double tight = fmin(fabs(waves_slope(&p->bends, s_m)) * BEND_RADIUS_M, 1);
    struct ground g = {
        .slope = slope + waves_at(&p->slopes, s_m),
        .heading_rad = p->heading_rad + waves_at(&p->bends, s_m) + turned(p->outing, s_m),
        .loss = p->bend_loss * tight * tight,
    };
    return g;
}

/* How far the road goes on past both ends. */
#define SPARE_M 200.0

bool world_make_road(const struct world *w, uint64_t seed, struct world_outing *o) {
    struct chance chance = chance_start(seed, CHANCE_ROAD);
    struct chance hairpins = chance_start(seed, CHANCE_HAIRPIN);
    o->hairpins = (int)fmin(world_drawn(&hairpins, w->hairpins), WORLD_HAIRPINS_MAX);
    o->hairpin_m = world_drawn(&hairpins, w->hairpin_m);
    struct plan plan = {.road = w->road,
                        .outing = o,
                        .length_m = o->length_m,
                        .slope = world_drawn(&chance, w->slope_percent) / 100,
                        .end_slope = world_drawn(&chance, w->end_slope_percent) / 100,
                        .heading_rad = chance_even(&chance, 0, 2 * PI),
                        .bend_loss = world_drawn(&chance, w->bend_loss)};
    plan.slopes = waves_make(world_drawn(&chance, w->variation_percent) / 100, 150, 700, &chance);
    plan.bends = waves_make(world_drawn(&chance, w->bends_deg) * PI / 180, 200, 600, &chance);
    plan.drop_m = world_drawn(&chance, w->drop_m);
    if (!road_make(&o->road, -SPARE_M, o->length_m + SPARE_M, planned, &plan)) return false;
    struct place end = road_at(&o->road, o->length_m);
    o->heading_rad = atan2(end.east_m, end.north_m);
    return true;
}

void world_wind_at(const struct world_outing *o, double s_m, double along_ms, double *there_ms,
                   double *right_ms) {
    *there_ms = along_ms;
    *right_ms = 0;
    if (o->world.wind == WORLD_WIND_ROAD) return;
    double turned = road_at(&o->road, s_m).heading_rad - o->heading_rad;
    *there_ms = along_ms * cos(turned) + o->cross_wind_ms * sin(turned);
    *right_ms = o->cross_wind_ms * cos(turned) - along_ms * sin(turned);
}
