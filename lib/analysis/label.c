#include "analysis/label.h"

#include <math.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include "base/print.h"
#include "base/text.h"

static enum cw_status skip(struct cw_runs *runs, const struct cw_outing *outing,
                           const struct cw_run_numbers *numbers, size_t recording,
                           struct cw_error *error) {
    for (size_t i = 0; i < numbers->n; i++) {
        size_t at = 0;
        while (at < runs->n && runs->at[at].number != numbers->number[i]) at++;
        if (at == runs->n)
            return cw_error_set(error, CW_E_DATA, outing->file, numbers->line,
                                "skip names run %ld, but %zu %s found", numbers->number[i], runs->n,
                                runs->n == 1 ? "run was" : "runs were");
        if (recording < outing->n_recordings && runs->at[at].recording != recording)
            return cw_error_set(error, CW_E_DATA, outing->file, numbers->line,
                                "skip names run %ld, which is of another recording: name it in "
                                "[runs]",
                                numbers->number[i]);
        runs->at[at].kept = false;
        runs->at[at].reasons |= CW_REASON_SKIPPED;
    }
    return CW_OK;
}

enum cw_status cw_runs_skip(struct cw_runs *runs, const struct cw_outing *outing,
                            struct cw_error *error) {
    enum cw_status status = skip(runs, outing, &outing->skip, outing->n_recordings, error);
    for (size_t i = 0; i < outing->n_own_recordings && status >= 0; i++)
        status = skip(runs, outing, &outing->own_recordings[i].skip,
                      outing->own_recordings[i].recording, error);
    return status;
}

/* A setup for each kept run of a recording that labels its own. */
static enum cw_status label_own(struct cw_runs *runs, const struct cw_outing *outing,
                                const struct cw_own_recording *own, struct cw_error *error) {
    size_t kept = 0;
    for (size_t i = 0; i < runs->n; i++) {
        struct cw_run *run = &runs->at[i];
        if (!run->kept || run->recording != own->recording) continue;
        run->setup = own->setup != CW_NO_SETUP ? own->setup
                     : kept < own->order.n     ? own->order.setup[kept]
                                               : CW_NO_SETUP;
        kept++;
    }
    if (own->setup != CW_NO_SETUP || own->order.n == kept) return CW_OK;
    return cw_error_set(error, CW_E_DATA, outing->file, own->order.line,
                        "order has %zu %s, but %zu %s kept of that recording: give one setup for "
                        "each, or leave runs out with \"skip\"",
                        own->order.n, own->order.n == 1 ? "entry" : "entries", kept,
                        kept == 1 ? "run was" : "runs were");
}

bool cw_run_counts(const struct cw_outing *outing, const struct cw_run *run, bool with_wakes) {
    const struct cw_own_recording *own = cw_outing_own_recording(outing, run->recording);
    return (run->kept || (with_wakes && run->reasons == CW_REASON_WAKE)) &&
           (!own || (own->setup == CW_NO_SETUP && !own->order.n));
}

/* What the entries of a list count: the runs kept; those in a wake too, for who was there labels
 * what was ridden; or the descents, each in all its pieces. */
enum counting { KEPT, WITH_WAKES, DESCENTS, COUNTINGS };

/* Sets the entry of each run, SIZE_MAX where it has none, and gives their number. */
static size_t lay(const struct cw_runs *runs, const struct cw_outing *outing,
                  enum counting counting, size_t *entry) {
    size_t n = 0;
    for (size_t i = 0; i < runs->n; i++) {
        entry[i] = SIZE_MAX;
        if (!cw_run_counts(outing, &runs->at[i], counting == WITH_WAKES)) continue;
        for (size_t j = i; counting == DESCENTS && j-- > 0 && entry[i] == SIZE_MAX;)
            if (runs->at[j].descent == runs->at[i].descent) entry[i] = entry[j];
        if (entry[i] == SIZE_MAX) entry[i] = n++;
    }
    return n;
}

/* As a list of so many entries is meant: as it fits, else by the runs kept. */
static size_t count(const struct cw_runs *runs, const struct cw_outing *outing, size_t entries,
                    bool of_descents, size_t *entry) {
    for (enum counting c = KEPT;
         entries && c < (of_descents && runs->in_pieces ? COUNTINGS : DESCENTS); c++)
        if (lay(runs, outing, c, entry) == entries) return entries;
    return lay(runs, outing, KEPT, entry);
}

