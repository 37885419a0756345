#include "runs/stretches.h"

#include <math.h>
#include <stdlib.h>

#include "outing/outing.h"
#include "runs/balance.h"
#include "runs/modes.h"
#include "runs/pedalling.h"
#include "stats/robust.h"

/* Faster than this after standing is released. */
#define RELEASE_SPEED_MS 0.7
/* How far a run keeps from an end that the energy balance alone tells, and from one that cadence
 * tells: a stroke has begun before the sensor has counted it. */
#define KEEP_OFF_S 2.0
#define KEEP_OFF_CADENCE_S 1.0
/* From standstill without cadence: a few strokes to get going look like a steeper slope, and cannot
 * be told from the heights. */
#define KEEP_OFF_PUSH_S 7.0
/* A turn back: the ways over 12 m before and after differ by more than 120 degrees. */
#define TURN_REACH_M 12.0
#define TURN_COSINE (-0.5)
#define TURN_SPEED_MS 1.0
/* Long enough, deep enough, but pedalled or braked: the pauses a descent may have. */
#define DESCENT_SLOPE (-0.012)
#define DESCENT_PAUSE_S 10.0
/* Speed steadier than this part of itself from least to most. */
#define STEADY_PART 0.05
/* Slow drift of heights that may come on top of their scatter, over a run. */
#define DRIFT_M 1.0

struct finder {
    const struct cw_recording *recording;
    const struct cw_motion *motion;
    const struct cw_runs_options *options;
    size_t index, n;
    struct cw_balance balance;
    enum cw_pedalling *pedalling;
    enum cw_mode *mode;
    bool *turn; /* the middle of a turn back */
};

static double time_at(const struct finder *f, size_t i) {
    return f->recording->samples.time_s[i];
}

static void find_turns(const struct finder *f) {
    const struct cw_motion *m = f->motion;
    size_t before = 0, after = 0;
    size_t slow = 0;     /* the first sample from i on that is too slow for a run to reach it */
    size_t stood = f->n; /* the last sample up to i that stands; n: none */
    for (size_t i = 0; i < f->n; i++) {
        f->turn[i] = false;
        if (slow < i) slow = i;
        if (m->speed_ms[i] < RELEASE_SPEED_MS) stood = i;
        while (slow < f->n && !(m->speed_ms[slow] < f->options->minimum_speed_ms)) slow++;
        while (after + 1 < f->n && m->distance_m[after] - m->distance_m[i] < TURN_REACH_M) after++;
        while (before + 1 < i && m->distance_m[i] - m->distance_m[before + 1] >= TURN_REACH_M)
            before++;
        double ax = m->east_m[i] - m->east_m[before], ay = m->north_m[i] - m->north_m[before];
        double bx = m->east_m[after] - m->east_m[i], by = m->north_m[after] - m->north_m[i];
        double lengths = hypot(ax, ay) * hypot(bx, by);
        /* Ways far shorter than the distance made are wander while standing, or lie aside of the
         * turn; and who stands may set off in any direction. */
        if (!(lengths > 0.5 * TURN_REACH_M * TURN_REACH_M)) continue;
        if (!(m->speed_ms[i] > TURN_SPEED_MS)) continue;
        /* A run is over before a turn that comes after rolling out, and begins after one made
         * standing. */
        if (slow <= after && m->distance_m[slow] - m->distance_m[i] > 0.0) continue;
        if (stood < f->n && stood >= before) continue;
        f->turn[i] = ax * bx + ay * by < TURN_COSINE * lengths;
    }
}

static enum cw_status finder_make(const struct cw_recording *recording,
                                  const struct cw_motion *motion, size_t index,
                                  const struct cw_runs_options *options, struct finder *f,
                                  struct cw_error *error) {
    size_t n = motion->n;
    *f = (struct finder){
        .recording = recording, .motion = motion, .options = options, .index = index, .n = n};
    f->pedalling = malloc((n ? n : 1) * sizeof *f->pedalling);
    f->mode = malloc((n ? n : 1) * sizeof *f->mode);
    f->turn = malloc((n ? n : 1) * sizeof *f->turn);
    if (!f->pedalling || !f->mode || !f->turn) return cw_error_memory(error);
    enum cw_status status = cw_balance_make(recording, motion, options, &f->balance, error);
    if (status != CW_OK) return status;
    cw_pedalling_tell(recording, motion, &f->balance, f->pedalling);
    status = cw_modes_find(recording, motion, &f->balance, f->pedalling, options, f->mode, error);
    if (status != CW_OK) return status;
    find_turns(f);
    return CW_OK;
}

