#include "fit/breaks.h"

#include <math.h>
#include <stdint.h>
#include <stdlib.h>

#include "fit/smooth.h"
#include "fit/trial.h"

/* Of a break against its error, squared: of the thousands of steps of an outing none that is but
 * noise comes so far. */
static const double least_t2 = 25;
/* And by so much it makes -2 log likelihood less, with the profile and all else open again: on a
 * road that was ridden once a bump explains as much. t2 - 1 - log t2 where nothing else does. */
static const double least_gain = 20;
static const double most_at_once = 0.01; /* of all steps */
static const double one_event_s = 3;
/* Steps between which nothing was recorded tell the same but for last bits: the first counts. */
static const double beyond = 1 + 1e-6;

struct step {
    enum cw_break kind;
    size_t at; /* SIZE_MAX: none */
    double t2, size_m, sd_m;
};

/* What is told of a step's break were nothing known of it beforehand; the sd of the prior that
 * makes it likeliest. */
static struct step weigh(enum cw_break kind, size_t at, struct cw_told_break told, double sd_m) {
    double rest = fmax(1 - sd_m * sd_m * told.precision, 1e-9);
    double pull = told.pull / rest, precision = told.precision / rest;
    if (!(precision > 0)) return (struct step){.kind = kind, .at = at};
    double t2 = pull * pull / precision;
    return (struct step){kind, at, t2, pull / precision, sqrt(fmax(t2 - 1, 0) / precision)};
}

static void take(struct cw_run_data *data, const struct step *step) {
    bool taken = step->t2 >= least_t2;
    data->break_sd_m[step->kind][step->at] = taken ? step->sd_m : 0;
    data->break_m[step->kind][step->at] = taken ? step->size_m : 0;
}

/* Settles the run's known breaks, and looks for the farthest of its other steps. */
static enum cw_status look(struct cw_joint *joint, size_t run, const struct cw_noise *noise,
                           struct cw_told_break (*told)[CW_BREAKS], struct step *farthest,
                           bool *changed, struct cw_error *error) {
    struct cw_run_data *data = &joint->data[run];
    bool gone = true;
    while (gone) {
        gone = false;
        *farthest = (struct step){.at = SIZE_MAX, .t2 = least_t2};
        enum cw_status status =
            cw_smooth_breaks(&joint->linear[run], noise, joint->priors.offset_sd_m,
                             joint->priors.shift_sd_m, told, error);
        if (status < 0) return status;
        for (enum cw_break kind = 0; kind < CW_BREAKS; kind++)
            for (size_t i = 0; i + 1 < data->n; i++) {
                struct step step = weigh(kind, i, told[i][kind], data->break_sd_m[kind][i]);
                if (data->break_sd_m[kind][i] > 0) {
                    take(data, &step);
                    gone = gone || data->break_sd_m[kind][i] == 0;
                } else if (step.t2 > beyond * farthest->t2) {
                    *farthest = step;
                }
            }
        *changed = *changed || gone;
    }
    return CW_OK;
}

enum cw_status cw_breaks_find(struct cw_joint *joint, const struct cw_noise *noise, bool *changed,
                              struct cw_error *error) {
    size_t all = 0, longest = 0, n = joint->n_runs;
    for (size_t i = 0; i < n; i++) {
        all += joint->data[i].n;
        if (joint->data[i].n > longest) longest = joint->data[i].n;
    }
    struct cw_told_break(*told)[CW_BREAKS] = malloc(longest * sizeof *told);
    struct step *farthest = malloc(n * sizeof *farthest);
    struct cw_trial trial = {0};
    enum cw_status status = told && farthest ? CW_OK : cw_error_memory(error);
    if (status >= 0) status = cw_trial_make(joint, noise, &trial, error);
    *changed = false;
    for (size_t i = 0; i < n && status >= 0; i++)
        status = look(joint, i, noise, told, &farthest[i], changed, error);
    for (double room = fmax(1, most_at_once * (double)all); room >= 1 && status >= 0; room--) {
        size_t run = 0;
        double before, after = 0;
        for (size_t i = 1; i < n; i++)
            if (farthest[i].t2 > farthest[run].t2) run = i;
        if (farthest[run].at == SIZE_MAX) break;
        status = cw_trial_likelihood(&trial, run, false, &before, error);
        take(&joint->data[run], &farthest[run]);
        if (status >= 0) status = cw_trial_likelihood(&trial, run, true, &after, error);
        if (status < 0) break;
        if (after > before - least_gain) { /* no more of this run */
            farthest[run].t2 = 0;
            take(&joint->data[run], &farthest[run]);
            farthest[run].at = SIZE_MAX;
            continue;
        }
        *changed = true;
        status = look(joint, run, noise, told, &farthest[run], changed, error);
        cw_trial_accept(&trial, run);
    }
    cw_trial_free(&trial);
    free(told);
    free(farthest);
    return status;
}

enum cw_status cw_breaks_list(const struct cw_joint *joint, size_t run, enum cw_break kind,
                              struct cw_fit_break **list, size_t *n, struct cw_error *error) {
    const struct cw_run_data *data = &joint->data[run];
    const struct cw_linear *linear = &joint->linear[run];
    const double *sd_m = data->break_sd_m[kind], *size_m = data->break_m[kind];
    size_t steps = 0;
    *list = NULL;
    *n = 0;
    for (size_t i = 0; i + 1 < data->n; i++) steps += sd_m[i] > 0;
    if (!steps) return CW_OK;
    struct cw_fit_break *found = malloc(steps * sizeof *found);
    if (!found) return cw_error_memory(error);
    double last_s = -INFINITY;
    for (size_t i = 0; i + 1 < data->n; i++) {
        if (!(sd_m[i] > 0)) continue;
        if (data->time_s[i] - last_s > one_event_s)
            found[(*n)++] = (struct cw_fit_break){.at_m = data->s_m[i]};
        found[*n - 1].height_m += size_m[i];
        if (kind == CW_BREAK_LOSS)
            found[*n - 1].speed_ms += 0.5 * (linear->gain[i] + linear->gain[i + 1]) * size_m[i];
        last_s = data->time_s[i];
    }
    *list = found;
    return CW_OK;
}
