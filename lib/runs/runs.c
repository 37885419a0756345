#include "runs/runs.h"

#include <math.h>
#include <stdlib.h>

#include "base/each.h"
#include "runs/append.h"
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
    double *even_m;
    double height_sd_m;
    struct cw_modes_guess guess; /* of its coasts' CdA */
    struct cw_modes_shown shown; /* what they showed, and its runs, until that is taken up */
    struct cw_runs runs;
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
    struct cw_modes_shown shown; /* by the coasts of all */
    struct cw_runs *runs;        /* of all */
};

static enum cw_status known_make(size_t n, struct known *known, struct cw_error *error) {
    known->pedalling = malloc(n * sizeof *known->pedalling);
    known->mode = malloc(n * sizeof *known->mode);
    known->coasts = malloc(n * sizeof *known->coasts);
    known->by_fellows = malloc(n * sizeof *known->by_fellows);
    bool fine = known->pedalling && known->mode && known->coasts && known->by_fellows;
    return fine ? CW_OK : cw_error_memory(error);
}

/* What each round works out anew. */
static void round_free(struct known *known) {
    double slow = known->balance.slow;
    cw_balance_free(&known->balance);
    known->balance.slow = slow;
}

static void known_free(struct known *known) {
    round_free(known);
    free(known->pedalling);
    free(known->mode);
    free(known->coasts);
    free(known->by_fellows);
    free(known->even_m);
    cw_modes_shown_free(&known->shown);
    cw_runs_free(&known->runs);
    *known = (struct known){0};
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

/* The modes of a recording by the ground as it is known; in the first round what the columns say of
 * pedalling, and what coasts show, too. */
static enum cw_status tell_modes(const struct search *search, size_t r, bool first,
                                 struct cw_error *error) {
    const struct cw_recording *recording = &search->recordings[r];
    const struct cw_motion *motion = &search->motions[r];
    struct known *known = &search->known[r];
    enum cw_status status = CW_OK;
    free(known->even_m);
    known->even_m = NULL;
    double *height_m = malloc(motion->n * sizeof *height_m);
    if (!height_m) return cw_error_memory(error);
    cw_relief_heights(&search->relief, &search->passes.walks[r], motion, search->own_height_m[r],
                      height_m, known->by_fellows, &known->height_sd_m);
    const struct cw_heights heights = {height_m, known->by_fellows, known->height_sd_m,
                                       first ? NAN : known->balance.slow};
    status = cw_balance_make(recording, motion, &heights, search->options, &known->balance, error);
    if (status != CW_OK) return status;
    if (first) cw_pedalling_tell(recording, motion, &known->balance, known->pedalling);
    cw_balance_forget_rates(&known->balance);
    status = cw_modes_find(recording, motion, &known->balance, known->pedalling, search->options,
                           &known->guess, known->mode, &known->shown, error);
    if (first) cw_modes_learn(&known->shown, &known->guess);
    known->even_m = malloc(motion->n * sizeof *known->even_m);
    if (!known->even_m) return status == CW_OK ? cw_error_memory(error) : status;
    cw_balance_even(&known->balance, motion, search->options, known->guess.cda_m2, known->even_m);
    return status;
}

static enum cw_status learn_of(void *context, size_t r, struct cw_error *error) {
    const struct search *search = context;
    struct known *known = &search->known[r];
    if (search->motions[r].n == 0) return CW_OK;
    enum cw_status status = known_make(search->motions[r].n, known, error);
    if (status != CW_OK) return status;
    known->guess = search->guess;
    status = tell_modes(search, r, true, error);
    round_free(known);
    return status;
}

static enum cw_status take_shown(void *context, size_t r, enum cw_status came_to,
                                 struct cw_error *error) {
    struct search *search = context;
    struct cw_modes_shown *shown = &search->known[r].shown;
    if (came_to == CW_OK) came_to = cw_modes_shown_add(&search->shown, shown, error);
    cw_modes_shown_free(shown);
    return came_to;
}

static enum cw_status
each_recording(struct search *search, enum cw_status (*work)(void *, size_t, struct cw_error *),
               enum cw_status (*told)(void *, size_t, enum cw_status, struct cw_error *),
               struct cw_error *error) {
    const struct cw_each each = {.n = search->n,
                                 .threads = search->options->threads,
                                 .context = search,
                                 .work = work,
                                 .told = told};
    return cw_each(&each, error);
}

/* The first round. */
static enum cw_status learn(struct search *search, struct cw_error *error) {
    enum cw_status status = each_recording(search, learn_of, take_shown, error);
    cw_modes_learn(&search->shown, &search->guess);
    return status;
}

static enum cw_status tell_fellows_of(void *context, size_t r, struct cw_error *error) {
    const struct search *search = context;
    (void)error;
    if (search->motions[r].n == 0) return CW_OK;
    struct cw_fellow fellow = fellow_of(search, r);
    cw_fellows_tell(&fellow, search->known[r].mode, &search->relief, search->known[r].coasts);
    return CW_OK;
}

/* The ground by fellows, and again with those that only its heights had kept out. */
static enum cw_status ask_fellows(struct search *search, struct cw_error *error) {
    bool **coasts = calloc(search->n ? search->n : 1, sizeof *coasts);
    enum cw_status status = coasts ? CW_OK : cw_error_memory(error);
    for (size_t r = 0; coasts && r < search->n; r++) coasts[r] = search->known[r].coasts;
    for (int again = 0; again < 2 && status == CW_OK; again++) {
        if (again && isnan(search->relief.off_m[0])) break;
        status = each_recording(search, tell_fellows_of, NULL, error);
        if (status != CW_OK) break;
        status =
            cw_relief_ask_fellows(search->motions, &search->passes, coasts, search->guess.cda_m2,
                                  search->options, &search->relief, error);
    }
    free(coasts);
    return status;
}

static enum cw_status find_in(void *context, size_t r, struct cw_error *error) {
    const struct search *search = context;
    struct known *known = &search->known[r];
    if (search->motions[r].n == 0) return CW_OK;
    enum cw_status status = tell_modes(search, r, false, error);
    if (status != CW_OK) return status;
    struct cw_fellow fellow = fellow_of(search, r);
    cw_fellows_mend(&fellow, &search->relief, &known->balance, known->by_fellows, known->mode);
    const struct cw_told told = {.recording = &search->recordings[r],
                                 .motion = &search->motions[r],
                                 .index = r,
                                 .height_sd_m = known->height_sd_m,
                                 .balance = &known->balance,
                                 .cda_m2 = known->guess.cda_m2,
                                 .even_m = known->even_m,
                                 .pedalling = known->pedalling,
                                 .mode = known->mode};
    status = cw_stretches_find(&told, search->options, &known->runs, error);
    round_free(known);
    return status;
}

static enum cw_status take_runs(void *context, size_t r, enum cw_status came_to,
                                struct cw_error *error) {
    struct search *search = context;
    if (came_to == CW_OK) came_to = cw_runs_add(search->runs, &search->known[r].runs, error);
    known_free(&search->known[r]);
    return came_to;
}

/* The second round, and the runs that it shows. */
static enum cw_status find(struct search *search, struct cw_error *error) {
    return each_recording(search, find_in, take_runs, error);
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
                            .guess = cw_modes_guess_first(options),
                            .runs = runs};
    enum cw_status status = search.known && search.own_height_m ? CW_OK : cw_error_memory(error);
    if (status == CW_OK) status = cw_passes_make(recordings, motions, n, &search.passes, error);
    if (status == CW_OK) status = make_ground(&search, error);
    if (status == CW_OK) status = learn(&search, error);
    if (status == CW_OK) status = ask_fellows(&search, error);
    if (status == CW_OK) status = find(&search, error);
    if (runs->n > 0) qsort(runs->at, runs->n, sizeof *runs->at, by_start);
    if (runs->n_slight > 0) qsort(runs->slight, runs->n_slight, sizeof *runs->slight, by_start);
    for (size_t i = 0; i < runs->n; i++) runs->at[i].number = (long)i + 1;
    for (size_t r = 0; search.known && r < n; r++) known_free(&search.known[r]);
    free(search.known);
    for (size_t r = 0; search.own_height_m && r < n; r++) free(search.own_height_m[r]);
    free(search.own_height_m);
    cw_relief_free(&search.relief);
    cw_passes_free(&search.passes);
    cw_modes_shown_free(&search.shown);
    return status;
}
