#include "stats/components.h"

#include <math.h>
#include <stdbool.h>
#include <stdlib.h>
#include <string.h>

#include "stats/lean.h"
#include "stats/symmetric.h"

enum {
    SCATTER_POINTS_MOST = 64,
    STATED_POINTS = 7,
    FACTOR_POINTS_MOST = 17,
    GUESSED_POINTS = 9,
    POINTS_MOST = SCATTER_POINTS_MOST
};
/* Of the scatters' prior. */
static const double scatter_df = 0.05;
static const double guessed_df = 4;

struct grid {
    size_t n;
    double theta[POINTS_MOST], log_prior[POINTS_MOST]; /* the prior with the point's share */
};

/* Puts L of a = L L' into a; *log_det: of a. */
static bool factor(double *a, size_t n, double *log_det) {
    *log_det = 0;
    if (!cw_cholesky_factor(n, a)) return false;
    for (size_t i = 0; i < n; i++) *log_det += 2 * log(a[i * n + i]);
    return true;
}

/* ---- the grid ---- */

/* Half of the way to either neighbour, as the trapezoidal rule weighs a point. */
static double share(const double *x, size_t n, size_t i) {
    double left = i > 0 ? x[i] - x[i - 1] : 0, right = i + 1 < n ? x[i + 1] - x[i] : 0;
    return 0.5 * (left + right);
}

/* A scatter's: 0, then such that it and `base` together, as squares, grow by one factor from point
 * to point. df values leave the logarithm of a scatter with an sd of 1 / sqrt(2 df): that is how
 * fine the points are, up to a tenth, and how far beyond what the values scatter by they go; of one
 * degree of freedom as far as twelve times that. Of several scatters the values tell the sum: with
 * one of them so fine, that is, and the others need not be. calm: what is known to scatter besides.
 */
static void scatter_grid(double usual, double spread, double calm, double df, bool fine,
                         struct grid *grid) {
    double sd = 1 / sqrt(2 * fmax(df, 1)), base = fmin(usual, fmax(calm, 0.3 * usual)),
           high = fmax(2 * usual, fmin(12, exp(5.2 * sd)) * fmax(spread, calm)),
           step = fmax(fine ? fmin(fmax(1.2 * sd, 0.12), 0.5) : 0.5,
                       0.5 * log1p(high / base * high / base) / (SCATTER_POINTS_MOST - 1));
    grid->n = 0;
    do grid->theta[grid->n] = base * sqrt(expm1(2 * step * (double)grid->n));
    while (grid->theta[grid->n++] < high && grid->n < SCATTER_POINTS_MOST);
    for (size_t i = 0; i < grid->n; i++) grid->log_prior[i] = log(share(grid->theta, grid->n, i));
}

/* The joint prior of the scatters at a point, but for the points' shares. */
static double scatter_prior(const struct cw_components_data *data, const double *theta) {
    double squares = 0, n = 0;
    for (size_t k = 0; k < data->n_components; k++) {
        if (data->component[k].prior != CW_COMPONENT_SCATTER) continue;
        squares += pow(theta[k] / data->component[k].parameter, 2);
        n += 1;
    }
    return n > 0 ? -0.5 * (scatter_df + n) * log1p(squares) : 0;
}

static void stated_grid(double df, struct grid *grid) {
    /* Of theta^2, whose logarithm has an sd of about sqrt(2 / df): from -2.2 to 3.8 of those, for
     * it leans that way. */
    double step = sqrt(2 / fmax(df, 2)), u[STATED_POINTS];
    grid->n = STATED_POINTS;
    for (size_t i = 0; i < grid->n; i++) u[i] = ((double)i - 2.2) * step;
    for (size_t i = 0; i < grid->n; i++) {
        double square = exp(u[i]);
        grid->theta[i] = sqrt(square);
        grid->log_prior[i] = log(share(u, grid->n, i)) - 0.5 * df * (u[i] + 1 / square);
    }
}

/* Makes a prior's points add up to 1, so that a model with one more theta can be held against one
 * without it. */
