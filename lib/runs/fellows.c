#include "runs/fellows.h"

#include <math.h>

#include "physics/gravity.h"
#include "runs/balance.h"

/* A break in a coast that may be the heights' doing, as long as nothing is known of them, and
 * afterwards. */
#define BRIDGE_S 12.0
#define LONGEST_BREAK_S 45.0
#define HEIGHTS_SDS 5.0
/* How far a fellow keeps off ends that energy tells. */
#define KEEP_OFF_S 2.0
/* A touch of the brake, a gust: no longer, and no more head than this. */
#define TOUCH_S 4.0
#define TOUCH_M 2.5

#define BREEZE_MS 1.5
/* Getting going takes about so long. */
#define PUSH_S 8.0

struct stretch {
    size_t first, end;  /* samples [first, end) of one mode */
    bool turning;       /* the columns say pedalling somewhere in it */
    bool before, after; /* a coast goes on there, without a gap */
};

static bool is_coast(const struct cw_fellow *f, const enum cw_mode *mode, size_t i) {
    return mode[i] == CW_MODE_COAST && f->pedalling[i] != CW_PEDALLING_YES;
}

static struct stretch stretch_at(const struct cw_fellow *f, const enum cw_mode *mode, size_t i) {
    size_t n = f->motion->n;
    bool coast = is_coast(f, mode, i);
    struct stretch s = {.first = i, .end = i};
    for (; s.end < n && is_coast(f, mode, s.end) == coast && (coast || mode[s.end] == mode[i]) &&
           (s.end == i || !f->motion->gap_before[s.end]);
         s.end++)
        s.turning = s.turning || f->pedalling[s.end] == CW_PEDALLING_YES;
    s.before = i > 0 && !f->motion->gap_before[i] && is_coast(f, mode, i - 1);
    s.after = s.end < n && !f->motion->gap_before[s.end] && is_coast(f, mode, s.end);
    return s;
}

void cw_fellows_tell(const struct cw_fellow *f, const enum cw_mode *mode, double heights_off_m,
                     bool *coasts) {
    const double *time_s = f->recording->samples.time_s;
    size_t n = f->motion->n;
    for (size_t i = 0; i < n;) {
        struct stretch s = stretch_at(f, mode, i);
        double lasts_s = time_s[s.end - 1] - time_s[i], from = -INFINITY, to = INFINITY;
        bool take = is_coast(f, mode, i);
        if (take) {
            if (i > 0 && !f->motion->gap_before[i]) from = time_s[i] + KEEP_OFF_S;
            if (s.end < n && !f->motion->gap_before[s.end]) to = time_s[s.end - 1] - KEEP_OFF_S;
        } else if (!s.turning && isnan(heights_off_m)) {
            take = s.before && s.after && lasts_s <= BRIDGE_S;
        } else if (!s.turning) {
            bool beside = mode[i] == CW_MODE_BRAKE ? s.before && s.after : s.before || s.after;
            double more = f->even_m[s.end - 1] - f->even_m[i];
            take =
                beside && lasts_s <= LONGEST_BREAK_S && fabs(more) <= HEIGHTS_SDS * heights_off_m;
        }
        for (size_t j = i; j < s.end; j++) coasts[j] = take && time_s[j] >= from && time_s[j] <= to;
        i = s.end;
    }
}

/* What a breeze gives or takes over the samples [first, last], metres of head. */
static double breeze_m(const struct cw_fellow *f, size_t first, size_t last) {
    double sum = 0.0;
    for (size_t i = first + 1; i <= last; i++) {
        double v = f->motion->speed_ms[i];
        struct cw_loss loss = cw_balance_loss(f->options, v + BREEZE_MS);
        struct cw_loss still = cw_balance_loss(f->options, v);
        sum += f->cda_m2 * (loss.drag - still.drag) *
               (f->motion->distance_m[i] - f->motion->distance_m[i - 1]);
    }
    return sum;
}

void cw_fellows_mend(const struct cw_fellow *f, const bool *by_fellows, enum cw_mode *mode) {
    const double *time_s = f->recording->samples.time_s;
    double weight_n = f->options->mass_kg * CW_STANDARD_GRAVITY_MS2;
    for (size_t i = 0; i < f->motion->n;) {
        struct stretch s = stretch_at(f, mode, i);
        size_t first = s.first, end = s.end;
        i = s.end;
        if (is_coast(f, mode, s.first) || s.turning) continue;
        /* What fellows tell of it, in one. */
        while (first < end && !by_fellows[first]) first++;
        size_t last = first;
        while (last + 1 < end && by_fellows[last + 1]) last++;
        if (first >= end) continue;
        /* Where it goes on for long beyond them, it is not theirs. */
        if (time_s[first] - time_s[s.first] > PUSH_S || time_s[s.end - 1] - time_s[last] > PUSH_S)
            continue;
        double lasts_s = time_s[last] - time_s[first];
        double more = f->even_m[last] - f->even_m[first];
        double least =
            mode[first] == CW_MODE_PEDAL
                ? CW_PEDAL_LEAST_W * lasts_s / weight_n
                : CW_BRAKE_LEAST * (f->motion->distance_m[last] - f->motion->distance_m[first]);
        bool touch = s.before && s.after && first == s.first && last + 1 == s.end &&
                     lasts_s <= TOUCH_S && fabs(more) <= TOUCH_M;
        if (!touch && !(fabs(more) < fmax(0.5 * least, breeze_m(f, first, last)))) continue;
        for (size_t j = first; j <= last; j++) mode[j] = CW_MODE_COAST;
    }
}
