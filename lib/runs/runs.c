#include "runs/runs.h"

#include <math.h>
#include <stdlib.h>

#include "runs/fellows.h"
#include "runs/heights.h"
#include "runs/passes.h"
#include "runs/relief.h"
#include "runs/stretches.h"

/* What is known of a recording's samples, from round to round. */
struct known {
    struct cw_balance balance;
    enum cw_pedalling *pedalling;
    enum cw_mode *mode;
    bool *coasts, *by_fellows;
    double *height_m, *even_m;
    double height_sd_m;
    struct cw_modes_guess guess; /* of its coasts' CdA */
};

struct search {
    const struct cw_recording *recordings;
    const struct cw_motion *motions;
    size_t n;
    const struct cw_runs_options *options;
    struct known *known;   /* one a recording */
    double **own_height_m; /* a column each: as recorded, but in time */
    struct cw_passes passes;
    struct cw_relief relief;
    struct cw_modes_guess guess;
};

static enum cw_status known_make(size_t n, struct known *known, struct cw_error *error) {
    known->pedalling = malloc(n * sizeof *known->pedalling);
    known->mode = malloc(n * sizeof *known->mode);
    known->coasts = malloc(n * sizeof *known->coasts);
    known->by_fellows = malloc(n * sizeof *known->by_fellows);
    known->height_m = malloc(n * sizeof *known->height_m);
    known->even_m = malloc(n * sizeof *known->even_m);
    bool fine = known->pedalling && known->mode && known->coasts && known->by_fellows &&
                known->height_m && known->even_m;
    return fine ? CW_OK : cw_error_memory(error);
}

static void known_free(struct known *known) {
    cw_balance_free(&known->balance);
    free(known->pedalling);
    free(known->mode);
    free(known->coasts);
    free(known->by_fellows);
    free(known->height_m);
    free(known->even_m);
}

/* The heights in time, and the ground that they make. */
static enum cw_status make_ground(struct search *search, struct cw_error *error) {
    double late_s;
    for (size_t r = 0; r < search->n; r++) {
        size_t n = search->motions[r].n;
        search->own_height_m[r] = malloc((n ? n : 1) * sizeof(double));
        if (!search->own_height_m[r]) return cw_error_memory(error);
    }
    enum cw_status status = cw_heights_late(search->recordings, search->motions, &search->passes,
                                            search->own_height_m, &late_s, error);
    if (status != CW_OK) return status;
    for (size_t r = 0; r < search->n; r++)
        cw_heights_in_time(search->recordings[r].samples.time_s, &search->motions[r], late_s,
                           search->own_height_m[r]);
    return cw_relief_make(search->recordings, search->motions, search->own_height_m,
                          &search->passes, &search->relief, error);
}

static struct cw_fellow fellow_of(const struct search *search, size_t r) {
    const struct known *known = &search->known[r];
    return (struct cw_fellow){&search->recordings[r], &search->motions[r], known->pedalling,
                              known->even_m,          known->guess.cda_m2, search->options};
}

/* The modes of all recordings by the ground as it is known; in the first round what the columns say
 * of pedalling, and what coasts show, too. */
static enum cw_status tell_modes(struct search *search, bool first, struct cw_error *error) {
    enum cw_status status = CW_OK;
    struct cw_modes_shown all = {0};
    for (size_t r = 0; r < search->n && status == CW_OK; r++) {
        const struct cw_recording *recording = &search->recordings[r];
        const struct cw_motion *motion = &search->motions[r];
        struct known *known = &search->known[r];
        if (motion->n == 0) continue;
        struct cw_modes_shown shown = {0};
        if (first && (status = known_make(motion->n, known, error)) != CW_OK) break;
        if (first) known->guess = search->guess;
        cw_relief_heights(&search->relief, &search->passes.walks[r], motion,
                          search->own_height_m[r], known->height_m, known->by_fellows,
                          &known->height_sd_m);
        const struct cw_heights heights = {known->height_m, known->by_fellows, known->height_sd_m,
                                           first ? NAN : known->balance.slow};
        cw_balance_free(&known->balance);
        status =
            cw_balance_make(recording, motion, &heights, search->options, &known->balance, error);
        if (status != CW_OK) break;
        if (first) cw_pedalling_tell(recording, motion, &known->balance, known->pedalling);
        status = cw_modes_find(recording, motion, &known->balance, known->pedalling,
                               search->options, &known->guess, known->mode, &shown, error);
        if (first) cw_modes_learn(&shown, &known->guess);
        if (first && status == CW_OK) status = cw_modes_shown_add(&all, &shown, error);
        cw_modes_shown_free(&shown);
        cw_balance_even(&known->balance, motion, search->options, known->guess.cda_m2,
                        known->even_m);
    }
    if (first) cw_modes_learn(&all, &search->guess);
    cw_modes_shown_free(&all);
    return status;
}