static void normalise(struct grid *grid) {
    double sum = 0;
    for (size_t i = 0; i < grid->n; i++) sum += exp(grid->log_prior[i]);
    for (size_t i = 0; i < grid->n; i++) grid->log_prior[i] -= log(sum);
}

/* Of log theta: from -2.4 to 2.4 sd, as fine as it will be known. */
static void factor_grid(double sd, double known_to, struct grid *grid) {
    double u[FACTOR_POINTS_MOST], step = fmin(fmax(0.9 * known_to / sd, 0.3), 1.2);
    size_t half = (size_t)ceil(2.4 / step - 1e-9);
    grid->n = 2 * half + 1;
    for (size_t i = 0; i < grid->n; i++) u[i] = step * ((double)i - (double)half);
    for (size_t i = 0; i < grid->n; i++) {
        grid->theta[i] = exp(sd * u[i]);
        grid->log_prior[i] = log(share(u, grid->n, i)) - 0.5 * u[i] * u[i];
    }
    normalise(grid);
}

/* Of log theta: from -3 to 5 scales, for too small is what is stated oftener. */
static void guessed_grid(double scale, struct grid *grid) {
    double u[GUESSED_POINTS];
    grid->n = GUESSED_POINTS;
    for (size_t i = 0; i < grid->n; i++) u[i] = (double)i - 3;
    for (size_t i = 0; i < grid->n; i++) {
        grid->theta[i] = exp(scale * u[i]);
        grid->log_prior[i] =
            log(share(u, grid->n, i)) - 0.5 * (guessed_df + 1) * log1p(u[i] * u[i] / guessed_df);
    }
    normalise(grid);
}

/* Root mean square of what ordinary least squares leaves, as a measure of the data's scatter. */
static double spread_of(const struct cw_components_data *d, double *scratch) {
    size_t n = d->n, p = d->p;
    double *a = scratch, *b = scratch + p * p, log_det, sum = 0;
    memset(a, 0, p * p * sizeof *a);
    memset(b, 0, p * sizeof *b);
    for (size_t i = 0; i < n; i++)
        for (size_t k = 0; k < p; k++) {
            b[k] += d->design[i * p + k] * d->value[i];
            for (size_t l = 0; l < p; l++)
                a[k * p + l] += d->design[i * p + k] * d->design[i * p + l];
        }
    if (n <= p || !factor(a, p, &log_det)) return 0;
    cw_cholesky_whiten(p, a, 1, b);
    for (size_t i = 0; i < n; i++) sum += d->value[i] * d->value[i];
    for (size_t k = 0; k < p; k++) sum -= b[k] * b[k];
    return sqrt(fmax(sum, 0) / (double)(n - p));
}

/* By how much values scatter if nothing does but what is known and what was stated. */
static double calm_of(const struct cw_components_data *d) {
    double sum = 0;
    for (size_t i = 0; i < d->n; i++) {
        if (d->fixed) sum += d->fixed[i * d->n + i];
        for (size_t k = 0; k < d->n_components; k++)
            if (d->component[k].prior == CW_COMPONENT_STATED)
                sum += d->component[k].matrix[i * d->n + i];
    }
    return sqrt(sum / (double)d->n);
}

/* The largest of M's diagonal: what a unit of theta does to a value. */
static double size_of(const double *matrix, size_t n) {
    double most = 0;
    for (size_t i = 0; i < n; i++) most = fmax(most, matrix[i * n + i]);
    return sqrt(most);
}

/* ---- a point ---- */

struct work {
    double *v;            /* n x n */
    double *value;        /* n */
    double *columns;      /* n x (p + 1): the design and the values, whitened */
    double *a;            /* p x p */
    double *inverse;      /* p x p */
    double *products;     /* p + 1 square */
    struct cw_lean *lean; /* NULL: the covariance is factored whole */
};

