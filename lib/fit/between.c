#include "fit/between.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "stats/symmetric.h"

static const double own_usual = 0.004, wind_usual_ms = 0.02;
/* A wind's mean over a run is much the same some seconds later, and another after some minutes. */
static const double wandering = 0.25, wander_s = 900, own_s = 90;
/* Beyond this what is left of it is a few parts in ten thousand. */
static const double far_s = 8 * 900;
const double cw_wind_log_sd_ms = 0.15;
static const double factor_sd = 0.3, stated_scale = 0.5;
/* What was seen tells nothing of the winds, before it is looked at; and by how much likelier it
 * must be the other way round to be called so. */
static const double useless_before = 0.25, against_odds = 20;
/* The noise's own size is known from so many degrees of freedom at the least and at the most. */
static const double least_noise_df = 3, most_noise_df = 200;

/* ---- one run, and two ---- */

struct cw_wind_answer cw_wind_answer_of(const struct cw_run_data *data) {
    double way = 0, with_wind = 0, drag = 0;
    for (size_t j = 1; j < data->n; j++) {
        double v =
            0.5 * (data->speed_ms[j] + data->speed_ms[j - 1]) + data->surroundings.wind_along_ms;
        double ds = data->s_m[j] - data->s_m[j - 1];
        way += ds;
        with_wind += v * ds;
        drag += v * v * ds;
    }
    return (struct cw_wind_answer){with_wind / drag, way / drag};
}

void cw_between_middle(const struct cw_components *fit, double theta[CW_COMPONENTS_MOST]) {
    for (size_t k = 0; k < fit->n_components; k++) {
        theta[k] = sqrt(fit->of[k].mean_square);
        if (k == CW_BETWEEN_OWN || k == CW_BETWEEN_WIND)
            theta[k] = fmin(theta[k], 2 * fit->of[k].median);
        if (k >= CW_BETWEEN_BARE) theta[k] = fit->of[k].median;
    }
}

double cw_between_by_wind(const struct cw_run_data *data) {
    return 2 * cw_wind_answer_of(data).speed;
}

/* Covariance of the means over two spans of that length, apart_s from each other, of an
 * Ornstein-Uhlenbeck process of variance 1: exp(-t/wander_s) integrated over both. */
static double wander_alike(double apart_s, double span_s) {
    double d = apart_s / wander_s, t = span_s / wander_s;
    if (t < 1e-3) return exp(-d);
    if (d >= t) return 2 * exp(-d) * (cosh(t) - 1) / (t * t);
    return (exp(-t - d) + exp(d - t) - 2 * exp(-d) + 2 * (t - d)) / (t * t);
}

/* Two runs far from each other correlate by exp(-d) times one such number of each, so that what
 * came long before a run is told of by any run between them alone (cw_components_data's carry): two
 * spans' mean has little to do with it by then. */
static double wander_own(const struct cw_run *run) {
    double span_s = run->duration_s;
    return sqrt(wander_alike(span_s, span_s) * exp(span_s / wander_s) / wander_alike(0, span_s));
}

double cw_between_alike(const struct cw_run *a, const struct cw_run *b) {
    double apart_s = fabs(a->start_s - b->start_s), span_s = 0.5 * (a->duration_s + b->duration_s);
    double steady = exp(-0.5 * pow(apart_s / own_s, 2));
    double wander = apart_s < fmax(far_s, span_s)
                        ? wander_alike(apart_s, span_s) / wander_alike(0, span_s)
                        : exp(-apart_s / wander_s) * wander_own(a) * wander_own(b);
    return (1 - wandering) * steady + wandering * wander;
}

enum cw_status cw_between_widen(const struct cw_components *components,
                                const struct cw_run_data *data, struct cw_estimate *estimate,
                                struct cw_error *error) {
    if (components->n_components <= CW_BETWEEN_WIND) return CW_OK;
    return cw_components_widen(components, CW_BETWEEN_WIND,
                               estimate->value * cw_between_by_wind(data), estimate, error);
}

/* ---- all of them ---- */

