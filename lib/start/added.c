#include "start/added.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/print.h"
#include "outing/keys.h"
#include "outing/update.h"

/* Owns its texts; names are borrowed, but for those in `names`. */
struct additions {
    size_t n, capacity;
    struct cw_outing_addition *at;
    struct cw_text *lines, *names, *insteads;
    bool failed;
};

static bool make_room(struct additions *all) {
    if (all->n < all->capacity) return true;
    size_t capacity = all->capacity ? 2 * all->capacity : 16;
    struct cw_outing_addition *at = realloc(all->at, capacity * sizeof *at);
    if (at) all->at = at;
    struct cw_text *lines = realloc(all->lines, capacity * sizeof *lines);
    if (lines) all->lines = lines;
    struct cw_text *names = realloc(all->names, capacity * sizeof *names);
    if (names) all->names = names;
    struct cw_text *insteads = realloc(all->insteads, capacity * sizeof *insteads);
    if (insteads) all->insteads = insteads;
    if (!at || !lines || !names || !insteads) return false;
    all->capacity = capacity;
    return true;
}

/* One more, whose place in the arrays is returned; without memory the last again, and failed. */
static size_t add(struct additions *all, const char *section, const char *name, const char *key) {
    if (all->failed || !make_room(all)) {
        all->failed = true;
        return 0;
    }
    all->at[all->n] = (struct cw_outing_addition){.section = section, .key = key};
    all->lines[all->n] = (struct cw_text){0};
    all->names[all->n] = (struct cw_text){0};
    all->insteads[all->n] = (struct cw_text){0};
    cw_text_add(&all->names[all->n], "%s", name);
    return all->n++;
}

static void free_all(struct additions *all) {
    for (size_t i = 0; i < all->n; i++) {
        cw_text_free(&all->lines[i]);
        cw_text_free(&all->names[i]);
        cw_text_free(&all->insteads[i]);
    }
    free(all->at);
    free(all->lines);
    free(all->names);
    free(all->insteads);
}

/* "key = 71.5", where it is said, in the place of the line to fill in. */
static void add_number(struct additions *all, const char *section, const char *name,
                       const char *key, double value, const char *instead, const char *words) {
    if (isnan(value)) return;
    size_t i = add(all, section, name, key);
    if (all->failed) return;
    all->at[i].instead = instead;
    cw_text_add(&all->lines[i], "%s = ", key);
    cw_text_add_number(&all->lines[i], value, 6);
    cw_text_add(&all->lines[i], "%s%s\n", words ? "  ; " : "", words ? words : "");
}

/* And the words that it is to be filled in go. */
static void add_mass(struct additions *all, const char *section, double kg) {
    add_number(all, section, "", "mass_kg", kg, "; " CW_START_MASS, NULL);
    if (isnan(kg)) return;
    size_t i = add(all, section, "", NULL);
    if (!all->failed) all->at[i].instead = "; " CW_START_FILL_IN;
}

static void add_outing_keys(const struct cw_starting *start, struct additions *all) {
    const struct cw_start_said *said = &start->said;
    double minutes = said->utc_offset_s / 60;
    if (said->name) {
        size_t i = add(all, "outing", "", "name");
        if (!all->failed) cw_text_add(&all->lines[i], "name = %s\n", said->name);
    }
    if (isnan(minutes)) return;
    size_t i = add(all, "outing", "", "utc_offset");
    if (!all->failed)
        cw_text_add(&all->lines[i], "utc_offset = %c%02.0f:%02.0f\n", minutes < 0 ? '-' : '+',
                    floor(fabs(minutes) / 60), fmod(fabs(minutes), 60));
}

static void add_air(const struct cw_starting *start, struct additions *all) {
    const struct cw_start_said *said = &start->said;
    char reduced[100];
    add_number(all, "air", "", "temperature_c", said->temperature_c, "; " CW_START_TEMPERATURE,
               NULL);
    add_number(all, "air", "", "pressure_hpa", said->pressure_hpa, "; " CW_START_PRESSURE, NULL);
    if (isfinite(said->pressure_sea_level_hpa)) {
        cw_print(reduced, sizeof reduced, "reduced from %g hPa at sea level to %.0f m",
                 said->pressure_sea_level_hpa, cw_start_height_m(start));
        add_number(all, "air", "", "pressure_hpa",
                   cw_start_pressure_hpa(start, said->pressure_sea_level_hpa),
                   "; " CW_START_PRESSURE, reduced);
        if (!all->failed)
            cw_text_add(&all->lines[all->n - 1], "pressure_uncertainty_hpa = %g\n",
                        CW_REDUCED_ERROR_HPA);
    }
    add_number(all, "air", "", "humidity_percent", said->humidity_percent, "; " CW_START_HUMIDITY,
               NULL);
}

static void add_recordings(const struct cw_starting *start, struct additions *all) {
    for (size_t r = start->n_in_file; r < start->n_recordings; r++) {
        size_t i = add(all, "outing", "", "recordings");
        if (all->failed) return;
        all->at[i].goes_on = true;
        cw_text_add(&all->lines[i], "    ");
        cw_outing_path_add(&all->lines[i], start->path, start->recordings[r], true);
        cw_text_add(&all->lines[i], "\n");
    }
}

static void add_setups(const struct cw_starting *start, struct additions *all) {
    for (size_t k = 0; k < start->said.n_setups; k++) {
        const struct cw_start_setup *setup = &start->said.setups[k];
        if (!isnan(setup->load_kg))
            add_number(all, "setup", setup->name, "load_kg", setup->load_kg, NULL, NULL);
        else
            add(all, "setup", setup->name, NULL);
    }
}