bool cw_components_at(const struct cw_components_data *d, const double *theta, double *covariance,
                      double *value, double *log_likelihood) {
    size_t n = d->n;
    for (size_t i = 0; i < n * n; i++) covariance[i] = d->fixed ? d->fixed[i] : 0;
    for (size_t k = 0; k < d->n_components; k++) {
        double square = theta[k] * theta[k];
        if (square == 0 || !d->component[k].matrix) continue;
        for (size_t i = 0; i < n * n; i++) covariance[i] += square * d->component[k].matrix[i];
    }
    memcpy(value, d->value, n * sizeof *value);
    *log_likelihood = 0;
    return !d->beside.at ||
           d->beside.at(d->beside.context, theta, covariance, value, log_likelihood);
}

/* X'V^-1 X into w->a, X'V^-1 y, y'V^-1 y and log det V, by the whole of V. False where it has no
 * factor. */
static bool multiply_whole(const struct cw_components_data *d, const double *theta, struct work *w,
                           double *with_value, double *quadratic, double *log_det, double *beside) {
    size_t n = d->n, p = d->p, m = p + 1;
    if (!cw_components_at(d, theta, w->v, w->value, beside) || !factor(w->v, n, log_det))
        return false;
    for (size_t i = 0; i < n; i++) {
        memcpy(w->columns + i * m, d->design + i * p, p * sizeof *w->columns);
        w->columns[i * m + p] = w->value[i];
    }
    cw_cholesky_whiten(n, w->v, m, w->columns);
    memset(w->a, 0, p * p * sizeof *w->a);
    memset(with_value, 0, p * sizeof *with_value);
    *quadratic = 0;
    for (size_t i = 0; i < n; i++) {
        const double *row = w->columns + i * m;
        for (size_t k = 0; k < p; k++) {
            with_value[k] += row[k] * row[p];
            for (size_t l = 0; l < p; l++) w->a[k * p + l] += row[k] * row[l];
        }
        *quadratic += row[p] * row[p];
    }
    return true;
}

/* The same, of a lean covariance. */
static bool multiply_lean(const struct cw_components_data *d, const double *theta, struct work *w,
                          double *with_value, double *quadratic, double *log_det) {
    size_t p = d->p, m = p + 1;
    if (!cw_lean_products(w->lean, theta, w->products, log_det)) return false;
    for (size_t k = 0; k < p; k++) {
        with_value[k] = w->products[k * m + p];
        memcpy(w->a + k * p, w->products + k * m, p * sizeof *w->a);
    }
    *quadratic = w->products[p * m + p];
    return true;
}

/* Least squares under the covariance of one point: coefficients, their covariance, and the
 * logarithm of the restricted likelihood. */
static enum cw_status solve_point(const struct cw_components_data *d, const double *theta,
                                  struct work *w, double *coefficient, double *covariance,
                                  double *log_likelihood) {
    size_t p = d->p;
    double log_det, log_det_a, quadratic, beside = 0;
    if (!(w->lean && multiply_lean(d, theta, w, coefficient, &quadratic, &log_det)) &&
        !multiply_whole(d, theta, w, coefficient, &quadratic, &log_det, &beside))
        return CW_E_NUMERIC;
    if (!factor(w->a, p, &log_det_a)) return CW_NOT_IDENTIFIABLE;
    /* b = A^-1 X'V^-1 y by its factor: u = L^-1 c, b = L'^-1 u */
    cw_cholesky_whiten(p, w->a, 1, coefficient);
    for (size_t k = 0; k < p; k++) quadratic -= coefficient[k] * coefficient[k];
    memset(w->inverse, 0, p * p * sizeof *w->inverse);
    for (size_t k = 0; k < p; k++) w->inverse[k * p + k] = 1;
    cw_cholesky_whiten(p, w->a, p, w->inverse); /* L^-1 */
    for (size_t k = 0; k < p; k++)
        for (size_t l = 0; l < p; l++) {
            double sum = 0;
            for (size_t i = 0; i < p; i++) sum += w->inverse[i * p + k] * w->inverse[i * p + l];
            covariance[k * p + l] = sum;
        }
    for (size_t k = p; k-- > 0;) {
        for (size_t i = k + 1; i < p; i++) coefficient[k] -= w->a[i * p + k] * coefficient[i];
        coefficient[k] /= w->a[k * p + k];
    }
    *log_likelihood = beside - 0.5 * (log_det + log_det_a + quadratic);
    return isfinite(*log_likelihood) ? CW_OK : CW_E_NUMERIC;
}

