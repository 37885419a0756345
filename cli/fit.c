/* coastwise fit: CdA and Crr, run by run, alone and together. */
#include <stdbool.h>
#include <stddef.h>
#include <stdio.h>
#include <stdlib.h>

#include "command.h"
#include "commands.h"
#include "compare/compare.h"
#include "fit/fit.h"
#include "load.h"
#include "output.h"
#include "report/fit_report.h"

struct options {
    bool json, csv;
};

static const struct cw_option table[] = {
    {.name = "json",
     .kind = CW_OPTION_FLAG,
     .offset = offsetof(struct options, json),
     .meaning = "write JSON"},
    {.name = "csv",
     .kind = CW_OPTION_FLAG,
     .offset = offsetof(struct options, csv),
     .meaning = "write the runs as comma-separated values"},
};

/* One outing file after the other, with its fit. */
struct work {
    size_t n;
    struct cw_loaded *loaded;
    struct cw_fit *fits;
    struct cw_compare *compares;
    struct cw_fit_report *reports;
};

static enum cw_exit fit_one(struct work *work, size_t of, const char *path) {
    struct cw_error error;
    size_t i = work->n++;
    struct cw_loaded *loaded = &work->loaded[i];
    struct cw_compare_options options = cw_compare_options_default();
    enum cw_exit status = cw_load_outing(path, false, loaded);
    if (status == CW_EXIT_ANSWERED) status = cw_loaded_check_order(loaded);
    if (status != CW_EXIT_ANSWERED) return status;
    if (of > 1) cw_progress("fitting", i + 1, of, path);
    struct cw_fit_input input = cw_loaded_input(loaded);
    if (cw_fit_outing(&input, &work->fits[i], &error) < 0) {
        if (!*error.file) snprintf(error.file, sizeof error.file, "%s", path);
        return cw_message_error(&error);
    }
    work->reports[i].of = (struct cw_report_outing){.outing = &loaded->outing,
                                                    .n_recordings = loaded->n,
                                                    .recordings = loaded->recordings,
                                                    .motions = loaded->motions,
                                                    .runs = &loaded->runs,
                                                    .setups = loaded->setups,
                                                    .fit = &work->fits[i]};
    cw_progress_end();
    if (loaded->labelled < 0) return CW_EXIT_ANSWERED; /* no order: no setups to average */
    struct cw_compare_outing outing = {&loaded->outing, &work->fits[i], &loaded->runs};
    if (cw_compare_setups(&outing, 1, &options, &work->compares[i], &error) < 0)
        return cw_message_error(&error);
    work->reports[i].compare = &work->compares[i];
    return CW_EXIT_ANSWERED;
}

static enum cw_exit write_answer(const struct work *work, const struct options *options) {
    struct cw_text text = {0};
    struct cw_error error;
    struct cw_look look = cw_output_look();
    enum cw_status made = options->json ? cw_report_fit_json(work->reports, work->n, &text, &error)
                          : options->csv
                              ? cw_report_fit_csv(work->reports, work->n, &text, &error)
                              : cw_report_fit_table(work->reports, work->n, &look, &text, &error);
    if (made >= 0) return cw_output_write(&text);
    cw_text_free(&text);
    return cw_message_error(&error);
}

/* What was printed answers nothing where no run's CdA is known. */
static enum cw_exit judge(const struct work *work) {
    enum cw_exit status = CW_EXIT_ANSWERED;
    for (size_t i = 0; i < work->n; i++) {
        if (cw_fit_answers(&work->reports[i])) continue;
        cw_message(
            work->loaded[i].outing.file, 0,
            "these runs tell no CdA: coast further, over a wider range of speeds, more often, "
            "or give Crr in [rolling]");
        status = CW_EXIT_DATA;
    }
    return status;
}

static enum cw_exit run(const struct cw_command *command, int argc, char **argv) {
    struct options options = {0};
    struct work work = {0};
    enum cw_exit status;
    int first;
    if (!cw_options_read(command, argc, argv, &options, &first, &status)) return status;
    if (options.json && options.csv) return cw_usage_wrong(command, "give --json or --csv");
    if (first == argc) return cw_usage_wrong(command, "give an outing file");
    status = CW_EXIT_ANSWERED;
    size_t n = (size_t)(argc - first);
    work.loaded = calloc(n, sizeof *work.loaded);
    work.fits = calloc(n, sizeof *work.fits);
    work.compares = calloc(n, sizeof *work.compares);
    work.reports = calloc(n, sizeof *work.reports);
    if (!work.loaded || !work.fits || !work.compares || !work.reports) {
        struct cw_error error;
        cw_error_memory(&error);
        status = cw_message_error(&error);
        goto cleanup;
    }
    for (size_t i = 0; i < n && status == CW_EXIT_ANSWERED; i++)
        status = fit_one(&work, n, argv[first + (int)i]);
    if (status == CW_EXIT_ANSWERED) status = write_answer(&work, &options);
    if (status == CW_EXIT_ANSWERED) status = judge(&work);
cleanup:
    for (size_t i = 0; i < work.n; i++) {
        cw_compare_free(&work.compares[i]);
        cw_fit_free(&work.fits[i]);
        cw_loaded_free(&work.loaded[i]);
    }
    free(work.loaded);
    free(work.fits);
    free(work.compares);
    free(work.reports);
    return status;
}

const struct cw_command cw_command_fit = {
    .name = "fit",
    .arguments = "OUTING...",
    .summary = "CdA and Crr, run by run, alone and together",
    .description =
        "Fits drag area and rolling coefficient to the runs of each outing and prints them with "
        "standard errors and 95 % intervals, each interval also drawn on a common scale.\n\n"
        "Together, all runs of an outing are fitted at once: they share the road's heights and, on "
        "the same tyres, Crr. Alone, a run is fitted on its own recorded heights. What the runs "
        "cannot tell is said in words, not printed as a number.\n\nThen follow the noise that was "
        "found (gusts, drift and scatter of heights, scatter of speeds and positions), the air, "
        "what causes that no run can show would do, the defaults that were used, and what to "
        "mind.",
    .options = table,
    .n_options = sizeof table / sizeof *table,
    .run = run,
};
