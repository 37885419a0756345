#include "runs/passes.h"

#include <math.h>
#include <stdint.h>
#include <stdlib.h>

/* How far from a line its passes may be: both sides of a lane, and receivers that wander. */
#define REACH_M 12.0
/* A pass that is on a line already stays on it up to there. */
#define HOLD_M 18.0
/* Ways that differ by less than 45 degrees, or by more than 135, are one road's. */
#define ALONG_COSINE 0.7
/* A pass is not matched with what it has laid itself so shortly before. */
#define OWN_M 60.0
#define OWN_BACK_M 20.0
/* Steps that a place may be off from where the last one would have it. */
#define ASTRAY 3.0
/* Places of one pass move on by about one a step. */
#define LEAST_ON 0.3
#define MOST_ON 2.5
#define CELL_M 20.0
#define NONE SIZE_MAX

struct node {
    double east_m, north_m;
    double way_east, way_north;   /* the line's way here, of length 1 */
    double at_m, height_m;        /* of the recording that laid it: its distance, its height */
    size_t recording, line, next; /* next: of the same cell */
};

struct ground {
    size_t n, capacity;
    struct node *nodes;
    size_t n_cells; /* a power of two */
    size_t *cells;  /* the last node of each; NONE */
};

/* A place that is nowhere on earth is at its edge. */
static uint64_t column_of(double m) {
    return (uint64_t)(int64_t)floor(fmin(fmax(m, -1e9), 1e9) / CELL_M);
}

static size_t cell_of(const struct ground *g, double east, double north) {
    uint64_t x = column_of(east), y = column_of(north);
    uint64_t h = x * 0x9E3779B97F4A7C15u ^ (y * 0xC2B2AE3D27D4EB4Fu);
    return (size_t)(h ^ (h >> 29)) & (g->n_cells - 1);
}

static void put_in_cell(struct ground *g, size_t k) {
    size_t cell = cell_of(g, g->nodes[k].east_m, g->nodes[k].north_m);
    g->nodes[k].next = g->cells[cell];
    g->cells[cell] = k;
}

/* Room for one node more, with as many cells as there may be nodes. */
static enum cw_status make_room(struct ground *g, struct cw_error *error) {
    if (g->n < g->capacity) return CW_OK;
    size_t capacity = g->capacity ? 2 * g->capacity : 1024;
    struct node *nodes = realloc(g->nodes, capacity * sizeof *nodes);
    if (!nodes) return cw_error_memory(error);
    g->nodes = nodes;
    g->capacity = capacity;
    size_t *cells = realloc(g->cells, capacity * sizeof *cells);
    if (!cells) return cw_error_memory(error);
    g->cells = cells;
    g->n_cells = capacity;
    for (size_t i = 0; i < capacity; i++) cells[i] = NONE;
    for (size_t k = 0; k < g->n; k++) put_in_cell(g, k);
    return CW_OK;
}

struct step {
    double east_m, north_m, way_east, way_north, at_m, height_m;
    size_t recording;
};

/* Where the step lies on the piece of line about node k. */
static double place_on(const struct ground *g, size_t k, const struct step *s) {
    const struct node *node = &g->nodes[k];
    double dx = s->east_m - node->east_m, dy = s->north_m - node->north_m;
    double along = (dx * node->way_east + dy * node->way_north) / CW_STEP_M;
    return (double)k + fmin(fmax(along, -0.7), 0.7);
}

static double aside(const struct node *node, const struct step *s) {
    double dx = s->east_m - node->east_m, dy = s->north_m - node->north_m;
    double along = dx * node->way_east + dy * node->way_north;
    double across = dx * node->way_north - dy * node->way_east;
    return hypot(across, fmax(0.0, fabs(along) - 0.7 * CW_STEP_M));
}

/* The way, 1 or -1, in which the step goes over a node; 0 if it does not, if it lies above or below
 * it, or if it has just laid it itself. */
static int way_over(const struct node *node, const struct step *s) {
    double cosine = node->way_east * s->way_east + node->way_north * s->way_north;
    if (fabs(cosine) < ALONG_COSINE) return 0;
    if (node->recording == s->recording && fabs(node->height_m - s->height_m) > CW_ABOVE_M)
        return 0;
    if (node->recording == s->recording &&
        fabs(s->at_m - node->at_m) < (cosine > 0.0 ? OWN_M : OWN_BACK_M))
        return 0;
    return cosine > 0.0 ? 1 : -1;
}

