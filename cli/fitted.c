#include "fitted.h"

#include <stdio.h>
#include <stdlib.h>

#include "output.h"
#include "recording/overlap.h"

static enum cw_exit no_memory(void) {
    struct cw_error error;
    cw_error_memory(&error);
    return cw_message_error(&error);
}

/* Fits outing i, in place of a fit that may be there. */
static enum cw_exit fit_again(struct cw_fitted *fitted, size_t i) {
    struct cw_error error;
    struct cw_fit_input input = cw_loaded_input(&fitted->loaded[i]);
    cw_fit_free(&fitted->fits[i]);
    if (cw_fit_outing(&input, &fitted->fits[i], &error) >= 0) return CW_EXIT_ANSWERED;
    if (!*error.file) snprintf(error.file, sizeof error.file, "%s", fitted->loaded[i].outing.file);
    return cw_message_error(&error);
}

static enum cw_exit fit_one(struct cw_fitted *fitted, size_t of, const char *path,
                            bool say_warnings) {
    size_t i = fitted->n++;
    struct cw_loaded *loaded = &fitted->loaded[i];
    enum cw_exit status = cw_load_outing(path, say_warnings, loaded);
    if (status == CW_EXIT_ANSWERED) status = cw_loaded_check_order(loaded);
    if (status != CW_EXIT_ANSWERED) return status;
    if (of > 1) cw_progress("fitting", i + 1, of, path);
    status = fit_again(fitted, i);
    if (status != CW_EXIT_ANSWERED) return status;
    cw_progress_end();
    fitted->outings[i] = (struct cw_report_outing){.outing = &loaded->outing,
                                                   .n_recordings = loaded->n,
                                                   .recordings = loaded->recordings,
                                                   .motions = loaded->motions,
                                                   .runs = &loaded->runs,
                                                   .setups = loaded->setups,
                                                   .fit = &fitted->fits[i]};
    return CW_EXIT_ANSWERED;
}

enum cw_exit cw_fitted_load(char *const *paths, size_t n, bool say_warnings,
                            struct cw_fitted *fitted) {
    *fitted = (struct cw_fitted){.loaded = calloc(n, sizeof *fitted->loaded),
                                 .fits = calloc(n, sizeof *fitted->fits),
                                 .outings = calloc(n, sizeof *fitted->outings)};
    if (!fitted->loaded || !fitted->fits || !fitted->outings) return no_memory();
    enum cw_exit status = CW_EXIT_ANSWERED;
    for (size_t i = 0; i < n && status == CW_EXIT_ANSWERED; i++)
        status = fit_one(fitted, n, paths[i], say_warnings);
    return status;
}

bool cw_fitted_labelled(const struct cw_fitted *fitted) {
    for (size_t i = 0; i < fitted->n; i++)
        for (size_t j = 0; j < fitted->fits[i].n_runs; j++)
            if (fitted->fits[i].runs[j].setup != CW_NO_SETUP) return true;
    return false;
}

/* The same ride in two outings would count double. */
static enum cw_exit check_overlap(const struct cw_fitted *fitted) {
    struct cw_error error;
    size_t n = 0, at = 0;
    enum cw_exit status = CW_EXIT_ANSWERED;
    for (size_t i = 0; i < fitted->n; i++) n += fitted->loaded[i].n;
    struct cw_recording *all = calloc(n + 1, sizeof *all);
    if (!all) return no_memory();
    for (size_t i = 0; i < fitted->n; i++)
        for (size_t j = 0; j < fitted->loaded[i].n; j++)
            all[at++] = fitted->loaded[i].recordings[j];
    if (cw_recordings_check_overlap(all, n, &error) < 0) status = cw_message_error(&error);
    free(all);
    return status;
}

enum cw_exit cw_fitted_compare(const struct cw_fitted *fitted,
                               const struct cw_compare_options *options,
                               struct cw_compare *compare) {
    struct cw_error error;
    *compare = (struct cw_compare){0};
    enum cw_exit status = check_overlap(fitted);
    if (status != CW_EXIT_ANSWERED) return status;
    struct cw_compare_outing *outings = calloc(fitted->n, sizeof *outings);
    if (!outings) return no_memory();
    for (size_t i = 0; i < fitted->n; i++)
        outings[i] = (struct cw_compare_outing){.outing = &fitted->loaded[i].outing,
                                                .fit = &fitted->fits[i],
                                                .runs = &fitted->loaded[i].runs};
    if (cw_compare_setups(outings, fitted->n, options, compare, &error) < 0)
        status = cw_message_error(&error);
    free(outings);
    return status;
}

enum cw_exit cw_fitted_drop(struct cw_fitted *fitted, const struct cw_compare *compare,
                            bool *dropped) {
    enum cw_exit status = CW_EXIT_ANSWERED;
    size_t *left = calloc(compare->n_setups, sizeof *left);
    bool *again = calloc(fitted->n, sizeof *again);
    *dropped = false;
    if (!left || !again) {
        status = no_memory();
        goto cleanup;
    }
    for (size_t s = 0; s < compare->n_setups; s++) left[s] = compare->setups[s].runs;
    for (size_t i = 0; i < compare->n_runs; i++) {
        const struct cw_run_among *run = &compare->runs[i];
        if (!run->outlier || left[run->setup] == 1) continue;
        left[run->setup]--;
        cw_loaded_drop(&fitted->loaded[run->outing],
                       fitted->fits[run->outing].runs[run->index].run);
        again[run->outing] = *dropped = true;
    }
    for (size_t o = 0; o < fitted->n && status == CW_EXIT_ANSWERED; o++)
        if (again[o]) status = fit_again(fitted, o);
cleanup:
    free(left);
    free(again);
    return status;
}

void cw_fitted_free(struct cw_fitted *fitted) {
    for (size_t i = 0; i < fitted->n; i++) {
        cw_fit_free(&fitted->fits[i]);
        cw_loaded_free(&fitted->loaded[i]);
    }
    free(fitted->loaded);
    free(fitted->fits);
    free(fitted->outings);
    *fitted = (struct cw_fitted){0};
}
