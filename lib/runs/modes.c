#include "runs/modes.h"

#include <math.h>
#include <stdlib.h>

#include "physics/gravity.h"

/* Slower than this nothing is told: a coast, a hand on the brake and a foot on the ground look
 * alike. */
#define BLIND_SPEED_MS 1.0
#define PIECE_COST 8.0
#define LONGEST_PIECE_S 240.0
/* An error is never less than this part of what it is over half a minute. */
#define LEAST_ERROR 0.01
/* Cuts are tried this far apart at least, and where cadence changes. */
#define CUT_EVERY_S 1.5
#define LEAST_CUT_MS 900
#define LEAST_CUT_S (LEAST_CUT_MS / 1000.0)
/* More cuts than there are within the longest piece. */
#define WINDOW 512
_Static_assert(1000 * (int)LONGEST_PIECE_S / LEAST_CUT_MS + 3 < WINDOW, "cuts within a piece");
/* Lines of neighbouring pieces meet to within so many times the error of a mean over this time. */
#define JUMP_SDS 2.0
#define JUMP_S 3.0
/* Priors (of 85 kg): pedalling 160 +- 85 W; braking 0.1 +- 0.1 of the weight. */
#define POWER_MEAN_W 160.0
#define POWER_SD_W 85.0
#define BRAKE_MEAN 0.1
#define BRAKE_SD 0.1
/* Votes of the columns, in log likelihood a second. */
#define TURNING_VOTE 6.0
#define STILL_VOTE 3.0
/* And of the speed, where it falls as on no road without a brake (a rise of 15 %, common practice,
 * no source, and the air at 15 m/s). */
#define SLOWING_VOTE 3.0
#define SLOWING_MS2 2.0

/* Weighted sums over the samples of a part up to one, for x = K (coast), t, s and y. */
struct sums {
    double turning_s, still_s, slowing_s;
    double lasts_s, gusts_s; /* time, and time by the gusts' share of the error */
    double w, y, yy, k, kk, ky, t, tt, ty, s, ss, sy, kt, ks;
    double at_k, at_t, at_s; /* not sums: of the last sample itself */
};

/* The least cost of all samples before a cut, the last piece being of a mode. */
struct best {
    double cost;
    double ahead_m; /* where its line would put y at the cut */
};

/* A place where a piece may end and another begin: before a sample of the part. */
struct cut {
    size_t sample;
    double begins_s, ends_s;  /* the sample's time, and that of the one before it */
    double least;             /* of the costs of best */
    struct sums before, with; /* of the samples before it, and of the sample too */
    struct best best[CW_MODES];
};

/* What the way back needs of a cut: of the best division up to it, by its last piece's mode. */
struct trace {
    double cda_m2, told;             /* of a coast, and how well it tells that */
    unsigned sample;                 /* of the cut */
    unsigned short length[CW_MODES]; /* of the last piece, in cuts */
    unsigned char before[CW_MODES];  /* the mode of the piece before it */
};

struct part {
    const struct cw_recording *recording;
    const struct cw_motion *motion;
    const struct cw_balance *balance;
    const enum cw_pedalling *pedalling;
    const struct cw_runs_options *options;
    struct cw_modes_guess guess;
    size_t first, n;     /* samples */
    size_t n_cuts;       /* the last is behind the last sample */
    struct cut *cut;     /* the last WINDOW of them, by number modulo that */
    struct trace *trace; /* n_cuts */
};

static struct cut *cut_of(const struct part *part, size_t number) {
    return &part->cut[number % WINDOW];
}

/* What the part's samples come to, so far. */
struct ridden {
    struct sums sums;
    double rolling, air;
};

static bool is_told(const struct cw_motion *motion, const struct cw_balance *balance, size_t i) {
    return isfinite(balance->head_m[i]) && motion->speed_ms[i] >= BLIND_SPEED_MS;
}

/* Whether the brakes are on whatever the heights say. */
static bool slows(const struct cw_motion *motion, const double *time_s, size_t first, size_t last,
                  size_t i) {
    size_t before = i > first ? i - 1 : i, after = i < last ? i + 1 : i;
    return motion->speed_ms[before] - motion->speed_ms[after] >
           SLOWING_MS2 * (time_s[after] - time_s[before]);
}