/* Where the pass goes on along the line that it is on; way 0 if it has left it. */
static struct cw_step_place follow(const struct ground *g, const struct cw_step_place *last,
                                   const struct step *s) {
    struct cw_step_place best = {0};
    double least = HOLD_M, expected = last->at + last->way;
    for (double at = expected - ASTRAY; at <= expected + ASTRAY; at += 1.0) {
        if (at < 0.0 || at >= (double)g->n) continue;
        size_t k = (size_t)round(at);
        if (k >= g->n || g->nodes[k].line != last->line || way_over(&g->nodes[k], s) != last->way)
            continue;
        double off = aside(&g->nodes[k], s);
        if (off >= least) continue;
        least = off;
        best = (struct cw_step_place){place_on(g, k, s), last->line, last->way};
    }
    return best;
}

static struct cw_step_place look_up(const struct ground *g, const struct step *s) {
    struct cw_step_place best = {0};
    double least = REACH_M;
    for (int dx = -1; g->n_cells && dx <= 1; dx++) {
        for (int dy = -1; dy <= 1; dy++) {
            size_t cell = cell_of(g, s->east_m + dx * CELL_M, s->north_m + dy * CELL_M);
            for (size_t k = g->cells[cell]; k != NONE; k = g->nodes[k].next) {
                const struct node *node = &g->nodes[k];
                if (fabs(node->east_m - s->east_m) > CELL_M ||
                    fabs(node->north_m - s->north_m) > CELL_M)
                    continue;
                double off = aside(node, s);
                int way = off < least ? way_over(node, s) : 0;
                if (way == 0) continue;
                least = off;
                best = (struct cw_step_place){place_on(g, k, s), (unsigned)node->line,
                                              (signed char)way};
            }
        }
    }
    return best;
}

/* Where steps end: between which samples. Without positions, over a gap and where it stands there
 * are none, but the distance counts on. */
static enum cw_status lay_steps(const struct cw_motion *motion, struct cw_walk *walk,
                                struct cw_error *error) {
    size_t n = motion->n;
    if (n < 2) return CW_OK;
    walk->first_m = motion->distance_m[0];
    double length = motion->distance_m[n - 1] - walk->first_m;
    if (!(length / CW_STEP_M < 1e7)) return CW_OK;
    walk->n = (size_t)(length / CW_STEP_M) + 1;
    walk->before = malloc(walk->n * sizeof *walk->before);
    walk->place = calloc(walk->n, sizeof *walk->place);
    if (!walk->before || !walk->place) return cw_error_memory(error);
    size_t i = 0;
    for (size_t k = 0; k < walk->n; k++) {
        double at = walk->first_m + (double)k * CW_STEP_M;
        while (i + 2 < n && motion->distance_m[i + 1] <= at) i++;
        walk->before[k] = (unsigned)i;
    }
    return CW_OK;
}

double cw_walk_value(const struct cw_walk *walk, const struct cw_motion *motion,
                     const double *column, size_t k) {
    size_t i = walk->before[k];
    double step = motion->distance_m[i + 1] - motion->distance_m[i];
    double part = (walk->first_m + (double)k * CW_STEP_M - motion->distance_m[i]) / step;
    return step > 0.0 ? column[i] + part * (column[i + 1] - column[i]) : column[i];
}

bool cw_walk_piece(const struct cw_walk *walk, size_t k, size_t *node) {
    if (k == 0) return false;
    const struct cw_step_place *a = &walk->place[k - 1], *b = &walk->place[k];
    if (a->way == 0 || a->way != b->way || a->line != b->line) return false;
    double on = (b->at - a->at) * b->way;
    if (on < LEAST_ON || on > MOST_ON) return false;
    *node = (size_t)fmax(0.5 * (a->at + b->at), (double)a->line);
    return true;
}