/* The ground by fellows, and again with those that only its heights had kept out. */
static enum cw_status ask_fellows(struct search *search, struct cw_error *error) {
    bool **coasts = calloc(search->n ? search->n : 1, sizeof *coasts);
    enum cw_status status = coasts ? CW_OK : cw_error_memory(error);
    for (int again = 0; again < 2 && status == CW_OK; again++) {
        if (again && isnan(search->relief.off_m[0])) break;
        for (size_t r = 0; r < search->n; r++) {
            if (search->motions[r].n == 0) continue;
            struct cw_fellow fellow = fellow_of(search, r);
            coasts[r] = search->known[r].coasts;
            cw_fellows_tell(&fellow, search->known[r].mode, &search->relief, coasts[r]);
        }
        status =
            cw_relief_ask_fellows(search->motions, &search->passes, coasts, search->guess.cda_m2,
                                  search->options, &search->relief, error);
    }
    free(coasts);
    return status;
}

static enum cw_status find_stretches(struct search *search, struct cw_runs *runs,
                                     struct cw_error *error) {
    enum cw_status status = CW_OK;
    for (size_t r = 0; r < search->n && status == CW_OK; r++) {
        struct known *known = &search->known[r];
        if (search->motions[r].n == 0) continue;
        struct cw_fellow fellow = fellow_of(search, r);
        cw_fellows_mend(&fellow, &search->relief, known->by_fellows, known->mode);
        const struct cw_told told = {.recording = &search->recordings[r],
                                     .motion = &search->motions[r],
                                     .index = r,
                                     .height_sd_m = known->height_sd_m,
                                     .balance = &known->balance,
                                     .cda_m2 = known->guess.cda_m2,
                                     .even_m = known->even_m,
                                     .pedalling = known->pedalling,
                                     .mode = known->mode};
        status = cw_stretches_find(&told, search->options, runs, error);
    }
    return status;
}

static int by_start(const void *a, const void *b) {
    const struct cw_run *x = a, *y = b;
    if (x->start_s != y->start_s) return x->start_s < y->start_s ? -1 : 1;
    return (x->recording > y->recording) - (x->recording < y->recording);
}

enum cw_status cw_runs_find(const struct cw_recording *recordings, const struct cw_motion *motions,
                            size_t n, const struct cw_runs_options *options, struct cw_runs *runs,
                            struct cw_error *error) {
    struct cw_runs_options usual = cw_runs_options_default();
    if (!options) options = &usual;
    *runs = (struct cw_runs){0};
    struct search search = {.recordings = recordings,
                            .motions = motions,
                            .n = n,
                            .options = options,
                            .known = calloc(n ? n : 1, sizeof *search.known),
                            .own_height_m = calloc(n ? n : 1, sizeof *search.own_height_m),
                            .guess = cw_modes_guess_first(options)};
    enum cw_status status = search.known && search.own_height_m ? CW_OK : cw_error_memory(error);
    if (status == CW_OK) status = cw_passes_make(recordings, motions, n, &search.passes, error);
    if (status == CW_OK) status = make_ground(&search, error);
    if (status == CW_OK) status = tell_modes(&search, true, error);
    if (status == CW_OK) status = ask_fellows(&search, error);
    if (status == CW_OK) status = tell_modes(&search, false, error);
    if (status == CW_OK) status = find_stretches(&search, runs, error);
    if (runs->n > 0) qsort(runs->at, runs->n, sizeof *runs->at, by_start);
    if (runs->n_slight > 0) qsort(runs->slight, runs->n_slight, sizeof *runs->slight, by_start);
    for (size_t i = 0; i < runs->n; i++) runs->at[i].number = (long)i + 1;
    for (size_t r = 0; search.known && r < n; r++) known_free(&search.known[r]);
    free(search.known);
    for (size_t r = 0; search.own_height_m && r < n; r++) free(search.own_height_m[r]);
    free(search.own_height_m);
    cw_relief_free(&search.relief);
    cw_passes_free(&search.passes);
    return status;
}