/* Adds sample j of the part to the sums; y = e + R, and K, both from 0 at the part's start. */
static void add_sample(const struct part *part, size_t j, struct ridden *ridden) {
    const struct cw_runs_options *o = part->options;
    const struct cw_motion *motion = part->motion;
    const double *time_s = part->recording->samples.time_s;
    struct sums *sums = &ridden->sums;
    size_t i = part->first + j;
    double dt = 1.0;
    if (j > 0) {
        double ds = motion->distance_m[i] - motion->distance_m[i - 1];
        double v = 0.5 * (motion->speed_ms[i] + motion->speed_ms[i - 1]);
        struct cw_loss loss = cw_balance_loss(o, v);
        ridden->rolling += cw_loss_sum(&loss, 0.0, sqrt(o->crr_low * o->crr_high)) * ds;
        ridden->air += loss.drag * ds;
        dt = time_s[i] - time_s[i - 1];
    }
    double density = cw_balance_density(part->balance, i, INFINITY), w = dt / density;
    double t = time_s[i] - time_s[part->first], air = ridden->air;
    double s = motion->distance_m[i] - motion->distance_m[part->first];
    double y = part->balance->head_m[i] - part->balance->head_m[part->first] + ridden->rolling;
    sums->w += w;
    sums->y += w * y;
    sums->yy += w * y * y;
    sums->k += w * air;
    sums->kk += w * air * air;
    sums->ky += w * air * y;
    sums->t += w * t;
    sums->tt += w * t * t;
    sums->ty += w * t * y;
    sums->s += w * s;
    sums->ss += w * s * s;
    sums->sy += w * s * y;
    sums->kt += w * air * t;
    sums->ks += w * air * s;
    sums->lasts_s += dt;
    sums->gusts_s += w * cw_balance_gusts(part->balance, i);
    sums->at_k = air;
    sums->at_t = t;
    sums->at_s = s;
    if (slows(motion, time_s, part->first, part->first + part->n - 1, i)) sums->slowing_s += dt;
    if (part->pedalling[i] == CW_PEDALLING_YES) sums->turning_s += dt;
    if (part->pedalling[i] == CW_PEDALLING_NO) sums->still_s += dt;
}

/* Least value of ½ (yy + 2 b xy + b² xx + ((b - mean) / sd)²) over b in [low, high]: half the sum
 * of squares of y + b x about its mean, with the prior on b. xx, xy, yy are about their means. */
static double half_squares(double xx, double xy, double yy, double mean, double sd, double low,
                           double high, double *b) {
    double precision = 1.0 / (sd * sd);
    *b = fmin(fmax((mean * precision - xy) / (xx + precision), low), high);
    return 0.5 * (yy + 2.0 * *b * xy + *b * *b * xx + (*b - mean) * (*b - mean) * precision);
}

/* A piece's line: y = level - cda K + push t - brake s. */
struct line {
    double cost; /* of its samples */
    double level_m, cda_m2, push_ms, brake;
};

/* What all modes ask of the samples of a piece: what the columns say, by mode, by how much its
 * samples are heavier, and, once summed up, sums about their means. */
struct piece {
    const struct sums *from, *to;
    double more, votes[CW_MODES];
    double w, y, k, yy, kk, ky;
};

static void piece_set(const struct sums *p, const struct sums *q, struct piece *piece) {
    piece->from = p;
    piece->to = q;
    double turning = TURNING_VOTE * (q->turning_s - p->turning_s);
    double slowing = SLOWING_VOTE * (q->slowing_s - p->slowing_s);
    piece->votes[CW_MODE_COAST] = turning + slowing;
    piece->votes[CW_MODE_PEDAL] = slowing + STILL_VOTE * (q->still_s - p->still_s);
    piece->votes[CW_MODE_BRAKE] = turning;
    /* The shorter the piece, the less gusts add up to in it, and the more its samples weigh. */
    double lasts_s = q->lasts_s - p->lasts_s, gusts_s = q->gusts_s - p->gusts_s;
    piece->more = 1.0;
    if (gusts_s > 0.0)
        piece->more =
            1.0 / fmax(1.0 - gusts_s / lasts_s * (1.0 - cw_gusts_part(lasts_s)), LEAST_ERROR);
}

static void sum_up(struct piece *piece) {
    const struct sums *p = piece->from, *q = piece->to;
    double w = q->w - p->w, y = q->y - p->y, k = q->k - p->k;
    piece->w = w;
    piece->y = y;
    piece->k = k;
    piece->yy = (q->yy - p->yy - y * y / w) * piece->more;
    piece->kk = (q->kk - p->kk - k * k / w) * piece->more;
    piece->ky = (q->ky - p->ky - k * y / w) * piece->more;
}

