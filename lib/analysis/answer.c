/* Answering: runs fitted, setups compared, times measured. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "analysis/analysis.h"
#include "analysis/clock.h"
#include "analysis/outings.h"
#include "analysis/tell.h"
#include "analysis/winds.h"
#include "base/each.h"
#include "base/print.h"
#include "compare/elsewhere.h"
#include "compare/force.h"
#include "recording/overlap.h"
#include "road/shared.h"

/* Dropping a run can bring another to light, but must not go on until nothing is left. */
enum { DROP_ROUNDS = 2 };

struct cw_ridden cw_analysed_ridden(const struct cw_analysed *of) {
    return (struct cw_ridden){.outing = &of->outing,
                              .n_recordings = of->n_recordings,
                              .recordings = of->recordings,
                              .motions = of->motions,
                              .runs = &of->runs,
                              .log = of->log};
}

/* Fits an outing, in place of a fit that may be there. */
static enum cw_status fit_one(struct cw_analysed *of, size_t threads, struct cw_error *error) {
    struct cw_ridden ridden = cw_analysed_ridden(of);
    ridden.threads = threads;
    if (of->fitted) cw_fit_free(&of->fit);
    bool moved = false;
    enum cw_status status = cw_fit_outing(&ridden, &of->fit, error);
    of->fitted = status >= 0;
    /* A mean wind of notes that turned out to tell nothing, or the opposite, is none. */
    if (of->fitted) status = cw_analysed_tell_wind(of, &of->fit, &moved, error);
    if (status >= 0 && moved) {
        cw_fit_free(&of->fit);
        status = cw_fit_outing(&ridden, &of->fit, error);
        of->fitted = status >= 0;
    }
    if (status < 0 && error && !*error->file)
        cw_print(error->file, sizeof error->file, "%s", of->outing.file);
    return status;
}

static enum cw_status check_one(const struct cw_analysis *analysis, size_t i, void *context,
                                struct cw_error *error) {
    (void)context;
    return cw_analysed_check(&analysis->outings[i], false, error);
}

static enum cw_status fit_outing(const struct cw_analysis *analysis, size_t i, void *context,
                                 struct cw_error *error) {
    struct cw_analysed *of = &analysis->outings[i];
    (void)context;
    if (!of->saved) return fit_one(of, analysis->options.threads, error);
    of->fit.of = cw_analysed_ridden(of);
    return CW_OK;
}

/* A fit borrows from its outing, which moves where one before it is left out: then all are fitted
 * again, which hardly ever happens, for what has runs can be fitted. */
enum cw_status cw_analysis_fit(struct cw_analysis *analysis, struct cw_error *error) {
    const struct cw_outing_work checking = {.work = check_one};
    const struct cw_outing_work fitting = {.doing = "fitting", .work = fit_outing};
    enum cw_status status = cw_outings_work(analysis, &checking, error);
    for (size_t before = 0; status >= 0 && before != analysis->n;) {
        before = analysis->n;
        status = cw_outings_work(analysis, &fitting, error);
    }
    return status;
}

static bool has_setups(const struct cw_analysed *of) {
    for (size_t i = 0; i < of->fit.n_runs; i++)
        if (of->fit.runs[i].setup != CW_NO_SETUP) return true;
    return false;
}

bool cw_analysis_has_setups(const struct cw_analysis *analysis) {
    for (size_t i = 0; i < analysis->n; i++)
        if (has_setups(&analysis->outings[i])) return true;
    return false;
}

static enum cw_status average_one(void *context, size_t i, struct cw_error *error) {
    const struct cw_analysis *analysis = context;
    const struct cw_compare_options options = cw_compare_options_default();
    struct cw_analysed *of = &analysis->outings[i];
    const struct cw_fit *fit = &of->fit;
    cw_compare_free(&of->average);
    of->averaged = false;
    if (!has_setups(of)) return CW_OK;
    enum cw_status status = cw_compare_setups(&fit, 1, &options, &of->average, error);
    of->averaged = status >= 0;
    return status;
}

