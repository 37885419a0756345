#include "load.h"

#include <stdio.h>
#include <stdlib.h>

#include "outing/input.h"
#include "output.h"
#include "recording/overlap.h"
#include "road/shared.h"

static enum cw_exit no_memory(void) {
    struct cw_error error;
    cw_error_memory(&error);
    return cw_message_error(&error);
}

static enum cw_exit make_room(struct cw_loaded *loaded, size_t n) {
    loaded->recordings = calloc(n, sizeof *loaded->recordings);
    loaded->motions = calloc(n, sizeof *loaded->motions);
    return loaded->recordings && loaded->motions ? CW_EXIT_ANSWERED : no_memory();
}

static void warn(const struct cw_recording *recording, bool say) {
    if (say) cw_message_warnings(recording->file, &recording->warnings);
}

/* The outing is read; its recordings are not. */
static enum cw_exit load_recordings(bool say_warnings, struct cw_loaded *loaded) {
    struct cw_error error;
    size_t n = loaded->outing.n_recordings;
    enum cw_exit status = make_room(loaded, n);
    for (size_t i = 0; i < n && status == CW_EXIT_ANSWERED; i++) {
        cw_progress("reading", i + 1, n, loaded->outing.recordings[i]);
        loaded->n++;
        if (cw_recording_read(loaded->outing.recordings[i], &loaded->recordings[i], &error) < 0)
            return cw_message_error(&error);
        warn(&loaded->recordings[i], say_warnings);
    }
    if (status == CW_EXIT_ANSWERED &&
        cw_recordings_check_overlap(loaded->recordings, loaded->n, &error) < 0)
        status = cw_message_error(&error);
    return status;
}

/* One of several recordings can't be used, and that was said: go on with the others. The graver of
 * such faults decides what to leave with: unreadable comes before unable to answer. */
static void leave_out(struct cw_loaded *loaded, enum cw_exit status) {
    if (status > loaded->left_out) loaded->left_out = status;
}

/* Arguments that are recordings, or a single one that is an outing. */
static enum cw_exit load_inputs(char *const *arguments, size_t n, bool say_warnings,
                                struct cw_loaded *loaded) {
    struct cw_error error;
    enum cw_exit status = make_room(loaded, n);
    for (size_t i = 0; i < n && status == CW_EXIT_ANSWERED; i++) {
        struct cw_input input;
        if (n > 1) cw_progress("reading", i + 1, n, arguments[i]);
        if (cw_input_read(arguments[i], &input, &error) < 0) {
            cw_input_free(&input);
            leave_out(loaded, cw_message_error(&error));
            continue;
        }
        if (!input.is_outing) {
            loaded->recordings[loaded->n++] = input.recording;
            warn(&input.recording, say_warnings);
            continue;
        }
        if (n > 1) {
            cw_input_free(&input);
            cw_message(arguments[i], 0, "an outing file stands alone, without other files");
            return CW_EXIT_USAGE;
        }
        loaded->outing = input.outing;
        loaded->has_outing = true;
        free(loaded->recordings);
        free(loaded->motions);
        return load_recordings(say_warnings, loaded);
    }
    if (loaded->n == 0) return loaded->left_out;
    /* Whoever only looks at runs may put two devices side by side. */
    if (status == CW_EXIT_ANSWERED && say_warnings &&
        cw_recordings_check_overlap(loaded->recordings, loaded->n, &error) < 0)
        cw_message(error.file, 0, "%s", error.message);
    return status;
}

static enum cw_exit find_runs(bool say_warnings, struct cw_loaded *loaded) {
    struct cw_error error;
    size_t usable = 0;
    struct cw_runs_options options = cw_runs_options_default();
    if (loaded->has_outing) {
        options.mass_kg = loaded->outing.rider_mass_kg + loaded->outing.bike_mass_kg;
    }
    for (size_t i = 0; i < loaded->n; i++) {
        if (loaded->n > 1)
            cw_progress("finding runs in", i + 1, loaded->n, loaded->recordings[i].file);
        if (cw_motion_make(&loaded->recordings[i], &loaded->motions[i], &error) < 0) {
            /* That there is no elevation was said with the warnings. */
            bool said = say_warnings && !loaded->recordings[i].has_elevation;
            enum cw_exit status = said ? CW_EXIT_DATA : cw_message_error(&error);
            if (loaded->has_outing) return status;
            leave_out(loaded, status);
            cw_motion_free(&loaded->motions[i]); /* leaves it without samples */
            continue;
        }
        usable++;
    }
    if (usable == 0) return loaded->left_out;
    if (cw_runs_find(loaded->recordings, loaded->motions, loaded->n, &options, &loaded->runs,
                     &error) < 0)
        return cw_message_error(&error);
    return CW_EXIT_ANSWERED;
}