/* Of component k: quantiles by the points' weights, straight between the grid's values. */
static void summarise(struct cw_components *fit, size_t k, const struct grid *grid) {
    double mass[POINTS_MOST] = {0}, square = 0,
           *at[3] = {&fit->of[k].low, &fit->of[k].median, &fit->of[k].high};
    static const double level[3] = {0.025, 0.5, 0.975};
    for (size_t i = 0; i < fit->n_points; i++) {
        double theta = fit->theta[i * fit->n_components + k];
        size_t g = 0;
        while (g + 1 < grid->n && grid->theta[g] < theta) g++;
        mass[g] += fit->weight[i];
        square += fit->weight[i] * theta * theta;
    }
    fit->of[k].mean_square = square;
    for (int q = 0; q < 3; q++) {
        double sum = 0;
        size_t g = 0;
        while (g + 1 < grid->n && sum + mass[g] < level[q]) sum += mass[g++];
        /* A point stands for half the way to its neighbours. */
        double from = g > 0 ? 0.5 * (grid->theta[g - 1] + grid->theta[g]) : grid->theta[0];
        double to = g + 1 < grid->n ? 0.5 * (grid->theta[g] + grid->theta[g + 1]) : grid->theta[g];
        double part = mass[g] > 0 ? fmin(fmax((level[q] - sum) / mass[g], 0), 1) : 0;
        *at[q] = from + part * (to - from);
    }
}

/* Points that nothing will be seen of only cost time. */
static void keep_likely(struct cw_components *fit) {
    size_t p = fit->p, nc = fit->n_components, kept = 0;
    double total = 0;
    for (size_t i = 0; i < fit->n_points; i++) {
        if (fit->weight[i] < 1e-7) continue;
        total += fit->weight[i];
        fit->weight[kept] = fit->weight[i];
        memmove(fit->theta + kept * nc, fit->theta + i * nc, nc * sizeof *fit->theta);
        memmove(fit->coefficient + kept * p, fit->coefficient + i * p,
                p * sizeof *fit->coefficient);
        memmove(fit->covariance + kept * p * p, fit->covariance + i * p * p,
                p * p * sizeof *fit->covariance);
        kept++;
    }
    fit->n_points = kept;
    for (size_t i = 0; i < kept; i++) fit->weight[i] /= total;
}

/* ---- which points ---- */

/* What lies so far below the best point, in logarithms of the weight, adds nothing to the mixture;
 * of many thetas there is no looking at as much. */
static double least_likely(size_t n_thetas) {
    return n_thetas < 4 ? 16 : n_thetas < 6 ? 10 : 6;
}

/* The grid's points as far as they were looked at, each in a slot of its own. */
struct search {
    const struct cw_components_data *data;
    const struct grid *grid;
    struct work *work;
    struct cw_components *fit; /* with room for as many points as slots */
    size_t room;
    size_t *at;         /* of a slot: the place in the whole grid */
    double *log_weight; /* of a slot; -INFINITY: no covariance there */
    size_t n_buckets;   /* a power of two */
    size_t *bucket;     /* slot + 1; 0: empty */
    double most;        /* the best so far */
    size_t best;        /* its slot */
    struct cw_error *error;
};

static size_t *bucket_of(const struct search *s, size_t at) {
    size_t i = at * (size_t)0x9e3779b97f4a7c15u & (s->n_buckets - 1);
    while (s->bucket[i] && s->at[s->bucket[i] - 1] != at) i = (i + 1) & (s->n_buckets - 1);
    return &s->bucket[i];
}

/* An array grown to more slots; false without memory. */
static bool grow(void *array, size_t bytes) {
    void **of = array, *more = realloc(*of, bytes ? bytes : 1);
    if (more) *of = more;
    return more != NULL;
}