/* A step's place and way in the plane common to all; false where they are not known. */
static bool step_make(const struct cw_walk *walk, const struct cw_motion *motion,
                      const double *east_m, const double *north_m, size_t k, struct step *s) {
    size_t from = k > 0 ? k - 1 : k, to = k + 1 < walk->n ? k + 1 : k;
    size_t i = walk->before[from], last = walk->before[to] + 1;
    for (size_t j = i + 1; j <= last; j++)
        if (motion->gap_before[j]) return false;
    s->east_m = cw_walk_value(walk, motion, east_m, k);
    s->north_m = cw_walk_value(walk, motion, north_m, k);
    double dx = cw_walk_value(walk, motion, east_m, to) - cw_walk_value(walk, motion, east_m, from);
    double dy =
        cw_walk_value(walk, motion, north_m, to) - cw_walk_value(walk, motion, north_m, from);
    double length = hypot(dx, dy);
    s->way_east = dx / length;
    s->way_north = dy / length;
    s->at_m = walk->first_m + (double)k * CW_STEP_M;
    s->height_m = cw_walk_value(walk, motion, motion->height_m, k);
    return isfinite(s->east_m) && isfinite(s->north_m) && length > 0.3 * CW_STEP_M;
}

static enum cw_status walk_make(const struct cw_recording *recording,
                                const struct cw_motion *motion, const struct cw_metric *metric,
                                size_t index, struct ground *g, struct cw_walk *walk,
                                struct cw_error *error) {
    size_t n = motion->n;
    double *east_m = malloc(2 * (n ? n : 1) * sizeof *east_m), *north_m = east_m + n;
    enum cw_status status = east_m ? lay_steps(motion, walk, error) : cw_error_memory(error);
    for (size_t i = 0; status == CW_OK && i < n; i++) {
        double latitude = recording->samples.latitude_deg[i];
        double longitude = recording->samples.longitude_deg[i];
        east_m[i] = north_m[i] = NAN;
        if (isfinite(latitude) && isfinite(longitude))
            cw_metric_to_plane(metric, latitude, longitude, &east_m[i], &north_m[i]);
    }
    size_t line = NONE; /* the line that is being laid */
    for (size_t k = 0; status == CW_OK && k < walk->n; k++) {
        struct step s = {.recording = index};
        if (!step_make(walk, motion, east_m, north_m, k, &s)) {
            line = NONE;
            continue;
        }
        struct cw_step_place *place = &walk->place[k];
        if (k > 0 && line == NONE && walk->place[k - 1].way != 0)
            *place = follow(g, &walk->place[k - 1], &s);
        if (place->way == 0) *place = look_up(g, &s);
        if (place->way != 0) {
            line = NONE;
            continue;
        }
        if ((status = make_room(g, error)) != CW_OK) break;
        if (line == NONE) line = g->n;
        *place = (struct cw_step_place){(double)g->n, (unsigned)line, 1};
        g->nodes[g->n] = (struct node){s.east_m,   s.north_m, s.way_east, s.way_north, s.at_m,
                                       s.height_m, index,     line,       NONE};
        put_in_cell(g, g->n++);
    }
    free(east_m);
    return status;
}

enum cw_status cw_passes_make(const struct cw_recording *recordings,
                              const struct cw_motion *motions, size_t n, struct cw_passes *passes,
                              struct cw_error *error) {
    enum cw_status status = CW_OK;
    struct ground ground = {0};
    const struct cw_metric *metric = NULL;
    *passes = (struct cw_passes){.walks = calloc(n ? n : 1, sizeof *passes->walks), .n_walks = n};
    if (!passes->walks) return cw_error_memory(error);
    for (size_t r = 0; r < n && status == CW_OK; r++) {
        if (motions[r].n == 0 || !recordings[r].has_position) continue;
        if (!metric) metric = &motions[r].metric;
        status =
            walk_make(&recordings[r], &motions[r], metric, r, &ground, &passes->walks[r], error);
    }
    passes->n_nodes = ground.n;
    free(ground.nodes);
    free(ground.cells);
    return status;
}

void cw_passes_free(struct cw_passes *passes) {
    for (size_t r = 0; passes->walks && r < passes->n_walks; r++) {
        free(passes->walks[r].before);
        free(passes->walks[r].place);
    }
    free(passes->walks);
    *passes = (struct cw_passes){0};
}