static void finder_free(struct finder *f) {
    cw_balance_free(&f->balance);
    free(f->pedalling);
    free(f->mode);
    free(f->turn);
}

static enum cw_status append(struct cw_runs *runs, const struct cw_run *run,
                             struct cw_error *error) {
    if (runs->n == runs->capacity) {
        size_t capacity = runs->capacity ? 2 * runs->capacity : 32;
        struct cw_run *at = realloc(runs->at, capacity * sizeof *at);
        if (!at) return cw_error_memory(error);
        runs->at = at;
        runs->capacity = capacity;
    }
    runs->at[runs->n++] = *run;
    return CW_OK;
}

/* Height nearest to sample i within the run, going inward; missing ends cost no drop. */
static double height_near(const struct finder *f, size_t i, size_t toward) {
    while (i != toward && !isfinite(f->motion->height_m[i])) i = i < toward ? i + 1 : i - 1;
    return f->motion->height_m[i];
}

static struct cw_run measure(const struct finder *f, size_t first, size_t last,
                             enum cw_run_end ends) {
    const struct cw_motion *m = f->motion;
    struct cw_run run = {.recording = f->index,
                         .first = first,
                         .last = last,
                         .ends = ends,
                         .road = CW_ROAD_NONE,
                         .setup = CW_NO_SETUP};
    run.start_s = time_at(f, first);
    run.duration_s = time_at(f, last) - run.start_s;
    run.distance_m = m->distance_m[last] - m->distance_m[first];
    run.drop_m = height_near(f, first, last) - height_near(f, last, first);
    run.mean_slope = run.distance_m > 0.0 ? -run.drop_m / run.distance_m : NAN;
    run.entry_speed_ms = m->speed_ms[first];
    run.exit_speed_ms = m->speed_ms[last];
    size_t known_still = 0;
    for (size_t i = first; i <= last; i++) {
        run.top_speed_ms = fmax(run.top_speed_ms, m->speed_ms[i]);
        known_still += f->pedalling[i] == CW_PEDALLING_NO ? 1 : 0;
    }
    run.by_energy = 2 * known_still <= last - first + 1;
    return run;
}

/* Whether the loss of the whole stretch is one that the options' band explains: -1 too small
 * (pedalled), 1 too large (braked), 0 plausible or unknown. Where sensors say that the legs were
 * still, a tailwind may take the whole drag away. */
static int whole_loss(const struct finder *f, size_t first, size_t last, bool still) {
    const struct cw_runs_options *o = f->options;
    const struct cw_motion *m = f->motion;
    double low = 0.0, high = 0.0;
    for (size_t i = first + 1; i <= last; i++) {
        double ds = m->distance_m[i] - m->distance_m[i - 1];
        struct cw_loss loss = cw_balance_loss(o, m->speed_ms[i]);
        low += ds * cw_loss_sum(&loss, still ? 0.0 : o->cda_low_m2, o->crr_low);
        high += ds * cw_loss_sum(&loss, o->cda_high_m2, o->crr_high);
    }
    double loss = f->balance.head_m[first] - f->balance.head_m[last];
    double sd = hypot(1.5 * m->elevation_sd_m, DRIFT_M);
    if (loss < low - 2.0 * sd) return -1;
    return loss > high + 2.0 * sd ? 1 : 0;
}

static bool is_steady(const struct finder *f, const struct cw_run *run) {
    size_t count = run->last - run->first + 1;
    double *speeds = malloc(count * sizeof *speeds);
    if (!speeds) return false;
    for (size_t i = 0; i < count; i++) speeds[i] = f->motion->speed_ms[run->first + i];
    double most = cw_quantile(speeds, count, 0.98), least = cw_quantile(speeds, count, 0.02);
    free(speeds);
    return most - least < STEADY_PART * most;
}

/* A fit wants this many; recorders that write a sample now and then leave a long run with fewer. */
#define LEAST_SAMPLES 10