static enum cw_status make_room(struct search *s) {
    struct cw_components *fit = s->fit;
    if (fit->n_points < s->room) return CW_OK;
    size_t p = fit->p, nc = fit->n_components, room = s->room ? 2 * s->room : 256;
    if (!grow(&fit->weight, room * sizeof *fit->weight) ||
        !grow(&fit->theta, room * nc * sizeof *fit->theta) ||
        !grow(&fit->coefficient, room * p * sizeof *fit->coefficient) ||
        !grow(&fit->covariance, room * p * p * sizeof *fit->covariance) ||
        !grow(&s->at, room * sizeof *s->at) || !grow(&s->log_weight, room * sizeof *s->log_weight))
        return cw_error_memory(s->error);
    size_t *bucket = calloc(4 * room, sizeof *bucket);
    if (!bucket) return cw_error_memory(s->error);
    free(s->bucket);
    s->bucket = bucket;
    s->n_buckets = 4 * room;
    s->room = room;
    for (size_t slot = 0; slot < fit->n_points; slot++) *bucket_of(s, s->at[slot]) = slot + 1;
    return CW_OK;
}

/* Works out a point, unless that was done. */
static enum cw_status look_at(struct search *s, size_t at) {
    const struct cw_components_data *data = s->data;
    struct cw_components *fit = s->fit;
    size_t p = data->p, nc = data->n_components;
    enum cw_status status = make_room(s);
    if (status < 0) return status;
    size_t *bucket = bucket_of(s, at), slot = fit->n_points;
    if (*bucket) return CW_OK;
    double *theta = fit->theta + slot * nc, log_prior = 0, log_likelihood = 0;
    for (size_t k = 0, rest = at; k < nc; k++) {
        size_t g = rest % s->grid[k].n;
        rest /= s->grid[k].n;
        theta[k] = s->grid[k].theta[g];
        log_prior += s->grid[k].log_prior[g];
    }
    log_prior += scatter_prior(data, theta);
    enum cw_status solved = solve_point(data, theta, s->work, fit->coefficient + slot * p,
                                        fit->covariance + slot * p * p, &log_likelihood);
    if (solved == CW_NOT_IDENTIFIABLE) return solved;
    /* no covariance there: nothing stands behind a scatter of 0 */
    s->at[slot] = at;
    s->log_weight[slot] = solved < 0 ? -INFINITY : log_prior + log_likelihood;
    fit->n_points++;
    *bucket = slot + 1;
    if (s->log_weight[slot] > s->most) {
        s->most = s->log_weight[slot];
        s->best = slot;
    }
    return CW_OK;
}

/* From the middle of the grid to the best point, along one theta after the other. */
static enum cw_status climb(struct search *s) {
    size_t best = 0, before;
    for (size_t k = 0, stride = 1; k < s->data->n_components; k++) {
        best += stride * (s->grid[k].n / 2);
        stride *= s->grid[k].n;
    }
    do {
        before = best;
        for (size_t k = 0, stride = 1; k < s->data->n_components; k++) {
            size_t foot = best - best / stride % s->grid[k].n * stride;
            for (size_t g = 0; g < s->grid[k].n; g++) {
                enum cw_status status = look_at(s, foot + g * stride);
                if (status != CW_OK) return status;
            }
            if (isfinite(s->most)) best = s->at[s->best];
            stride *= s->grid[k].n;
        }
    } while (best != before);
    return s->data->n_components ? CW_OK : look_at(s, 0);
}

/* Looks at the point that is one step of component k, and one of component l where that is another,
 * from a point. */
static enum cw_status look_beside(struct search *s, size_t at, size_t k, int step, size_t l,
                                  int other) {
    size_t to = at;
    for (size_t c = 0, stride = 1; c < s->data->n_components; c++) {
        size_t g = at / stride % s->grid[c].n;
        int move = c == k ? step : c == l ? other : 0;
        if ((g == 0 && move < 0) || (g + 1 == s->grid[c].n && move > 0)) return CW_OK;
        if (move > 0) to += stride;
        if (move < 0) to -= stride;
        stride *= s->grid[c].n;
    }
    return look_at(s, to);
}

/* Works out the points that may matter, from the best one outwards: along each theta, and across
 * each two unless they are many. With many values few of the grid's points do; with three, nearly
 * all. */