/* The samples of a piece by the line of a mode. */
static struct line fit_piece(const struct part *part, const struct piece *piece,
                             enum cw_mode mode) {
    const struct sums *p = piece->from, *q = piece->to;
    const struct cw_runs_options *o = part->options;
    double w = piece->w, y = piece->y, k = piece->k, t = q->t - p->t, s = q->s - p->s;
    double yy = piece->yy, kk = piece->kk, ky = piece->ky, more = piece->more;
    struct line line = {.cost = piece->votes[mode], .cda_m2 = part->guess.cda_m2};
    /* Pedalling and braking have the air's part taken out with the guess: z = y + CdA0 K. */
    double c = part->guess.cda_m2, zz = yy + 2.0 * c * ky + c * c * kk;
    if (mode == CW_MODE_COAST) {
        line.cost += half_squares(kk, ky, yy, c, part->guess.sd_m2, o->cda_low_m2, o->cda_high_m2,
                                  &line.cda_m2);
    } else if (mode == CW_MODE_PEDAL) {
        double weight = o->mass_kg * CW_STANDARD_GRAVITY_MS2;
        double tt = more * (q->tt - p->tt - t * t / w);
        double tz = more * (q->ty - p->ty - t * y / w + c * (q->kt - p->kt - k * t / w));
        line.cost += half_squares(tt, -tz, zz, POWER_MEAN_W / weight, POWER_SD_W / weight,
                                  CW_PEDAL_LEAST_W / weight, INFINITY, &line.push_ms);
    } else {
        double ss = more * (q->ss - p->ss - s * s / w);
        double sz = more * (q->sy - p->sy - s * y / w + c * (q->ks - p->ks - k * s / w));
        line.cost +=
            half_squares(ss, sz, zz, BRAKE_MEAN, BRAKE_SD, CW_BRAKE_LEAST, INFINITY, &line.brake);
    }
    line.level_m = (y + line.cda_m2 * k - line.push_ms * t + line.brake * s) / w;
    return line;
}

/* The line's y at a cut's sample. */
static double line_at(const struct line *line, const struct cut *cut) {
    const struct sums *at = &cut->with;
    return line->level_m - line->cda_m2 * at->at_k + line->push_ms * at->at_t -
           line->brake * at->at_s;
}

/* Takes, if it is better than what is known to cut j, a piece of a mode from cut i to it, after the
 * best of what goes before that. Each piece has a level of its own, so that slow errors of the
 * heights don't add up; but energy does not jump, and a short brake must not hide in a seam. (What
 * went before was chosen without knowing this jump: the least cost is found but for such cases.)
 * Returns what the line's samples alone cost. */
static double try_piece(const struct part *part, const struct piece *piece, size_t i, size_t j,
                        enum cw_mode mode) {
    const struct cut *from = cut_of(part, i);
    struct cut *to = cut_of(part, j);
    struct best *best = &to->best[mode];
    struct trace *trace = &part->trace[j];
    struct line line = fit_piece(part, piece, mode);
    double start = line_at(&line, from), ahead = 0.0;
    if (to->sample < part->n) ahead = line_at(&line, to);
    /* A level is known to about the root of the error's density over some seconds. */
    double dw = from->with.w - from->before.w;
    double dt = from->sample > 0 ? from->with.at_t - from->before.at_t : 1.0;
    double sd = JUMP_SDS * sqrt(dt / dw / JUMP_S);
    for (int m = 0; m < CW_MODES; m++) {
        double jump = i > 0 ? (start - from->best[m].ahead_m) / sd : 0.0;
        double cost = from->best[m].cost + line.cost + PIECE_COST + 0.5 * jump * jump;
        if (!(cost < best->cost)) continue;
        *best = (struct best){cost, ahead};
        trace->length[mode] = (unsigned short)(j - i);
        trace->before[mode] = (unsigned char)m;
        if (mode != CW_MODE_COAST) continue;
        double k = piece->k, kk = piece->to->kk - piece->from->kk - k * k / piece->w;
        trace->cda_m2 = line.cda_m2;
        trace->told = sqrt(fmax(kk, 0.0));
    }
    return line.cost - piece->votes[mode];
}