/* What a log has of two riders' runs at one time is one observation, with one error. */
static void once_only(const struct cw_between_run *runs, size_t n, double *seen_ms) {
    for (size_t i = 0; i < n; i++)
        for (size_t j = 0; j < i && !isnan(seen_ms[i]); j++)
            if (runs[i].outing == runs[j].outing && !isnan(seen_ms[j]) &&
                fabs(runs[i].run->start_s - runs[j].run->start_s) < own_s)
                seen_ms[i] = NAN;
}

/* What was seen is taken about its mean over the runs of an outing. */
static void centre(const struct cw_between_run *runs, size_t n, double *seen_ms) {
    for (size_t i = 0; i < n; i++) {
        double sum = 0, fellows = 0;
        size_t first = 0;
        while (runs[first].outing != runs[i].outing) first++;
        if (first < i) continue;
        for (size_t j = i; j < n; j++) {
            if (runs[j].outing != runs[i].outing || isnan(seen_ms[j])) continue;
            sum += seen_ms[j];
            fellows++;
        }
        for (size_t j = i; j < n; j++)
            if (runs[j].outing == runs[i].outing) seen_ms[j] -= sum / fellows;
    }
}

struct at_time {
    double start_s;
    size_t i;
};

static int by_time(const void *a, const void *b) {
    const struct at_time *x = a, *y = b;
    if (x->start_s != y->start_s) return x->start_s > y->start_s ? 1 : -1;
    return (x->i > y->i) - (x->i < y->i);
}

/* The runs as they were ridden, and what of the wind's wanderings each has of the one before. */
static enum cw_status lay_course(const struct cw_between_run *runs, struct cw_between *between,
                                 struct cw_error *error) {
    size_t n = between->n;
    struct at_time *at = malloc((n + 1) * sizeof *at);
    if (!at) return cw_error_memory(error);
    for (size_t i = 0; i < n; i++) at[i] = (struct at_time){runs[i].run->start_s, i};
    qsort(at, n, sizeof *at, by_time);
    for (size_t k = 0; k < n; k++) {
        size_t i = between->order[k] = at[k].i, before = k ? at[k - 1].i : i;
        between->carry[k] = k ? exp((at[k - 1].start_s - at[k].start_s) / wander_s) *
                                    between->by[i] * wander_own(runs[i].run) /
                                    (between->by[before] * wander_own(runs[before].run))
                              : 0;
    }
    free(at);
    return CW_OK;
}

static bool rode_alike(const struct cw_between_run *a, const struct cw_between_run *b) {
    return a->outing == b->outing && a->setup == b->setup && a->road == b->road &&
           a->reversed == b->reversed;
}

/* Puts for each run the mean over the runs of its setup that rode the same way. Who met more of a
 * headwind was slower and answers more to it: by answers of their own, runs would be weighed, and
 * the mean wind be told, by what they are to tell. */
static void share_alike(const struct cw_between_run *runs, size_t n, double *answer) {
    for (size_t i = 0; i < n; i++) {
        double sum = 0, fellows = 0;
        size_t first = 0;
        while (!rode_alike(&runs[first], &runs[i])) first++;
        if (first < i) {
            answer[i] = answer[first];
            continue;
        }
        for (size_t j = i; j < n; j++) {
            if (!rode_alike(&runs[j], &runs[i])) continue;
            sum += answer[j];
            fellows++;
        }
        answer[i] = sum / fellows;
    }
}