/* What bounds a stretch on one side. */
enum edge { EDGE_GAP, EDGE_STANDING, EDGE_TURN, EDGE_PEDALLING, EDGE_BRAKING };

static unsigned judge(const struct finder *f, const struct cw_run *run, enum edge start,
                      enum edge end) {
    const struct cw_runs_options *o = f->options;
    unsigned reasons = 0;
    size_t without = 0, count = run->last - run->first + 1;
    for (size_t i = run->first; i <= run->last; i++)
        without += isfinite(f->motion->height_m[i]) ? 0 : 1;
    if (5 * without > count) reasons |= CW_REASON_NO_HEIGHT;
    if (run->distance_m < o->minimum_distance_m || count < LEAST_SAMPLES) {
        reasons |= CW_REASON_SHORT;
        if (start == EDGE_GAP || end == EDGE_GAP) reasons |= CW_REASON_GAP;
        if (start == EDGE_BRAKING || end == EDGE_BRAKING) reasons |= CW_REASON_BRAKED;
        return reasons;
    }
    if (run->drop_m < o->minimum_drop_m) reasons |= CW_REASON_FLAT;
    int loss = whole_loss(f, run->first, run->last, !run->by_energy);
    if (loss < 0) reasons |= CW_REASON_PEDALLED;
    if (loss > 0) reasons |= CW_REASON_BRAKED;
    if (reasons == 0 && is_steady(f, run)) reasons |= CW_REASON_STEADY;
    return reasons;
}

static bool is_coasting(const struct finder *f, size_t i) {
    return f->mode[i] == CW_MODE_COAST && f->pedalling[i] != CW_PEDALLING_YES &&
           isfinite(f->motion->speed_ms[i]);
}

/* Why the stretch stops short of sample `beyond` (the first outside it, on the way out). */
static enum edge edge_at(const struct finder *f, size_t inside, size_t beyond, bool end) {
    if (beyond >= f->n || f->motion->gap_before[end ? beyond : inside] ||
        !isfinite(f->motion->speed_ms[beyond]))
        return EDGE_GAP;
    double still = end ? f->options->minimum_speed_ms : RELEASE_SPEED_MS;
    bool coasting = is_coasting(f, beyond);
    if (f->motion->speed_ms[beyond] < still && coasting) return EDGE_STANDING;
    if (f->turn[beyond]) return EDGE_TURN;
    if (f->mode[beyond] == CW_MODE_BRAKE) return EDGE_BRAKING;
    return coasting ? EDGE_STANDING : EDGE_PEDALLING;
}

static enum cw_run_end end_of(enum edge edge) {
    switch (edge) {
    case EDGE_GAP:
        return CW_END_RECORDING;
    case EDGE_STANDING:
        return CW_END_STOP;
    case EDGE_TURN:
        return CW_END_TURN;
    case EDGE_BRAKING:
        return CW_END_BRAKE;
    case EDGE_PEDALLING:
        break;
    }
    return CW_END_PEDALLING;
}

/* Seconds to keep away from an edge. */
static double keep_off(const struct finder *f, enum edge edge, size_t beyond, bool end) {
    bool known = f->pedalling[beyond] != CW_PEDALLING_UNKNOWN;
    if (edge == EDGE_STANDING && !end && !known) return KEEP_OFF_PUSH_S;
    if (edge == EDGE_GAP || edge == EDGE_STANDING || (edge == EDGE_TURN && !end)) return 0.0;
    if (edge == EDGE_PEDALLING && f->pedalling[beyond] == CW_PEDALLING_YES)
        return KEEP_OFF_CADENCE_S;
    return KEEP_OFF_S;
}

/* The coast that begins at sample `first` (already released): its last sample. It ends below the
 * least speed once it has been faster. */
static size_t coast_end(const struct finder *f, size_t first) {
    bool rolled = false;
    size_t i = first;
    for (;; i++) {
        double speed = f->motion->speed_ms[i];
        rolled = rolled || speed >= f->options->minimum_speed_ms;
        size_t next = i + 1;
        if (next >= f->n || f->motion->gap_before[next] || !is_coasting(f, next) || f->turn[next])
            return i;
        double ahead = f->motion->speed_ms[next];
        if (ahead < (rolled ? f->options->minimum_speed_ms : RELEASE_SPEED_MS)) return i;
    }
}