static bool too_long(const struct part *part, size_t i, size_t j) {
    return cut_of(part, j)->ends_s - cut_of(part, i)->begins_s > LONGEST_PIECE_S && i + 1 < j;
}

/* Mostly the last piece goes on: that is tried first, and what is better than it is rare. */
static void go_on(const struct part *part, size_t j) {
    for (int m = 0; m < CW_MODES && j > 1; m++) {
        size_t i = j - 1 - part->trace[j - 1].length[m];
        if (too_long(part, i, j)) continue;
        struct piece piece;
        piece_set(&cut_of(part, i)->before, &cut_of(part, j)->before, &piece);
        sum_up(&piece);
        try_piece(part, &piece, i, j, (enum cw_mode)m);
    }
}

/* The best divisions that end at cut j. A piece that reaches further back has the samples of the
 * one before it too, so its squares are no less, but for what they weigh; where even so it cannot
 * be better than what is known, it is not fitted. */
static void reach(const struct part *part, size_t j) {
    static const double rounding = 1e-9;
    struct cut *to = cut_of(part, j);
    double squares[CW_MODES] = {0}, weighed = INFINITY;
    /* Where numbers are beyond all range nothing is better than this. */
    part->trace[j] = (struct trace){.sample = (unsigned)to->sample, .length = {1, 1, 1}};
    for (int m = 0; m < CW_MODES; m++) to->best[m] = (struct best){.cost = INFINITY};
    go_on(part, j);
    for (size_t i = j; i-- > 0 && !too_long(part, i, j);) {
        const struct cut *from = cut_of(part, i);
        double before = from->least + PIECE_COST;
        struct piece piece;
        piece_set(&from->before, &to->before, &piece);
        double lighter = piece.more < weighed ? piece.more / weighed : 1.0;
        bool summed = false;
        weighed = piece.more;
        for (int m = 0; m < CW_MODES; m++) {
            squares[m] *= lighter * (1.0 - rounding);
            if (before + piece.votes[m] + squares[m] >= to->best[m].cost) continue;
            if (!summed) sum_up(&piece);
            summed = true;
            squares[m] = try_piece(part, &piece, i, j, (enum cw_mode)m);
        }
    }
    to->least = fmin(to->best[0].cost, fmin(to->best[1].cost, to->best[2].cost));
}

static enum cw_status add_shown(struct cw_modes_shown *shown, double cda_m2, double weight,
                                struct cw_error *error) {
    if (shown->n == shown->capacity) {
        size_t capacity = shown->capacity ? 2 * shown->capacity : 64;
        struct cw_shown *at = realloc(shown->at, capacity * sizeof *at);
        if (!at) return cw_error_memory(error);
        shown->at = at;
        shown->capacity = capacity;
    }
    shown->at[shown->n++] = (struct cw_shown){cda_m2, weight};
    return CW_OK;
}

enum cw_status cw_modes_shown_add(struct cw_modes_shown *shown, const struct cw_modes_shown *more,
                                  struct cw_error *error) {
    enum cw_status status = CW_OK;
    for (size_t k = 0; k < more->n && status == CW_OK; k++)
        status = add_shown(shown, more->at[k].cda_m2, more->at[k].weight, error);
    return status;
}

void cw_modes_shown_free(struct cw_modes_shown *shown) {
    free(shown->at);
    *shown = (struct cw_modes_shown){0};
}

/* Lays a cut before sample j, of which the sums know nothing yet. */
static void lay_cut(struct part *part, size_t j, const struct ridden *ridden) {
    const double *time_s = part->recording->samples.time_s + part->first;
    struct cut *cut = cut_of(part, part->n_cuts++);
    *cut = (struct cut){.sample = j, .before = ridden->sums};
    if (j < part->n) cut->begins_s = time_s[j];
    if (j > 0) cut->ends_s = time_s[j - 1];
}

static bool wants_cut(const struct part *part, size_t j, double cut_s) {
    size_t i = part->first + j;
    bool change = j > 0 && part->pedalling[i] != part->pedalling[i - 1];
    return part->recording->samples.time_s[i] - cut_s >= (change ? LEAST_CUT_S : CUT_EVERY_S);
}