enum cw_status cw_between_make(const struct cw_between_run *runs, size_t n,
                               struct cw_between *between, struct cw_error *error) {
    *between = (struct cw_between){.n = n};
    double *block = calloc(3 * n * n + 4 * n + 2 * CW_WIND_SEEN * n, sizeof *block);
    between->outing = malloc((2 * n + 1) * sizeof *between->outing);
    if (!block || !between->outing) {
        free(block);
        cw_between_free(between);
        return cw_error_memory(error);
    }
    between->own = block;
    between->wind = block + n * n;
    between->alike = block + 2 * n * n;
    between->by = block + 3 * n * n;
    between->curve = between->by + n;
    between->across = between->curve + n;
    between->carry = between->across + n;
    between->order = between->outing + n;
    for (size_t k = 0; k < CW_WIND_SEEN; k++) {
        between->seen_ms[k] = between->carry + n + 2 * k * n;
        between->seen_sd_ms[k] = between->seen_ms[k] + n;
    }
    for (size_t i = 0; i < n; i++) {
        double first = runs[i].by_wind.speed, second = runs[i].by_wind.one;
        between->outing[i] = runs[i].outing;
        between->by[i] = runs[i].reversed ? -2 * first : 2 * first;
        between->curve[i] = second - 2 * first * first;
        /* Drag goes with |va| (v + w), va2 = (v + w)2 + c2. */
        double cross = runs[i].run->logged.cross_ms;
        between->across[i] = isfinite(cross) ? 0.5 * cross * cross * second : 0;
        between->seen_ms[CW_WIND_NOTED][i] = runs[i].run->noted.wind_ms;
        between->seen_sd_ms[CW_WIND_NOTED][i] = runs[i].note_sd_ms;
        between->seen_ms[CW_WIND_LOGGED][i] = runs[i].run->logged.wind_ms;
        between->seen_sd_ms[CW_WIND_LOGGED][i] = cw_wind_log_sd_ms;
    }
    share_alike(runs, n, between->by);
    share_alike(runs, n, between->curve);
    for (size_t i = 0; i < n; i++)
        for (size_t j = 0; j < n; j++) {
            size_t at = i * n + j;
            /* Posture is a descent's, in however many pieces it was coasted. */
            between->own[at] =
                i == j || (runs[i].outing == runs[j].outing && runs[i].run->descent &&
                           runs[i].run->descent == runs[j].run->descent);
            between->alike[at] = cw_between_alike(runs[i].run, runs[j].run);
            between->wind[at] = between->by[i] * between->by[j] * between->alike[at];
        }
    once_only(runs, n, between->seen_ms[CW_WIND_LOGGED]);
    for (size_t k = 0; k < CW_WIND_SEEN; k++) {
        centre(runs, n, between->seen_ms[k]);
        for (size_t i = 0; i < n; i++)
            if (!isnan(between->seen_ms[k][i])) between->n_seen[k]++;
    }
    enum cw_status status = lay_course(runs, between, error);
    if (status < 0) cw_between_free(between);
    return status;
}

void cw_between_free(struct cw_between *between) {
    free(between->own); /* and all that lies behind it */
    free(between->scratch);
    free(between->outing); /* and the order */
    *between = (struct cw_between){0};
}

static bool is_seen(const struct cw_between *between, size_t who, size_t i) {
    return between->use[who] == CW_WIND_USED && !isnan(between->seen_ms[who][i]);
}

static void turn(struct cw_between *between, size_t who) {
    for (size_t i = 0; i < between->n; i++) between->seen_ms[who][i] *= -1;
}

/* ---- at a point ---- */

/* The winds, given what was seen of them and nothing else: their mean and covariance, and how
 * likely that is (linear Gaussian: Rasmussen and Williams 2006, Gaussian Processes for Machine
 * Learning, eqs. 2.22 to 2.24 and 2.30). */
struct seen_winds {
    double *mean;       /* n */
    double *covariance; /* n x n */
    double *rows; /* r x (n + 1): what was seen against the winds, and by how much it is off */
    double *own;  /* r x r */
};

static struct seen_winds parts_of(const struct cw_between *b) {
    struct seen_winds parts = {.mean = b->scratch};
    size_t r = 0;
    for (size_t k = 0; k < CW_WIND_SEEN; k++) r += b->use[k] == CW_WIND_USED ? b->n_seen[k] : 0;
    parts.covariance = parts.mean + b->n;
    parts.rows = parts.covariance + b->n * b->n;
    parts.own = parts.rows + r * (b->n + 1);
    return parts;
}

