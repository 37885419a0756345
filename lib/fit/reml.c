#include "fit/reml.h"

#include <math.h>
#include <stdbool.h>
#include <string.h>

#include "stats/symmetric.h"

enum { MOST = CW_REML_MOST };

struct search {
    cw_reml_function function;
    void *state;
    size_t n;
    const struct cw_reml_prior *prior;
    size_t evaluations;
    enum cw_status status; /* CW_E_MEMORY: there was not enough, and what was found is nothing */
    bool told[MOST];       /* the function knows its slope by this parameter */
    double bend[MOST];
};

/* Parameters whose prior has no width are held. */
static bool held(const struct search *s, size_t i) {
    return s->prior[i].sd == 0;
}

static double prior_of(const struct search *s, const double *x) {
    double sum = 0;
    for (size_t i = 0; i < s->n; i++) {
        if (held(s, i)) continue;
        const struct cw_reml_prior *prior = &s->prior[i];
        double z = (x[i] - prior->mean) / prior->sd, none = x[i] / prior->none_sd;
        sum +=
            prior->none_sd > 0
                ? -2 * log(exp(-0.5 * z * z) + prior->sd / prior->none_sd * exp(-0.5 * none * none))
                : z * z;
    }
    return sum;
}

static double prior_slope(const struct cw_reml_prior *prior, double x) {
    double z = (x - prior->mean) / prior->sd, slope = 2 * z / prior->sd;
    if (!(prior->none_sd > 0)) return slope;
    double none = x / prior->none_sd, there = exp(-0.5 * z * z),
           gone = prior->sd / prior->none_sd * exp(-0.5 * none * none);
    return (there * slope + gone * 2 * none / prior->none_sd) / (there + gone);
}

/* The function with the priors; INFINITY where it has no value. */
static double evaluate(struct search *s, const double *x, double *slope) {
    double value;
    s->evaluations++;
    enum cw_status status = s->status ? s->status : s->function(x, s->state, &value, slope);
    if (status == CW_E_MEMORY) s->status = status;
    return status < 0 || !isfinite(value) ? INFINITY : value + prior_of(s, x);
}

static double objective(struct search *s, const double *x) {
    return evaluate(s, x, NULL);
}

/* The objective and its slope. What the function does not tell of that is had from differences over
 * a wide step, both ways but where a bound is near, for a likelihood may have a kink: a lag's has
 * one at 0. s->bend: how much the slope of such a parameter changes. */
static double slope_at(struct search *s, const double *x, double *slope) {
    static const double step = 0.1;
    double moved[MOST];
    for (size_t i = 0; i < s->n; i++) slope[i] = NAN;
    double value = evaluate(s, x, slope);
    if (!isfinite(value)) return value;
    memcpy(moved, x, s->n * sizeof *x);
    for (size_t i = 0; i < s->n; i++) {
        const struct cw_reml_prior *prior = &s->prior[i];
        s->told[i] = isfinite(slope[i]);
        if (held(s, i)) {
            slope[i] = 0;
        } else if (s->told[i]) {
            slope[i] += prior_slope(prior, x[i]);
        } else {
            double to[2] = {x[i] + step, x[i] - step}, there[2];
            if (to[0] > prior->high) to[0] = x[i] - 2 * step;
            if (to[1] < prior->low) to[1] = x[i] + 2 * step;
            for (int k = 0; k < 2; k++) {
                moved[i] = to[k];
                there[k] = (objective(s, moved) - value) / (to[k] - x[i]);
            }
            moved[i] = x[i];
            /* of the parabola through the three */
            double bend = (there[0] - there[1]) / (to[0] - to[1]);
            slope[i] = there[0] - bend * (to[0] - x[i]);
            if (!isfinite(slope[i])) slope[i] = bend = 0;
            s->bend[i] = 2 * bend;
        }
    }
    return value;
}

static double bounded(const struct search *s, size_t i, double x) {
    return fmin(s->prior[i].high, fmax(s->prior[i].low, x));
}

