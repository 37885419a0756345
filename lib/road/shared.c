#include "road/shared.h"

#include <math.h>
#include <stdlib.h>

#include "runs/passes.h"

#define APART_M 25.0
#define PART_SHARED 0.7
/* Opposite ways: nearer, lest the arms of a hairpin pass for one road. */
#define APART_OPPOSITE_M 15.0
#define PART_SHARED_OPPOSITE 0.2
/* What one goes down there the other goes up, as far as heights drift within a run and lines lie
 * beside each other: metres, and a part of the way. */
#define RISE_APART_M 6.0
#define SLOPE_APART 0.02
#define POINT_EVERY_M 15.0
/* Between two pieces of a descent: braking for a bend and out of it; nobody is back up so soon. */
#define PIECES_APART_S 120.0
/* Of the descents that are on the main road so many are on another that is kept beside it. */
#define PIECES_SHARED 0.75

/* A run's line in a plane common to all runs, thinned. */
struct line {
    size_t n;
    double *east_m, *north_m, *height_m;             /* the heights NaN where there are none */
    double west_m, east_end_m, south_m, north_end_m; /* its box */
};

static void line_free(struct line *line) {
    free(line->east_m);
    free(line->north_m);
    free(line->height_m);
}

static enum cw_status line_make(const struct cw_recording *recording,
                                const struct cw_motion *motion, const struct cw_run *run,
                                const struct cw_metric *metric, struct line *line,
                                struct cw_error *error) {
    size_t most = run->last - run->first + 1;
    *line = (struct line){0,
                          malloc(most * sizeof(double)),
                          malloc(most * sizeof(double)),
                          malloc(most * sizeof(double)),
                          INFINITY,
                          -INFINITY,
                          INFINITY,
                          -INFINITY};
    if (!line->east_m || !line->north_m || !line->height_m) return cw_error_memory(error);
    double at_m = -INFINITY;
    for (size_t i = run->first; i <= run->last; i++) {
        double latitude = recording->samples.latitude_deg[i];
        double longitude = recording->samples.longitude_deg[i];
        bool last = i == run->last;
        if (!isfinite(latitude) || !isfinite(longitude) ||
            (!last && motion->distance_m[i] - at_m < POINT_EVERY_M))
            continue;
        at_m = motion->distance_m[i];
        double east, north;
        cw_metric_to_plane(metric, latitude, longitude, &east, &north);
        line->east_m[line->n] = east;
        line->north_m[line->n] = north;
        line->height_m[line->n++] = recording->samples.elevation_m[i];
        line->west_m = fmin(line->west_m, east);
        line->east_end_m = fmax(line->east_end_m, east);
        line->south_m = fmin(line->south_m, north);
        line->north_end_m = fmax(line->north_end_m, north);
    }
    return CW_OK;
}

enum way { APART = 0, SAME = 1, OPPOSITE = -1 };

/* The line's piece that the point is within apart_m of and that goes the way (east, north), by its
 * end; 0: none. */
static size_t is_on(const struct line *line, double x, double y, double east, double north,
                    double apart_m) {
    for (size_t i = 1; i < line->n; i++) {
        double px = line->east_m[i] - line->east_m[i - 1];
        double py = line->north_m[i] - line->north_m[i - 1];
        double square = px * px + py * py;
        if (square <= 0.0) continue;
        double dx = x - line->east_m[i - 1], dy = y - line->north_m[i - 1];
        double part = fmin(fmax((dx * px + dy * py) / square, 0.0), 1.0);
        if (hypot(dx - part * px, dy - part * py) > apart_m) continue;
        /* The same way: less than 60 degrees between them. */
        if (px * east + py * north > 0.5 * sqrt(square) * hypot(east, north)) return i;
    }
    return 0;
}

static double length_of(const struct line *line, size_t piece) {
    return hypot(line->east_m[piece] - line->east_m[piece - 1],
                 line->north_m[piece] - line->north_m[piece - 1]);
}

/* 0 where no heights tell it. */
static double rise_of(const struct line *line, size_t piece) {
    double rise = line->height_m[piece] - line->height_m[piece - 1];
    return isfinite(rise) ? rise : 0;
}

static double height_of(const struct line *line, size_t piece) {
    return 0.5 * (line->height_m[piece] + line->height_m[piece - 1]);
}

/* Whether two lines are of one road, and ridden which way; above_m is how far apart their heights
 * may be. */
