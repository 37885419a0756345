/* coastwise compare: setups against each other, within and across outings. */
#include <stdbool.h>
#include <stddef.h>
#include <stdlib.h>
#include <string.h>

#include "command.h"
#include "commands.h"
#include "fitted.h"
#include "output.h"
#include "report/compare_report.h"
#include "timed/timed.h"

struct options {
    bool json, csv, drop;
    const char *reference;
};

static const struct cw_option table[] = {
    CW_OPTIONS_FORMAT(struct options, "the comparisons"),
    {.name = "reference",
     .kind = CW_OPTION_TEXT,
     .offset = offsetof(struct options, reference),
     .argument = "SETUP",
     .meaning = "what the other setups are compared with (default: the first that the outing "
                "file names and that has runs)"},
    {.name = "drop",
     .kind = CW_OPTION_FLAG,
     .offset = offsetof(struct options, drop),
     .meaning = "leave out runs that disagree with their fellows, fit everything again, and say "
                "which they were; at most twice, and never a setup's last run"},
};

/* What is freed at the end. */
struct work {
    struct cw_fitted fitted;
    struct cw_compare compare;
    struct cw_timed *timed;
};

/* Dropping a run can bring another to light, but must not go on until nothing is left. */
enum { DROP_ROUNDS = 2 };

static enum cw_exit compare(struct work *work, const struct options *options) {
    struct cw_compare_options how = cw_compare_options_default();
    how.reference = options->reference;
    enum cw_exit status = cw_fitted_compare(&work->fitted, &how, &work->compare);
    for (int round = 0; options->drop && round < DROP_ROUNDS; round++) {
        bool dropped = false;
        if (status == CW_EXIT_ANSWERED)
            status = cw_fitted_drop(&work->fitted, &work->compare, &dropped);
        if (!dropped || status != CW_EXIT_ANSWERED) break;
        cw_compare_free(&work->compare);
        status = cw_fitted_compare(&work->fitted, &how, &work->compare);
    }
    return status;
}

/* The outing's own number of the reference, where it has runs of it. */
static size_t reference_in(const struct cw_loaded *loaded, const char *name) {
    for (size_t i = 0; i < loaded->runs.n; i++)
        if (loaded->setup_names[i] && !strcmp(loaded->setup_names[i], name))
            return loaded->setups[i];
    return CW_NO_SETUP;
}

/* Where an outing's runs have no stretch in common, nothing is measured of it and that is said. */
static enum cw_exit measure(struct work *work) {
    struct cw_error error;
    work->timed = calloc(work->fitted.n, sizeof *work->timed);
    if (!work->timed) {
        cw_error_memory(&error);
        return cw_message_error(&error);
    }
    for (size_t i = 0; i < work->fitted.n; i++) {
        const struct cw_loaded *loaded = &work->fitted.loaded[i];
        struct cw_fit_input input = cw_loaded_input(loaded);
        struct cw_timed_options how = cw_timed_options_default();
        how.reference = reference_in(loaded, work->compare.setups[0].name);
        enum cw_status status = cw_timed_make(&input, &how, &work->timed[i], &error);
        if (status == CW_E_ARGUMENT) { /* the reference has no run on the road that is timed */
            how.reference = CW_NO_SETUP;
            status = cw_timed_make(&input, &how, &work->timed[i], &error);
        }
        if (status == CW_E_DATA)
            cw_message(loaded->outing.file, 0, "no times as measured: %s", error.message);
        else if (status < 0)
            return cw_message_error(&error);
    }
    return CW_EXIT_ANSWERED;
}

static enum cw_exit write_answer(const struct work *work, const struct options *options) {
    struct cw_report all = {work->fitted.n, work->fitted.outings, &work->compare};
    struct cw_compare_report report = {&all, work->timed};
    struct cw_look look = cw_output_look();
    struct cw_text text = {0};
    struct cw_error error;
    enum cw_status made = options->json  ? cw_report_compare_json(&report, &text, &error)
                          : options->csv ? cw_report_compare_csv(&report, &text, &error)
                                         : cw_report_compare_table(&report, &look, &text, &error);
    if (made < 0) {
        cw_text_free(&text);
        return cw_message_error(&error);
    }
    enum cw_exit status = cw_output_write(&text);
    if (status != CW_EXIT_ANSWERED || cw_compare_answers(&report)) return status;
    cw_message(work->fitted.loaded[0].outing.file, 0,
               work->compare.n_setups > 1 || !work->compare.n_told
                   ? "fewer than two setups have runs that tell a CdA: coast further, over a wider "
                     "range of speeds, more often"
                   : "only one setup has runs: try another on the same road, and name both in "
                     "\"order\"");
    return CW_EXIT_DATA;
}

static enum cw_exit run(const struct cw_command *command, int argc, char **argv) {
    struct options options = {0};
    struct work work = {0};
    enum cw_exit status;
    int first;
    if (!cw_options_read(command, argc, argv, &options, &first, &status)) return status;
    if (options.json && options.csv) return cw_usage_wrong(command, "give --json or --csv");
    if (first == argc) return cw_usage_wrong(command, "give an outing file");
    status = cw_fitted_load(argv + first, (size_t)(argc - first), options.csv, &work.fitted);
    if (status == CW_EXIT_ANSWERED && !cw_fitted_labelled(&work.fitted))
        status = cw_loaded_check(&work.fitted.loaded[0]);
    if (status == CW_EXIT_ANSWERED) status = compare(&work, &options);
    if (status == CW_EXIT_ANSWERED) status = measure(&work);
    if (status == CW_EXIT_ANSWERED) status = write_answer(&work, &options);
    for (size_t i = 0; work.timed && i < work.fitted.n; i++) cw_timed_free(&work.timed[i]);
    free(work.timed);
    cw_compare_free(&work.compare);
    cw_fitted_free(&work.fitted);
    return status;
}

const struct cw_command cw_command_compare = {
    .name = "compare",
    .arguments = "OUTING...",
    .summary = "setups against each other, within and across outings",
    .description =
        "Says of every two setups which has the lower drag, by how much and how sure that is, or "
        "that these runs cannot tell and what it would take. A difference is in percent of the "
        "second setup's CdA, with its 95 % interval; p is adjusted for the number of comparisons "
        "(Holm).\n\nThen follow the setups, what the differences are worth in seconds, metres and "
        "watts, the times as they were measured, with no model, each run among its fellows (a run "
        "marked with ! disagrees with them), what causes that are the same in all runs would do, "
        "what these runs cannot tell apart, the defaults that were used, and what to "
        "mind.\n\nSetups "
        "of the same name in several outings are one setup. Differences within an outing are "
        "known best; where setups were ridden on different days only, what shifts a whole day "
        "widens their interval.",
    .options = table,
    .n_options = sizeof table / sizeof *table,
    .run = run,
};
