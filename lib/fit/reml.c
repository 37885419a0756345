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
};

/* Parameters whose prior has no width are held. */
static bool held(const struct search *s, size_t i) {
    return s->prior[i].sd == 0;
}

static double objective(struct search *s, const double *x) {
    double value;
    s->evaluations++;
    if (s->function(x, s->state, &value) < 0 || !isfinite(value)) return INFINITY;
    for (size_t i = 0; i < s->n; i++) {
        if (held(s, i)) continue;
        double z = (x[i] - s->prior[i].mean) / s->prior[i].sd;
        value += z * z;
    }
    return value;
}

static double bounded(const struct search *s, size_t i, double x) {
    return fmin(s->prior[i].high, fmax(s->prior[i].low, x));
}

/* Gradient by forward (or, at the upper bound, backward) differences. Where it pushes a parameter
 * against its bound it is taken as 0: that parameter is held for a step, or the others would be led
 * astray by what it would gain. */
static void gradient(struct search *s, const double *x, double f, double *g) {
    const double step = 0.02;
    double moved[MOST];
    memcpy(moved, x, s->n * sizeof *x);
    for (size_t i = 0; i < s->n; i++) {
        g[i] = 0;
        if (held(s, i)) continue;
        double d = x[i] + step > s->prior[i].high ? -step : step;
        moved[i] = x[i] + d;
        double there = objective(s, moved);
        g[i] = isfinite(there) ? (there - f) / d : 0;
        if (bounded(s, i, x[i] - g[i]) == x[i]) g[i] = 0;
        moved[i] = x[i];
    }
}

/* First curvatures, one parameter at a time, with the gradient as a by-product. */
static void start(struct search *s, const double *x, double f, double *g,
                  double inverse[MOST][MOST]) {
    const double step = 0.2;
    double moved[MOST];
    memcpy(moved, x, s->n * sizeof *x);
    memset(inverse, 0, MOST * sizeof *inverse);
    for (size_t i = 0; i < s->n; i++) {
        g[i] = 0;
        if (held(s, i)) continue;
        moved[i] = x[i] + step;
        double up = objective(s, moved);
        moved[i] = x[i] - step;
        double down = objective(s, moved);
        moved[i] = x[i];
        if (isfinite(up) && isfinite(down)) g[i] = (up - down) / (2 * step);
        if (bounded(s, i, x[i] - g[i]) == x[i]) g[i] = 0;
        double curvature = (up - 2 * f + down) / (step * step);
        double least = 2 / (s->prior[i].sd * s->prior[i].sd);
        inverse[i][i] = 1 / fmax(isfinite(curvature) ? curvature : 0, least);
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

/* Curvature of -2 log likelihood and priors at x over the m parameters index[], by second
 * differences, in units of the priors' own: 1 on the diagonal is a prior alone. Against a bound the
 * density falls inwards as exp(-g d / 2), g being the slope: its standard deviation is 2 / g, and
 * the curvature of that counts where it is the greater. */
static void curvature(struct search *s, const double *x, double f, const size_t *index, size_t m,
                      double *h) {
    const double step = 0.15;
    double moved[MOST], up[MOST], down[MOST];
    memcpy(moved, x, s->n * sizeof *x);
    for (size_t a = 0; a < m; a++) {
        size_t i = index[a];
        double unit = s->prior[i].sd / step;
        moved[i] = x[i] + step;
        up[a] = objective(s, moved);
        moved[i] = x[i] - step;
        down[a] = objective(s, moved);
        moved[i] = x[i];
        double straight = 0.5 * (up[a] - 2 * f + down[a]) * unit * unit;
        bool above = x[i] >= s->prior[i].high, below = x[i] <= s->prior[i].low;
        double slope = above ? down[a] - f : below ? up[a] - f : 0;
        double against = 0.25 * fmax(0, slope) * fmax(0, slope) * unit * unit;
        h[a * m + a] = isfinite(straight) ? fmax(straight, isfinite(against) ? against : 0) : 1;
        for (size_t b = 0; b < a; b++) {
            size_t j = index[b];
            moved[i] = x[i] + step;
            moved[j] = x[j] + step;
            double both = objective(s, moved);
            moved[i] = x[i];
            moved[j] = x[j];
            double cross = 0.5 * (both - up[a] - up[b] + f) * unit * s->prior[j].sd / step;
            h[a * m + b] = h[b * m + a] = isfinite(cross) ? cross : 0;
        }
    }
}

/* The parameters' covariance: the inverse of the curvature. Where a bound holds the search off the
 * peak, the likelihood may curve the wrong way, and an inverse would claim less than the priors
 * know, or nonsense; so what curves less than the priors do is taken to say nothing. */
static enum cw_status covariance(struct search *s, const double *x, double f,
                                 double out[MOST][MOST], struct cw_error *error) {
    size_t index[MOST], m = 0;
    double h[MOST * MOST], vectors[MOST * MOST], values[MOST];
    for (size_t i = 0; i < s->n; i++)
        if (!held(s, i)) index[m++] = i;
    memset(out, 0, MOST * sizeof *out);
    if (!m) return CW_OK;
    curvature(s, x, f, index, m, h);
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
    struct search s = {function, state, n, prior, 0};
    double *x = reml->parameter, g[MOST], inverse[MOST][MOST];
    if (n > MOST) return cw_error_set(error, CW_E_ARGUMENT, NULL, 0, "too many noise parameters");
    for (size_t i = 0; i < n; i++) x[i] = bounded(&s, i, x[i]);
    double f = objective(&s, x);
    if (!isfinite(f))
        return cw_error_set(error, CW_E_NUMERIC, NULL, 0,
                            "the likelihood of the noise has no value at its start");
    start(&s, x, f, g, inverse);
    for (int iteration = 0; iteration < 40; iteration++) {
        double direction[MOST], promise = 0, longest = 0;
        for (size_t i = 0; i < n; i++) {
            direction[i] = 0;
            for (size_t j = 0; j < n; j++) direction[i] -= inverse[i][j] * g[j];
            if (bounded(&s, i, x[i] + direction[i]) == x[i]) direction[i] = 0; /* at its bound */
            promise -= 0.5 * g[i] * direction[i];
            longest = fmax(longest, fabs(direction[i]));
        }
        if (!(promise > tolerance)) break;
        double scale = longest > 1.5 ? 1.5 / longest : 1, there = INFINITY, next[MOST];
        for (int halving = 0; halving < 8; halving++, scale *= 0.4) {
            for (size_t i = 0; i < n; i++) next[i] = bounded(&s, i, x[i] + scale * direction[i]);
            there = objective(&s, next);
            if (there < f - 1e-4 * scale * promise) break;
        }
        if (!(there < f)) break;
        double step[MOST], before[MOST];
        for (size_t i = 0; i < n; i++) {
            step[i] = next[i] - x[i];
            before[i] = g[i];
            x[i] = next[i];
        }
        f = there;
        gradient(&s, x, f, g);
        double dg[MOST];
        for (size_t i = 0; i < n; i++) dg[i] = g[i] - before[i];
        update(n, inverse, step, dg);
    }
    reml->n = n;
    reml->minimum = f;
    enum cw_status status = CW_OK;
    if (with_covariance) status = covariance(&s, x, f, reml->covariance, error);
    reml->evaluations = s.evaluations;
    return status;
}