/* The power of 2 below x, which another processor's last bits hardly ever change. */
static double power_below(double x) {
    int exponent;
    frexp(x, &exponent);
    return ldexp(0.5, exponent);
}

/* The parts in which steps are made of slopes: a tenth of what a search ends at, and so far above
 * what another processor's last bits make of a slope (1e-5 at most). */
static void find_parts(const struct search *s, double inverse[MOST][MOST], double tolerance,
                       double *part) {
    for (size_t i = 0; i < s->n; i++)
        part[i] = held(s, i) ? 1 : power_below(0.1 * sqrt(2 * tolerance / inverse[i][i]));
}

/* Where a step ends: on a lattice so fine that the data cannot tell neighbours. With the above,
 * other processors' last bits do not grow from step to step. */
static double step_end(const struct search *s, size_t i, double x) {
    const double per_unit = 16384;
    return bounded(s, i, nearbyint(x * per_unit) / per_unit);
}

/* The slope that a step is made of. Where it pushes a parameter against its bound it is taken as 0:
 * that parameter is held for a step, or the others would be led astray by what it would gain. */
static void slope_of_step(const struct search *s, const double *x, const double *slope,
                          const double *part, double *g) {
    for (size_t i = 0; i < s->n; i++)
        g[i] = bounded(s, i, x[i] - slope[i]) == x[i] ? 0 : nearbyint(slope[i] / part[i]) * part[i];
}

/* First curvatures, one parameter at a time: of all, where no search before left any, else of those
 * whose slope the function does not tell. */
static void start(struct search *s, const double *x, double f, const double *slope, bool all,
                  double inverse[MOST][MOST]) {
    double moved[MOST];
    memcpy(moved, x, s->n * sizeof *x);
    if (all) memset(inverse, 0, MOST * sizeof *inverse);
    for (size_t i = 0; i < s->n; i++) {
        if (held(s, i) || (s->told[i] && !all)) continue;
        double curvature = s->bend[i];
        if (s->told[i]) {
            double step = x[i] + 0.2 > s->prior[i].high ? -0.2 : 0.2;
            moved[i] = x[i] + step;
            curvature = 2 * (objective(s, moved) - f - slope[i] * step) / (step * step);
            moved[i] = x[i];
        }
        double least = 2 / (s->prior[i].sd * s->prior[i].sd);
        for (size_t j = 0; j < s->n; j++) inverse[i][j] = inverse[j][i] = 0;
        if (isfinite(curvature) && curvature > least) {
            double part = power_below(curvature) / 64;
            least = nearbyint(curvature / part) * part;
        }
        inverse[i][i] = 1 / least;
    }
}

static void update(size_t n, double inverse[MOST][MOST], const double *step, const double *dg) {
    double hy[MOST], ys = 0, yhy = 0, ss = 0, yy = 0;
    for (size_t i = 0; i < n; i++) {
        hy[i] = 0;
        for (size_t j = 0; j < n; j++) hy[i] += inverse[i][j] * dg[j];
        ys += dg[i] * step[i];
        ss += step[i] * step[i];
        yy += dg[i] * dg[i];
    }
    for (size_t i = 0; i < n; i++) yhy += dg[i] * hy[i];
    if (!(ys > 1e-3 * sqrt(ss * yy))) return; /* no curvature along the step */
    for (size_t i = 0; i < n; i++)
        for (size_t j = 0; j < n; j++)
            inverse[i][j] +=
                (1 + yhy / ys) * step[i] * step[j] / ys - (hy[i] * step[j] + step[i] * hy[j]) / ys;
}

/* What a parameter's curvature is at least where a bound holds it. Against a bound the density
 * falls inwards as exp(-g d / 2), g being the slope: its standard deviation is 2 / g, and the
 * curvature of that, in units of the prior's own. */
static double against_bound(const struct search *s, size_t i, double x, double slope) {
    bool above = x >= s->prior[i].high, below = x <= s->prior[i].low;
    double g = above ? fmax(0, -slope) : below ? fmax(0, slope) : 0;
    return 0.25 * g * g * s->prior[i].sd * s->prior[i].sd;
}