static enum cw_exit label(struct cw_loaded *loaded) {
    if (!loaded->has_outing) {
        struct cw_error error;
        return cw_roads_number(loaded->recordings, loaded->motions, &loaded->runs, &error) < 0
                   ? cw_message_error(&error)
                   : CW_EXIT_ANSWERED;
    }
    size_t n = loaded->runs.n;
    loaded->setups = calloc(n + 1, sizeof *loaded->setups);
    loaded->setup_names = calloc(n + 1, sizeof *loaded->setup_names);
    if (!loaded->setups || !loaded->setup_names) return no_memory();
    for (size_t i = 0; i < n; i++) loaded->setups[i] = CW_NO_SETUP;
    loaded->labelled = cw_runs_skip(&loaded->runs, &loaded->outing, &loaded->label_error);
    loaded->skip_failed = loaded->labelled < 0;
    struct cw_error error;
    if (cw_roads_number(loaded->recordings, loaded->motions, &loaded->runs, &error) < 0)
        return cw_message_error(&error);
    cw_roads_keep_one(&loaded->runs);
    if (loaded->labelled == CW_OK)
        loaded->labelled =
            cw_runs_label(&loaded->runs, &loaded->outing, loaded->setups, &loaded->label_error);
    for (size_t i = 0; i < n; i++)
        if (loaded->setups[i] != CW_NO_SETUP)
            loaded->setup_names[i] = loaded->outing.setups[loaded->setups[i]].name;
    return CW_EXIT_ANSWERED;
}

enum cw_exit cw_load(char *const *arguments, size_t n, bool say_warnings,
                     struct cw_loaded *loaded) {
    *loaded = (struct cw_loaded){0};
    enum cw_exit status = load_inputs(arguments, n, say_warnings, loaded);
    if (status == CW_EXIT_ANSWERED) status = find_runs(say_warnings, loaded);
    if (status == CW_EXIT_ANSWERED) status = label(loaded);
    cw_progress_end();
    return status;
}

enum cw_exit cw_load_outing(const char *path, bool say_warnings, struct cw_loaded *loaded) {
    struct cw_error error;
    *loaded = (struct cw_loaded){.has_outing = true};
    if (cw_outing_read(path, &loaded->outing, &error) < 0) return cw_message_error(&error);
    enum cw_exit status = load_recordings(say_warnings, loaded);
    if (status == CW_EXIT_ANSWERED) status = find_runs(say_warnings, loaded);
    if (status == CW_EXIT_ANSWERED) status = label(loaded);
    cw_progress_end();
    return status;
}

struct cw_runs_report cw_loaded_runs(const struct cw_loaded *loaded) {
    return (struct cw_runs_report){.n_recordings = loaded->n,
                                   .recordings = loaded->recordings,
                                   .runs = &loaded->runs,
                                   .setups = loaded->setup_names};
}

struct cw_fit_input cw_loaded_input(const struct cw_loaded *loaded) {
    return (struct cw_fit_input){.outing = &loaded->outing,
                                 .recordings = loaded->recordings,
                                 .motions = loaded->motions,
                                 .n_recordings = loaded->n,
                                 .runs = &loaded->runs,
                                 .setups = loaded->setups};
}

void cw_loaded_drop(struct cw_loaded *loaded, size_t i) {
    loaded->runs.at[i].kept = false;
    loaded->runs.at[i].reasons |= CW_REASON_OUTLIER;
    loaded->setups[i] = CW_NO_SETUP;
    loaded->setup_names[i] = NULL;
}

static bool any_kept(const struct cw_loaded *loaded) {
    for (size_t i = 0; i < loaded->runs.n; i++)
        if (loaded->runs.at[i].kept) return true;
    return false;
}

enum cw_exit cw_loaded_check_order(const struct cw_loaded *loaded) {
    bool no_order = !loaded->outing.order_line && !loaded->skip_failed;
    return no_order && any_kept(loaded) ? CW_EXIT_ANSWERED : cw_loaded_check(loaded);
}

enum cw_exit cw_loaded_check(const struct cw_loaded *loaded) {
    if (any_kept(loaded) && loaded->labelled == CW_OK) return CW_EXIT_ANSWERED;
    struct cw_runs_report report = cw_loaded_runs(loaded);
    struct cw_text text = {0};
    if (cw_report_runs_table(&report, &text, NULL) == CW_OK) fprintf(stderr, "%s\n", text.bytes);
    cw_text_free(&text);
    if (loaded->labelled < 0) return cw_message_error(&loaded->label_error);
    return cw_loaded_none(loaded);
}

enum cw_exit cw_loaded_none(const struct cw_loaded *loaded) {
    struct cw_runs_options least = cw_runs_options_default();
    const char *file = loaded->has_outing ? loaded->outing.file : NULL;
    if (loaded->runs.n)
        cw_message(file, 0, "no run can be used: the list of runs says why of each");
    else
        cw_message(file, 0,
                   "no run was found: coast %g m or more at a stretch, dropping %g m or more",
                   least.minimum_distance_m, least.minimum_drop_m);
    return CW_EXIT_DATA;
}

void cw_loaded_free(struct cw_loaded *loaded) {
    for (size_t i = 0; loaded->motions && i < loaded->n; i++) cw_motion_free(&loaded->motions[i]);
    for (size_t i = 0; loaded->recordings && i < loaded->n; i++)
        cw_recording_free(&loaded->recordings[i]);
    free(loaded->motions);
    free(loaded->recordings);
    cw_runs_free(&loaded->runs);
    free(loaded->setups);
    free(loaded->setup_names);
    if (loaded->has_outing) cw_outing_free(&loaded->outing);
    *loaded = (struct cw_loaded){0};
}
