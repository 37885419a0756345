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
#define LEAST_CUT_S 0.9
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
    double w, y, yy, k, kk, ky, t, tt, ty, s, ss, sy, kt, ks;
    double turning_s, still_s, slowing_s;
    double lasts_s, gusts_s; /* time, and time by the gusts' share of the error */
    double at_k, at_t, at_s; /* not sums: of the last sample itself */
};

struct part {
    const struct cw_runs_options *options;
    struct cw_modes_guess guess;
    size_t first, n;      /* samples */
    struct sums *upto;    /* n + 1: sums of the samples before */
    size_t *cuts, n_cuts; /* sample numbers within the part; the last is n */
    const double *time_s; /* from the part's first sample */
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

/* Sums from sample first on; y = e + R, and K, both from 0 at the part's start. */
static void sum_up(const struct part *part, const struct cw_recording *recording,
                   const struct cw_motion *motion, const struct cw_balance *balance,
                   const enum cw_pedalling *pedalling) {
    const struct cw_runs_options *o = part->options;
    const double *time_s = recording->samples.time_s;
    double crr = sqrt(o->crr_low * o->crr_high), rolling = 0.0, air = 0.0;
    struct sums sums = {0};
    part->upto[0] = sums;
    for (size_t j = 0; j < part->n; j++) {
        size_t i = part->first + j;
        double dt = 1.0;
        if (j > 0) {
            double ds = motion->distance_m[i] - motion->distance_m[i - 1];
            double v = 0.5 * (motion->speed_ms[i] + motion->speed_ms[i - 1]);
            struct cw_loss loss = cw_balance_loss(o, v);
            rolling += cw_loss_sum(&loss, 0.0, crr) * ds;
            air += loss.drag * ds;
            dt = time_s[i] - time_s[i - 1];
        }
        double density = cw_balance_density(balance, i, INFINITY), w = dt / density;
        double t = time_s[i] - time_s[part->first];
        double s = motion->distance_m[i] - motion->distance_m[part->first];
        double y = balance->head_m[i] - balance->head_m[part->first] + rolling;
        sums.w += w;
        sums.y += w * y;
        sums.yy += w * y * y;
        sums.k += w * air;
        sums.kk += w * air * air;
        sums.ky += w * air * y;
        sums.t += w * t;
        sums.tt += w * t * t;
        sums.ty += w * t * y;
        sums.s += w * s;
        sums.ss += w * s * s;
        sums.sy += w * s * y;
        sums.kt += w * air * t;
        sums.ks += w * air * s;
        sums.lasts_s += dt;
        sums.gusts_s += w * balance->gusts_m2s[i];
        sums.at_k = air;
        sums.at_t = t;
        sums.at_s = s;
        if (slows(motion, time_s, part->first, part->first + part->n - 1, i)) sums.slowing_s += dt;
        if (pedalling[i] == CW_PEDALLING_YES) sums.turning_s += dt;
        if (pedalling[i] == CW_PEDALLING_NO) sums.still_s += dt;
        part->upto[j + 1] = sums;
    }
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

/* The samples [a, b) of the part as one piece of a mode. */
static struct line fit_piece(const struct part *part, size_t a, size_t b, enum cw_mode mode) {
    const struct sums *p = &part->upto[a], *q = &part->upto[b];
    const struct cw_runs_options *o = part->options;
    double w = q->w - p->w, y = q->y - p->y, k = q->k - p->k, t = q->t - p->t, s = q->s - p->s;
    double yy = q->yy - p->yy - y * y / w, kk = q->kk - p->kk - k * k / w;
    double ky = q->ky - p->ky - k * y / w;
    double turning = TURNING_VOTE * (q->turning_s - p->turning_s);
    double slowing = SLOWING_VOTE * (q->slowing_s - p->slowing_s);
    /* The shorter the piece, the less gusts add up to in it, and the more its samples weigh. */
    double lasts_s = q->lasts_s - p->lasts_s, gusts = (q->gusts_s - p->gusts_s) / lasts_s;
    double more = 1.0 / fmax(1.0 - gusts * (1.0 - cw_gusts_part(lasts_s)), LEAST_ERROR);
    yy *= more;
    kk *= more;
    ky *= more;
    struct line line = {.cost = turning, .cda_m2 = part->guess.cda_m2};
    /* Pedalling and braking have the air's part taken out with the guess: z = y + CdA0 K. */
    double c = part->guess.cda_m2, zz = yy + 2.0 * c * ky + c * c * kk;
    if (mode == CW_MODE_COAST) {
        line.cost += slowing + half_squares(kk, ky, yy, c, part->guess.sd_m2, o->cda_low_m2,
                                            o->cda_high_m2, &line.cda_m2);
    } else if (mode == CW_MODE_PEDAL) {
        double weight = o->mass_kg * CW_STANDARD_GRAVITY_MS2;
        double tt = more * (q->tt - p->tt - t * t / w);
        double tz = more * (q->ty - p->ty - t * y / w + c * (q->kt - p->kt - k * t / w));
        line.cost = slowing + STILL_VOTE * (q->still_s - p->still_s) +
                    half_squares(tt, -tz, zz, POWER_MEAN_W / weight, POWER_SD_W / weight,
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

/* The line's y at a sample of the part. */
static double line_at(const struct part *part, const struct line *line, size_t sample) {
    const struct sums *at = &part->upto[sample + 1];
    return line->level_m - line->cda_m2 * at->at_k + line->push_ms * at->at_t -
           line->brake * at->at_s;
}

/* The least cost of all samples before a cut, the last piece being of a mode. */
struct best {
    double cost;
    double ahead_m; /* where its line would put y at the cut */
    double cda_m2;
    size_t from; /* index of the cut where the last piece begins */
    int before;  /* the mode of the piece before it */
};

/* Puts in *best, if it is better, the piece [cuts[i], cuts[j]) of a mode after the best of what
 * goes before it. Each piece has a level of its own, so that slow errors of the heights don't add
 * up; but energy does not jump, and a short brake must not hide in a seam. (What went before was
 * chosen without knowing this jump: the least cost is found but for such cases.) */
static void try_piece(const struct part *part, const struct best before[CW_MODES], size_t i,
                      size_t j, int mode, struct best *best) {
    size_t a = part->cuts[i], b = part->cuts[j];
    struct line line = fit_piece(part, a, b, (enum cw_mode)mode);
    if (before[0].cost + line.cost >= best->cost && before[1].cost + line.cost >= best->cost &&
        before[2].cost + line.cost >= best->cost)
        return;
    double start = line_at(part, &line, a), ahead = 0.0;
    if (b < part->n) ahead = line_at(part, &line, b);
    /* A level is known to about the root of the error's density over some seconds. */
    double dw = part->upto[a + 1].w - part->upto[a].w;
    double dt = a > 0 ? part->upto[a + 1].at_t - part->upto[a].at_t : 1.0;
    double sd = JUMP_SDS * sqrt(dt / dw / JUMP_S);
    for (int m = 0; m < CW_MODES; m++) {
        double jump = i > 0 ? (start - before[m].ahead_m) / sd : 0.0;
        double cost = before[m].cost + line.cost + PIECE_COST + 0.5 * jump * jump;
        if (cost < best->cost) *best = (struct best){cost, ahead, line.cda_m2, i, m};
    }
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

static enum cw_status divide(const struct part *part, enum cw_mode *mode,
                             struct cw_modes_shown *shown, struct cw_error *error) {
    enum cw_status status = CW_OK;
    struct best(*best)[CW_MODES] = malloc(part->n_cuts * sizeof *best);
    if (!best) return cw_error_memory(error);
    for (int m = 0; m < CW_MODES; m++) best[0][m] = (struct best){0};
    const double *time_s = part->time_s + part->first;
    for (size_t j = 1; j < part->n_cuts; j++) {
        /* Where numbers are beyond all range nothing is better than this. */
        for (int m = 0; m < CW_MODES; m++)
            best[j][m] = (struct best){.cost = INFINITY, .from = j - 1};
        for (size_t i = j; i-- > 0;) {
            if (time_s[part->cuts[j] - 1] - time_s[part->cuts[i]] > LONGEST_PIECE_S && i + 1 < j)
                break;
            for (int m = 0; m < CW_MODES; m++) try_piece(part, best[i], i, j, m, &best[j][m]);
        }
    }
    int m = 0;
    for (int k = 1; k < CW_MODES; k++)
        if (best[part->n_cuts - 1][k].cost < best[part->n_cuts - 1][m].cost) m = k;
    for (size_t j = part->n_cuts - 1; j > 0;) {
        const struct best *piece = &best[j][m];
        size_t a = part->cuts[piece->from], b = part->cuts[j];
        for (size_t i = a; i < b; i++) mode[part->first + i] = (enum cw_mode)m;
        const struct cw_runs_options *o = part->options;
        /* At the bounds it is rather pedalled softly, or braked. */
        bool shows = piece->cda_m2 > o->cda_low_m2 && piece->cda_m2 < o->cda_high_m2;
        if (status == CW_OK && m == CW_MODE_COAST && shows && time_s[b - 1] - time_s[a] >= 10.0) {
            /* How well the piece tells its CdA. */
            const struct sums *p = &part->upto[a], *q = &part->upto[b];
            double k = q->k - p->k, kk = q->kk - p->kk - k * k / (q->w - p->w);
            status = add_shown(shown, piece->cda_m2, sqrt(fmax(kk, 0.0)), error);
        }
        j = piece->from;
        m = piece->before;
    }
    free(best);
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
    const double *time_s = recording->samples.time_s;
    struct part part = {.options = options,
                        .guess = *guess,
                        .upto = malloc((n + 1) * sizeof *part.upto),
                        .cuts = malloc((n + 1) * sizeof *part.cuts),
                        .time_s = time_s};
    if (!part.upto || !part.cuts) {
        status = cw_error_memory(error);
        goto cleanup;
    }
    for (size_t i = 0; i < n; i++) mode[i] = CW_MODE_COAST;
    for (size_t i = 0; i < n;) {
        if (!is_told(motion, balance, i)) {
            i++;
            continue;
        }
        part.first = i;
        part.n_cuts = 0;
        double cut_s = -INFINITY;
        for (; i < n && is_told(motion, balance, i) && (i == part.first || !motion->gap_before[i]);
             i++) {
            bool change = i > part.first && pedalling[i] != pedalling[i - 1];
            if (time_s[i] - cut_s < (change ? LEAST_CUT_S : CUT_EVERY_S)) continue;
            cut_s = time_s[i];
            part.cuts[part.n_cuts++] = i - part.first;
        }
        part.n = i - part.first;
        part.cuts[part.n_cuts++] = part.n;
        sum_up(&part, recording, motion, balance, pedalling);
        if ((status = divide(&part, mode, shown, error)) != CW_OK) goto cleanup;
    }
cleanup:
    free(part.cuts);
    free(part.upto);
    return status;
}
