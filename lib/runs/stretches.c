#include "runs/stretches.h"

#include <math.h>
#include <stdlib.h>

#include "outing/outing.h"
#include "physics/gravity.h"
#include "runs/append.h"
#include "runs/edge.h"
#include "runs/worth.h"
#include "stats/robust.h"

/* Faster than this after standing is released. */
#define RELEASE_SPEED_MS 0.7
/* How far a run keeps from an end that the energy balance alone tells, and from one that cadence
 * tells: a stroke has begun before the sensor has counted it. */
#define KEEP_OFF_S 2.0
#define KEEP_OFF_CADENCE_S 1.0
/* From a bend that the head shows (runs/edge.h), and how far off the modes may have put it. */
#define KEEP_OFF_BEND_S 1.0
#define EDGE_REACH_S 3.0
/* A speed seen that is off the smooth one by more is an outlier. */
#define RAW_OFF_MS 2.0
/* From standstill without cadence: a few strokes to get going look like a steeper slope, and cannot
 * be told from the heights. */
#define KEEP_OFF_PUSH_S 4.7
/* A turn back: the ways over 12 m before and after differ by more than 120 degrees. */
#define TURN_REACH_M 12.0
#define TURN_COSINE (-0.5)
#define TURN_SPEED_MS 1.0
/* Long enough, deep enough, but pedalled or braked: the pauses a descent may have. */
#define DESCENT_SLOPE (-0.012)
#define DESCENT_PAUSE_S 10.0
/* 250 m that drop by 6 m, or a shorter way that drops by more. */
#define DESCENT_M2 1500.0
/* A coast turned down is worth a line if it is no more doubtful than a run may be by this factor,
 * or half as long and deep as that. */
#define NEARLY 2.0
/* Less than this is not even counted. */
#define LEAST_LENGTH_M 30.0
/* By its energy alone a coast is told from soft pedalling only where it loses more of its head than
 * heights may be off, or, on a road said to be level, than that would have given it. */
#define LEAST_LOSS_M 3.0
#define LEAST_LOSS_LEVEL_M 0.45
/* And where heights must tell it, only where it lasts: its ends are known to two seconds each. */
#define LEAST_BY_ENERGY_S 10.0
/* No heights are off by so much from one end of a coast to the other that it seems to gain more. */
#define MOST_GAIN_M 10.0
/* A hole in a coast is bridged up to so long; one up to the longer time leaves one run, turned
 * down. The mean speed over it may be so far off those on either side: the way is taken straight.
 */
#define HOLE_S 30.0
#define HOLE_LONG_S 60.0
#define HOLE_SLOWEST 0.8
#define HOLE_FASTEST 1.25
#define HOLE_BREEZE_MS 2.0
/* Speed steadier than this part of itself from least to most. */
#define STEADY_PART 0.05
/* Slow drift of heights that may come on top of their scatter, over a run. */
#define DRIFT_M 1.0

struct finder {
    const struct cw_told *told;
    const struct cw_motion *motion;
    const struct cw_runs_options *options;
    size_t n;
    bool *turn;     /* the middle of a turn back */
    double *even_m; /* the head, with what a coast loses added back */
    double *room;   /* a number a sample, for whoever sorts them */
};