static bool see_winds(const struct cw_between *b, const double *theta, struct seen_winds *parts,
                      double *log_likelihood) {
    size_t n = b->n, m = n + 1, r = 0;
    double square = theta[CW_BETWEEN_WIND] * theta[CW_BETWEEN_WIND];
    *parts = parts_of(b);
    for (size_t k = 0; k < CW_WIND_SEEN; k++)
        for (size_t i = 0; i < n; i++) {
            if (!is_seen(b, k, i)) continue;
            double f = theta[b->factor[k]], *row = parts->rows + r * m;
            for (size_t j = 0; j < n; j++) row[j] = square * f * b->alike[i * n + j];
            row[n] = b->seen_ms[k][i];
            r++;
        }
    size_t rows = r, at = 0;
    for (size_t k = 0; k < CW_WIND_SEEN; k++)
        for (size_t i = 0; i < n; i++) {
            if (!is_seen(b, k, i)) continue;
            size_t column = 0;
            for (size_t l = 0; l < CW_WIND_SEEN; l++)
                for (size_t j = 0; j < n; j++)
                    if (is_seen(b, l, j))
                        parts->own[at * rows + column++] =
                            theta[b->factor[l]] * parts->rows[at * m + j];
            double sd = b->seen_sd_ms[k][i] * theta[b->factor[k] + 1];
            parts->own[at * rows + at] += sd * sd;
            at++;
        }
    if (!cw_cholesky_factor(rows, parts->own)) return false;
    cw_cholesky_whiten(rows, parts->own, m, parts->rows);
    *log_likelihood = 0;
    for (size_t i = 0; i < n; i++) {
        parts->mean[i] = 0;
        for (size_t j = 0; j < n; j++) parts->covariance[i * n + j] = square * b->alike[i * n + j];
    }
    for (size_t a = 0; a < rows; a++) {
        const double *row = parts->rows + a * m;
        *log_likelihood -= log(parts->own[a * rows + a]) + 0.5 * row[n] * row[n];
        for (size_t i = 0; i < n; i++) {
            parts->mean[i] += row[i] * row[n];
            for (size_t j = 0; j < n; j++) parts->covariance[i * n + j] -= row[i] * row[j];
        }
    }
    return true;
}

/* What run i's wind does to its log CdA beyond by w, where winds were seen. */
static double beyond_linear(const struct cw_between *b, const double *theta,
                            const struct seen_winds *winds, size_t i) {
    bool logged = b->use[CW_WIND_LOGGED] == CW_WIND_USED;
    double f = logged ? theta[b->factor[CW_WIND_LOGGED]] : 1;
    double square = winds->mean[i] * winds->mean[i] + winds->covariance[i * b->n + i];
    return (logged ? b->across[i] / (f * f) : 0) + b->curve[i] * square;
}

/* What the winds do to the runs' log CdA there (struct cw_components_beside). */
static bool beside(const void *context, const double *theta, double *covariance, double *value,
                   double *log_likelihood) {
    const struct cw_between *b = context;
    struct seen_winds winds;
    size_t n = b->n;
    if (!see_winds(b, theta, &winds, log_likelihood)) return false;
    for (size_t i = 0; i < n; i++) {
        value[i] -= beyond_linear(b, theta, &winds, i) + b->by[i] * winds.mean[i];
        for (size_t j = 0; j < n; j++)
            covariance[i * n + j] += b->by[i] * b->by[j] * winds.covariance[i * n + j];
    }
    return true;
}

bool cw_between_winds_seen(const struct cw_between *b, const double *theta, double *mean,
                           double *covariance, double *beyond) {
    size_t n = b->n;
    struct seen_winds winds;
    double unused, square = theta[CW_BETWEEN_WIND] * theta[CW_BETWEEN_WIND];
    if (b->scratch && !see_winds(b, theta, &winds, &unused)) return false;
    for (size_t i = 0; i < n; i++) {
        mean[i] = b->scratch ? winds.mean[i] : 0;
        beyond[i] = b->scratch ? beyond_linear(b, theta, &winds, i) : 0;
    }
    for (size_t at = 0; at < n * n; at++)
        covariance[at] = b->scratch ? winds.covariance[at] : square * b->alike[at];
    return true;
}

/* Of the runs of outing o, about the mean of theirs: sd_ms holds each run's own sd, and then that.
 * The covariance of all is square . covariance - through . to'; sum, with: n numbers each. */
static void beside_sd(const struct cw_between *b, size_t o, double square, const double *covariance,
                      const double *through, const double *to, double *sum, double *with,
                      double *sd_ms) {
    size_t n = b->n;
    double all = 0, fellows = 0;
    memset(sum, 0, n * sizeof *sum);
    for (size_t j = 0; j < n; j++) {
        if (b->outing[j] != o) continue;
        fellows++;
        for (size_t l = 0; l < n; l++) sum[l] += to[j * n + l];
    }
    for (size_t i = 0; i < n; i++) {
        with[i] = 0;
        if (b->outing[i] != o) continue;
        for (size_t j = 0; j < n; j++) {
            if (b->outing[j] == o) with[i] += square * covariance[i * n + j];
            with[i] -= through[i * n + j] * sum[j];
        }
        all += with[i];
    }
    for (size_t i = 0; i < n; i++)
        if (b->outing[i] == o)
            sd_ms[i] = sqrt(
                fmax(sd_ms[i] * sd_ms[i] - 2 * with[i] / fellows + all / (fellows * fellows), 0));
}