/* "; type: coastwise start --update FILE": what lists the runs in an outing file, and asks. */
static void add_command(const struct cw_outing *outing, const char *order, char text[256]) {
    struct cw_text command = {0};
    text[0] = '\0';
    if (!outing->file || !strcmp(outing->file, "-")) return;
    cw_text_add(&command, ", or type: coastwise start --update ");
    cw_text_add_word(&command, outing->file);
    cw_text_add(&command, "%s", order);
    cw_print(text, 256, "%s", command.bytes && !command.failed ? command.bytes : "");
    cw_text_free(&command);
}

static enum cw_status label_rest(struct cw_runs *runs, const struct cw_outing *outing,
                                 size_t *entry, struct cw_error *error) {
    const struct cw_setup_order *order = &outing->order;
    size_t setups = 0, only = 0;
    char command[256], pieces[64] = "";
    size_t kept = count(runs, outing, order->n, true, entry);
    if (order->n != kept && runs->in_pieces)
        cw_print(pieces, sizeof pieces, ", the pieces of %zu descents", runs->n_descents);
    for (size_t s = 0; s < outing->n_setups; s++)
        if (!outing->setups[s].rider) {
            only = s;
            setups++;
        }
    if (!order->n && setups > 1 && kept) {
        add_command(outing, " --order \"...\"", command);
        return cw_error_set(error, CW_E_DATA, outing->file, 0,
                            "several setups but no order: add \"order = ...\" to [runs], one setup "
                            "for each of the %zu runs kept%s, in time order%s",
                            kept, pieces, command);
    }
    if (order->n && order->n != kept) {
        add_command(outing, "", command);
        return cw_error_set(
            error, CW_E_DATA, outing->file, order->line,
            "order has %zu %s, but %zu %s kept%s: give one setup for each, or leave "
            "runs out with \"skip\"%s",
            order->n, order->n == 1 ? "entry" : "entries", kept,
            kept == 1 ? "run was" : "runs were", pieces, order->n < kept ? command : "");
    }
    for (size_t i = 0; i < runs->n; i++)
        if (runs->at[i].kept && entry[i] != SIZE_MAX)
            runs->at[i].setup = order->n ? order->setup[entry[i]] : setups ? only : CW_NO_SETUP;
    return CW_OK;
}

/* Puts what was noted a run beside the runs that [runs] counts. */
static enum cw_status note(struct cw_runs *runs, const struct cw_outing *outing, const char *name,
                           const struct cw_notes *notes, bool of_descents, size_t offset,
                           size_t *entry, struct cw_error *error) {
    bool given = notes->line || notes->n; /* what was never a file has no lines */
    size_t counted = count(runs, outing, notes->n, of_descents, entry);
    if (given && notes->n != counted)
        return cw_error_set(
            error, CW_E_DATA, outing->file, notes->line,
            "%s has %zu %s, but %zu %s kept: give one for each, - where nothing was "
            "noted",
            name, notes->n, notes->n == 1 ? "value" : "values", counted,
            counted == 1 ? "run was" : "runs were");
    for (size_t i = 0; i < runs->n; i++) {
        double *noted = (double *)(void *)((char *)&runs->at[i].noted + offset);
        *noted = given && entry[i] != SIZE_MAX ? notes->value[entry[i]] : NAN;
    }
    return CW_OK;
}

enum cw_status cw_runs_label(struct cw_runs *runs, const struct cw_outing *outing,
                             struct cw_error *error) {
    size_t *entry = malloc((runs->n + 1) * sizeof *entry);
    enum cw_status status = entry ? CW_OK : cw_error_memory(error);
    for (size_t i = 0; i < runs->n; i++) runs->at[i].setup = CW_NO_SETUP;
    for (size_t i = 0; i < outing->n_own_recordings && status >= 0; i++)
        status = label_own(runs, outing, &outing->own_recordings[i], error);
    if (status >= 0) status = label_rest(runs, outing, entry, error);
    /* A wind may be noted once for a descent; a place or a time is one run's. */
    const struct {
        const char *name;
        const struct cw_notes *notes;
        bool of_descents;
        size_t offset;
    } all[] = {{"wind_along_ms", &outing->wind_ms, true, offsetof(struct cw_noted, wind_ms)},
               {"runout_m", &outing->runout_m, false, offsetof(struct cw_noted, runout_m)},
               {"time_s", &outing->time_s, false, offsetof(struct cw_noted, time_s)}};
    for (size_t k = 0; k < sizeof all / sizeof *all && status >= 0; k++)
        status = note(runs, outing, all[k].name, all[k].notes, all[k].of_descents, all[k].offset,
                      entry, error);
    free(entry);
    if (status < 0)
        for (size_t i = 0; i < runs->n; i++) runs->at[i].setup = CW_NO_SETUP;
    return status;
}
