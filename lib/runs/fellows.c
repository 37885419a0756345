#include "runs/fellows.h"

#include <math.h>

#include "physics/gravity.h"
#include "runs/balance.h"

/* A break in a coast that may be the heights' doing, as long as nothing is known of them, and
 * afterwards. */
#define BRIDGE_S 12.0
/* How far a fellow keeps off ends that energy tells. */
#define KEEP_OFF_S 2.0
/* Slower than this nobody knows a coast from standing. */
#define LEAST_SPEED_MS 1.0
/* A touch of the brake, a gust: no longer, and no more head than this. */
#define TOUCH_S 4.0
#define TOUCH_M 2.5

/* Where fellows end, at the ends of coasts, heights alone decide for so long at most. */
#define BESIDE_S 6.0
/* Braking to a standstill slows more. */
#define SLOWING_MS2 0.7
#define BREEZE_MS 1.5
/* Getting going takes about so long. */
#define PUSH_S 8.0
/* The head of a place is its mean over so long, and off by no more than so many standard errors. */
#define MEAN_S 6.0
#define MEAN_SDS 2.0

/* What the legs are seen to do is that; else a coast, or a break in one. */
enum kind { TURNING, COAST, BREAK };

struct stretch {
    enum kind kind;
    size_t first, end;  /* samples [first, end) */
    bool before, after; /* a coast goes on there, without a gap */
};

static enum kind kind_of(const struct cw_fellow *f, const enum cw_mode *mode, size_t i) {
    if (f->pedalling[i] == CW_PEDALLING_YES) return TURNING;
    return mode[i] == CW_MODE_COAST ? COAST : BREAK;
}

static bool rolls(const struct cw_fellow *f, const enum cw_mode *mode, size_t i) {
    return kind_of(f, mode, i) == COAST && f->motion->speed_ms[i] >= LEAST_SPEED_MS;
}

/* The stretch from sample i on, of one kind; a break may be asked to be of one mode. */
static struct stretch stretch_at(const struct cw_fellow *f, const enum cw_mode *mode, size_t i,
                                 bool of_one_mode) {
    size_t n = f->motion->n;
    struct stretch s = {.kind = kind_of(f, mode, i), .first = i, .end = i + 1};
    while (s.end < n && kind_of(f, mode, s.end) == s.kind && !f->motion->gap_before[s.end] &&
           (s.kind != BREAK || !of_one_mode || mode[s.end] == mode[i]))
        s.end++;
    s.before = i > 0 && !f->motion->gap_before[i] && rolls(f, mode, i - 1);
    s.after = s.end < n && !f->motion->gap_before[s.end] && rolls(f, mode, s.end);
    return s;
}

/* Whether the head stays, over the samples [first, end), as near to what a coast would have as
 * heights may be off. */
static bool stays_near(const struct cw_fellow *f, const struct cw_relief *relief, size_t first,
                       size_t end) {
    for (size_t j = first; j < end; j++) {
        double way_m = f->motion->distance_m[j] - f->motion->distance_m[first];
        if (!(fabs(f->even_m[j] - f->even_m[first]) <= CW_OFF_SDS * cw_relief_off_m(relief, way_m)))
            return false;
    }
    return true;
}

/* Whether the brakes are on, by the speed alone. */
static bool slows(const struct cw_fellow *f, size_t before, size_t i) {
    const double *time_s = f->recording->samples.time_s, *speed_ms = f->motion->speed_ms;
    return speed_ms[before] - speed_ms[i] > SLOWING_MS2 * (time_s[i] - time_s[before]);
}

/* Whether it coasts, or the break's samples [*first, *end) may be the heights' doing. */
static bool may_coast(const struct cw_fellow *f, const enum cw_mode *mode, const struct stretch *s,
                      const struct cw_relief *relief, size_t *first, size_t *end) {
    const double *time_s = f->recording->samples.time_s;
    *first = s->first;
    *end = s->end;
    if (s->kind != BREAK) return s->kind == COAST;
    if (isnan(cw_relief_off_m(relief, 0.0)))
        return s->before && s->after && time_s[s->end - 1] - time_s[s->first] <= BRIDGE_S;
    /* What goes on to a gap, nobody knows. */
    bool open = s->first == 0 || f->motion->gap_before[s->first] || s->end >= f->motion->n ||
                f->motion->gap_before[s->end];
    /* A brake at the end of all coasting is one. */
    while (!s->after && *end > *first + 1 && mode[*end - 1] == CW_MODE_BRAKE &&
           slows(f, *end - 2, *end - 1))
        --*end;
    return !open && (s->before || s->after) && *first < *end && stays_near(f, relief, *first, *end);
}