enum cw_status cw_analysis_average(struct cw_analysis *analysis, struct cw_error *error) {
    const struct cw_each each = {.n = analysis->n,
                                 .threads = analysis->options.threads,
                                 .context = analysis,
                                 .work = average_one};
    return cw_each(&each, error);
}
/* The same ride in two outings would count double. */
static enum cw_status check_overlap(const struct cw_analysis *analysis, struct cw_error *error) {
    size_t n = 0, at = 0, companions = 0;
    for (size_t i = 0; i < analysis->n; i++) n += analysis->outings[i].n_recordings;
    struct cw_recording *all = calloc(n + 1, sizeof *all);
    size_t *rider = calloc(n + 1, sizeof *rider); /* 0: whoever the outings are of */
    enum cw_status status = all && rider ? CW_OK : cw_error_memory(error);
    for (size_t i = 0; i < analysis->n && status >= 0; i++) {
        const struct cw_analysed *of = &analysis->outings[i];
        for (size_t j = 0; j < of->n_recordings; j++) {
            size_t who = cw_outing_rider_of(&of->outing, j);
            rider[at] = who ? companions + who : 0;
            all[at++] = of->recordings[j];
        }
        companions += of->outing.n_companions;
    }
    if (status >= 0) status = cw_recordings_check_overlap(all, rider, n, error);
    free(all);
    free(rider);
    return status;
}

static enum cw_status compare(struct cw_analysis *analysis, const struct cw_compare_options *how,
                              struct cw_error *error) {
    const struct cw_fit **fits = calloc(analysis->n ? analysis->n : 1, sizeof *fits);
    if (!fits) return cw_error_memory(error);
    for (size_t i = 0; i < analysis->n; i++) fits[i] = &analysis->outings[i].fit;
    cw_compare_free(&analysis->compare);
    enum cw_status status = cw_compare_setups(fits, analysis->n, how, &analysis->compare, error);
    analysis->compared = status >= 0;
    free(fits);
    return status;
}

/* Turns down the runs that the comparison calls outliers, but never a setup's last one nor one of
 * a saved outing, and fits their outings again; *dropped says whether there were any. The
 * comparison borrows from the fits and must be made anew. */
static enum cw_status drop_outliers(struct cw_analysis *analysis, bool *dropped,
                                    struct cw_error *error) {
    const struct cw_compare *found = &analysis->compare;
    enum cw_status status = CW_OK;
    size_t *left = calloc(found->n_setups, sizeof *left);
    bool *again = calloc(analysis->n, sizeof *again);
    *dropped = false;
    if (!left || !again) {
        status = cw_error_memory(error);
        goto cleanup;
    }
    for (size_t s = 0; s < found->n_setups; s++) left[s] = found->setups[s].runs;
    for (size_t i = 0; i < found->n_runs; i++) {
        const struct cw_run_among *among = &found->runs[i];
        if (!among->outlier || left[among->setup] == 1) continue;
        struct cw_analysed *of = &analysis->outings[among->outing];
        if (of->saved) continue; /* it cannot be fitted again */
        struct cw_run *run = &of->runs.at[of->fit.runs[among->index].run];
        left[among->setup]--;
        run->kept = false;
        run->reasons |= CW_REASON_OUTLIER;
        run->setup = CW_NO_SETUP;
        again[among->outing] = *dropped = true;
    }
    for (size_t o = 0; o < analysis->n && status >= 0; o++) {
        struct cw_analysed *of = &analysis->outings[o];
        if (!again[o]) continue;
        status = cw_roads_number(of->recordings, of->motions, &of->runs, error);
        if (status >= 0) status = fit_one(of, analysis->options.threads, error);
    }
cleanup:
    free(left);
    free(again);
    return status;
}

enum cw_status cw_analysis_compare(struct cw_analysis *analysis,
                                   const struct cw_analysis_compare_options *options,
                                   struct cw_error *error) {
    struct cw_compare_options how = cw_compare_options_default();
    if (options) how.reference = options->reference;
    enum cw_status status = check_overlap(analysis, error);
    if (status >= 0) status = compare(analysis, &how, error);
    for (int round = 0; options && options->drop_outliers && round < DROP_ROUNDS; round++) {
        bool dropped = false;
        if (status >= 0) status = drop_outliers(analysis, &dropped, error);
        if (status < 0 || !dropped) break;
        status = compare(analysis, &how, error);
    }
    return status;
}

/* The outing's own number of a setup that its file names so. */
static size_t setup_named(const struct cw_analysed *of, const char *name) {
    size_t s = 0;
    while (s < of->outing.n_setups && strcmp(of->outing.setups[s].name, name)) s++;
    return s < of->outing.n_setups ? s : CW_NO_SETUP;
}

/* Against the first of the comparison's setups, which begin with its reference, that has runs on
 * the road that is timed: so a difference has one sign in all outings. */
static enum cw_status refer(const struct cw_analysis *analysis, struct cw_analysed *of,
                            struct cw_error *error) {
    for (size_t s = 0; analysis->compared && s < analysis->compare.n_setups; s++) {
        size_t reference = setup_named(of, analysis->compare.setups[s].name);
        if (reference == CW_NO_SETUP) continue;
        enum cw_status status = cw_timed_refer(&of->outing, reference, &of->timed, error);
        if (status != CW_E_ARGUMENT) return status; /* else it has no run there */
    }
    return cw_timed_refer(&of->outing, CW_NO_SETUP, &of->timed, error);
}