static enum cw_status add_coasts(const struct finder *f, struct cw_runs *runs,
                                 struct cw_error *error) {
    const struct cw_runs_options *o = f->options;
    for (size_t i = 0; i < f->n; i++) {
        if (!is_coasting(f, i) || f->turn[i] || f->motion->speed_ms[i] < RELEASE_SPEED_MS) continue;
        size_t first = i, last = coast_end(f, i);
        i = last;
        enum edge start = first == 0 ? EDGE_GAP : edge_at(f, first, first - 1, false);
        enum edge end = edge_at(f, last, last + 1, true);
        double from_s = time_at(f, first) + (first ? keep_off(f, start, first - 1, false) : 0.0);
        double to_s = time_at(f, last) - (last + 1 < f->n ? keep_off(f, end, last + 1, true) : 0.0);
        while (first < last && time_at(f, first) < from_s) first++;
        while (last > first && time_at(f, last) > to_s) last--;
        struct cw_run run = measure(f, first, last, end_of(end));
        if (!(run.distance_m >= 0.5 * o->minimum_distance_m &&
              run.drop_m >= 0.5 * o->minimum_drop_m))
            continue;
        run.reasons = judge(f, &run, start, end);
        run.kept = run.reasons == 0;
        enum cw_status status = append(runs, &run, error);
        if (status != CW_OK) return status;
    }
    return CW_OK;
}

/* Descents between the coasts found (runs from `found` on) that were pedalled or braked. */
static enum cw_status add_descents(const struct finder *f, size_t found, struct cw_runs *runs,
                                   struct cw_error *error) {
    const struct cw_runs_options *o = f->options;
    size_t coasts = runs->n, next = found;
    for (size_t i = 0; i < f->n; i++) {
        while (next < coasts && runs->at[next].last < i) next++;
        size_t wall = next < coasts ? runs->at[next].first : f->n;
        if (i >= wall) {
            i = runs->at[next].last;
            continue;
        }
        if (!(f->motion->slope[i] < DESCENT_SLOPE) ||
            !(f->motion->speed_ms[i] > o->minimum_speed_ms))
            continue;
        size_t last = i;
        double pedalled_s = 0.0, braked_s = 0.0;
        for (size_t j = i + 1; j < wall && !f->motion->gap_before[j] &&
                               f->motion->speed_ms[j] > o->minimum_speed_ms && !f->turn[j] &&
                               time_at(f, j) - time_at(f, last) <= DESCENT_PAUSE_S;
             j++)
            if (f->motion->slope[j] < DESCENT_SLOPE) last = j;
        for (size_t j = i + 1; j <= last; j++) {
            double dt = time_at(f, j) - time_at(f, j - 1);
            if (f->mode[j] == CW_MODE_BRAKE)
                braked_s += dt;
            else if (!is_coasting(f, j))
                pedalled_s += dt;
        }
        struct cw_run run = measure(f, i, last, CW_END_PEDALLING);
        if (last + 1 >= f->n || f->motion->gap_before[last + 1])
            run.ends = CW_END_RECORDING;
        else if (f->motion->speed_ms[last + 1] <= o->minimum_speed_ms)
            run.ends = CW_END_STOP;
        else if (f->mode[last] == CW_MODE_BRAKE)
            run.ends = CW_END_BRAKE;
        i = last;
        if (!(run.distance_m >= o->minimum_distance_m && run.drop_m >= o->minimum_drop_m)) continue;
        if (pedalled_s >= 0.2 * run.duration_s) run.reasons |= CW_REASON_PEDALLED;
        if (braked_s >= 0.2 * run.duration_s || run.reasons == 0) run.reasons |= CW_REASON_BRAKED;
        enum cw_status status = append(runs, &run, error);
        if (status != CW_OK) return status;
    }
    return CW_OK;
}

enum cw_status cw_stretches_find(const struct cw_recording *recording,
                                 const struct cw_motion *motion, size_t index,
                                 const struct cw_runs_options *options, struct cw_runs *runs,
                                 struct cw_error *error) {
    struct finder f;
    size_t found = runs->n;
    enum cw_status status = finder_make(recording, motion, index, options, &f, error);
    if (status == CW_OK) status = add_coasts(&f, runs, error);
    if (status == CW_OK) status = add_descents(&f, found, runs, error);
    finder_free(&f);
    return status;
}