void cw_fellows_tell(const struct cw_fellow *f, const enum cw_mode *mode,
                     const struct cw_relief *relief, bool *coasts) {
    const double *time_s = f->recording->samples.time_s;
    size_t n = f->motion->n;
    for (size_t i = 0; i < n;) {
        struct stretch s = stretch_at(f, mode, i, false);
        size_t first = s.first, end = s.end;
        bool take = may_coast(f, mode, &s, relief, &first, &end);
        for (size_t j = s.first; j < s.end; j++) coasts[j] = take && j >= first && j < end;
        i = s.end;
    }
    /* Ends that energy tells are known to some seconds. */
    for (size_t i = 0; i < n;) {
        size_t first = i, end = i + 1;
        while (end < n && coasts[end] == coasts[first] && !f->motion->gap_before[end]) end++;
        i = end;
        if (!coasts[first]) continue;
        bool open = first > 0 && !f->motion->gap_before[first];
        double from = open ? time_s[first] + KEEP_OFF_S : -INFINITY;
        open = end < n && !f->motion->gap_before[end];
        double to = open ? time_s[end - 1] - KEEP_OFF_S : INFINITY;
        for (size_t j = first; j < end; j++) coasts[j] = time_s[j] >= from && time_s[j] <= to;
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

/* Getting going, from a standstill. */
static bool sets_off(const struct cw_fellow *f, const struct stretch *s) {
    return s->first > 0 && !f->motion->gap_before[s->first] &&
           f->motion->speed_ms[s->first - 1] < LEAST_SPEED_MS;
}

/* Some seconds beside a coast that only heights speak against, if these may be so far off: the legs
 * are seen to be still, or it would be a brake that does not slow. */
static void mend_beside(const struct cw_fellow *f, const struct cw_relief *relief,
                        enum cw_mode *mode) {
    const double *time_s = f->recording->samples.time_s;
    for (size_t i = 0; i < f->motion->n;) {
        struct stretch s = stretch_at(f, mode, i, false);
        size_t first, end;
        i = s.end;
        if (s.kind != BREAK || !may_coast(f, mode, &s, relief, &first, &end)) continue;
        bool still = true, brake = s.before;
        /* Getting going is kept off a run that begins standing in any case. */
        bool going = sets_off(f, &s);
        for (size_t j = first; j < end; j++) {
            still = still && f->pedalling[j] == CW_PEDALLING_NO;
            brake = brake && mode[j] == CW_MODE_BRAKE;
        }
        double most_s = going ? PUSH_S : BESIDE_S;
        if (!(still || brake || going) || time_s[end - 1] - time_s[first] > most_s) continue;
        for (size_t j = first; j < end; j++) mode[j] = CW_MODE_COAST;
    }
}

/* The even head on the mean over some seconds from a sample on, and the variance of that. */
static double mean_even(const struct cw_fellow *f, const struct cw_balance *balance, size_t first,
                        double *variance_m2) {
    const double *time_s = f->recording->samples.time_s;
    double even = 0.0, density = 0.0, n = 0.0;
    for (size_t i = first; i < f->motion->n && time_s[i] - time_s[first] <= MEAN_S &&
                           (i == first || !f->motion->gap_before[i]);
         i++, n++) {
        even += f->even_m[i];
        density += balance->density_m2s[i];
    }
    *variance_m2 = density / n / MEAN_S;
    return even / n;
}

/* Getting going from a standstill that seems to last: the poorer the head is known, the longer the
 * soft pedalling that explains it as well as a short push. Where others coast, what comes after a
 * push is pedalled only if it has gained more than errors of the head can make. */
static void mend_pushes(const struct cw_fellow *f, const struct cw_balance *balance,
                        const bool *by_fellows, enum cw_mode *mode) {
    const double *time_s = f->recording->samples.time_s;
    for (size_t i = 0; i < f->motion->n;) {
        struct stretch s = stretch_at(f, mode, i, true);
        size_t first = i, told = 0;
        i = s.end;
        if (s.kind != BREAK || mode[first] != CW_MODE_PEDAL || !s.after || !sets_off(f, &s))
            continue;
        while (first < s.end && time_s[first] - time_s[s.first] < PUSH_S) first++;
        for (size_t j = first; j < s.end; j++) told += by_fellows[j] ? 1 : 0;
        if (2 * told <= s.end - first) continue;
        double of_push, of_coast, before = mean_even(f, balance, first, &of_push);
        double more = mean_even(f, balance, s.end, &of_coast) - before;
        if (!(fabs(more) <= MEAN_SDS * sqrt(of_push + of_coast))) continue;
        for (size_t j = first; j < s.end; j++) mode[j] = CW_MODE_COAST;
    }
}

void cw_fellows_mend(const struct cw_fellow *f, const struct cw_relief *relief,
                     const struct cw_balance *balance, const bool *by_fellows, enum cw_mode *mode) {
    const double *time_s = f->recording->samples.time_s;
    double weight_n = f->options->mass_kg * CW_STANDARD_GRAVITY_MS2;
    mend_pushes(f, balance, by_fellows, mode);
    for (size_t i = 0; i < f->motion->n;) {
        struct stretch s = stretch_at(f, mode, i, true);
        size_t first = s.first, end = s.end;
        i = s.end;
        if (s.kind != BREAK) continue;
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
    if (isfinite(cw_relief_off_m(relief, 0.0))) mend_beside(f, relief, mode);
}