/* Rows of the curvature from differences of slopes: of parameter index[a], whose own slope the
 * function tells. What it does not tell comes from differences, and a row of it is not asked for.
 */
static void row_by_slopes(struct search *s, const double *x, const double *slope,
                          const size_t *index, size_t m, size_t a, double *h) {
    static const double within = 0.075; /* a little off the bound */
    size_t i = index[a];
    double moved[MOST], there[MOST], step = x[i] + 0.05 > s->prior[i].high ? -0.05 : 0.05;
    memcpy(moved, x, s->n * sizeof *x);
    moved[i] = x[i] + step;
    bool told = isfinite(slope_at(s, moved, there));
    for (size_t b = 0; b < m; b++) {
        double bend = 0.5 * (there[index[b]] - slope[index[b]]) / step;
        double here = told ? bend * s->prior[i].sd * s->prior[index[b]].sd : a == b ? 1 : 0;
        h[a * m + b] = h[b * m + a] =
            b < a && s->told[index[b]] ? 0.5 * (h[b * m + a] + here) : here;
    }
    if (!told) return;
    double inwards = x[i] >= s->prior[i].high ? -within : within;
    double inside = slope[i] + inwards * (there[i] - slope[i]) / step;
    h[a * m + a] = fmax(h[a * m + a], against_bound(s, i, x[i], inside));
}

/* The same of one that it does not tell, by second differences: with itself, and with those of its
 * kind before it. They are wide, for a likelihood may have a kink (a lag's has one at 0). */
static void row_by_values(struct search *s, const double *x, double f, const size_t *index,
                          size_t m, size_t a, double *up, double *h) {
    const double step = 0.15;
    size_t i = index[a];
    double moved[MOST], unit = s->prior[i].sd / step;
    memcpy(moved, x, s->n * sizeof *x);
    moved[i] = x[i] + step;
    up[a] = objective(s, moved);
    for (size_t b = 0; b < a; b++) {
        size_t j = index[b];
        if (s->told[j]) continue;
        moved[j] = x[j] + step;
        double cross =
            0.5 * (objective(s, moved) - up[a] - up[b] + f) * unit * s->prior[j].sd / step;
        moved[j] = x[j];
        h[a * m + b] = h[b * m + a] = isfinite(cross) ? cross : 0;
    }
    moved[i] = x[i] - step;
    double down = objective(s, moved), straight = 0.5 * (up[a] - 2 * f + down) * unit * unit;
    double inside = (x[i] >= s->prior[i].high ? f - down : up[a] - f) / step;
    double against = against_bound(s, i, x[i], inside);
    h[a * m + a] = isfinite(straight) ? fmax(straight, isfinite(against) ? against : 0) : 1;
}

/* Differences of slopes hold between three digits and five (fewest: of a very even road), and the
 * rest would be another processor's last bits, which intervals would carry on. */
static void round_off(size_t m, double *h) {
    const double parts = 256;
    double unit[MOST];
    for (size_t a = 0; a < m; a++) {
        int exponent;
        frexp(h[a * m + a], &exponent);
        unit[a] = ldexp(1, exponent / 2);
    }
    for (size_t a = 0; a < m; a++)
        for (size_t b = 0; b < m; b++) {
            double part = unit[a] * unit[b] / parts;
            h[a * m + b] = nearbyint(h[a * m + b] / part) * part;
        }
}

/* Curvature of -2 log likelihood and priors at x over the m parameters index[], in units of the
 * priors' own: 1 on the diagonal is a prior alone. */
static void curvature(struct search *s, const double *x, double f, const double *slope,
                      const size_t *index, size_t m, double *h) {
    double up[MOST];
    for (size_t a = 0; a < m; a++)
        if (!s->told[index[a]]) row_by_values(s, x, f, index, m, a, up, h);
    for (size_t a = 0; a < m; a++)
        if (s->told[index[a]]) row_by_slopes(s, x, slope, index, m, a, h);
    round_off(m, h);
}