enum cw_status cw_between_winds(const struct cw_between *b, const double *theta,
                                const double *projected, const double *residual, double *wind_ms,
                                double *sd_ms, double *beside_sd_ms, struct cw_error *error) {
    size_t n = b->n;
    const double *covariance = b->alike;
    struct seen_winds winds;
    double unused, square = theta[CW_BETWEEN_WIND] * theta[CW_BETWEEN_WIND];
    bool seen = b->scratch && see_winds(b, theta, &winds, &unused);
    if (seen) {
        covariance = winds.covariance;
        square = 1;
    }
    /* W = Sigma B; what the runs tell takes W P W' from Sigma. */
    double *block = calloc(2 * n * n + 2 * n, sizeof *block);
    if (!block) return cw_error_memory(error);
    double *to = block, *through = block + n * n, *sum = block + 2 * n * n;
    for (size_t i = 0; i < n; i++)
        for (size_t j = 0; j < n; j++) to[i * n + j] = square * covariance[i * n + j] * b->by[j];
    for (size_t i = 0; i < n; i++)
        for (size_t j = 0; j < n; j++)
            for (size_t l = 0; l < n; l++)
                through[i * n + l] += to[i * n + j] * projected[j * n + l];
    for (size_t i = 0; i < n; i++) {
        double told = 0;
        wind_ms[i] = seen ? winds.mean[i] : 0;
        for (size_t j = 0; j < n; j++) {
            told += through[i * n + j] * to[i * n + j];
            wind_ms[i] += to[i * n + j] * residual[j];
        }
        sd_ms[i] = sqrt(fmax(square * covariance[i * n + i] - told, 0));
        beside_sd_ms[i] = sd_ms[i];
    }
    for (size_t i = 0; i < n; i++) {
        size_t first = 0;
        while (b->outing[first] != b->outing[i]) first++;
        if (first == i)
            beside_sd(b, b->outing[i], square, covariance, through, to, sum, sum + n, beside_sd_ms);
    }
    free(block);
    return CW_OK;
}

/* ---- all of it ---- */

/* Sets data's components for what is used; winds_ms: about how much the winds differ. */
static enum cw_status set_components(struct cw_between *between, const double *noise,
                                     double noise_df, double winds_ms,
                                     struct cw_components_data *data, struct cw_error *error) {
    size_t n = between->n, rows = 0, k = CW_BETWEEN_BARE;
    double by = 0;
    data->component[CW_BETWEEN_NOISE] = (struct cw_component){
        noise, CW_COMPONENT_STATED, fmin(fmax(noise_df, least_noise_df), most_noise_df), 0};
    data->component[CW_BETWEEN_OWN] =
        (struct cw_component){between->own, CW_COMPONENT_SCATTER, own_usual, 0};
    data->component[CW_BETWEEN_WIND] =
        (struct cw_component){between->wind, CW_COMPONENT_SCATTER, wind_usual_ms, 0};
    data->order = between->order;
    data->carry = between->carry;
    data->n_components = 1;
    data->beside = (struct cw_components_beside){0};
    free(between->scratch);
    between->scratch = NULL;
    for (size_t who = 0; who < CW_WIND_SEEN; who++) between->factor[who] = 0;
    if (data->n <= data->p) return CW_OK;
    for (size_t who = 0; who < CW_WIND_SEEN; who++) {
        double sd = 0;
        size_t seen = between->n_seen[who];
        if (between->use[who] != CW_WIND_USED) continue;
        for (size_t i = 0; i < n; i++)
            if (is_seen(between, who, i)) sd = fmax(sd, between->seen_sd_ms[who][i]);
        rows += seen;
        between->factor[who] = k;
        /* A line through so many points, both ends of it uncertain. */
        double known = winds_ms > 0 ? sd / (winds_ms * sqrt((double)seen)) : INFINITY;
        data->component[k++] =
            (struct cw_component){NULL, CW_COMPONENT_FACTOR, factor_sd, fmin(known, factor_sd)};
        data->component[k++] = (struct cw_component){NULL, CW_COMPONENT_GUESSED, stated_scale, 0};
    }
    data->n_components = k;
    if (!rows) return CW_OK;
    for (size_t i = 0; i < n; i++) by = fmax(by, fabs(between->by[i]));
    data->component[CW_BETWEEN_WIND].matrix = NULL;
    data->component[CW_BETWEEN_WIND].size = by;
    between->scratch =
        malloc((n + n * n + rows * (n + 1) + rows * rows) * sizeof *between->scratch);
    if (!between->scratch) return cw_error_memory(error);
    data->beside = (struct cw_components_beside){beside, between};
    return CW_OK;
}

