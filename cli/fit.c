/* coastwise fit: CdA and Crr, run by run, alone and together. */
#include <stdbool.h>
#include <stddef.h>
#include <stdlib.h>

#include "command.h"
#include "commands.h"
#include "compare/compare.h"
#include "fitted.h"
#include "output.h"
#include "report/fit_report.h"

struct options {
    bool json, csv;
};

static const struct cw_option table[] = {
    CW_OPTIONS_FORMAT(struct options, "the runs"),
};

/* Outings with their reports, and their setups' means. */
struct work {
    struct cw_fitted fitted;
    struct cw_compare *compares;
    struct cw_fit_report *reports;
};

/* Sets each outing's report; its setups are averaged where the file gives an order. */
static enum cw_exit make_reports(struct work *work) {
    struct cw_compare_options options = cw_compare_options_default();
    struct cw_error error;
    size_t n = work->fitted.n;
    work->compares = calloc(n, sizeof *work->compares);
    work->reports = calloc(n, sizeof *work->reports);
    if (!work->compares || !work->reports) {
        cw_error_memory(&error);
        return cw_message_error(&error);
    }
    for (size_t i = 0; i < n; i++) {
        const struct cw_report_outing *of = &work->fitted.outings[i];
        struct cw_compare_outing outing = {of->outing, of->fit, of->runs};
        work->reports[i].of = *of;
        if (work->fitted.loaded[i].labelled < 0) continue;
        if (cw_compare_setups(&outing, 1, &options, &work->compares[i], &error) < 0)
            return cw_message_error(&error);
        work->reports[i].compare = &work->compares[i];
    }
    return CW_EXIT_ANSWERED;
}

static enum cw_exit write_answer(const struct work *work, const struct options *options) {
    struct cw_text text = {0};
    struct cw_error error;
    struct cw_look look = cw_output_look();
    enum cw_status made =
        options->json  ? cw_report_fit_json(work->reports, work->fitted.n, &text, &error)
        : options->csv ? cw_report_fit_csv(work->reports, work->fitted.n, &text, &error)
                       : cw_report_fit_table(work->reports, work->fitted.n, &look, &text, &error);
    if (made >= 0) return cw_output_write(&text);
    cw_text_free(&text);
    return cw_message_error(&error);
}

/* What was printed answers nothing where no run's CdA is known. */
static enum cw_exit judge(const struct work *work) {
    enum cw_exit status = CW_EXIT_ANSWERED;
    for (size_t i = 0; i < work->fitted.n; i++) {
        if (cw_fit_answers(&work->reports[i])) continue;
        cw_message(
            work->reports[i].of.outing->file, 0,
            "these runs tell no CdA: coast further, over a wider range of speeds, more often%s",
            work->reports[i].of.fit->crr_given ? "" : ", or give Crr in [rolling]");
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
    /* The other forms hold the warnings themselves. */
    status = cw_fitted_load(argv + first, (size_t)(argc - first), options.csv, &work.fitted);
    if (status == CW_EXIT_ANSWERED) status = make_reports(&work);
    if (status == CW_EXIT_ANSWERED) status = write_answer(&work, &options);
    if (status == CW_EXIT_ANSWERED) status = judge(&work);
    for (size_t i = 0; work.compares && i < work.fitted.n; i++) cw_compare_free(&work.compares[i]);
    free(work.compares);
    free(work.reports);
    cw_fitted_free(&work.fitted);
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
