/* Which run was in which setup. */
#include <stdlib.h>
#include <string.h>

#include "analysis/label.h"
#include "outing/keys.h"
#include "start/start.h"

/* ---- the runs that an order is for ---- */

/* Whether a run came to an outing file after its order was written. */
static bool is_new(const struct cw_starting *start, const struct cw_run *run) {
    bool any;
    return run->recording >= start->n_in_file ||
           (cw_start_mentions(start, run, &any) != CW_MENTION && any);
}

enum cw_status cw_start_list(const struct cw_starting *start, size_t **runs, size_t *n,
                             struct cw_error *error) {
    const struct cw_analysed *of = &start->analysis->outings[0];
    const struct cw_outing *outing = &of->outing;
    size_t known = 0, counted = 0;
    *n = 0;
    *runs = calloc(of->runs.n + 1, sizeof **runs);
    if (!*runs) return cw_error_memory(error);
    for (size_t i = 0; i < of->runs.n; i++) {
        const struct cw_run *run = &of->runs.at[i];
        if (!cw_run_counts(outing, run, false)) continue;
        counted++;
        if (outing->order.n && !is_new(start, run))
            known++;
        else
            (*runs)[(*n)++] = i;
    }
    if (!outing->order.n || known == outing->order.n) return CW_OK;
    *n = 0;
    if (counted == outing->order.n || of->labelled == CW_OK) return CW_OK;
    free(*runs);
    *runs = NULL;
    return cw_error_set(error, CW_E_DATA, start->path, outing->order.line,
                        "order has %zu %s, but %zu %s kept, and which of them it means is not "
                        "told: give one setup for each, or leave runs out with \"skip\"",
                        outing->order.n, outing->order.n == 1 ? "entry" : "entries", counted,
                        counted == 1 ? "run was" : "runs were");
}

/* ---- words ---- */

static size_t setup_named(const struct cw_outing *outing, const char *name) {
    size_t at = 0;
    while (at < outing->n_setups && strcmp(outing->setups[at].name, name)) at++;
    return at < outing->n_setups ? at : CW_NO_SETUP;
}

static enum cw_status refuse_name(const struct cw_outing *outing, const char *name,
                                  struct cw_error *error) {
    const char *names[CW_OUTING_SETUPS_MAX];
    for (size_t i = 0; i < outing->n_setups; i++) names[i] = outing->setups[i].name;
    char guess[CW_GUESS_TEXT];
    cw_guess(name, names, outing->n_setups, "; the nearest is \"", "\"", guess);
    return cw_error_set(error, CW_E_ARGUMENT, NULL, 0,
                        "order names setup \"%s\", which is not among them%s", name,
                        *guess ? guess : ": say it with --setup too");
}

/* Without setups, the names in an order are what they are. */
static enum cw_status declare_names(struct cw_starting *start, const char *const *words, size_t n,
                                    struct cw_error *error) {
    if (!(cw_start_lacks(start) & CW_LACKS_SETUPS)) return CW_OK;
    for (size_t i = 0; i < n; i++) {
        size_t at = 0;
        while (at < start->said.n_setups && strcmp(start->said.setups[at].name, words[i])) at++;
        if (at < start->said.n_setups || !strcmp(words[i], "-")) continue;
        if (strchr(words[i], ':'))
            return cw_error_set(error, CW_E_ARGUMENT, NULL, 0,
                                "order holds \"%s\": give loads with the setups, and names alone "
                                "in the order",
                                words[i]);
        enum cw_status status = cw_start_add_setup(&start->said, words[i], error);
        if (status < 0) return status;
    }
    return cw_start_find(start, error);
}

static enum cw_status read_words(struct cw_starting *start, const size_t *runs,
                                 const char *const *words, size_t n, struct cw_error *error) {
    const struct cw_analysed *of = &start->analysis->outings[0];
    free(start->words);
    start->n_words = 0;
    start->words = calloc(n + 1, sizeof *start->words);
    if (!start->words) return cw_error_memory(error);
    for (size_t i = 0; i < n; i++) {
        const struct cw_run *run = &of->runs.at[runs[i]];
        bool out = !strcmp(words[i], "-");
        size_t setup = out ? CW_NO_SETUP : setup_named(&of->outing, words[i]);
        if (setup == CW_NO_SETUP && !out) return refuse_name(&of->outing, words[i], error);
        start->words[start->n_words++] = (struct cw_start_word){
            .number = run->number, .recording = run->recording, .setup = setup};
    }
    return CW_OK;
}