static const struct cw_run *run_numbered(const struct cw_analysed *of, long number) {
    for (size_t i = 0; i < of->runs.n; i++)
        if (of->runs.at[i].number == number) return &of->runs.at[i];
    return NULL;
}

static void add_entry(const struct cw_starting *start, const struct cw_start_word *word,
                      struct cw_text *text) {
    const struct cw_analysed *of = &start->analysis->outings[0];
    const struct cw_run *run = run_numbered(of, word->number);
    cw_text_add(text, "    %s", of->outing.setups[word->setup].name);
    if (run) {
        cw_text_add(text, "  ; ");
        cw_start_run_add(start, run, text);
    }
    cw_text_add(text, "\n");
}

/* The entries of [runs], or of one recording's own section. */
static void add_order(const struct cw_starting *start, const char *section, const char *name,
                      size_t recording, bool goes_on, struct additions *all) {
    size_t i = all->n, entries = 0;
    for (size_t k = 0; k < start->n_words; k++) {
        const struct cw_start_word *word = &start->words[k];
        if (word->setup == CW_NO_SETUP || (*name && word->recording != recording)) continue;
        if (!entries++) {
            i = add(all, section, name, "order");
            if (all->failed) return;
            all->at[i].goes_on = goes_on;
            all->at[i].instead = "; " CW_START_ORDER;
            if (!goes_on) cw_text_add(&all->lines[i], "order =\n");
        }
        add_entry(start, word, &all->lines[i]);
    }
}

static void add_orders(const struct cw_starting *start, bool had_order, struct additions *all) {
    if (!start->by_recording) {
        add_order(start, "runs", "", 0, had_order, all);
        return;
    }
    for (size_t r = start->n_in_file; r < start->n_recordings; r++) {
        struct cw_text name = {0};
        cw_outing_path_add(&name, start->path, start->recordings[r], true);
        if (name.failed)
            all->failed = true;
        else
            add_order(start, "recording", name.bytes, r, false, all);
        cw_text_free(&name);
    }
}

static void add_skips(const struct cw_starting *start, bool had_skip, struct additions *all) {
    size_t i = all->n, skipped = 0;
    for (size_t k = 0; k < start->n_words; k++) {
        if (start->words[k].setup != CW_NO_SETUP) continue;
        if (!skipped++) {
            i = add(all, "runs", "", "skip");
            if (all->failed) return;
            all->at[i].goes_on = had_skip;
            all->at[i].after = "; run ";
            cw_text_add(&all->lines[i], had_skip ? "   " : "skip =");
        }
        cw_text_add(&all->lines[i], " %ld", start->words[k].number);
    }
    if (skipped && !all->failed) cw_text_add(&all->lines[i], "\n");
}

static bool is_labelled(const struct cw_starting *start, const struct cw_run *run) {
    size_t k = 0;
    while (k < start->n_words && start->words[k].number != run->number) k++;
    return k < start->n_words;
}

/* The line that told of a run as new goes. */
static void give_way(const struct cw_starting *start, const struct cw_run *run,
                     struct additions *all) {
    size_t i = add(all, "runs", "", NULL);
    if (all->failed) return;
    cw_text_add(&all->insteads[i], "; new ");
    cw_start_run_add(start, run, &all->insteads[i]);
}

/* Runs that the file does not tell of yet, but for those that an order stands beside now. */
static void add_runs(const struct cw_starting *start, bool ordered, struct additions *all) {
    const struct cw_analysed *of = &start->analysis->outings[0];
    for (size_t r = 0; r < of->runs.n; r++) {
        const struct cw_run *run = &of->runs.at[r];
        bool any, labelled = is_labelled(start, run);
        enum cw_start_mention mention = cw_start_mentions(start, run, &any);
        if (labelled && mention == CW_MENTION_NEW) give_way(start, run, all);
        if (!run->kept || labelled || mention) continue;
        size_t i = add(all, "runs", "", NULL);
        if (all->failed) return;
        all->at[i].after = ordered ? "; new run " : "; run ";
        cw_text_add(&all->lines[i], ordered ? "; new " : "; ");
        cw_start_run_add(start, run, &all->lines[i]);
        cw_text_add(&all->lines[i], "\n");
    }
}

enum cw_status cw_start_add(const struct cw_starting *start, struct cw_text *text,
                            struct cw_error *error) {
    const struct cw_outing *outing = &start->analysis->outings[0].outing;
    struct additions all = {0};
    add_recordings(start, &all);
    add_outing_keys(start, &all);
    add_mass(&all, "rider", start->said.rider_kg);
    add_mass(&all, "bike", start->said.bike_kg);
    add_air(start, &all);
    add_setups(start, &all);
    add_orders(start, outing->order.line > 0, &all);
    add_skips(start, outing->skip.line > 0, &all);
    add_runs(start, outing->order.line > 0 && start->analysis->outings[0].labelled < 0, &all);
    for (size_t i = 0; i < all.n; i++) {
        all.at[i].name = all.names[i].bytes;
        all.at[i].lines = all.lines[i].bytes ? all.lines[i].bytes : "";
        if (all.insteads[i].bytes) all.at[i].instead = all.insteads[i].bytes;
        if (all.insteads[i].failed || all.lines[i].failed || all.names[i].failed ||
            !all.names[i].bytes)
            all.failed = true;
    }
    enum cw_status status = all.failed ? cw_error_memory(error)
                                       : cw_outing_update(start->bytes, start->length, start->path,
                                                          all.at, all.n, text, error);
    free_all(&all);
    return status;
}