static enum cw_status look_around(struct search *s) {
    enum cw_status status = climb(s);
    for (size_t slot = 0; slot < s->fit->n_points && status == CW_OK; slot++) {
        size_t at = s->at[slot], nc = s->data->n_components;
        bool many = nc > 3;
        if (!(s->log_weight[slot] > s->most - least_likely(nc))) continue;
        for (size_t k = 0; k < nc && status == CW_OK; k++)
            for (int step = -1; step <= 1 && status == CW_OK; step += 2) {
                status = look_beside(s, at, k, step, k, step);
                for (size_t l = k + 1; l < nc && !many && status == CW_OK; l++)
                    for (int other = -1; other <= 1 && status == CW_OK; other += 2)
                        status = look_beside(s, at, k, step, l, other);
            }
    }
    if (status == CW_OK && !isfinite(s->most))
        return cw_error_set(s->error, CW_E_NUMERIC, NULL, 0,
                            "the runs' scatter cannot be solved for");
    return status;
}

/* Free with free_work. */
static enum cw_status make_work(const struct cw_components_data *data, struct work *work,
                                struct cw_error *error) {
    size_t n = data->n, p = data->p;
    if (!p || n < p || data->n_components > CW_COMPONENTS_MOST)
        return cw_error_set(error, CW_E_ARGUMENT, NULL, 0,
                            "components: %zu values for %zu unknowns", n, p);
    work->v =
        malloc((n * n + n + n * (p + 1) + 2 * p * p + p + (p + 1) * (p + 1)) * sizeof *work->v);
    if (!work->v) return cw_error_memory(error);
    work->value = work->v + n * n;
    work->columns = work->value + n;
    work->a = work->columns + n * (p + 1);
    work->inverse = work->a + p * p;
    work->products = work->inverse + p * p;
    enum cw_status status = cw_lean_make(data, &work->lean, error);
    if (status < 0) free(work->v);
    return status;
}

static void free_work(struct work *work) {
    free(work->v);
    cw_lean_free(work->lean);
}

enum cw_status cw_components_follow(const struct cw_components *fit,
                                    const struct cw_components_data *data,
                                    struct cw_components *follow, struct cw_error *error) {
    size_t p = data->p, nc = fit->n_components, points = fit->n_points;
    struct work work;
    double unused;
    *follow = (struct cw_components){.p = p, .n_components = nc, .n_points = points};
    enum cw_status status = make_work(data, &work, error);
    if (status < 0) return status;
    follow->weight = malloc(points * sizeof *follow->weight);
    follow->theta = malloc((points * nc + 1) * sizeof *follow->theta);
    follow->coefficient = malloc(points * p * sizeof *follow->coefficient);
    follow->covariance = malloc(points * p * p * sizeof *follow->covariance);
    if (!follow->weight || !follow->theta || !follow->coefficient || !follow->covariance)
        status = cw_error_memory(error);
    if (status >= 0) memcpy(follow->weight, fit->weight, points * sizeof *fit->weight);
    if (status >= 0) memcpy(follow->theta, fit->theta, points * nc * sizeof *fit->theta);
    memcpy(follow->of, fit->of, sizeof fit->of);
    for (size_t i = 0; i < points && status >= 0; i++)
        if (solve_point(data, fit->theta + i * nc, &work, follow->coefficient + i * p,
                        follow->covariance + i * p * p, &unused) != CW_OK)
            status = cw_error_set(error, CW_E_NUMERIC, NULL, 0,
                                  "what goes with the runs' scatter cannot be solved for");
    free_work(&work);
    if (status < 0) cw_components_free(follow);
    return status;
}