static double time_at(const struct finder *f, size_t i) {
    return f->told->recording->samples.time_s[i];
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

/* The even head as edges are looked for in it: a bend is sharper in what the device saw than in the
 * smooth speed. */
static void sharpen(const struct finder *f) {
    for (size_t i = 0; i < f->n; i++) {
        double seen = f->told->recording->samples.speed_ms[i], smooth = f->motion->speed_ms[i];
        bool raw = f->motion->source == CW_SPEED_DEVICE && fabs(seen - smooth) < RAW_OFF_MS;
        f->even_m[i] = f->told->even_m[i];
        if (raw) f->even_m[i] += (seen * seen - smooth * smooth) / (2.0 * CW_STANDARD_GRAVITY_MS2);
    }
}

/* Height nearest to sample i within the run, going inward; missing ends cost no drop. */
static double height_near(const struct finder *f, size_t i, size_t toward) {
    while (i != toward && !isfinite(f->motion->height_m[i])) i = i < toward ? i + 1 : i - 1;
    return f->motion->height_m[i];
}

static struct cw_run measure(const struct finder *f, size_t first, size_t last,
                             enum cw_run_end ends) {
    const struct cw_motion *m = f->motion;
    struct cw_run run = {.recording = f->told->index,
                         .first = first,
                         .last = last,
                         .ends = ends,
                         .road = CW_ROAD_NONE,
                         .noted = {NAN, NAN, NAN},
                         .logged = {NAN, NAN},
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
        known_still += f->told->pedalling[i] == CW_PEDALLING_NO ? 1 : 0;
    }
    run.by_energy = 2 * known_still <= last - first + 1;
    return run;
}

static double head_lost(const struct finder *f, size_t first, size_t last) {
    return f->told->balance->head_m[first] - f->told->balance->head_m[last];
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
    double loss = head_lost(f, first, last);
    double sd = hypot(1.5 * f->told->height_sd_m, DRIFT_M);
    if (loss < low - 2.0 * sd) return -1;
    return loss > high + 2.0 * sd ? 1 : 0;
}

static bool is_steady(const struct finder *f, const struct cw_run *run) {
    size_t count = run->last - run->first + 1;
    double *speeds = f->room;
    for (size_t i = 0; i < count; i++) speeds[i] = f->motion->speed_ms[run->first + i];
    double most = cw_quantile(speeds, count, 0.98), least = cw_quantile(speeds, count, 0.02);
    return most - least < STEADY_PART * most;
}

/* A fit wants this many samples; recorders that write one now and then leave a long run with fewer.
 * Energy alone tells nothing of a coast whose ends take up half of it; on a road that is said to be
 * level the speed says it all. */
#define LEAST_SAMPLES 7
#define LEAST_SAMPLES_BY_ENERGY 9
#define LEAST_SAMPLES_LEVEL 5

/* Of a road that is said to be level the heights have no error. */
static bool is_level(const struct finder *f) {
    return !(f->told->height_sd_m > 0.0);
}

static size_t least_samples(const struct finder *f, const struct cw_run *run) {
    if (is_level(f)) return LEAST_SAMPLES_LEVEL;
    return run->by_energy ? LEAST_SAMPLES_BY_ENERGY : LEAST_SAMPLES;
}

/* What bounds a stretch on one side. */
enum edge { EDGE_GAP, EDGE_STANDING, EDGE_TURN, EDGE_PEDALLING, EDGE_BRAKING };

static bool is_coasting(const struct finder *f, size_t i) {
    return f->told->mode[i] == CW_MODE_COAST && f->told->pedalling[i] != CW_PEDALLING_YES &&
           isfinite(f->motion->speed_ms[i]);
}

/* A gap before sample i that a coast goes on through, or only may have. */
enum hole { HOLE_END, HOLE_BRIDGED, HOLE_LONG };

/* The way over the hole must have taken about the time that the speeds on both sides say, and the
 * head have lost about what a coast loses, give or take a breeze and what heights may be off. */
static enum hole hole_at(const struct finder *f, size_t i) {
    const struct cw_motion *m = f->motion;
    double dt = time_at(f, i) - time_at(f, i - 1), way = m->distance_m[i] - m->distance_m[i - 1];
    double from = m->speed_ms[i - 1], to = m->speed_ms[i];
    if (dt > HOLE_LONG_S || !is_coasting(f, i - 1) || !is_coasting(f, i)) return HOLE_END;
    if (fmin(from, to) < f->options->minimum_speed_ms || way < HOLE_SLOWEST * fmin(from, to) * dt ||
        way > HOLE_FASTEST * fmax(from, to) * dt)
        return HOLE_END;
    double mean_ms = 0.5 * (from + to), crr = sqrt(f->options->crr_low * f->options->crr_high);
    struct cw_loss loss = cw_balance_loss(f->options, mean_ms);
    struct cw_loss windy = cw_balance_loss(f->options, mean_ms + HOLE_BREEZE_MS);
    double lost = head_lost(f, i - 1, i) - way * cw_loss_sum(&loss, f->told->cda_m2, crr);
    double allowed = way * f->told->cda_m2 * (windy.drag - loss.drag) +
                     2.0 * hypot(f->told->height_sd_m, DRIFT_M);
    if (!(fabs(lost) <= allowed)) return HOLE_END;
    return dt <= HOLE_S ? HOLE_BRIDGED : HOLE_LONG;
}

/* By its own heights, whatever others make of the ground; 0 where it has none. */
static double own_head_lost(const struct finder *f, size_t first, size_t last) {
    const struct cw_motion *m = f->motion;
    double faster = m->speed_ms[first] * m->speed_ms[first] - m->speed_ms[last] * m->speed_ms[last];
    double lost = m->height_m[first] - m->height_m[last] + 0.5 * faster / CW_STANDARD_GRAVITY_MS2;
    return isfinite(lost) ? lost : 0.0;
}

/* Whether energy tells that it was a coast, if nothing else does. */
static bool energy_tells(const struct finder *f, const struct cw_run *run) {
    double least_m = is_level(f) ? LEAST_LOSS_LEVEL_M : LEAST_LOSS_M;
    if (!run->by_energy) return true;
    if (own_head_lost(f, run->first, run->last) < -MOST_GAIN_M) return false;
    return head_lost(f, run->first, run->last) >= least_m &&
           (is_level(f) || run->duration_s >= LEAST_BY_ENERGY_S);
}

static unsigned judge(const struct finder *f, const struct cw_run *run, double doubt,
                      enum edge start, enum edge end) {
    unsigned reasons = 0;
    for (size_t i = run->first + 1; i <= run->last; i++)
        if (f->motion->gap_before[i] && hole_at(f, i) == HOLE_LONG) reasons |= CW_REASON_GAP;
    size_t without = 0, count = run->last - run->first + 1;
    for (size_t i = run->first; i <= run->last; i++)
        without += isfinite(f->motion->height_m[i]) ? 0 : 1;
    if (5 * without > count) reasons |= CW_REASON_NO_HEIGHT;
    if (!energy_tells(f, run) || !(doubt <= f->options->most_doubt) ||
        count < least_samples(f, run)) {
        reasons |= CW_REASON_SHORT;
        if (start == EDGE_GAP || end == EDGE_GAP) reasons |= CW_REASON_GAP;
        if (start == EDGE_BRAKING || end == EDGE_BRAKING) reasons |= CW_REASON_BRAKED;
        return reasons;
    }
    int loss = whole_loss(f, run->first, run->last, !run->by_energy);
    if (loss < 0) reasons |= CW_REASON_PEDALLED;
    if (loss > 0) reasons |= CW_REASON_BRAKED;
    if (reasons == 0 && is_steady(f, run)) reasons |= CW_REASON_STEADY;
    return reasons;
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
    if (f->told->mode[beyond] == CW_MODE_BRAKE) return EDGE_BRAKING;
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

/* How far beyond an edge what is there goes on: no farther than it is looked at. */
static size_t beyond(const struct finder *f, size_t at, bool end) {
    for (;; at = end ? at + 1 : at - 1) {
        size_t next = end ? at + 1 : at - 1;
        if (end ? next >= f->n : at == 0) return at;
        if (f->motion->gap_before[end ? next : at] || is_coasting(f, next)) return at;
    }
}

/* Where the run over [first, last] begins, or ends, so near an edge as can be told. */
static size_t place(const struct finder *f, size_t first, size_t last, enum edge edge, bool end) {
    size_t at = end ? last : first;
    if (end ? last + 1 >= f->n : first == 0) return at;
    if (edge == EDGE_GAP || (edge == EDGE_TURN && !end) || (edge == EDGE_STANDING && end))
        return at;
    bool known = f->told->pedalling[end ? at + 1 : at - 1] != CW_PEDALLING_UNKNOWN;
    bool told =
        edge == EDGE_PEDALLING && f->told->pedalling[end ? at + 1 : at - 1] == CW_PEDALLING_YES;
    if (edge == EDGE_STANDING && known) return at;
    double keep_s = !told ? KEEP_OFF_S : end ? KEEP_OFF_CADENCE_S : 0.0;
    bool found = false;
    if (edge == EDGE_STANDING) {
        keep_s = KEEP_OFF_PUSH_S;
    } else if (!told && edge != EDGE_TURN) {
        struct cw_edge e = {.n = f->n,
                            .time_s = f->told->recording->samples.time_s,
                            .speed_ms = f->motion->speed_ms,
                            .distance_m = f->motion->distance_m,
                            .even_m = f->even_m,
                            .at = at,
                            .inner = end ? first : last,
                            .outer = beyond(f, at, end),
                            .end = end,
                            .braking = edge == EDGE_BRAKING,
                            .reach_s = EDGE_REACH_S};
        at = cw_edge_place(&e, &found);
        /* A bend at the far end of what was looked at lies beyond it. */
        bool far_in = end ? at < e.at : at > e.at;
        if (far_in && !e.braking && fabs(time_at(f, at) - time_at(f, e.at)) > EDGE_REACH_S - 1.0) {
            e.at = at;
            at = cw_edge_place(&e, &found);
        }
        if (found) keep_s = KEEP_OFF_BEND_S;
    }
    /* What bounds the run begins somewhere between that sample and the next one out; who sets off,
     * where the speed says. */
    size_t out = end ? at + 1 : at - 1;
    double part = 0.5, from = f->motion->speed_ms[out], to = f->motion->speed_ms[at];
    if (edge == EDGE_STANDING) part = fmin(fmax((RELEASE_SPEED_MS - from) / (to - from), 0.0), 1.0);
    double bend_s = time_at(f, out) + part * (time_at(f, at) - time_at(f, out));
    while (at != (end ? first : last) && fabs(time_at(f, at) - bend_s) < keep_s)
        at = end ? at - 1 : at + 1;
    return at;
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
        if (next >= f->n || !is_coasting(f, next) || f->turn[next]) return i;
        if (f->motion->gap_before[next] && hole_at(f, next) == HOLE_END) return i;
        double ahead = f->motion->speed_ms[next];
        if (ahead < (rolled ? f->options->minimum_speed_ms : RELEASE_SPEED_MS)) return i;
    }
}

/* The last sample of what rolls on too slowly after a coast's last one: that is its end, and no
 * coast of its own. */
static size_t slow_end(const struct finder *f, size_t last) {
    size_t i = last;
    while (i + 1 < f->n && is_coasting(f, i + 1) && !f->motion->gap_before[i + 1] &&
           f->motion->speed_ms[i + 1] >= RELEASE_SPEED_MS &&
           f->motion->speed_ms[i + 1] < f->options->minimum_speed_ms)
        i++;
    return i;
}

static enum cw_status add_coasts(const struct finder *f, struct cw_runs *runs,
                                 struct cw_error *error) {
    for (size_t i = 0; i < f->n; i++) {
        if (!is_coasting(f, i) || f->turn[i] || f->motion->speed_ms[i] < RELEASE_SPEED_MS) continue;
        size_t first = i, last = coast_end(f, i);
        i = slow_end(f, last);
        enum edge start = first == 0 ? EDGE_GAP : edge_at(f, first, first - 1, false);
        enum edge end = edge_at(f, last, last + 1, true);
        size_t from = place(f, first, last, start, false), to = place(f, first, last, end, true);
        first = from;
        last = to > from ? to : from;
        struct cw_run run = measure(f, first, last, end_of(end));
        run.from_brake = start == EDGE_BRAKING;
        /* What a run leaves that has become too slow is none. */
        if (run.top_speed_ms < f->options->minimum_speed_ms) continue;
        double doubt = cw_worth_doubt(f->told, f->options, first, last);
        run.reasons = judge(f, &run, doubt, start, end);
        run.kept = run.reasons == 0;
        bool nearly = doubt <= NEARLY * f->options->most_doubt && energy_tells(f, &run);
        bool deep = run.distance_m * run.drop_m >= 0.25 * DESCENT_M2;
        bool slight = !run.kept && !nearly && !deep;
        if (slight && !(run.distance_m >= LEAST_LENGTH_M)) continue;
        enum cw_status status =
            slight ? cw_runs_append_slight(runs, &run, error) : cw_runs_append(runs, &run, error);
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
            if (f->told->mode[j] == CW_MODE_BRAKE)
                braked_s += dt;
            else if (!is_coasting(f, j))
                pedalled_s += dt;
        }
        struct cw_run run = measure(f, i, last, CW_END_PEDALLING);
        if (last + 1 >= f->n || f->motion->gap_before[last + 1])
            run.ends = CW_END_RECORDING;
        else if (f->motion->speed_ms[last + 1] <= o->minimum_speed_ms)
            run.ends = CW_END_STOP;
        else if (f->told->mode[last] == CW_MODE_BRAKE)
            run.ends = CW_END_BRAKE;
        i = last;
        if (!(run.distance_m * run.drop_m >= DESCENT_M2)) continue;
        if (pedalled_s >= 0.2 * run.duration_s) run.reasons |= CW_REASON_PEDALLED;
        if (braked_s >= 0.2 * run.duration_s || run.reasons == 0) run.reasons |= CW_REASON_BRAKED;
        enum cw_status status = cw_runs_append(runs, &run, error);
        if (status != CW_OK) return status;
    }
    return CW_OK;
}

enum cw_status cw_stretches_find(const struct cw_told *told, const struct cw_runs_options *options,
                                 struct cw_runs *runs, struct cw_error *error) {
    size_t found = runs->n, n = told->motion->n;
    struct finder f = {.told = told,
                       .motion = told->motion,
                       .options = options,
                       .n = n,
                       .turn = malloc((n ? n : 1) * sizeof(bool)),
                       .even_m = malloc((n ? n : 1) * sizeof(double)),
                       .room = malloc((n ? n : 1) * sizeof(double))};
    enum cw_status status = f.turn && f.even_m && f.room ? CW_OK : cw_error_memory(error);
    if (status == CW_OK) {
        find_turns(&f);
        sharpen(&f);
        status = add_coasts(&f, runs, error);
    }
    if (status == CW_OK) status = add_descents(&f, found, runs, error);
    free(f.room);
    free(f.even_m);
    free(f.turn);
    return status;
}