/* Beside the precision of times from one speed to the next, that of the force that was fitted. */
static void tell_forces(const struct cw_analysis *analysis, struct cw_analysed *of) {
    const struct cw_compare *compare = &analysis->compare;
    for (size_t i = 0; analysis->compared && i < of->timed.n_steps; i++) {
        struct cw_timed_step *step = &of->timed.steps[i];
        size_t s = cw_compare_setup_named(compare, of->outing.setups[step->setup].name);
        if (s >= compare->n_setups) continue;
        struct cw_estimate force =
            cw_setup_force_n(&of->fit, &compare->setups[s], 0.5 * (step->from_ms + step->to_ms));
        step->force_precision = 0.5 * (force.high - force.low) / force.value;
    }
}

static size_t compared_setup(const struct cw_analysis *analysis, const struct cw_analysed *of,
                             size_t setup) {
    return cw_compare_setup_named(&analysis->compare, of->outing.setups[setup].name);
}

static struct cw_estimate tested(const struct cw_timed_difference *difference) {
    const struct cw_estimate none = {NAN, NAN, NAN, NAN, 0};
    return difference->test == CW_TIMED_NO_TEST ? none : difference->difference;
}

/* Seconds of the model are of the road of the first ridden outing that has both setups. */
static void tell_clock(struct cw_analysis *analysis) {
    for (size_t i = 0; analysis->compared && i < analysis->compare.n_comparisons; i++) {
        struct cw_comparison *comparison = &analysis->compare.comparisons[i];
        const struct cw_analysed *first = NULL;
        const struct cw_timed_comparison *measured = NULL;
        for (size_t o = 0; o < analysis->n; o++) {
            const struct cw_analysed *of = &analysis->outings[o];
            for (size_t c = 0; c < of->timed.n_comparisons; c++) {
                const struct cw_timed_comparison *timed = &of->timed.comparisons[c];
                if (compared_setup(analysis, of, timed->setup) != comparison->setup ||
                    compared_setup(analysis, of, timed->reference) != comparison->reference ||
                    (first && first->timed.runs[0].at[0].time_s < of->timed.runs[0].at[0].time_s))
                    continue;
                first = of;
                measured = timed;
            }
        }
        struct cw_mean_run mean;
        if (!measured) continue;
        comparison->time_watched_s = tested(&measured->of[CW_TIMED_TIME_WATCHED]);
        comparison->runout_taped_m = tested(&measured->of[CW_TIMED_RUNOUT_TAPED]);
        if (!cw_mean_run_make(&first->fit, &mean)) continue;
        double gates_m = first->timed.gates_m[first->timed.n_gates - 1] - first->timed.gates_m[0];
        cw_clock_judge(measured, fmin(1, gates_m / mean.length_m), comparison);
    }
}

/* What is measured, whatever it is compared with. */
static enum cw_status measure(struct cw_analysed *of, struct cw_error *error) {
    struct cw_ridden ridden = cw_analysed_ridden(of);
    if (of->saved) return CW_OK;
    cw_timed_free(&of->timed);
    cw_explained_times_free(&of->more_times);
    *of->untimed = '\0';
    enum cw_status status = cw_timed_make(&ridden, NULL, &of->timed, error);
    if (status < 0) cw_timed_free(&of->timed);
    if (status == CW_E_DATA) cw_print(of->untimed, sizeof of->untimed, "%s", error->message);
    if (status >= 0 && of->fitted && has_setups(of))
        status = cw_explained_times_make(&ridden, &of->fit, &of->timed, &of->more_times, error);
    return status == CW_E_DATA ? CW_OK : status;
}

enum cw_status cw_analysis_time(struct cw_analysis *analysis, struct cw_error *error) {
    enum cw_status status = CW_OK;
    for (size_t i = 0; i < analysis->n && status >= 0; i++) {
        struct cw_analysed *of = &analysis->outings[i];
        struct cw_error fault;
        status = measure(of, &fault);
        if (status >= 0 && of->timed.n) status = refer(analysis, of, &fault);
        if (status >= 0) tell_forces(analysis, of);
        if (status < 0 && error) *error = fault;
        if (status < 0 || !*of->untimed) continue;
        struct cw_notice notice = {
            .kind = CW_NOTICE_UNTIMED, .file = of->outing.file, .message = of->untimed};
        cw_tell(analysis, &notice);
    }
    if (status < 0) return status;
    tell_clock(analysis);
    return CW_OK;
}