enum cw_status cw_components_fit(const struct cw_components_data *data, struct cw_components *fit,
                                 struct cw_error *error) {
    size_t n = data->n, p = data->p, nc = data->n_components;
    struct grid grid[CW_COMPONENTS_MOST];
    struct work work;
    *fit = (struct cw_components){.p = p, .n_components = nc};
    enum cw_status status = make_work(data, &work, error);
    if (status < 0) return status;
    double spread = spread_of(data, work.v), calm = calm_of(data);
    bool fine = true;
    for (size_t k = 0; k < nc; k++) {
        const struct cw_component *c = &data->component[k];
        double unit = c->matrix ? size_of(c->matrix, n) : c->size;
        if (c->prior == CW_COMPONENT_STATED)
            stated_grid(c->parameter, &grid[k]);
        else if (c->prior == CW_COMPONENT_FACTOR)
            factor_grid(c->parameter, c->size, &grid[k]);
        else if (c->prior == CW_COMPONENT_GUESSED)
            guessed_grid(c->parameter, &grid[k]);
        else {
            scatter_grid(c->parameter, unit > 0 ? spread / unit : 0, unit > 0 ? calm / unit : 0,
                         (double)n - (double)p, fine, &grid[k]);
            fine = false;
        }
    }
    struct search search = {
        .data = data, .grid = grid, .work = &work, .fit = fit, .most = -INFINITY, .error = error};
    status = look_around(&search);
    if (status != CW_OK) goto cleanup;
    double total = 0;
    for (size_t i = 0; i < fit->n_points; i++) {
        fit->weight[i] = exp(search.log_weight[i] - search.most);
        total += fit->weight[i];
    }
    fit->log_evidence = search.most + log(fmax(total, 1)); /* the best alone makes 1 */
    for (size_t i = 0; i < fit->n_points; i++) fit->weight[i] /= total;
    for (size_t k = 0; k < nc; k++) summarise(fit, k, &grid[k]);
    keep_likely(fit);
cleanup:
    free_work(&work);
    free(search.at);
    free(search.log_weight);
    free(search.bucket);
    if (status != CW_OK) cw_components_free(fit);
    return status;
}

void cw_components_free(struct cw_components *fit) {
    free(fit->weight);
    free(fit->theta);
    free(fit->coefficient);
    free(fit->covariance);
    *fit = (struct cw_components){0};
}

enum cw_status cw_components_predict(const struct cw_components_data *d, const double *theta,
                                     const double *by, double *z, double *sd,
                                     struct cw_error *error) {
    size_t n = d->n, p = d->p, m = p + 2; /* columns: X, y, by */
    double *v = malloc((n * n + n + n * m + p * p + 2 * p + 1) * sizeof *v), unused;
    if (!v) return cw_error_memory(error);
    double *value = v + n * n, *columns = value + n, *a = columns + n * m, *both = a + p * p;
    bool solved = cw_components_at(d, theta, v, value, &unused) && cw_cholesky_factor(n, v);
    *z = 0;
    *sd = 1;
    if (solved) {
        for (size_t i = 0; i < n; i++) {
            memcpy(columns + i * m, d->design + i * p, p * sizeof *columns);
            columns[i * m + p] = value[i];
            columns[i * m + p + 1] = by[i];
        }
        cw_cholesky_whiten(n, v, m, columns);
        memset(a, 0, (p * p + 2 * p) * sizeof *a);
        for (size_t i = 0; i < n; i++) {
            const double *row = columns + i * m;
            for (size_t k = 0; k < p; k++) {
                for (size_t l = 0; l < p; l++) a[k * p + l] += row[k] * row[l];
                for (size_t c = 0; c < 2; c++) both[2 * k + c] += row[k] * row[p + c];
            }
        }
        solved = cw_cholesky_factor(p, a);
    }
    if (solved) {
        /* by' P y and by' P by, P = V^-1 - V^-1 X (X'V^-1 X)^-1 X'V^-1 */
        double of_value = 0, of_by = 0;
        cw_cholesky_whiten(p, a, 2, both);
        for (size_t i = 0; i < n; i++) {
            const double *row = columns + i * m;
            of_value += row[p + 1] * row[p];
            of_by += row[p + 1] * row[p + 1];
        }
        for (size_t k = 0; k < p; k++) {
            of_value -= both[2 * k + 1] * both[2 * k];
            of_by -= both[2 * k + 1] * both[2 * k + 1];
        }
        *z = of_value;
        *sd = sqrt(fmax(1 - of_by, 0));
    }
    free(v);
    return solved ? CW_OK
                  : cw_error_set(error, CW_E_NUMERIC, NULL, 0, "the model cannot be solved");
}