/* ---- into the outing ---- */

static bool add_entry(struct cw_setup_order *order, size_t setup) {
    size_t *more = realloc(order->setup, (order->n + 1) * sizeof *more);
    if (!more) return false;
    order->setup = more;
    order->setup[order->n++] = setup;
    return true;
}

static bool add_number(struct cw_run_numbers *numbers, long number) {
    long *more = realloc(numbers->number, (numbers->n + 1) * sizeof *more);
    if (!more) return false;
    numbers->number = more;
    numbers->number[numbers->n++] = number;
    return true;
}

static struct cw_setup_order *own_order(struct cw_outing *outing, size_t recording) {
    for (size_t i = 0; i < outing->n_own_recordings; i++)
        if (outing->own_recordings[i].recording == recording)
            return &outing->own_recordings[i].order;
    struct cw_own_recording *more =
        realloc(outing->own_recordings, (outing->n_own_recordings + 1) * sizeof *more);
    if (!more) return NULL;
    outing->own_recordings = more;
    more[outing->n_own_recordings] =
        (struct cw_own_recording){.recording = recording, .setup = CW_NO_SETUP};
    return &more[outing->n_own_recordings++].order;
}

/* Whether the runs listed lie between others that the order has entries for. */
static bool lie_between(const struct cw_analysed *of, const size_t *runs, size_t n) {
    for (size_t i = runs[0], next = 0; i < of->runs.n; i++) {
        if (next < n && runs[next] == i)
            next++;
        else if (cw_run_counts(&of->outing, &of->runs.at[i], false))
            return true;
    }
    return false;
}

static enum cw_status set_order(struct cw_starting *start, struct cw_error *error) {
    struct cw_outing *outing = &start->analysis->outings[0].outing;
    bool fine = true;
    for (size_t i = 0; i < start->n_words && fine; i++) {
        const struct cw_start_word *word = &start->words[i];
        struct cw_setup_order *order =
            start->by_recording ? own_order(outing, word->recording) : &outing->order;
        fine = order && (word->setup == CW_NO_SETUP ? add_number(&outing->skip, word->number)
                                                    : add_entry(order, word->setup));
    }
    return fine ? cw_analysis_find_again(start->analysis, error) : cw_error_memory(error);
}

/* Runs of a recording that lie before others move the numbers that `skip` names. */
static enum cw_status check_place(struct cw_starting *start, const size_t *runs, size_t n,
                                  struct cw_error *error) {
    const struct cw_analysed *of = &start->analysis->outings[0];
    start->by_recording = of->outing.order.n && n && lie_between(of, runs, n);
    for (size_t i = 0; i < n && start->by_recording; i++)
        if (of->runs.at[runs[i]].recording < start->n_in_file)
            return cw_error_set(error, CW_E_DATA, start->path, of->outing.order.line,
                                "run %ld is new and lies between runs that order has: put its "
                                "setup into this line",
                                of->runs.at[runs[i]].number);
    return CW_OK;
}

enum cw_status cw_start_label(struct cw_starting *start, const char *const *words, size_t n,
                              struct cw_error *error) {
    const struct cw_analysed *of = &start->analysis->outings[0];
    size_t *runs, n_runs;
    enum cw_status status = declare_names(start, words, n, error);
    if (status >= 0) status = cw_start_list(start, &runs, &n_runs, error);
    if (status < 0) return status;
    if (n != n_runs)
        status =
            cw_error_set(error, CW_E_DATA, NULL, 0,
                         "order has %zu %s for %zu %s: give a setup for each, or - for one to "
                         "leave out",
                         n, n == 1 ? "entry" : "entries", n_runs,
                         start->updates && of->outing.order.n ? n_runs == 1 ? "new run" : "new runs"
                         : n_runs == 1                        ? "run"
                                                              : "runs");
    if (status >= 0) status = check_place(start, runs, n, error);
    if (status >= 0) status = read_words(start, runs, words, n, error);
    free(runs);
    if (status >= 0) status = set_order(start, error);
    if (status < 0 || of->labelled == CW_OK) return status;
    if (error) *error = of->label_error;
    return of->label_error.code;
}