/* The parameters' covariance: the inverse of the curvature. Where a bound holds the search off the
 * peak, the likelihood may curve the wrong way, and an inverse would claim less than the priors
 * know, or nonsense; so what curves less than the priors do is taken to say nothing. */
static enum cw_status covariance(struct search *s, const double *x, double f, const double *slope,
                                 double out[MOST][MOST], struct cw_error *error) {
    size_t index[MOST], m = 0;
    double h[MOST * MOST], vectors[MOST * MOST], values[MOST];
    for (size_t i = 0; i < s->n; i++)
        if (!held(s, i)) index[m++] = i;
    memset(out, 0, MOST * sizeof *out);
    if (!m) return CW_OK;
    curvature(s, x, f, slope, index, m, h);
    enum cw_status status = cw_symmetric_axes(m, h, values, vectors, error);
    if (status < 0) return status;
    for (size_t a = 0; a < m; a++)
        for (size_t b = 0; b < m; b++) {
            double sum = 0;
            for (size_t k = 0; k < m; k++)
                sum += vectors[a * m + k] * vectors[b * m + k] / fmax(1, values[k]);
            out[index[a]][index[b]] = sum * s->prior[index[a]].sd * s->prior[index[b]].sd;
        }
    return CW_OK;
}

enum cw_status cw_reml_minimise(cw_reml_function function, void *state, size_t n,
                                const struct cw_reml_prior *prior, double tolerance,
                                int with_covariance, struct cw_reml *reml, struct cw_error *error) {
    struct search s = {.function = function, .state = state, .n = n, .prior = prior};
    double *x = reml->parameter, slope[MOST], g[MOST];
    if (n > MOST) return cw_error_set(error, CW_E_ARGUMENT, NULL, 0, "too many noise parameters");
    for (size_t i = 0; i < n; i++) x[i] = bounded(&s, i, x[i]);
    double f = slope_at(&s, x, slope);
    if (s.status) return cw_error_memory(error);
    if (!isfinite(f))
        return cw_error_set(error, CW_E_NUMERIC, NULL, 0,
                            "the likelihood of the noise has no value at its start");
    start(&s, x, f, slope, !reml->n, reml->inverse);
    for (int iteration = 0; iteration < 40; iteration++) {
        double direction[MOST], part[MOST], promise = 0, longest = 0;
        find_parts(&s, reml->inverse, tolerance, part);
        slope_of_step(&s, x, slope, part, g);
        for (size_t i = 0; i < n; i++) {
            direction[i] = 0;
            for (size_t j = 0; j < n; j++) direction[i] -= reml->inverse[i][j] * g[j];
            if (bounded(&s, i, x[i] + direction[i]) == x[i]) direction[i] = 0; /* at its bound */
            promise -= 0.5 * g[i] * direction[i];
            longest = fmax(longest, fabs(direction[i]));
        }
        if (!(promise > tolerance)) break;
        double scale = longest > 1.5 ? 1.5 / longest : 1, there = INFINITY, next[MOST], then[MOST];
        for (int halving = 0; halving < 8; halving++, scale *= 0.4) {
            for (size_t i = 0; i < n; i++) next[i] = step_end(&s, i, x[i] + scale * direction[i]);
            there = slope_at(&s, next, then);
            if (there < f - 1e-4 * scale * promise) break;
        }
        if (!(there < f)) break;
        double step[MOST], dg[MOST];
        f = there;
        slope_of_step(&s, next, then, part, dg);
        for (size_t i = 0; i < n; i++) {
            step[i] = next[i] - x[i];
            dg[i] -= g[i];
            x[i] = next[i];
            slope[i] = then[i];
        }
        update(n, reml->inverse, step, dg);
    }
    reml->n = n;
    reml->minimum = f;
    enum cw_status status = CW_OK;
    if (with_covariance) status = covariance(&s, x, f, slope, reml->covariance, error);
    reml->evaluations = s.evaluations;
    return s.status ? cw_error_memory(error) : status;
}