/* How likely what was seen is where it has nothing to do with the runs' winds: numbers that scatter
 * by some decimetres or metres a second. */
static double log_unrelated(const struct cw_between *between, size_t who) {
    enum { POINTS = 25 };
    double most = -INFINITY, value[POINTS], sum = 0, priors = 0;
    for (int k = 0; k < POINTS; k++) {
        double u = 0.25 * (k - 12), tau = 0.3 * exp(u); /* log-normal: a factor of e either way */
        double log_likelihood = -0.5 * u * u;
        for (size_t i = 0; i < between->n; i++) {
            double seen = between->seen_ms[who][i];
            if (isnan(seen)) continue;
            double variance = tau * tau + pow(between->seen_sd_ms[who][i], 2);
            log_likelihood -= 0.5 * (log(variance) + seen * seen / variance);
        }
        priors += exp(-0.5 * u * u);
        value[k] = log_likelihood;
        most = fmax(most, log_likelihood);
    }
    for (int k = 0; k < POINTS; k++) sum += exp(value[k] - most);
    return most + log(sum / priors);
}

/* Takes in what one of them saw, if that is likelier than that it tells nothing, and than its
 * opposite. */
static enum cw_status take_in(struct cw_between *between, size_t who, const double *noise,
                              double noise_df, double winds_ms, struct cw_components_data *data,
                              struct cw_components *fit, struct cw_error *error) {
    double unrelated = fit->log_evidence + log_unrelated(between, who) + log(useless_before);
    struct cw_components with = {0};
    between->use[who] = CW_WIND_USED;
    enum cw_status status = set_components(between, noise, noise_df, winds_ms, data, error);
    if (status >= 0) status = cw_components_fit(data, &with, error);
    if (status < 0) return status;
    double related = with.log_evidence + log(1 - useless_before);
    if (related >= unrelated) {
        cw_components_free(fit);
        *fit = with;
        return CW_OK;
    }
    struct cw_components turned = {0};
    turn(between, who);
    status = cw_components_fit(data, &turned, error);
    turn(between, who);
    between->use[who] =
        turned.log_evidence > unrelated + log(against_odds) ? CW_WIND_AGAINST : CW_WIND_UNRELATED;
    cw_components_free(&with);
    cw_components_free(&turned);
    if (status >= 0) status = set_components(between, noise, noise_df, winds_ms, data, error);
    return status;
}

enum cw_status cw_between_fit(struct cw_between *between, const double *noise, double noise_df,
                              bool with_seen, struct cw_components_data *data,
                              struct cw_components *fit, struct cw_error *error) {
    *fit = (struct cw_components){0};
    for (size_t who = 0; who < CW_WIND_SEEN; who++) between->use[who] = CW_WIND_UNSEEN;
    enum cw_status status = set_components(between, noise, noise_df, 0, data, error);
    if (status >= 0) status = cw_components_fit(data, fit, error);
    if (status < 0 || fit->n_components <= CW_BETWEEN_WIND) return status;
    double winds_ms = fit->of[CW_BETWEEN_WIND].high;
    for (size_t who = 0; who < CW_WIND_SEEN && with_seen && status >= 0; who++)
        if (between->n_seen[who] > 1)
            status = take_in(between, who, noise, noise_df, winds_ms, data, fit, error);
    if (status < 0) cw_components_free(fit);
    return status;
}