static void divide(struct part *part) {
    const double *time_s = part->recording->samples.time_s;
    struct ridden ridden = {.sums = {0}};
    double cut_s = -INFINITY;
    part->n_cuts = 0;
    for (size_t j = 0; j < part->n; j++) {
        bool cut = wants_cut(part, j, cut_s);
        if (cut) lay_cut(part, j, &ridden);
        add_sample(part, j, &ridden);
        if (!cut) continue;
        cut_s = time_s[part->first + j];
        cut_of(part, part->n_cuts - 1)->with = ridden.sums;
        if (part->n_cuts > 1) reach(part, part->n_cuts - 1);
    }
    lay_cut(part, part->n, &ridden);
    reach(part, part->n_cuts - 1);
}

/* From the part's end back to its start: the modes of its samples, and what its coasts show. */
static enum cw_status go_back(const struct part *part, enum cw_mode *mode,
                              struct cw_modes_shown *shown, struct cw_error *error) {
    const struct cw_runs_options *o = part->options;
    const double *time_s = part->recording->samples.time_s;
    const struct best *last = cut_of(part, part->n_cuts - 1)->best;
    enum cw_status status = CW_OK;
    int m = 0;
    for (int k = 1; k < CW_MODES; k++)
        if (last[k].cost < last[m].cost) m = k;
    for (size_t j = part->n_cuts - 1; j > 0;) {
        const struct trace *trace = &part->trace[j];
        size_t from = j - trace->length[m], end = part->first + trace->sample;
        size_t begin = part->first + (from ? part->trace[from].sample : 0);
        for (size_t i = begin; i < end; i++) mode[i] = (enum cw_mode)m;
        /* At the bounds it is rather pedalled softly, or braked. */
        bool shows = trace->cda_m2 > o->cda_low_m2 && trace->cda_m2 < o->cda_high_m2;
        if (status == CW_OK && m == CW_MODE_COAST && shows &&
            time_s[end - 1] - time_s[begin] >= 10.0)
            status = add_shown(shown, trace->cda_m2, trace->told, error);
        j = from;
        m = trace->before[m];
    }
    return status;
}

static int by_cda(const void *a, const void *b) {
    double x = ((const struct cw_shown *)a)->cda_m2, y = ((const struct cw_shown *)b)->cda_m2;
    return (x > y) - (x < y);
}

void cw_modes_learn(struct cw_modes_shown *shown, struct cw_modes_guess *guess) {
    double all = 0.0, sum = 0.0;
    for (size_t k = 0; k < shown->n; k++) all += shown->at[k].weight;
    if (shown->n < 2 || all < 10.0 / guess->cda_m2) return;
    qsort(shown->at, shown->n, sizeof *shown->at, by_cda);
    size_t k = 0;
    while (k + 1 < shown->n && (sum += shown->at[k].weight) < 0.5 * all) k++;
    guess->cda_m2 = shown->at[k].cda_m2;
    guess->sd_m2 = 0.25 * shown->at[k].cda_m2 + 0.03;
}

struct cw_modes_guess cw_modes_guess_first(const struct cw_runs_options *options) {
    double middle = sqrt(options->cda_low_m2 * options->cda_high_m2);
    return (struct cw_modes_guess){middle, 0.5 * middle};
}

enum cw_status cw_modes_find(const struct cw_recording *recording, const struct cw_motion *motion,
                             const struct cw_balance *balance, const enum cw_pedalling *pedalling,
                             const struct cw_runs_options *options,
                             const struct cw_modes_guess *guess, enum cw_mode *mode,
                             struct cw_modes_shown *shown, struct cw_error *error) {
    size_t n = motion->n;
    enum cw_status status = CW_OK;
    struct part part = {.recording = recording,
                        .motion = motion,
                        .balance = balance,
                        .pedalling = pedalling,
                        .options = options,
                        .guess = *guess,
                        .cut = malloc(WINDOW * sizeof *part.cut),
                        .trace = malloc((n + 1) * sizeof *part.trace)};
    if (!part.cut || !part.trace) status = cw_error_memory(error);
    for (size_t i = 0; i < n; i++) mode[i] = CW_MODE_COAST;
    for (size_t i = 0; i < n && status == CW_OK;) {
        part.first = i;
        while (i < n && is_told(motion, balance, i) && (i == part.first || !motion->gap_before[i]))
            i++;
        part.n = i - part.first;
        if (!part.n) {
            i++;
            continue;
        }
        divide(&part);
        status = go_back(&part, mode, shown, error);
    }
    free(part.cut);
    free(part.trace);
    return status;
}