static enum way share(const struct line *a, const struct line *b, double above_m) {
    if (a->n < 2 || b->n < 2) return APART;
    if (a->west_m > b->east_end_m + APART_M || b->west_m > a->east_end_m + APART_M ||
        a->south_m > b->north_end_m + APART_M || b->south_m > a->north_end_m + APART_M)
        return APART;
    const struct line *shorter = a->n <= b->n ? a : b, *longer = a->n <= b->n ? b : a;
    double same = 0.0, opposite = 0.0, all = 0.0, rise = 0.0, above = 0.0, told = 0.0;
    for (size_t i = 1; i < shorter->n; i++) {
        double east = shorter->east_m[i] - shorter->east_m[i - 1];
        double north = shorter->north_m[i] - shorter->north_m[i - 1];
        double length = hypot(east, north);
        all += length;
        double x = 0.5 * (shorter->east_m[i] + shorter->east_m[i - 1]);
        double y = 0.5 * (shorter->north_m[i] + shorter->north_m[i - 1]);
        size_t along = is_on(longer, x, y, east, north, APART_M);
        double apart = along ? height_of(shorter, i) - height_of(longer, along) : NAN;
        if (along) same += length;
        if (isfinite(apart)) {
            above += apart * length;
            told += length;
        }
        size_t against = is_on(longer, x, y, -east, -north, APART_OPPOSITE_M);
        if (!against) continue;
        opposite += length;
        rise +=
            rise_of(shorter, i) + rise_of(longer, against) * length / length_of(longer, against);
    }
    if (same >= opposite)
        return same >= PART_SHARED * all && !(fabs(above) > above_m * told) ? SAME : APART;
    return opposite >= PART_SHARED_OPPOSITE * all &&
                   fabs(rise) <= RISE_APART_M + SLOPE_APART * opposite
               ? OPPOSITE
               : APART;
}

/* Runs of one road form a tree; each goes its parent's way or the opposite one. */
struct tree {
    size_t parent;
    enum way way;
};

/* The root of run i's tree, and which way i goes beside it. */
static size_t root_of(const struct tree *trees, size_t i, enum way *way) {
    *way = SAME;
    while (trees[i].parent != i) {
        *way = *way == trees[i].way ? SAME : OPPOSITE;
        i = trees[i].parent;
    }
    return i;
}

static void join(struct tree *trees, size_t a, size_t b, enum way between) {
    enum way way_a, way_b;
    size_t root_a = root_of(trees, a, &way_a), root_b = root_of(trees, b, &way_b);
    /* the earlier run stays the root: the road's way is that of its first run */
    size_t to = root_a < root_b ? root_a : root_b, from = root_a < root_b ? root_b : root_a;
    trees[from] = (struct tree){to, (way_a == way_b) == (between == SAME) ? SAME : OPPOSITE};
}

struct road_count {
    size_t root, runs, first;
};

static int by_runs(const void *a, const void *b) {
    const struct road_count *x = a, *y = b;
    if (x->runs != y->runs) return x->runs < y->runs ? 1 : -1;
    return (x->first > y->first) - (x->first < y->first);
}

/* Numbers the trees of kept runs, the largest first. */
static enum cw_status number_roads(struct cw_runs *runs, const struct tree *trees,
                                   struct cw_error *error) {
    struct road_count *roads = calloc(runs->n, sizeof *roads);
    if (!roads) return cw_error_memory(error);
    for (size_t i = 0; i < runs->n; i++) {
        if (!runs->at[i].kept) continue;
        enum way way;
        size_t k = 0, root = root_of(trees, i, &way);
        runs->at[i].reversed = way == OPPOSITE;
        while (k < runs->n_roads && roads[k].root != root) k++;
        if (k == runs->n_roads) roads[runs->n_roads++] = (struct road_count){root, 0, i};
        roads[k].runs++;
    }
    qsort(roads, runs->n_roads, sizeof *roads, by_runs);
    for (size_t i = 0; i < runs->n; i++) {
        enum way way;
        for (size_t k = 0; runs->at[i].kept && k < runs->n_roads; k++)
            if (roads[k].root == root_of(trees, i, &way)) runs->at[i].road = k;
    }
    free(roads);
    return CW_OK;
}

/* Whether run i, after run j of its recording, is one more piece of the same descent. */
static bool goes_on(const struct cw_runs *runs, size_t i, size_t j) {
    const struct cw_run *run = &runs->at[i], *last = &runs->at[j];
    if (run->start_s - (last->start_s + last->duration_s) > PIECES_APART_S) return false;
    for (size_t k = j + 1; k-- > 0;)
        if (runs->at[k].kept && runs->at[k].recording == run->recording) {
            if (runs->at[k].descent != last->descent) break;
            if (runs->at[k].road == run->road) return false;
        }
    return true;
}

static bool is_repeated(const struct cw_runs *runs, size_t i) {
    for (size_t k = 0; k < runs->n; k++)
        if (k != i && runs->at[k].kept && runs->at[k].road == runs->at[i].road) return true;
    return false;
}

static void number_descents(struct cw_runs *runs) {
    size_t kept = 0;
    runs->n_descents = 0;
    runs->in_pieces = false;
    for (size_t i = 0; i < runs->n; i++) {
        struct cw_run *run = &runs->at[i];
        size_t j = i;
        if (!run->kept) continue;
        do j--;
        while (j < i && !(runs->at[j].kept && runs->at[j].recording == run->recording));
        bool more = j < i && goes_on(runs, i, j);
        run->descent = more ? runs->at[j].descent : ++runs->n_descents;
        runs->in_pieces = runs->in_pieces || (more && is_repeated(runs, i) && is_repeated(runs, j));
        kept++;
    }
    /* An ordinary ride with a stretch or two that was coasted twice is no such thing. */
    runs->in_pieces = runs->in_pieces && 2 * runs->n_roads <= kept;
}

/* Of two runs. */
static enum way share_runs(const struct cw_runs *runs, const struct line *lines, size_t i,
                           size_t j) {
    bool one = runs->at[i].recording == runs->at[j].recording;
    return share(&lines[i], &lines[j], one ? CW_ABOVE_M : INFINITY);
}

enum cw_status cw_roads_number(const struct cw_recording *recordings,
                               const struct cw_motion *motions, struct cw_runs *runs,
                               struct cw_error *error) {
    enum cw_status status = CW_OK;
    runs->n_roads = runs->n_descents = 0;
    if (runs->n == 0) return CW_OK;
    struct line *lines = calloc(runs->n, sizeof *lines);
    struct tree *trees = malloc(runs->n * sizeof *trees);
    if (!lines || !trees) {
        status = cw_error_memory(error);
        goto cleanup;
    }
    const struct cw_metric *metric = NULL;
    for (size_t i = 0; i < runs->n; i++) {
        struct cw_run *run = &runs->at[i];
        trees[i] = (struct tree){i, SAME};
        run->road = CW_ROAD_NONE;
        run->reversed = false;
        if (!metric && recordings[run->recording].has_position)
            metric = &motions[run->recording].metric;
        if (!recordings[run->recording].has_position) continue;
        status = line_make(&recordings[run->recording], &motions[run->recording], run, metric,
                           &lines[i], error);
        if (status != CW_OK) goto cleanup;
    }
    for (size_t i = 0; i < runs->n; i++)
        for (size_t j = 0; runs->at[i].kept && j < i; j++) {
            enum way way;
            if (!runs->at[j].kept || root_of(trees, i, &way) == root_of(trees, j, &way)) continue;
            bool blind = lines[i].n < 2 && lines[j].n < 2;
            way = blind ? SAME : share_runs(runs, lines, i, j);
            if (way != APART) join(trees, i, j, way);
        }
    if ((status = number_roads(runs, trees, error)) != CW_OK) goto cleanup;
    number_descents(runs);
    for (size_t i = 0; i < runs->n; i++)
        for (size_t j = 0; !runs->at[i].kept && runs->at[i].road == CW_ROAD_NONE && j < runs->n;
             j++)
            if (runs->at[j].kept) {
                enum way way = share_runs(runs, lines, i, j);
                if (way == APART) continue;
                runs->at[i].road = runs->at[j].road;
                runs->at[i].reversed = runs->at[j].reversed != (way == OPPOSITE);
            }
cleanup:
    for (size_t i = 0; lines && i < runs->n; i++) line_free(&lines[i]);
    free(lines);
    free(trees);
    return status;
}

/* Roads are numbered anew where some have no run left. */
static void close_up(struct cw_runs *runs, size_t *number) {
    size_t left = 0;
    for (size_t r = 0; r < runs->n_roads; r++) number[r] = 0;
    for (size_t i = 0; i < runs->n; i++)
        if (runs->at[i].kept) number[runs->at[i].road] = 1;
    for (size_t r = 0; r < runs->n_roads; r++) number[r] = number[r] ? left++ : CW_ROAD_NONE;
    for (size_t i = 0; i < runs->n; i++)
        if (runs->at[i].road != CW_ROAD_NONE) runs->at[i].road = number[runs->at[i].road];
    runs->n_roads = left;
}

enum cw_status cw_roads_keep_one(struct cw_runs *runs, struct cw_error *error) {
    size_t on[2] = {0, 0};
    for (size_t i = 0; i < runs->n; i++)
        if (runs->at[i].kept && runs->at[i].road < 2) on[runs->at[i].road]++;
    if (on[0] < 3 || on[0] == on[1]) return CW_OK;
    size_t *beside = calloc(runs->n_roads + runs->n_descents + 1, sizeof *beside);
    if (!beside) return cw_error_memory(error);
    size_t *main = beside + runs->n_roads;
    for (size_t i = 0; i < runs->n; i++)
        if (runs->at[i].kept && runs->at[i].road == CW_ROAD_MAIN) main[runs->at[i].descent] = 1;
    for (size_t i = 0; i < runs->n; i++)
        if (runs->at[i].kept) beside[runs->at[i].road] += main[runs->at[i].descent];
    for (size_t i = 0; i < runs->n; i++) {
        struct cw_run *run = &runs->at[i];
        if (!run->kept || (double)beside[run->road] >= PIECES_SHARED * (double)on[0]) continue;
        run->kept = false;
        run->reasons |= CW_REASON_OFF_ROAD;
        run->road = CW_ROAD_NONE;
        run->reversed = false;
    }
    close_up(runs, beside);
    number_descents(runs);
    free(beside);
    return CW_OK;
}
